"""Tracing a wall point by point, with arcs and typed lengths; measuring in the same way, with nothing kept."""

from __future__ import annotations

import math
from itertools import pairwise

from takeoff.errors import InputError
from takeoff.gui.canvas.view import Shape
from takeoff.gui.job_shapes import coated_ticks
from takeoff.gui.session import Session
from takeoff.gui.tools import tool
from takeoff.job.reshape import signed_area_pt
from takeoff.job.sketch import Sketch, run_around
from takeoff.model.plan import Point

CLOSE = 10.0
"""Pixels from the first point within which a click closes the line."""


class TraceTool(tool.Tool):
    """Trace a run along the face to be coated."""

    id = "trace"

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.line = Sketch(sheet=session.sheet_id)
        self._is_warned = False

    @property
    def points(self) -> tuple[Point, ...]:
        """Points placed so far."""
        return self.line.points

    def prompt(self) -> str:
        count = len(self.points)
        if not count:
            return tool.idle_prompt(self.session, "click the first point of a wall to trace")
        if self.line.arc:
            ends = self.line.arc == "end"
            return "Arc: click where it ends." if ends else "Arc: click a point that it goes through."
        shut = " · C: close" if count > 2 else ""
        done = " · Enter: finish" if count > 1 else ""
        return f"Click the next point, or type a length + Enter{shut}{done} · A: arc · F: other side · Backspace: back"

    def snap_from(self) -> Point | None:
        return self.points[-1] if self.points else None

    def own_points(self) -> tuple[Point, ...]:
        return self.points[:-1]

    def _target(self) -> Point | None:
        if self.at is None:
            return None
        if not self.points:
            return self.at.pt
        start = self.points[-1]
        if self.at.is_shift:
            base = self._last_angle() or 0.0
            return tool.locked(start, self.at.pt, math.pi / 2, math.pi, base)
        if self.at.snap:
            return self.at.pt
        straight = tool.locked(start, self.at.pt, math.pi / 4, tool.LOCK)
        last = self._last_angle()
        return (
            straight
            if straight != self.at.pt or last is None
            else tool.locked(start, straight, math.pi / 2, tool.LOCK, last)
        )

    def _last_angle(self) -> float | None:
        if len(self.points) < 2:
            return None
        (x0, y0), (x1, y1) = self.points[-2:]
        return math.atan2(y1 - y0, x1 - x0)

    def press(self, pick: tool.Pick) -> None:
        self.at = pick
        to = pick.pt if self.line.arc == "through" else self._target()
        assert to is not None
        can_close = len(self.points) > 2 and not self.line.arc
        if can_close and math.dist(pick.raw_pt, self.points[0]) <= CLOSE * pick.pt_per_pixel:
            self.close()
        else:
            self._place(to)

    def _place(self, to: Point) -> None:
        self.session.need_on_sheet([to])
        if not self.points:
            self.line = Sketch(sheet=self.session.sheet_id, is_flipped=self.line.is_flipped)
        self.line, self._is_warned = self.line.placed(to), False

    def double(self, pick: tool.Pick) -> None:
        """Finish an open run; the second click fell on the last point."""
        self.finish()

    def typed(self, text: str) -> None:
        """Place the next point at an exact length in the pointer's direction, or at a typed angle."""
        if (place := tool.typed_place(text, self.session)) is not None:
            self._place(place)
            return
        if not self.points:
            tool.take_height(self.session, text)
            return
        scale = tool.scale_needed(self.session)
        length, angle = tool.typed_step(text, self.session)
        start = self.points[-1]
        if angle is not None:
            direction = tool.from_shown(self.session.sheet, (math.cos(angle), -math.sin(angle)))
        else:
            to = self._target()
            if to is None or math.dist(to, start) == 0.0:
                raise InputError("the direction is not known", remedy="Move the pointer to where the line goes.")
            away = math.dist(start, to)
            direction = ((to[0] - start[0]) / away, (to[1] - start[1]) / away)
        paper = tool.on_paper(scale, direction, length)
        self._place((start[0] + direction[0] * paper, start[1] + direction[1] * paper))

    def key(self, key: str) -> bool:
        if key == "f":
            self.line = self.line.flipped()
        elif key == "a" and self.points:
            self.line = self.line.turned_to_arc()
        elif key == "c" and len(self.points) > 2:
            self.close()
        else:
            return False
        return True

    @property
    def has_steps(self) -> bool:
        return bool(self.points)

    def back(self) -> bool:
        before, self.line = self.line, self.line.back()
        return self.line != before

    def cancel(self) -> bool:
        """Drop the line; one of two points or more only when asked twice."""
        if len(self.points) > 1 and not self._is_warned:
            self._is_warned = True
            self.session.tell("Press Escape once more to drop the line, or Enter to keep it.", is_refusal=True)
            return True
        had = bool(self.points)
        self._clear()
        return had

    def put_down(self) -> None:
        """Keep an unfinished line as a wall."""
        if len(self.points) > 1:
            self.finish()
            self.session.tell("The line that was not finished is kept as a wall. Undo (Ctrl+Z) removes it.")
        self._clear()

    def _clear(self) -> None:
        self.line, self._is_warned = Sketch(sheet=self.session.sheet_id, is_flipped=self.line.is_flipped), False

    def finish(self) -> None:
        if len(self.points) > 1 and self.session.new_runs([self.line.run(is_closed=False)], "Trace a wall"):
            self._clear()

    def close(self) -> None:
        """Make a closed run of the points placed, coated inside; around a pillar in a room, outside."""
        run = self.line.run(is_closed=True, around=run_around(self.points, self.session.runs_here()))
        if self.session.new_runs([run], "Trace a room" if run.room is None else "Trace a pillar"):
            self._clear()

    def readout(self) -> str:
        to = self._target()
        scale = self.session.scale
        if to is None or not self.points:
            return ""
        start = self.points[-1]
        angle = tool.bearing(self.session.sheet, start, to)
        if scale is None:
            return f"{angle:.1f}°, no scale yet"
        show = self.session.display
        text = f"{show.length(tool.in_metres(scale, start, to))}  {angle:.1f}°"
        if len(self.points) > 1:
            area = abs(signed_area_pt([*self.line.flat(), to])) * scale.mx * scale.my
            text += f"  floor {show.area(area)}"
        return text

    def preview(self) -> tuple[Shape, ...]:
        if not self.points:
            return ()
        to, flat = self._target(), self.line.flat()
        ahead = self.line.ahead(to) if to is not None else []
        shapes = [Shape("line", tuple(flat), tool.PREVIEW, 3)] if len(flat) > 1 else []
        if ahead:
            shapes.append(Shape("line", tuple(ahead), tool.PREVIEW, 2, (6, 4)))
            if len(self.points) > 1:
                shapes.append(Shape("line", (ahead[-1], flat[0]), tool.PREVIEW, 1, (2, 4)))
        is_closed = len(self.points) > 2
        around = run_around(self.points, self.session.runs_here()) if is_closed else None
        hand = self.line.hand(is_closed=is_closed, around=around)
        pt_per_pixel = self.at.pt_per_pixel if self.at else 1.0
        shapes.extend(coated_ticks([*flat, *ahead[1:]], hand, pt_per_pixel, tool.PREVIEW))
        shapes.extend(Shape("square", (p,), tool.PREVIEW, size=6) for p in self.points)
        return tuple(shapes)


