"""DXF drawings as plan files: generated drawings of which every length is known."""

from __future__ import annotations

import io
import math
import re
from itertools import pairwise

import ezdxf
import numpy as np
import pytest

from takeoff import actions
from takeoff.errors import CalibrationError, SheetError
from takeoff.job.job import JobSettings
from takeoff.model.plan import Calibration
from takeoff.sheet.document import open_page
from takeoff.sheet.embedded import embedded_scale
from takeoff.sheet.files import plan_contents, read_sheets
from takeoff.sheet.scales import METRES_PER_POINT_AT_FULL_SIZE
from takeoff.sheet.text import lines_of_page
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.lines.plan_rooms import read_plan, trace_room
from tests.jobs import DONE, job_on

WIDE, DEEP, WALL = 6.0, 4.0, 0.2
"""Inner size of the room and thickness of its walls in m."""
DOOR = (2.0, 2.9)
"""Its door lies between these in m from the inner left corner, in the lower wall."""
UNITS = {"mm": (4, 0.001, 1), "m": (6, 1.0, 1), "in": (1, 0.0254, 0), "ft": (2, 0.3048, 0)}
"""$INSUNITS, metres, $MEASUREMENT (DXF reference, header section)."""


def saved(document, fmt="asc"):
    if fmt == "bin":
        out = io.BytesIO()
        document.write(out, fmt="bin")
        return out.getvalue()
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode("utf-8")


def drawing(unit="mm", *, at=(0.0, 0.0)):
    """An empty drawing in a unit, and a function that turns metres from ``at`` into its units."""
    code, metres, measurement = UNITS.get(unit, (0, 0.001, 1))
    document = ezdxf.new("R2010", setup=True)
    document.header["$INSUNITS"] = code
    document.header["$MEASUREMENT"] = measurement
    for layer in ("A-WALL", "A-DOOR", "A-ANNO-TEXT"):
        document.layers.add(layer)

    def place(x, y):
        return ((x + at[0]) / metres, (y + at[1]) / metres)

    return document, place


def add_room(document, place):
    """A room with outlined walls, a door with its swing and a name; the lower left inner corner is at (0, 0)."""
    model, t, (d0, d1) = document.modelspace(), WALL, DOOR
    inner = [(d1, 0), (WIDE, 0), (WIDE, DEEP), (0, DEEP), (0, 0), (d0, 0)]
    outer = [(d0, -t), (-t, -t), (-t, DEEP + t), (WIDE + t, DEEP + t), (WIDE + t, -t), (d1, -t)]
    points = [place(*p) for p in [*inner, *outer]]
    for a, b in pairwise([*points, points[0]]):
        model.add_line(a, b, dxfattribs={"layer": "A-WALL"})
    width = place(d1, 0)[0] - place(d0, 0)[0]
    model.add_line(place(d0, 0), place(d0, d1 - d0), dxfattribs={"layer": "A-DOOR"})
    model.add_arc(place(d0, 0), width, 0, 90, dxfattribs={"layer": "A-DOOR"})
    height = place(0.25, 0)[0] - place(0, 0)[0]
    text = model.add_text("STORE 101", height=height, dxfattribs={"layer": "A-ANNO-TEXT"})
    text.dxf.insert = place(2.0, 2.0)
    return document


def taken_in(data):
    pdf, doubts = plan_contents(data, "plan.dxf")
    sheets, more = read_sheets(pdf, "plan.dxf")
    return pdf, sheets, [*doubts, *more]


def lengths_m(linework, scale, layer):
    rows = [i for i, path in enumerate(linework.line_path) if linework.layer_name(path) == layer]
    a = linework.lines[rows]
    return np.hypot((a[:, 2] - a[:, 0]) * scale.mx, (a[:, 3] - a[:, 1]) * scale.my)


