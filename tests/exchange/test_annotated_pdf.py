from __future__ import annotations

import io
import math
import unicodedata
from itertools import pairwise
from typing import Any

import numpy as np
import pikepdf
import pypdf
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff import actions
from takeoff.actions.handover import import_annotated_pdf
from takeoff.errors import InputError, ReportError
from takeoff.exchange.edits_file import entry_text, read_entry, room_entry, run_entry
from takeoff.job.store import JobStore
from takeoff.measure.totals import wall_labels
from takeoff.model.walls import Cove, HeightProfile, Opening, Room, Run
from takeoff.sheet.embedded import embedded_scale


def export_annotated_pdf(store: JobStore, *, flattened: bool = False) -> bytes:
    return actions.export_file(store, "walls.pdf", flattened=flattened)


def _open(data: bytes) -> pikepdf.Pdf:
    return pikepdf.open(io.BytesIO(data))


def _runs_of(document: pikepdf.Pdf) -> dict[str, Any]:
    prefix = "takeoff/run/"
    found = [a for page in document.pages for a in page.get("/Annots", []) if str(a.get("/NM", "")).startswith(prefix)]
    return {str(a.NM).removeprefix(prefix): a for a in found}


def _vertices(annotation: Any) -> list[tuple[float, float]]:
    values = [float(v) for v in (annotation.get("/Vertices") or annotation.get("/L"))]
    points = list(zip(values[::2], values[1::2], strict=True))
    return [*points, points[0]] if annotation.Subtype == "/Polygon" else points


def _saved(document: pikepdf.Pdf) -> bytes:
    out = io.BytesIO()
    document.save(out)
    return out.getvalue()


def _picture(data: bytes, *, annotations: bool = True) -> np.ndarray:
    document = pypdfium2.PdfDocument(data)
    try:
        return document[0].render(scale=0.5, draw_annots=annotations, rev_byteorder=True).to_numpy().copy()
    finally:
        document.close()


def test_the_page_beneath_keeps_every_byte_of_its_drawing_and_its_boxes(sample, plan):
    with _open(plan) as before, _open(export_annotated_pdf(sample)) as after:
        assert after.check_pdf_syntax() == []
        assert len(after.pages) == len(before.pages)
        for old, new in zip(before.pages, after.pages, strict=True):
            assert _contents(old) == _contents(new)
            for key in ("/MediaBox", "/CropBox", "/Rotate", "/UserUnit"):
                assert str(old.get(key)) == str(new.get(key))
        layers = {str(g.Name) for g in before.Root.OCProperties.OCGs}
        assert layers < {str(g.Name) for g in after.Root.OCProperties.OCGs}


def _contents(page: Any) -> bytes:
    whole = page.Contents
    return b"".join(s.read_bytes() for s in (whole if isinstance(whole, pikepdf.Array) else [whole]))


def test_another_reader_lists_every_run_as_a_measured_annotation_whose_measure_gives_its_length(sample):
    feet = {f.elevation.run: f.quantities.length / 0.3048 for f in actions.measure_ready(sample.job, by="run")[0].faces}
    with _open(export_annotated_pdf(sample)) as document:
        found = _runs_of(document)
        assert set(found) == set(sample.job.runs)
        for id, a in found.items():
            run = sample.job.runs[id]
            assert str(a.Subtype) in {"/Line", "/PolyLine", "/Polygon"}
            assert str(a["/T"]) == "test"
            assert f"({id})" in str(a.Contents)
            assert a.Measure.Subtype == "/RL"
            assert a.Measure.X[0].U == "ft"
            per_unit = float(a.Measure.X[0].C) * float(a.Measure.D[0].C)
            points = _vertices(a)
            length = sum(math.dist(p, q) for p, q in pairwise(points)) * per_unit
            if run.line == "face":  # chords of an arc are a little shorter than the arc
                assert length == pytest.approx(feet[id], rel=2e-4 if any(run.bulges) else 1e-6)


