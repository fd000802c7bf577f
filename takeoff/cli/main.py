"""How the command ``takeoff`` starts and ends; what is done in a child is handed to it before commands are loaded."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from takeoff.cli.guard import is_to_guard, limit_self, run_guarded


def run(args: Sequence[str] | None = None) -> int:
    """Run the command line; ``args`` without the program's name, those of the process where ``None``.

    Returns
    -------
    int
        The exit code: 0 done, 1 the work found something wrong, 2 bad usage or input.
    """
    given = sys.argv[1:] if args is None else args
    if args is None:
        if is_to_guard(given):
            return run_guarded(given)
        limit_self()
    from takeoff.cli.rim import run_command
    from takeoff.cli.tree import command

    return run_command(lambda words: command().main(args=words, prog_name="takeoff", standalone_mode=False), given)


if __name__ == "__main__":
    sys.exit(run())
