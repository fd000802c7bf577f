"""The rim: errors to one line and an exit code, doubts to notes, and points as two words."""

from __future__ import annotations

import errno
import os
import sys
import traceback
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer
from typer.core import TyperCommand, TyperGroup

from takeoff import actions
from takeoff.cli.table import one_line, soften, takes_all, visible
from takeoff.errors import TakeoffError
from takeoff.signing import signed

if TYPE_CHECKING:
    from takeoff.job.job import Job
    from takeoff.job.store import JobStore

_DAMAGED: list[Path] = []
"""Job files that the command now running found damaged."""
UNEXPECTED = 70
"""Exit code for a fault of the program itself (EX_SOFTWARE of sysexits.h, from memory)."""


_TODO = {errno.ENOSPC: "Make room on the disk", errno.ENAMETOOLONG: "Give it a shorter name"}
LONGEST = 300
"""Characters of a summary that are listed at the most."""
CLOSED = 141
"""Exit code where what reads the output has closed it: 128 and the number of SIGPIPE, as of shells, from memory."""


class WholeSummaries(TyperGroup):
    """Commands whose summaries are listed whole, on as many lines as they need."""

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """List every command with the first sentence of its help."""
        named = [(name, self.get_command(ctx, name)) for name in self.list_commands(ctx)]
        rows = [(name, command.get_short_help_str(limit=LONGEST)) for name, command in named if command is not None]
        with formatter.section("Commands"):
            formatter.write_dl(rows)


class PointsCommand(TyperCommand):
    """A command whose ``--points`` takes two words, ``--points X1,Y1 X2,Y2``, as often as it is given."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Join the two words of every ``--points`` into the one value the option has."""
        joined: list[str] = []
        rest = list(args)
        while rest:
            word = rest.pop(0)
            joined.append(word)
            if word == "--points" and rest:
                first = rest.pop(0)
                is_pair = len(first.split()) > 1
                joined.append(first if is_pair or not rest or rest[0].startswith("--") else f"{first} {rest.pop(0)}")
        return super().parse_args(ctx, joined)


def run_command(command: Callable[[list[str]], object], args: Sequence[str]) -> int:
    """Run a command line and turn what it raises into one line on stderr and an exit code.

    Exit codes: 0 done, 1 the work found something wrong, 2 bad usage or input, 70 a fault of the program, 130 stopped,
    141 what reads the output closed it.
    """
    soften()
    _DAMAGED.clear()
    words = list(args) or ["--help"]
    is_debugged = "--debug" in words
    try:
        code = command([w for w in words if w != "--debug"])
        sys.stdout.flush()
    except BrokenPipeError:
        return _end_quietly()
    except SystemExit as ended:
        if isinstance(ended.__context__, BrokenPipeError):
            return _end_quietly()
        raise
    except TakeoffError as error:
        return _refuse(str(error), error.exit_code, is_debugged)
    except OSError as error:
        place = error.filename or "the output cannot be written"
        todo = _TODO.get(error.errno or 0, "Check the path and its permissions")
        return _refuse(f"{place}: {error.strerror or error}. {todo}.", 2, is_debugged)
    except (MemoryError, RecursionError, OverflowError) as error:
        what = {MemoryError: "it needs more memory than there is", RecursionError: "it is nested too deep"}
        why = what.get(type(error), "a number in it is too large")
        return _refuse(f"this cannot be read: {why}. The file may be damaged or made to harm.", 2, is_debugged)
    except typer.Abort:
        return _refuse("stopped; what was done before it is kept", 130, is_debugged)
    except Exception as error:
        if hasattr(error, "format_message"):
            context = getattr(error, "ctx", None)
            path = context.command_path if context is not None else "takeoff"
            return _refuse(f"{usage_fault(error)} See: {path} --help", 2, is_debugged)
        where = "" if is_debugged else " Run the command again with --debug and report what it prints."
        return _refuse(
            f"this is a fault of the program ({type(error).__name__}: {error}).{where}", UNEXPECTED, is_debugged
        )
    done = code if isinstance(code, int) else 0
    return done or int(bool(_DAMAGED))


