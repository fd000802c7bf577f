from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.exchange.catalogue_file import default_catalogue
from takeoff.model.figures import Elevation
from takeoff.report.content import ReportContent, SheetPicture, Shown
from takeoff.report.drawing import DASHES, PALETTE, elevation_svg, marked_plan_svg, style_of
from takeoff.report.elevation_rows import arrange, break_points, common_scale
from takeoff.report.plan_names import place_rooms, rooms_by_system

SVG = "{http://www.w3.org/2000/svg}"


def plan_of(content: Shown, picture: SheetPicture) -> str:
    rooms = place_rooms(picture, rooms_by_system(content), content.display)
    return marked_plan_svg(content, picture, rooms)


def test_a_marked_plan_is_well_formed_and_has_one_line_for_each_face(content):
    for picture in content.pictures:
        root = ElementTree.fromstring(plan_of(content, picture))
        assert root.tag == f"{SVG}svg"
        assert len(root.findall(f"{SVG}polyline")) == len(picture.marks)
        texts = [t.text for t in root.findall(f"{SVG}text")]
        assert len([t for t in texts if t in ("I", "O")]) == sum(len(m.corners) for m in picture.marks)
        runs = {mark.label.rpartition(":")[0] for mark in picture.marks}
        assert runs <= set(texts)
        assert {item.label for item in content.by_room.items} <= set(texts)


def test_an_elevation_is_well_formed_and_drawn_to_one_scale_in_both_directions(content):
    for elevation in content.elevations:
        root = ElementTree.fromstring(elevation_svg(elevation, content.display))
        filled = [p for p in root.findall(f"{SVG}path") if p.get("fill") == "#DCEBF5"]
        xs, ys = [], []
        for path in filled:
            for x, y in re.findall(r"([\d.]+) ([\d.]+)", path.get("d", "")):
                xs.append(float(x))
                ys.append(float(y))
        x0, y0, x1, y1 = elevation.net.bounds
        assert (max(xs) - min(xs)) / (max(ys) - min(ys)) == pytest.approx(
            (x1 - x0) / (y1 - y0), rel=0.01
        )  # 1/100 point


def test_texts_of_the_job_cannot_become_markup(hostile):
    for svg in (
        *(plan_of(hostile, p) for p in hostile.pictures),
        *(elevation_svg(e, hostile.display) for e in hostile.elevations),
    ):
        root = ElementTree.fromstring(svg)
        tags = {e.tag.removeprefix(SVG) for e in root.iter()}
        assert tags <= {"svg", "polyline", "path", "circle", "rect", "text"}
        assert not any(name.lower().startswith("on") for e in root.iter() for name in e.attrib)


def test_the_first_systems_differ_in_colour_and_in_dash():
    names = [f"system {i}" for i in range(len(PALETTE))]
    styles = [style_of(name, names) for name in names]
    assert len({colour for colour, _ in styles}) == len({dash for _, dash in styles}) == len(PALETTE) == len(DASHES)


def test_systems_of_a_sheet_come_once_and_in_catalogue_order(content):
    catalogue = [system.id for system in default_catalogue().systems]
    for picture in content.pictures:
        systems = content.systems_on(picture)
        assert systems == [id for id in catalogue if id in {m.system for m in picture.marks}]


def test_a_system_has_one_colour_on_every_sheet(content):
    (picture,) = content.pictures
    last = content.system_order[2]
    alone = replace(picture, marks=tuple(m for m in picture.marks if m.system == last))
    colour, _ = style_of(last, content.system_order)
    assert colour != PALETTE[0]
    lines = ElementTree.fromstring(plan_of(content, alone)).findall(f"{SVG}polyline")
    assert {line.get("stroke") for line in lines} == {colour}


def _widths(svg: str) -> list[float]:
    """Breadths of the filled parts of an elevation, in points."""
    out = []
    for path in ElementTree.fromstring(svg).findall(f"{SVG}path"):
        if path.get("fill") == "#DCEBF5":
            xs = [float(x) for x, _ in re.findall(r"([\d.]+) ([\d.]+)", path.get("d", ""))]
            out.append(max(xs) - min(xs))
    return out


def _sheets(content: ReportContent):
    return arrange(content, width=724.0, height=214.0)


