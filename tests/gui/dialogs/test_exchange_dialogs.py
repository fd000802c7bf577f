"""Handing a job over, taking walls in, and the finish schedule, from the window."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import ezdxf
import pymupdf
import pytest

from takeoff import actions
from takeoff.gui.dialogs.check_dialog import CheckDialog
from takeoff.gui.dialogs.common import Dialog
from takeoff.gui.dialogs.exchange_dialogs import ScheduleDialog, export, finish_schedule, take_in
from takeoff.gui.dialogs.job_dialogs import SettingsDialog, open_exported, rescue, save_copy
from takeoff.gui.session import Selection
from takeoff.gui.widgets.parts import ReadText
from tests.jobs import DONE, job_on


def done(dialog, **given):
    """Fill a dialog and press its button; return whether it was done, and closes one that was refused."""
    dialog.form.show(**{key: str(value) for key, value in given.items()})
    dialog.run()
    is_done = not dialog.winfo_exists()
    if not is_done:
        dialog.destroy()
    return is_done


@pytest.mark.parametrize(("ending", "begins"), [(".pdf", b"%PDF"), (".json", b"{"), (".dxf", b"  0")])
def test_a_job_is_handed_over_in_the_kind_that_the_ending_names(hand, opened, tmp_path, ending, begins):
    path = tmp_path / f"out{ending}"
    assert done(export(hand.window), file=path)
    assert path.read_bytes().startswith(begins)
    assert str(path) in hand.window.session.message


def test_marked_plans_give_their_walls_back_and_undo_takes_them_out(hand, opened, job_file, tmp_path):
    marked = tmp_path / "marked.pdf"
    assert done(export(hand.window), file=marked)
    net = hand.window.session.measured()[0].measurement.total.quantities.net_area
    hand.open(job_file)
    session = hand.window.session
    actions.set_scale_note(session.store, session.sheet, session.sheet.scale_note)
    assert done(take_in(hand.window), file=marked)
    assert len(session.job.runs) == 11
    assert session.measured()[0].measurement.total.quantities.net_area == pytest.approx(net, rel=1e-3)
    hand.window.do("undo")
    assert session.job.runs == {}


def test_an_edits_file_is_taken_in_as_the_command_takes_it(hand, job_file):
    hand.open(job_file)
    session = hand.window.session
    actions.set_scale_note(session.store, session.sheet, session.sheet.scale_note)
    assert done(take_in(hand.window), file=actions.sample_plans() / "facility-edits.json")
    assert len(session.job.runs) == 11
    hand.window.do("undo")
    assert session.job.runs == {}


def test_another_kind_of_file_is_refused_with_what_can_be_taken(hand, opened, tmp_path):
    letter = tmp_path / "letter.txt"
    letter.write_text("no plan")
    dialog = take_in(hand.window)
    dialog.form.show(file=str(letter))
    dialog.run()
    assert "Choose a PDF, a DXF or an edits file" in dialog.said.cget("text")


def test_marks_are_drawn_into_the_pages_where_that_is_ticked(hand, opened, tmp_path):
    marked, flat = tmp_path / "marked.pdf", tmp_path / "flat.pdf"
    assert done(export(hand.window), file=marked)
    dialog = export(hand.window)
    dialog.form["flat"].select()
    assert done(dialog, file=flat)
    for path, has_marks in ((marked, True), (flat, False)):
        with pymupdf.open(path) as document:
            assert any(page.first_annot is not None for page in document) == has_marks


def test_a_drawing_of_lines_takes_the_height_unit_and_origin_that_are_typed(hand, job_file, tmp_path):
    """A wall of 10 m by one unit = 1 m, drawn from (5, 5) where the sheet's lower left corner is (5, 5) less 1 m."""
    drawing = ezdxf.new()
    drawing.header["$INSUNITS"] = 0
    drawing.modelspace().add_line((6.0, 6.0), (16.0, 6.0), dxfattribs={"layer": "FACE"})
    path = tmp_path / "walls.dxf"
    drawing.saveas(path)
    hand.open(job_file)
    session = hand.window.session
    actions.set_scale_note(session.store, session.sheet, session.sheet.scale_note)
    assert not done(take_in(hand.window), file=path, layers="FACE", unit="1 m", origin="here")
    assert done(take_in(hand.window), file=path, layers="FACE", unit="1 m", origin="5,5", height="9'-0\"")
    (run,) = session.job.runs.values()
    scale = session.scale
    (x0, x1) = (x for x, _ in run.points_pt)
    assert abs(x1 - x0) * scale.mx == pytest.approx(10.0)
    assert min(x0, x1) * scale.mx == pytest.approx(1.0)
    assert run.height.points[0][1] == pytest.approx(2.7432)


