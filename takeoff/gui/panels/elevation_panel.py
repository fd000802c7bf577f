"""The selected wall developed flat, to scale; openings are dragged here too, and move on the plan."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from dataclasses import replace

import shapely

from takeoff.actions import catalogue_of
from takeoff.gui.session import Selection, Session
from takeoff.gui.widgets.drawing import Drawing
from takeoff.model.figures import Elevation, PlacedOpening
from takeoff.system.hanging import drop_count

Pixel = tuple[float, float]
MARGIN_LEFT, MARGIN_TOP, MARGIN_BOTTOM, MARGIN_RIGHT = 64, 26, 30, 84
"""Pixels at 100 %."""
NAME_LINES = 3
"""Lines above openings that their names take where they would lie on one another; what finds no room is left out."""
FILL = ("#CFE4F0", "#2E5468")


class ElevationPanel(Drawing):
    """Developed elevations of the selected run, one face under the other."""

    def __init__(self, parent: tkinter.Misc) -> None:
        super().__init__(parent, self._draw_faces)
        self.session: Session | None = None
        self._faces: list[tuple[Elevation, float, float, float]] = []
        self._names: list[tuple[int, int, int, int]] = []
        self._grip: tuple[Elevation, PlacedOpening, float] | None = None
        self._moved: float | None = None
        self.bind("<Button-1>", self._press)
        self.bind("<B1-Motion>", self._drag)
        self.bind("<ButtonRelease-1>", self._release)

    def show(self, session: Session | None) -> None:
        """Show the selected run of a session."""
        self.session = session
        self.renew()

    def _draw_faces(self) -> None:
        self._faces, self._names = [], []
        session = self.session
        chosen = session.selection.runs[:1] if session else ()
        if session is None or not chosen:
            self._say("Select a wall to see it developed flat.")
            return
        measured, pending = session.measured()
        faces = [f.elevation for f in measured.faces if f.elevation.run == chosen[0]]
        if not faces:
            why = next((f"{p.message}. {p.remedy}" for p in pending if p.run == chosen[0]), "")
            self._say(f"{session.wall(chosen[0])} cannot be measured yet: {why}")
            return
        width, height = self.winfo_width() - self.px(MARGIN_LEFT) - self.px(MARGIN_RIGHT), self.winfo_height()
        band = height / len(faces)
        for i, e in enumerate(faces):
            high = max(h for _, h in e.profile)
            scale = max(min(width / e.length, (band - self.px(MARGIN_TOP) - self.px(MARGIN_BOTTOM)) / high), 1e-3)
            base = i * band + self.px(MARGIN_TOP) + high * scale
            self._faces.append((e, scale, self.px(MARGIN_LEFT), base))
            self._draw_face(session, e, scale, base, high)

    def _say(self, text: str) -> None:
        self.create_text(
            16, 16, anchor="nw", text=text, fill=self.colour("quiet"), width=max(self.winfo_width() - 32, 100)
        )

    def _draw_face(self, session: Session, e: Elevation, scale: float, base: float, high: float) -> None:
        text, line = self.colour("text"), self.colour("quiet")

        def at(s: float, h: float) -> Pixel:
            return (self.px(MARGIN_LEFT) + s * scale, base - h * scale)

        self._draw_net(session, e, at)
        self._draw_strips(session, e, at)
        for corner in e.corners:
            dash = (4, 3) if corner.is_inside else ()
            top, word = at(corner.station, high), "in" if corner.is_inside else "out"
            self.create_line(*at(corner.station, e.base), *top, fill="#D55E00", width=1.5, dash=dash)
            self.create_text(*top, text=word, anchor="s", fill=text, font=self.face(11))
        for o in e.openings:
            self._draw_opening(session, e, o, at, scale)
        show = session.display
        right = self.px(MARGIN_LEFT) + e.length * scale
        for height, _factor in catalogue_of(session.job).rates.height_factors:
            if e.base < height < high:
                self.create_line(*at(0, height), *at(e.length, height), fill=line, dash=(1, 5))
                name, small = f"band {show.length(height)}", self.face(10)
                self.create_text(right + 4, at(0, height)[1], anchor="w", fill=line, text=name, font=small)
        left, under = self.px(MARGIN_LEFT), base + self.px(8)
        self.create_line(left, under, right, under, fill=line, arrow="both")
        said = f"{session.wall(e.run)}, {e.face} face: {show.length(e.length)} long, net {show.area(e.net.area)}"
        self.create_text(left, base + self.px(19), anchor="w", fill=text, text=said)
        self.create_text(left - 6, base - high * scale / 2, anchor="e", text=show.length(high), fill=text)

    def _draw_net(self, session: Session, e: Elevation, at: Callable[[float, float], Pixel]) -> None:
        """Draw what is coated, with the cove along its foot."""
        text = self.colour("text")
        for part in shapely.get_parts(e.net):
            self.create_polygon(
                [v for s, h in part.exterior.coords for v in at(s, h)], fill=FILL[self.is_dark], outline=text, width=1.5
            )
            for ring in part.interiors:
                self.create_polygon(
                    [v for s, h in ring.coords for v in at(s, h)], fill=self.colour("card"), outline=text, width=1.5
                )
        run = session.job.runs[e.run]
        room = session.job.rooms.get(run.room or "")
        cove = None if run.no_cove else (run.cove or (room.cove if room else None))
        if cove is not None and e.base <= 0.0:
            strip = shapely.intersection(e.net, shapely.box(0.0, 0.0, e.length, cove.height))
            for part in shapely.get_parts(strip):
                if part.geom_type == "Polygon":
                    self.create_polygon(
                        [v for s, h in part.exterior.coords for v in at(s, h)],
                        fill="#E69F00",
                        outline="",
                        stipple="gray50",
                    )

    def _draw_opening(
        self, session: Session, e: Elevation, o: PlacedOpening, at: Callable[[float, float], Pixel], scale: float
    ) -> None:
        is_chosen = session.selection.opening == (e.run, o.index)
        moved = self._moved if self._moved is not None and self._grip is not None and self._grip[1] == o else 0.0
        x0, x1 = o.x0 + moved, o.x1 + moved
        colour = "#D55E00" if is_chosen else self.colour("quiet")
        self.create_rectangle(*at(x0, o.z1), *at(x1, o.z0), outline=colour, width=3 if is_chosen else 1.5)
        self.create_line(*at(x0, o.z1), *at(x1, o.z0), fill=colour)
        self.create_line(*at(x0, o.z0), *at(x1, o.z1), fill=colour)
        self._name_opening(o, at((x0 + x1) / 2, (o.z0 + o.z1) / 2), at((x0 + x1) / 2, o.z1), (x1 - x0) * scale)

    def _name_opening(self, o: PlacedOpening, middle: Pixel, head: Pixel, room_px: float) -> None:
        """Write an opening's name into it on a plate, or above it where it is too narrow, clear of names before it."""
        name = " ".join(t for t in (o.source.kind, o.source.mark) if t)
        text = self.create_text(*middle, text=name, fill=self.colour("text"), font=self.face(11))
        x0, y0, x1, y1 = self.bbox(text)
        if x1 - x0 > room_px - 6:
            for line in range(NAME_LINES):
                self.coords(text, head[0], head[1] - self.px(7 + 13 * line))
                box = self.bbox(text)
                if all(box[2] <= b[0] or box[0] >= b[2] or box[3] <= b[1] or box[1] >= b[3] for b in self._names):
                    self._names.append(box)
                    return
            self.delete(text)
            return
        plate = self.create_rectangle(x0 - 2, y0, x1 + 2, y1, fill=self.colour("card"), outline="")
        self.tag_raise(text, plate)

    def _draw_strips(self, session: Session, e: Elevation, at: Callable[[float, float], Pixel]) -> None:
        """Edges of the strips of mat, where the face's system hangs one."""
        if e.system is None:
            return
        catalogue = catalogue_of(session.job)
        system = next((s for s in catalogue.systems if s.id == e.system), None)
        for step in system.steps if system else ():
            if step.kind != "mat" or step.product is None:
                continue
            width = catalogue.product(step.product).width
            if not width:
                continue
            count = drop_count(e.length, width=width, lap=step.lap, is_closed=e.is_closed)
            for i in range(1, count):
                station = i * (width - step.lap)
                if station < e.length:
                    low, high = e.base, max(h for _, h in e.profile)
                    self.create_line(*at(station, low), *at(station, high), fill="#009E73", dash=(2, 6))

    # -- dragging ------------------------------------------------------------------------------------------------

    def _opening_at(self, x: float, y: float) -> tuple[Elevation, PlacedOpening, float] | None:
        for e, scale, left, base in self._faces:
            s, h = (x - left) / scale, (base - y) / scale
            for o in e.openings:
                if o.x0 <= s <= o.x1 and o.z0 <= h <= o.z1:
                    return e, o, scale
        return None

    def _press(self, event: tkinter.Event[tkinter.Canvas]) -> None:
        self._grip, self._moved = self._opening_at(event.x, event.y), None
        self._from = event.x
        if self._grip is not None and self.session is not None:
            e, o, _ = self._grip
            self.session.select(Selection(runs=(e.run,), opening=(e.run, o.index)))

    def _drag(self, event: tkinter.Event[tkinter.Canvas]) -> None:
        if self._grip is not None and abs(event.x - self._from) > 3:
            self._moved = (event.x - self._from) / self._grip[2]
            self.renew()

    def _release(self, _event: object) -> None:
        grip, shift = self._grip, self._moved
        self._grip, self._moved = None, None
        session = self.session
        if grip is None or shift is None or session is None:
            return
        e, o, _ = grip
        run = session.job.runs[e.run]
        opening = run.openings[o.index]
        at = opening.at + shift
        if e.is_closed:
            at %= e.length
        else:
            at = min(max(at, opening.width / 2), max(e.length - opening.width / 2, opening.width / 2))
        openings = (*run.openings[: o.index], replace(opening, at=at), *run.openings[o.index + 1 :])
        if not session.put_runs([replace(run, openings=openings)], f"Move a {opening.kind} of {run.id}"):
            self.renew()
