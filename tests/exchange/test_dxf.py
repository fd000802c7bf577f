from __future__ import annotations

import io
import json
import math
from typing import Any

import ezdxf
import pyogrio.raw
import pytest
import shapely

from takeoff import actions
from takeoff.actions.handover import import_dxf
from takeoff.errors import CalibrationError, InputError
from takeoff.geometry.arcs import segment_length
from takeoff.job.store import JobStore
from tests.jobs import job_on

FOOT = 0.3048


def export_dxf(store: JobStore) -> bytes:
    return actions.export_file(store, "walls.dxf")


def _read(data: bytes) -> Any:
    return ezdxf.read(io.StringIO(data.decode("utf-8")))


def _written(document: Any) -> bytes:
    out = io.StringIO()
    document.write(out)
    return out.getvalue().encode()


def _length(polyline: Any) -> float:
    """Length of a polyline by the DXF reference: a bulge is the tangent of a quarter of the included angle."""
    rows = [*polyline.get_points("xyb")]
    pairs = list(zip(rows, rows[1:] + rows[:1], strict=True))[: None if polyline.closed else -1]
    total = 0.0
    for (x0, y0, bulge), (x1, y1, _) in pairs:
        chord = math.dist((x0, y0), (x1, y1))
        angle = 4 * math.atan(abs(bulge))
        total += chord if bulge == 0 else chord * angle / (2 * math.sin(angle / 2))
    return total


def test_the_drawing_is_audited_without_a_fault_and_says_its_unit(sample):
    document = _read(export_dxf(sample))
    audit = document.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    assert document.units == ezdxf.units.FT
    assert document.header["$MEASUREMENT"] == 0


def test_layers_are_named_by_the_national_cad_standard_and_each_system_has_its_own(sample):
    document = _read(export_dxf(sample))
    names = {layer.dxf.name for layer in document.layers} - {"0", "Defpoints"}
    # discipline A, four-letter major and minor groups: US National CAD Standard, AIA CAD Layer Guidelines
    assert {"A-DOOR", "A-GLAZ", "A-ANNO-TEXT", "A-ANNO-SYMB"} <= names
    for name in names:
        discipline, *groups = name.split("-")
        assert discipline == "A"
        assert all(len(group) == 4 and group.isalnum() for group in groups)
    systems = {i.id for i in actions.measure_ready(sample.job, by="system")[0].measurement.items}
    coats = [layer for layer in document.layers if layer.dxf.name.startswith("A-WALL-COAT-")]
    assert {layer.description for layer in coats} == systems
    for kind, layer in (("door", "A-DOOR"), ("window", "A-GLAZ")):
        drawn = document.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]')
        placed = sum(
            o.source.kind == kind for f in actions.measure_ready(sample.job)[0].faces for o in f.elevation.openings
        )
        assert len(drawn) >= placed > 0


def test_every_face_measures_its_true_length_with_true_arcs(sample):
    measured = sorted(f.quantities.length / FOOT for f in actions.measure_ready(sample.job, by="run")[0].faces)
    drawn = [
        e for e in _read(export_dxf(sample)).modelspace().query("LWPOLYLINE") if e.dxf.layer.startswith("A-WALL-COAT")
    ]
    assert sorted(map(_length, drawn)) == pytest.approx(measured, rel=1e-9)
    bulges = [b for e in drawn for (b,) in e.get_points("b") if b]
    assert len(bulges) >= 3  # the bowed wall and the two halves of the round pillar
    heights = {round(e.dxf.thickness, 6) for e in drawn}
    assert 10.0 in heights


def test_a_second_reader_finds_the_lines_on_their_layers(sample, tmp_path):
    path = tmp_path / "runs.dxf"
    path.write_bytes(export_dxf(sample))
    meta, _, shapes, columns = pyogrio.raw.read(path)
    layers = dict(zip(meta["fields"], columns, strict=True))["Layer"]
    lines = [shapely.from_wkb(s) for s, layer in zip(shapes, layers, strict=True) if "COAT" in layer]
    faces = actions.measure_ready(sample.job)[0].faces
    assert len(lines) == len(faces)
    total = sum(f.quantities.length for f in faces) / FOOT
    assert sum(shapely.force_2d(line).length for line in lines) == pytest.approx(total, rel=1e-3)  # arcs as chords


