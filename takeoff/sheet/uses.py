"""What a sheet is for, by its title and its number: floor plan, ceiling plan, elevation, schedule, detail, or none.

Numbers follow the sheet types of the Uniform Drawing System (US National CAD Standard, module 1; from memory): the
first digit is 0 general, 1 plans, 2 elevations, 3 sections, 4 large-scale views, 5 details, 6 schedules and diagrams.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Literal

from takeoff.model.open_points import Basis
from takeoff.model.plan import Sheet
from takeoff.sheet.text import TextLine
from takeoff.units import UnitSystem

SheetUse = Literal["floor plan", "ceiling plan", "elevation", "schedule", "detail", "other", "unknown"]

_FLOOR_PLANS = r"\b(?:FLOOR ?PLANS?|GRUNDRISSE?|PIANT[AE]|PLANTAS?|PLATTEGROND(?:EN)?|ПЛАН)\b"
_TITLES: tuple[tuple[SheetUse, str], ...] = (
    ("ceiling plan", r"\bCEILING\b|\bR\.?C\.?P\.?\b|\bDECKENSPIEGEL\b"),
    ("schedule", r"\bSCHEDULES?\b|\bLEGENDS?\b"),
    (
        "elevation",
        r"\b(?:ELEVATIONS?|ANSICHT(?:EN)?|PROSPETT[OI]|ALZADOS?|ELEVACI[OÓ]N(?:ES)?|ELEVA[CÇ](?:[AÃ]O|[OÕ]ES)|FACHADAS?|"
        r"FA[CÇ]ADES?|GEVELS?|ФАСАД)\b",
    ),
    ("detail", r"\b(?:DETAILS?|SECTIONS?|SCHNITTE?|SEZION[EI]|CORTES?|COUPES?|DOORSNEDEN?|РАЗРЕЗ)\b"),
    (
        "other",
        r"\b(?:LAGEPLAN|DACHAUFSICHT|PLAN DE MASSE|COVER|TITLE SHEET|INDEX|"
        r"SITE|ROOF|DEMOLITION|DEMO|FOUNDATION|FRAMING|LANDSCAPE|GRADING|LIFE SAFETY|"
        r"DACHPLAN|TECHOS?|TECHUMBRES?|CUBIERTAS?|COBERTURAS?|COPERTUR[AE]|TOITURES?|DAKPLAN|EMPLAZAMIENTO|UBICACI[OÓ]N|"
        r"LOCALIZACI[OÓ]N|SITUA(?:CI[OÓ]N|[CÇ][AÃ]O|TION|TIE)|IMPLANTA(?:[CÇ][AÃ]O|TION)|PLANIMETRIA|"
        r"FUNDACION(?:ES)?|FUNDA[CÇ](?:[AÃ]O|[OÕ]ES)|CIMENTACI[OÓ]N|CIMIENTOS|FONDATIONS?|FONDAZIONI|FUNDAMENT\w*|"
        r"PERSPE[CK]TI\w+|PROSPETTIVA|ISOMETRI\w+|AXONOMETRI\w+|RENDERINGS?|3 ?D(?: VIEWS?)?)\b",
    ),
    ("floor plan", rf"\bPLANS?\b|{_FLOOR_PLANS}"),
)
_FLOORS = (
    r"\b(?:FLOORS?|LEVEL|STOR(?:E?Y|IES)|BASEMENT|MEZZANINE|ATTIC|PISO|NIVEL|PAVIMENTO|T[EÉ]RREO|PIANO|[EÉ]TAGE|"
    r"REZ[- ]DE[- ]CHAUSS[EÉ]E|VERDIEPING|BEGANE GROND|(?:ERD|OBER|UNTER|KELLER|DACH)GESCHO(?:SS|ß))\b"
)
"""A title that names but a floor is one of its plan; a heading that does so may name a level on a section."""
_AND = r"[&+/,;]|\b(?:AND|UND|ET|EN|[EY])\b"
"""What stands between two kinds of drawing in one title."""
_TYPES: dict[str, SheetUse] = {
    "0": "other", "1": "floor plan", "2": "elevation", "3": "detail", "5": "detail", "6": "schedule",
}  # fmt: skip
_NUMBER = re.compile(r"^\s*(?P<discipline>[A-Z]{1,2})[- .]?(?:(?P<type>\d)(?=\d\d|[.-]\d)|\d)", re.IGNORECASE)
"""A sheet's number by the US National CAD Standard: the digit before the last two tells the type (from memory)."""
HEADING = 1.3
"""A heading's letters are this many times higher than those of most texts of its sheet (measured on the sheets at hand:
headings of plans are 1.3 to 3 times as high as their notes)."""
MOST_WORDS = 6
_TRADES = (
    r"\b(?:POWER|LIGHTING|DATA|ALARM|HVAC|MECHANICAL|DUCT\w*|PIPING|PLUMBING|DRAIN\w*|FIRE|SPRINKLER\w*|STRUCTURAL|"
    r"FRAMING|SLAB|EQUIPMENT|FURNITURE|DEMO\w*|EL[EÉ][CT]?TRI\w+|ELEKTR\w+|ELETTRIC\w+|INST(?:ALACI[OÓ]N(?:ES)?|ALA[CÇ]\w+)?|"
    r"INS|SANITARI[AO]S?|SANIT[AÄ]R\w*|CLOACAS?|DESAG[UÜ]ES?|HIDR[AÁ]ULIC\w+|HIDRO\w+|IDRAULIC\w+|IMPIANT[OI]|HEIZUNG\w*|"
    r"L[UÜ]FTUNG\w*|PLOMBERIE|CHAUFFAGE|ESTRUCTURAS?|ESTRUCTURAL|ESTRUTURA\w*|STRUTTUR\w+|TRAGWERK\w*)\b"
)
"""Words of other trades in titles (ordinary words of seven languages, from memory)."""
OTHER_TRADES = "BCDEFHLMOPQRSTVWXZ"
"""Letters of disciplines whose plans show no finishes of walls (US National CAD Standard, from memory): all but A
architectural, G general, I interiors, and those that it does not use. G also stands for the ground floor elsewhere."""


