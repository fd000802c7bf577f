"""The selected wall developed flat, to scale; openings are dragged here too, and move on the plan."""

from __future__ import annotations

import tkinter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import shapely

from takeoff.actions import catalogue_of
from takeoff.gui.session import Selection, Session
from takeoff.gui.widgets import Drawing, colour
from takeoff.model.figures import Elevation, PlacedOpening
from takeoff.system.hanging import drop_count

Pixel = tuple[float, float]
MARGIN_LEFT, MARGIN_TOP, MARGIN_BOTTOM, MARGIN_RIGHT = 64, 26, 30, 84
"""Pixels at 100 %."""
NAME_LINES = 3
"""Lines above openings that their names take where they would lie on one another; what finds no room is left out."""


@dataclass(frozen=True, slots=True)
class _Face:
    """A face as it is drawn: pixels for a metre, and the pixel of its first point on the floor."""

    e: Elevation
    scale: float
    left: float
    base: float

    @property
    def high(self) -> float:
        return max(height for _, height in self.e.profile)

    def at(self, s: float, h: float) -> Pixel:
        return (self.left + s * self.scale, self.base - h * self.scale)

    def opening_under(self, x: float, y: float) -> PlacedOpening | None:
        s, h = (x - self.left) / self.scale, (self.base - y) / self.scale
        return next((o for o in self.e.openings if o.x0 <= s <= o.x1 and o.z0 <= h <= o.z1), None)