def test_openings_lie_on_their_wall_at_their_sill(sample):
    space = _read(export_dxf(sample)).modelspace()
    widths = sorted(round(_length(e), 6) for e in space.query('LWPOLYLINE[layer=="A-GLAZ"]'))
    windows = sorted(
        round((o.x1 - o.x0) / FOOT, 6)
        for f in actions.measure_ready(sample.job)[0].faces
        for o in f.elevation.openings
        if o.source.kind == "window"
    )
    assert widths == windows
    assert all(e.dxf.elevation > 0 for e in space.query('LWPOLYLINE[layer=="A-GLAZ"]'))


def test_reading_it_back_restores_every_run_and_room(sample, fresh, plan):
    again = fresh(plan)
    taken = import_dxf(again, export_dxf(sample), again.job.sheets[1])
    assert (taken.count, taken.doubts) == (len(sample.job.runs), ())
    assert again.job.runs == sample.job.runs
    assert again.job.rooms == sample.job.rooms


@pytest.mark.parametrize("rotate", [0, 90, 180, 270])
@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_the_drawing_stands_as_the_sheet_is_displayed_and_plain_lines_come_back_where_they_were(
    rotate, units, fresh, put_runs, blank
):
    store = fresh(blank(rotate=rotate), units=units, ratio="1:50")
    run = {"id": "a", "sheet": 1, "points": [[100, 50], [300, 50], [300, 200]], "bulges": [0.0, 0.5], "height": 3.0}
    put_runs(store, run)
    document = _read(export_dxf(store))
    (drawn,) = document.modelspace().query("LWPOLYLINE")
    unit = (FOOT if units == "imperial" else 1.0) / (50 * 0.0254 / 72)  # sheet points per drawing unit
    shown = {0: (100, 550), 90: (550, 700), 180: (700, 50), 270: (50, 100)}[rotate]
    (x, y, _), *_ = drawn.get_points("xyb")
    assert (x * unit, y * unit) == pytest.approx(shown)
    drawn.discard_extension_dict()  # as a program leaves it that knows nothing of the run
    again = fresh(blank(rotate=rotate), units=units, ratio="1:50")
    import_dxf(again, _written(document), again.job.sheets[1], height=3.0)
    (back,) = again.job.runs.values()
    assert [c for p in back.points_pt for c in p] == pytest.approx([100, 50, 300, 50, 300, 200])
    assert back.bulges == pytest.approx((0.0, 0.5))
    first, second = (actions.measure_ready(s.job)[0].measurement.total.quantities for s in (store, again))
    assert second.length == pytest.approx(first.length, rel=1e-9)


def test_a_run_moved_in_a_cad_program_follows_and_says_so(sample, fresh, plan):
    document = _read(export_dxf(sample))
    target = sample.job.runs["107-walls"]
    notes = {_note(e): e for e in document.modelspace().query("LWPOLYLINE")}
    (drawn,) = [e for text, e in notes.items() if json.loads(text)["run"] == target.id and json.loads(text)["entry"]]
    drawn.translate(2.0, 0.0, 0.0)
    again = fresh(plan)
    taken = import_dxf(again, _written(document), again.job.sheets[1])
    assert [d for d in taken.doubts if "107-walls was moved" in d]
    moved = again.job.runs["107-walls"]
    step = 2.0 * FOOT / sample.job.calibrations["1"].mx
    assert moved.points_pt[0] == pytest.approx((target.points_pt[0][0] + step, target.points_pt[0][1]), rel=1e-9)
    assert moved.openings == target.openings


def _note(entity: Any) -> str:
    record = entity.get_extension_dict().get("TAKEOFF_RUN")
    return "".join(tag.value for tag in record.tags if tag.code == 1)


