"""Find each side of a run on two issues of its sheet: there as before, moved, or gone."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
import shapely
from shapely.ops import substring

from takeoff.geometry.arcs import flatten_segment
from takeoff.geometry.intervals import overlap, total
from takeoff.geometry.paths import Path
from takeoff.model.plan import Calibration, Point
from takeoff.model.walls import Run
from takeoff.revise.changes import Differences
from takeoff.revise.linework_along import Drawn, Spans, Stretch, aligned, face_spans, own_parts, parallels, unmatched
from takeoff.revise.pictures import Shades
from takeoff.revise.registration import Floats

SEARCH = 2.0
"""Metres within which a moved wall is looked for (judgement, no source)."""
THINNEST, THICKEST = 0.04, 0.75
"""Metres that a wall is thick (judgement, no source)."""
USUAL = 0.2
"""Metres that a wall is thick where only one face is drawn (judgement, no source)."""
AT_END = 0.3
"""Metres at the end of a side within which ink may be that of the side that it meets (judgement, no source)."""
KEPT = 0.9
"""Part of a face that must be drawn again for it to be unchanged."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """Linework of both issues in building metres of the new sheet, and what is on one of them only.

    Lines within ``tolerance`` are one; a line that ends within ``reach`` of a face meets it. ``ink`` are outlines of
    the ink that one of two pictures alone has; ``None`` between vector sheets. ``specks`` are its pixels, shape (n, 2),
    in spots too small to count, ``shades`` how dark both pictures are.
    """

    old: Drawn
    new: Drawn
    gone: Drawn
    came: Drawn
    tolerance: float
    reach: float
    ink: Drawn | None = None
    specks: Floats = field(default_factory=lambda: np.zeros((0, 2)))
    shades: Shades | None = None

    def own(self, place: shapely.Geometry, reach: float) -> tuple[Drawn, ...]:
        """What the old and what the new revision alone draws about a place; of pictures their own ink, as one."""
        if self.ink is not None:
            return (Drawn(self.ink.about(place, reach)),)
        pairs = ((self.gone, self.new), (self.came, self.old))
        return tuple(Drawn(own_parts(a.about(place, reach), b, self.tolerance)) for a, b in pairs)


def make_scene(
    old: Floats,
    new: Floats,
    scale: Calibration,
    tolerance_pt: float,
    *,
    reach_pt: float | None = None,
    pictures: Differences | None = None,
) -> Scene:
    """Gather the linework of both issues.

    Parameters
    ----------
    old, new
        Segments, shape (n, 4), of the old issue already carried to the new sheet, and of the new one.
    reach_pt
        Distance in points within which a line that ends meets a face; the tolerance where ``None``.
    pictures
        What two pictures differ in, where lines were found in them; these have the ink on the same hand.
    """
    metres = np.array([scale.mx, scale.my, scale.mx, scale.my])
    a, b = old * metres, new * metres
    size = math.sqrt(scale.mx * scale.my)
    tolerance, is_directed = tolerance_pt * size, pictures is not None
    scene = Scene(
        old=Drawn(a, is_directed=is_directed),
        new=Drawn(b, is_directed=is_directed),
        gone=Drawn(a[unmatched(a, b, tolerance)], is_directed=is_directed),
        came=Drawn(b[unmatched(b, a, tolerance)], is_directed=is_directed),
        tolerance=tolerance,
        reach=max(tolerance, (reach_pt or 0.0) * size),
    )
    if pictures is None or pictures.shades is None:
        return scene
    before, now = pictures.shades
    return replace(
        scene, ink=Drawn(np.concatenate([pictures.removed, pictures.added]) * metres),
        specks=pictures.specks * metres[:2],
        shades=Shades(old=before, new=now, pixel=pictures.pixel_pt * metres[:2]),
    )  # fmt: skip


@dataclass(slots=True)
class Side:
    """What was found of one segment of a run.

    ``stretch`` is its face as the old issue draws it (``None`` for an arc), drawn along the stations ``before`` by
    lines with the ``heading`` of `parallels`. On the new issue it lies ``by`` metres to its left, and ``shift`` where
    the whole run moved. ``doubt`` says what is not certain. ``is_still`` where neither of two pictures has ink of its
    own along it.
    """

    stretch: Stretch | None
    heading: int = 0
    by: float = 0.0
    state: Literal["same", "moved", "gone", "unseen", "arc"] = "same"
    before: Spans | None = None
    doubt: str = ""
    shift: Point = (0.0, 0.0)
    is_still: bool = False

    @property
    def placed(self) -> Stretch:
        """The stretch where it lies on the new issue."""
        assert self.stretch is not None
        moved = self.stretch.shifted(self.by)
        (ax, ay), (bx, by), (dx, dy) = moved.a, moved.b, self.shift
        return Stretch(a=(ax + dx, ay + dy), b=(bx + dx, by + dy), hand=moved.hand)


def look(run: Run, path: Path, scene: Scene, *, trace: float) -> list[Side]:
    """Find each segment of a run on both issues."""
    half = run.thickness / 2.0 if run.line == "centre" else 0.0
    hand = 1 if run.face == "right" else -1  # the side of the traced line on which its wall lies: +1 left, −1 right
    out = []
    for a, b, bulge in path.segments():
        if bulge:
            out.append(_look_at_arc(a, b, bulge, scene, trace))
            continue
        stretch = Stretch(a=a, b=b, hand=hand).shifted(half)
        # of a picture's edges the one from paper to ink is the face; where it is missing, the other
        headings = (-stretch.hand, stretch.hand) if scene.old.is_directed else (0,)
        laid, heading = next(
            ((f, h) for h in headings if (f := aligned(scene.old, stretch, trace, scene.tolerance, h)) is not None),
            (None, 0),
        )
        if laid is None:
            # nothing was drawn, as between two rooms that are open to one another
            is_drawn = aligned(scene.new, stretch, trace, scene.tolerance) is not None
            told = "a line is drawn now where none was" if is_drawn else ""
            out.append(Side(stretch=stretch, state="unseen", doubt=told))
            continue
        old = parallels(scene.old, laid, scene.tolerance, heading)
        before = overlap(face_spans(old, 0.0, scene.tolerance), [(0.0, laid.length)])
        new = parallels(scene.new, laid, SEARCH, heading)
        now = face_spans(new, 0.0, scene.tolerance)
        kept = total(overlap(before, now)) / total(before)
        side = Side(stretch=laid, heading=heading, before=before)
        if kept < KEPT:
            _seek(side, scene, new, before, kept)
        else:
            _step_over(side, scene, total(before))
        out.append(side)
    _shorten(out, scene, is_closed=path.is_closed)
    _calm(out, path, scene, trace + scene.tolerance)
    return out


def _shorten(sides: Sequence[Side], scene: Scene, *, is_closed: bool) -> None:
    """Settle sides that are drawn as before as far as sides that moved let them run."""
    moved = [s.stretch if s.state == "moved" and not s.doubt else None for s in sides]
    for i, side in enumerate(sides):
        if side.stretch is None or not side.before or (side.state == "same" and not side.doubt):
            continue
        low, high = 0.0, side.stretch.length
        for j, is_first in ((i - 1, True), ((i + 1) % len(sides), False)):
            other = moved[j] if is_closed or (j >= 0 and abs(j - i) == 1) else None
            station = None if other is None else _crossing(side.stretch, sides[j].placed)
            if station is not None and is_first:
                low = max(low, station)
            elif station is not None:
                high = min(high, station)
        wanted = overlap(side.before, [(low, high)])
        if (low > 0.0 or high < side.stretch.length) and total(wanted) > 0.0:
            now = face_spans(parallels(scene.new, side.stretch, scene.tolerance, side.heading), 0.0, scene.tolerance)
            if total(overlap(wanted, now)) >= KEPT * total(wanted):
                side.state, side.by, side.doubt = "same", 0.0, ""


def _crossing(one: Stretch, other: Stretch) -> float | None:
    """Station of a stretch at which the line of another crosses it, where they are not level."""
    (s0, o0, s1, o1) = one.local(np.array([(*other.a, *other.b)]))[0]
    return None if abs(o1 - o0) < 0.2 * other.length else float(s0 - o0 * (s1 - s0) / (o1 - o0))


def _calm(sides: Sequence[Side], path: Path, scene: Scene, reach: float) -> None:
    """Settle by their ink the sides of which two pictures show the same, whatever lines were found in each.

    A side that meets one that moved may have ink of its own at that end.
    """
    if scene.ink is None:
        return
    lines = [shapely.LineString(flatten_segment(*segment, 0.005)) for segment in path.segments()]
    inner = [_is_clear(scene.ink, line, AT_END, line.length - AT_END, reach) for line in lines]
    beyond = (inner[-1], inner[0]) if path.is_closed else (True, True)
    for i, side in enumerate(sides):
        ends = (inner[i - 1] if i else beyond[0], inner[i + 1] if i + 1 < len(inner) else beyond[1])
        low, high = (0.0 if is_still else AT_END for is_still in ends)
        side.is_still = inner[i] and _is_clear(scene.ink, lines[i], low, lines[i].length - high, reach)
        if side.is_still:
            side.by, side.doubt = 0.0, ""
            side.state = "arc" if side.state == "arc" or side.stretch is None else "same" if side.before else "unseen"


def _is_clear(ink: Drawn, line: shapely.LineString, low: float, high: float, reach: float) -> bool:
    if high <= low:
        low, high = 0.0, line.length
    return not len(ink.about(substring(line, low, high), reach))


def _seek(side: Side, scene: Scene, new: list[tuple[float, float, float]], before: Spans, kept: float) -> None:
    """Look for where a face went that is not all there any more.

    A face is told from the other face of its wall by the line that lies behind it, a wall's thickness off.
    """
    assert side.stretch is not None
    length, tolerance, hand = side.stretch.length, scene.tolerance, side.stretch.hand
    base = total(before)
    behind = _thicknesses(side, scene, base)

    def drawn(found: list[tuple[float, float, float]], off: float) -> float:
        return total(overlap(face_spans(found, off, tolerance), [(-SEARCH, length + SEARCH)])) / base

    both = parallels(scene.new, side.stretch, THICKEST)
    if drawn(new, 0.0) >= KEPT and all(drawn(both, hand * gap) * base >= KEPT * long for gap, long in behind.items()):
        side.state = "same"  # both its faces are as long as before: an opening moved along it
        return
    came = parallels(scene.came, side.stretch, SEARCH, side.heading)
    beside = parallels(scene.came, side.stretch, SEARCH + THICKEST)
    ahead = [] if scene.ink is not None else [-gap for gap in _thicknesses(side, scene, base, ahead=True)]
    tried: list[tuple[float, float, float, float]] = []
    for found in (came, new):
        for off in sorted({round(f[0], 6) for f in found if abs(f[0]) <= SEARCH}, key=abs):
            if abs(off) <= tolerance or not _is_inked(
                side.stretch, (off, *(off + hand * gap for gap in behind)), scene
            ):
                continue
            here = min(drawn(found, off), 1.0)
            # of a face and the line of its finish, the face has all behind it that it had before
            backed, led = (
                sum(drawn(beside, off + hand * gap) >= 0.5 for gap in gaps) / max(len(gaps), 1)
                for gaps in (behind, ahead)
            )
            # a line that was there before is the face now only if the wall behind it is new
            if here >= 0.5 and (found is came or backed):
                tried.append((here + backed + 0.5 * led, off, here, backed))
    most = max(tried, default=(0.0,))[0] / 1.05
    likely = [one for one in tried if one[0] >= most]
    _, at, covered, backed = next(iter(likely), (0.0, 0.0, 0.0, 0.0))
    if likely and covered > kept and (backed or kept < 0.5):
        side.state, side.by = "moved", at
        if behind and not backed:
            side.doubt = "a line like its face is drawn there, and no wall behind it"
        elif scene.ink is None and any(abs(one[1] - at) > THINNEST for one in likely):
            side.doubt = "more than one line like its face is drawn there"
    elif kept >= 0.5:
        side.state = "same"
    elif kept > 0.2:
        side.doubt = f"only {kept:.0%} of its face is drawn any more"
    else:
        side.state, side.doubt = "gone", "its face is not drawn any more"


def _step_over(side: Side, scene: Scene, base: float) -> None:
    """Follow a wall that moved by as much as it is thick: its other face is drawn where its face was."""
    face = side.stretch
    assert face is not None
    gone, came = (parallels(drawn, face, THICKEST) for drawn in (scene.gone, scene.came))

    def drawn(found: list[tuple[float, float, float]], off: float) -> bool:
        return total(overlap(face_spans(found, off, scene.tolerance), [(0.0, face.length)])) >= 0.5 * base

    behind = _thicknesses(side, scene, base)
    before = [off for off, *_ in came if THINNEST < -off * face.hand <= THICKEST and drawn(came, off)]
    if not (behind and before and all(drawn(gone, face.hand * gap) for gap in behind)):
        return
    off = min(before, key=abs)
    if any(abs(abs(off) - gap) <= scene.tolerance for gap in behind):
        side.state, side.by = "moved", off
    else:
        side.doubt = "its wall is drawn on the other side of its face"


def _is_inked(stretch: Stretch, offsets: Sequence[float], scene: Scene) -> bool:
    """Tell whether two pictures differ along a face that moved, or along the other face of its wall."""
    if scene.ink is None:
        return True
    stations = np.linspace(0.0, stretch.length, 50)
    lines = [np.array([stretch.shifted(off).at(s) for s in stations]) for off in offsets]
    return any(np.isfinite(scene.ink.distances(line, 2.0 * scene.reach)).mean() >= 0.5 for line in lines)


def wall_depth(side: Side, scene: Scene) -> float:
    """Depth of the wall behind a face on the old revision, m; `USUAL` where no other face is drawn."""
    found = _thicknesses(side, scene, total(side.before)) if side.before else {}
    most = max(found.values(), default=0.0)
    return min((gap for gap, length in found.items() if length >= KEPT * most), default=USUAL)


def _thicknesses(side: Side, scene: Scene, base: float, *, ahead: bool = False) -> dict[float, float]:
    """Distances from a face to lines behind it on the old revision, one of them the wall's other face; their length.

    Or to those ``ahead`` of it that only the old revision has there: a dimension's goes where its wall goes.
    """
    assert side.stretch is not None
    found = parallels(scene.gone if ahead else scene.old, side.stretch, THICKEST)
    out = {}
    thinnest = THINNEST if scene.ink is None else max(THINNEST, scene.reach)  # two edges of a pen's stroke are no wall
    for off in sorted({round(f[0], 6) for f in found}, key=abs):
        gap = -off * side.stretch.hand if ahead else off * side.stretch.hand
        long = total(overlap(face_spans(found, off, scene.tolerance), [(0.0, side.stretch.length)]))
        if thinnest < gap <= THICKEST and long >= 0.4 * base:
            out[gap] = long
    return out


def _look_at_arc(a: Point, b: Point, bulge: float, scene: Scene, trace: float) -> Side:
    points = np.array(flatten_segment(a, b, bulge, 0.005))
    middles = np.concatenate([points, (points[1:] + points[:-1]) / 2.0])
    before = scene.old.distances(middles, trace)
    seen = np.isfinite(before)
    if seen.mean() < 0.3:
        return Side(stretch=None, state="unseen", doubt="no curve is drawn where it was traced")
    now = scene.new.distances(middles[seen], trace)
    kept = float(np.mean(np.abs(now - before[seen]) <= scene.tolerance + 0.002))  # as near as it was to the old curve
    if kept >= KEPT:
        return Side(stretch=None, state="arc")
    if kept >= 0.5:
        return Side(stretch=None, state="arc", doubt=f"{kept:.0%} of its curve is drawn as before")
    return Side(stretch=None, state="gone", doubt="its curve is not drawn any more")