class ElevationPanel(Drawing):
    """Developed elevations of the selected run, one face under the other."""

    def __init__(self, parent: tkinter.Misc) -> None:
        super().__init__(parent, self._draw_faces)
        self.session: Session | None = None
        self._faces: list[_Face] = []
        self._names: list[tuple[int, int, int, int]] = []
        self._grip: tuple[_Face, PlacedOpening] | None = None
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
        left, top = self.px(MARGIN_LEFT), self.px(MARGIN_TOP)
        width, band = self.winfo_width() - left - self.px(MARGIN_RIGHT), self.winfo_height() / len(faces)
        for i, e in enumerate(faces):
            high = max(h for _, h in e.profile)
            scale = max(min(width / e.length, (band - top - self.px(MARGIN_BOTTOM)) / high), 1e-3)
            face = _Face(e, scale, left, i * band + top + high * scale)
            self._faces.append(face)
            self._draw_face(session, face)

    def _say(self, text: str) -> None:
        wide = max(self.winfo_width() - 32, 100)
        self.create_text(16, 16, anchor="nw", text=text, fill=colour("quiet"), width=wide)

    def _draw_face(self, session: Session, face: _Face) -> None:
        text, line, small = colour("text"), colour("quiet"), self.face(10)
        e, show = face.e, session.display
        self._draw_net(session, face)
        self._draw_strips(session, face)
        for corner in e.corners:
            dash = (4, 3) if corner.is_inside else ()
            top, word = face.at(corner.station, face.high), "in" if corner.is_inside else "out"
            self.create_line(*face.at(corner.station, e.base), *top, fill="#D55E00", width=1.5, dash=dash)
            self.create_text(*top, text=word, anchor="s", fill=text, font=self.face(11))
        for o in e.openings:
            self._draw_opening(session, face, o)
        right = face.at(e.length, 0.0)[0]
        for height, _factor in catalogue_of(session.job).rates.height_factors:
            if e.base < height < face.high:
                self.create_line(*face.at(0, height), *face.at(e.length, height), fill=line, dash=(1, 5))
                name, y = f"band {show.length(height)}", face.at(0, height)[1]
                self.create_text(right + 4, y, anchor="w", fill=line, text=name, font=small)
        under = face.base + self.px(8)
        self.create_line(face.left, under, right, under, fill=line, arrow="both")
        said = f"{session.wall(e.run)}, {e.face} face: {show.length(e.length)} long, net {show.area(e.net.area)}"
        self.create_text(face.left, face.base + self.px(19), anchor="w", fill=text, text=said)
        middle = face.at(0.0, face.high / 2)[1]
        self.create_text(face.left - 6, middle, anchor="e", text=show.length(face.high), fill=text)

    def _draw_net(self, session: Session, face: _Face) -> None:
        e, text = face.e, colour("text")
        for part in shapely.get_parts(e.net):
            self._draw_ring(face, part.exterior.coords, fill=colour("coated"), outline=text, width=1.5)
            for ring in part.interiors:
                self._draw_ring(face, ring.coords, fill=colour("card"), outline=text, width=1.5)
        run = session.job.runs[e.run]
        room = session.job.rooms.get(run.room or "")
        cove = None if run.no_cove else (run.cove or (room.cove if room else None))
        if cove is not None and e.base <= 0.0:
            strip = shapely.intersection(e.net, shapely.box(0.0, 0.0, e.length, cove.height))
            for part in shapely.get_parts(strip):
                if part.geom_type == "Polygon":
                    self._draw_ring(face, part.exterior.coords, fill="#E69F00", outline="", stipple="gray50")

    def _draw_ring(self, face: _Face, ring: Sequence[Pixel], **look: Any) -> None:
        self.create_polygon([v for s, h in ring for v in face.at(s, h)], **look)

    def _draw_opening(self, session: Session, face: _Face, o: PlacedOpening) -> None:
        is_chosen = session.selection.opening == (face.e.run, o.index)
        moved = self._moved if self._moved is not None and self._grip is not None and self._grip[1] == o else 0.0
        x0, x1 = o.x0 + moved, o.x1 + moved
        line = "#D55E00" if is_chosen else colour("quiet")
        self.create_rectangle(*face.at(x0, o.z1), *face.at(x1, o.z0), outline=line, width=3 if is_chosen else 1.5)
        self.create_line(*face.at(x0, o.z1), *face.at(x1, o.z0), fill=line)
        self.create_line(*face.at(x0, o.z0), *face.at(x1, o.z1), fill=line)
        head = face.at((x0 + x1) / 2, o.z1)
        self._name_opening(o, face.at((x0 + x1) / 2, (o.z0 + o.z1) / 2), head, (x1 - x0) * face.scale)

    def _name_opening(self, o: PlacedOpening, middle: Pixel, head: Pixel, room_px: float) -> None:
        """Write an opening's name into it on a plate, or above it where it is too narrow, clear of names before it."""
        name = " ".join(t for t in (o.source.kind, o.source.mark) if t)
        text = self.create_text(*middle, text=name, fill=colour("text"), font=self.face(11))
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
        plate = self.create_rectangle(x0 - 2, y0, x1 + 2, y1, fill=colour("card"), outline="")
        self.tag_raise(text, plate)

    def _draw_strips(self, session: Session, face: _Face) -> None:
        e, catalogue = face.e, catalogue_of(session.job)
        system = next((s for s in catalogue.systems if s.id == e.system), None)
        for step in system.steps if system else ():
            width = catalogue.product(step.product).width if step.kind == "mat" and step.product else None
            if not width:
                continue
            for i in range(1, drop_count(e.length, width=width, lap=step.lap, is_closed=e.is_closed)):
                at = i * (width - step.lap)
                if at < e.length:
                    self.create_line(*face.at(at, e.base), *face.at(at, face.high), fill="#009E73", dash=(2, 6))

    # -- dragging ------------------------------------------------------------------------------------------------

    def _press(self, event: tkinter.Event[tkinter.Canvas]) -> None:
        under = ((face, face.opening_under(event.x, event.y)) for face in self._faces)
        self._grip = next(((face, o) for face, o in under if o is not None), None)
        self._from, self._moved = event.x, None
        if self._grip is not None and self.session is not None:
            run, o = self._grip[0].e.run, self._grip[1]
            self.session.select(Selection(runs=(run,), opening=(run, o.index)))

    def _drag(self, event: tkinter.Event[tkinter.Canvas]) -> None:
        if self._grip is not None and abs(event.x - self._from) > 3:
            self._moved = (event.x - self._from) / self._grip[0].scale
            self.renew()

    def _release(self, _event: object) -> None:
        grip, shift, session = self._grip, self._moved, self.session
        self._grip, self._moved = None, None
        if grip is None or shift is None or session is None:
            return
        e, index = grip[0].e, grip[1].index
        run = session.job.runs[e.run]
        opening = run.openings[index]
        half, at = opening.width / 2, opening.at + shift
        at = at % e.length if e.is_closed else min(max(at, half), max(e.length - half, half))
        openings = (*run.openings[:index], replace(opening, at=at), *run.openings[index + 1 :])
        if not session.put_runs([replace(run, openings=openings)], f"Move a {opening.kind} of {run.id}"):
            self.renew()
