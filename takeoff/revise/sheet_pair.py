"""Two issues of one sheet side by side: read once, then registered, compared, and their lines laid on one another."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.errors import SheetError
from takeoff.model.plan import Calibration, Point
from takeoff.model.walls import Run
from takeoff.revise.carry import CarriedRun
from takeoff.revise.changes import Differences, find_changes, line_tolerance
from takeoff.revise.drawn_walls import NewWall, find_new_walls, lines_of_other_looks, new_lines_in_rooms
from takeoff.revise.linework_along import Drawn, unmatched
from takeoff.revise.pictures import (
    COLOUR,
    CORNER_PX,
    LEAST_COLOUR,
    LEAST_TOLERANCE_PX,
    LINE_TOLERANCE_PX,
    SPECK_PX,
    Picture,
    picture_changes,
    picture_lines,
)
from takeoff.revise.register_lines import register_lines
from takeoff.revise.register_pictures import register_pictures
from takeoff.revise.registration import MANY_PLACES, Aim, Box, Floats, Registration, middles_in, register_points
from takeoff.revise.sheet_texts import SheetTexts
from takeoff.revise.text_changes import WALL, Contradiction, contradictions, mark_changes, text_changes
from takeoff.sheet.render import cover_of_pictures, darkest, grey, render_array
from takeoff.trace.drawing.crowded import MANY
from takeoff.trace.drawing.linework import Linework
from takeoff.trace.scales.dimensions import find_dimensions

Pairs = Sequence[tuple[Point, Point]]

WHOLE = 0.9
"""Part of the plan's area that a sheet draws something in at least that is not issued in part (judgement)."""
MOST_DASHED = 0.3
"""Part of the lines that are dashed from which dashes tell nothing (judgement, no source)."""
LEAST_COVER = 0.05
"""Part of a page that pictures cover from which its plan may be one of them (judgement, no source)."""
DRAWN = 0.5
"""Part of the traced walls beside which a plan that is no picture has lines (judgement, no source)."""
TRIED_PT = 3.0
"""Points between places that are tried along a wall."""
PICTURE_DPI = 200.0
"""Resolution at which sheets are compared as pictures."""


