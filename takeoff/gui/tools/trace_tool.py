"""Tracing runs: point by point with arcs and typed lengths, or a room from corner to corner."""

from __future__ import annotations

import math

from takeoff.errors import InputError
from takeoff.geometry.arcs import flatten_segment
from takeoff.gui.canvas.shape import Shape
from takeoff.gui.job_shapes import coated_ticks, polyline
from takeoff.gui.session import Session
from takeoff.gui.tools.room_needs import idle_prompt, take_height
from takeoff.gui.tools.tool import LOCK, PREVIEW, Pick, Tool, in_metres, locked, on_paper, typed_step
from takeoff.job.reshape import OTHER_HAND, bulge_through, signed_area_pt
from takeoff.model.plan import Point
from takeoff.model.walls import Face, Run

CLOSE = 10.0
"""Pixels from the first point within which a press closes the line."""


class TraceTool(Tool):
    """Trace a run along the face to be coated."""

    id = "trace"
    title = "Trace walls"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.points: list[Point] = []
        self.bulges: list[float] = []
        self.is_flipped = False
        self.is_arc = False
        self.arc_end: Point | None = None

    def prompt(self) -> str:
        """What to do next."""
        if not self.points:
            return idle_prompt(self.session, "press the first corner of a wall to trace")
        if self.is_arc:
            return "Arc: press where it ends." if self.arc_end is None else "Arc: press a point that it goes through."
        shut = " · C: close" if len(self.points) > 2 else ""
        done = " · Enter: finish" if len(self.points) > 1 else ""
        return f"Press the next corner, or type a length + Enter{shut}{done} · A: arc · F: other side · Backspace: back"

    def snap_from(self) -> Point | None:
        """The last point."""
        return self.points[-1] if self.points else None

    def own_points(self) -> tuple[Point, ...]:
        """Points placed so far."""
        return tuple(self.points[:-1])

    def _target(self) -> Point | None:
        """Where a press would place the next point."""
        if self.at is None:
            return None
        if self.at.snap or not self.points:
            return self.at.pt
        start = self.points[-1]
        if self.at.is_shift:
            base = self._last_angle() or 0.0
            return locked(start, self.at.pt, math.pi / 2, math.pi, base)
        straight = locked(start, self.at.pt, math.pi / 4, LOCK)
        last = self._last_angle()
        return straight if straight != self.at.pt or last is None else locked(start, straight, math.pi / 2, LOCK, last)

    def _last_angle(self) -> float | None:
        if len(self.points) < 2:
            return None
        (x0, y0), (x1, y1) = self.points[-2:]
        return math.atan2(y1 - y0, x1 - x0)

    def press(self, pick: Pick) -> None:
        """Place a point, or close on the first."""
        self.at = pick
        to = self._target()
        assert to is not None
        if self.is_arc and self.points:
            if self.arc_end is None:
                self.arc_end = to
            else:
                self._place(self.arc_end, bulge_through(self.points[-1], self.arc_end, pick.pt))
                self.is_arc, self.arc_end = False, None
            return
        if len(self.points) > 2 and math.dist(pick.raw_pt, self.points[0]) <= CLOSE * pick.pt_per_pixel:
            self.close()
            return
        self._place(to, 0.0)

    def _place(self, to: Point, bulge: float) -> None:
        if self.points and math.dist(to, self.points[-1]) < 1e-6:
            return
        self.session.need_on_sheet([to])
        if self.points:
            self.bulges.append(bulge)
        self.points.append(to)

    def double(self, pick: Pick) -> None:
        """Finish an open run; the second press fell on the last point."""
        self.finish()

    def typed(self, text: str) -> None:
        """Place the next point at an exact length in the pointer's direction, or at a typed angle."""
        if not self.points:
            take_height(self.session, text)
            return
        scale = self.session.scale
        if scale is None:
            raise InputError("this sheet has no scale yet", remedy="Set it first: press S.")
        length, angle = typed_step(text, self.session)
        start = self.points[-1]
        if angle is not None:
            direction = (math.cos(angle), -math.sin(angle))
        else:
            to = self._target()
            if to is None or math.dist(to, start) == 0.0:
                raise InputError("the direction is not known", remedy="Move the pointer to where the line goes.")
            away = math.dist(start, to)
            direction = ((to[0] - start[0]) / away, (to[1] - start[1]) / away)
        paper = on_paper(scale, direction, length)
        self._place((start[0] + direction[0] * paper, start[1] + direction[1] * paper), 0.0)

    def key(self, key: str) -> bool:
        """Flip the side, start an arc, or close."""
        if key == "f":
            self.is_flipped = not self.is_flipped
        elif key == "a" and self.points:
            self.is_arc, self.arc_end = not self.is_arc, None
        elif key == "c" and len(self.points) > 2:
            self.close()
        else:
            return False
        return True

    def back(self) -> bool:
        """Take the last point back."""
        if self.is_arc:
            self.is_arc, self.arc_end = False, None
            return True
        if not self.points:
            return False
        self.points.pop()
        if self.bulges:
            self.bulges.pop()
        return True

    def cancel(self) -> bool:
        """Drop the line."""
        had = bool(self.points)
        self.points, self.bulges, self.is_arc, self.arc_end = [], [], False, None
        return had

    def finish(self) -> None:
        """Make an open run of the points placed."""
        if len(self.points) > 1:
            run = Run(
                id="new",
                sheet=self.session.sheet_id,
                points_pt=tuple(self.points),
                bulges=tuple(self.bulges) if any(self.bulges) else (),
                face=self._hand(is_closed=False),
            )
            if self.session.new_runs([run], "Trace a run"):
                self.cancel()

    def close(self) -> None:
        """Make a closed run of the points placed, coated inside; around a pillar in a room, outside."""
        points = tuple(self.points)
        bulges = (*self.bulges, 0.0)
        run = Run(
            id="new",
            sheet=self.session.sheet_id,
            points_pt=points,
            bulges=bulges if any(bulges) else (),
            closed=True,
            face=self._hand(is_closed=True),
            room=self._room_around(),
        )
        if self.session.new_runs([run], "Trace a room" if run.room is None else "Trace a pillar"):
            self.cancel()

    def _flat(self) -> list[Point]:
        out = self.points[:1]
        for a, b, bulge in zip(self.points, self.points[1:], self.bulges, strict=False):
            out.extend(flatten_segment(a, b, bulge, 0.5)[1:])
        return out

    def _hand(self, *, is_closed: bool) -> Face:
        hand: Face = "left"
        if is_closed:
            inside: Face = "left" if signed_area_pt(self._flat()) > 0 else "right"
            hand = inside if self._room_around() is None else OTHER_HAND[inside]
        return OTHER_HAND[hand] if self.is_flipped else hand

    def _room_around(self) -> str | None:
        """Room of a closed run on this sheet that holds all points placed."""
        import shapely

        for run in self.session.runs_here():
            if run.closed and run.room:
                around = shapely.Polygon(polyline(run))
                inside = (signed_area_pt(polyline(run)) > 0) == (run.face == "left")
                if inside and around.is_valid and all(around.contains(shapely.Point(p)) for p in self.points):
                    return run.room
        return None

    def readout(self) -> str:
        """Length and angle of the segment under way, and what it all comes to."""
        to = self._target()
        scale = self.session.scale
        if to is None or not self.points:
            return ""
        start = self.points[-1]
        angle = math.degrees(math.atan2(start[1] - to[1], to[0] - start[0])) % 360.0
        if scale is None:
            return f"{angle:.1f}°, no scale yet"
        show = self.session.display
        text = f"{show.length(in_metres(scale, start, to))}  {angle:.1f}°"
        if len(self.points) > 1:
            area = abs(signed_area_pt([*self._flat(), to])) * scale.mx * scale.my
            text += f"  floor {show.area(area)}"
        return text

    def preview(self) -> tuple[Shape, ...]:
        """Show the line so far, the segment under way and the coated side."""
        to = self._target()
        if not self.points:
            return ()
        flat = self._flat()
        ahead: list[Point] = []
        if to is not None:
            if self.arc_end is not None:
                bulge = bulge_through(self.points[-1], self.arc_end, to)
                ahead = flatten_segment(self.points[-1], self.arc_end, bulge, 0.5)
            else:
                ahead = [self.points[-1], to]
        shapes = [Shape(kind="line", points_pt=tuple(flat), colour=PREVIEW, width=3)] if len(flat) > 1 else []
        if ahead:
            shapes.append(Shape(kind="line", points_pt=tuple(ahead), colour=PREVIEW, width=2, dash=(6, 4)))
            if len(self.points) > 1:
                shapes.append(Shape(kind="line", points_pt=(ahead[-1], flat[0]), colour=PREVIEW, width=1, dash=(2, 4)))
        pt_per_pixel = self.at.pt_per_pixel if self.at else 1.0
        line = [*flat, *ahead[1:]]
        is_closed = len(self.points) > 2
        shapes.extend(coated_ticks(line, self._hand(is_closed=is_closed), pt_per_pixel, PREVIEW))
        shapes.extend(Shape(kind="square", points_pt=(p,), colour=PREVIEW, size=6) for p in self.points)
        return tuple(shapes)