@pytest.mark.parametrize("unit", UNITS)
def test_the_scale_of_the_drawing_is_read_exactly(unit):
    pdf, (sheet,), doubts = taken_in(saved(add_room(*drawing(unit))))
    assert doubts == []
    (scale,) = embedded_scale(pdf, sheet)
    usual = 50 if unit in ("mm", "m") else 48
    assert scale.mx == scale.my == pytest.approx(usual * METRES_PER_POINT_AT_FULL_SIZE, rel=1e-7)
    assert scale.stated == {50: "1:50", 48: '1/4" = 1\'-0"'}[usual]
    lines = sorted(lengths_m(read_linework(pdf, sheet), scale, "A-WALL"))
    truth = sorted([0.2, 0.2, 2.2, 3.3, 2.0, 3.1, 4.0, 4.0, 4.4, 4.4, 6.0, 6.4])
    assert lines == pytest.approx(truth, abs=2e-6)  # the PDF engine keeps places in single precision


@pytest.mark.parametrize("unit", UNITS)
def test_the_page_is_drawn_by_the_very_number_that_is_read(unit):
    """The operators of the page itself, in double precision, times the scale that is read: 1e-9 of the truth."""
    document, place = drawing(unit)
    document.modelspace().add_line(place(0, 0), place(12, 0))
    document.modelspace().add_line(place(0, 0), place(0, 9))
    pdf, (sheet,), _ = taken_in(saved(document))
    (scale,) = embedded_scale(pdf, sheet)
    with open_page(pdf, 1) as page:
        content = page.read_contents().decode("ascii")
    lines = [tuple(map(float, found)) for found in re.findall(r"(\S+) (\S+) m (\S+) (\S+) l", content)]
    assert [math.dist(line[:2], line[2:]) * scale.mx for line in lines] == pytest.approx([12.0, 9.0], rel=1e-9)


def test_layers_keep_their_names():
    document, place = drawing("m")
    document.layers.add("Ø-MÅL")
    document.modelspace().add_line(place(0, 0), place(5, 1), dxfattribs={"layer": "Ø-MÅL"})
    pdf, (sheet,), _ = taken_in(saved(add_room(document, place)))
    assert set(read_linework(pdf, sheet).layers) == {"", "A-WALL", "A-DOOR", "Ø-MÅL"}


def test_arcs_stay_arcs_where_they_were_drawn():
    document, place = drawing("mm", at=(1000.0, 5000.0))
    pdf, (sheet,), _ = taken_in(saved(add_room(document, place)))
    linework = read_linework(pdf, sheet)
    (scale,) = embedded_scale(pdf, sheet)
    (arc,) = linework.arcs
    assert linework.layer_name(linework.arc_path[0]) == "A-DOOR"
    assert abs(arc[4]) == pytest.approx(math.tan(math.pi / 8), rel=1e-3)
    chord = math.hypot(arc[2] - arc[0], arc[3] - arc[1]) * scale.mx
    assert chord == pytest.approx(0.9 * math.sqrt(2), abs=1e-5)


def test_a_polyline_with_a_bulge_and_a_circle_are_arcs():
    document, _ = drawing("m")
    model = document.modelspace()
    model.add_lwpolyline([(0, 0, 1.0), (4, 0, 0.0), (8, 0, 0.0)], format="xyb")
    model.add_circle((6, 3), 1.5)
    pdf, (sheet,), _ = taken_in(saved(document))
    (scale,) = embedded_scale(pdf, sheet)
    arcs = read_linework(pdf, sheet).arcs
    radii = [math.hypot(x1 - x0, y1 - y0) * (1 + b * b) / (4 * abs(b)) * scale.mx for x0, y0, x1, y1, b in arcs]
    assert sorted({round(r, 3) for r in radii}) == [1.5, 2.0]


