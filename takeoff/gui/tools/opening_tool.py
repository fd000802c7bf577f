"""Placing openings on traced walls."""

from __future__ import annotations

from dataclasses import replace

from takeoff.errors import InputError
from takeoff.geometry.nearest import nearest_station
from takeoff.gui.canvas.shape import Shape
from takeoff.gui.job_shapes import opening_shapes, run_under
from takeoff.gui.session import Selection
from takeoff.gui.tools.tool import Pick, Tool
from takeoff.job.edits import PutOpening
from takeoff.measure.develop import traced_path
from takeoff.model.walls import Opening, Run
from takeoff.units import door_size, parse_length

REACH = 30.0
"""Pixels from a wall within which an opening goes onto it."""


class OpeningTool(Tool):
    """Place doors and windows on traced walls."""

    id = "opening"
    title = "Opening"
    snaps = False

    def prompt(self) -> str:
        """What to do next."""
        show = self.session.display
        o = self.session.defaults.opening
        what = f"{o.kind} {show.length(o.width)} × {show.length(o.height)}"
        if o.sill:
            what += f", sill {show.length(o.sill)}"
        other = "window" if o.kind == "door" else "door"
        size = "3070, or 4' x 3' sill 3'" if show.system == "imperial" else "900 x 2100, or 1200 x 900 sill 900"
        return f"Click a wall to place: {what} · W: {other} · another size: type {size} + Enter"

    def _spot(self) -> tuple[Run, Opening] | None:
        if self.at is None:
            return None
        under = run_under(self.session, self.at.raw_pt, REACH * self.at.pt_per_pixel)
        if under is None:
            return None
        run, station, _ = under
        scale = self.session.scale_for(run)
        if scale is None:
            return None
        width = self.session.defaults.opening.width
        length = traced_path(run, scale).stations()[-1]
        at = station if run.closed else min(max(station, width / 2), max(length - width / 2, width / 2))
        return run, replace(self.session.defaults.opening, at=at)

    def press(self, pick: Pick) -> None:
        """Place the opening on the wall under the pointer."""
        self.at = pick
        spot = self._spot()
        if spot is None:
            has_runs = any(self.session.scale_for(run) for run in self.session.runs_here())
            self.session.tell(
                "No wall is there: click a traced wall." if has_runs else "Trace a wall first (T), with the scale set.",
                is_refusal=True,
            )
            return
        run, opening = spot
        if self.session.do(PutOpening(run=run.id, opening=opening)):
            self.session.select(Selection(runs=(run.id,), opening=(run.id, len(run.openings))))

    def key(self, key: str) -> bool:
        """Change between door and window."""
        if key == "w":
            o = self.session.defaults.opening
            after = (
                replace(o, kind="window", width=1.2192, height=0.9144, sill=0.9144)
                if o.kind == "door"
                else replace(o, kind="door", width=0.9144, height=2.1336, sill=0.0)
            )
            self.session.defaults = replace(self.session.defaults, opening=after)
            self.session.tell(f"Next opening: {after.kind}")
            return True
        return False

    def typed(self, text: str) -> None:
        """Take the size of the next opening: a door code or width x height, with a sill if wanted."""
        size, word, sill = text.lower().partition("sill")
        if not size.strip():
            raise InputError("there is no size before the sill", remedy="Write 4' x 3' sill 3'.")
        width, height = door_size(size.strip().rstrip(","))
        level = parse_length(sill.strip(), system=self.session.display.system) if word else 0.0
        o = self.session.defaults.opening
        kind = o.kind if o.kind not in ("door", "window") else ("window" if level > 0 else "door")
        after = replace(o, width=width, height=height, sill=level, kind=kind)
        self.session.defaults = replace(self.session.defaults, opening=after)
        self.session.tell(f"Next opening: {after.kind} {text.strip()}")

    def readout(self) -> str:
        """Where along the wall the opening would stand."""
        spot = self._spot()
        if spot is None:
            return ""
        run, opening = spot
        scale = self.session.scale_for(run)
        assert scale is not None
        path = traced_path(run, scale)
        assert self.at is not None
        _, segment, _ = nearest_station(path, scale.to_metres(self.at.raw_pt))
        stations = path.stations()
        show = self.session.display
        before = opening.at - opening.width / 2 - stations[segment]
        after = stations[segment + 1] - opening.at - opening.width / 2
        return f"{show.length(max(before, 0.0))} from one point, {show.length(max(after, 0.0))} from the other"

    def preview(self) -> tuple[Shape, ...]:
        """Show the opening where a press would place it."""
        spot = self._spot()
        if spot is None:
            return ()
        run, opening = spot
        scale = self.session.scale_for(run)
        assert scale is not None
        return tuple(opening_shapes(run, opening, scale, is_chosen=True))
