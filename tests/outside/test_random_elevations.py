"""Two hundred random runs measured by sweeping a vertical along them, with nothing of the engine but its model.

Between two stations at which anything begins, ends or crosses, all heights are linear, so that the midpoint rule gives
areas and lengths exactly; what is coated just before and just after such a station gives jambs, ends, steps, corners.
Arcs are summed chord by chord (4096 of them leave 1e-8 of a half circle), faces of thick walls are GEOS offset curves.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from itertools import pairwise

import pytest
import shapely

from takeoff.errors import GeometryError
from takeoff.measure.faces import measure_faces
from takeoff.measure.rules import MeasureSettings
from takeoff.measure.totals import sum_quantities
from takeoff.model.plan import Calibration
from takeoff.model.walls import HeightProfile, Opening, Run

CHORDS = 4096
RELATIVE = 1e-6
THRESHOLD = math.radians(10.0)

Spans = list[tuple[float, float]]


@dataclass
class Sweep:
    """What a sweep along one face finds; lengths m, areas m²."""

    gross_area: float = 0.0
    net_area: float = 0.0
    base_length: float = 0.0
    top_length: float = 0.0
    end_length: float = 0.0
    jamb_length: float = 0.0
    head_length: float = 0.0
    sill_length: float = 0.0
    inside_corner_length: float = 0.0
    outside_corner_length: float = 0.0


def chords(a: tuple[float, float], b: tuple[float, float], bulge: float) -> list[tuple[float, float]]:
    """Points along a segment, y down: an arc by turning its radius about the centre, found by bisecting the chord."""
    if bulge == 0.0:
        return [a, b]
    angle = 4.0 * math.atan(bulge)  # counter-clockwise as displayed
    half = math.dist(a, b) / 2.0
    off = half / math.tan(angle / 2.0)
    along = ((b[0] - a[0]) / (2 * half), (b[1] - a[1]) / (2 * half))
    left = (along[1], -along[0])
    centre = ((a[0] + b[0]) / 2 + off * left[0], (a[1] + b[1]) / 2 + off * left[1])
    ax, ay = a[0] - centre[0], a[1] - centre[1]
    out = []
    for i in range(CHORDS + 1):
        turned = -angle * i / CHORDS  # y points down
        c, s = math.cos(turned), math.sin(turned)
        out.append((centre[0] + c * ax - s * ay, centre[1] + s * ax + c * ay))
    return out


def length_of(points: list[tuple[float, float]]) -> float:
    return math.fsum(math.dist(p, q) for p, q in pairwise(points))


def common(first: Spans, second: Spans) -> float:
    return sum(max(min(b, d) - max(a, c), 0.0) for a, b in first for c, d in second)


def total(spans: Spans) -> float:
    return sum(b - a for a, b in spans)


def sweep(run: Run) -> Sweep:
    """Measure a run of one face on its traced line."""
    n = len(run.points_pt)
    segments = [
        chords(run.points_pt[i], run.points_pt[(i + 1) % n], run.segment_bulges[i]) for i in range(run.segment_count)
    ]
    stations = [0.0]
    for segment in segments:
        stations.append(stations[-1] + length_of(segment))
    length = stations[-1]
    assert run.height is not None
    profile = run.height.points
    holes = []
    for o in run.openings:
        low, high = o.at - o.width / 2, o.at + o.width / 2
        for turn in (-1, 0, 1) if run.closed else (0,):
            x0, x1 = max(low + turn * length, 0.0), min(high + turn * length, length)
            if x1 > x0:
                holes.append((x0, x1, o.sill, o.sill + o.height))

    def top(x: float, middle: float) -> float:
        """Top at a station, seen from the side where ``middle`` lies."""
        if middle <= profile[0][0] or middle >= profile[-1][0]:
            return profile[0][1] if middle <= profile[0][0] else profile[-1][1]
        for (s0, h0), (s1, h1) in pairwise(profile):
            if s0 < middle < s1:
                return h0 + (h1 - h0) * (x - s0) / (s1 - s0)
        raise AssertionError

    marks = {0.0, length, *stations, *(s for s, _ in profile if 0.0 < s < length)}
    marks |= {x for hole in holes for x in hole[:2]}
    for (s0, h0), (s1, h1) in pairwise(profile):
        for level in {run.base, *(z for hole in holes for z in hole[2:])}:
            if s1 > s0 and (h0 - level) * (h1 - level) < 0.0:
                marks.add(s0 + (level - h0) / (h1 - h0) * (s1 - s0))
    at = sorted(x for x in marks if 0.0 <= x <= length)
    at = [x for i, x in enumerate(at) if i == 0 or x - at[i - 1] > 1e-9]

    def coated(x: float, middle: float) -> Spans:
        """What is coated on the vertical at a station, seen from the side where ``middle`` lies."""
        left = [(run.base, top(x, middle))]
        for x0, x1, z0, z1 in holes:
            if x0 < middle < x1:
                left = [piece for a, b in left for piece in ((a, min(b, z0)), (max(a, z1), b)) if piece[1] > piece[0]]
        return left if left and left[0][1] > left[0][0] else []

    out = Sweep()
    before: list[tuple[float, Spans]] = []
    for x0, x1 in pairwise(at):
        middle, wide = (x0 + x1) / 2, x1 - x0
        height = top(middle, middle)
        out.gross_area += max(height - run.base, 0.0) * wide
        slope = (top(x1, middle) - top(x0, middle)) / wide
        for low, high in coated(middle, middle):
            out.net_area += (high - low) * wide
            if low == run.base:
                out.base_length += wide
            else:
                out.head_length += wide
            if high == height:
                out.top_length += math.hypot(1.0, slope) * wide
            else:
                out.sill_length += wide
        before.append((middle, []))
    middles = [m for m, _ in before]
    inner = [(x, middles[i], middles[i + 1]) for i, x in enumerate(at[1:-1])]
    seam = [(0.0, middles[-1], middles[0])] if run.closed else []
    for x, last, first in (*inner, *seam):
        end = length if x == 0.0 else x
        one, two = coated(end, last), coated(x, first)
        shared = common(one, two)
        low, high = sorted((max(top(end, last), run.base), max(top(x, first), run.base)))
        riser = common(one + two, [(low, high)]) if high > low else 0.0
        out.top_length += riser
        out.jamb_length += total(one) + total(two) - 2.0 * shared - riser
        turn = turning(run, segments, stations, x)
        if abs(turn) >= THRESHOLD:
            if turn > 0.0:
                out.inside_corner_length += shared
            else:
                out.outside_corner_length += shared
    if not run.closed:
        out.end_length = total(coated(0.0, middles[0])) + total(coated(length, middles[-1]))
    return out


def turning(run: Run, segments: list[list[tuple[float, float]]], stations: list[float], x: float) -> float:
    """Turn at a vertex, positive where the angle on the coated side is under 180°."""
    k = next((i for i, s in enumerate(stations[:-1]) if abs(s - x) < 1e-9), None)
    if k is None or (k == 0 and not run.closed):
        return 0.0

    # tangents from three points of the chain each, to second order
    def way(p: list[tuple[float, float]]) -> float:
        if len(p) == 2:
            return math.atan2(-(p[1][1] - p[0][1]), p[1][0] - p[0][0])
        dx, dy = (-3 * p[0][i] + 4 * p[1][i] - p[2][i] for i in (0, 1))
        return math.atan2(-dy, dx)

    come = way(segments[k - 1][::-1][:3]) + math.pi
    go = way(segments[k][:3])
    turn = math.atan2(math.sin(go - come), math.cos(go - come))
    return turn if run.face == "left" else -turn


def random_run(luck: random.Random) -> Run:
    """A run with arcs, any top, and openings that overlap, stand on corners and reach over the top."""
    is_closed = luck.random() < 0.4
    count = luck.randint(3, 7)
    if is_closed:
        radii = [luck.uniform(4.0, 9.0) for _ in range(count)]
        points = [(r * math.cos(t), r * math.sin(t)) for r, t in
                  zip(radii, (2 * math.pi * i / count for i in range(count)), strict=True)]  # fmt: skip
        if luck.random() < 0.5:
            points.reverse()
    else:
        points = [(3.0 * i + luck.uniform(-1.0, 1.0), luck.uniform(-3.0, 3.0)) for i in range(count)]
    bulges = [luck.choice([0.0, 0.0, luck.uniform(-0.4, 0.4)]) for _ in range(count if is_closed else count - 1)]
    ends = [*points, points[0]] if is_closed else points
    length = math.fsum(length_of(chords(a, b, g)) for (a, b), g in zip(pairwise(ends), bulges, strict=True))
    kind = luck.choice(["level", "slope", "ridge", "step", "steps"])
    high = [luck.uniform(2.0, 4.5) for _ in range(4)]
    where = sorted(luck.uniform(0.05, 0.95) * length for _ in range(2))
    profile = {
        "level": [(0.0, high[0])],
        "slope": [(0.0, high[0]), (length, high[1])],
        "ridge": [(0.0, high[0]), (where[0], high[1]), (length, high[2])],
        "step": [(0.0, high[0]), (where[0], high[1]), (where[0], high[2]), (length, high[3])],
        "steps": [(0.0, high[0]), (where[0], high[0]), (where[0], high[1]), (where[1], high[1]), (where[1], high[2])],
    }[kind]
    openings = []
    for _ in range(luck.randint(0, 6)):
        width = luck.uniform(0.3, min(3.0, 0.8 * length))
        at = luck.uniform(0.0, length) if is_closed else luck.uniform(width / 2, length - width / 2)
        sill = luck.choice([0.0, luck.uniform(0.0, 2.5)])
        openings.append(Opening(at=at, width=width, height=luck.uniform(0.3, 3.5), sill=sill))
    return Run(
        id="a", sheet=1, points_pt=tuple(points), bulges=tuple(bulges) if any(bulges) else (), closed=is_closed,
        face=luck.choice(["left", "right"]), height=HeightProfile(points=tuple(profile)),
        base=luck.choice([0.0, 0.0, 0.3, 1.1]), openings=tuple(openings),
    )  # fmt: skip


FIGURES = tuple(Sweep.__dataclass_fields__)


def measured(run: Run):
    scale = Calibration(sheet=1, mx=1.0, my=1.0, pick=0.0005)
    return [f.quantities for f in measure_faces([run], {}, {"a": scale}, settings=MeasureSettings())]


@pytest.mark.parametrize("seed", range(4))
def test_random_runs_have_the_areas_and_edges_that_a_sweep_finds(seed):
    luck = random.Random(seed)
    compared, worst, seen = 0, 0.0, dict.fromkeys(FIGURES, 0)
    while compared < 50:
        run = random_run(luck)
        try:
            (found,) = measured(run)
        except GeometryError:
            continue  # a line that crosses itself is refused, not measured
        expected = sweep(run)
        for name in FIGURES:
            want, got = getattr(expected, name), getattr(found, name)
            worst = max(worst, abs(got - want) / max(want, 1.0))
            assert got == pytest.approx(want, rel=RELATIVE, abs=RELATIVE), (name, run)
            seen[name] += want > 0.01
        compared += 1
    assert min(seen.values()) >= 10  # every class of edge is there to be found
    print(f"\nseed {seed}: {compared} runs, largest relative difference {worst:.1e}")


def test_random_thick_walls_have_the_faces_that_offset_curves_have():
    luck = random.Random(11)
    compared = 0
    while compared < 50:
        plain = random_run(luck)
        thickness, height = luck.uniform(0.05, 0.4), luck.uniform(2.0, 4.0)
        run = Run(
            id="a", sheet=1, points_pt=plain.points_pt, closed=plain.closed, face="both", line="centre",
            thickness=thickness, height=HeightProfile.constant(height),
        )  # fmt: skip
        try:
            found = measured(run)
        except GeometryError:
            continue
        line = shapely.LineString([*run.points_pt, run.points_pt[0]] if run.closed else run.points_pt)
        if run.closed:
            rings = shapely.Polygon(run.points_pt)
            sides = [
                shapely.buffer(rings, by, join_style="mitre", mitre_limit=100.0).exterior.length
                for by in (thickness / 2, -thickness / 2)
            ]
        else:
            sides = [
                shapely.offset_curve(line, by, join_style="mitre", mitre_limit=100.0).length
                for by in (thickness / 2, -thickness / 2)
            ]
        assert sorted(q.base_length for q in found) == pytest.approx(sorted(sides), rel=RELATIVE)
        assert sum_quantities(found).net_area == pytest.approx(sum(sides) * height, rel=RELATIVE)
        compared += 1
