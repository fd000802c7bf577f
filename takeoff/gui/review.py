"""A new issue of a sheet under review: what changed, one by one, and which proposals are taken. No toolkit in here."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Literal, Protocol

from takeoff import actions
from takeoff.errors import TakeoffError
from takeoff.gui.canvas.view import Shape, box_round, box_shape
from takeoff.gui.job_shapes import polyline
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.measure.totals import in_names, wall_labels
from takeoff.model.plan import Point, Sheet
from takeoff.revise.changes import SMALLEST
from takeoff.revise.delta import Delta
from takeoff.sheet.files import plan_contents, read_sheets
from takeoff.units import Display, format_money, signed

Box = tuple[float, float, float, float]
Shown = Literal["both", "old", "new", "none"]
SHOWN: tuple[Shown, ...] = ("both", "old", "new", "none")

GONE, NEW, FOUND, DOUBT = "#D55E00", "#0072B2", "#009E73", "#CC79A7"
MOST_LINES = 4000
"""Lines of linework drawn at the most; the longest ones."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewIssue:
    """A new issue to compare: its file, the page where the sheet's number does not tell it, and pairs of points."""

    name: str
    data: bytes
    page: int | None = None
    points: tuple[tuple[Point, Point], ...] = ()
    smallest: float = SMALLEST


def compare(store: JobStore, sheet_id: int, issue: NewIssue) -> actions.RevisionPrices:
    """Compare a new issue with a sheet of a job, and price it; this runs in the reading process."""
    sheet, how = store.job.sheets[sheet_id], partial(actions.compare_revision, page=issue.page, points=issue.points)
    return actions.RevisionPrices(store.job, how(store, sheet, issue.name, issue.data, smallest=issue.smallest))


def sheets_of(name: str, data: bytes) -> list[Sheet]:
    """Read the sheets of a plan file; this runs in the reading process."""
    return read_sheets(plan_contents(data, name)[0], name)[0]


@dataclass(kw_only=True)
class NewSet:
    """A whole new set beside the job, sheet by sheet, and what was done about each since, by its number from 0."""

    name: str
    sheets: tuple[actions.SheetOfSet, ...] = ()
    done: dict[int, str] = field(default_factory=dict)

    def take(self, revision: actions.Revision, said: str) -> None:
        """Say what was done about the sheet of a revision."""
        self.done.update((i, said) for i, sheet in enumerate(self.sheets) if sheet.revision is revision)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewItem:
    """One line of the review: a run's proposal, a new wall or a change of the drawing, and where it is.

    ``size`` of what is new or changed is in metres. ``price`` and ``figures`` are what a proposal alone does.
    """

    what: str
    found: str
    box_pt: Box
    run: str = ""
    is_sure: bool = True
    size: float = math.inf
    price: str = ""
    figures: str = ""
    rank: tuple[int, float]

    @property
    def said(self) -> str:
        """What it is, its price and what was found, in one line."""
        return f"{self.what}{', ' * bool(self.price)}{self.price}: {self.found}"


class Reviewing(Protocol):
    """What the panel and the tool of a review need of what opened it."""

    def changed(self, is_step: bool) -> None:
        """Show the review as it stands; after a step the plan goes to the item."""

    def blink(self) -> None:
        """Have old and new take turns, or stop that."""

    def leave_out(self, text: str) -> None:
        """List changes from a typed size; a `TakeoffError` is raised where it does not fit."""

    def take_in(self) -> None:
        """Take what is ticked into the job."""

    def put_aside(self) -> None:
        """End the review; nothing is changed."""