@dataclass(kw_only=True)
class SheetPair(SheetTexts):
    """Both issues as linework or, where one of them is no vector sheet, as pictures.

    ``focus`` is the box on the old sheet that matters, ``points`` pairs of points picked by hand, ``limit`` the largest
    standard uncertainty in metres that is good enough, ``hint`` the points of the new sheet for each of the old one
    where notes tell. With ``as_pictures`` vector sheets are compared as pictures too, once they are registered.
    What is read or found of them is so once, when it is first asked for.
    """

    scale: Calibration
    focus: Box
    points: Pairs
    limit: float
    smallest: float
    hint: float | None = None
    as_pictures: bool = False

    @property
    def is_vector(self) -> bool:
        """True where both are vector sheets, to be compared by their lines."""
        return not self.as_pictures and self.are_vector

    def in_pictures(self) -> SheetPair:
        """The same sheets, registered as they are, to be compared as pictures."""
        made = replace(self, as_pictures=True)
        made.registration = self.registration
        return made

    def draws(self, runs: Sequence[Run]) -> bool:
        """Tell whether the old sheet has lines where walls were traced: a plan may be a picture under lines."""
        if not any(
            cover_of_pictures(data, sheet) > LEAST_COVER
            for data, sheet in ((self.old_data, self.old), (self.new_data, self.new))
        ):
            return True
        drawn, found = Drawn(self.lines[0]), [np.zeros(0, bool)]
        for run in runs:
            way = shapely.segmentize(shapely.LineString(run.path_pt.flattened(1.0)), TRIED_PT)
            reach = 4.0 * self.scale.pick + (run.thickness / self.m_per_pt if run.line == "centre" else 0.0)
            points = self.registration.carry_all(shapely.get_coordinates(way))
            found.append(np.isfinite(drawn.distances(points, reach * self.registration.scale)))
        return bool(np.concatenate(found).mean() >= DRAWN) if runs else True

    @property
    def m_per_pt(self) -> float:
        """Metres on the building for each point of the old sheet."""
        return math.sqrt(self.scale.mx * self.scale.my)

    @property
    def _new_m_per_pt(self) -> float:
        return self.m_per_pt / self.registration.scale

    @property
    def _aim(self) -> Aim:
        return {"focus_pt": self.focus, "m_per_pt": self.m_per_pt, "limit": self.limit}

    @cached_property
    def pictures(self) -> list[tuple[Picture, NDArray[np.bool_], float]]:
        """Of both a grey picture as its page lies in the file, which pixels are in colour, and its resolution."""
        out = []
        for data, sheet in ((self.old_data, self.old), (self.new_data, self.new)):
            dpi = min(sheet.dpi or PICTURE_DPI, PICTURE_DPI * 1.5)
            shown = render_array(data, sheet, dpi=dpi)
            turns = sheet.rotation // 90
            light = np.ascontiguousarray(np.rot90(grey(shown), turns))
            out.append((light, np.rot90(_coloured(shown), turns), dpi))
        return out

    @cached_property
    def registration(self) -> Registration:
        """How the old issue lies on the new one."""
        if self.points:
            self.registration = register_points(self.points, pick=self.scale.pick, **self._aim)
            return replace(self.registration, share=self.share(self.focus)[0])
        if not self.is_vector:
            return self._register_pictures()
        old, new = self.linework
        try:
            return register_lines(old.pieces.segments, new.pieces.segments, scale_hint=self.hint, **self._aim)
        except SheetError as refusal:
            if refusal.message == MANY_PLACES:
                raise
            # lines that were cut up anew may still look the same
            try:
                return self._register_pictures()
            except SheetError:
                raise refusal from None

    def share(self, focus_pt: Box) -> tuple[float, bool]:
        """Part of the old drawing, by length, that lies on lines of the new one, in a box of the old sheet.

        Where the new sheet draws nothing beyond an edge, only what lies within counts; whether it does comes second.
        """
        box = self.registration.carry_box(focus_pt)
        old, new = (lines[middles_in(lines, box)] for lines in self.lines)
        if not len(new):
            return 0.0, False
        corners = np.clip(new.reshape(-1, 2), box[:2], box[2:])
        edges = np.concatenate([corners.min(0), corners.max(0)])
        is_part = bool(np.prod(edges[2:] - edges[:2]) < WHOLE * np.prod(np.subtract(box[2:], box[:2])))
        old = old[middles_in(old, edges.tolist())] if is_part else old
        lengths = np.hypot(old[:, 2] - old[:, 0], old[:, 3] - old[:, 1])
        lost = unmatched(old, new, self.tolerance_pt)
        return (float(lengths[~lost].sum() / lengths.sum()) if lengths.sum() > 0.0 else 0.0), is_part

    def _register_pictures(self) -> Registration:
        (a, _, dpi_a), (b, _, dpi_b) = self.pictures
        return register_pictures(a, b, old_dpi=dpi_a, new_dpi=dpi_b, **self._aim)

    @property
    def new_focus(self) -> Box:
        """The box that matters, on the new sheet."""
        return self.registration.carry_box(self.focus)

    @cached_property
    def differences(self) -> Differences:
        """What changed on the sheet."""
        registration, m_per_pt, focus = self.registration, self._new_m_per_pt, self.new_focus
        if self.is_vector:
            old, new = self.linework
            found = find_changes(
                old, new, registration, m_per_pt=m_per_pt, focus_pt=focus, smallest=self.smallest
            )  # fmt: skip
            changes = [
                *found.changes,
                *mark_changes(*self.marks, registration, m_per_pt=m_per_pt, focus_pt=focus),
                *text_changes(*self.texts, registration, m_per_pt=m_per_pt, focus_pt=focus),
            ]
            changes.sort(key=lambda c: (not c.on_plan, round(c.box_pt[1] / 20), c.box_pt[0]))
            return replace(found, changes=tuple(changes))
        (a, was, dpi_a), (b, now, dpi_b) = self.pictures
        return picture_changes(
            a, b, registration, old_dpi=dpi_a, new_dpi=dpi_b, m_per_pt=m_per_pt, focus_pt=focus, smallest=self.smallest,
            coloured=now if was.mean() < LEAST_COLOUR else None,
        )  # fmt: skip

    @property
    def compares_writing(self) -> bool:
        """Whether what is written can be compared: the plans of both sheets have texts that can be read."""
        plans = [shapely.box(*box) for box in (self.focus, self.new_focus)]
        return self.is_vector and all(
            any(plan.contains(shapely.Point(line.middle_pt)) for line in lines)
            for plan, lines in zip(plans, self.texts, strict=True)
        )

    def contradictions(self, scale: Calibration) -> list[Contradiction]:
        """Dimensions that do not fit what the new sheet draws; ``scale`` is the new sheet's."""
        if not self.is_vector or max(len(linework.lines) for linework in self.linework) > MANY:
            return []
        old, new = (find_dimensions(*pair) for pair in zip(self.linework, self.texts, strict=True))
        # which text a dimension has may be read otherwise although nothing changed: something must be new at it
        found = self.differences
        metres = np.array([scale.mx, scale.my, scale.mx, scale.my])
        own = Drawn(np.concatenate([found.removed, found.added]) * metres)
        texts = [np.multiply(c.box_pt, metres) for c in found.changes if c.kind == "text" and c.by is None]
        anew = shapely.union_all([shapely.box(*box).buffer(WALL + 2.0 * min(box[2:] - box[:2])) for box in texts])
        return [
            one for one in contradictions(old, new, self.registration, self.scale, scale)
            if anew.intersects(shapely.LineString(one.span))
            or np.isfinite(own.distances(np.array(one.ends), WALL)).any()
        ]  # fmt: skip

    @cached_property
    def lines(self) -> tuple[Floats, Floats]:
        """Segments of both in points of the new sheet."""
        if self.is_vector:
            before, after = (_solid(linework) for linework in self.linework)
        else:
            (a, _, dpi_a), (b, _, dpi_b) = self.pictures
            before = picture_lines(a, dpi=dpi_a, focus_pt=self.focus)
            after = picture_lines(b, dpi=dpi_b, focus_pt=self.new_focus)
        return self.registration.carry_segments(before), after

    @property
    def tolerance_pt(self) -> float:
        """Distance in points of the new sheet within which lines are one."""
        if self.is_vector:
            return line_tolerance(self.registration, self._new_m_per_pt)
        return line_tolerance(self.registration, self._new_m_per_pt, LINE_TOLERANCE_PX * self._pixel_pt)

    def new_walls(self, carried: Sequence[CarriedRun], scale: Calibration) -> tuple[NewWall, ...]:
        """Walls that only the new issue shows."""
        if not carried:
            return ()
        if not self.is_vector:
            return new_lines_in_rooms(self.differences, carried, scale)
        old, new = self.linework
        return find_new_walls(
            old, new, self.registration, carried, scale=scale, tolerance_pt=self.tolerance_pt, focus_pt=self.new_focus
        )

    @cached_property
    def recoloured(self) -> Drawn:
        """Lines that the new issue draws where they were, in another pen or colour, in its points."""
        if not self.is_vector:
            return Drawn(np.zeros((0, 4)))
        return Drawn(lines_of_other_looks(*self.linework, self.registration, self.tolerance_pt))

    @property
    def reach_pt(self) -> float:
        """Distance in points of the new sheet within which a line that ends meets another."""
        return self.tolerance_pt if self.is_vector else CORNER_PX * self._pixel_pt

    @property
    def least_seen(self) -> float:
        """Size in metres of the smallest change that the resolution shows; 0 between vector sheets."""
        if self.is_vector:
            return 0.0
        m_per_pt, pixel = self._new_m_per_pt, 72.0 / self.pictures[1][2]
        return (line_tolerance(self.registration, m_per_pt, LEAST_TOLERANCE_PX * pixel) + SPECK_PX * pixel) * m_per_pt

    @property
    def _pixel_pt(self) -> float:
        """Size of the coarser picture's pixel in points of the new sheet."""
        (_, _, old_dpi), (_, _, new_dpi) = self.pictures
        return 72.0 / min(old_dpi / self.registration.scale, new_dpi)


def _solid(linework: Linework) -> Floats:
    """What is drawn through; dashed are things overhead or hidden, which look like a wall's faces in an opening."""
    pieces = linework.pieces
    dashed = linework.dashed[pieces.path]
    drawn: Floats = pieces.segments
    return drawn if dashed.mean() > MOST_DASHED else drawn[~dashed]


def _coloured(picture: Picture) -> NDArray[np.bool_]:
    brightest = np.maximum(np.maximum(picture[..., 0], picture[..., 1]), picture[..., 2])
    return np.asarray(brightest - darkest(picture) > COLOUR, bool)
