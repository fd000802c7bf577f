"""Selecting, and reshaping what is selected by dragging."""

from __future__ import annotations

import math
from dataclasses import replace

from takeoff.errors import TakeoffError
from takeoff.geometry.paths import nearest_station
from takeoff.gui.canvas.view import Shape, box_shape
from takeoff.gui.job_shapes import SELECTED, kept_on, opening_line, opening_under, polyline, run_under
from takeoff.gui.session import Selection, Session
from takeoff.gui.tools.tool import Pick, Tool, ask_for_needs, from_shown, in_metres
from takeoff.job.edits import Edit, PutOpening
from takeoff.job.wall_edits import AddPoint, BendWall, MovePoint, MoveWalls, RemovePoint
from takeoff.measure.develop import traced_path
from takeoff.model.plan import Point
from takeoff.model.walls import Opening, Run

REACH = 8.0
"""Pixels from a line within which a press is on it."""
ARROWS = {"left": (-1.0, 0.0), "right": (1.0, 0.0), "up": (0.0, -1.0), "down": (0.0, 1.0)}
"""Ways of the arrow keys on the screen; an opening goes on along its wall with right and down."""
STEP = {"imperial": 0.0254, "metric": 0.01}
"""Metres that an arrow key moves: an inch or a centimetre."""
FAR = 10
"""How many steps an arrow key moves with Shift."""
SLOP = 4.0
"""Pixels that the pointer may stray before a press is a drag."""


