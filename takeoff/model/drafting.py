"""Drafting styles: how an office draws its walls, doors and windows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Colour = tuple[int, int, int]
"""Red, green and blue, 0 to 255."""
Part = Literal["wall", "door", "window", "other"]
"""What something drawn may be part of; ``other`` is whatever is no wall, door or window."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How something is drawn; things of one look are drawn alike.

    Attributes
    ----------
    layer
        Name of its layer, without that of a file it was taken from; empty where the file has none.
    pen_pt
        Width of the pen in points of the page, to a hundredth; ``None`` where no pen goes round it.
    ink, fill
        Colour of the pen and of what is filled; ``None`` where there is no pen, or no fill.
    dashed
        Whether the pen is dashed.
    """

    layer: str = ""
    pen_pt: float | None = None
    ink: Colour | None = None
    fill: Colour | None = None
    dashed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftingStyle:
    """What the parts of a plan look like on the sheets of one office.

    ``name`` is the style's own in a job. Whatever has none of these looks is none of these parts.
    """

    name: str
    walls: tuple[Look, ...]
    doors: tuple[Look, ...] = ()
    windows: tuple[Look, ...] = ()
    others: tuple[Look, ...] = ()

    def part_of(self, look: Look) -> Part | None:
        """Return what something of a look is part of; what is shown as no wall is none, whatever else was shown."""
        parts: tuple[tuple[Part, tuple[Look, ...]], ...] = (
            ("other", self.others), ("wall", self.walls), ("door", self.doors), ("window", self.windows),
        )  # fmt: skip
        return next((part for part, looks in parts if look in looks), None)
