"""Buildings as solids of IfcOpenShell (Open CASCADE), measured on the solids, against the engine fed plan lines.

Walls are swept solids with subtracted openings. Areas and lengths are those of the triangles that the kernel makes of
them: a coated triangle is upright and has its three corners on the plan line of the coated face; a base edge is one of
its edges on the floor. ``pytest -s`` prints the figures.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, fields
from itertools import pairwise

import ifcopenshell
import ifcopenshell.geom
import ifcopenshell.guid
import numpy as np
import pytest
import shapely

from takeoff.measure.faces import measure_faces
from takeoff.measure.rules import MeasureSettings
from takeoff.measure.totals import sum_quantities
from takeoff.model.plan import Calibration
from takeoff.model.walls import HeightProfile, Opening, Run

ON_LINE = 1e-4
"""Metres within which a corner of a triangle lies on a plan line."""

RELATIVE = 1e-3


@dataclass
class Solids:
    """A file of walls under construction; plan coordinates in metres with y up, as the open standard has them."""

    file: ifcopenshell.file = field(default_factory=lambda: ifcopenshell.file(schema="IFC4"))

    def __post_init__(self):
        make = self.file.create_entity
        metre = make("IfcSIUnit", UnitType="LENGTHUNIT", Name="METRE")
        origin = make("IfcAxis2Placement3D", make("IfcCartesianPoint", (0.0, 0.0, 0.0)))
        self.context = make("IfcGeometricRepresentationContext", None, "Model", 3, 1e-6, origin)
        make(
            "IfcProject",
            ifcopenshell.guid.new(),
            RepresentationContexts=[self.context],
            UnitsInContext=make("IfcUnitAssignment", [metre]),
        )
        self.placement = make("IfcLocalPlacement", None, origin)

    def curve(self, points, bulges=None):
        """Closed plan curve; a bulge is that of the segment after its point, positive counter-clockwise."""
        coordinates, segments = [], []
        n = len(points)
        for i, (x, y) in enumerate(points):
            coordinates.append((float(x), float(y)))
            start, bulge = len(coordinates), bulges[i] if bulges else 0.0
            end = start + 1 if i + 1 < n or bulge else 1
            if bulge:
                (xb, yb) = points[(i + 1) % n]
                # the arc's middle lies half a chord times the bulge to the right of the chord (DXF convention)
                coordinates.append(((x + xb) / 2 + bulge * (yb - y) / 2, (y + yb) / 2 - bulge * (xb - x) / 2))
                end = start + 2 if i + 1 < n else 1
                segments.append(self.file.create_entity("IfcArcIndex", (start, start + 1, end)))
            else:
                segments.append(self.file.create_entity("IfcLineIndex", (start, end)))
        listed = self.file.create_entity("IfcCartesianPointList2D", coordinates)
        return self.file.create_entity("IfcIndexedPolyCurve", listed, segments, False)

    def swept(self, profile, bottom, height):
        make = self.file.create_entity
        at = make("IfcAxis2Placement3D", make("IfcCartesianPoint", (0.0, 0.0, float(bottom))))
        return make("IfcExtrudedAreaSolid", profile, at, make("IfcDirection", (0.0, 0.0, 1.0)), float(height))

    def area(self, points, bulges=None):
        return self.file.create_entity("IfcArbitraryClosedProfileDef", "AREA", None, self.curve(points, bulges))

    def disc(self, centre, radius):
        make = self.file.create_entity
        at = make("IfcAxis2Placement2D", make("IfcCartesianPoint", tuple(map(float, centre))))
        return make("IfcCircleProfileDef", "AREA", None, at, float(radius))

    def below(self, solid, point, normal):
        """Cut off what lies above a plane, in the direction of its normal."""
        make = self.file.create_entity
        at = make("IfcAxis2Placement3D", make("IfcCartesianPoint", point), make("IfcDirection", normal))
        half = make("IfcHalfSpaceSolid", make("IfcPlane", at), False)
        return make("IfcBooleanClippingResult", "DIFFERENCE", solid, half)

    def element(self, kind, solid):
        make = self.file.create_entity
        form = "SweptSolid" if solid.is_a("IfcSweptAreaSolid") else "Clipping"
        shape = make("IfcShapeRepresentation", self.context, "Body", form, [solid])
        body = make("IfcProductDefinitionShape", None, None, [shape])
        return make(kind, ifcopenshell.guid.new(), ObjectPlacement=self.placement, Representation=body)

    def wall(self, solid, voids=()):
        wall = self.element("IfcWall", solid)
        for void in voids:
            opening = self.element("IfcOpeningElement", void)
            self.file.create_entity(
                "IfcRelVoidsElement",
                ifcopenshell.guid.new(),
                RelatingBuildingElement=wall,
                RelatedOpeningElement=opening,
            )
        return wall

    def triangles(self):
        """Triangles of every wall's solid with its openings cut: list of arrays (n, 3, 3) in metres."""
        how = ifcopenshell.geom.settings()
        how.set("use-world-coords", True)
        how.set("mesher-linear-deflection", 0.0001)
        how.set("mesher-angular-deflection", 0.02)
        out = []
        for wall in self.file.by_type("IfcWall"):
            mesh = ifcopenshell.geom.create_shape(how, wall).geometry
            corners = np.array(mesh.verts).reshape(-1, 3)
            out.append(corners[np.array(mesh.faces).reshape(-1, 3)])
        return out


