"""The openings of one run on a new revision: each looked for on its side, new ones found, and what none explains."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.geometry.intervals import overlap, total, united, without
from takeoff.geometry.paths import Path
from takeoff.model.plan import Point
from takeoff.model.walls import Opening, OpeningKind, Run
from takeoff.revise.carry_openings import FRAME, WIDTHS, CarriedOpening, Like, OnSide, carry_opening, new_openings
from takeoff.revise.fittings import LEAF, PIECES, changed_kind, fitting_between
from takeoff.revise.linework_along import (
    Drawn,
    Length,
    Spans,
    Stretch,
    ends_along,
    face_spans,
    jambs,
    own_parts,
    parallels,
)
from takeoff.revise.registration import Floats
from takeoff.revise.sides import AT_END, Scene, Side, wall_depth

QUIET = 0.3
"""Metres before and behind a wall within which nothing changes in the width of an opening that is as before
(judgement)."""
BESIDE = 0.12
"""Metres beside an opening within which nothing changes in its wall: a frame (judgement, no source)."""
PROUD = 0.05
"""Metres by which a frame stands out of its wall (judgement, no source)."""
WIDEST_DOOR = 2.6
"""Metres that a pair of leaves spans at the most (judgement, no source)."""
WIDEST_LEAF = 1.1
"""Metres of a door's leaf: nothing else stands where it swings (judgement, no source)."""
MOST_SPECKS = 0.02
"""Part of an opening that may be ink of one of two pictures alone in small spots: at most 0.011 where nothing changed,
0.033 where a window was filled with hatching (measured on drawn cases at 150 dpi)."""
OTHER_SHADE = 0.25
"""Part of a wall's ink by which it differs where something else is drawn: at most 0.18 where nothing changed, where
another wall meets it, and 0.28 and more where an opening was added (measured on made, drawn and known scans)."""
OTHER_FILL = 0.35
"""The same within an opening: at most 0.29 where nothing changed and its wall shows what is usual, 0.45 and more where
it moved by part of its width in a filled wall (measured on 200 openings of 10 pairs, some of a scan and a drawing)."""
OTHER_BARE = 0.12
"""Darkness, 0 to 1, by which a wall that is filled on one of two pictures is bare on the other: at most 0.052 where
nothing changed, 0.21 and more where an opening came or grew (measured on 10 drawn pairs of scans)."""
BEYOND = 3.0
"""Metres beyond the ends of a side within which jambs are looked for."""