def test_names_are_unique_and_openings_say_what_they_are(sample):
    with _open(export_annotated_pdf(sample)) as document:
        annotations = list(document.pages[0].Annots)
        names = [str(a.NM) for a in annotations]
        assert len(set(names)) == len(names)
        doors = [a for a in annotations if str(a.NM).startswith("takeoff/opening/101-walls/")]
        assert len(doors) == len(sample.job.runs["101-walls"].openings)
        (first,) = [a for a in doors if "104A" in str(a.Subj)]
        assert str(first.Contents) == "door 104A on Wall of 101 Corridor (101-walls): 6'-0\" × 7'-0\", sill 0'-0\""
        (start, end) = _vertices(first)
        assert math.dist(start, end) * float(first.Measure.X[0].C) == pytest.approx(6.0, rel=1e-6)


def test_systems_are_layers_rooms_are_bookmarks_and_the_title_is_the_job(sample):
    with _open(export_annotated_pdf(sample)) as document:
        layers = {str(g.Name) for g in document.Root.OCProperties.OCGs}
        measured = actions.measure_ready(sample.job, by="system")[0]
        assert {f"System: {i.id}" for i in measured.measurement.items} <= layers
        assert "Revision: A" in layers  # as the title block has it
        assert all("/OC" in a for a in _runs_of(document).values())
        with document.open_outline() as outline:
            (rooms,) = [item for item in outline.root if item.title == "Rooms"]
            assert [item.title for item in rooms.children] == [
                i.label for i in actions.measure_ready(sample.job, by="room")[0].measurement.items
            ]
            names = wall_labels(sample.job.runs.values(), sample.job.rooms)
            assert {run.title for room in rooms.children for run in room.children} == {
                f"W{names[i.id][1:]}: net {i.quantities.net_area / 0.3048**2:,.1f} sf"
                for i in actions.measure_ready(sample.job, by="run")[0].measurement.items
            }
        assert str(document.docinfo["/Title"]) == "Sample"
        assert str(document.docinfo["/Author"]) == "test"


def test_reading_it_back_restores_every_run_and_room_to_the_last_digit(sample, fresh, plan):
    again = fresh(plan)
    taken = import_annotated_pdf(again, export_annotated_pdf(sample))
    assert taken.count == len(sample.job.runs)
    assert taken.doubts == ()
    assert again.job.runs == sample.job.runs
    assert again.job.rooms == sample.job.rooms
    assert actions.measure_ready(again.job)[0].measurement == actions.measure_ready(sample.job)[0].measurement


def test_a_job_can_start_from_the_marked_pdf_itself_and_reads_its_scale(sample, fresh):
    marked = export_annotated_pdf(sample)
    again = fresh(marked)
    (found,) = [s for s in embedded_scale(marked, again.job.sheets[1]) if s.name == "A-101"]
    scale = sample.job.calibrations["1"]
    assert (found.mx, found.my) == (pytest.approx(scale.mx, rel=1e-6), pytest.approx(scale.my, rel=1e-6))
    import_annotated_pdf(again, marked)
    assert again.job.runs == sample.job.runs


@pytest.mark.parametrize("rotate", [0, 90, 180, 270])
@pytest.mark.parametrize(("crop", "unit"), [(None, 1.0), ((100, 50, 700, 500), 1.0), ((100, 50, 700, 500), 2.0)])
def test_marks_lie_on_the_wall_on_pages_that_are_turned_cropped_or_scaled(rotate, crop, unit, fresh, put_runs, blank):
    store = fresh(blank(rotate=rotate, crop=crop, user_unit=unit), units="metric", ratio="1:50")
    line = [[20.0, 30.0], [220.0, 30.0], [220.0, 180.0]]
    put_runs(store, {"id": "a", "sheet": 1, "points": line, "height": 3.0})
    marked = export_annotated_pdf(store)
    with _open(marked) as document:
        a = _runs_of(document)["a"]
        # ISO 32000-2 §8.3.2.3: user space starts at the lower left of the media box, y up, one UserUnit per unit
        left, _, _, top = crop or (0, 0, 800, 600)
        assert _vertices(a) == [pytest.approx((left + x / unit, top - y / unit), abs=1e-4) for x, y in line]
        metres = sum(math.dist(p, q) for p, q in pairwise(_vertices(a)))
        assert metres * float(a.Measure.X[0].C) == pytest.approx(350 * 50 * 0.0254 / 72, rel=1e-6)
    again = fresh(marked)
    import_annotated_pdf(again, marked)
    assert again.job.runs == store.job.runs


