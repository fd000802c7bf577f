"""What every tool has, and what it is told of the pointer."""

from __future__ import annotations

import math
from dataclasses import dataclass

from takeoff.gui.canvas.shape import Shape
from takeoff.gui.session import Session
from takeoff.gui.tools.room_needs import take_height
from takeoff.model.plan import Calibration, Point
from takeoff.units import parse_length

PREVIEW = "#D55E00"
"""Vermilion of Okabe and Ito's palette: what is not in the job yet."""

LOCK = math.radians(3.0)
"""A free direction this close to a multiple of 45° becomes it (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pick:
    """Where the pointer is, in sheet points: snapped, as it is, and what it snapped to (empty for nothing)."""

    pt: Point
    raw_pt: Point
    snap: str = ""
    pt_per_pixel: float = 1.0
    is_shift: bool = False
    is_control: bool = False


class Tool:
    """A tool: it is told of the pointer and of keys, shows a preview, and does edits through the session."""

    id = ""
    title = ""
    cursor = "crosshair"
    snaps = True
    wants_marks = False

    def __init__(self, session: Session) -> None:
        self.session = session
        self.at: Pick | None = None

    def prompt(self) -> str:
        """What to do next, in one line."""
        return ""

    def readout(self) -> str:
        """Figures by the pointer: length, angle, area."""
        return ""

    def preview(self) -> tuple[Shape, ...]:
        """Shapes of what is under way."""
        return ()

    def snap_from(self) -> Point | None:
        """Point that perpendicular snaps start from."""
        return None

    def own_points(self) -> tuple[Point, ...]:
        """Points of what is under way that the pointer snaps to."""
        return ()

    def press(self, pick: Pick) -> None:
        """Take a press of the left button."""

    def drag(self, pick: Pick) -> None:
        """Take a move with the left button down."""
        self.at = pick

    def release(self, pick: Pick) -> None:
        """Take the left button's release."""

    def move(self, pick: Pick) -> None:
        """Take a move with no button down."""
        self.at = pick

    def double(self, pick: Pick) -> None:
        """Take a double press; two presses came before it."""

    def key(self, key: str) -> bool:
        """Take a key that no command has; return whether it was used."""
        return False

    def typed(self, text: str) -> None:
        """Take a text typed into the entry line: without more, the height of the selected rooms that have none.

        Raises
        ------
        TakeoffError
            When it does not fit.
        """
        take_height(self.session, text)

    def finish(self) -> None:
        """Finish what is under way (Enter)."""

    def back(self) -> bool:
        """Take the last point back (Backspace); return whether there was one."""
        return False

    def cancel(self) -> bool:
        """Drop what is under way (Escape); return whether there was anything."""
        return False

    def put_down(self) -> None:
        """Take leave: another tool is taken, another sheet shown, or the job closed."""
        self.cancel()


def on_paper(scale: Calibration, direction: Point, metres: float) -> float:
    """Length in sheet points of a length in metres that runs in a direction, a unit vector."""
    return metres / math.hypot(direction[0] * scale.mx, direction[1] * scale.my)


def in_metres(scale: Calibration, a: Point, b: Point) -> float:
    """Distance in metres between two sheet points."""
    return math.hypot((b[0] - a[0]) * scale.mx, (b[1] - a[1]) * scale.my)


def locked(start: Point, to: Point, step: float, within: float, base: float = 0.0) -> Point:
    """Turn the direction from ``start`` to ``to`` to the nearest multiple of ``step`` where it is within reach.

    Examples
    --------
    >>> [round(v, 9) for v in locked((0.0, 0.0), (10.0, 0.2), math.pi / 4, math.radians(3))]
    [10.0, 0.0]
    """
    dx, dy = to[0] - start[0], to[1] - start[1]
    if dx == dy == 0.0:
        return to
    angle = math.atan2(dy, dx) - base
    nearest = round(angle / step) * step
    if abs(angle - nearest) > within:
        return to
    along = math.hypot(dx, dy) * math.cos(angle - nearest)
    turned = nearest + base
    return (start[0] + along * math.cos(turned), start[1] + along * math.sin(turned))


def typed_step(text: str, session: Session) -> tuple[float, float | None]:
    """Read a length with, if wanted, an angle behind it, such as 12'-6" 90°; metres, and radians on the page."""
    head, sign, tail = text.strip().partition("°")
    angle = None
    if sign and not tail.strip():
        head, _, degrees = head.rpartition(" ")
        angle = math.radians(float(degrees))
    return parse_length(head, system=session.display.system), angle
