"""Rooms by a press: printed ceiling heights, what a room takes, where the plan goes, what is said and in what units.

What the sample plan prints (CLG 12'-0" in 104, CLG 12'-0" W TO 9'-0" E in 107) stands in sample_plans/draw.py's
drawing for anyone to read; a foot is 0.3048 m exactly.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from takeoff import actions
from takeoff.errors import EditError
from takeoff.gui.tools.tool import in_places
from takeoff.gui.wording import words_of
from takeoff.model.open_points import basis_of
from takeoff.model.walls import HeightProfile, Room
from takeoff.units import Display, in_units

PROCESS, STORE, NOWHERE = (300.0, 400.0), (1500.0, 400.0), (1850.0, 900.0)
IMPERIAL = Display(system="imperial", precision=16, currency="USD")


@pytest.fixture
def ready(hand, job_file):
    """The tool in hand on the sample plan, which has been read."""
    hand.open(job_file)
    hand.key("s")
    hand.type(hand.window.scale_panel.written.entry, '1/4" = 1\'-0"')
    hand.settle()
    hand.key("g")
    hand.wait(lambda: not hand.window.tool.is_waiting)
    assert not hand.window.tool.is_waiting
    return hand


def room(hand, number):
    (found,) = [r for r in hand.window.session.job.rooms.values() if r.number == number]
    return found


def test_a_room_takes_the_height_printed_in_it_and_the_status_says_so(ready):
    session = ready.window.session
    session.next_room = Room(id="new", height=HeightProfile.constant(3.0))
    ready.press(*PROCESS)
    assert room(ready, "104").height.points[0][1] == pytest.approx(12 * 0.3048)
    assert "104 CLG 12'-0\"" in session.message


def test_a_room_whose_ceiling_slopes_is_left_without_a_height_and_asked_for(ready):
    session = ready.window.session
    session.next_room = Room(id="new", height=HeightProfile.constant(3.0))
    ready.press(*STORE)
    assert room(ready, "107").height is None
    assert "CLG 12'-0\" W TO 9'-0\" E" in session.message
    assert "Type the height of 107 STORE" in ready.window.tool.prompt()


def test_a_new_room_takes_the_system_of_the_room_before_as_an_open_point(ready):
    session = ready.window.session
    ready.press(*PROCESS)
    system = session.systems()[0][0]
    session.put_rooms([replace(room(ready, "104"), system=system)], "Set the system")
    ready.press(*STORE)
    assert room(ready, "107").system == system
    assert basis_of(room(ready, "104"), "system") is None  # a person gave it
    assert basis_of(room(ready, "107"), "system").is_open


def test_a_room_that_is_traced_is_no_longer_shown_as_a_preview(ready):
    tool = ready.window.tool
    ready.move(*PROCESS)
    assert tool.preview()
    ready.press(*PROCESS)
    ready.move(PROCESS[0] + 5, PROCESS[1])
    assert tool.preview() == ()
    assert tool.readout() == ""
    ready.window.do("undo")
    ready.move(*PROCESS)
    assert tool.preview()


def test_the_plan_goes_to_each_doubtful_room_in_turn(ready):
    window, tool = ready.window, ready.window.tool
    read = tool._read()
    far = [read.room_at(PROCESS), read.room_at(STORE)]
    tool.queue = [replace(r, sure=False) for r in far]
    window.canvas.zoom_at(20.0, 5, 5)
    tool._look()
    ready.move(*NOWHERE)
    assert tool.readout() == ""  # what is asked is about another room than the one under the pointer
    assert f"{far[0].confidence:.0%} sure" in tool.asked().words[0]
    for found in far:
        ready.settle()
        wide, high = window.canvas.winfo_width(), window.canvas.winfo_height()
        for point in found.points_pt:
            x, y = window.canvas.to_pixel(point)
            assert 0 <= x <= wide
            assert 0 <= y <= high
        ready.key("n")
    assert tool.queue == []


def test_where_no_wall_closes_a_room_is_drawn_and_told_as_places_stand_beside_the_pointer(ready):
    tool, session = ready.window.tool, ready.window.session
    found = replace(tool._read().room_at(PROCESS), sure=False, leaks_pt=(((144.0, 288.0), (144.0, 324.0)),))
    tool.queue = [replace(found, reasons=("No wall closes it at 144,306 for 0.61 m.",))]
    # at 1/4" = 1'-0" a foot is 18 points: 144 are 8 ft, 306 are 17 ft, 0.61 m are 2 ft
    assert tool.asked().words[-1] == "No wall closes it at 8'-0\" across and 17'-0\" down for 2'-0\"."
    assert found.leaks_pt[0] in [shape.points_pt for shape in tool.preview()]
    for told, sheet in (("at 1,2 for 3 m", replace(session.sheet, id=99)), ("taken at 1,234.5 sf", session.sheet)):
        assert in_places(told, session, sheet) == told  # no scale, and no place


def test_notes_are_sentences_with_a_capital(ready):
    ready.press(*PROCESS)
    notes = ready.window.session.message.split(". ")
    assert len(notes) > 1
    assert all(note[0].isupper() or note[0].isdigit() for note in notes)


def test_a_press_in_no_room_is_told_in_the_units_of_the_job(ready):
    ready.press(*NOWHERE)
    message = ready.window.session.message
    assert message.startswith("No closed room was found round ")
    assert "'-" in message
    assert "1850" not in message


@pytest.mark.parametrize(
    ("metric", "imperial"),
    [
        # 1.2 m² ÷ 0.09290304 = 12.92 square feet; 40 mm = 1.575 in, to the nearest 16th 1 9/16
        ("It is only 1.2 m² large.", "It is only 12.9 sf large."),
        ("3 sides are shorter than 40 mm.", "3 sides are shorter than 0'-1 9/16\"."),
        ("3.0 m of lines stand in it.", "9'-10 1/8\" of lines stand in it."),
        ("2 names stand in it.", "2 names stand in it."),
    ],
)
def test_reasons_for_doubt_have_the_units_of_the_job(metric, imperial):
    assert in_units(metric, IMPERIAL) == imperial
    assert in_units(metric, replace(IMPERIAL, system="metric")) == metric


def test_a_corner_off_the_sheet_is_refused_without_its_place_in_points():
    error = EditError("(12.5, -300) lies off the sheet of 2448 × 1584 points", remedy="Pick on it.", where="run A")
    assert words_of(error) == "Run A: a point lies off the sheet. Pick on it."


def test_an_opening_placed_by_hand_is_as_wide_as_the_drawn_gap(ready):
    """The pair of doors in the lower wall of 104 is drawn, and stands in the opening schedule, as 6'-0" wide."""
    session = ready.window.session
    ready.key("b")
    ready.press(210.0, 330.0)
    ready.press(858.0, 726.0)
    ready.key("d")
    ready.press(540.0, 726.0)
    (run,) = session.job.runs.values()
    (opening,) = run.openings
    assert opening.width == pytest.approx(6 * 0.3048, abs=0.02)
    ready.chord("Control-z")
    ready.type(ready.window.entry, "3070")
    ready.press(540.0, 726.0)
    (run,) = session.job.runs.values()
    assert run.openings[0].width == pytest.approx(3 * 0.3048)


