"""What a sheet is for, by its title and its number: floor plan, ceiling plan, elevation, schedule, detail, or none.

Numbers follow the sheet types of the Uniform Drawing System (US National CAD Standard, module 1; from memory): the
first digit is 0 general, 1 plans, 2 elevations, 3 sections, 4 large-scale views, 5 details, 6 schedules and diagrams.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Literal

from takeoff.model.plan import Sheet
from takeoff.sheet.text import TextLine
from takeoff.units import UnitSystem

SheetUse = Literal["floor plan", "ceiling plan", "elevation", "schedule", "detail", "other", "unknown"]

_TITLES: tuple[tuple[SheetUse, str], ...] = (
    ("ceiling plan", r"\bCEILING\b|\bR\.?C\.?P\.?\b"),
    ("schedule", r"\bSCHEDULES?\b|\bLEGENDS?\b"),
    ("elevation", r"\bELEVATIONS?\b"),
    ("detail", r"\bDETAILS?\b|\bSECTIONS?\b"),
    (
        "other",
        r"\b(?:SITE|ROOF|DEMOLITION|DEMO|FOUNDATION|FRAMING|LANDSCAPE|GRADING|LIFE SAFETY|COVER|TITLE SHEET|INDEX)\b",
    ),
    ("floor plan", r"\bPLANS?\b"),
)
_TYPES: dict[str, SheetUse] = {
    "0": "other",
    "1": "floor plan",
    "2": "elevation",
    "3": "detail",
    "5": "detail",
    "6": "schedule",
}
_NUMBER = re.compile(r"^\s*(?P<discipline>[A-Z]{1,2})[- .]?(?P<type>\d)\d*", re.IGNORECASE)
HEADING = 1.3
"""A heading's letters are this many times higher than those of most texts of its sheet (measured on the sheets at hand:
headings of plans are 1.3 to 3 times as high as their notes)."""
MOST_WORDS = 6
OTHER_TRADES = "BCDEFHLMOPQRSTVWXZ"
"""Letters of disciplines whose plans show no finishes of walls (US National CAD Standard, from memory): all but A
architectural, G general, I interiors, and those that it does not use. G also stands for the ground floor elsewhere."""


def use_of(sheet: Sheet) -> tuple[SheetUse, str]:
    """Tell what a sheet is for, and by what that is known.

    Examples
    --------
    >>> use_of(Sheet(id=1, source="", page=1, width_pt=1.0, height_pt=1.0, number="A-101", title="FLOOR PLAN"))
    ('floor plan', 'its title says FLOOR PLAN')
    >>> use_of(Sheet(id=1, source="", page=1, width_pt=1.0, height_pt=1.0, number="A-601"))
    ('schedule', 'its number A-601 is one of schedules')
    """
    found = _NUMBER.match(sheet.number)
    if found is not None and found["discipline"][0].upper() in OTHER_TRADES:
        return "other", f"its number {sheet.number} is of another trade"
    title = sheet.title.upper()
    for use, pattern in _TITLES:
        if re.search(pattern, title):
            return use, f"its title says {sheet.title.strip()}"
    if found is not None and found["type"] in _TYPES:
        use = _TYPES[found["type"]]
        return use, f"its number {sheet.number} is one of {use}s" if use != "other" else f"its number is {sheet.number}"
    return "unknown", "neither title nor number tells"


def use_of_headings(lines: Sequence[TextLine]) -> tuple[SheetUse, str]:
    """Tell what a sheet is for whose title block says nothing: by the largest heading on it that names a drawing.

    Examples
    --------
    >>> use_of_headings([])
    ('unknown', 'neither title nor number nor a heading tells')
    """
    sizes = sorted(line.size for line in lines)
    usual = sizes[len(sizes) // 2] if sizes else 0.0
    for line in sorted(lines, key=lambda line: -line.size):
        if line.size < HEADING * usual:
            break
        text = line.text.strip()
        use = next((use for use, pattern in _TITLES if re.search(pattern, text.upper())), None)
        if use is not None and len(text.split()) <= MOST_WORDS:
            return use, f"its heading says {text}"
    return "unknown", "neither title nor number nor a heading tells"


def units_of(sheets: Iterable[Sheet]) -> UnitSystem:
    """Tell the units of a set by its written scales: 1:50 and its like are metric, inches to the foot imperial.

    Imperial where most of the notes do not say metric.
    """
    notes = [sheet.scale_note for sheet in sheets if sheet.scale_note]
    metric = sum(":" in note and not re.search("[\"'″′]", note) for note in notes)
    return "metric" if notes and 2 * metric > len(notes) else "imperial"
