"""Reports as they are asked for and written."""

from __future__ import annotations

from dataclasses import replace

import pytest

from takeoff import actions
from takeoff.actions.reports import report_content
from takeoff.errors import ReportError
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
