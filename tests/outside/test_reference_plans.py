"""Two storeys with known truth, fed to the engine by their true outlines. ``pytest -s`` prints the figures.

The truth is exact geometry of open building models, in metres with y up. It names every opening's wall and size but not
its place along it, which does not change an area: here each stands on a piece of wall that is long enough, beside the
others. Where a room is open to another, the shared part of their outlines has no wall, and the rest is traced as
open runs.
"""

from __future__ import annotations

import json
import os
from itertools import pairwise
from pathlib import Path

import pytest
import shapely

from takeoff.measure.faces import measure_faces
from takeoff.measure.rules import MeasureSettings
from takeoff.measure.totals import sum_quantities
from takeoff.model.plan import Calibration
from takeoff.model.walls import HeightProfile, Opening, Run

RELATIVE = 1e-4  # 0.01 %
GAP = 0.01


@pytest.fixture(params=["house_ground", "duplex_level1"])
def truth(request):
    folder = os.environ.get("TAKEOFF_REFERENCE")
    if not folder:
        pytest.skip("TAKEOFF_REFERENCE names no folder: the plans with known truth are not part of the project")
    path = Path(folder) / "ifc_plans" / f"{request.param}.json"
    if not path.is_file():
        pytest.skip(f"the folder that TAKEOFF_REFERENCE names has no ifc_plans/{request.param}.json")
    return request.param, json.loads(path.read_text())


def sheet(page):
    """Calibration of the plan, and the way from model metres to its sheet points."""
    (a, b, e), (c, d, f) = page["m_to_pt"]
    metres = page["ratio"] * 0.0254 / 72
    scale = Calibration(sheet=1, mx=metres, my=metres, pick=0.02)
    return scale, lambda p: (a * p[0] + b * p[1] + e, c * p[0] + d * p[1] + f)


def walled_lines(room, others):
    """Lines of a room's outline that have a wall behind them; closed ones end where they begin."""
    if room["basis"] == "faces":
        return list(room["faces"]["outline"])
    out = []
    for ring in room["space"]["outline"]:
        wall = shapely.difference(shapely.LineString(ring), shapely.union_all(others))
        merged = shapely.line_merge(wall)
        out.extend([list(part.coords) for part in shapely.get_parts(merged)])
    return out


def faces_left(line, floor):
    """Tell whether the room lies on the left of a line in the plan, y up."""
    (xa, ya), (xb, yb) = line[:2]
    length = ((xb - xa) ** 2 + (yb - ya) ** 2) ** 0.5
    beside = ((xa + xb) / 2 - (yb - ya) / length * 1e-3, (ya + yb) / 2 + (xb - xa) / length * 1e-3)
    return floor.contains(shapely.Point(beside))


def placed(lines, openings):
    """Openings per line: each on the first straight piece that has room for it, widest first."""
    pieces = []
    for i, line in enumerate(lines):
        station = 0.0
        for a, b in pairwise(line):
            length = shapely.Point(a).distance(shapely.Point(b))
            pieces.append([i, station + GAP, length - 2 * GAP])
            station += length
    out = {i: [] for i in range(len(lines))}
    for o in sorted(openings, key=lambda o: -o["width"]):
        piece = next(p for p in sorted(pieces, key=lambda p: p[2]) if p[2] >= o["width"])
        out[piece[0]].append(
            Opening(at=piece[1] + o["width"] / 2, width=o["width"], height=o["height"], sill=max(o["sill"], 0.0))
        )
        piece[1] += o["width"] + GAP
        piece[2] -= o["width"] + GAP
    return out


def room_runs(room, others, to_pt):
    """Trace a room's wall faces."""
    outline = room["faces"]["outline"] if room["basis"] == "faces" else room["space"]["outline"]
    floor = shapely.Polygon(outline[0], outline[1:])
    lines = walled_lines(room, others)
    openings = placed(lines, room["openings"])
    runs = []
    for i, line in enumerate(lines):
        closed = line[0] == line[-1]
        runs.append(
            Run(
                id=f"{room['id']}-{i}",
                sheet=1,
                points_pt=tuple(to_pt(p) for p in (line[:-1] if closed else line)),
                closed=closed,
                face="left" if faces_left(line, floor) else "right",
                height=HeightProfile.constant(room["height"]),
                openings=tuple(openings[i]),
            )
        )
    return runs


def measured(runs, scale):
    faces = measure_faces(runs, {}, {r.id: scale for r in runs}, settings=MeasureSettings())
    return sum_quantities([f.quantities for f in faces])


def others_of(room, rooms):
    return [
        shapely.LineString(ring) for other in rooms if other["id"] != room["id"] for ring in other["space"]["outline"]
    ]


def test_rooms_traced_by_their_true_outlines_have_their_true_net_areas(truth):
    name, known = truth
    scale, to_pt = sheet(known["page"])
    net = true_net = 0.0
    print(f"\n{name}")
    for room in known["rooms"]:
        found = measured(room_runs(room, others_of(room, known["rooms"]), to_pt), scale)
        assert found.length == pytest.approx(room["wall_face_length"], rel=RELATIVE, abs=1e-4)
        assert found.base_length == pytest.approx(room["base_length"] + raised(room), rel=RELATIVE, abs=1e-4)
        assert (found.inside_corners, found.outside_corners) == (room["inside_corners"], room["outside_corners"])
        if not room["flat_ceiling"]:
            # The truth gives such a room's gross area but no line of its ceiling, so only lengths can be compared.
            print(f"  {room['long_name']:14} base {found.base_length:9.4f} (sloped ceiling: no area compared)")
            continue
        off = (found.net_area / room["net_wall_area"] - 1) * 100
        print(f"  {room['long_name']:14} net {found.net_area:9.4f}  truth {room['net_wall_area']:9.4f}  {off:+.5f} %")
        assert found.net_area == pytest.approx(room["net_wall_area"], rel=RELATIVE)
        net, true_net = net + found.net_area, true_net + room["net_wall_area"]
    print(f"  {'together':14} net {net:9.4f}  truth {true_net:9.4f}  {(net / true_net - 1) * 100:+.5f} %")
    assert net == pytest.approx(true_net, rel=RELATIVE)


def raised(room):
    """Base that openings with a sill under 50 mm, which the truth takes off the base, leave to the engine's."""
    return sum(o["width"] for o in room["openings"] if 0.0 < o["sill"] < 0.05)


def test_wall_bounded_regions_have_their_true_net_areas(truth):
    name, known = truth
    scale, to_pt = sheet(known["page"])
    closed = [r for r in known["rooms"] if r["basis"] == "faces"] + [
        {**region, "id": f"region {i}"} for i, region in enumerate(known["regions"])
    ]
    net = 0.0
    for room in closed:
        found = measured(room_runs(room, [], to_pt), scale)
        assert found.net_area == pytest.approx(room["net_wall_area"], rel=RELATIVE)
        assert found.base_length == pytest.approx(room["base_length"] + raised(room), rel=RELATIVE)
        assert (found.inside_corners, found.outside_corners) == (room["inside_corners"], room["outside_corners"])
        net += found.net_area
    print(f"\n{name}: {len(closed)} closed regions, net {net:.4f} m2")
    if known["regions"]:  # every room of the storey lies in one of them
        assert net == pytest.approx(known["total"]["net_wall_area"], rel=RELATIVE)