def test_blocks_hatches_and_dimensions_are_taken_apart():
    document, _ = drawing("mm")
    block = document.blocks.new("DOOR")
    block.add_line((0, 0), (900, 0))
    model = document.modelspace()
    model.add_line((0, 0), (8000, 0), dxfattribs={"layer": "A-WALL"})
    model.add_blockref("DOOR", (1000, 1000), dxfattribs={"layer": "A-DOOR", "xscale": 2.0, "rotation": 90})
    hatch = model.add_hatch(color=8, dxfattribs={"layer": "A-WALL"})
    hatch.paths.add_polyline_path([(0, 2000), (3000, 2000), (3000, 2200), (0, 2200)], is_closed=True)
    pattern = model.add_hatch(dxfattribs={"layer": "A-WALL-PATT"})
    pattern.set_pattern_fill("ANSI31", scale=30)
    pattern.paths.add_polyline_path([(0, 3000), (3000, 3000), (3000, 3200), (0, 3200)], is_closed=True)
    dimension = model.add_linear_dim(base=(0, -800), p1=(0, 0), p2=(8000, 0), override={"dimtxt": 200, "dimlfac": 1})
    dimension.render()
    pdf, (sheet,), doubts = taken_in(saved(document))
    linework = read_linework(pdf, sheet)
    (scale,) = embedded_scale(pdf, sheet)
    assert lengths_m(linework, scale, "A-DOOR") == pytest.approx([1.8], abs=1e-5)
    assert len(lengths_m(linework, scale, "A-WALL-PATT")) > 10
    filled = [linework.ring(i) for i in range(len(linework.ring_path)) if len(linework.ring(i)) == 4]
    sides = [np.ptp(ring, axis=0) * scale.mx for ring in filled]
    assert any(side == pytest.approx([3.0, 0.2], abs=1e-5) for side in sides)
    with open_page(pdf, 1) as page:
        assert any("8000" in line.text for line in lines_of_page(page))
    assert doubts == []


def test_texts_are_texts_where_they_were_written():
    document, place = drawing("m")
    add_room(document, place)
    document.modelspace().add_mtext(
        "{\\fAny|b1;SUMP} PIT\\P⌀ 600", dxfattribs={"insert": place(1.0, 3.5), "char_height": 0.2}
    )
    pdf, _, _ = taken_in(saved(document))
    with open_page(pdf, 1) as page:
        lines = {line.text for line in lines_of_page(page)}
    assert {"STORE 101", "SUMP PIT", "Ø 600"} <= lines


def test_a_room_traces_to_its_drawn_size():
    """6 × 4 m with a door 0.9 m wide: perimeter 20 m, corners four."""
    pdf, (sheet,), _ = taken_in(saved(add_room(*drawing("mm"))))
    (scale,) = embedded_scale(pdf, sheet)
    calibration = Calibration(sheet=1, mx=scale.mx, my=scale.my)
    with open_page(pdf, 1) as page:
        lines = lines_of_page(page)
    plan = read_plan(read_linework(pdf, sheet), lines, sheet, calibration)
    room = trace_room(plan, (sheet.width_pt / 2, sheet.height_pt / 2))
    assert room is not None
    assert (room.number, room.name) == ("101", "STORE")
    points = np.array(room.points_pt)
    sides = np.hypot(*(np.roll(points, -1, axis=0) - points).T) * scale.mx
    assert sorted(sides) == pytest.approx([4.0, 4.0, 6.0, 6.0], abs=2e-3)
    assert [opening.width for opening in room.openings] == pytest.approx([0.9], abs=2e-3)


@pytest.mark.parametrize("unit", UNITS)
def test_the_doors_of_a_drawing_that_says_no_unit_tell_it(tmp_path, unit):
    document, place = drawing(unit)
    add_room(document, place)
    for x in (1.0, 3.0, 4.5):
        document.modelspace().add_line(place(x, 2.0), place(x, 2.9))
        document.modelspace().add_arc(place(x, 2.0), place(0.9, 0)[0] - place(0, 0)[0], 0, 90)
    with_unit = taken_in(saved(document))
    document.units = 0
    pdf, (sheet,), doubts = taken_in(saved(document))
    [scale], [true] = embedded_scale(pdf, sheet), embedded_scale(with_unit[0], with_unit[1][0])
    assert (scale.hearsay, scale.mx) == (f"?{unit}", pytest.approx(true.mx, rel=1e-6))
    assert doubts == ["plan.dxf: the drawing does not say its unit: check its scale with a known dimension"]
    with job_on(tmp_path / "a.takeoff", ("plan.dxf", saved(document)), units="metric") as store:
        (read,) = actions.set_scale_read(store, store.job.sheets[1])
        assert not read.open_words