def test_a_room_to_be_looked_at_is_asked_beside_the_plan_and_taken_edited_or_dropped_there(ready):
    window, tool = ready.window, ready.window.tool
    read = tool._read()
    why = ("No opening leads into it.", "It is only 1.2 m² large.")
    tool.queue = [replace(read.room_at(pt), sure=False, reasons=why) for pt in (PROCESS, STORE, PROCESS)]
    tool._look()
    window.show_side()
    panel = window.desk.look_panel
    assert panel.winfo_ismapped() or panel._parent_frame.winfo_manager()
    assert "104 PROCESS" in panel.asked.title
    assert panel.asked.words[1:] == ("No opening leads into it.", "It is only 12.9 sf large.")
    assert set(panel.buttons) == {"y", "e", "c", "n"}
    panel.buttons["e"].invoke()
    assert window.desk._side is window.desk.details
    assert room(ready, "104")
    ready.key("n")  # a key of the tool no more: the room taken is being edited
    assert len(tool.queue) == 2
    ready.key("Return")
    assert "107 STORE" in panel.asked.title
    assert window.desk._side is panel
    panel.buttons["n"].invoke()
    ready.key("n")
    assert tool.queue == []
    assert window.desk._side is not panel


def test_what_was_traced_is_said_in_a_line_and_reasons_stand_in_the_open_points(ready):
    session, tool = ready.window.session, ready.window.tool
    read = tool._read()
    ((region, scale, plan),) = read.parts
    why = ("An opening is doubtful: it is drawn twice.",)
    doubted = replace(
        read.room_at(PROCESS), sure=False, outline_sure=True, reasons=("Lines.", *why * 9), unread=why * 9
    )
    rooms = tuple(doubted if room.number == "104" else room for room in plan.rooms)
    shown = replace(read, parts=((region, scale, replace(plan, rooms=rooms)),))
    tool._take(lambda: tool._trace(shown, at=[PROCESS]))
    assert session.message.startswith("1 room traced. Look at 104 PROCESS: its open points say why (F12).")
    assert "drawn twice" not in session.message
    assert not session.is_refusal
    assert any("drawn twice" in point.why for point in actions.open_points(session.job).open)