@dataclass
class Side:
    """What the solids have on a coated plan line: net area, and lengths of edges on the floor, and around openings."""

    net_area: float = 0.0
    base_length: float = 0.0
    opening_edge_length: float = 0.0
    inside_corner_length: float = 0.0
    outside_corner_length: float = 0.0


@dataclass
class Building:
    """Solids, the runs for the engine, and where on the plan the coated faces run, turn, stop and end above."""

    solids: Solids
    runs: list
    lines: list
    corners: dict
    top: Callable[[float, float], float]
    ends: tuple = ()


def merged(intervals):
    """Length of a union of intervals."""
    covered, at = 0.0, -math.inf
    for low, high in sorted(intervals):
        covered += max(high - max(low, at), 0.0)
        at = max(at, high)
    return covered


def coated(triangles, lines):
    """Upright triangles that have all three corners on one of some plan lines; a jamb reaches from line to line."""
    across = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    size = np.linalg.norm(across, axis=1)
    points = shapely.points(triangles[:, :, :2].reshape(-1, 2))
    near = np.zeros(len(triangles), dtype=bool)
    for line in lines:
        near |= (shapely.distance(points, shapely.LineString(line)) < ON_LINE).reshape(-1, 3).all(axis=1)
    return triangles[near & (size > 1e-12) & (np.abs(across[:, 2]) < 0.5 * size)]


def measure_solids(solids, lines, corners, top, ends):
    """Measure the coated sides of solids.

    ``corners`` are plan points with "inside" or "outside", ``ends`` those where a coated face ends. Of the vertical at
    a corner, what two triangles have is corner, and what one alone has is the edge of an opening.
    """
    side = Side()
    on_corner = {c: [] for c in corners}
    for triangles in solids.triangles():
        sides = coated(triangles, lines)
        across = np.cross(sides[:, 1] - sides[:, 0], sides[:, 2] - sides[:, 0])
        side.net_area += float(np.linalg.norm(across, axis=1).sum() / 2)
        edges = Counter()
        for triangle in sides.round(7).tolist():
            for a, b in pairwise([*triangle, triangle[0]]):
                edges[tuple(sorted((tuple(a), tuple(b))))] += 1
        for (a, b), times in edges.items():
            upright = [c for c in (*corners, *ends) if all(math.dist(p[:2], c) < ON_LINE for p in (a, b))]
            if upright:
                if upright[0] in on_corner:
                    on_corner[upright[0]].extend([(min(a[2], b[2]), max(a[2], b[2]))] * times)
            elif times > 1:
                continue
            elif abs(a[2]) < 1e-6 and abs(b[2]) < 1e-6:
                side.base_length += math.dist(a, b)
            elif not all(abs(p[2] - top(p[0], p[1])) < 1e-5 for p in (a, b)):
                side.opening_edge_length += math.dist(a, b)
    for corner, kind in corners.items():
        each = sum(high - low for low, high in on_corner[corner])
        shared = each - merged(on_corner[corner])
        name = f"{kind}_corner_length"
        setattr(side, name, getattr(side, name) + shared)
        side.opening_edge_length += each - 2 * shared
    return side


