"""Presses in rooms while the drawing is being read: kept, shown to wait, done when it has been read, or let be."""

from __future__ import annotations

import io
import json
import os

import pytest
import shapely
from PIL import Image

from takeoff import actions
from tests.jobs import job_on

pytestmark = pytest.mark.usefixtures("works_anew")


SHEETS = {
    "scan": ("facility-scan.png", "facility-scan-edits.json"),
    "vector": ("facility-imperial.pdf", "facility-edits.json"),
}
PART = (1150, 2000, 2250, 3100)
"""Pixels of the scan round room 106: reading the whole of it takes ten times as long."""
POINT = 72.0 / 200.0
"""Sheet points of one of its pixels."""


def part_of_scan(data, runs):
    """Cut the scan down to room 106; return it, and the room alone as it is traced there."""
    picture = io.BytesIO()
    Image.open(io.BytesIO(data)).crop(PART).save(picture, "PNG", dpi=(200, 200))
    room = next(run["points"] for run in runs if run["id"] == "106-walls")
    points = [(x - PART[0] * POINT, y - PART[1] * POINT) for x, y in room]
    return picture.getvalue(), [{"id": "106-walls", "points": points}]


class Reading:
    """The tool for rooms in hand, and the reading process held up until it is told to go on."""

    def __init__(self, hand, kind, folder):
        self.hand = hand
        plan_name, edits_name = SHEETS[kind]
        plan = actions.sample_plans() / plan_name
        runs = json.loads((actions.sample_plans() / edits_name).read_text())["runs"]
        data = plan.read_bytes()
        if kind == "scan":
            data, runs = part_of_scan(data, runs)
        self._points = {run["id"].removesuffix("-walls"): run["points"] for run in runs}
        path = folder / "waiting.takeoff"
        with job_on(path, (plan.name, data), name="Waiting") as store:
            actions.set_scale_note(store, store.job.sheets[1], '1/4" = 1\'-0"')
        hand.open(path)
        self._gate = folder / "gate"
        os.mkfifo(self._gate)
        self._held_up = hand.window.process.submit(os.open, str(self._gate), os.O_RDONLY)
        hand.key("g")
        assert hand.window.tool.is_waiting

    def middle_of(self, room):
        """The middle of a room's walls, from the sample's own tracing."""
        points = self._points[room]
        return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)

    def press(self, room):
        self.hand.press(*self.middle_of(room))

    def traced(self):
        """The rooms whose middles lie inside what was traced."""
        runs = self.hand.window.session.job.runs.values()
        outlines = [shapely.Polygon(run.points_pt) for run in runs if len(run.points_pt) > 2]  # two make a round column
        middles = {room: shapely.Point(self.middle_of(room)) for room in self._points if room.isdigit()}
        return {room for room, middle in middles.items() if any(outline.contains(middle) for outline in outlines)}

    def go_on(self):
        self._gate.write_bytes(b"")

    def until_read(self):
        tool = self.hand.window.tool
        self.hand.wait(lambda: not tool.is_waiting and not tool.is_holding)
        assert not tool.is_waiting
        self.hand.settle()

    def release(self):
        """Let the reading process end where nothing let it go on."""
        gate = os.open(self._gate, os.O_RDWR)
        self._held_up.exception(timeout=60)
        os.close(gate)


@pytest.fixture
def reading(request, hand, tmp_path):
    made = Reading(hand, getattr(request, "param", "vector"), tmp_path)
    yield made
    made.release()


@pytest.mark.parametrize("reading", ["scan"], indirect=True)
def test_a_press_while_a_scan_is_read_is_kept_shown_and_done_when_it_has_been_read(hand, reading):
    window = hand.window
    assert str(window.canvas["cursor"]) == "hand2"
    reading.press("106")
    assert str(window.canvas["cursor"]) == "watch"
    assert "as soon as the drawing has been read" in window.desk.status.cget("text")
    assert "Escape" in window.desk.prompt.cget("text")
    assert any(shape.text.strip() == "waits …" for shape in window.tool.preview())
    assert window.session.job.runs == {}
    reading.go_on()
    reading.until_read()
    assert reading.traced() == {"106"}
    assert str(window.canvas["cursor"]) == "hand2"
    assert window.desk.status.cget("text").startswith("1 room traced.")
    hand.chord("Control-z")
    assert window.session.job.runs == {}


def test_presses_in_several_rooms_are_one_step_and_two_in_one_room_trace_it_once(hand, reading):
    x, y = reading.middle_of("106")
    hand.press(x, y)
    hand.press(x + 20, y + 20)
    reading.press("107")
    reading.go_on()
    reading.until_read()
    assert reading.traced() == {"106", "107"}
    assert len(hand.window.session.job.rooms) == 2
    hand.chord("Control-z")
    assert hand.window.session.job.rooms == {}


def test_escape_lets_a_press_be_that_waits_and_keeps_the_tool(hand, reading):
    reading.press("106")
    hand.key("Escape")
    assert hand.window.tool.id == "room"
    assert str(hand.window.canvas["cursor"]) == "hand2"
    assert "nothing will be traced" in hand.window.desk.status.cget("text")
    reading.go_on()
    reading.until_read()
    assert hand.window.session.job.runs == {}


def test_another_tool_lets_a_press_be_that_waits(hand, reading):
    reading.press("106")
    hand.key("v")
    reading.go_on()
    hand.key("g")
    reading.until_read()
    assert hand.window.session.job.runs == {}


def test_enter_while_a_sheet_is_read_traces_every_room_when_it_has_been_read(hand, reading):
    hand.key("Return")
    assert str(hand.window.canvas["cursor"]) == "watch"
    reading.go_on()
    reading.until_read()
    assert len(reading.traced()) == 8


def test_a_press_outside_all_rooms_is_said_when_the_sheet_has_been_read_and_the_others_are_traced(hand, reading):
    hand.press(12.0, 12.0)
    reading.press("106")
    reading.go_on()
    reading.until_read()
    assert reading.traced() == {"106"}
    assert "No closed room was found at 1 other click." in hand.window.desk.status.cget("text")


def test_a_sheet_that_could_not_be_read_is_said_and_read_anew_when_the_tool_is_taken_again(hand, reading):
    tool = hand.window.tool
    reading.press("106")

    def is_told():
        if (child := hand.window.process._process) is not None:  # what waits behind gets a new one, which ends too
            child.terminate()
        return tool.fault

    hand.wait(is_told)
    assert "could not be read" in hand.window.desk.status.cget("text")
    assert str(hand.window.canvas["cursor"]) == "hand2"
    hand.key("g")
    reading.press("106")
    reading.until_read()
    assert reading.traced() == {"106"}


def test_a_press_after_the_scale_was_set_anew_waits_for_the_sheet_to_be_read_again(hand, reading):
    reading.go_on()
    reading.until_read()
    session = hand.window.session
    actions.set_scale_note(session.store, session.sheet, "1:50")
    assert hand.window.tool.is_waiting
    reading.press("106")
    assert hand.window.tool.is_holding
    reading.until_read()
    assert reading.traced() == {"106"}


def test_the_list_of_open_points_does_not_wait_for_the_sheet_to_be_read(hand, reading):
    hand.key("F12")
    hand.wait(lambda: hand.window.figures.panels["Open points"].result is not None)
    assert hand.window.tool.is_waiting