def test_a_run_that_was_moved_in_another_viewer_follows_and_says_so(sample, fresh, plan):
    with _open(export_annotated_pdf(sample)) as document:
        a = _runs_of(document)["107-walls"]
        values = [float(v) for v in a.Vertices]
        a.Vertices = pikepdf.Array([values[0] - 18.0, *values[1:]])
        moved = _saved(document)
    again = fresh(plan)
    taken = import_annotated_pdf(again, moved)
    (doubt,) = taken.doubts
    assert "107-walls was moved" in doubt
    before, after = sample.job.runs["107-walls"], again.job.runs["107-walls"]
    assert after.points_pt[0][0] == pytest.approx(before.points_pt[0][0] - 18.0, abs=1e-3)
    assert after.openings == before.openings
    assert {k: v for k, v in again.job.runs.items() if k != "107-walls"} == {
        k: v for k, v in sample.job.runs.items() if k != "107-walls"
    }


def test_a_copy_made_in_another_viewer_becomes_a_run_of_its_own(fresh, put_runs, blank):
    store = fresh(blank(), units="metric", ratio="1:50")
    put_runs(store, {"id": "a", "sheet": 1, "points": [[100, 100], [300, 100]], "height": 3.0})
    with _open(export_annotated_pdf(store)) as document:
        (a,) = document.pages[0].Annots
        copy = document.make_indirect(pikepdf.Dictionary(a))
        copy.L = pikepdf.Array([float(v) + d for v, d in zip(a.L, (0, -50, 0, -50), strict=True)])
        document.pages[0].Annots.append(copy)
        copied = _saved(document)
    again = fresh(blank(), units="metric", ratio="1:50")
    import_annotated_pdf(again, copied)
    assert set(again.job.runs) == {"a", "a-2"}
    assert again.job.runs["a-2"].points_pt[0] == pytest.approx((100, 150), abs=1e-3)


def _foreign(scale: float, *, kind: str = "/PolyLine", **more: Any) -> bytes:
    """A page with a measured annotation as ISO 32000-2 §12.9 has it, of a program that knows nothing of this one."""

    def form(factor: float, label: str) -> pikepdf.Array:
        return pikepdf.Array([pikepdf.Dictionary(Type=pikepdf.Name.NumberFormat, U=label, C=factor)])

    with pikepdf.new() as document:
        document.add_blank_page(page_size=(800, 600))
        measure = pikepdf.Dictionary(
            Type=pikepdf.Name.Measure,
            Subtype=pikepdf.Name.RL,
            R="1:50",
            X=form(scale, "m"),
            D=form(1.0, "m"),
            A=form(1.0, "sq m"),
        )
        a = pikepdf.Dictionary(
            Type=pikepdf.Name.Annot,
            Subtype=pikepdf.Name(kind),
            Rect=pikepdf.Array([90, 390, 310, 510]),
            Vertices=pikepdf.Array([100, 500, 300, 500, 300, 400]),
            Measure=measure,
            **more,
        )
        document.pages[0].Annots = pikepdf.Array([a])
        return _saved(document)


