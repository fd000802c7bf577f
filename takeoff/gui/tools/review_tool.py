"""Stepping through what a new issue changed, by key or by pressing it on the plan."""

from __future__ import annotations

from collections.abc import Callable
from textwrap import shorten

from takeoff.gui.review import Review
from takeoff.gui.session import Session
from takeoff.gui.tools.tool import Pick, Tool

FOUND_LETTERS = 84
"""Letters of what was found that the prompt shows; the panel has all of it."""
FADE_STEP = 0.1
"""Part of the old issue that one press of an arrow key adds or takes."""


class ReviewTool(Tool):
    """Look at each change of a new issue; take or leave each proposal."""

    id = "review"
    cursor = "arrow"
    snaps = False

    def __init__(
        self,
        session: Session,
        review: Review,
        *,
        changed: Callable[[bool], None],
        blink: Callable[[], None],
        done: Callable[[], None],
    ) -> None:
        super().__init__(session)
        self.review, self._changed, self._blink, self._done = review, changed, blink, done

    def prompt(self) -> str:
        """What is looked at, and what to do next."""
        keys = "N, P: on, back · K: take or leave · Enter: take in · ← →: fade · L: blink · B: lines"
        item = self.review.item
        return f"{shorten(item.said, FOUND_LETTERS, placeholder=' …')}\n{keys}" if item else keys

    def press(self, pick: Pick) -> None:
        """Look at the smallest item under the pointer."""
        x, y = pick.raw_pt
        under = [
            ((box[2] - box[0]) * (box[3] - box[1]), i)
            for i, box in enumerate(item.box_pt for item in self.review.items)
            if box[0] - 4 <= x <= box[2] + 4 and box[1] - 4 <= y <= box[3] + 4
        ]
        if under:
            self.review.at = min(under)[1]
            self._changed(False)

    def key(self, key: str) -> bool:
        """Step, take or leave, fade or blink, or change which issue's lines are shown."""
        if key in ("n", "p"):
            self.review.step(1 if key == "n" else -1)
            self._changed(True)
        elif key == "k":
            self.review.toggle()
            self._changed(False)
        elif key == "b":
            self.review.next_shown()
            self._changed(False)
        elif key in ("left", "right"):
            self.review.fade(FADE_STEP if key == "left" else -FADE_STEP)
            self._changed(False)
        elif key == "l":
            self._blink()
        else:
            return False
        return True

    def finish(self) -> None:
        """Take in what is ticked."""
        self._done()