class Review:
    """A revision with what is taken of it so far, and with what that comes to in the job that it was compared with.

    Changes of the drawing are listed from the ``smallest`` size in metres; comparing left out what is smaller.
    """

    def __init__(self, prices: actions.RevisionPrices, job: Job, display: Display, smallest: float = SMALLEST) -> None:
        self.prices, self.revision, self.display, self._job = prices, prices.revision, display, job
        self._all = _items(prices, display, wall_labels(job.runs.values(), job.rooms))
        self.items = self._all
        self.compared_from = self.smallest = smallest
        self.taken = {r.before.id for r in self.revision.runs if r.sure}
        self.at = 0
        self._told: tuple[Job, list[str], str] | None = None
        self.shown: Shown = "both"
        self.share = 0.0
        """Part of the old issue in what is seen under the lines: 0 is the new issue alone."""

    @property
    def chosen(self) -> list[str]:
        """What is taken, as `takeoff.actions.accept_revision` is told."""
        return [item.run for item in self.items if item.run and item.run in self.taken]

    def so_far(self, job: Job) -> str:
        """Say what the price changes by with what is taken, of what it does with all; the job may have gone on."""
        if self._told is not None and self._told[0] is job and self._told[1] == self.chosen:
            return self._told[2]
        try:
            if job is not self._job:
                self._job, self.prices = job, actions.RevisionPrices(job, self.revision)
            taken, whole = self.prices.change(job, self.chosen), self.prices.whole
        except TakeoffError:
            taken = whole = None
        told = "Taken so far: the price is not known."
        if taken is not None and whole is not None:
            one, all_ = (signed(format_money(part, self.prices.currency)) for part in (taken, whole))
            told = f"Taken so far: {one} of {all_}"
        self._told = (job, self.chosen, told)
        return told

    @property
    def item(self) -> ReviewItem | None:
        """The item that is looked at."""
        return self.items[self.at] if self.items else None

    def step(self, by: int) -> None:
        """Look at the next item, or the one before."""
        if self.items:
            self.at = (self.at + by) % len(self.items)

    def fade(self, by: float) -> None:
        """Show more of the old issue, or less."""
        self.share = min(max(round(self.share + by, 3), 0.0), 1.0)

    def next_shown(self) -> None:
        """Show other lines: those of both issues, of the old one, of the new one, none."""
        self.shown = SHOWN[(SHOWN.index(self.shown) + 1) % len(SHOWN)]

    def leave_out(self, smallest: float) -> None:
        """List changes of the drawing and new walls from this size in metres; the item looked at stays so."""
        looked_at = self.item
        self.smallest = smallest
        self.items = [i for i in self._all if i.run or i.size >= smallest]
        self.at = self.items.index(looked_at) if looked_at in self.items else 0

    def toggle(self) -> None:
        """Take the proposal that is looked at, or leave it, where it is one."""
        if self.item is not None and self.item.run:
            self.taken ^= {self.item.run}

    def take(self, which: Literal["sure", "all", "none"]) -> None:
        """Choose the sure proposals, all of them, or none."""
        self.taken = {r.before.id for r in self.revision.chosen(which)}

    def shapes(self) -> list[Shape]:
        """Linework that is gone and new, proposals, and the item looked at, on the new sheet."""
        r = self.revision
        shapes: list[Shape] = []
        removed, added = r.lines_of_building()
        if self.shown in ("both", "old"):
            shapes.extend(_lines(self._listed(removed), GONE, (6, 4)))
        if self.shown in ("both", "new"):
            shapes.extend(_lines(self._listed(added), NEW, ()))
        for carried in r.runs:
            if carried.after is None or carried.after.sheet != r.sheet.id:
                continue
            is_taken = carried.before.id in self.taken
            line = tuple(polyline(carried.after))
            colour = FOUND if carried.sure else DOUBT
            shapes.append(Shape("line", line, colour, 4 if is_taken else 2, () if is_taken else (3, 5)))
        if self.item is not None:
            x0, y0, x1, y1 = self.item.box_pt
            shapes.append(box_shape((x0, y0), (x1, y1), colour="#000000", width=3, dash=(2, 2)))
        return shapes

    def _listed(self, segments: Any) -> Any:
        """Leave out the lines of changes that are too small to be listed."""
        import numpy as np

        rows = np.asarray(segments).reshape(-1, 4)
        middles = (rows[:, :2] + rows[:, 2:]) / 2

        def inside(items: Iterable[ReviewItem]) -> Any:
            boxes = (((middles >= i.box_pt[:2]) & (middles <= i.box_pt[2:])).all(axis=1) for i in items)
            return sum(boxes, start=np.zeros(len(rows), bool))

        return rows[~inside(i for i in self._all if i not in self.items) | inside(self.items)]

    def focus(self) -> tuple[Point, Point] | None:
        """Opposite corners of what is to be seen of the item looked at, with a margin."""
        if self.item is None:
            return None
        x0, y0, x1, y1 = self.item.box_pt
        margin = max(x1 - x0, y1 - y0, 72.0) * 0.6
        return (x0 - margin, y0 - margin), (x1 + margin, y1 + margin)