@pytest.mark.parametrize(("kind", "is_closed"), [("/PolyLine", False), ("/Polygon", True)])
def test_what_another_program_measured_comes_in_as_a_run(kind, is_closed, fresh):
    data = _foreign(50 * 0.0254 / 72, kind=kind, Subj="Process walls")
    store = fresh(data, units="metric", ratio="1:50")
    taken = import_annotated_pdf(store, data, height=3.0)
    (run,) = store.job.runs.values()
    assert (run.id, run.closed) == ("Process walls", is_closed)
    assert [tuple(map(round, p)) for p in run.points_pt] == [(100, 100), (300, 100), (300, 200)]
    perimeter = 300 + (math.hypot(200, 100) if is_closed else 0)
    total = actions.measure_ready(store.job)[0].measurement.total.quantities
    assert total.length == pytest.approx(perimeter * 50 * 0.0254 / 72, rel=1e-6)
    assert any("check their coated side" in d for d in taken.doubts)


def test_a_measurement_at_another_scale_than_the_sheet_is_doubted(fresh):
    data = _foreign(100 * 0.0254 / 72)
    store = fresh(data, units="metric", ratio="1:50")
    taken = import_annotated_pdf(store, data, height=3.0)
    assert any("1:100" in d and "1:50" in d for d in taken.doubts)


@pytest.mark.parametrize("flag", [2, 32])  # hidden, no view
def test_a_measurement_that_does_not_show_does_not_come_in(flag, fresh):
    data = _foreign(50 * 0.0254 / 72, F=flag)
    with pytest.raises(InputError, match="no page has a measured line"):
        import_annotated_pdf(fresh(data, units="metric", ratio="1:50"), data, height=3.0)


def test_a_line_without_a_measure_is_no_measurement(fresh):
    with _open(_foreign(1.0)) as document:
        del document.pages[0].Annots[0]["/Measure"]
        data = _saved(document)
    store = fresh(data, units="metric")
    with pytest.raises(InputError, match="no page has a measured"):
        import_annotated_pdf(store, data)


def test_annotations_that_were_there_stay(fresh, put_runs):
    data = _foreign(1.0, Contents="from the architect")
    store = fresh(data, units="metric", ratio="1:50")
    put_runs(store, {"id": "a", "sheet": 1, "points": [[100, 100], [300, 100]], "height": 3.0})
    with _open(export_annotated_pdf(store)) as document:
        first, second = document.pages[0].Annots
        assert str(first.Contents) == "from the architect"
        assert str(second.NM) == "takeoff/run/a"


def test_a_second_engine_draws_the_marks_and_the_flattened_copy_looks_the_same(sample, plan):
    marked, flat = export_annotated_pdf(sample), export_annotated_pdf(sample, flattened=True)
    shown = _picture(marked)
    assert np.array_equal(_picture(marked, annotations=False), _picture(plan))
    assert (shown != _picture(plan)).any(axis=2).sum() > 5_000
    # edges may be smoothed otherwise; names, areas and the legend cover little
    differs = np.abs(shown.astype(int) - _picture(flat, annotations=False)).max(axis=2) >= 40
    assert 0.0 < differs.mean() < 0.02
    # a point in the middle of a wall of the thin-film system, drawn solid in the first colour of the palette
    with _open(marked) as document:
        red, green, blue = (round(float(c) * 255) for c in _runs_of(document)["107-walls"].C)
    (x0, y0), (x1, y1) = sample.job.runs["107-walls"].points_pt[1:3]
    pixel = shown[round((y0 + (y1 - y0) * 0.4) / 2), round((x0 + x1) / 4)]
    assert np.abs(pixel[:3].astype(int) - (red, green, blue)).max() < 40
    with _open(flat) as document:
        assert len(document.pages[0].get("/Annots", [])) == 0


def test_a_flat_copy_names_each_room_with_its_net_area_and_has_a_legend_of_systems(sample):
    flat = pypdf.PdfReader(io.BytesIO(export_annotated_pdf(sample, flattened=True)))
    said = " ".join(unicodedata.normalize("NFKC", flat.pages[0].extract_text()).split())
    measured = actions.measure_ready(sample.job)[0]
    display = sample.job.settings.display
    assert len(measured.measurement.items) > 5
    for item in measured.measurement.items:
        assert f"{item.label} {display.area(item.quantities.net_area)}" in said
    names = {system.id: system.name for system in actions.catalogue_of(sample.job).systems}
    for system in {face.elevation.system for face in measured.faces}:
        net = sum(f.quantities.net_area for f in measured.faces if f.elevation.system == system)
        assert f"{names[system]}: {display.area(net)}" in said