_BEFORE = re.compile(
    r"\b(?:DEMO(?:LITION)?|REMOVALS?|STRIP[ -]?OUT|DISMANTLING|ABATEMENT|EXISTING|EXIST\b|EX\.|AS[ -]BUILT|SURVEY|"
    r"RECORD DRAWING|ABBRUCH(?:PLAN)?|R(?:Ü|UE)CKBAU(?:PLAN)?|BESTAND(?:SPLAN)?|D[ÉE]MOLITION|EXISTANT|"
    r"[ÉE]TAT DES LIEUX|STATO DI FATTO|RILIEVO|DEMOLIZION[EI]|DEMOLICI[ÓO]N|ESTADO ACTUAL|SLOOP(?:PLAN)?|BESTAANDE?)"
    r"(?!\w)|\(E\)"
)
"""Titles of plans of what stands before the work (ordinary words of six languages)."""


def shows_what_was(title: str) -> bool:
    """Tell whether a plan is by its title one of what stands before the work, or is to be pulled down.

    Examples
    --------
    >>> shows_what_was("Level 1 demolition plan"), shows_what_was("Grundriss EG Bestand"), shows_what_was("Floor plan")
    (True, True, False)
    """
    return _BEFORE.search(" ".join(title.upper().split())) is not None


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
    if is_of_another_trade(sheet.number):
        return "other", f"its number {sheet.number} is of another trade"
    use = use_of_title(sheet.title) or ("floor plan" if re.search(_FLOORS, sheet.title.upper()) else None)
    if use is not None:
        return use, f"its title says {sheet.title.strip()}"
    if found is not None and found["type"] in _TYPES:
        use = _TYPES[found["type"]]
        return use, f"its number {sheet.number} is one of {use}s" if use != "other" else f"its number is {sheet.number}"
    return "unknown", "neither title nor number tells"