def engine(*runs):
    """Measure runs given in metres with y up."""
    scale = Calibration(sheet=1, mx=1.0, my=1.0, pick=0.0005)
    return sum_quantities(
        [f.quantities for f in measure_faces(runs, {}, {r.id: scale for r in runs}, settings=MeasureSettings())]
    )


def run(points, height, openings=(), id="a", bulges=(), **rest):
    """Make a run from a plan with y up: sheet points have y down."""
    profile = HeightProfile.constant(height) if isinstance(height, float) else HeightProfile(points=tuple(height))
    return Run(
        id=id,
        sheet=1,
        points_pt=tuple((float(x), -float(y)) for x, y in points),
        bulges=tuple(bulges),
        height=profile,
        openings=tuple(Opening(at=at, width=w, sill=sill, height=h) for at, w, sill, h in openings),
        **rest,
    )


def outward(points, thickness):
    """Plans of the walls round a room (counter-clockwise, y up), mitred; their inner faces lie on the outline."""
    ring = shapely.Polygon(points).buffer(thickness, join_style="mitre", mitre_limit=50).exterior.coords[:-1]
    outer = [min(ring, key=lambda q: math.dist(q, p)) for p in points]
    n = len(points)
    return [[points[i], points[(i + 1) % n], outer[(i + 1) % n], outer[i]] for i in range(n)]


def box_through(a, b, low, high, reach):
    """Plan of an opening between two distances along a wall's face, cut square through it."""
    length = math.dist(a, b)
    t = ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
    n = (t[1] * reach, -t[0] * reach)
    p, q = ((a[0] + t[0] * s, a[1] + t[1] * s) for s in (low, high))
    return [
        (p[0] + n[0], p[1] + n[1]),
        (q[0] + n[0], q[1] + n[1]),
        (q[0] - n[0], q[1] - n[1]),
        (p[0] - n[0], p[1] - n[1]),
    ]


def room_solids(points, thickness, height, voids, clip=None):
    """Solids of a room; ``voids`` are (wall, from, to, sill, head) along each wall's inner face."""
    solids = Solids()
    for i, plan in enumerate(outward(points, thickness)):
        solid = solids.swept(solids.area(plan), 0.0, height)
        if clip:
            solid = solids.below(solid, *clip)
        cuts = []
        for _, low, high, sill, head in (v for v in voids if v[0] == i):
            void = box_through(points[i], points[(i + 1) % len(points)], low, high, 3 * thickness)
            cuts.append(solids.swept(solids.area(void), sill, head - sill))
        solids.wall(solid, cuts)
    return solids


def level(height):
    """Make the top of a building without slopes."""
    return lambda x, y: height


def stations(points):
    """Stations of the vertices of a closed line."""
    out = [0.0]
    for a, b in pairwise([*points, points[0]]):
        out.append(out[-1] + math.dist(a, b))
    return out


def rectangle():
    """A room with two doors and two windows."""
    points = [(0, 0), (6, 0), (6, 4), (0, 4)]
    voids = [(0, 1.0, 2.0, 0.0, 2.1), (0, 3.0, 5.0, 0.9, 2.4), (1, 1.0, 2.2, 0.9, 2.1), (2, 2.0, 4.4, 0.0, 2.4)]
    solids = room_solids(points, 0.2, 3.0, voids)
    at = stations(points)
    openings = [(at[i] + (low + high) / 2, high - low, sill, head - sill) for i, low, high, sill, head in voids]
    runs = [run(points, 3.0, openings, closed=True)]
    return Building(solids, runs, [[*points, points[0]]], dict.fromkeys(points, "inside"), level(3.0))


def ell():
    """An L-shaped room: windows that overlap, an opening taller than the wall, a door that stands in a corner."""
    points = [(0, 0), (7.35, 0), (7.35, 3.2), (4.1, 3.2), (4.1, 6.05), (0, 6.05)]
    voids = [
        (0, 1.0, 2.5, 0.9, 2.0),
        (0, 2.0, 3.5, 1.2, 2.4),  # overlaps the one before
        (1, 1.0, 1.9, 0.0, 5.0),  # taller than the wall
        (4, 0.0, 0.9, 0.0, 2.1),  # stands in the corner
        (5, 2.0, 3.2, 1.0, 2.2),
    ]
    solids = room_solids(points, 0.25, 2.75, voids)
    at = stations(points)
    openings = [(at[i] + (low + high) / 2, high - low, sill, head - sill) for i, low, high, sill, head in voids]
    corners = {p: "outside" if p == (4.1, 3.2) else "inside" for p in points}
    runs = [run(points, 2.75, openings, closed=True)]
    return Building(solids, runs, [[*points, points[0]]], corners, level(2.75))