class RunOpenings:
    """The openings of a run, and how they stand on the new revision.

    Parameters
    ----------
    run, path, after
        The run before, its path, and its points on the new revision, in metres of the new sheet.
    sides, scene
        What was found of its sides, and the linework of both revisions.
    """

    def __init__(
        self, run: Run, path: Path, after: Sequence[Point], sides: Sequence[Side], scene: Scene,
        like: Like, say: Length,
    ) -> None:  # fmt: skip
        self.run, self.path, self.sides, self.scene, self.say = run, path, sides, scene, say
        self._like, self._stations = like, path.stations()
        new_stations = Path(tuple(after), path.bulges, path.is_closed).stations()
        self._shifts: list[float] = []
        self._here: dict[int, OnSide] = {}
        for i, ((a, b, _), side) in enumerate(zip(path.segments(), sides, strict=True)):
            start = ((after[i][0] - a[0]) * (b[0] - a[0]) + (after[i][1] - a[1]) * (b[1] - a[1])) / math.dist(a, b)
            self._shifts.append(new_stations[i] - start)
            if side.stretch is not None:
                end = start + math.dist(after[i], after[(i + 1) % len(after)])
                self._here[i] = self._on_side(side, side.stretch, start, end)
        for opening in run.openings:
            i = _segment_of(self._stations, opening.at)
            if i in self._here:
                local, half = opening.at - self._stations[i], opening.width / 2.0
                self._here[i].known.append((local - half, local + half))

    def _on_side(self, side: Side, face: Stretch, start: float, end: float) -> OnSide:
        scene, placed = self.scene, side.placed
        near = (scene.reach, scene.tolerance)
        old, new = (
            [s - BEYOND for s in jambs(drawn, replace(on, a=on.at(-BEYOND), b=on.at(on.length + BEYOND)), *near)]
            for drawn, on in ((scene.old, face), (scene.new, placed))
        )
        is_vector = scene.ink is None  # edges found in a picture end anywhere
        return OnSide(
            side=side, face=face, start=start, end=end, depth=wall_depth(side, scene), near=2.0 * scene.tolerance,
            old=old, new=new,
            old_ends=ends_along(scene.old, face, scene.tolerance) if is_vector else [],
            new_ends=ends_along(scene.new, placed, scene.tolerance) if is_vector else [],
            solid=face_spans(parallels(scene.new, placed, 0.05, side.heading), 0.0, scene.tolerance),
        )  # fmt: skip

    def found(self) -> list[CarriedOpening]:
        """Every opening of the run, then those that only the new revision has."""
        out = []
        for opening in self.run.openings:
            i = _segment_of(self._stations, opening.at)
            local = opening.at - self._stations[i]
            if i in self._here:
                one = self._on_straight(opening, local, self._here[i])
            else:
                is_still = self.sides[i].state == "arc" and not self.sides[i].doubt
                one = CarriedOpening(
                    before=opening, after=replace(opening, at=max(local, 0.0)),
                    verdict="unchanged" if is_still else "look at it",
                    note="" if is_still else "it could not be checked",
                )  # fmt: skip
            out.append(_shifted(one, self._shifts[i]))
        for i, here in self._here.items():
            is_drawn = here.side.before is not None and here.side.state != "gone"
            if is_drawn and not (here.side.is_still and not self._is_shaded_otherwise(here, _free(here, here.known))):
                out.extend(_shifted(one, self._shifts[i]) for one in self._added(here))
        return out

    def _on_straight(self, opening: Opening, local: float, here: OnSide) -> CarriedOpening:
        scene = self.scene
        middle = shapely.Point(here.face.at(local))
        own = scene.own(middle, here.depth + (LEAF[1] + 0.5) * opening.width + QUIET)
        is_quiet = not any(len(drawn.about(self._place(here, local, opening), 0.0)) for drawn in own)
        found = carry_opening(opening, local, here, is_quiet=is_quiet)
        if scene.ink is not None:
            if is_quiet:
                low, high = local - opening.width / 2.0, local + opening.width / 2.0
                is_same = self._specks_in(here, local, opening.width) <= MOST_SPECKS and not self._is_shaded_otherwise(
                    here, lambda stations: (stations > low) & (stations < high), is_wall=False
                )
                return CarriedOpening(
                    before=opening, after=replace(opening, at=max(local, 0.0)),
                    verdict="unchanged" if is_same else "look at it",
                    note="" if is_same else "what is drawn in it changed, too finely to be told at this resolution",
                )  # fmt: skip
            if found.verdict == "unchanged":
                return replace(found, verdict="look at it", note="what is drawn in it or beside it changed")
            return found
        if found.jambs is None and found.verdict == "look at it" and opening.count == 1 and not here.is_moved:
            low, high = local - opening.width / 2.0, local + opening.width / 2.0
            before, now = here.fittings((scene.old, scene.new), (low, high, low, high))
            if now.is_wall and not before.is_wall:  # as where it began at a corner, which draws no jamb
                return replace(found, after=None, verdict="gone", note="")
        return found if is_quiet else self._same_kind(found, here, (own[0], own[1]))

    def _place(self, here: OnSide, local: float, opening: Opening) -> shapely.Geometry:
        """An opening with its frame, and where its leaves are hung; in pictures, where ink is a door's leaf alone."""
        half, ink = opening.width / 2.0, self.scene.ink
        place = _box(here, local, half + BESIDE, PROUD).union(_box(here, local, half, QUIET))
        if ink is None or opening.kind != "door":
            return place
        swing = _box(here, local, half, max(QUIET, min(opening.width, WIDEST_LEAF)))
        around = swing.buffer(QUIET).difference(swing.buffer(PIECES))
        return place if len(ink.about(around, 0.0)) else place.union(swing)

    def _specks_in(self, here: OnSide, local: float, width: float) -> float:
        """Part of an opening in its wall that is ink of one picture alone, in spots too small to count."""
        place, specks, shades = _box(here, local, width / 2.0, 0.0), self.scene.specks, self.scene.shades
        inside = shapely.contains_xy(place, specks[:, 0], specks[:, 1])
        return 0.0 if shades is None else float(inside.sum() * np.prod(shades.pixel) / place.area)

    def _same_kind(self, found: CarriedOpening, here: OnSide, own: tuple[Drawn, Drawn]) -> CarriedOpening:
        """Compare what is drawn between the jambs: a door that was filled in or became a window is to be looked at."""
        if found.jambs is None or found.after is None:
            return found
        before, now = here.fittings((self.scene.old, self.scene.new), found.jambs)
        gone, came = here.fittings(own, found.jambs)
        change = changed_kind(before, now, gone, came)
        if not change:
            return found
        if now.is_wall or came.is_wall:
            return replace(found, after=None, verdict="gone", note=change)
        kind = now.kind
        if kind in (None, found.after.kind):
            return replace(found, verdict="look at it", note=change)
        like = self._like(kind, found.after.width)
        after = replace(found.after, kind=kind, height=like.height, sill=like.sill, mark="", basis=like.basis)
        return replace(found, after=after, verdict="look at it", note=change)

    def _added(self, here: OnSide) -> list[CarriedOpening]:
        scene, placed = self.scene, here.side.placed

        def kind_of(low: float, high: float) -> OpeningKind | None:
            seen = fitting_between(scene.new, placed, low, high, here.depth)
            if any(seen.leaves) or (seen.across >= 3 and scene.ink is None):  # of one stroke a picture has two edges
                return seen.kind
            return None

        more = [s for s in self._gaps(here) if kind_of(*s)]
        is_picture = scene.ink is not None
        return new_openings(here, self._like, kind_of=kind_of, more=more, is_picture=is_picture, length=self.say)

    def _gaps(self, here: OnSide) -> Spans:
        """Where a leaf or glass may show a new opening whose jambs are not drawn."""
        scene, placed = self.scene, here.side.placed
        gaps = without(overlap(here.side.before or [], [(here.start, here.end)]), here.solid)
        gaps = [
            (a, b) for a, b in gaps if b - a <= WIDEST_DOOR and here.start + BESIDE <= a and b <= here.end - BESIDE
        ]  # fmt: skip
        if scene.ink is not None or here.is_moved:
            return gaps  # all of a wall that moved is new
        band = scene.came.near(placed.a, placed.b, here.depth)
        within = parallels(Drawn(own_parts(band, scene.old, scene.tolerance)), placed, here.depth)
        glass = united([(a, b) for off, a, b in within if PIECES < off * placed.hand < here.depth - PIECES], PIECES)
        # what is drawn where an opening was is the wall, closed again
        glass = [s for s in glass if not any(p - FRAME <= s[0] and s[1] <= q + FRAME for p, q in here.known)]
        return [*gaps, *(s for s in glass if WIDTHS[0] <= s[1] - s[0] <= WIDTHS[1])]

    def missing_face(self) -> list[str]:
        """Stretches of face that are not drawn any more and that no opening explains."""
        out, least = [], max(4.0 * self.scene.tolerance, 3.0 * self.scene.reach, 0.05)
        for i, here in self._here.items():
            side = here.side
            if side.before is None or side.state == "gone" or side.doubt:
                continue
            spans = united(here.used, self.scene.tolerance)
            left = without(without(overlap(side.before, [(here.start, here.end)]), here.solid), spans)
            left = [p for p in left if p[1] - p[0] > least]
            if left and not side.is_still:
                out.append(f"side {i + 1}: {self.say(total(left))} of its face is not drawn any more")
            elif side.state == "same" and self._is_shaded_otherwise(here, _free(here, [*here.known, *here.used])):
                out.append(f"side {i + 1}: something is drawn in its wall on one revision alone")
        return out

    def _is_shaded_otherwise(
        self, here: OnSide, within: Callable[[Floats], NDArray[np.bool_]], *, is_wall: bool = True
    ) -> bool:
        """Tell whether two pictures have other ink across a wall, or an opening in it, at some of its stations."""
        if (shades := self.scene.shades) is None:
            return False
        ink = shades.across(here.face, here.depth, PROUD)
        own, wall = within(ink.stations), ink.with_usual(_free(here, here.known)(ink.stations))
        off = ink.with_usual(own, least=wall.usual).most_off(own)
        return off > (OTHER_SHADE if is_wall else OTHER_FILL) or (is_wall and ink.most_bare(own) > OTHER_BARE)


