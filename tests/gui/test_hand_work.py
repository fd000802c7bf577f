"""Work by hand, tried by real presses of mouse and keys: right angles, turned pages, lines not finished, arrow keys."""

from __future__ import annotations

import math
import shutil
from pathlib import Path

import pymupdf
import pytest

from takeoff import actions
from takeoff.gui.app import DeskWindow
from takeoff.gui.dialogs.starting import NewJobDialog
from takeoff.gui.session import Selection
from takeoff.model.open_points import basis_of
from takeoff.sheet.frame import displayed_to_sheet, sheet_to_displayed
from takeoff.signing import signed
from tests.jobs import job_on

FOOT = 0.3048
"""Metres in a foot, exactly (international foot, NIST SP 811)."""
PT_PER_FOOT = 18.0
"""Sheet points in a foot at 1/4 in = 1 ft: a quarter of 72."""
SHIFT = 0x1
KEYS = {" ": "space", "'": "apostrophe", '"': "quotedbl", ",": "comma", ".": "period"}
A, B, C, D = (300.0, 240.0), (480.0, 240.0), (480.0, 340.0), (300.0, 340.0)
"""Places in the process room that nothing is drawn at; 10 ft apart across."""


@pytest.fixture
def typing(hand):
    """Types a text key by key, the first on the plan, as a person does without the mouse."""

    def typed(text, end="Return"):
        hand.give_keys(hand.window.canvas)
        for char in text:
            focus = hand.window.focus_get()
            if char == "°":  # no key of a usual keyboard makes it; people paste it
                focus.insert("insert", char)
            else:
                focus.event_generate(f"<KeyPress-{KEYS.get(char, char)}>")
            hand.window.update()
        hand.window.focus_get().event_generate(f"<KeyPress-{end}>")
        hand.window.update()

    return typed


@pytest.fixture
def scaled(hand, job_file):
    """The sample sheet at the scale that it states, with nothing traced and nothing to snap to."""
    hand.open(job_file)
    hand.scale()
    for _ in range(2):
        hand.key("o")
    return hand


@pytest.fixture
def turned(hand, tmp_path, sample_plan, request):
    """The sample sheet on a page that is shown turned by 90°, 180° or 270°."""
    document = pymupdf.open(sample_plan)
    for page in document:
        page.set_rotation(request.param)
    path = tmp_path / "turned.takeoff"
    with job_on(path, ("turned.pdf", document.tobytes()), name="Turned") as store:
        actions.set_scale_ratio(store, store.job.sheets[1], "1:48")
    hand.open(path)
    for _ in range(2):
        hand.key("o")
    return hand


def line_of(hand):
    return hand.window.tool.points


def the_run(hand):
    (run,) = hand.window.session.job.runs.values()
    return run


@pytest.mark.parametrize("chosen", ["", "mat-urethane"])
def test_a_first_room_takes_the_system_proposed_which_is_open_unless_a_person_chose_one(
    hand, tmp_path, sample_plan, chosen
):
    plan = shutil.copy(sample_plan, tmp_path)
    dialog = NewJobDialog(hand.window, [Path(plan)])
    proposed = dialog.form.text("system")
    assert proposed
    if chosen:
        dialog.form.choose("system", chosen)
    dialog.run()
    hand.wait(lambda: hand.window.session.scale is not None)
    hand.key("b")
    hand.press(*A)
    hand.press(*C)
    (room,) = hand.window.session.job.rooms.values()
    assert room.system == (chosen or proposed)
    basis = basis_of(room, "system")
    assert basis is None if chosen else basis.is_open


def test_shift_holds_the_right_angle_also_at_a_snap_which_gives_the_distance(hand, job_file):
    hand.open(job_file)
    hand.scale()
    hand.wait(lambda: hand.window.snapper.is_ready(hand.window.session.sheet))
    corner = hand.ROOM[0]  # an inside corner that is drawn, so the pointer snaps to it
    hand.key("t")
    hand.press(corner[0] + 90.0, corner[1] + 70.0)
    hand.move(*corner, state=SHIFT)
    assert hand.window.tool.at.snap
    hand.press(*corner, state=SHIFT)
    (x0, y0), (x1, y1) = line_of(hand)
    assert x1 == pytest.approx(x0, abs=1e-9) or y1 == pytest.approx(y0, abs=1e-9)
    snapped = hand.window.tool.at.pt
    assert x1 == pytest.approx(snapped[0]) or y1 == pytest.approx(snapped[1])