def _foreign(units: int = 6) -> Any:
    document = ezdxf.new("R2000")
    document.units = units
    return document


def _taken(store: JobStore, document: Any, **more: Any) -> dict[str, float]:
    import_dxf(store, _written(document), store.job.sheets[1], height=3.0, **more)
    faces = actions.measure_ready(store.job, by="run")[0].faces
    return {f.elevation.run: f.quantities.length for f in faces}


def test_lines_arcs_circles_and_blocks_of_another_program_come_in_at_their_length(fresh, blank):
    document = _foreign()
    space = document.modelspace()
    on = {"layer": "A-WALL-FULL"}
    space.add_line((1, 1), (4, 5), dxfattribs=on)
    space.add_arc((6, 3), radius=1.0, start_angle=0, end_angle=90, dxfattribs=on)
    space.add_circle((9, 3), radius=0.5, dxfattribs={"layer": "a-wall-pill"})
    block = document.blocks.new("ROOM")
    block.add_lwpolyline([(0, 0), (2, 0), (2, 1)], close=True, dxfattribs=on)
    space.add_blockref("ROOM", (2, 6), dxfattribs={"layer": "0"})
    space.add_line((0, 0), (9, 9), dxfattribs={"layer": "A-FURN"})
    lengths = _taken(fresh(blank(), units="metric", ratio="1:50"), document)
    expected = [5.0, math.pi / 2, math.pi, 3 + math.sqrt(5)]
    assert sorted(lengths.values()) == pytest.approx(sorted(expected), rel=1e-9)


def test_an_arc_seen_from_below_turns_the_other_way(fresh, blank):
    document = _foreign()
    document.modelspace().add_arc(
        (-6, 3), radius=1.0, start_angle=0, end_angle=90, dxfattribs={"layer": "A-WALL", "extrusion": (0, 0, -1)}
    )
    store = fresh(blank(), units="metric", ratio="1:50")
    _taken(store, document)
    (run,) = store.job.runs.values()
    # OCS of extrusion (0, 0, -1): x turns round (DXF reference, arbitrary axis algorithm): centre (6, 3), to the left
    scale = store.job.calibrations["1"]
    metres = [(x * scale.mx, (600 - y) * scale.my) for x, y in run.points_pt]
    assert metres[0] == pytest.approx((5.0, 3.0))
    assert metres[1] == pytest.approx((6.0, 4.0))
    assert run.bulges == pytest.approx((-math.tan(math.pi / 8),))
    assert segment_length(*run.points_pt, run.bulges[0]) * scale.mx == pytest.approx(math.pi / 2)


def test_lines_that_do_not_show_are_left_out_and_told(fresh, blank):
    document = _foreign()
    document.layers.add("A-WALL-DEMO").off()
    document.layers.add("A-WALL-OLD").freeze()
    document.layers.add("A-WALL-AID").dxf.plot = 0
    document.blocks.new("OLD").add_line((1, 4), (9, 4), dxfattribs={"layer": "A-WALL"})
    space = document.modelspace()
    hidden = ({"layer": "A-WALL-DEMO"}, {"layer": "A-WALL-OLD"}, {"layer": "A-WALL-AID"}, {"invisible": 1})
    for y, attributes in enumerate(({}, *hidden), start=1):
        space.add_line((1, y), (4, y), dxfattribs={"layer": "A-WALL", **attributes})
    space.add_blockref("OLD", (0, 1), dxfattribs={"layer": "A-WALL-OLD"})
    store = fresh(blank(), units="metric", ratio="1:50")
    found = import_dxf(store, _written(document), store.job.sheets[1], height=3.0)
    assert found.count == 1
    assert any("off, frozen or not plotted: 4 lines" in doubt for doubt in found.doubts)


