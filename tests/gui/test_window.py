"""The whole job by mouse and keyboard, as a person does it, and the same figures as the command line's."""

from __future__ import annotations

import json
import math
import os
import shutil
import tempfile
from dataclasses import replace
from pathlib import Path

import pytest

from takeoff import actions
from takeoff.cli.main import run
from takeoff.gui import tool_hand
from takeoff.gui.dialogs.check_dialog import CheckDialog
from takeoff.gui.job_shapes import job_shapes
from takeoff.gui.session import Selection, Session
from takeoff.gui.widgets import TextField
from takeoff.sheet.text import read_lines
from takeoff.signing import signed
from tests.jobs import job_on

PROCESS = ((190.0, 224.0), (838.0, 224.0), (838.0, 620.0), (190.0, 620.0))


def process_corners(session):
    """The process room's inside corners on the sample plan, from its tracing."""
    file = json.loads((actions.sample_plans() / "facility-edits.json").read_text())
    run_of = next(r for r in file["runs"] if r["id"] == "104-walls")
    return [tuple(p) for p in run_of["points"]]


def calibrate(hand):
    """Two printed dimensions of the process room: 36'-0" across, 22'-0" down."""
    session = hand.window.session
    a, b, c, d = sorted(process_corners(session), key=lambda p: (round(p[1]), p[0]))
    hand.press(*a)
    hand.press(*b)
    hand.type(hand.window.entry, "36'-0\"")
    hand.press(*a)
    hand.press(*c)
    hand.type(hand.window.entry, "22'-0\"")
    hand.window.session.tell("")
    return a, b, c, d


def trace_process(hand):
    corners = process_corners(hand.window.session)
    hand.key("t")
    for corner in corners:
        hand.press(*corner)
    hand.key("c")
    return corners


def test_an_uncalibrated_sheet_says_so_and_says_what_to_do(hand, job_file):
    hand.open(job_file)
    window = hand.window
    assert window.tool.id == "scale"
    assert "None yet" in window.scale_panel.summary.cget("text")
    assert "Click both ends" in window.scale_panel.summary.cget("text")
    hand.key("t")
    assert window.tool.id == "scale"
    assert "no scale" in window.session.message


def test_two_dimensions_give_the_scale_of_the_note(hand, job_file):
    hand.open(job_file)
    calibrate(hand)
    scale = hand.window.session.scale
    assert len(scale.dimensions) == 2
    assert abs(scale.ratio / 48.0 - 1.0) < 0.002
    assert scale.doubts == ()


def test_a_scale_that_the_sheet_speaks_against_is_not_called_set(hand, job_file):
    hand.open(job_file)
    hand.key("s")
    hand.type(hand.window.scale_panel.written.entry, "1:100")
    hand.settle()
    row = hand.window.desk.sheets._rows[1]
    assert hand.window.session.scale.open_words
    assert "not sure" in row.status.cget("text")
    assert "not sure" in hand.window.tool.prompt()
    hand.scale()
    assert "not sure" not in row.status.cget("text")
    assert "The scale is set" in hand.window.tool.prompt()


def test_a_sheet_of_too_many_paths_to_look_for_its_scale_at_once_says_so(hand, job_file, monkeypatch):
    monkeypatch.setattr(tool_hand, "MOST_PATHS", 1)
    hand.open(job_file)
    hand.window.choose_sheet(1)
    hand.wait(lambda: "very many lines" in hand.window.session.message)


def test_a_field_that_is_left_while_its_text_is_taken_takes_it_once(window):
    taken = []

    def take(text):
        taken.append(text)
        field.entry._entry.event_generate("<FocusOut>")  # as where a dialog says that the drawing is being read

    field = TextField(window, "Height", take, taken.append)
    field.place(x=0, y=0)
    window.update()
    field.entry._entry.focus_force()
    window.update()
    field.entry.insert(0, "9'")
    field.entry._entry.event_generate("<Return>")
    window.update()
    field.destroy()
    assert taken == ["9'"]


@pytest.mark.parametrize("pt_per_pixel", [1.6, 1.0, 0.6])
def test_names_of_rooms_leave_those_that_the_sheet_prints_to_be_read(traced_job, pt_per_pixel):
    session = Session(actions.open_job(traced_job))
    lines = read_lines(session.store.source(session.sheet.source), session.sheet)
    names = [shape for shape in job_shapes(session, pt_per_pixel) if shape.kind == "text" and shape.tag]
    assert len(names) == len(session.job.rooms)
    for name in names:
        ((x, y),) = name.points_pt
        wide, high = 0.3 * name.size * len(name.text) * pt_per_pixel, 0.5 * (name.size + 2) * pt_per_pixel
        for x0, y0, x1, y1 in (line.box_pt for line in lines):
            assert x + wide <= x0 or x - wide >= x1 or y + high <= y0 or y - high >= y1, name.text
    session.close()