def test_all_elevations_of_a_report_are_drawn_to_the_one_scale_that_is_stated(content):
    sheets = _sheets(content)
    assert sheets.scale.words == '3/32" = 1\'-0"'
    for room in sheets.rooms:
        for cell in (cell for row in room.rows for cell in row):
            net = content.elevations[cell.index].net
            part = shapely.intersection(net, shapely.box(cell.span[0], -1, cell.span[1], 99))
            for drawn, shape in zip(_widths(cell.picture), shapely.get_parts(part), strict=True):
                # 3/32 in are 6.75 points, a foot 0.3048 m
                assert drawn == pytest.approx((shape.bounds[2] - shape.bounds[0]) / 0.3048 * 6.75, abs=0.02)


def test_every_face_is_shown_whole_in_its_room_and_no_row_is_wider_than_the_paper(content):
    sheets = _sheets(content)
    labels = {item.id: item.label for item in content.by_room.items}
    shown: dict[int, list[tuple[float, float]]] = {}
    for room in sheets.rooms:
        for row in room.rows:
            assert sum(cell.width for cell in row) + 10.0 * (len(row) - 1) <= 724.0 + 1e-6
            for cell in row:
                assert labels[content.elevations[cell.index].room or ""] == room.title
                shown.setdefault(cell.index, []).append(cell.span)
    assert shown.keys() == set(range(len(content.elevations)))
    for index, spans in shown.items():
        assert [a for a, _ in spans] == [0.0, *(b for _, b in spans[:-1])]
        assert spans[-1][1] == content.elevations[index].length
    assert any(len(row) > 1 for room in sheets.rooms for row in room.rows)


def test_what_is_written_on_elevations_can_be_read_on_paper(content):
    for room in _sheets(content).rooms:
        for cell in (cell for row in room.rows for cell in row):
            root = ElementTree.fromstring(cell.picture)
            sizes = [float(e.get("font-size", "6.5")) for e in root.iter() if "font-size" in e.attrib]
            assert sizes
            assert min(sizes) >= 6.0  # points, as the picture is printed at its own size
            assert root.get("width") == f"{float(root.get('viewBox', '').split()[2]):.2f}pt"


def test_sizes_of_every_opening_stand_beside_its_elevation(content):
    notes = [cell for room in _sheets(content).rooms for row in room.rows for cell in row]
    for index, elevation in enumerate(content.elevations):
        text = "; ".join(cell.openings for cell in notes if cell.index == index)
        for o in elevation.openings:
            size = f"{content.display.length(o.x1 - o.x0)} × {content.display.length(o.z1 - o.z0)}"
            walls = content.walls.walls[elevation.key]
            wall = content.walls.at(elevation.key, o.x0)
            inside = f" in wall {wall.number}" if len(walls) > 1 else ""
            at = content.display.length(o.x0 - wall.start)
            assert f"{o.source.mark} {size}{inside} at {at}" in text


def test_cut_ends_say_their_station_on_both_parts(content):
    long = max(content.elevations, key=lambda e: e.length)
    for span in ((0.0, 10.0), (10.0, 20.0)):
        texts = [
            e.text for e in ElementTree.fromstring(elevation_svg(long, content.display, scale=30.0, span=span)).iter()
        ]
        assert f"at {content.display.length(10.0)}" in texts


def test_a_smaller_scale_is_taken_for_walls_that_would_not_fit(content):
    def scale(length: float, height: float, system: str = "imperial") -> str:
        e = replace(content.elevations[0], length=length, profile=((0.0, height), (length, height)))
        return common_scale([e], width=700.0, height=200.0, system=system).words

    assert scale(10.0, 2.5, "metric") == "1:50"  # 2.5 m are 50 mm, 142 points
    assert scale(90.0, 3.0, "metric") == "1:200"
    assert scale(10.0, 12.0, "metric") == "1:500"
    assert scale(1e5, 3.0) == '1/32" = 1\'-0"'


@settings(deadline=None, max_examples=60)
@given(longest=st.floats(2.0, 40.0), face=st.integers(0, 10))
def test_parts_of_a_broken_face_are_never_longer_than_the_row_nor_slivers(content, longest, face):
    elevation: Elevation = content.elevations[face % len(content.elevations)]
    cuts = break_points(elevation, longest)
    assert (cuts[0], cuts[-1]) == (0.0, elevation.length)
    for a, b in pairwise(cuts[:-1]):
        assert 0.3 * longest <= b - a <= longest + 1e-6
    assert cuts[-1] - cuts[-2] <= longest + 1e-6