def use_of_title(title: str) -> SheetUse | None:
    """Tell what a title calls a drawing; nothing where it names no kind of drawing.

    One that names a floor plan beside other things is a floor plan.

    Examples
    --------
    >>> use_of_title("First Floor and Site Plan"), use_of_title("Site plan and notes"), use_of_title("Plan details")
    ('floor plan', 'other', 'detail')
    """
    words = title.upper()
    plan = " PLAN" * bool(re.search(r"\bPLANS?\W*$", words))
    parts = [part for part in re.split(_AND, words) if part.strip()]
    if len(parts) > 1 and any((_use_of(part) or _use_of(part + plan)) == "floor plan" for part in parts):
        return "floor plan"
    return _use_of(words)


def _use_of(words: str) -> SheetUse | None:
    return next((use for use, pattern in _TITLES if re.search(pattern, words)), None)


def is_of_another_trade(number: str) -> bool:
    """Tell whether a sheet is by its number one of a trade whose plans show no finishes of walls."""
    found = _NUMBER.match(number)
    return found is not None and found["discipline"][0].upper() in OTHER_TRADES


def shows_no_plan(sheet: Sheet, lines: Sequence[TextLine] = ()) -> str:
    """Say that a sheet shows no floor plan, as a clause; empty where it may be one.

    Its title says so, or its number does and the largest heading among its ``lines`` agrees.

    Examples
    --------
    >>> from dataclasses import replace
    >>> sheet = Sheet(id=1, source="", page=1, width_pt=1.0, height_pt=1.0, title="ELEVATIONS")
    >>> shows_no_plan(sheet), shows_no_plan(replace(sheet, title="FLOOR PLAN AND DOOR SCHEDULE"))
    ('its title says ELEVATIONS, which are no floor plan', '')
    """
    use, why = use_of(sheet)
    if why.startswith("its number"):
        headed, why = use_of_headings(lines)
        use = use if headed == use else "unknown"
    has_plan = re.search(rf"\bPLANS?\b|\bLAYOUT\b|{_FLOOR_PLANS}", sheet.title.upper())
    is_other = use in ("elevation", "schedule", "detail") and not has_plan
    return f"{why}, which {'are' if why.endswith('S') else 'is'} no floor plan" if is_other else ""


def use_of_headings(lines: Sequence[TextLine]) -> tuple[SheetUse, str]:
    """Tell what a sheet is for whose title block says nothing: by the largest heading on it that names a drawing.

    Examples
    --------
    >>> use_of_headings([])
    ('unknown', 'neither title nor number nor a heading tells')
    """
    named = [(line.size, use, line.text.strip()) for line, use in headings_of(lines)]
    largest = max(named, default=None, key=lambda one: (round(one[0]), one[1] == "floor plan", one[0]))
    if largest is None:
        return "unknown", "neither title nor number nor a heading tells"
    return largest[1], f"its heading says {largest[2]}"