def pentagon():
    """A room with five odd angles and a window round a corner."""
    points = [(0, 0), (5, -1), (8, 2.5), (4.5, 6), (-0.5, 4)]
    at = stations(points)
    # A window round the corner at (8, 2.5): 0.8 m on one wall and 1.1 m on the next.
    first = math.dist(points[1], points[2])
    voids = [(1, first - 0.8, first, 1.0, 2.0), (2, 0.0, 1.1, 1.0, 2.0), (3, 1.5, 2.4, 0.0, 2.05)]
    solids = room_solids(points, 0.15, 2.6, voids)
    openings = [(at[2] + 0.15, 1.9, 1.0, 1.0), (at[3] + 1.95, 0.9, 0.0, 2.05)]
    runs = [run(points, 2.6, openings, closed=True)]
    return Building(solids, runs, [[*points, points[0]]], dict.fromkeys(points, "inside"), level(2.6))


def shed():
    """A room under a plane that rises 0.9 m over its width and 0.3 m along it; a window and a door reach through it."""
    points = [(0, 0), (6, 0), (6, 4), (0, 4)]

    def top(x, y):
        return 2.4 + 0.15 * x + 0.075 * y

    voids = [(0, 1.0, 2.0, 0.0, 2.1), (1, 1.0, 2.4, 1.5, 6.0), (2, 3.0, 4.0, 0.0, 6.0), (3, 1.0, 2.0, 1.9, 3.5)]
    solids = room_solids(points, 0.2, 6.0, voids, clip=((0.0, 0.0, 2.4), (-0.15, -0.075, 1.0)))
    at = stations(points)
    openings = [(at[i] + (low + high) / 2, high - low, sill, head - sill) for i, low, high, sill, head in voids]
    heights = [(s, top(*p)) for s, p in zip(at, [*points, points[0]], strict=True)]
    runs = [run(points, heights, openings, closed=True)]
    return Building(solids, runs, [[*points, points[0]]], dict.fromkeys(points, "inside"), top)


def bent_partition():
    """A thick wall in the open with a bend, coated on both faces, with a door and a pass-through."""
    centre = [(0, 0), (4, 0), (6.5, 2.5)]
    line = shapely.LineString(centre)
    plan = line.buffer(0.15, cap_style="flat", join_style="mitre").exterior.coords[:-1]
    solids = Solids()
    cuts = []
    for i, low, high, sill, head in [(0, 1.0, 2.0, 0.0, 2.1), (1, 1.2, 2.4, 0.9, 1.7)]:
        void = box_through(centre[i], centre[i + 1], low, high, 1.0)
        cuts.append(solids.swept(solids.area(void), sill, head - sill))
    solids.wall(solids.swept(solids.area(plan), 0.0, 2.8), cuts)
    left, right = (line.offset_curve(d, join_style="mitre").coords[:] for d in (0.15, -0.15))
    openings = [(1.5, 1.0, 0.0, 2.1), (4 + 1.8, 1.2, 0.9, 0.8)]
    runs = [run(centre, 2.8, openings, face="both", line="centre", thickness=0.3)]
    # walking to the right and bending left: the left face has the inside corner
    corners = {left[1]: "inside", right[1]: "outside"}
    ends = (left[0], left[-1], right[0], right[-1])
    return Building(solids, runs, [left, right], corners, level(2.8), ends)