def delta_words(delta: Delta, display: Display) -> str:
    """Say in one line what an accepted issue does to quantities and money."""
    added, deducted = display.area(delta.added("net_area")), display.area(delta.deducted("net_area"))
    price = f"{display.money(delta.price.before)} to {display.money(delta.price.after)}"
    return f"Net area: {added} added, {deducted} deducted; price {price}."


def _lines(segments: Any, colour: str, dash: tuple[int, ...]) -> list[Shape]:
    import numpy as np

    rows = np.asarray(segments).reshape(-1, 4)
    if len(rows) > MOST_LINES:
        length = np.hypot(rows[:, 2] - rows[:, 0], rows[:, 3] - rows[:, 1])
        rows = rows[np.argsort(-length)[:MOST_LINES]]
    return [Shape("line", ((x0, y0), (x1, y1)), colour, 2, dash) for x0, y0, x1, y1 in rows.tolist()]


def _worth(prices: actions.RevisionPrices, id: str, display: Display) -> dict[str, Any]:
    figures, worth = "", prices.worths.get(id)
    if worth is not None:
        before, after = display.area(worth.net_area.before), display.area(worth.net_area.after)
        figures = f"Net area {before} before, {after} after."
    return {"run": id, "price": prices.words(id), "figures": figures, "rank": prices.rank(id)}


def _items(prices: actions.RevisionPrices, display: Display, names: Mapping[str, str]) -> list[ReviewItem]:
    items, revision, changed = [], prices.revision, (actions.CHANGED, 0.0)
    for r in revision.runs:
        points = polyline(r.after if r.after is not None else r.before)
        if r.after is None:
            points = [revision.registration.carry(p) for p in points]
        if r.after is not None and r.after.sheet != revision.sheet.id:  # a schedule is about walls on other sheets
            points = [(0.0, 0.0), (revision.sheet.width_pt, revision.sheet.height_pt)]
        found = in_names(f"{r.verdict}{': ' if r.notes else ''}{'; '.join(r.notes)}", names)
        items.append(
            ReviewItem(
                what=names[r.before.id][:1].upper() + names[r.before.id][1:],
                found=found,
                box_pt=box_round(points),
                is_sure=r.sure,
                **_worth(prices, r.before.id, display),
            )
        )
    for place in revision.rooms_anew:
        if not place.runs:  # the others stand with the walls whose place they take
            box = box_round(p for _, walls in place.rooms for wall in walls for p in polyline(wall))
            worth = _worth(prices, place.key, display)
            items.append(ReviewItem(what="new room", found=place.words, box_pt=box, is_sure=False, **worth))
    items.extend(
        ReviewItem(what="new wall", found=w.words(display.length), box_pt=w.box_pt, size=w.length, rank=changed)
        for w in revision.new_walls
    )
    for c in revision.changes:
        if c.on_plan:  # changed text always is listed
            size = math.inf if c.kind == "text" else c.size
            found = c.words(display.length)
            items.append(ReviewItem(what="drawing", found=found, box_pt=c.box_pt, size=size, rank=changed))
    return sorted(items, key=lambda i: i.rank)