class PickTool(Tool):
    """Select runs, openings and vertices; drag them."""

    id = "pick"
    cursor = "arrow"
    snaps = False

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.pressed: Pick | None = None
        self.grip: tuple[str, str, int] | None = None
        self.is_dragging = False
        self.bent: tuple[str, int] | None = None

    def prompt(self) -> str:
        s = self.session
        if not s.job.calibrations:
            return "Set the scale first: press S. Then trace rooms by one click each (G), or walls by hand (T)."
        if not s.job.runs:
            return "Press G and click inside a room to trace it · T: walls by hand · B: a rectangle · D: openings"
        if self.bent:
            return "Click a point that the wall curves through (on its line: straight again)."
        if s.selection.opening:
            return "Drag the opening along its wall (arrow keys too), or change it in the panel (F5) · Delete: remove"
        if s.selection.vertex:
            return "Drag the point, or arrow keys · Delete: remove it · A: bend the wall after it · Ctrl+K: split here"
        if asked := ask_for_needs(s):
            return asked
        if s.selection.runs:
            return "Drag a point or the wall · double click on a wall: new point · F: other side · Delete: remove"
        return "Click a wall to select it · drag a box over several · Control adds · G: room · T: walls · D: opening"

    def press(self, pick: Pick) -> None:
        if self.bent is not None:
            self._bend(pick.pt)
            return
        self.pressed, self.is_dragging, self.grip, self.at, self.snaps = pick, False, None, pick, False
        reach = REACH * pick.pt_per_pixel
        chosen = self.session.selected_runs()
        if len(chosen) == 1 and not pick.is_control:
            run = chosen[0]
            near = min(range(len(run.points_pt)), key=lambda i: math.dist(run.points_pt[i], pick.raw_pt))
            if math.dist(run.points_pt[near], pick.raw_pt) <= reach and run.sheet == self.session.sheet_id:
                self.grip, self.snaps = ("vertex", run.id, near), True
                self.session.select(Selection(runs=(run.id,), vertex=(run.id, near)))
                return
        under = run_under(self.session, pick.raw_pt, reach)
        if under is None:
            if not pick.is_control and self.session.selection != Selection():
                self.session.select(Selection())
            return
        run, station, _ = under
        if pick.is_control:
            runs = self.session.selection.runs
            kept = tuple(id for id in runs if id != run.id) if run.id in runs else (*runs, run.id)
            self.session.select(Selection(runs=kept))
            return
        number = opening_under(run, station)
        if number is not None:
            self.grip = ("opening", run.id, number)
            self.session.select(Selection(runs=(run.id,), opening=(run.id, number)))
            return
        self.grip = ("run", run.id, 0)
        if run.id not in self.session.selection.runs or self.session.selection.opening:
            self.session.select(Selection(runs=(run.id,)))

    def drag(self, pick: Pick) -> None:
        if self.pressed and math.dist(pick.raw_pt, self.pressed.raw_pt) > SLOP * pick.pt_per_pixel:
            self.is_dragging = True
        self.at = pick

    def release(self, pick: Pick) -> None:
        self.at = pick
        is_dragging, grip, pressed = self.is_dragging, self.grip, self.pressed
        self.is_dragging, self.grip, self.pressed, self.snaps = False, None, None, False
        if not is_dragging or pressed is None:
            return
        if grip is None:
            self._select_box(pressed.raw_pt, pick.raw_pt)
        else:
            self.session.do(self._edit(grip, pressed, pick))

    def _edit(self, grip: tuple[str, str, int], pressed: Pick, pick: Pick) -> Edit:
        """What a drag does; walls go level or upright with Shift."""
        what, id, number = grip
        if what == "vertex":
            return MovePoint(run=id, index=number, to_pt=pick.pt)
        if what == "opening":
            opening = self._opening_at(self.session.job.runs[id], number, pick.raw_pt)
            return PutOpening(run=id, opening=opening, index=number)
        dx, dy = pick.raw_pt[0] - pressed.raw_pt[0], pick.raw_pt[1] - pressed.raw_pt[1]
        if pick.is_shift:
            dx, dy = (dx, 0.0) if abs(dx) > abs(dy) else (0.0, dy)
        return MoveWalls(runs=self.session.selection.runs, by_pt=(dx, dy))

    def _dragged(self, grip: tuple[str, str, int], pressed: Pick, pick: Pick) -> list[Run]:
        """Walls as a drag leaves them; none where that is refused."""
        try:
            change = self._edit(grip, pressed, pick).apply(self.session.job)
        except TakeoffError:
            return []
        return [entry.after for entry in change.entries if entry.kind == "run"]

    def _opening_at(self, run: Run, number: int, point: Point) -> Opening:
        opening = run.openings[number]
        scale = self.session.job.scale_for(run)
        if scale is None:
            return opening
        station = nearest_station(traced_path(run, scale), scale.to_metres(point))[0]
        return replace(opening, at=kept_on(run, scale, station, opening.width))

    def _select_box(self, a: Point, b: Point) -> None:
        import shapely

        box = shapely.box(min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1]))
        inside = [r.id for r in self.session.runs_here() if box.intersects(shapely.LineString(polyline(r)))]
        self.session.select(Selection(runs=tuple(inside)))

    def double(self, pick: Pick) -> None:
        """Put a vertex into the wall under the pointer."""
        under = run_under(self.session, pick.raw_pt, REACH * pick.pt_per_pixel)
        if under is None or self.session.selection.opening:
            return
        id, before = under[0].id, under[0].points_pt
        if self.session.do(AddPoint(run=id, near_pt=pick.raw_pt)):
            after = self.session.job.runs[id].points_pt
            made = next((i for i, (a, b) in enumerate(zip(before, after, strict=False)) if a != b), len(before))
            self.session.select(Selection(runs=(id,), vertex=(id, made)))

    def _bend(self, through: Point) -> None:
        bent, self.bent = self.bent, None
        assert bent is not None
        if bent[0] in self.session.job.runs:
            self.session.do(BendWall(run=bent[0], index=bent[1], through_pt=through))

    def key(self, key: str) -> bool:
        """Move with the arrow keys; remove a point with Delete; bend the piece after it with A."""
        vertex = self.session.selection.vertex
        far, _, arrow = key.rpartition("-")
        if arrow in ARROWS and self.session.selection.runs:
            times = FAR if far else 1
            self._nudge((ARROWS[arrow][0] * times, ARROWS[arrow][1] * times))
        elif key == "a" and vertex is not None:
            if vertex[1] < self.session.job.runs[vertex[0]].segment_count:
                self.bent = vertex
        elif key == "delete" and vertex is not None:
            self.session.do(RemovePoint(run=vertex[0], index=vertex[1]))
        else:
            return False
        return True

    def put_down(self) -> None:
        """Drop a bend or a drag; what is selected stays so."""
        self.is_dragging, self.grip, self.pressed, self.bent, self.snaps = False, None, None, None, False

    def _nudge(self, way: Point) -> None:
        chosen, session = self.session.selection, self.session
        runs = session.selected_runs()
        scale = session.job.scale_for(runs[0])
        step = STEP[session.display.system]
        x, y = from_shown(session.sheet, way)
        dx, dy = (x * step / scale.mx, y * step / scale.my) if scale is not None else (x, y)
        if chosen.opening is not None:
            run = session.job.runs[chosen.opening[0]]
            opening = run.openings[chosen.opening[1]]
            along = step * (way[0] + way[1])
            session.do(PutOpening(run=run.id, opening=replace(opening, at=opening.at + along), index=chosen.opening[1]))
        elif chosen.vertex is not None:
            px, py = session.job.runs[chosen.vertex[0]].points_pt[chosen.vertex[1]]
            session.do(MovePoint(run=chosen.vertex[0], index=chosen.vertex[1], to_pt=(px + dx, py + dy)))
        else:
            session.do(MoveWalls(runs=chosen.runs, by_pt=(dx, dy)))

    def cancel(self) -> bool:
        if self.bent is not None or self.is_dragging:
            self.put_down()
            return True
        if self.session.selection != Selection():
            self.session.select(Selection())
            return True
        return False

    def readout(self) -> str:
        if not self.is_dragging or self.grip is None or self.at is None or self.pressed is None:
            return ""
        what, id, number = self.grip
        run = self.session.job.runs[id]
        scale = self.session.job.scale_for(run)
        if scale is None:
            return ""
        show = self.session.display
        if what == "opening":
            return f"at {show.length(self._opening_at(run, number, self.at.raw_pt).at)}"
        return show.length(in_metres(scale, self.pressed.raw_pt, self.at.pt if what == "vertex" else self.at.raw_pt))

    def preview(self) -> tuple[Shape, ...]:
        if not self.is_dragging or self.at is None or self.pressed is None:
            return ()
        if self.grip is None:
            return (box_shape(self.pressed.raw_pt, self.at.raw_pt, colour=SELECTED, width=1, dash=(3, 3)),)
        shapes = []
        for run in self._dragged(self.grip, self.pressed, self.at):
            shapes.append(Shape("line", tuple(polyline(run)), SELECTED, 2, (6, 4)))
            scale = self.session.job.scale_for(run)
            if self.grip[0] == "opening" and scale is not None:
                o = run.openings[self.grip[2]]
                shapes.append(Shape("line", opening_line(run, o.at, o.width, scale), SELECTED, 7))
        return tuple(shapes)