def test_known_dimensions_are_seen_on_the_plan_with_the_tools_for_the_scale_alone(hand, job_file):
    hand.open(job_file)
    calibrate(hand)
    canvas = hand.window.canvas

    def seen():
        return {canvas.itemcget(item, "text") for item in canvas.find_all() if canvas.type(item) == "text"}

    assert {"36'-0\"", "22'-0\""} <= {text.strip() for text in seen()}
    hand.key("t")
    assert not {"36'-0\"", "22'-0\""} & {text.strip() for text in seen()}
    hand.key("s")
    assert {"36'-0\"", "22'-0\""} <= {text.strip() for text in seen()}


def test_a_room_traced_by_hand_measures_the_same_on_the_command_line(hand, job_file, capsys):
    hand.open(job_file)
    window = hand.window
    calibrate(hand)
    trace_process(hand)
    session = window.session
    assert len(session.job.runs) == 1
    hand.type(window.details.room["height"].entry, "12'-0\"")
    hand.type(window.details.room["cove"].entry, '4"')
    window.details.room["system"]._chosen(dict(session.systems())["mat-hygienic"])
    hand.settle()
    corners = process_corners(session)
    hand.key("d")
    (x0, y0), (x1, y1) = corners[0], corners[1]
    hand.press((x0 + x1) / 2, (y0 + y1) / 2)
    hand.type(window.entry, "4' x 3' sill 3'")
    (x2, y2) = corners[2]
    hand.press((x1 + x2) / 2, (y1 + y2) / 2)
    (run_made,) = session.job.runs.values()
    assert [o.kind for o in run_made.openings] == ["door", "window"]
    measured, pending = session.measured()
    assert pending == ()
    total = measured.measurement.total.quantities
    assert abs(total.gross_area / (116 * 12 * 0.09290304) - 1) < 0.003
    assert abs(total.deducted_area / ((21 + 12) * 0.09290304) - 1) < 1e-9

    steps = 0
    while session.store.can_undo:
        hand.chord("Control-z")
        steps += 1
    assert not session.job.runs
    assert steps >= 7
    for _ in range(steps):
        hand.chord("Control-y")
    window.close_job()

    capsys.readouterr()
    assert run(["measure", str(job_file), "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    for name in ("gross_area", "net_area", "deducted_area", "base_length", "cove_length", "inside_corner_length"):
        assert printed["total"][name] == getattr(total, name)

    hand.open(job_file)
    again = window.session.measured()[0].measurement.total.quantities
    assert again == total


def test_a_box_room_with_door_height_and_system_takes_few_actions(hand, job_file):
    hand.open(job_file)
    window = hand.window
    a, _, _, d = calibrate(hand)
    actions_taken = 0
    hand.key("b")
    hand.press(*a)
    hand.press(*d)
    hand.key("d")
    hand.press((a[0] + d[0]) / 2, a[1])
    actions_taken += 5
    hand.type(window.details.room["height"].entry, "12'")
    actions_taken += 3  # press the field, type, Enter
    window.details.room["system"]._chosen(dict(window.session.systems())["mat-hygienic"])
    actions_taken += 2  # open the list, choose
    measured, pending = window.session.measured()
    assert pending == ()
    assert measured.measurement.total.quantities.openings == 1
    assert window.figures.priced is not None
    assert window.figures.priced.estimate.line("price").amount > 0
    assert actions_taken <= 12


def test_typed_lengths_place_points_exactly(hand, job_file):
    hand.open(job_file)
    a, _, _, _ = calibrate(hand)
    hand.key("t")
    hand.press(*a)
    hand.move(a[0] + 100, a[1] + 0.5)
    hand.type(hand.window.entry, "20'-0\"")
    hand.move(a[0] + 360, a[1] + 100)
    hand.type(hand.window.entry, "10' 270°")
    hand.key("Return")
    session = hand.window.session
    (made,) = session.job.runs.values()
    from takeoff.measure.develop import traced_path

    stations = traced_path(made, session.scale).stations()
    assert abs(stations[1] - 20 * 0.3048) < 1e-9
    assert abs(stations[2] - 30 * 0.3048) < 1e-9
    assert not made.closed


def test_corners_openings_and_runs_are_dragged_and_openings_stay_in_place(hand, job_file):
    hand.open(job_file)
    calibrate(hand)
    corners = trace_process(hand)
    session = hand.window.session
    hand.type(hand.window.details.room["height"].entry, "12'")
    hand.key("d")
    (x0, y0), (x1, y1) = corners[2], corners[3]
    hand.press((x0 + x1) / 2, (y0 + y1) / 2)
    hand.key("v")
    (run_id,) = session.job.runs
    before = session.job.runs[run_id]
    from takeoff.gui.job_shapes import opening_line

    door = opening_line(before, before.openings[0].at, before.openings[0].width, session.scale)
    hand.press(20.0, 20.0)
    hand.press((x0 + x1) / 2 + 80, (y0 + y1) / 2)
    hand.drag(before.points_pt[1], (before.points_pt[1][0] + 0.0, before.points_pt[1][1] - 60))
    after = session.job.runs[run_id]
    assert after.points_pt[1] != before.points_pt[1]
    door_after = opening_line(after, after.openings[0].at, after.openings[0].width, session.scale)
    for p, q in zip(door, door_after, strict=True):
        assert abs(p[0] - q[0]) < 1e-6
        assert abs(p[1] - q[1]) < 1e-6
    hand.chord("Control-z")
    assert session.job.runs[run_id] == before


def test_an_opening_takes_its_size_and_coated_edges_from_its_card_each_as_one_edit(hand, opened):
    window, session = hand.window, hand.window.session
    session.select(Selection(runs=("104-walls",), opening=("104-walls", 0)))
    hand.settle()
    card = window.details.opening
    before = session.job.runs["104-walls"].openings[0]
    hand.type(card["width"].entry, "4'-0\"")
    assert abs(session.job.runs["104-walls"].openings[0].width - 4 * 0.3048) < 1e-9
    card["coat-head"].toggle()
    assert ("head" in session.job.runs["104-walls"].openings[0].coated) != ("head" in before.coated)
    hand.type(card["count"].entry, "two")
    assert session.is_refusal
    assert card["sill"].entry.get() == session.display.length(before.sill) == "3'-6\""
    hand.type(card["sill"].entry, "4'-0\"")
    assert abs(session.job.runs["104-walls"].openings[0].sill - 4 * 0.3048) < 1e-9
    hand.chord("Control-z")
    hand.chord("Control-z")
    hand.chord("Control-z")
    assert session.job.runs["104-walls"].openings[0] == before


def test_rooms_are_offered_by_number_in_natural_order(hand, opened):
    session = hand.window.session
    session.put_rooms([replace(session.job.rooms["R104"], number="9")], "Renumber")
    session.select(Selection(runs=("101-walls",)))
    hand.settle()
    offered = hand.window.details.wall["room"].menu.cget("values")
    assert offered[0].startswith("9 ")
    assert [label.split()[0] for label in offered[1:4]] == ["101", "102", "103"]


def test_a_refused_value_is_marked_said_and_kept(hand, job_file):
    hand.open(job_file)
    calibrate(hand)
    trace_process(hand)
    (before,) = hand.window.session.job.rooms.values()
    field = hand.window.details.room["height"]
    hand.type(field.entry, "twelve")
    assert field.entry.get() == "twelve"
    assert hand.window.session.is_refusal
    (room,) = hand.window.session.job.rooms.values()
    assert room.height == before.height


def test_a_job_that_is_no_job_is_refused_and_the_window_goes_on(hand, tmp_path):
    bad = tmp_path / "no.takeoff"
    bad.write_bytes(b"this is no job")
    assert hand.window.open_path(bad) is False
    hand.settle()
    assert hand.window.session is None


@pytest.mark.skipif(os.name != "posix", reason="folders have permissions of another kind here")
def test_a_job_in_a_read_only_folder_is_looked_at_and_edits_are_refused(hand, traced_job):
    is_superuser = os.geteuid() == 0
    with tempfile.TemporaryDirectory() as folder:
        path = shutil.copy(traced_job, folder)
        Path(folder).chmod(0o555)
        if is_superuser:  # permissions bind everyone else
            os.seteuid(65534)
        try:
            store = actions.open_job(Path(path), signed)
        finally:
            if is_superuser:
                os.seteuid(0)
        Path(folder).chmod(0o755)
        look_and_be_refused(hand, store)
        hand.window.close_job()


def look_and_be_refused(hand, store):
    window = hand.window
    window.take(store)
    hand.settle()
    assert "(read only)" in window.title()
    assert "cannot be written to" in window.desk.status.cget("text")
    session = window.session
    before = session.job
    assert session.measured()[0].measurement.total.quantities.net_area > 0
    session.select(Selection(runs=("104-walls",)))
    hand.settle()
    hand.type(window.details.room["height"].entry, "9'")
    assert session.job is before
    assert session.is_refusal
    assert "opened to be read" in session.message
    hand.key("Delete")
    hand.chord("Control-z")
    assert session.job is before
    window.figures.open_page("Price")
    hand.settle()
    assert len(window.figures.table.tree.get_children()) > 3


def test_a_wall_is_bent_into_an_arc_through_a_pressed_point(hand, job_file):
    hand.open(job_file)
    calibrate(hand)
    trace_process(hand)
    session = hand.window.session
    (before,) = session.job.runs.values()
    hand.key("v")
    hand.press(*before.points_pt[0])
    hand.key("a")
    (x0, y0), (x1, y1) = before.points_pt[0], before.points_pt[1]
    hand.press((x0 + x1) / 2, (y0 + y1) / 2 + 40)
    (after,) = session.job.runs.values()
    assert after.segment_bulges[0] != 0.0
    assert after.segment_bulges[1:] == (0.0, 0.0, 0.0)


def test_one_press_in_a_room_traces_it_with_its_openings_and_columns(hand, job_file):
    hand.open(job_file)
    calibrate(hand)
    session = hand.window.session
    hand.key("g")
    hand.wait(lambda: not hand.window.tool.is_waiting)
    corners = process_corners(session)
    middle = (sum(p[0] for p in corners) / 4, sum(p[1] for p in corners) / 4 + 60)
    hand.press(*middle)
    (room,) = session.job.rooms.values()
    assert room.number == "104"
    assert len(session.job.runs) == 3
    walls = next(run for run in session.job.runs.values() if len(run.openings) == 4)
    assert max(min(math.dist(p, q) for q in walls.points_pt) for p in corners) < 0.5
    assert set(session.selection.runs) == set(session.job.runs)


def test_enter_traces_every_room_of_the_sheet_as_one_step(hand, job_file):
    hand.open(job_file)
    calibrate(hand)
    session = hand.window.session
    hand.key("g")
    hand.wait(lambda: not hand.window.tool.is_waiting)
    hand.key("Return")
    assert {room.number for room in session.job.rooms.values()} == {str(n) for n in range(101, 109)}
    hand.chord("Control-z")
    assert session.job.rooms == {}


def test_a_new_issue_is_reviewed_and_its_sure_walls_taken_in_as_one_step(compared):
    hand, window = compared, compared.window
    session = window.session
    before = session.job
    review = window.review
    assert review.item.run == "107-walls"
    assert "107-walls" not in review.taken
    hand.key("n")
    hand.key("k")
    assert review.item.run in review.taken
    hand.key("Return")
    assert window.review is None
    assert len(session.job.sheets) == len(before.sheets) + 1
    assert session.sheet_id == max(session.job.sheets)
    old, new = (window.desk.sheets._rows[id] for id in (1, session.sheet_id))
    assert old.name.cget("text") != new.name.cget("text")
    assert "replaced" in old.status.cget("text")
    assert "deducted" in session.message
    hand.chord("Control-z")
    assert session.job == before


def test_putting_a_new_issue_aside_changes_nothing(compared):
    window = compared.window
    before = window.session.job
    compared.key("t")
    assert window.tool.id == "review"
    window.issue.put_aside()
    assert window.session.job == before
    assert window.tool.id == "pick"


def test_stated_areas_are_checked_and_a_line_shows_its_room(hand, opened):
    dialog = CheckDialog(hand.window, actions.sample_plans() / "area-schedule.csv")
    hand.settle()
    assert dialog.check.count("differs") == 3
    dialog.table.tree.selection_set("3")
    hand.settle()
    assert "floor area" in dialog.why.cget("text")
    assert {hand.window.session.job.runs[id].room for id in hand.window.session.selection.runs} == {"R104"}


def test_a_box_is_zoomed_to_and_the_tool_before_comes_back(hand, job_file):
    hand.open(job_file)
    calibrate(hand)
    hand.key("t")
    before = hand.window.canvas.pt_per_pixel()
    hand.key("x")
    hand.drag((300.0, 300.0), (500.0, 420.0))
    assert hand.window.canvas.pt_per_pixel() < before / 2
    assert hand.window.tool.id == "trace"


def test_the_pointer_snaps_to_corners_of_ink_on_a_scan(hand, tmp_path):
    plan = actions.sample_plans() / "facility-scan.png"
    path = tmp_path / "scan.takeoff"
    job_on(path, plan, name="Scan").close()
    hand.open(path)
    window = hand.window
    hand.wait(lambda: window.snapper.is_ready(window.session.sheet))
    file = json.loads((actions.sample_plans() / "facility-scan-edits.json").read_text())
    corners = next(r for r in file["runs"] if r["id"] == "104-walls")["points"]
    for x, y in corners:
        at, kind = window.snapper.snap((x + 1.5, y - 1.0), 0.5)
        assert kind == "crossing"
        assert math.dist(at, (x, y)) < 1.2


def test_a_table_of_floor_areas_is_taken_for_one_and_another_basis_can_be_chosen(hand, opened, tmp_path):
    """Room 104 is 36 by 22 ft, less two pillars: about 790 square feet of floor."""
    table = tmp_path / "floors.csv"
    table.write_text("Room No.,Floor Area (SF)\n104,792\n")
    dialog = CheckDialog(hand.window, table)
    hand.settle()
    assert dialog.check.basis == "floor"
    assert "floor area" in dialog.why.cget("text")
    assert dialog.check.lines[0].measured == pytest.approx(790 * 0.09290304, rel=0.02)
    dialog.form["basis"]._chosen("net wall area")
    hand.settle()
    assert dialog.check.basis == "net"


@pytest.mark.parametrize("tool", ["t", "b"])
def test_a_corner_off_the_paper_is_refused(hand, job_file, tool):
    hand.open(job_file)
    hand.key("s")
    hand.type(hand.window.scale_panel.written.entry, '1/4" = 1\'-0"')
    hand.key(tool)
    hand.press(400.0, 400.0)
    hand.press(-20.0, 420.0)
    assert hand.window.session.is_refusal
    assert "off the sheet" in hand.window.session.message
    hand.key("Return")
    assert not hand.window.session.job.runs


# -- two windows on one job ----------------------------------------------------------------------------------------


@pytest.fixture
def elsewhere(hand, traced_job):
    """A session on the job that the window has open, as another window has it."""
    hand.open(traced_job)
    other = Session(actions.open_job(traced_job, signed))
    yield other
    other.close()


def test_what_another_window_did_is_taken_up_by_itself_and_told(hand, elsewhere):
    session = hand.window.session
    elsewhere.put_rooms([replace(elsewhere.job.rooms["R104"], name="Renamed")], "Rename a room")
    hand.wait(lambda: session.job.rooms["R104"].name == "Renamed")
    assert "Rename a room" in hand.window.desk.status.cget("text")
    assert not session.is_refusal


def test_edits_of_two_windows_are_both_kept_and_neither_is_refused(hand, elsewhere):
    session = hand.window.session
    for i, name in enumerate(("One", "Two", "Three")):
        assert elsewhere.put_rooms([replace(elsewhere.job.rooms["R104"], name=name)], "Rename")
        assert session.put_rooms([replace(session.job.rooms["R105"], name=f"Mine {i}")], "Rename mine")
    elsewhere.take_up()
    assert elsewhere.job == session.job
    assert (session.job.rooms["R104"].name, session.job.rooms["R105"].name) == ("Three", "Mine 2")


def test_an_edit_of_what_another_window_has_just_changed_is_told_and_not_written_over_it(hand, elsewhere):
    session = hand.window.session
    stale = replace(session.job.rooms["R104"], number="9")
    elsewhere.put_rooms([replace(elsewhere.job.rooms["R104"], name="Renamed")], "Rename a room")
    assert not session.put_rooms([stale], "Renumber")
    assert session.is_refusal
    assert session.job.rooms["R104"].name == "Renamed"
    assert session.put_rooms([replace(session.job.rooms["R104"], number="9")], "Renumber")


def test_undo_does_not_take_back_unseen_what_another_window_did(hand, elsewhere):
    session = hand.window.session
    elsewhere.put_rooms([replace(elsewhere.job.rooms["R104"], name="Renamed")], "Rename a room")
    assert not session.undo()
    assert "Rename a room" in session.message
    assert session.job.rooms["R104"].name == "Renamed"
    assert session.undo()
    assert session.job.rooms["R104"].name == "Process"