def test_a_unit_that_nobody_said_and_doors_contradict_is_not_taken(tmp_path):
    """A room of 8 × 5 units, which could be metres; its door of 4 units could not."""
    document, _ = drawing("none")
    for a, b in pairwise([(0, 0), (8, 0), (8, 5), (0, 5), (0, 0)]):
        document.modelspace().add_line(a, b)
    document.modelspace().add_line((0, 0), (0, 4))
    document.modelspace().add_arc((0, 0), 4, 0, 90)
    with (
        job_on(tmp_path / "a.takeoff", ("plan.dxf", saved(document)), units="metric") as store,
        pytest.raises(CalibrationError),
    ):
        actions.set_scale_read(store, store.job.sheets[1])


def test_a_drawing_that_says_no_unit_is_taken_for_one_in_which_it_is_as_large_as_a_plan_and_asked(tmp_path):
    with job_on(tmp_path / "a.takeoff", ("plan.dxf", saved(add_room(*drawing("none")))), units="metric") as store:
        (read,) = actions.set_scale_read(store, store.job.sheets[1])
        assert read.open_words[0].startswith("the drawing says no unit, mm is taken, and nothing drawn confirms that")


def test_what_the_library_says_of_an_old_drawing_is_kept_from_people(caplog):
    """A drawing of the release of 1992, which knows no unit."""
    document = ezdxf.new("R12")
    document.modelspace().add_line((0, 0), (8, 5))
    data = saved(document)
    caplog.clear()
    taken_in(data)
    assert caplog.text == ""


def test_a_unit_that_cannot_be_right_is_doubted():
    document, _ = drawing("mm")
    document.modelspace().add_line((0, 0), (12, 0))
    document.modelspace().add_line((0, 0), (0, 8))
    _, _, doubts = taken_in(saved(document))
    assert any("0.012 m across" in doubt for doubt in doubts)


def test_a_layer_that_is_off_or_frozen_is_not_on_the_plan():
    document, place = drawing("m")
    add_room(document, place)
    document.layers.get("A-DOOR").off()
    document.layers.add("A-FURN").freeze()
    document.modelspace().add_line((0, 0), (3, 3), dxfattribs={"layer": "A-FURN"})
    pdf, (sheet,), _ = taken_in(saved(document))
    assert set(read_linework(pdf, sheet).layers) == {"", "A-WALL"}


def test_a_layer_that_is_not_plotted_is_left_out_and_told():
    document, place = drawing("m")
    add_room(document, place)
    for name in ("A-WALL-AID", "Defpoints"):
        layer = document.layers.get(name) if name in document.layers else document.layers.add(name)
        layer.dxf.plot = 0
        document.modelspace().add_line((0, 0), (3, 3), dxfattribs={"layer": name})
    pdf, (sheet,), _ = taken_in(saved(document))
    assert set(read_linework(pdf, sheet).layers) == {"", "A-WALL", "A-DOOR"}
    assert [found.text for found in sheet.findings] == ["layers that show and are not plotted are left out: A-WALL-AID"]


def test_dashed_lines_stay_dashed():
    document, _ = drawing("mm")
    model = document.modelspace()
    model.add_line((0, 0), (9000, 0), dxfattribs={"linetype": "DASHED", "ltscale": 20})
    model.add_line((0, 500), (9000, 500))
    pdf, (sheet,), _ = taken_in(saved(document))
    assert sorted(read_linework(pdf, sheet).dashed) == [False, True]


def test_a_layout_is_a_page_of_its_own_with_the_scale_of_its_view():
    document, place = drawing("mm")
    add_room(document, place)
    layout = document.layout("Layout1")
    layout.page_setup(size=(420, 297), margins=(10, 10, 10, 10), units="mm")
    layout.add_viewport(center=(200, 140), size=(100, 80), view_center_point=(3000, 2000), view_height=8000)
    layout.add_lwpolyline([(10, 10), (410, 10), (410, 287), (10, 287)], close=True)
    pdf, (model, page), doubts = taken_in(saved(document))
    assert doubts == []
    (scale,) = embedded_scale(pdf, page)
    assert scale.mx == pytest.approx(100 * METRES_PER_POINT_AT_FULL_SIZE, rel=1e-6)
    assert max(lengths_m(read_linework(pdf, page), scale, "A-WALL")) == pytest.approx(6.4, abs=1e-4)
    assert model.page == 1