@pytest.mark.parametrize("turned", [90, 180, 270], indirect=True)
def test_on_a_turned_page_a_level_wall_reads_zero_and_270_degrees_goes_down(turned, typing):
    hand, sheet = turned, turned.window.session.sheet
    start = displayed_to_sheet(sheet, 400.0, 300.0)
    hand.key("t")
    hand.press(*start)
    hand.move(*displayed_to_sheet(sheet, 700.0, 300.0))
    assert " 0.0°" in hand.window.tool.readout()
    typing("20' 270°")
    (x0, y0), (x1, y1) = (sheet_to_displayed(sheet, *point) for point in line_of(hand))
    assert (x1 - x0, y1 - y0) == pytest.approx((0.0, 20 * PT_PER_FOOT), abs=1e-6)


def test_control_and_z_take_back_the_last_point_and_not_the_last_edit(scaled):
    before = scaled.window.session.job
    scaled.key("t")
    for point in (A, B, C):
        scaled.press(*point)
    scaled.chord("Control-z")
    assert len(line_of(scaled)) == 2
    scaled.chord("Control-z")
    scaled.chord("Control-z")
    assert line_of(scaled) == ()
    assert scaled.window.session.job == before
    scaled.chord("Control-z")
    assert scaled.window.session.job != before  # now there is no line, and the scale goes


def test_escape_asks_once_and_drops_the_line_at_the_second_press(scaled):
    scaled.key("t")
    scaled.press(*A)
    scaled.press(*B)
    scaled.key("Escape")
    assert len(line_of(scaled)) == 2
    assert "Escape once more" in scaled.window.session.message
    scaled.key("Escape")
    assert line_of(scaled) == ()
    assert scaled.window.tool.id == "trace"
    assert not scaled.window.session.job.runs


@pytest.mark.parametrize("leave", ["tool", "sheet", "job"])
def test_a_line_that_is_not_finished_is_kept_as_a_wall_wherever_one_goes(scaled, leave):
    hand, path = scaled, scaled.window.session.path
    hand.key("t")
    for point in (A, B, C):
        hand.press(*point)
    if leave == "tool":
        hand.key("d")
        assert hand.window.tool.id == "opening"
    elif leave == "sheet":
        hand.key("Next")
        assert hand.window.session.sheet_id == 2
    else:
        hand.chord("Control-w")
        hand.open(path)
    run = the_run(hand)
    assert run.sheet == 1
    for point, clicked in zip(run.points_pt, (A, B, C), strict=True):
        assert point == pytest.approx(clicked, abs=hand.window.canvas.pt_per_pixel())


def test_closing_the_window_keeps_a_line_that_is_not_finished(job_file, tmp_path):
    from tests.gui.conftest import Hand

    window = DeskWindow(tmp_path / "other.json")
    hand = Hand(window)
    hand.settle()
    hand.open(job_file)
    hand.scale()
    hand.key("t")
    hand.press(*A)
    hand.press(*B)
    window.shut()
    with actions.open_job(job_file, signed) as store:
        assert len(store.job.runs) == 1


@pytest.mark.parametrize(
    ("key", "by_inches"), [("Right", (1, 0)), ("Up", (0, -1)), ("Shift-Down", (0, 10)), ("Left", (-1, 0))]
)
def test_arrow_keys_move_the_selected_point_an_inch_and_ten_with_shift(scaled, key, by_inches):
    scaled.key("t")
    for point in (A, B, C, D):
        scaled.press(*point)
    scaled.key("c")
    scaled.key("v")
    scaled.press(*the_run(scaled).points_pt[2])
    x, y = the_run(scaled).points_pt[2]
    scaled.chord(key)
    moved = the_run(scaled).points_pt[2]
    step = PT_PER_FOOT / 12
    assert moved == pytest.approx((x + by_inches[0] * step, y + by_inches[1] * step), abs=1e-6)
    scaled.chord("Control-z")
    assert the_run(scaled).points_pt[2] == pytest.approx((x, y))


def test_an_opening_goes_along_its_wall_by_arrow_keys(scaled):
    scaled.key("t")
    scaled.press(*A)
    scaled.press(*B)
    scaled.key("Return")
    scaled.key("d")
    scaled.press(390.0, 240.0)
    scaled.key("v")
    at = the_run(scaled).openings[0].at
    scaled.key("Right")
    assert the_run(scaled).openings[0].at == pytest.approx(at + FOOT / 12)


