"""Showing how an office draws: a click on one wall, one door, one window lights up everything drawn like it."""

from __future__ import annotations

import math

from takeoff import actions
from takeoff.errors import TakeoffError
from takeoff.gui.canvas.view import Shape
from takeoff.gui.session import Session
from takeoff.gui.tools.tool import Pick, Tool
from takeoff.job.edits import PutStyle
from takeoff.model.drafting import DraftingStyle, Look, Part
from takeoff.trace.drawing.looks import in_words

NAME = "office"
"""Name of the style that the window keeps where no other is named."""
PARTS: dict[tuple[bool, bool], tuple[Part, str]] = {
    (False, False): ("wall", "#D55E00"),
    (True, False): ("door", "#0072B2"),
    (False, True): ("window", "#009E73"),
    (True, True): ("other", "#CC79A7"),
}
"""What a click shows by whether Shift and Control are held, and its colour (Okabe and Ito's palette)."""
REACH = 8.0
"""Pixels from a line within which a click is on it."""
MOST_LIT = 1200
"""Lines of a look that are lit up at the most, the longest: more would make every move of the pointer slow."""


class StyleTool(Tool):
    """Click one wall, one door and one window; everything alike lights up, and Enter keeps the drafting style."""

    id = "style"
    snaps = False

    def __init__(self, session: Session, name: str = NAME) -> None:
        super().__init__(session)
        self._name = name
        self.style = self._kept
        self._drawn: actions.DrawnSheet | None = None
        self._lit: dict[tuple[Look, str], tuple[Shape, ...]] = {}

    @property
    def _kept(self) -> DraftingStyle:
        """The style as it is in the job; one without anything where it is not."""
        return self.session.job.styles.get(self._name, DraftingStyle(name=self._name, walls=()))

    def prompt(self) -> str:
        return (
            "Click a wall · with Shift a door · with Control a window · with both what is none of these · "
            "again: take it away · Enter: keep the style"
        )

    def readout(self) -> str:
        if self.at is None or self._drawn is None:
            return ""
        look = self._drawn.look_at(self.at.raw_pt, REACH * self.at.pt_per_pixel)
        return "" if look is None else in_words(look)

    def press(self, pick: Pick) -> None:
        self.at = pick
        look = self._sheet().look_shown(pick.raw_pt, REACH * pick.pt_per_pixel)
        part, _ = PARTS[pick.is_shift, pick.is_control]
        self.style = actions.with_look(self.style, None if self.style.part_of(look) == part else part, look)
        stays = part in ("door", "window") and look in self.style.walls
        self.session.tell(f"{in_words(look).capitalize()}.{f' {actions.AS_WALLS}.' if stays else ''}")

    def double(self, pick: Pick) -> None:
        """Take the second of two quick clicks like any other."""
        self.press(pick)

    def preview(self) -> tuple[Shape, ...]:
        shown = (self.style.walls, self.style.doors, self.style.windows, self.style.others)
        return tuple(
            shape
            for looks, (_, colour) in zip(shown, PARTS.values(), strict=True)
            for look in looks
            for shape in self._alike(look, colour)
        )

    def finish(self) -> None:
        self.session.do(PutStyle(style=self.style), "The drafting style is kept: G traces rooms by it.")

    def cancel(self) -> bool:
        is_other, self.style = self.style != self._kept, self._kept
        return is_other

    def _sheet(self) -> actions.DrawnSheet:
        if self._drawn is None:
            self._drawn = actions.read_drawn_sheet(self.session.store, self.session.sheet.id)
        return self._drawn

    def _alike(self, look: Look, colour: str) -> tuple[Shape, ...]:
        if (look, colour) not in self._lit:
            try:
                rows = self._sheet().alike(look).tolist()
            except TakeoffError:
                return ()
            rows.sort(key=lambda row: -math.dist(row[:2], row[2:]))
            lines = (Shape("line", ((x0, y0), (x1, y1)), colour, 3) for x0, y0, x1, y1 in rows[:MOST_LIT])
            self._lit[look, colour] = tuple(lines)
        return self._lit[look, colour]
