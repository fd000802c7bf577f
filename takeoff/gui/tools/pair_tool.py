"""Showing two points that an old and a new issue both have, where the program cannot lay one on the other."""

from __future__ import annotations

from collections.abc import Callable

from takeoff.gui.canvas.shape import Shape
from takeoff.gui.session import Session
from takeoff.gui.tools.tool import PREVIEW, Pick, Tool
from takeoff.model.plan import Point

NEEDED = 2
"""Pairs of points that lay one sheet on another."""


class PairTool(Tool):
    """Press points on the old issue, then the same ones on the new one.

    Parameters
    ----------
    turn
        Called when the old issue's points are there: the new issue is to be shown.
    done
        Called with the pairs, each the old sheet's point and the new one's.
    ended
        Called when the tool is put down.
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
        self.new: list[Point] = []

    @property
    def is_on_new(self) -> bool:
        """Whether the new issue is shown."""
        return len(self.old) == NEEDED

    def prompt(self) -> str:
        """What to do next."""
        if not self.is_on_new:
            where = "far from the first" if self.old else "such as the end of a wall"
            return f"Old revision: click point {len(self.old) + 1} of {NEEDED} in both revisions, {where} · X: zoom in"
        return f"New revision: click the same point {len(self.new) + 1} of {NEEDED} · X: zoom in · Escape: stop"

    def press(self, pick: Pick) -> None:
        """Take a point of the issue that is shown."""
        self.at = pick
        if not self.is_on_new:
            self.old.append(pick.pt)
            if self.is_on_new:
                self.at, self.snaps = None, False
                self._turn()
            return
        self.new.append(pick.pt)
        if len(self.new) == NEEDED:
            self._done(list(zip(self.old, self.new, strict=True)))

    def put_down(self) -> None:
        """End showing points."""
        self._ended()

    @property
    def has_steps(self) -> bool:
        """Whether a point of the issue that is shown is placed."""
        return bool(self.new if self.is_on_new else self.old)

    def back(self) -> bool:
        """Take the last point of the issue that is shown back."""
        points = self.new if self.is_on_new else self.old
        return bool(points) and points.pop() is not None

    def preview(self) -> tuple[Shape, ...]:
        """Number the points of the issue that is shown."""
        shapes: list[Shape] = []
        for number, point in enumerate(self.new if self.is_on_new else self.old, 1):
            shapes.append(Shape("dot", (point,), PREVIEW, 3, size=12))
            shapes.append(Shape("text", (point,), PREVIEW, text=f"  {number}", size=14, anchor="w"))
        return tuple(shapes)
