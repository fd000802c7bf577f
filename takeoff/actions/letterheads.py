"""Reading the owner's letterhead file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from takeoff.actions.files import read_file
from takeoff.errors import InputError
from takeoff.exchange.toml_text import read_toml
from takeoff.report.letterhead import VALID_DAYS, Letterhead, logo_kind

_TEXTS = ("prepared_by", "number", "logo")
_LISTS = ("company", "to", "site", "addenda", "payment", "exclusions", "qualifications")
_DAYS = "valid_days"


def read_letterhead(path: Path) -> Letterhead:
    """Read a letterhead: a TOML file of company lines, the logo's file name, own terms, and what a bid is about.

    Its keys, all optional: ``company``, ``to``, ``site``, ``addenda``, ``payment``, ``exclusions`` and
    ``qualifications`` are lists of texts, ``prepared_by`` and ``number`` texts, ``valid_days`` a whole number, and
    ``logo`` the name of a PNG, JPEG or SVG file, from the letterhead's own folder.

    Raises
    ------
    InputError
        When the file or its logo cannot be read, it is not TOML, or has a key or value that is not known.
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
    if not isinstance(days, int) or isinstance(days, bool) or days < 1:
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
