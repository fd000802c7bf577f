"""What every tool has, what it is told of the pointer, and what it asks for the rooms that are selected."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace

from takeoff.errors import InputError
from takeoff.gui.canvas.view import Shape
from takeoff.gui.entries import read_height
from takeoff.gui.session import Session
from takeoff.job.job import calibration_key
from takeoff.measure.totals import room_label
from takeoff.model.plan import Calibration, Point, Sheet
from takeoff.model.walls import Room
from takeoff.sheet.frame import displayed_to_sheet, sheet_to_displayed
from takeoff.trace.lines.open_rooms import PLACE
from takeoff.units import parse_length


def ask_for_needs(session: Session) -> str:
    """Say what to give the selected rooms next; empty where they lack nothing.

    A wall with a height or a system of its own needs none of its room.
    """
    if rooms := _without(session, "height"):
        example = "10'" if session.display.system == "imperial" else "3 m"
        return f"Type the height of {_names(rooms)}, such as {example}, and press Enter"
    if rooms := _without(session, "system"):
        return f"Choose the system of {_names(rooms)} in the panel (F5 shows it where it is folded)"
    return ""


def idle_prompt(session: Session, begin: str) -> str:
    """Prompt of a tool that has nothing under way: what the selected rooms lack, and how to begin."""
    asked = ask_for_needs(session)
    return f"{asked} · or {begin}" if asked else f"{begin[0].upper()}{begin[1:]}"


def take_height(session: Session, text: str) -> None:
    """Give a typed height to the selected rooms that have none; where none lacks one, or it is none, it is refused."""
    rooms = _without(session, "height")
    if not rooms:
        raise InputError(
            f"no tool or field takes the length {text}",
            remedy="Take a tool and click its first point, or change a field in the panel (F5).",
        )
    height = read_height(text, session.display)
    session.put_rooms([replace(room, height=height) for room in rooms], f"Set the height of {_names(rooms)}")


def _without(session: Session, what: str) -> list[Room]:
    """Return the rooms of selected walls where neither wall nor room has a height or a system."""
    ids = dict.fromkeys(run.room for run in session.selected_runs() if run.room and getattr(run, what) is None)
    return [room for room in map(session.job.rooms.__getitem__, ids) if getattr(room, what) is None]


def _names(rooms: list[Room]) -> str:
    return f"{len(rooms)} rooms" if len(rooms) > 2 else " and ".join(map(room_label, rooms))


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Something that a tool has a person look at: what, why (a paragraph each), and answers by their keys."""

    title: str
    words: tuple[str, ...]
    answers: tuple[tuple[str, str], ...]


class Tool:
    """A tool: it is told of the pointer and of keys, shows a preview, and does edits through the session."""

    id = ""
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

    def asked(self) -> Asked | None:
        """What is to be looked at now, beside the plan."""
        return None

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

        A `TakeoffError` is raised where it does not fit.
        """
        take_height(self.session, text)

    def finish(self) -> None:
        """Finish what is under way (Enter)."""

    @property
    def has_steps(self) -> bool:
        """Whether `back` has something to take back."""
        return False

    def back(self) -> bool:
        """Take the last point back (Backspace); return whether there was one."""
        return False

    def cancel(self) -> bool:
        """Drop what is under way (Escape); return whether there was anything."""
        return False

    def put_down(self) -> None:
        """Take leave: another tool is taken, another sheet shown, or the job closed."""
        self.cancel()


class PointsTool(Tool):
    """A tool whose work under way is the points clicked so far: taken back one by one, dropped by Escape."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.points: list[Point] = []

    @property
    def has_steps(self) -> bool:
        return bool(self.points)

    def back(self) -> bool:
        return bool(self.points) and self.points.pop() is not None

    def cancel(self) -> bool:
        had, self.points = bool(self.points), []
        return had


def scale_needed(session: Session) -> Calibration:
    """Return the scale of the sheet that is shown; an `InputError` is raised where it has none yet."""
    if session.scale is None:
        raise InputError("this sheet has no scale yet", remedy="Set it first: press S.")
    return session.scale


def to_shown(sheet: Sheet, vector: Point) -> Point:
    """Turn a vector of the unrotated page into the one that a person sees, on a page that is shown turned."""
    ox, oy = sheet_to_displayed(sheet, 0.0, 0.0)
    x, y = sheet_to_displayed(sheet, *vector)
    return x - ox, y - oy


def from_shown(sheet: Sheet, vector: Point) -> Point:
    """Turn a vector as a person sees it into one of the unrotated page: the inverse of `to_shown`."""
    ox, oy = displayed_to_sheet(sheet, 0.0, 0.0)
    x, y = displayed_to_sheet(sheet, *vector)
    return x - ox, y - oy


def bearing(sheet: Sheet, a: Point, b: Point) -> float:
    """Angle in degrees from a to b as a person sees it, counter-clockwise from the right."""
    dx, dy = to_shown(sheet, (b[0] - a[0], b[1] - a[1]))
    return math.degrees(math.atan2(-dy, dx)) % 360.0


def shown_place(sheet: Sheet, scale: Calibration, point: Point) -> Point:
    """Metres right and down of a sheet point from the top left corner of the sheet as a person sees it."""
    x, y = sheet_to_displayed(sheet, *point)
    mx, my = (scale.mx, scale.my) if sheet.rotation % 180 == 0 else (scale.my, scale.mx)
    return x * mx, y * my


def place_shown(sheet: Sheet, scale: Calibration, place: Point) -> Point:
    """Sheet point so many metres right and down of the corner: the inverse of `shown_place`."""
    mx, my = (scale.mx, scale.my) if sheet.rotation % 180 == 0 else (scale.my, scale.mx)
    return displayed_to_sheet(sheet, place[0] / mx, place[1] / my)


def in_places(text: str, session: Session, sheet: Sheet) -> str:
    """Write places on a sheet as they stand beside the pointer, right and down of its corner, in place of points.

    Examples of what is found: "no wall closes it at 459,433 for 3 m", "what is drawn at 296,863".
    """
    scale = session.job.calibrations.get(calibration_key(sheet.id))
    if scale is None:
        return text
    step = 0.3048 if session.display.system == "imperial" else 0.1

    def shown(found: re.Match[str]) -> str:
        place = shown_place(sheet, scale, (float(found[1]), float(found[2])))
        right, down = (session.display.length(round(away / step) * step) for away in place)
        return f"at {right} across and {down} down"

    return PLACE.sub(shown, text)


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


def typed_place(text: str, session: Session) -> Point | None:
    """Read a place such as 12', 8'6": right and down of the sheet's corner as a person sees it; ``None`` for no place.

    What is no length, and a sheet without a scale, is refused (`InputError`).
    """
    right, comma, down = text.partition(",")
    if not comma:
        return None
    scale = scale_needed(session)
    system = session.display.system
    place = (parse_length(right.strip(), system=system), parse_length(down.strip(), system=system))
    return place_shown(session.sheet, scale, place)


def typed_step(text: str, session: Session) -> tuple[float, float | None]:
    """Read a length with, if wanted, an angle behind it: 12'-6" 90° or 90 deg; metres, and radians as on the screen."""
    head, sign, tail = text.strip().replace("deg", "°").partition("°")
    angle = None
    if sign and not tail.strip():
        head, _, degrees = head.strip().rpartition(" ")
        try:
            angle = math.radians(float(degrees))
        except ValueError as error:
            raise InputError(
                f'"{degrees}°" is not an angle', remedy="Write a length and an angle: 12'-6\" 90°, or 90 deg."
            ) from error
    return parse_length(head, system=session.display.system), angle
