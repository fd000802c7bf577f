"""Placing openings on traced walls."""

from __future__ import annotations

import math
from dataclasses import replace

from takeoff import actions
from takeoff.errors import InputError, TakeoffError
from takeoff.geometry.paths import nearest_station
from takeoff.gui.canvas.view import Shape
from takeoff.gui.job_shapes import kept_on, opening_shapes, run_under
from takeoff.gui.reading_process import TraceReader
from takeoff.gui.session import Selection, Session
from takeoff.gui.tools.tool import Pick, Tool
from takeoff.job.edits import PutOpening
from takeoff.measure.develop import traced_path
from takeoff.model.plan import Calibration
from takeoff.model.walls import Opening, OpeningKind, Run
from takeoff.units import UnitSystem, door_size, parse_length

REACH = 30.0
"""Pixels from a wall within which an opening goes onto it."""
MOST_WALL = 0.6
"""Metres from the face of a wall to a drawn opening in it, at the most (our choice)."""


class OpeningTool(Tool):
    """Place doors and windows on traced walls."""

    id = "opening"
    snaps = False

    def __init__(self, session: Session, reader: TraceReader) -> None:
        super().__init__(session)
        self._reader = reader
        self._drawn: tuple[object, list[actions.DrawnOpening]] = (None, [])
        self._is_typed = False

    def _drawn_openings(self) -> list[actions.DrawnOpening]:
        """Openings as they are drawn on the sheet, once it has been read; nothing until then, or where it cannot be."""
        try:
            read = self._reader.trace_of(self.session.sheet)
        except TakeoffError:
            return []
        if read is not None and self._drawn[0] is not read:
            self._drawn = (read, list(actions.drawn_openings(read)))
        return self._drawn[1] if read is not None else []

    def prompt(self) -> str:
        show = self.session.display
        o = self.session.next_opening
        what = f"{o.kind} {show.length(o.width)} × {show.length(o.height)}"
        if o.sill:
            what += f", sill {show.length(o.sill)}"
        other = "window" if o.kind == "door" else "door"
        size = "3070, or 4' x 3' sill 3'" if show.system == "imperial" else "900 x 2100, or 1200 x 900 sill 900"
        return f"Click a wall to place: {what} · W: {other} · another size: type {size} + Enter"

    def _spot(self) -> tuple[Run, Opening, Calibration] | None:
        if self.at is None:
            return None
        under = run_under(self.session, self.at.raw_pt, REACH * self.at.pt_per_pixel)
        if under is None:
            return None
        run, station, _ = under
        scale = self.session.job.scale_for(run)
        if scale is None:
            return None
        as_drawn = self._as_drawn(run, scale)
        if as_drawn is not None:
            return run, as_drawn, scale
        usual = self.session.next_opening
        return run, replace(usual, at=kept_on(run, scale, station, usual.width)), scale

    def _as_drawn(self, run: Run, scale: Calibration) -> Opening | None:
        """The opening that is drawn under the pointer, as wide as its gap; a typed width is taken before it."""
        if self.at is None or self._is_typed:
            return None
        reach = REACH * self.at.pt_per_pixel
        near = [
            (away, at_pt, drawn)
            for at_pt, drawn in self._drawn_openings()
            if (away := math.dist(at_pt, self.at.raw_pt)) <= max(drawn.width / scale.mx / 2, reach)
        ]
        if not near:
            return None
        _, at_pt, drawn = min(near, key=lambda found: found[0])
        station, _, away = nearest_station(traced_path(run, scale), scale.to_metres(at_pt))
        if away > MOST_WALL:
            return None
        made = actions.opening_as_drawn(drawn, self.session.next_opening, run.sheet, self._units)
        return replace(made, at=station)

    @property
    def _units(self) -> UnitSystem:
        return self.session.job.settings.units

    def press(self, pick: Pick) -> None:
        self.at = pick
        spot = self._spot()
        if spot is None:
            has_runs = any(self.session.job.scale_for(run) for run in self.session.runs_here())
            remedy = "No wall is there: click a traced wall."
            self.session.tell(remedy if has_runs else "Trace a wall first (T), with the scale set.", is_refusal=True)
            return
        run, opening, _ = spot
        if self.session.do(PutOpening(run=run.id, opening=opening)):
            self.session.select(Selection(runs=(run.id,), opening=(run.id, len(run.openings))))

    def key(self, key: str) -> bool:
        if key == "w":
            kind: OpeningKind = "window" if self.session.next_opening.kind == "door" else "door"
            after = actions.usual_opening(kind, self._units)
            self._take(after, after.kind, is_typed=False)
        return key == "w"

    def _take(self, opening: Opening, called: str, *, is_typed: bool) -> None:
        self._is_typed = is_typed
        self.session.next_opening = opening
        self.session.tell(f"Next opening: {called}")

    def typed(self, text: str) -> None:
        """Take the size of the next opening: a door code or width x height, with a sill if wanted."""
        size, word, sill = text.lower().partition("sill")
        if not size.strip():
            raise InputError("there is no size before the sill", remedy="Write 4' x 3' sill 3'.")
        width, height = door_size(size.strip().rstrip(","))
        level = parse_length(sill.strip(), system=self.session.display.system) if word else 0.0
        o = self.session.next_opening
        kind = o.kind if o.kind not in ("door", "window") else ("window" if level > 0 else "door")
        after = replace(o, width=width, height=height, sill=level, kind=kind, basis=())
        self._take(after, f"{kind} {text.strip()}", is_typed=True)

    def readout(self) -> str:
        spot = self._spot()
        if spot is None or self.at is None:
            return ""
        run, opening, scale = spot
        path = traced_path(run, scale)
        _, segment, _ = nearest_station(path, scale.to_metres(self.at.raw_pt))
        stations = path.stations()
        show = self.session.display
        before = opening.at - opening.width / 2 - stations[segment]
        after = stations[segment + 1] - opening.at - opening.width / 2
        return f"{show.length(max(before, 0.0))} from one point, {show.length(max(after, 0.0))} from the other"

    def preview(self) -> tuple[Shape, ...]:
        spot = self._spot()
        if spot is None:
            return ()
        run, opening, scale = spot
        return tuple(opening_shapes(run, opening, scale, is_chosen=True))