def test_a_room_is_traced_by_keys_alone(scaled, typing):
    scaled.key("t")
    typing("12', 10'")
    typing("20' 0°")
    typing("10' 270°")
    typing("20' 180°")
    scaled.key("c")
    session = scaled.window.session
    run = the_run(scaled)
    assert sheet_to_displayed(session.sheet, *run.points_pt[0]) == pytest.approx((12 * PT_PER_FOOT, 10 * PT_PER_FOOT))
    # 20 by 10 ft: 60 ft round
    assert session.measured()[0].measurement is not None
    sides = [math.dist(a, b) for a, b in zip(run.points_pt, (*run.points_pt[1:], run.points_pt[0]), strict=True)]
    assert sum(sides) == pytest.approx(60 * PT_PER_FOOT)


def test_measuring_tells_length_angle_and_area_and_keeps_nothing(scaled, typing):
    before = scaled.window.session.job
    scaled.key("m")
    scaled.press(*A)
    scaled.move(*B)
    assert scaled.window.tool.readout().endswith("  0.0°")
    typing("10' 0 deg")
    scaled.key("Return")
    assert scaled.window.session.message.startswith("Measured: 10'-0\" long")
    scaled.press(*A)
    for step in ("10' 0 deg", "5' 270 deg", "10' 180°"):
        typing(step)
    scaled.key("c")
    assert "Measured: 50.0 sf inside, 30'-0\" round" in scaled.window.session.message
    scaled.press(*A)
    scaled.key("v")
    assert scaled.window.session.job == before


def test_kinds_of_snaps_are_switched_by_a_key(hand, job_file):
    hand.open(job_file)
    hand.scale()
    hand.wait(lambda: hand.window.snapper.is_ready(hand.window.session.sheet))
    x, y = hand.ROOM[0]
    near = (x + 3 * hand.window.canvas.pt_per_pixel(), y)
    hand.key("t")
    found = []
    for _ in range(4):
        hand.move(*near)
        found.append((hand.window.tool.at.snap, hand.window.session.message))
        hand.key("o")
    assert [bool(kind) for kind, _ in found] == [True, True, False, True]
    assert "nothing" in found[2][1]


def test_widths_that_were_dragged_are_there_again_in_the_next_window(tmp_path, traced_job):
    from tests.gui.conftest import Hand

    preferences = tmp_path / "own.json"
    window = DeskWindow(preferences)
    window.geometry("1280x760+0+0")
    hand = Hand(window)
    hand.settle()
    hand.open(traced_job)
    window.session.select(Selection(runs=("104-walls",)))
    hand.settle()
    before = window.desk.sizes
    for part, dx in (("sheets", 40), ("side", -50)):
        edge = window.desk._edges[part]
        x, y = edge.winfo_rootx(), edge.winfo_rooty() + 20
        edge.event_generate("<ButtonPress-1>", rootx=x, rooty=y)
        edge.event_generate("<B1-Motion>", rootx=x + dx, rooty=y)
        edge.event_generate("<ButtonRelease-1>", rootx=x + dx, rooty=y)
        hand.settle()
    after = window.desk.sizes
    assert after.sheets > before.sheets
    assert after.side > before.side
    window.shut()
    again = DeskWindow(preferences)
    assert again.desk.sizes == after
    again.shut()


def test_several_rooms_take_a_height_at_once_and_a_slope_goes_to_their_walls(hand, opened):
    window, session = hand.window, hand.window.session
    session.select(Selection(runs=("104-walls", "105-walls")))
    hand.settle()
    hand.type(window.details.room["height"].entry, "13'")

    def heights():
        return [session.job.rooms[id].height.points[0][1] for id in ("R104", "R105")]

    assert heights() == pytest.approx([13 * FOOT, 13 * FOOT])
    assert "Set the height of" in session.message
    hand.type(window.details.room["height"].entry, "9' to 12'")
    assert "Select one wall and set its own top" in session.message
    assert heights() == pytest.approx([13 * FOOT, 13 * FOOT])
    hand.type(window.details.wall["height"].entry, "9' to 12'")
    for id in ("104-walls", "105-walls"):
        first, last = (h for _, h in session.job.runs[id].height.points)
        assert (first, last) == pytest.approx((9 * FOOT, 12 * FOOT))
    hand.chord("Control-z")
    assert session.job.runs["104-walls"].height is None