def headings_of(lines: Sequence[TextLine]) -> list[tuple[TextLine, SheetUse]]:
    """Return the headings on a sheet that name a drawing, each with what it calls it."""
    sizes = sorted(line.size for line in lines)
    usual = sizes[len(sizes) // 2] if sizes else 0.0
    headings = [line for line in lines if line.size >= HEADING * usual and len(line.text.split()) <= MOST_WORDS]
    headings = [line for line in headings if not line.text.endswith(":")]  # a label of the title block
    return [(line, use) for line in headings if (use := use_of_title(line.text)) is not None]


def names_trade(title: str) -> bool:
    """Tell whether a title names the work of another trade.

    Examples
    --------
    >>> names_trade("First floor electrical plan"), names_trade("Ins. eléctrica"), names_trade("Ground floor plan")
    (True, True, False)
    """
    return re.search(_TRADES, title.upper()) is not None


def is_named_floor_plan(sheet: Sheet) -> bool:
    """Tell whether a sheet's title calls it a floor plan and no word of it names the work of another trade.

    Examples
    --------
    >>> from dataclasses import replace
    >>> page = Sheet(id=1, source="", page=1, width_pt=1.0, height_pt=1.0, title="FIRST FLOOR PLAN")
    >>> is_named_floor_plan(page), is_named_floor_plan(replace(page, title="FIRST FLOOR PLAN - POWER"))
    (True, False)
    """
    return re.search(_FLOOR_PLANS, sheet.title.upper()) is not None and not names_trade(sheet.title)


def units_of(sheets: Sequence[Sheet], lines: Iterable[str] = ()) -> tuple[UnitSystem, Basis]:
    """Tell the units of a set and by what: its scale notes, else the lengths written on it, else the paper.

    A scale without units, such as 1:100, tells them only where the lengths tell nothing else.

    Where the paper alone tells, or nothing does, they are assumed: an open point. So is what two notes differ about.

    Parameters
    ----------
    sheets
        The sheets of the set.
    lines
        Lines of text on them; asked only where no scale note names feet or inches.
    """
    notes = [sheet.scale_note for sheet in sheets if re.search(r"\d", sheet.scale_note)]
    metric = [note for note in notes if ":" in note and not re.search("[\"'″′]", note)]
    by_notes: UnitSystem = "metric" if 2 * len(metric) > len(notes) else "imperial"
    written: dict[UnitSystem, list[str]] = {"imperial": [], "metric": []}
    if not notes or by_notes == "metric":
        for text in lines:
            for units, pattern in _LENGTHS.items():
                written[units] += re.findall(pattern, text)
    units = max(written, key=lambda each: len(written[each]))
    fewer = min(len(found) for found in written.values())
    is_written = len(written[units]) >= max(FEW_LENGTHS, CLEAR_LENGTHS * fewer)
    if notes and (units == by_notes or not is_written):
        other = [note for note in notes if (note in metric) != (by_notes == "metric")]
        said = next(note for note in notes if note not in other)
        unsure = f"{len(other)} of {len(notes)} scale notes are in other units, such as {other[0]}" if other else ""
        return by_notes, Basis(of="units", taken=by_notes, how="note", text=said, unsure=unsure)
    if is_written:
        told = f"{len(written[units])} sizes are written as {written[units][0].strip()}"
        return units, Basis(of="units", taken=units, how="measured", text=told)
    sides = [sorted((sheet.width_pt, sheet.height_pt)) for sheet in sheets]
    papers = [
        paper
        for small, large in sides
        for paper, sizes in _PAPERS.items()
        if any(abs(small - a) <= PAPER_PLAY and abs(large - b) <= PAPER_PLAY for a, b in sizes)
    ]
    units = "metric" if 2 * papers.count("metric") > len(papers) else "imperial"
    told = "no scale note or size tells the units, "
    told += f"the paper is of {units} size" if papers else "and the paper does not either"
    return units, Basis(of="units", taken=units, how="assumed", text=told)


_LENGTHS: dict[UnitSystem, str] = {
    "imperial": r"\d+ ?['′] ?-? ?\d+|\d ?(?:SF|sf|(?i:sq\.? ?ft))\b",
    "metric": r"^ *\d{4,5} *$|\b\d+(?:[.,]\d+)? ?m(?:m?\b|²|2\b)",
}
"""How lengths and areas are written: feet and inches, square feet; whole millimetres that stand alone, or with their
unit, square metres."""
FEW_LENGTHS = 5
"""Lengths that tell the units of a set at least (judgement)."""
CLEAR_LENGTHS = 4
"""Times that those of one kind must be more than the others: sets of one kind quote the other for products."""
_MM = 72.0 / 25.4
_PAPERS: dict[UnitSystem, tuple[tuple[float, float], ...]] = {
    "metric": tuple((a * _MM, b * _MM) for a, b in ((210, 297), (297, 420), (420, 594), (594, 841), (841, 1189))),
    "imperial": tuple(
        (a * 72.0, b * 72.0)
        for a, b in ((8.5, 11), (11, 17), (17, 22), (22, 34), (34, 44), (9, 12), (12, 18), (18, 24), (24, 36), (36, 48))
    ),
}
"""Sides of drawing papers in points: A4 to A0 of ISO 216; A to E of ASME Y14.1 and of architects (from memory)."""
PAPER_PLAY = 6.0
"""Points by which a page may differ from its paper."""
