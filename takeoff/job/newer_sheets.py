"""Which sheet of a job stands in the place of another: a set may hold an older and a newer revision of one."""

from __future__ import annotations

import re
from collections.abc import Mapping

from takeoff.measure.totals import natural_key
from takeoff.model.plan import Sheet

_ISO = re.compile(r"\d{4}-\d\d-\d\d")


def newer_sheet(sheets: Mapping[int, Sheet], sheet: Sheet) -> Sheet | None:
    """Return the sheet that was taken in as a newer revision of this one, else the newest with its number."""
    newest = sheet
    while (after := sheets.get(newest.replaced_by or 0)) is not None and after.id != sheet.id:
        newest = after
    if newest is not sheet:
        return newest
    number = _plain_number(sheet)
    for other in sheets.values():
        is_other = (other.revision, other.date) != (sheet.revision, sheet.date) or other.source != sheet.source
        if number and _plain_number(other) == number and other.replaced_by is None and is_other:
            newest = other if is_newer(other, newest) else newest
    return newest if newest is not sheet else None


def is_newer(sheet: Sheet, than: Sheet) -> bool:
    """Tell which of two is newer by their revisions, else by their dates as ISO 8601 writes them, else their order."""
    revisions, dates = (sheet.revision, than.revision), (sheet.date, than.date)
    if all(revisions) and revisions[0] != revisions[1] and revisions[0].isdecimal() == revisions[1].isdecimal():
        return natural_key(revisions[0]) > natural_key(revisions[1])
    if all(map(_ISO.fullmatch, dates)) and dates[0] != dates[1]:
        return dates[0] > dates[1]
    return sheet.id > than.id


def _plain_number(sheet: Sheet) -> str:
    """Number of a sheet without the revision that an older one has behind it."""
    return re.sub(r" \([^()]*\)$", "", sheet.number.strip()).casefold()