def test_a_job_that_was_handed_over_whole_is_opened_again(hand, opened, tmp_path):
    runs = hand.window.session.job.runs
    whole, new = tmp_path / "whole.json", tmp_path / "again.takeoff"
    assert done(export(hand.window), file=whole)
    hand.window.close_job()
    assert done(open_exported(hand.window), file=whole, new=new)
    assert hand.window.session.path == new
    assert hand.window.session.job.runs == runs


def test_a_damaged_job_is_rescued_into_a_new_file_with_a_list_of_what_was_lost(hand, traced_job, tmp_path):
    with closing(sqlite3.connect(traced_job)) as db, db:
        db.execute("UPDATE item SET body = replace(body, '3.6576', '8.6576') WHERE kind = 'room' AND id = 'R104'")
    new = tmp_path / "rescued.takeoff"
    assert done(rescue(hand.window), file=traced_job, new=new)
    assert hand.window.session.path == new
    (told,) = hand.dialogs()
    (text,) = [part for part in told.body.winfo_children() if isinstance(part, ReadText)]
    assert text.get("1.0", "end-1c") == "room R104 is damaged: it is as the journal says"


def test_the_finish_schedule_of_the_sheet_sets_the_rooms_when_it_is_asked_to(hand, opened):
    """Sheet A-601 of the sample set prints the schedule."""
    window = hand.window
    rooms = [room.id for room in window.session.job.rooms.values()]
    window.session.put_rooms(
        [type(r)(id=r.id, name=r.name, number=r.number) for r in window.session.job.rooms.values()], "Bare rooms"
    )
    assert not isinstance(finish_schedule(window), ScheduleDialog)  # the floor plan has none
    for child in window.winfo_children():
        if isinstance(child, Dialog):
            child.destroy()
    window.session.show_sheet(3)
    dialog = finish_schedule(window)
    assert isinstance(dialog, ScheduleDialog)
    assert all(window.session.job.rooms[id].system is None for id in rooms)
    dialog.set_rooms()
    assert sum(window.session.job.rooms[id].system is not None for id in rooms) >= 6


def test_what_a_finish_code_stands_for_is_shown_and_another_system_is_taken_at_once(hand, opened):
    window = hand.window
    session = window.session
    session.show_sheet(3)
    dialog = finish_schedule(window)
    hand.settle()
    code = next(found.row.wall.upper() for found in dialog._match.rooms if found.room.system)
    field = dialog.codes.fields[code]
    other = next(id for id, _ in session.systems() if id != field.value)
    field._chosen(dict(session.systems())[other])
    assert dict(session.job.settings.finish_codes) == {code: other}
    assert {found.room.system for found in dialog._match.rooms if found.row.wall.upper() == code} == {other}
    dialog.set_rooms()
    assert {room.system for room in session.job.rooms.values()} >= {other}
    window.do("settings")
    hand.settle()
    (settings,) = hand.dialogs(SettingsDialog)
    assert settings.codes.fields[code].value == other
    hand.type(settings.codes.more.entry, "wp-9")
    settings.codes.fields["WP-9"]._chosen(dict(session.systems())[other])
    assert dict(session.job.settings.finish_codes) == {code: other, "WP-9": other}
    hand.type(settings.codes.more.entry, "WP-9")
    assert "no new code" in settings.said.cget("text")
    settings.codes.fields["WP-9"]._chosen("not said")
    assert dict(session.job.settings.finish_codes) == {code: other}


def test_a_copy_is_a_job_of_its_own_and_takes_the_place_of_the_file_chosen(hand, opened, tmp_path):
    path = tmp_path / "try.takeoff"
    path.write_bytes(b"an older file")
    assert save_copy(hand.window, path)
    with actions.open_job(path, **DONE) as copy:
        assert copy.job == hand.window.session.job
    assert not save_copy(hand.window, hand.window.session.path)