def test_texts_of_the_job_stay_texts(fresh, put_runs, blank):
    text = ") >> /OpenAction << /S /JavaScript /JS (app.alert(1)) >> \\( ünïcode 墙 \n"
    store = fresh(blank(), units="metric", ratio="1:50", name=text)
    door = {"at": 2.0, "width": 0.9, "height": 2.1, "mark": text}
    points = [[100, 100], [400, 100]]
    put_runs(
        store,
        {"id": text, "sheet": 1, "room": text, "points": points, "openings": [door]},
        rooms=({"id": text, "name": text, "height": 3.0},),
    )
    with _open(export_annotated_pdf(store)) as document:
        assert document.check_pdf_syntax() == []
        assert "/OpenAction" not in document.Root
        run, opening = document.pages[0].Annots
        assert str(run.NM) == f"takeoff/run/{text}"
        assert text in str(opening.Contents)
        for a in (run, opening):
            assert not {"/A", "/AA"} & set(a.keys())
        assert str(document.docinfo["/Title"]).strip() == text.strip()


def test_a_job_without_runs_is_refused(fresh, blank):
    with pytest.raises(ReportError, match="no wall"):
        export_annotated_pdf(fresh(blank()))


def test_a_file_of_other_pages_is_refused(sample, blank):
    with pytest.raises(InputError, match="1 pages and the job has 3 sheets"):
        import_annotated_pdf(sample, blank())


def test_pages_of_another_size_are_refused(fresh, blank):
    with pytest.raises(InputError, match="800 × 600"):
        import_annotated_pdf(fresh(blank(crop=(0, 0, 400, 300))), blank())


_numbers = st.floats(0.01, 50.0)
_names = st.text(st.characters(codec="utf-8"), min_size=1, max_size=12)


@st.composite
def _runs(draw: st.DrawFn) -> Run:
    xs = draw(st.lists(st.floats(0.0, 2000.0), min_size=3, max_size=6, unique=True))
    thin = st.floats(0.0, 0.01)
    cove = st.builds(Cove, height=st.just(0.1), toe=st.floats(0.01, 2.0), radius=thin, thickness=thin)
    is_bare = draw(st.booleans())
    opening = st.builds(
        Opening, at=_numbers, width=_numbers, height=_numbers, sill=_numbers, count=st.integers(1, 9),
        spacing=st.none() | _numbers, kind=st.sampled_from(("door", "louvre")), mark=_names,
        coated=st.sampled_from(((), ("jamb", "head"))),
    )  # fmt: skip
    return Run(
        id=draw(_names),
        sheet=1,
        room=draw(st.none() | _names),
        points_pt=tuple((x, draw(st.floats(0.0, 2000.0))) for x in xs),
        bulges=tuple(draw(st.floats(-2.0, 2.0)) for _ in xs[1:]) if draw(st.booleans()) else (),
        face=draw(st.sampled_from(("left", "right", "both"))),
        thickness=draw(st.floats(0.05, 0.4)),
        height=draw(st.none() | st.builds(lambda a, b: HeightProfile(points=((0.0, a), (1.0, b))), _numbers, _numbers)),
        system=draw(st.none() | _names),
        cove=None if is_bare else draw(st.none() | cove),
        no_cove=is_bare,
        top=draw(st.sampled_from(("ceiling", "exposed"))),
        ends=draw(st.sampled_from((("free", "abut"), ("return", "free")))),
        openings=tuple(draw(st.lists(opening, max_size=2))),
    )


@settings(deadline=None, max_examples=60)
@given(run=_runs(), name=_names)
def test_a_run_written_as_text_reads_back_as_the_same_entry(run, name):
    room = Room(id=name, name=name, height=HeightProfile.constant(3.0))
    assert read_entry(entry_text(run, room)) == (run_entry(run), room_entry(room))