def test_lines_that_are_a_slip_of_the_unit_are_told(fresh, blank):
    document = _foreign(4)
    document.modelspace().add_line((1, 1), (13, 1), dxfattribs={"layer": "A-WALL"})  # 12 m drawn in metres
    store = fresh(blank(), units="metric", ratio="1:50")
    found = import_dxf(store, _written(document), store.job.sheets[1], height=3.0)
    assert any("0.012 m across" in doubt for doubt in found.doubts)


@pytest.mark.parametrize(("code", "metres"), [(1, 0.0254), (2, 0.3048), (4, 0.001), (5, 0.01), (6, 1.0)])
def test_the_unit_of_the_drawing_counts(code, metres, fresh, blank):
    document = _foreign(code)
    document.modelspace().add_line((1 / metres, 1 / metres), (4 / metres, 1 / metres), dxfattribs={"layer": "A-WALL"})
    lengths = _taken(fresh(blank(), units="metric", ratio="1:50"), document)
    assert list(lengths.values()) == pytest.approx([3.0])


def test_a_drawing_without_a_unit_is_refused_until_one_is_given(fresh, blank):
    document = _foreign(0)
    document.modelspace().add_line((1000, 1000), (4000, 1000), dxfattribs={"layer": "A-WALL"})
    store = fresh(blank(), units="metric", ratio="1:50")
    with pytest.raises(InputError, match="does not say its unit"):
        _taken(store, document)
    assert list(_taken(store, document, unit=0.001).values()) == pytest.approx([3.0])


def test_what_cannot_be_a_run_is_refused_with_a_remedy(fresh, blank):
    store = fresh(blank(), units="metric", ratio="1:50")
    document = _foreign()
    document.modelspace().add_line((1, 1), (2, 2), dxfattribs={"layer": "S-BEAM"})
    with pytest.raises(InputError, match="S-BEAM"):
        _taken(store, document)
    document.modelspace().add_line((1, 1), (900, 2), dxfattribs={"layer": "A-WALL"})
    with pytest.raises(InputError, match="off the sheet; the lowest and leftmost are at 1,1"):
        _taken(store, document)
    with pytest.raises(InputError, match="no DXF drawing"):
        import_dxf(store, b"%PDF-1.7 not a drawing", store.job.sheets[1])
    assert store.job.runs == {}


def test_lines_at_survey_coordinates_come_in_by_the_origin_that_the_refusal_leads_to(fresh, blank):
    store = fresh(blank(), units="metric", ratio="1:50")
    document = _foreign()
    line = ((523_001.0, 4_182_002.0), (523_004.5, 4_182_002.0))
    document.modelspace().add_line(*line, dxfattribs={"layer": "A-WALL"})
    with pytest.raises(InputError, match=r"523001,4182002 of it.*--origin"):
        _taken(store, document)
    assert list(_taken(store, document, origin=(523_000.0, 4_182_000.0)).values()) == pytest.approx([3.5])


def test_texts_of_the_job_cannot_add_entities(fresh, put_runs, blank):
    text = "x\n  0\nLINE\n  8\nOWNED\r\n%%u^J{\\H5x;"
    store = fresh(blank(), units="metric", ratio="1:50", name=text)
    run = {"id": text, "sheet": 1, "room": text, "points": [[100, 100], [400, 100]], "system": "thin-film"}
    put_runs(store, run, rooms=({"id": text, "name": text, "height": 3.0},))
    data = export_dxf(store)
    document = _read(data)
    assert document.audit().errors == []
    assert {e.dxftype() for e in document.modelspace()} == {"LWPOLYLINE", "TEXT"}
    assert "OWNED" not in {layer.dxf.name for layer in document.layers}
    again = fresh(blank(), units="metric", ratio="1:50")
    import_dxf(again, data, again.job.sheets[1])
    assert again.job.runs == store.job.runs


def test_a_sheet_without_a_scale_takes_no_drawing(sample, tmp_path, blank):

    store = job_on(tmp_path / "bare.takeoff", ("a.pdf", blank()), name="Bare")
    with store, pytest.raises(CalibrationError, match="has no scale"):
        import_dxf(store, export_dxf(sample), store.job.sheets[1])
