"""Laws that hold whatever the drawing: each test is one law of the geometry engine."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from takeoff.measure.develop import develop
from takeoff.measure.elevation import edge_lengths, elevations
from takeoff.measure.faces import measure_faces
from takeoff.measure.rules import MeasureSettings
from takeoff.measure.totals import sum_quantities, summarise
from takeoff.model.figures import QUANTITY_FIELDS
from takeoff.model.plan import Calibration
from takeoff.model.walls import Cove, HeightProfile, Opening, Run

SCALE = Calibration(sheet=1, mx=1.0, my=1.0, pick=0.0005)
COVE = Cove(height=0.1, toe=0.1, radius=0.025, thickness=0.006, jamb_return=0.03)
ALL = ("jamb", "head", "sill")

# Whole millimetres, as people draw.
millimetres = st.integers
slow = settings(max_examples=12)
usual = settings(max_examples=25)


def measured(*runs, scale=SCALE, rule="exact-net"):
    return measure_faces(runs, {}, {r.id: scale for r in runs}, settings=MeasureSettings(rule=rule))


def total(*runs, scale=SCALE):
    return sum_quantities([f.quantities for f in measured(*runs, scale=scale)])


def same(found, expected, *, but=(), abs=1e-6):
    for name in QUANTITY_FIELDS:
        if name not in but:
            assert getattr(found, name) == pytest.approx(getattr(expected, name), abs=abs, rel=1e-9), name


@st.composite
def rings(draw):
    """Simple closed lines round the origin, counter-clockwise as displayed."""
    count = draw(st.integers(3, 7))
    steps = draw(st.lists(st.integers(5, 10), min_size=count, max_size=count))
    radii = draw(st.lists(st.integers(4000, 9000), min_size=count, max_size=count))
    angles = [2 * math.pi * sum(steps[: i + 1]) / sum(steps) for i in range(count)]
    points = tuple(
        (round(r / 1000 * math.cos(a), 3), round(-r / 1000 * math.sin(a), 3))
        for r, a in zip(radii, angles, strict=True)
    )
    return points


@st.composite
def lines(draw):
    """Open lines that run to the right and do not cross themselves."""
    count = draw(st.integers(2, 6))
    steps = draw(st.lists(st.integers(800, 4000), min_size=count - 1, max_size=count - 1))
    ups = draw(st.lists(st.integers(-4000, 4000), min_size=count, max_size=count))
    return tuple((sum(steps[:i]) / 1000, ups[i] / 1000) for i in range(count))


@st.composite
def openings(draw, length, most=3):
    """Openings within a run of a length; they may overlap, touch, stand on corners and be taller than the wall."""
    out = []
    for _ in range(draw(st.integers(0, most))):
        width = draw(millimetres(300, 2500)) / 1000
        if width >= length:
            continue
        low = draw(millimetres(0, int((length - width) * 1000))) / 1000
        out.append(
            Opening(
                at=low + width / 2,
                width=width,
                height=draw(millimetres(300, 3500)) / 1000,
                sill=draw(st.sampled_from([0.0, 0.0, 0.9, 1.2])),
                reveal=draw(st.sampled_from([0.0, 0.15])),
                coated=draw(st.sampled_from([(), ("jamb", "head"), ALL])),
            )
        )
    return tuple(out)


def path_length(points, closed):
    ends = [*points, points[0]] if closed else points
    return math.fsum(math.dist(a, b) for a, b in pairwise(ends))


@st.composite
def profiles(draw, length):
    """Tops: level, sloped from end to end, or stepped in the middle."""
    low, high = draw(millimetres(2000, 3200)) / 1000, draw(millimetres(2000, 4200)) / 1000
    kind = draw(st.sampled_from(["level", "level", "slope", "step"]))
    if kind == "level":
        return HeightProfile.constant(low)
    if kind == "slope":
        return HeightProfile(points=((0.0, low), (length, high)))
    return HeightProfile(points=((0.0, low), (length / 2, low), (length / 2, high), (length, high)))


@st.composite
def runs(draw, closed=None, sloped=True, most=3):
    """Runs of straight segments with openings, a cove and any top."""
    is_closed = draw(st.booleans()) if closed is None else closed
    points = draw(rings() if is_closed else lines())
    length = path_length(points, is_closed)
    return Run(
        id="a",
        sheet=1,
        points_pt=points,
        closed=is_closed,
        face=draw(st.sampled_from(["left", "right"])),
        height=draw(profiles(length)) if sloped else HeightProfile.constant(draw(millimetres(2000, 3500)) / 1000),
        base=draw(st.sampled_from([0.0, 0.0, 0.3])),
        cove=draw(st.sampled_from([None, COVE])),
        top=draw(st.sampled_from(["ceiling", "exposed"])),
        openings=draw(openings(length, most)),
    )


def moved(run, change):
    return replace(run, points_pt=tuple(change(*p) for p in run.points_pt))


@usual
@given(runs(), st.floats(-500, 500), st.floats(-500, 500))
def test_moving_a_run_changes_nothing(run, dx, dy):
    same(total(moved(run, lambda x, y: (x + dx, y + dy))), total(run))


@usual
@given(runs(), st.floats(-math.pi, math.pi))
def test_turning_a_run_changes_nothing(run, angle):
    c, s = math.cos(angle), math.sin(angle)
    same(total(moved(run, lambda x, y: (c * x - s * y, s * x + c * y))), total(run))


@usual
@given(runs())
def test_mirroring_a_run_with_its_face_changes_nothing(run):
    mirrored = replace(moved(run, lambda x, y: (-x, y)), face="right" if run.face == "left" else "left")
    same(total(mirrored), total(run))


def reversed_run(run):
    length = path_length(run.points_pt, run.closed)
    points = run.points_pt[::-1]
    if run.closed:  # keep the first vertex, so that stations run back from it
        points = (points[-1], *points[:-1])
    return replace(
        run,
        points_pt=points,
        bulges=tuple(-b for b in run.segment_bulges[::-1]),
        face="right" if run.face == "left" else "left",
        height=HeightProfile(points=tuple((max(length - s, 0.0), h) for s, h in run.height.points[::-1])),
        ends=run.ends[::-1],
        openings=tuple(replace(o, at=max(length - o.at, 0.0)) for o in run.openings),
    )


@usual
@given(runs())
def test_reversing_a_run_with_its_face_flipped_changes_nothing(run):
    same(total(reversed_run(run)), total(run))


@usual
@given(runs(closed=True, sloped=False), st.integers(1, 6))
def test_first_vertex_of_a_closed_run_may_be_any(run, shift):
    points = run.points_pt
    shift %= len(points)
    length = path_length(points, True)
    station = path_length(points[: shift + 1], False)
    turned = replace(
        run,
        points_pt=(*points[shift:], *points[:shift]),
        openings=tuple(replace(o, at=(o.at - station) % length) for o in run.openings),
    )
    # The seam is inside the wall, so what is joined there is no figure of the wall itself.
    same(total(turned), total(run), but=("joined_length", "perimeter"))


@usual
@given(runs(closed=True, sloped=False), st.floats(0.1, 0.9))
def test_closed_run_may_begin_in_the_middle_of_a_wall(run, part):
    (xa, ya), (xb, yb) = run.points_pt[-1], run.points_pt[0]
    start = (xa + part * (xb - xa), ya + part * (yb - ya))
    length = path_length(run.points_pt, True)
    back = math.dist(start, run.points_pt[0])
    turned = replace(
        run,
        points_pt=(start, *run.points_pt),
        openings=tuple(replace(o, at=(o.at + back) % length) for o in run.openings),
    )
    same(total(turned), total(run), but=("joined_length", "perimeter"))
    for rule in ("is1200-13", "din18363", "smm7"):
        one, two = (sum_quantities([f.quantities for f in measured(r, rule=rule)]) for r in (run, turned))
        assert two.measured_area == pytest.approx(one.measured_area, abs=1e-6)


def parts(run, station):
    """Split an open straight run in two at a station; openings across it are cut."""
    (a, b) = run.points_pt
    length = math.dist(a, b)
    at = (a[0] + (b[0] - a[0]) * station / length, a[1] + (b[1] - a[1]) * station / length)

    def heights(low, high):
        inner = [(s - low, h) for s, h in run.height.points if low < s < high]
        (face,) = develop(replace(run, openings=()), None, SCALE)
        return HeightProfile(points=((0.0, face.heights_at(low)[1]), *inner, (high - low, face.heights_at(high)[0])))

    def cut(low, high):
        out = []
        for o in run.openings:
            x0, x1 = max(o.at - o.width / 2, low), min(o.at + o.width / 2, high)
            if x1 - x0 > 1e-6:
                out.append(replace(o, at=(x0 + x1) / 2 - low, width=x1 - x0))
        return tuple(out)

    return (
        replace(run, id="a", points_pt=(a, at), height=heights(0.0, station), openings=cut(0.0, station)),
        replace(run, id="b", points_pt=(at, b), height=heights(station, length), openings=cut(station, length)),
    )


@st.composite
def straight_runs(draw):
    points = ((0.0, 0.0), (draw(millimetres(3000, 12000)) / 1000, draw(millimetres(-3000, 3000)) / 1000))
    length = math.dist(*points)
    return Run(
        id="a",
        sheet=1,
        points_pt=points,
        face=draw(st.sampled_from(["left", "right"])),
        height=draw(profiles(length)),
        openings=draw(openings(length)),
    )


@usual
@given(straight_runs(), st.floats(0.1, 0.9))
def test_parts_of_a_split_run_add_up_to_the_whole(run, part):
    station = part * math.dist(*run.points_pt)
    jambs = [s for o in run.openings for s in (o.at - o.width / 2, o.at + o.width / 2)]
    assume(all(abs(station - s) > 0.01 for s in (*jambs, *(s for s, _ in run.height.points))))
    whole, split = total(run), total(*parts(run, station))
    same(split, whole, but=("joined_length", "perimeter", "openings"))


@usual
@given(runs(closed=False, sloped=False, most=0), st.data())
def test_run_split_at_a_corner_keeps_its_corners_and_ends(run, data):
    assume(len(run.points_pt) > 2)
    k = data.draw(st.integers(1, len(run.points_pt) - 2))
    first = replace(run, id="a", points_pt=run.points_pt[: k + 1])
    second = replace(run, id="b", points_pt=run.points_pt[k:])
    same(total(first, second), total(run), but=("joined_length", "perimeter"))


@usual
@given(runs())
def test_net_lies_between_nothing_and_gross(run):
    found = total(run)
    assert -1e-9 <= found.net_area <= found.gross_area + 1e-9
    assert found.deducted_area == pytest.approx(found.gross_area - found.net_area)


@usual
@given(runs())
def test_net_area_agrees_with_a_fine_grid_of_points(run):
    """Count the middles of 50 mm squares that lie under the top and in no opening: a way without polygons."""
    (face,) = measured(run)
    step = 0.05
    length = face.elevation.length
    count = 0
    for i in range(int(length / step)):
        x = (i + 0.5) * step
        top = top_at(run.height.points, x)
        for k in range(int((top - run.base) / step)):
            z = run.base + (k + 0.5) * step
            spans = [(o.at - o.width / 2, o.at + o.width / 2, o.sill, o.sill + o.height) for o in run.openings]
            count += not any(a < x < b and c < z < d for a, b, c, d in spans)
    edge = face.quantities.perimeter
    assert abs(count * step**2 - face.quantities.net_area) <= step * edge


def top_at(points, x):
    """Top of a profile between its points, by straight interpolation."""
    for (s0, h0), (s1, h1) in pairwise(points):
        if s0 <= x < s1:
            return h0 + (h1 - h0) * (x - s0) / (s1 - s0)
    return points[-1][1]


@usual
@given(runs())
def test_openings_entered_twice_are_one(run):
    twice = replace(run, openings=(*run.openings, *run.openings))
    same(total(twice), total(run), but=("openings",))


@usual
@given(runs())
def test_edge_classes_sum_to_the_perimeter(run):
    faces = develop(run, None, SCALE)
    _, nets = elevations(faces)
    assert sum(edge_lengths(faces, nets).values()) == pytest.approx(shapely.length(nets), abs=1e-6)


@usual
@given(runs())
def test_figures_of_the_edges_sum_to_the_perimeter(run):
    q = total(run)
    sides = q.base_length + q.top_length + q.end_length + q.joined_length + q.opening_edge_length
    assert sides == pytest.approx(q.perimeter, abs=1e-6)


@given(rings(), st.sampled_from(["left", "right"]))
def test_corners_of_a_simple_closed_run_turn_once_round(points, face):
    run = Run(id="a", sheet=1, points_pt=points, closed=True, face=face, height=HeightProfile.constant(3.0))
    (developed,) = develop(run, None, SCALE, corner_threshold=1e-9)
    assert math.fsum(developed.turns) == pytest.approx(2 * math.pi if face == "left" else -2 * math.pi)


@given(rings(), st.floats(0.02, 0.3))
def test_both_faces_of_a_closed_wall_differ_by_the_turning_of_its_corners(points, thickness):
    run = Run(
        id="a", sheet=1, points_pt=points, closed=True, height=HeightProfile.constant(3.0),
        face="both", line="centre", thickness=thickness,
    )  # fmt: skip
    left, right = develop(run, None, SCALE)
    # Each mitre changes both faces by t tan(turn / 2): turning at a corner is lost inside and gained outside.
    turns = [
        2 * math.tan(t / 2) for t in develop(replace(run, face="left"), None, SCALE, corner_threshold=1e-9)[0].turns
    ]
    assert right.length - left.length == pytest.approx(thickness * math.fsum(turns), abs=1e-6)


@usual
@given(runs(sloped=False, most=0), st.floats(0.2, 5.0))
def test_scaling_the_plan_scales_lengths_and_with_them_areas(run, k):
    plain, scaled = total(run), total(run, scale=Calibration(sheet=1, mx=k, my=k, pick=0.0005 / k))
    for name in ("length", "base_length", "top_length", "gross_area", "net_area"):
        assert getattr(scaled, name) == pytest.approx(k * getattr(plain, name))
    for name in ("end_length", "inside_corner_length", "outside_corner_length", "inside_corners", "outside_corners"):
        assert getattr(scaled, name) == pytest.approx(getattr(plain, name))


@usual
@given(runs(sloped=False), st.floats(0.2, 5.0))
def test_scaling_everything_scales_areas_by_the_square(run, k):
    big = replace(
        run,
        height=HeightProfile.constant(run.height.points[0][1] * k),
        base=run.base * k,
        cove=None,
        openings=tuple(
            replace(o, at=o.at * k, width=o.width * k, height=o.height * k, sill=o.sill * k, reveal=o.reveal * k)
            for o in run.openings
        ),
    )
    plain = total(replace(run, cove=None))
    scaled = total(big, scale=Calibration(sheet=1, mx=k, my=k, pick=0.0005 / k))
    for name in QUANTITY_FIELDS:
        power = 0 if name in ("openings", "inside_corners", "outside_corners") else 2 if name.endswith("_area") else 1
        assert getattr(scaled, name) == pytest.approx(k**power * getattr(plain, name), abs=1e-5), name


@slow
@given(st.lists(runs(most=2), min_size=2, max_size=5), st.randoms(use_true_random=False))
def test_order_of_runs_and_openings_does_not_matter(given_runs, random):
    named = [replace(r, id=f"r{i}") for i, r in enumerate(given_runs)]
    mixed = [replace(r, openings=tuple(random.sample(r.openings, len(r.openings)))) for r in named]
    random.shuffle(mixed)
    before = summarise(measured(*named), by="run", rooms={}, rule="exact-net")
    after = summarise(measured(*mixed), by="run", rooms={}, rule="exact-net")
    same(after.total.quantities, before.total.quantities)
    assert after.total.u.net_area == pytest.approx(before.total.u.net_area)
    by_run = {i.id: i.quantities for i in before.items}
    for item in after.items:
        assert item.quantities.net_area == pytest.approx(by_run[item.id].net_area)


@slow
@given(st.lists(runs(most=2), min_size=1, max_size=4))
def test_many_runs_measured_at_once_have_the_areas_of_each_alone(given_runs):
    named = [replace(r, id=f"r{i}") for i, r in enumerate(given_runs)]
    together = {f.elevation.run: f.quantities for f in measured(*named)}
    for run in named:
        alone = total(run)
        for name in ("net_area", "base_length", "top_length", "return_area", "opening_edge_length"):
            assert getattr(together[run.id], name) == pytest.approx(getattr(alone, name))


@usual
@given(runs(), st.sampled_from(["is1200-13", "is1200-13-narrow", "din18363", "smm7", "nrm2", "us-half"]))
def test_rule_never_measures_less_than_net(run, rule):
    for face in measured(run, rule=rule):
        assert face.quantities.measured_area >= face.quantities.net_area - 1e-9


@usual
@given(runs())
def test_uncertainty_is_never_negative_and_grows_with_the_scales(run):
    def u(u_scale):
        scale = replace(SCALE, u_scale=u_scale)
        return summarise(measured(run, scale=scale), by="run", rooms={}, rule="exact-net").total.u

    assert 0.0 <= u(0.0).net_area <= u(0.002).net_area <= u(0.01).net_area
    assert 0.0 <= u(0.0).base_length <= u(0.002).base_length