def with_view(document, k=1.0):
    """A layout with a border of 380 × 257 and a view at 1:100, ``k`` of its units to the millimetre."""
    layout = document.layout("Layout1")
    layout.add_viewport(
        center=(200 * k, 140 * k), size=(100 * k, 80 * k), view_center_point=(3000, 2000), view_height=8000
    )
    corners = [(10, 10), (390, 10), (390, 267), (10, 267)]
    layout.add_lwpolyline([(x * k, y * k) for x, y in corners], close=True)
    return layout


@pytest.mark.parametrize(
    ("paper", "units", "size_mm", "words"),
    [
        ((420, 297), "mm", (420, 297), ""),
        ((500, 350), "mm", (500, 350), ""),
        ((17, 11), "inch", (431.8, 279.4), ""),
        ((210, 297), "mm", (420, 297), "holds more than its paper of 210 mm × 297 mm"),
        ((0, 0), "mm", (420, 297), "does not state its paper"),
    ],
)
def test_a_layout_is_as_large_as_its_paper_or_as_what_does_not_fit_it(paper, units, size_mm, words):
    document, place = drawing("mm")
    add_room(document, place)
    layout = with_view(document, 1 / 25.4 if units == "inch" else 1.0)
    view = layout.viewports()[-1]
    layout.dxf.plot_paper_units = 0 if units == "inch" else 1
    k = 25.4 if units == "inch" else 1.0
    layout.dxf.paper_width, layout.dxf.paper_height = (side * k for side in paper)
    assert view.get_scale() == pytest.approx(0.01 / k)
    pdf, (_, page), doubts = taken_in(saved(document))
    assert (page.width_pt / 72 * 25.4, page.height_pt / 72 * 25.4) == pytest.approx(size_mm)
    (scale,) = embedded_scale(pdf, page)
    assert max(lengths_m(read_linework(pdf, page), scale, "A-WALL")) == pytest.approx(6.4, abs=1e-4)
    assert [words in doubt for doubt in doubts] == [True] * bool(words)


@pytest.mark.parametrize("unit", UNITS)
def test_lengths_hold_where_the_model_lies_at_survey_coordinates(unit):
    pdf, (sheet,), doubts = taken_in(saved(add_room(*drawing(unit, at=(1e6, 2e6)))))
    (scale,) = embedded_scale(pdf, sheet)
    found = sorted(lengths_m(read_linework(pdf, sheet), scale, "A-WALL"))
    # doubles hold 2e9 mm to 2.4e-7 mm; the file holds what the points were rounded to
    assert found[-1] == pytest.approx(6.4, abs=1e-5)
    assert sum(found) == pytest.approx(2 * (6 + 4 - 0.45) + 2 * (6.4 + 4.4 - 0.45) + 2 * 0.2, abs=1e-4)
    assert doubts == []


@pytest.mark.parametrize("unit", ["m", "none"])
def test_a_few_things_far_from_the_plan_are_left_out_and_told(unit):
    document, place = drawing(unit, at=(1e6, 2e6))
    add_room(document, place)
    alone = taken_in(saved(document))[1][0]
    document.modelspace().add_line((0, 0), (400, 0))
    _, (sheet,), doubts = taken_in(saved(document))
    assert (sheet.width_pt, sheet.height_pt) == (alone.width_pt, alone.height_pt)
    assert doubts[-1] == "plan.dxf: things that lie far from the plan are left out: 1"


def test_two_halves_of_a_plan_are_not_told_apart():
    document, place = drawing("m")
    add_room(document, place)
    add_room(document, lambda x, y: (x + 5000.0, y))
    pdf, (sheet,), doubts = taken_in(saved(document))
    (scale,) = embedded_scale(pdf, sheet)
    assert len(lengths_m(read_linework(pdf, sheet), scale, "A-WALL")) == 24
    assert len(doubts) == 1
    assert "by its unit (m) the drawing is 5,006 m across" in doubts[0]


