"""Reading what a person names: files, sheets, and the sample plans that come with the program."""

from __future__ import annotations

from importlib import resources
from pathlib import Path
from stat import S_ISCHR, S_ISFIFO

import takeoff
from takeoff.errors import InputError, ReportError
from takeoff.job.job import Job
from takeoff.model.plan import Sheet
from takeoff.report.files import write_whole

PLAN = "plan file"
CHANGED = "Wait until it is written or copied whole, and try again."


def read_file(path: Path, kind: str) -> bytes:
    """Read the bytes of a file; ``kind`` is what it is for, such as "plan file".

    Raises
    ------
    InputError
        When there is none, it cannot be read, or it is changed meanwhile.
    """
    try:
        before = path.stat()
        if S_ISFIFO(before.st_mode) or S_ISCHR(before.st_mode):
            if kind == PLAN:
                raise InputError(f"{path} is no file on a disk", remedy="Save the plan as a file, and name that.")
            return path.read_bytes()
        data, after = path.read_bytes(), path.stat()
        if (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns) or len(data) != after.st_size:
            raise InputError(f"the {kind} {path} was changed while it was read", remedy=CHANGED)
        return data
    except FileNotFoundError as error:
        raise InputError(f"there is no {kind} {path}", remedy="Check the name and the folder.") from error
    except IsADirectoryError as error:
        raise InputError(f"{path} is a folder, not {_one(kind)}", remedy="Name the file in it.") from error
    except OSError as error:
        raise InputError(f"the {kind} {path} cannot be read ({error.strerror})", remedy="Check its path.") from error


def _one(kind: str) -> str:
    """Put the article before what a file is.

    Examples
    --------
    >>> _one("plan file"), _one("edits file")
    ('a plan file', 'an edits file')
    """
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"


def find_sheet(job: Job, text: str) -> Sheet:
    """Find a sheet by its position in the register (1, 2 …) or by its number (A-101), in this order.

    Raises
    ------
    InputError
        When there is no such sheet, or more than one has that number.
    """
    plain = text.strip()
    if plain.isdecimal() and int(plain) in job.sheets:
        return job.sheets[int(plain)]
    found = [s for s in job.sheets.values() if s.number and s.number.casefold() == plain.casefold()]
    if len(found) == 1:
        return found[0]
    if found:
        places = ", ".join(str(s.id) for s in found)
        raise InputError(f'{len(found)} sheets have the number "{plain}"', remedy=f"Give a position: {places}.")
    known = ", ".join(f"{s.id} ({s.number})" if s.number else str(s.id) for s in job.sheets.values()) or "none"
    raise InputError(f'there is no sheet "{plain}"', remedy=f"Known sheets: {known}.")


def sample_plans() -> Path:
    """Return the folder of the sample plans, in the installed package or beside it.

    Raises
    ------
    InputError
        When this copy of the program came without them.
    """
    for folder in (
        Path(str(resources.files(takeoff))) / "sample_plans",
        Path(takeoff.__file__).parents[1] / "sample_plans",
    ):
        if (folder / "facility-edits.json").is_file():
            return folder
    raise InputError("the sample plans did not come with this copy of the program", remedy="Install it again.")


def write_file(path: Path, data: bytes, kind: str) -> None:
    """Write the bytes of a file whole, or leave what was there.

    Raises
    ------
    ReportError
        When it cannot be written.
    """
    try:
        write_whole(path, data)
    except ReportError as error:
        raise ReportError(f"the {kind} cannot be written: {error.message}", remedy=error.remedy) from error
