"""Measuring on the plan: lengths, angles and areas that are read off and not kept."""

from __future__ import annotations

from itertools import pairwise

from takeoff.gui.tools.tool import in_metres
from takeoff.gui.tools.trace_tool import TraceTool
from takeoff.job.reshape import signed_area_pt
from takeoff.job.sketch import Sketch


class MeasureTool(TraceTool):
    """Click points as in tracing; nothing is put into the job."""

    id = "measure"
    title = "Measure"

    def prompt(self) -> str:
        """What to do next."""
        if not self.points:
            return "Click where to measure from. Nothing is put into the job."
        shut = " · C: close and see the area" if len(self.points) > 2 else ""
        return f"Click the next point, or type a length + Enter · Enter: read it{shut} · A: arc · Backspace: back"

    def typed(self, text: str) -> None:
        """Place a point at a typed place, or at an exact length and angle; a height is asked for by no one."""
        if self.points or "," in text:
            super().typed(text)

    def finish(self) -> None:
        """Say how long the line is."""
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
        scale, flat = self.session.scale, line.flat()
        if scale is None:
            return "?"
        total = sum(in_metres(scale, a, b) for a, b in pairwise(flat))
        return self.session.display.length(total)

    def readout(self) -> str:
        """Length and angle of the piece under way, and of all of it."""
        text = super().readout()
        return f"{text}  in all {self._length(self.line)} so far" if len(self.points) > 1 else text

    def cancel(self) -> bool:
        """Drop the line."""
        had = bool(self.points)
        self._clear()
        return had

    def put_down(self) -> None:
        """Drop the line: nothing of it was to be kept."""
        self._clear()
