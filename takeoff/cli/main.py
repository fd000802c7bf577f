"""How the command ``takeoff`` starts and ends; what is done in a child is handed to it before commands are loaded."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Sequence

from takeoff.limits import LOOK, STOPPED, Excess, bind, cores, excess_of, quiet_libraries

INSIDE = "TAKEOFF_GUARDED"
"""Set in the environment of the child: the process that started it."""
FREE = ("open", "person", "schema")
"""Commands that read no file of anybody else, or watch over such work themselves."""
SIDE_BY_SIDE = ("draft",)
"""Commands that start a process for each core, watch over each by the same limit, and say what is done when stopped."""
PATIENCE = 2.0
"""Seconds that the child has to end by itself once a person stopped it; one step of tracing may take longer."""
_CODE = f"""
import os, sys
from takeoff.cli.main import run
code = run()
if code == {STOPPED}:
    sys.stdout.flush()
    os._exit(code)  # what still works in other threads is let go of as it is
sys.exit(code)
"""


def is_to_guard(words: Sequence[str]) -> bool:
    """Tell whether a command line is to be run in a child: not inside one, and not what reads no foreign file."""
    named = [word for word in words if not word.startswith("-")]
    return INSIDE not in os.environ and bool(named) and named[0] not in FREE and not {"-h", "--help"} & set(words)


def limit_self() -> None:
    """In the child: take the limits that the system can hold, and end with the parent."""
    if parent := os.environ.get(INSIDE, ""):
        bind(int(parent))


def run_guarded(words: Sequence[str]) -> int:
    """Run a command line in a child and give its exit code, 2 where it had to be stopped or died."""
    environment = {**os.environ, INSIDE: str(os.getpid())}
    tells = bool(set(words[:2]) & set(SIDE_BY_SIDE))  # what is kept where it is stopped
    processes = 1 + cores() * tells
    with subprocess.Popen([sys.executable, "-P", "-c", _CODE, *words], env=environment) as child:
        looks = 0  # since a person stopped it
        is_stopped = False
        while True:
            try:
                code = child.wait(LOOK)
            except subprocess.TimeoutExpired:
                if (excess := excess_of(child.pid, processes)) is not None:
                    child.kill()
                    child.wait()
                    return _stopped(excess)
                looks += is_stopped
                if looks * LOOK > PATIENCE and not tells:
                    child.kill()
            except KeyboardInterrupt:
                is_stopped = True  # the child has it too, and ends by itself
            else:
                break
    if is_stopped and (code < 0 or (code == STOPPED and not tells)):
        print("error: stopped; what was done before it is kept", file=sys.stderr)
        return STOPPED
    if code >= 0:
        return code
    if code in (-signal.SIGINT, -signal.SIGTERM):
        return 128 - code
    return _stopped(Excess(f"reading it ended the process (signal {-code})", ""))


def _stopped(excess: Excess) -> int:
    why, name = excess
    more = (
        f" Where you trust the file, allow more: set {name}." if name else " The file may be damaged or made to harm."
    )
    print(f"error: this work was stopped: {why}. Only what was reported as done is done.{more}", file=sys.stderr)
    return 2


def run(args: Sequence[str] | None = None) -> int:
    """Run the command line, that of the process where ``None``.

    Returns the exit code: 0 done, 1 the work found something wrong, 2 bad usage or input.
    """
    given = sys.argv[1:] if args is None else args
    if args is None:
        quiet_libraries()
        if is_to_guard(given):
            return run_guarded(given)
        limit_self()
    from takeoff.cli.rim import run_command
    from takeoff.cli.tree import command

    return run_command(lambda words: command().main(args=words, prog_name="takeoff", standalone_mode=False), given)


if __name__ == "__main__":
    sys.exit(run())