def _free(here: OnSide, spans: Spans) -> Callable[[Floats], NDArray[np.bool_]]:
    """What tells which stations lie away from the ends of a side, as before and as it is now, and from openings."""
    ends = (0.0, here.face.length, here.start, here.end)

    def are_free(stations: Floats) -> NDArray[np.bool_]:
        free = (stations > here.start) & (stations < here.end)
        for low, high in (*spans, *((at, at) for at in ends)):
            free &= (stations < low - AT_END) | (stations > high + AT_END)
        return free

    return are_free


def _shifted(found: CarriedOpening, by: float) -> CarriedOpening:
    if found.after is None:
        return found
    return replace(found, after=replace(found.after, at=max(found.after.at + by, 0.0)))


def _box(here: OnSide, at: float, reach: float, out: float) -> shapely.Geometry:
    """A wall from ``reach`` before a station to as much after it, and ``out`` metres before and behind it."""
    face, hand = here.face, here.face.hand
    low, high = face.shifted(-hand * out), face.shifted(hand * (here.depth + out))
    ends = ((low, -reach), (low, reach), (high, reach), (high, -reach))
    return shapely.Polygon([side.at(at + station) for side, station in ends])


def _segment_of(stations: Sequence[float], at: float) -> int:
    at = at % stations[-1] if at > stations[-1] else at
    return min(bisect_left(stations, at, 1), len(stations) - 1) - 1
