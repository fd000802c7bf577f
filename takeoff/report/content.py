"""What a report is made of."""

from __future__ import annotations

from dataclasses import dataclass, replace

from takeoff.model.costs import Estimate
from takeoff.model.figures import Elevation, Lot, Measurement
from takeoff.model.plan import Point, Sheet
from takeoff.model.point_register import Register
from takeoff.model.systems import Catalogue, Rates
from takeoff.report.letterhead import PLAIN, Letterhead, Paper, other_currency, usual_exclusions, usual_qualifications
from takeoff.report.planning_tables import UNPLANNED, Planning
from takeoff.report.tables import (
    Table,
    arithmetic_table,
    labour_table,
    material_table,
    price_table,
    quantity_table,
    share_table,
)
from takeoff.report.wall_names import WallNames
from takeoff.units import Display

OWN_AFFAIRS = ("rates", "product", "job")
"""Kinds of open points that are the contractor's own affair and stand in nothing that leaves the office."""


def sheet_title(sheet: Sheet) -> str:
    """Number and title of a sheet."""
    return " ".join(t for t in (sheet.number, sheet.title) if t) or f"Sheet {sheet.id}"


def sheet_issue(sheet: Sheet) -> list[str]:
    """Revision and date of a sheet, as far as its title block says them."""
    return [text for text in (f"revision {sheet.revision}" if sheet.revision else "", sheet.date) if text]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One face on a plan, in points of the page as displayed, x right and y down.

    ``label`` is run and face, ``room`` the room's id. ``hand`` is a unit vector per drawn segment towards the coated
    side; ``corners`` are (x, y, is inside).
    """

    label: str
    system: str
    room: str = ""
    line_pt: tuple[Point, ...]
    hand: tuple[Point, ...]
    openings_pt: tuple[tuple[Point, Point], ...]
    corners: tuple[tuple[float, float, bool], ...]


Box = tuple[float, float, float, float]
"""Left, top, right and bottom in points of the page as displayed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPicture:
    """A sheet with runs: its page as a one-page PDF (as displayed), its size in points, and the marks over it.

    ``texts_pt`` are boxes of what is written on the page, which names of runs keep off.
    """

    sheet: Sheet
    page_pdf: bytes
    size_pt: tuple[float, float]
    marks: tuple[Mark, ...]
    texts_pt: tuple[Box, ...] = ()

    @property
    def crop(self) -> Box:
        """The part of the page with marks, and some of what is round them."""
        xs = [x for mark in self.marks for x, _ in mark.line_pt]
        ys = [y for mark in self.marks for _, y in mark.line_pt]
        edge = 0.04 * max(max(xs) - min(xs), max(ys) - min(ys))
        width, height = self.size_pt
        return (
            *(max(min(xs) - edge, 0.0), max(min(ys) - edge, 0.0)),
            *(min(max(xs) + edge, width), min(max(ys) + edge, height)),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What every edition of a report shows: plans, elevations and quantities, and nothing of what they cost.

    ``walls`` are the names of walls, ``systems`` ids and names of the systems in the order of the estimate,
    ``uncoated`` the ids of those without a wall coat. ``paper`` goes by the units where ``None``. ``drawing`` are the
    walls as a DXF drawing, empty where none was asked for.
    """

    job: str
    date: str
    display: Display
    rule: str
    rule_source: str
    by_room: Measurement
    by_run: Measurement
    systems: tuple[tuple[str, str], ...]
    pictures: tuple[SheetPicture, ...]
    elevations: tuple[Elevation, ...]
    walls: WallNames
    scales: tuple[str, ...]
    uncoated: frozenset[str] = frozenset()
    letterhead: Letterhead = PLAIN
    paper: Paper | None = None
    drawing: bytes = b""

    def head(self) -> tuple[tuple[str, str], ...]:
        """Say in pairs what it is about and taken from, for the first page; a line break parts several lines."""
        drawings = (", ".join((sheet_title(p.sheet), *sheet_issue(p.sheet))) for p in self.pictures)
        rows = (
            *self.head_of_edition(),
            ("Prepared by", self.letterhead.prepared_by),
            ("Drawings", "\n".join(drawings)),
            ("Scale", "\n".join(self.scales)),
        )
        return tuple(row for row in rows if row[1])

    def head_of_edition(self) -> tuple[tuple[str, str], ...]:
        """What stands first in it."""
        return (("Date", self.date), ("Measuring rule", f"{self.rule}: {self.rule_source}"))

    def systems_on(self, picture: SheetPicture) -> list[str]:
        """Systems on a sheet in the order of the estimate, and last the empty one of marks without a system."""
        there = {mark.system for mark in picture.marks}
        return [id for id in self.system_order if id in there]

    @property
    def system_order(self) -> list[str]:
        """All systems in the order of the estimate; a system has one colour on every sheet by its place here."""
        priced = [id for id, _ in self.systems]
        others = sorted({e.system or "" for e in self.elevations} - set(priced), key=lambda id: (not id, id))
        return [*priced, *others]

    def system_name(self, id: str) -> str:
        """Name a system by its id; the empty one is no system."""
        return dict(self.systems).get(id, id) or "no system"

    def wall_name(self, key: str) -> str:
        """Name a face for this edition."""
        return self.walls.face(key)

    def tags(self, picture: SheetPicture) -> list[tuple[Mark, str]]:
        """Say what stands beside which line of a sheet: the number of each wall; nothing beside the one of a room."""
        found = []
        for mark in picture.marks:
            walls = self.walls.walls[mark.label] if self.walls.number(mark.label) else ()
            for wall in (wall for wall in walls if wall.is_main):
                a, b = wall.points
                line, hand = mark.line_pt[a : b + 1], mark.hand[a:b]
                found.append((replace(mark, line_pt=line, hand=hand, corners=(), openings_pt=()), str(wall.number)))
        return found


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportContent(Shown):
    """Everything that a full report shows.

    ``job_currency`` is the job's, prices are in the estimate's, which was made with ``catalogue`` of ``lots``.
    """

    estimate: Estimate
    job_currency: str
    catalogue: Catalogue
    points: Register
    planning: Planning = UNPLANNED
    lots: tuple[Lot, ...] = ()

    def wall_name(self, key: str) -> str:
        """Name a face by its room and walls, with the run's id and side, which edits go by."""
        run, _, face = key.rpartition(":")
        return f"{self.walls.face(key)} ({run}, {face} face)"

    def tags(self, picture: SheetPicture) -> list[tuple[Mark, str]]:
        """Say what stands beside each face of a sheet: the run's id."""
        return [(mark, mark.label.rpartition(":")[0]) for mark in picture.marks]

    @property
    def rates(self) -> Rates:
        """What the estimate reckons with."""
        return self.catalogue.rates

    @property
    def currency_words(self) -> str:
        """What is to be said of the currency beside the price; empty where it is the job's."""
        return other_currency(self.job_currency, self.estimate.currency)

    @property
    def exclusions(self) -> tuple[str, ...]:
        """What is not in the price: the usual things, and the owner's own."""
        return (*usual_exclusions(self.estimate), *self.letterhead.exclusions)

    @property
    def qualifications(self) -> tuple[str, ...]:
        """The terms that quantities and price stand on: the usual ones, and the owner's own."""
        return (*usual_qualifications(self.estimate), *self.letterhead.qualifications)

    @property
    def open_lines(self) -> tuple[str, ...]:
        """How much is open, then every group of open points in a line; nothing where none is."""
        lines = self.points.lines(self.display)
        return (self.points.words(), *lines) if lines else ()

    def tables(self) -> tuple[Table, ...]:
        """All tables in reading order."""
        return (
            quantity_table(self.by_room, self.display),
            quantity_table(self.by_run, self.display),
            material_table(self.estimate, self.display),
            labour_table(self.estimate, self.display),
            price_table(self.estimate, self.display),
            share_table(self.estimate, self.display),
            arithmetic_table(self.estimate),
        )