def test_stated_areas_are_read_by_unit_column_and_rule(hand, opened, tmp_path):
    table = tmp_path / "areas.csv"
    table.write_text("Room,Wall area,Other area\n104,119.6,55\n")
    dialog = CheckDialog(hand.window, table)
    hand.settle()
    assert dialog.check is None
    dialog.form["column"]._put("Wall area")
    dialog.form["unit"]._chosen("square metres")
    (line,) = dialog.check.lines
    # 116 ft x 12 ft less openings, in square metres as the table is told to be; 1 ft = 0.3048 m exactly
    assert line.match.stated.area == pytest.approx(119.6)
    exact = line.measured
    dialog.form["rule"]._chosen("us-half")
    assert dialog.check.lines[0].measured != exact


def test_a_table_of_areas_is_read_from_the_sheet_that_is_shown(hand, opened):
    hand.window.session.show_sheet(1)
    hand.window.do("check-sheet")
    (dialog,) = hand.dialogs(CheckDialog)
    assert dialog.check is None
    assert dialog.said.cget("text")


@pytest.fixture
def job_with_a_table(tmp_path, sample_plan):
    """The traced sample with a second sheet: a table of areas, 104 about as large as it is, 105 far too small."""
    document = pymupdf.open()
    page = document.new_page(width=600, height=400)
    cells = (("Room No.", "Wall Area (SF)"), ("104", "1,288"), ("105", "90"), ("999", "500"))
    for i, row in enumerate(cells):
        for j, text in enumerate(row):
            page.insert_text((100 + 150 * j, 100 + 20 * i), text, fontsize=11)
    path = tmp_path / "table.takeoff"
    with job_on(path, sample_plan, ("areas.pdf", document.tobytes())) as store:
        actions.set_scale_note(store, store.job.sheets[1], store.job.sheets[1].scale_note)
        edits = (actions.sample_plans() / "facility-edits.json").read_bytes()
        actions.apply_edits(store, edits)
    return path


def test_a_line_of_a_check_is_found_and_shows_both_pictures(hand, job_with_a_table):
    hand.open(job_with_a_table)
    session = hand.window.session
    session.show_sheet(max(session.job.sheets))
    hand.window.do("check-sheet")
    (dialog,) = hand.dialogs(CheckDialog)
    rows = [dialog.table.tree.item(row, "values") for row in dialog.table.tree.get_children()]
    measured, stated, off = float(rows[1][3].replace(",", "")), 90.0, float(rows[1][4].replace(",", ""))
    assert off == pytest.approx(stated - measured, abs=0.01)
    hand.type(dialog.form["find"].entry, "105")
    assert [line.match.stated.number for line in dialog._shown] == ["105"]
    dialog.table.tree.selection_set("0")
    hand.wait(lambda: dialog.stated.image is not None and dialog.ours.image is not None)
    assert {session.job.runs[id].room for id in session.selection.runs} == {"R105"}
    orange = (0xD5, 0x5E, 0x00)
    for picture in (dialog.stated, dialog.ours):
        colours = {colour for _, colour in picture.image._light_image.getcolors(maxcolors=1 << 24)}
        assert orange in colours
        assert any(sum(colour) < 150 for colour in colours)  # and what is drawn on the sheet there
    hand.type(dialog.form["find"].entry, "999")
    assert [line.match.room for line in dialog._shown] == [None]
    dialog.table.tree.selection_set("0")
    hand.settle()
    assert "No room" in dialog.ours.picture.cget("text")
    hand.type(dialog.form["find"].entry, "nothing like it")
    assert dialog.table.tree.get_children() == ()


def test_a_room_is_removed_with_all_its_walls_as_one_step(hand, opened):
    session = hand.window.session
    before = session.job
    session.select(Selection(runs=("104-walls",)))
    hand.window.do("remove-room")
    assert "R104" not in session.job.rooms
    assert not [run for run in session.job.runs.values() if run.room == "R104"]
    hand.window.do("undo")
    assert session.job == before