def test_a_block_scaled_differently_across_and_up_has_the_lengths_it_shows():
    document, _ = drawing("mm")
    block = document.blocks.new("LEAF")
    for end in ((1000, 0), (0, 1000)):
        block.add_line((0, 0), end, dxfattribs={"layer": "A-DOOR"})
    block.add_arc((0, 0), 1000, 0, 90, dxfattribs={"layer": "A-ARC"})
    document.layers.add("A-ARC")
    document.modelspace().add_blockref("LEAF", (0, 0), dxfattribs={"xscale": 0.9, "yscale": -1.2, "rotation": 30})
    pdf, (sheet,), _ = taken_in(saved(document))
    (scale,) = embedded_scale(pdf, sheet)
    linework = read_linework(pdf, sheet)
    assert sorted(lengths_m(linework, scale, "A-DOOR")) == pytest.approx([0.9, 1.2], abs=1e-5)
    pieces = linework.pieces
    rows = [i for i, path in enumerate(pieces.path) if linework.layer_name(path) == "A-ARC"]
    along = pieces.segments[rows]
    arc = np.hypot(along[:, 2] - along[:, 0], along[:, 3] - along[:, 1]).sum() * scale.mx
    # a quarter of an ellipse: π/4 (3 (a + b) − √((3a + b)(a + 3b))), Ramanujan 1914, from memory
    a, b = 0.9, 1.2
    assert arc == pytest.approx(math.pi / 4 * (3 * (a + b) - math.sqrt((3 * a + b) * (a + 3 * b))), rel=2e-3)


def test_a_view_from_aslant_is_left_out_and_told():
    document, place = drawing("mm")
    add_room(document, place)
    with_view(document).viewports()[-1].dxf.view_direction_vector = (1, 1, 1)
    _, sheets, doubts = taken_in(saved(document))
    assert len(sheets) == 2
    assert doubts == ["plan.dxf: layout Layout1: views that do not look straight down are left out: 1"]


def test_a_unit_that_no_plan_is_drawn_in_gives_no_scale_and_says_so():
    document, place = drawing("mm")
    add_room(document, place)
    document.header["$INSUNITS"] = 11
    pdf, (sheet,), doubts = taken_in(saved(document))
    assert embedded_scale(pdf, sheet) == []
    assert doubts == [
        "plan.dxf: the drawing says a unit that plans are not drawn in (11): check its scale with a known dimension"
    ]


def test_a_binary_drawing_reads_as_the_one_in_text():
    document = add_room(*drawing("mm"))
    assert plan_contents(saved(document, "bin"), "a.dxf")[0] == plan_contents(saved(document), "a.dxf")[0]


def test_the_same_drawing_gives_the_same_bytes():
    document, place = drawing("mm")
    add_room(document, place)
    hatch = document.modelspace().add_hatch()
    hatch.set_pattern_fill("ANSI37", scale=20)
    hatch.paths.add_polyline_path([(0, 0), (900, 0), (900, 900)], is_closed=True)
    data = saved(document)
    assert plan_contents(data, "plan.dxf") == plan_contents(data, "plan.dxf")


def test_a_drawing_of_entities_alone_is_read():
    """The least DXF: no header, tables or blocks (DXF reference: the entities section alone may stand)."""
    data = b"0\nSECTION\n2\nENTITIES\n" + b"0\nLINE\n8\nA-WALL\n10\n0.0\n20\n0.0\n11\n5.0\n21\n3.0\n" * 2
    pdf, (sheet,), doubts = taken_in(data + b"0\nENDSEC\n0\nEOF\n")
    assert read_linework(pdf, sheet).layers == ("", "A-WALL")
    assert any("unit" in doubt for doubt in doubts)


