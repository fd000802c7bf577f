"""Stepping through what a new issue changed, by key or by pressing it on the plan."""

from __future__ import annotations

from collections.abc import Callable
from textwrap import shorten

from takeoff.gui.review import Review, Reviewing
from takeoff.gui.session import Session
from takeoff.gui.tools.tool import Pick, Tool

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
            self._issue.changed(False)

    def key(self, key: str) -> bool:
        """Step, take or leave, fade or blink, or change which issue's lines are shown."""
        if key == "l":
            self._issue.blink()
            return True
        if key not in KEYS:
            return False
        KEYS[key](self.review)
        self._issue.changed(key in ("n", "p"))
        return True

    def finish(self) -> None:
        """Take in what is ticked."""
        self._issue.take_in()
