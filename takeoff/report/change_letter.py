"""The change order that a client is sent: what is added and deducted room by room, and nothing of costs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from takeoff.errors import ReportError
from takeoff.report.book import live_sum, new_book
from takeoff.report.change_order import ChangeClip, clip_png
from takeoff.report.files import table_csv, write_whole
from takeoff.report.html import address_of, logo_address, page_table, render
from takeoff.report.letterhead import PLAIN, Letterhead
from takeoff.report.pdf import paper_of, printed_table, put_head, set_pages
from takeoff.report.tables import Cell, Column, Table, amounts, texts
from takeoff.units import Display
from takeoff.units.money import add

ChangeBy = Literal["cost", "unit-price"]
"""What the amounts come from: the estimate's own difference, or the change of area at the job's price per area."""
JUDGED = "*"
"""Marks a line that rests on a wall which a person took although it was to be looked at."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeTerms:
    """What a person states of a change order: number, addressee, reason, how it is priced, and whose it is.

    ``date`` is ISO 8601, that of writing where empty; ``valid_days`` the letterhead's where ``None``.
    """

    number: str = ""
    to: str = ""
    reason: str = ""
    by: ChangeBy = "cost"
    date: str = ""
    valid_days: int | None = None
    letterhead: Letterhead = PLAIN


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeLine:
    """One room: what changed in plain words, areas as numbers in the unit shown, and the amount, negative for less."""

    room: str
    words: str
    before: float
    after: float
    amount: float
    is_judged: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeLetter:
    """A change order as it is sent, with the plan before and after.

    ``drawings`` are the sheet and its revisions, ``basis`` says how it is priced.
    """

    job: str
    date: str
    display: Display
    terms: ChangeTerms
    drawings: str
    lines: tuple[ChangeLine, ...]
    basis: str
    days: str
    qualifications: tuple[str, ...]
    cautions: tuple[str, ...]
    clips: tuple[ChangeClip, ...] = ()

    @property
    def letterhead(self) -> Letterhead:
        """Whose it is."""
        return self.terms.letterhead

    @property
    def title(self) -> str:
        """Its kind and number."""
        return f"Change order {self.terms.number}".strip()

    @property
    def added(self) -> float:
        """Sum of the amounts that are added."""
        return add(line.amount for line in self.lines if line.amount > 0.0)

    @property
    def deducted(self) -> float:
        """Sum of the amounts that are deducted, as a positive number."""
        return add(-line.amount for line in self.lines if line.amount < 0.0)

    @property
    def change(self) -> float:
        """What the price changes by."""
        return add(line.amount for line in self.lines)

    def head(self) -> list[tuple[str, str]]:
        """What stands at the top: number, date, addressee, project, reason and drawings; empty where not given."""
        return [
            ("Number", self.terms.number),
            ("Date", self.date),
            ("To", self.terms.to),
            ("Project", self.job),
            ("Reason", self.terms.reason or "Revised drawings"),
            ("Drawings", self.drawings),
        ]

    def sums(self) -> list[tuple[str, str]]:
        """The totals in words."""
        money = self.display.money
        sign = "+" if self.change > 0.0 else ""
        sums = [
            ("Total added", money(self.added)),
            ("Total deducted", money(self.deducted)),
            ("Change of price", sign + money(self.change)),
        ]
        return [*sums, ("Working days on site", self.days)] if self.days else sums


def area_column(title: str, display: Display) -> Column:
    """Give a column of areas with as many decimals as areas are shown with elsewhere."""
    return Column(title=title, unit=display.area_unit, decimals=1 if display.system == "imperial" else 2)


