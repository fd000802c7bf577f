"""A new issue on the plan: stepping through what it changed, and two points that lay it on the old one by hand."""

from __future__ import annotations

from collections.abc import Callable
from textwrap import shorten

from takeoff.gui.canvas.view import Shape
from takeoff.gui.review import Review, Reviewing
from takeoff.gui.session import Session
from takeoff.gui.tools.tool import PREVIEW, Pick, PointsTool, Tool
from takeoff.model.plan import Point

NEEDED = 2
"""Pairs of points that lay one sheet on another."""


class PairTool(PointsTool):
    """Press points on the old issue, then the same ones on the new one.

    ``turn`` is called when the old issue's points are there, for the new one is to be shown; ``done`` with the pairs,
    each the old sheet's point and the new one's; ``ended`` when the tool is put down.
    """

    id = "pair"

    def __init__(
        self,
        session: Session,
        *,
        turn: Callable[[], None],
        done: Callable[[list[tuple[Point, Point]]], None],
        ended: Callable[[], None],
    ) -> None:
        super().__init__(session)
        self._turn, self._done, self._ended = turn, done, ended
        self.old: list[Point] = []
        """Points on the old issue, once all of them are there; ``points`` are those on the issue that is shown."""

    @property
    def is_on_new(self) -> bool:
        """Whether the new issue is shown."""
        return bool(self.old)

    def prompt(self) -> str:
        number = f"{len(self.points) + 1} of {NEEDED}"
        if self.is_on_new:
            return f"New revision: click the same point {number} · X: zoom in · Escape: stop"
        where = "far from the first" if self.points else "such as the end of a wall"
        return f"Old revision: click point {number} in both revisions, {where} · X: zoom in"

    def press(self, pick: Pick) -> None:
        self.at = pick
        self.points.append(pick.pt)
        if len(self.points) == NEEDED and self.is_on_new:
            self._done(list(zip(self.old, self.points, strict=True)))
        elif len(self.points) == NEEDED:
            self.old, self.points = self.points, []
            self.at, self.snaps = None, False
            self._turn()

    def put_down(self) -> None:
        self._ended()

    def cancel(self) -> bool:
        """Keep the points: Escape ends showing them."""
        return False

    def preview(self) -> tuple[Shape, ...]:
        shapes: list[Shape] = []
        for number, point in enumerate(self.points, 1):
            shapes.append(Shape("dot", (point,), PREVIEW, 3, size=12))
            shapes.append(Shape("text", (point,), PREVIEW, text=f"  {number}", size=14, anchor="w"))
        return tuple(shapes)


FOUND_LETTERS = 84
"""Letters of what was found that the prompt shows; the panel has all of it."""
FADE_STEP = 0.1
"""Part of the old issue that one press of an arrow key adds or takes."""
KEYS: dict[str, Callable[[Review], object]] = {
    "n": lambda review: review.step(1),
    "p": lambda review: review.step(-1),
    "k": Review.toggle,
    "b": Review.next_shown,
    "left": lambda review: review.fade(FADE_STEP),
    "right": lambda review: review.fade(-FADE_STEP),
}
"""What keys change in the review."""


class ReviewTool(Tool):
    """Look at each change of a new issue; take or leave each proposal."""

    id = "review"
    cursor = "arrow"
    snaps = False

    def __init__(self, session: Session, review: Review, issue: Reviewing) -> None:
        super().__init__(session)
        self.review, self._issue = review, issue

    def prompt(self) -> str:
        keys = "N, P: on, back · K: take or leave · Enter: take in · ← →: fade · L: blink · B: lines"
        item = self.review.item
        return f"{shorten(item.said, FOUND_LETTERS, placeholder=' …')}\n{keys}" if item else keys

    def press(self, pick: Pick) -> None:
        x, y = pick.raw_pt
        under = [
            ((box[2] - box[0]) * (box[3] - box[1]), i)
            for i, box in enumerate(item.box_pt for item in self.review.items)
            if box[0] - 4 <= x <= box[2] + 4 and box[1] - 4 <= y <= box[3] + 4
        ]
        if under:
            self.review.at = min(under)[1]
            self._issue.changed(False)

    def key(self, key: str) -> bool:
        if key == "l":
            self._issue.blink()
            return True
        if key not in KEYS:
            return False
        KEYS[key](self.review)
        self._issue.changed(key in ("n", "p"))
        return True

    def finish(self) -> None:
        self._issue.take_in()