def test_a_long_refusal_leaves_the_plan_to_be_seen_and_is_over_with_its_sheet(ready):
    window = ready.window
    window.refuse("A door was not read. " * 200)
    window.update()
    assert window.desk.banner.winfo_height() < 0.4 * window.canvas.winfo_height()
    assert window.desk.status.winfo_reqheight() < 60
    assert window.desk.status.cget("text").endswith("…")
    window.choose_sheet(2)
    assert "door" not in window.desk.status.cget("text")


def test_a_room_that_is_found_and_is_not_coated_is_confirmed_as_such_and_one_left_open_stays_open(ready):
    session, tool = ready.window.session, ready.window.tool
    read = tool._read()
    ((region, scale, plan),) = read.parts
    rooms = tuple(
        replace(room, sure=False, outline_sure=False) if room.number in ("104", "107") else room for room in plan.rooms
    )
    shown = replace(read, parts=((region, scale, replace(plan, rooms=rooms)),))
    tool._take(lambda: tool._trace(shown))

    def left():
        return {p.what for p in actions.open_points(session.job).open if p.what.startswith("Room not taken")}

    assert left() == {"Room not taken: 104 PROCESS", "Room not taken: 107 STORE"}
    assert [room.number for room in tool.queue] == ["104", "107"]
    assert session.message.startswith(f"{len(plan.rooms) - 2} rooms traced.")
    ready.window.show_side()
    ready.window.desk.look_panel.buttons["c"].invoke()
    assert left() == {"Room not taken: 107 STORE"}
    assert "is not coated" in session.message
    ready.key("n")
    assert left() == {"Room not taken: 107 STORE"}
    assert tool.queue == []
    session.undo()
    assert len(left()) == 2


def test_where_no_room_is_sure_that_is_said_and_the_first_stands_in_the_middle_beside_the_panel(ready):
    window, tool = ready.window, ready.window.tool
    read = tool._read()
    ((region, scale, plan),) = read.parts
    rooms = tuple(replace(room, sure=False, outline_sure=False) for room in plan.rooms)
    shown = replace(read, parts=((region, scale, replace(plan, rooms=rooms)),))
    assert not window.desk._layout.shows_side
    tool._take(lambda: tool._trace(shown))
    ready.settle()
    assert window.session.message.startswith("No room is sure: look at each.")
    assert window.desk._layout.shows_side
    across = [window.canvas.to_pixel(point)[0] for point in tool.queue[0].points_pt]
    assert (min(across) + max(across)) / 2 == pytest.approx(window.canvas.winfo_width() / 2, abs=3)