def broken(kind):
    whole = saved(add_room(*drawing("mm")))
    far, _ = drawing("m")
    far.modelspace().add_line((0, 0), (9e7, 0))
    return {
        "truncated": whole[: len(whole) // 2],
        "empty": saved(drawing("mm")[0]),
        "scrambled": b"  0\nSECTION\nrubbish\n\x00\xff" * 50 + b"\n  0\nEOF\n",
        "binary scrambled": b"AutoCAD Binary DXF\r\n\x1a\0" + b"\x07\x99\xff" * 80 + b"EOF\0",
        "far": saved(far),
    }[kind]


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("truncated", "ends early"),
        ("empty", "shows nothing"),
        ("scrambled", "damaged"),
        ("binary scrambled", "damaged"),
        ("far", "90,000 km across"),
    ],
)
def test_what_cannot_be_taken_in_is_refused_in_one_line(kind, words):
    with pytest.raises(SheetError, match=words) as refusal:
        plan_contents(broken(kind), "plan.dxf")
    assert "\n" not in str(refusal.value)
    assert str(refusal.value).startswith("plan.dxf: ")


def test_a_drawing_too_large_is_refused():
    with pytest.raises(SheetError, match="100,000,012 bytes long"):
        plan_contents(b"  0\nSECTION\n" + bytes(100_000_000), "plan.dxf")


@pytest.mark.parametrize(("levels", "grid"), [(9, 1), (1, 30_000)])
def test_blocks_within_blocks_beyond_all_measure_are_refused(levels, grid):
    """Eight blocks of ten of the one before, 10^8 lines were they all drawn; one block in 30,000 rows and columns."""
    document, _ = drawing("mm")
    document.blocks.new("B0").add_line((0, 0), (1, 1))
    for level in range(1, levels):
        block = document.blocks.new(f"B{level}")
        for i in range(10):
            block.add_blockref(f"B{level - 1}", (i * 10**level, 0))
    many = {"row_count": grid, "column_count": grid, "row_spacing": 2, "column_spacing": 2}
    document.modelspace().add_blockref(f"B{levels - 1}", (0, 0), dxfattribs=many)
    with pytest.raises(SheetError, match="more than 5,000,000 objects"):
        plan_contents(saved(document), "plan.dxf")


def test_a_job_takes_a_drawing_in_and_reads_its_scale(tmp_path):
    settings = JobSettings(name="trial", units="metric")
    data = saved(add_room(*drawing("mm")))
    store, doubts = actions.new_job(tmp_path / "a.takeoff", [("plan.dxf", data)], settings, **DONE)
    with store:
        assert doubts == ()
        assert [source.name for source in store.job.sources.values()] == ["plan.dxf"]
        actions.set_scale_read(store, store.job.sheets[1])
        scale = store.job.calibration_of(1)
        assert scale.mx == pytest.approx(50 * METRES_PER_POINT_AT_FULL_SIZE, rel=1e-7)


def test_dimensions_in_feet_and_inches_tell_the_unit_whatever_the_header_says():
    document, _ = drawing("mm")
    document.header["$INSUNITS"] = 4  # millimetres, left over from a template
    model = document.modelspace()
    model.add_lwpolyline([(0, 0), (240, 0), (240, 180), (0, 180)], close=True)  # a room of 20 ft by 15 ft
    for start, end in (((0, 0), (240, 0)), ((0, 0), (96, 0)), ((96, 0), (240, 0))):
        dimension = model.add_linear_dim(
            base=(0, -24), p1=start, p2=end, override={"dimlunit": 4, "dimlfac": 1.0, "dimtxt": 6}
        )
        dimension.render()
    pdf, (sheet,), doubts = taken_in(saved(document))
    assert doubts == [
        "plan.dxf: the drawing says that its unit is mm; its dimensions are written in feet and inches, so the inch is "
        "taken"
    ]
    [scale] = embedded_scale(pdf, sheet)
    [ring] = [r for r in (read_linework(pdf, sheet).lines,) if len(r)]
    longest = float(np.hypot(*(ring[:, 2:] - ring[:, :2]).T).max())
    assert longest * scale.mx == pytest.approx(20 * 0.3048, rel=1e-3)


@pytest.mark.parametrize(
    ("drawn", "said", "with_door", "is_open"),
    [("mm", "mm", True, False), ("mm", "mm", False, True), ("in", "m", False, True), ("in", "mm", True, True)],
)
def test_the_unit_of_a_header_is_an_open_point_unless_doors_or_dimensions_bear_it_out(
    tmp_path, drawn, said, with_door, is_open
):
    document = add_room(*drawing(drawn))
    document.header["$INSUNITS"] = UNITS[said][0]
    if not with_door:
        for entity in document.modelspace().query('*[layer=="A-DOOR"]'):
            document.modelspace().delete_entity(entity)
    with job_on(tmp_path / "a.takeoff", ("plan.dxf", saved(document)), units="metric") as store:
        (scale,) = actions.set_scale_read(store, store.job.sheets[1])
        assert bool(scale.open_words) == is_open