class BoxTool(Tool):
    """Trace a rectangular room by two opposite corners."""

    id = "box"
    title = "Box room"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.first: Point | None = None

    def prompt(self) -> str:
        """What to do next."""
        if self.first is None:
            return idle_prompt(self.session, "press one inside corner of a rectangular room")
        return "Press the opposite corner, or type width x depth + Enter."

    def own_points(self) -> tuple[Point, ...]:
        """The first corner."""
        return (self.first,) if self.first else ()

    def press(self, pick: Pick) -> None:
        """Take a corner."""
        self.at = pick
        if self.first is None:
            self.session.need_on_sheet([pick.pt])
            self.first = pick.pt
        elif min(abs(pick.pt[0] - self.first[0]), abs(pick.pt[1] - self.first[1])) > 2 * pick.pt_per_pixel:
            self._make(pick.pt)

    def drag(self, pick: Pick) -> None:
        """Show the box while dragging."""
        self.at = pick

    def release(self, pick: Pick) -> None:
        """End a box that was dragged."""
        if self.first is not None and math.dist(pick.raw_pt, self.first) > 20 * pick.pt_per_pixel:
            self.press(pick)

    def typed(self, text: str) -> None:
        """Make the room of a typed width and depth from the first corner towards the pointer."""
        from takeoff.units import door_size

        scale = self.session.scale
        if self.first is None or self.at is None:
            take_height(self.session, text)
            return
        if scale is None:
            raise InputError("this sheet has no scale yet", remedy="Set it first: press S.")
        width, depth = door_size(text)
        right = 1 if self.at.pt[0] >= self.first[0] else -1
        down = 1 if self.at.pt[1] >= self.first[1] else -1
        self._make((self.first[0] + right * width / scale.mx, self.first[1] + down * depth / scale.my))

    def _make(self, to: Point) -> None:
        assert self.first is not None
        (x0, y0), (x1, y1) = self.first, to
        left, right, top, bottom = min(x0, x1), max(x0, x1), min(y0, y1), max(y0, y1)
        points = ((left, bottom), (right, bottom), (right, top), (left, top))
        self.session.need_on_sheet(points)
        run = Run(id="new", sheet=self.session.sheet_id, points_pt=points, closed=True, face="left")
        if self.session.new_runs([run], "Trace a room"):
            self.first = None

    def back(self) -> bool:
        """Take the first corner back."""
        return self.cancel()

    def cancel(self) -> bool:
        """Drop the first corner."""
        had, self.first = self.first is not None, None
        return had

    def readout(self) -> str:
        """Width and depth of the box under way."""
        if self.first is None or self.at is None or (scale := self.session.scale) is None:
            return ""
        show = self.session.display
        width, depth = abs(self.at.pt[0] - self.first[0]) * scale.mx, abs(self.at.pt[1] - self.first[1]) * scale.my
        return f"{show.length(width)} × {show.length(depth)}  floor {show.area(width * depth)}"

    def preview(self) -> tuple[Shape, ...]:
        """Show the box under way."""
        if self.first is None or self.at is None:
            return ()
        (x0, y0), (x1, y1) = self.first, self.at.pt
        corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
        return (Shape(kind="polygon", points_pt=corners, colour=PREVIEW, width=2, dash=(6, 4)),)