def _end_quietly() -> int:
    """Let what is left to write go nowhere, so that the interpreter has nothing to complain of at its end."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.__stdout__, sys.__stderr__):
        if stream is not None:
            os.dup2(nowhere, stream.fileno())
    os.close(nowhere)
    return CLOSED


def _refuse(message: str, code: int, is_debugged: bool) -> int:
    if is_debugged:
        traceback.print_exc()
    print(f"error: {one_line(message)}", file=sys.stderr)
    return code


def notes(doubts: Iterable[str]) -> None:
    """Write what is to be known to stderr, a line each."""
    for doubt in filter(None, doubts):
        print(f"note: {one_line(doubt)}", file=sys.stderr)


def problems(errors: Iterable[TakeoffError]) -> int:
    """Write refusals to stderr, a line each, where others of the same work went well; gives the exit code."""
    codes = [_refuse(str(error), error.exit_code, is_debugged=False) for error in errors]
    return max(codes, default=0)


@contextmanager
def opened(path: Path) -> Iterator[JobStore]:
    """Open a job file for a with block; what is damaged in it is told, and the command then ends with code 1."""
    with actions.open_job(path, signed) as store:
        _tell_damage(path, store.faults)
        yield store


def job_in(path: Path) -> Job:
    """Return the job in a file, to be read; what is damaged in the file is told."""
    with opened(path) as store:
        return store.job


def title_of(path: Path) -> str:
    r"""Name a job by its file; bytes of the name that are no letters become question marks.

    Examples
    --------
    >>> title_of(Path("B\udcfcro.takeoff"))
    'B?ro'
    """
    return path.stem.encode("utf-8", "replace").decode()


def _tell_damage(path: Path, faults: Sequence[str]) -> None:
    if faults:
        name = one_line(str(path))
        print(f"damaged: {name} can still be read. What cannot be trusted is left out or repaired:", file=sys.stderr)
        for fault in faults:
            print(f"damaged: {one_line(fault)}", file=sys.stderr)
        print(f"damaged: save what can be trusted with: takeoff rescue {name} NEW", file=sys.stderr)
        _DAMAGED.append(path)


def say(text: str) -> None:
    """Write a result to stdout."""
    print(visible(text))


def say_file(text: str) -> None:
    """Write the text of a file to stdout: in UTF-8 whatever the locale, unless a person looks on."""
    out = getattr(sys.stdout, "buffer", None)
    if out is None or takes_all(sys.stdout) or sys.stdout.isatty():
        print(text)
        return
    sys.stdout.flush()
    out.write(f"{text}\n".encode())
    out.flush()


def told(text: str) -> None:
    """Write what was done to stderr, so that stdout keeps for results."""
    print(visible(text), file=sys.stderr)


_SAID: Mapping[str, Callable[[Mapping[str, Any]], str]] = {
    "greater_than_equal": lambda context: f"it must be {context['ge']} or more",
    "greater_than": lambda context: f"it must be more than {context['gt']}",
    "less_than_equal": lambda context: f"it must be {context['le']} or less",
    "less_than": lambda context: f"it must be less than {context['lt']}",
    "int_parsing": lambda context: "it must be a whole number",
    "int_parsing_size": lambda context: "it must be a whole number of fewer digits",
    "float_parsing": lambda context: "it must be a number",
    "finite_number": lambda context: "it must be a finite number",
    "value_error": lambda context: str(context["error"]),
}
"""What is wrong with a value, by the code of the check that it failed."""


def usage_fault(error: Any) -> str:
    """Say what is wrong with a command line, with one mark at the end.

    ``error`` is one of the library that reads command lines; where it is about a value it has ``param``, ``ctx`` and,
    as its cause, an error with a list of coded ``errors``.

    Examples
    --------
    >>> import typer
    >>> usage_fault(typer.BadParameter("no such day"))
    'Invalid value: no such day.'
    """
    coded = getattr(error.__cause__, "errors", None)
    first = coded()[0] if coded is not None else {}
    said = _SAID.get(first.get("type", ""))
    if said is None:
        text = str(error.format_message())
    else:
        text = f"Invalid value for {error.param.get_error_hint()}: {said(first.get('ctx', {}))}"
    text = text.rstrip(".")
    return text if text.endswith("?") else f"{text}."