@pytest.mark.parametrize("name", ["教室", "Кухня", "ŁAZIENKA 2"])
def test_a_name_in_letters_that_cannot_be_shown_is_read_all_the_same(name):
    document, place = drawing("m")
    add_room(document, place).modelspace().add_text(name, height=0.25)
    pages = taken_in(saved(document))[0]
    with open_page(pages, 1) as page:
        assert name in [line.text for line in lines_of_page(page)]


def test_what_was_left_out_of_a_drawing_is_kept_with_its_sheet_and_its_missing_unit_is_not():
    document, place = drawing("m")
    add_room(document, place).modelspace().add_text("室", height=0.25)
    _, (sheet,), doubts = taken_in(saved(document))
    assert [found.text for found in sheet.findings] == ["1 letters of texts are shown as a question mark"]
    assert doubts == [f"plan.dxf: {sheet.findings[0].text}"]
    document.units = 0
    _, (sheet,), doubts = taken_in(saved(document))
    assert any(doubt.endswith("check its scale with a known dimension") for doubt in doubts)
    assert [found.about for found in sheet.findings] == ["file"]


def test_an_object_whose_place_is_no_number_is_left_out_and_told():
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 6
    for x in range(3):
        document.modelspace().add_line((x, 0), (x, 3.75 + x))
    out = io.StringIO()
    document.write(out)
    data = out.getvalue().replace("\n4.75\n", "\nnan\n").encode()
    _, doubts = plan_contents(data, "a.dxf")
    assert any("damaged objects are left out: 1" in doubt for doubt in doubts)


def among_entities(data, objects):
    """Put objects of other programs at the head of the drawing's entities."""
    head = data.index(b"ENTITIES") + len(b"ENTITIES\n")
    tags = b"".join(
        b"  0\n%s\n  5\nFF%02X\n100\nAcDbEntity\n  8\nA-WALL\n" % (kind, n) for n, kind in enumerate(objects)
    )
    return data[:head] + tags + data[head:]


def test_objects_of_other_programs_and_solids_without_lines_are_told():
    document = add_room(*drawing("m"))
    document.modelspace().add_3dsolid().sat = ["400 0 1 0", "End-of-ACIS-data"]
    proxy = b"ACAD_PROXY_ENTITY"
    data = among_entities(saved(document), [proxy, b"BUILDING_WALL", proxy])
    # the last one brings a picture of itself, in which nothing is drawn
    data = data.replace(b"FF02\n100\nAcDbEntity\n", b"FF02\n100\nAcDbEntity\n 92\n4\n310\n00000000\n")
    _, (sheet,), doubts = taken_in(data)
    assert "are left out: 4; explode them" in doubts[0]
    assert "are left out: 4; explode them" in sheet.findings[0].text


def test_an_object_that_is_not_whole_is_left_out_and_told():
    document, place = drawing("m")
    spline = add_room(document, place).modelspace().add_spline()
    spline.control_points, spline.knots = [(0, 0, 0), (1, 1, 0)], [0] * 9
    assert "objects that are not whole are left out: 1" in taken_in(saved(document))[2][0]


def test_a_block_that_is_not_in_the_drawing_is_told():
    document, place = drawing("m")
    add_room(document, place).modelspace().add_blockref("WINDOW-3", place(1, 0))
    assert "blocks that are not in it are left out: 1" in taken_in(saved(document))[2][0]


def test_a_drawing_of_an_outer_reference_alone_says_which():
    document, _ = drawing("m")
    document.add_xref_def("walls.dwg", "WALLS")
    document.modelspace().add_blockref("WALLS", (0, 0))
    with pytest.raises(SheetError, match=r"shows nothing; it refers to drawings that are not in it \(WALLS\)"):
        plan_contents(saved(document), "plan.dxf")
