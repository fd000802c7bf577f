"""Reports as they are asked for and written."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from takeoff import actions
from takeoff.actions.reports import mark_of, report_content
from takeoff.errors import ReportError
from takeoff.measure.faces import measure_faces
from takeoff.measure.rules import MeasureSettings
from takeoff.model.plan import Calibration, Sheet
from takeoff.model.walls import HeightProfile, Opening, Run
from takeoff.report.kinds import KINDS, ReportKind, ReportOrder, kinds_named

AT = "2026-03-02T08:00:00+00:00"


def broken(kind: ReportKind) -> ReportKind:
    def refuse(shown: object) -> dict[str, bytes]:
        raise ReportError("the page could not be set", remedy="Write the workbook instead.")

    return replace(kind, write=refuse)


def test_every_kind_writes_the_file_that_it_names(store, tmp_path):
    for edition in ("full", "bid"):
        made = actions.make_reports(store, tmp_path / edition, ReportOrder(edition=edition, allows_open=True), at=AT)
        written = {path.name for path in made.paths}
        assert written == {path.name for path in (tmp_path / edition).iterdir()}
        assert {kind.files[edition] for kind in KINDS if edition in kind.files} <= written
        assert made.failures == ()


def test_a_report_that_cannot_be_made_is_told_and_does_not_stop_the_others(store, tmp_path):
    pdf, csv = kinds_named("pdf", "csv")
    order = ReportOrder(kinds=(broken(pdf), csv))
    made = actions.make_reports(store, tmp_path / "out", order, at=AT)
    assert {path.suffix for path in made.paths} == {".csv"}
    assert [str(error) for error in made.failures] == [
        "report.pdf: the page could not be set. Write the workbook instead."
    ]


def test_where_no_report_can_be_made_it_is_an_error(store, tmp_path):
    order = ReportOrder(kinds=tuple(broken(kind) for kind in kinds_named("pdf", "xlsx")))
    with pytest.raises(ReportError, match=r"report\.pdf: the page could not be set"):
        actions.make_reports(store, tmp_path / "out", order, at=AT)
    assert not (tmp_path / "out").exists()


def test_the_drawing_of_a_report_is_the_one_that_is_exported(store, tmp_path):
    import ezdxf

    actions.make_reports(store, tmp_path / "out", ReportOrder(kinds=kinds_named("dxf")), at=AT)
    (tmp_path / "out" / "export.dxf").write_bytes(actions.export_file(store, "walls.dxf"))

    def lines(name: str) -> list[tuple[str, list[tuple[float, ...]]]]:
        space = ezdxf.readfile(tmp_path / "out" / name).modelspace()
        return [(line.dxf.layer, list(line.get_points())) for line in space.query("LWPOLYLINE")]

    assert lines("runs.dxf")
    assert lines("runs.dxf") == lines("export.dxf")


def test_rooms_of_one_name_are_told_apart_by_their_ids(store):
    first, second = list(store.job.rooms.values())[:2]
    alike = replace(store.job, rooms={r.id: replace(r, name="Toilet", number="") if r in (first, second) else r
                                      for r in store.job.rooms.values()})  # fmt: skip
    shown = report_content(store, actions.make_estimate(alike), ReportOrder(kinds=kinds_named("csv")), at=AT)
    labels = {item.id: item.label for item in shown.by_room.items}
    assert (labels[first.id], labels[second.id]) == (f"Toilet ({first.id})", f"Toilet ({second.id})")
    assert len(set(labels.values())) == len(labels)


SCALE = Calibration(sheet=1, mx=0.02, my=0.025)
"""Metres per point, so that a point is 20 mm along x and 25 mm along y."""


def sheet(rotation=0):
    return Sheet(id=1, source="", page=1, width_pt=600.0, height_pt=400.0, rotation=rotation)


def mark(rotation=0, **changes):
    given = {"points_pt": ((100.0, 100.0), (300.0, 100.0)), "height": HeightProfile.constant(3.0), **changes}
    run = Run(id="a", sheet=1, **given)
    [face] = measure_faces([run], {}, {"a": SCALE}, settings=MeasureSettings())
    return mark_of(face.elevation, SCALE, sheet(rotation))


def near(points):
    return [pytest.approx(point) for point in points]


def test_a_mark_lies_on_the_points_that_were_traced():
    assert list(mark().line_pt) == near([(100.0, 100.0), (300.0, 100.0)])


def test_the_hand_points_to_the_coated_side():
    # walking to the right on a page with y down, the left hand points up the page
    assert mark(face="left").hand == ((0.0, -1.0),)
    assert list(mark(face="right").hand) == near([(0.0, 1.0)])


def test_a_mark_turns_with_its_sheet_and_keeps_its_hand():
    # shown a quarter turn clockwise, a sheet 400 points high has its x axis down the page: (x, y) lies at (400 − y, x)
    turned = mark(rotation=90)
    assert list(turned.line_pt) == near([(300.0, 100.0), (300.0, 300.0)])
    assert list(turned.hand) == near([(1.0, 0.0)])


def test_an_opening_is_marked_where_it_stands():
    # 1 m from its first vertex, 0.9 m wide: 27.5 to 72.5 points along x
    [(start, end)] = mark(openings=(Opening(at=1.0, width=0.9, height=2.1),)).openings_pt
    assert (start, end) == (pytest.approx((127.5, 100.0)), pytest.approx((172.5, 100.0)))


def test_an_opening_across_a_corner_follows_the_line_round_it():
    bent = ((100.0, 100.0), (300.0, 100.0), (300.0, 300.0))
    # the first side is 4 m long; 1 m on either side is 50 points along x and 40 along y
    pieces = mark(points_pt=bent, openings=(Opening(at=4.0, width=2.0, height=2.1),)).openings_pt
    assert [list(map(pytest.approx, piece)) for piece in pieces] == [
        [(250.0, 100.0), (300.0, 100.0)],
        [(300.0, 100.0), (300.0, 140.0)],
    ]


def test_corners_are_marked_inside_or_outside():
    bent = ((100.0, 100.0), (300.0, 100.0), (300.0, 300.0))
    # turning to the right, the left side sees the corner from outside
    assert mark(points_pt=bent, face="left").corners == (pytest.approx((300.0, 100.0, 0)),)
    assert mark(points_pt=bent, face="right").corners == (pytest.approx((300.0, 100.0, 1)),)


def test_an_arc_is_drawn_with_chords_that_stay_on_it():
    half_circle = mark(points_pt=((100.0, 100.0), (300.0, 100.0)), bulges=(1.0,))
    assert len(half_circle.line_pt) > 10
    assert len(half_circle.hand) == len(half_circle.line_pt) - 1
    for x, y in half_circle.line_pt:
        # the arc is a circle in the building: 2 m radius, shown 100 points wide and 80 high
        assert math.hypot((x - 200.0) / 100.0, (y - 100.0) / 80.0) == pytest.approx(1.0)
