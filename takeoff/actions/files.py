"""Reading what a person names: files, sheets, a letterhead, and the sample plans that come with the program."""

from __future__ import annotations

from importlib import resources
from pathlib import Path
from stat import S_ISCHR, S_ISFIFO
from typing import Any

import takeoff
from takeoff.errors import InputError, ReportError
from takeoff.exchange.form_faults import read_toml
from takeoff.job.job import Job
from takeoff.model.plan import Sheet
from takeoff.report.files import write_whole
from takeoff.report.letterhead import VALID_DAYS, Letterhead, logo_kind

PLAN = "plan file"
CHANGED = "Wait until it is written or copied whole, and try again."


def read_file(path: Path, kind: str) -> bytes:
    """Read the bytes of a file; ``kind`` is what it is for, such as "plan file".

    Raises `InputError` when there is none, it cannot be read, or it is changed meanwhile; a job file is read by none
    but the database, whose locks on an open one would be lost (`takeoff.job.store.JobStore.open`).
    """
    if path.suffix.lower() == ".takeoff":
        raise InputError(f"{path} is a job file, not {_one(kind)}", remedy="Open it as a job, or name another file.")
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
    """Find a sheet by its position in the register (1, 2 …) or by its number (A-101); ``position:1`` is a position.

    Raises `InputError` when there is no such sheet, more than one has that number, or one the number and another the
    position.
    """
    plain, place = text.strip(), text.strip().removeprefix("position:")
    at = job.sheets.get(int(place)) if place.isdecimal() else None
    if at is not None and place != plain:
        return at
    named = [s for s in job.sheets.values() if s.number and s.number.casefold() == plain.casefold()]
    found = {s.id: s for s in (*named, *([] if at is None else [at]))}
    if len(found) == 1:
        return next(iter(found.values()))
    if found:
        said = f'{len(named)} sheets have the number "{plain}"'
        said = said if at is None else f'"{plain}" is the position of one sheet and the number of another'
        places = ", ".join(f"position:{id} ({job.sources[s.source].name}, page {s.page})" for id, s in found.items())
        raise InputError(said, remedy=f"Give one of: {places}.")
    known = ", ".join(f"{s.id} ({s.number})" if s.number else str(s.id) for s in job.sheets.values()) or "none"
    raise InputError(f'there is no sheet "{plain}"', remedy=f"Known sheets: {known}.")


def sample_plans() -> Path:
    """Return the folder of the sample plans, in the installed package or beside it."""
    for folder in (
        Path(str(resources.files(takeoff))) / "sample_plans",
        Path(takeoff.__file__).parents[1] / "sample_plans",
    ):
        if (folder / "facility-edits.json").is_file():
            return folder
    raise InputError("the sample plans did not come with this copy of the program", remedy="Install it again.")


def write_file(path: Path, data: bytes, kind: str) -> None:
    """Write the bytes of a file whole, or leave what was there."""
    try:
        write_whole(path, data)
    except ReportError as error:
        raise ReportError(f"the {kind} cannot be written: {error.message}", remedy=error.remedy) from error


_TEXTS = ("prepared_by", "number", "logo")
_LISTS = ("company", "to", "site", "addenda", "payment", "exclusions", "qualifications")
_DAYS, MOST_DAYS = "valid_days", 3650


def read_letterhead(path: Path) -> Letterhead:
    """Read a letterhead: a TOML file of company lines, the logo's file name, own terms, and what a bid is about.

    Its keys, all optional: ``company``, ``to``, ``site``, ``addenda``, ``payment``, ``exclusions`` and
    ``qualifications`` are lists of texts, ``prepared_by`` and ``number`` texts, ``valid_days`` a whole number, and
    ``logo`` the name of a PNG, JPEG or SVG file, from the letterhead's own folder. Raises `InputError` when the file or
    its logo cannot be read, it is not TOML, or has a key or value that is not known.
    """
    data = read_file(path, "letterhead file")
    try:
        raw = read_toml(data)
    except InputError as error:
        raise InputError(
            f"not a TOML file in UTF-8 ({error.message})",
            remedy='Write lines such as company = ["Name", "Street"].',
            where=str(path),
        ) from error
    unknown = sorted(raw.keys() - {*_TEXTS, *_LISTS, _DAYS})
    if unknown:
        known = ", ".join((*_LISTS, *_TEXTS, _DAYS))
        raise InputError(f'unknown key "{unknown[0]}"', remedy=f"Known keys: {known}.", where=str(path))
    lists = {key: _list(raw.get(key, []), key, path) for key in _LISTS}
    texts = {key: _text(raw.get(key, ""), key, path) for key in _TEXTS}
    logo = b""
    if texts["logo"]:
        place = path.parent / texts["logo"]
        logo = read_file(place, "logo file")
        try:
            logo_kind(logo)
        except InputError as error:
            raise InputError(error.message, remedy=error.remedy, where=str(place)) from error
    days = raw.get(_DAYS, VALID_DAYS)
    if not isinstance(days, int) or isinstance(days, bool) or not 1 <= days <= MOST_DAYS:
        raise InputError(f"{_DAYS} is not a number of days", remedy=f"Write {_DAYS} = 30.", where=str(path))
    return Letterhead(**lists, prepared_by=texts["prepared_by"], number=texts["number"], logo=logo, valid_days=days)


def _text(value: Any, key: str, path: Path) -> str:
    if not isinstance(value, str):
        raise InputError(f"{key} is not a text", remedy=f'Write {key} = "…".', where=str(path))
    return value.strip()


def _list(value: Any, key: str, path: Path) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(v, str) for v in value):
        raise InputError(f"{key} is not a list of texts", remedy=f'Write {key} = ["…", "…"].', where=str(path))
    return tuple(v.strip() for v in value if v.strip())