def letter_table(letter: ChangeLetter) -> Table:
    """Set out the lines with amounts each way."""
    money = letter.display.currency
    rows: list[tuple[Cell, ...]] = []
    for line in letter.lines:
        each_way = (line.amount if line.amount > 0.0 else "", -line.amount if line.amount < 0.0 else "")
        room = f"{line.room} {JUDGED}" if line.is_judged else line.room
        rows.append((room, line.words, line.before, line.after, *each_way))
    areas = (area_column(title, letter.display) for title in ("Area before", "Area after"))
    return Table(
        id="change-order",
        title="What is added and deducted",
        columns=(*texts("Room", "What changed"), *areas, *amounts("Added", "Deducted", unit=money)),
        rows=tuple(rows),
        total=("Total", "", "", "", letter.added, letter.deducted),
        note=letter.basis,
    )


def letter_kind(path: Path) -> str:
    """Tell by its ending what a change order is written as; another is refused (`ReportError`)."""
    kind = path.suffix.lower().removeprefix(".")
    if kind not in _WRITERS:
        raise ReportError(
            f'a change order is not written as "{path.name}"',
            remedy="End the file's name in .pdf, .html, .xlsx or .csv.",
        )
    return kind


def write_change_letter(letter: ChangeLetter, path: Path) -> Path:
    """Write a change order as its ending says; a `ReportError` where it cannot be set or written."""
    return write_whole(path, _WRITERS[letter_kind(path)](letter))


def _pdf(letter: ChangeLetter) -> bytes:
    files: dict[str, bytes] = {}
    data = put_head(letter.job, letter.date, letter.letterhead, paper_of(letter.display), files) | {
        "title": letter.title,
        "head": letter.head(),
        "table": printed_table(letter_table(letter)),
        "sums": letter.sums(),
        "qualifications": letter.qualifications,
        "cautions": letter.cautions,
        "clips": [_put_clip(clip, i, files) for i, clip in enumerate(letter.clips)],
    }
    return set_pages("change_letter.typ", data, files)


def _put_clip(clip: ChangeClip, i: int, files: dict[str, bytes]) -> dict[str, Any]:
    names = [f"clip{i}-{when}.png" for when in ("before", "after")]
    for name, side in zip(names, (clip.before, clip.after), strict=True):
        files[name] = clip_png(side)
    return {"room": clip.room, "words": list(clip.words), "before": names[0], "after": names[1]}


def _html(letter: ChangeLetter) -> bytes:
    head = letter.letterhead
    table = letter_table(letter)
    pictures = [[address_of(clip_png(side), "png") for side in (c.before, c.after)] for c in letter.clips]
    return render(
        "change_letter.html.jinja",
        job=letter.job,
        title=letter.title,
        company=head.company,
        logo=logo_address(head.logo),
        head=[row for row in (*letter.head(), ("Prepared by", head.prepared_by)) if row[1]],
        sums=letter.sums(),
        table=page_table(table),
        clips=[(c.room, c.words, *sides) for c, sides in zip(letter.clips, pictures, strict=True)],
        lists=(("qualifications", "Qualifications", letter.qualifications), ("safety", "Safety", letter.cautions)),
    )


def _workbook(letter: ChangeLetter) -> bytes:
    """Set the same out on sheets; totals add up the rows above them, and no other cell is a formula."""
    table, by = letter_table(letter), letter.letterhead.prepared_by
    with new_book(letter.job, letter.display, letter.title, letter.letterhead) as (book, out):
        book.cover("Change order", [*letter.head(), *letter.sums(), *([("Prepared by", by)] if by else [])])
        sums = (live_sum(c, len(table.rows), value) for c, value in ((4, letter.added), (5, letter.deducted)))
        book.table("Lines", table.columns, table.rows, total=("Total", "", "", "", *sums), note=table.note)
        book.terms((("Qualification", letter.qualifications), ("Safety", letter.cautions)))
    return out.getvalue()


_WRITERS: Mapping[str, Callable[[ChangeLetter], bytes]] = {
    "pdf": _pdf,
    "html": _html,
    "xlsx": _workbook,
    "csv": lambda letter: table_csv(letter_table(letter)),
}
