"""Zooming to a box that is dragged."""

from __future__ import annotations

from collections.abc import Callable

from takeoff.gui.canvas.shape import Shape
from takeoff.gui.session import Session
from takeoff.gui.tools.tool import PREVIEW, Pick, Tool
from takeoff.model.plan import Point


class ZoomTool(Tool):
    """Drag a box to see it as large as the window; then the tool before comes back."""

    id = "zoom-box"
    title = "Zoom to a box"
    snaps = False

    def __init__(self, session: Session, done: Callable[[tuple[Point, ...]], None]) -> None:
        super().__init__(session)
        self._done = done
        self.start: Point | None = None

    def prompt(self) -> str:
        """What to do next."""
        return "Drag a box over what you want to see larger · Escape: not now"

    def press(self, pick: Pick) -> None:
        """Begin the box."""
        self.at, self.start = pick, pick.raw_pt

    def release(self, pick: Pick) -> None:
        """Zoom to the box."""
        start, self.start = self.start, None
        if start is not None and abs(pick.raw_pt[0] - start[0]) > 4 * pick.pt_per_pixel:
            self._done((start, pick.raw_pt))

    def preview(self) -> tuple[Shape, ...]:
        """Show the box."""
        if self.start is None or self.at is None:
            return ()
        (x0, y0), (x1, y1) = self.start, self.at.raw_pt
        return (Shape(kind="polygon", points_pt=((x0, y0), (x1, y0), (x1, y1), (x0, y1)), colour=PREVIEW, width=2),)