class MeasureTool(TraceTool):
    """Click points as in tracing; nothing is put into the job."""

    id = "measure"

    def prompt(self) -> str:
        if not self.points:
            return "Click where to measure from. Nothing is put into the job."
        shut = " · C: close and see the area" if len(self.points) > 2 else ""
        return f"Click the next point, or type a length + Enter · Enter: read it{shut} · A: arc · Backspace: back"

    def typed(self, text: str) -> None:
        """Place a point at a typed place, or at an exact length and angle; a height is asked for by no one."""
        if self.points or "," in text:
            super().typed(text)

    def finish(self) -> None:
        if len(self.points) > 1:
            self.session.tell(f"Measured: {self._length(self.line)} long. Nothing was put into the job.")
            self._clear()

    def close(self) -> None:
        """Say how long the outline is, and what is in it."""
        scale = self.session.scale
        if scale is not None:
            area = abs(signed_area_pt(self.line.flat())) * scale.mx * scale.my
            round_ = self._length(self.line.placed(self.points[0]))
            show = self.session.display.area(area)
            self.session.tell(f"Measured: {show} inside, {round_} round. Nothing was put into the job.")
        self._clear()

    def _length(self, line: Sketch) -> str:
        scale = self.session.scale
        if scale is None:
            return "?"
        return self.session.display.length(sum(tool.in_metres(scale, a, b) for a, b in pairwise(line.flat())))

    def readout(self) -> str:
        text = super().readout()
        return f"{text}  in all {self._length(self.line)} so far" if len(self.points) > 1 else text

    def cancel(self) -> bool:
        had = bool(self.points)
        self._clear()
        return had

    def put_down(self) -> None:
        """Drop the line: nothing of it was to be kept."""
        self._clear()