def curved():
    """A bay: a straight wall, a quarter circle of 3 m radius and a straight wall, with openings in all three."""
    quarter = math.tan(math.pi / 8)
    inner = [(0, 0), (4, 0), (7, 3), (7, 6)]
    outer = [(0, -0.2), (4, -0.2), (7.2, 3), (7.2, 6)]
    plan = [*inner, *outer[::-1]]
    bulges = [0.0, quarter, 0.0, 0.0, 0.0, -quarter, 0.0, 0.0]
    solids = Solids()

    def sector(low, high):
        """Plan between two stations along the arc, through the wall, about (4, 3)."""
        a, b = (low / 3.0 - math.pi / 2, high / 3.0 - math.pi / 2)
        bulge = math.tan((b - a) / 4)
        points = [(4 + r * math.cos(t), 3 + r * math.sin(t)) for r, t in ((2.7, a), (2.7, b), (3.5, b), (3.5, a))]
        return solids.area(points, [bulge, 0.0, -bulge, 0.0])

    cuts = [
        solids.swept(solids.area(box_through((0, 0), (4, 0), 1.0, 2.0, 1.0)), 0.0, 2.1),
        solids.swept(sector(1.0, 2.4), 0.9, 1.2),
        solids.swept(sector(3.0, 3.9), 0.0, 2.1),
        solids.swept(solids.area(box_through((7, 3), (7, 6), 1.0, 2.0, 1.0)), 1.0, 1.0),
    ]
    solids.wall(solids.swept(solids.area(plan, bulges), 0.0, 3.0), cuts)
    arc = 1.5 * math.pi
    openings = [(1.5, 1.0, 0.0, 2.1), (5.7, 1.4, 0.9, 1.2), (7.45, 0.9, 0.0, 2.1), (4 + arc + 1.5, 1.0, 1.0, 1.0)]
    runs = [run(inner, 3.0, openings, bulges=(0.0, quarter, 0.0))]
    turn = [(4 + 3 * math.cos(t), 3 + 3 * math.sin(t)) for t in np.linspace(-math.pi / 2, 0, 2001)]
    return Building(solids, runs, [[(0, 0), *turn, (7, 6)]], {}, level(3.0), (inner[0], inner[-1]))


def hall_with_pillars():
    """A hall with a square pier and a round column in it, a wide door and a ribbon window."""
    points = [(0, 0), (9, 0), (9, 5), (0, 5)]
    voids = [(0, 4.0, 6.4, 0.0, 2.4), (2, 1.0, 8.0, 1.0, 2.2)]
    solids = room_solids(points, 0.3, 3.4, voids)
    pier = [(3, 2), (3.6, 2), (3.6, 2.5), (3, 2.5)]
    solids.wall(solids.swept(solids.area(pier), 0.0, 3.4))
    solids.wall(solids.swept(solids.disc((6.5, 2.5), 0.35), 0.0, 3.4))
    at = stations(points)
    openings = [(at[i] + (low + high) / 2, high - low, sill, head - sill) for i, low, high, sill, head in voids]
    runs = [
        run(points, 3.4, openings, closed=True),
        run(pier, 3.4, id="pier", closed=True, face="right"),
        run([(6.15, 2.5), (6.85, 2.5)], 3.4, id="column", bulges=(1.0, 1.0), closed=True, face="right"),
    ]
    circle = [(6.5 + 0.35 * math.cos(t), 2.5 + 0.35 * math.sin(t)) for t in np.linspace(0, 2 * math.pi, 2001)]
    corners = {**dict.fromkeys(points, "inside"), **dict.fromkeys(pier, "outside")}
    return Building(solids, runs, [[*points, points[0]], [*pier, pier[0]], circle], corners, level(3.4))


BUILDINGS = (rectangle, ell, pentagon, shed, bent_partition, curved, hall_with_pillars)


@pytest.mark.parametrize("building", BUILDINGS, ids=lambda b: b.__name__)
def test_engine_agrees_with_the_solids_of_an_independent_kernel(building):
    built = building()
    seen = measure_solids(built.solids, built.lines, built.corners, built.top, built.ends)
    found = engine(*built.runs)
    print(f"\n{building.__name__}: {building.__doc__}")
    for name in (f.name for f in fields(Side)):
        kernel, ours = getattr(seen, name), getattr(found, name)
        off = (ours / kernel - 1) * 100 if kernel else 0.0
        print(f"  {name:22} solids {kernel:11.5f}   engine {ours:11.5f}   {off:+.5f} %")
        assert ours == pytest.approx(kernel, rel=RELATIVE, abs=1e-6), name
