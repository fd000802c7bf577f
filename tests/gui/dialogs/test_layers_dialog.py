"""The dialog of layers: what it hides is neither seen nor snapped to, and kinds of marks are dimmed and hidden."""

from __future__ import annotations

import io
from itertools import pairwise

import ezdxf
import pytest

from takeoff import actions
from takeoff.gui.dialogs.drawing_dialogs import LayersDialog
from takeoff.gui.session import Selection
from takeoff.sheet.layers import LayerLook
from tests.jobs import job_on


@pytest.fixture
def layered_job(tmp_path):
    """A job with a DXF drawing: a room on one layer, a desk on another."""
    drawing = ezdxf.new(units=4)
    space = drawing.modelspace()
    for name, points in (
        ("A-WALL", [(0, 0), (6000, 0), (6000, 4000), (0, 4000), (0, 0)]),
        ("I-FURN", [(2000, 1000), (3000, 1000), (3000, 2000), (2000, 2000), (2000, 1000)]),
    ):
        drawing.layers.add(name)
        for a, b in pairwise(points):
            space.add_line(a, b, dxfattribs={"layer": name})
    text = io.StringIO()
    drawing.write(text)
    path = tmp_path / "layers.takeoff"
    with job_on(path, ("plan.dxf", text.getvalue().encode()), units="metric") as store:
        actions.set_scale_ratio(store, store.job.sheets[1], "1:50")
    return path


@pytest.fixture
def layers(hand):
    """Opens the dialog by its key; returns it and a function that chooses rows by their names and presses a key."""

    def opened():
        hand.chord("Control-l")
        hand.settle()
        dialog = hand.dialogs(LayersDialog)[0]

        def press(key, *names):
            rows = [
                row for row in dialog.table.tree.get_children() if dialog.table.tree.set(row, "On the plan") in names
            ]
            assert len(rows) == len(names)
            dialog.table.tree.selection_set(rows)
            hand.give_keys(dialog.table.tree)
            dialog.table.tree.event_generate(key)
            hand.settle()

        return dialog, press

    return opened


def seen(dialog):
    tree = dialog.table.tree
    return {tree.set(row, "On the plan"): tree.set(row, "Seen") for row in tree.get_children()}


def ink(canvas):
    """Darkest colour of each pixel of the sharp picture that the canvas has."""
    return canvas._picture._sharp.pixels.min(axis=2)


def test_a_hidden_layer_is_neither_seen_nor_snapped_to_until_it_is_shown(hand, layers, layered_job):
    hand.open(layered_job)
    canvas, session = hand.window.canvas, hand.window.session
    hand.wait(lambda: canvas.is_sharp and hand.window.snapper.is_ready(session.sheet))
    before = ink(canvas).copy()
    ends = {tuple(round(v) for v in line[:2]) for line in hand.window.snapper._indexes[1].segments.tolist()}
    dialog, press = layers()
    assert seen(dialog)["Layer I-FURN"] == "shown"
    press("h", "Layer I-FURN")
    assert seen(dialog)["Layer I-FURN"] == "hidden"
    assert session.looks[1] == LayerLook(hidden=frozenset({"I-FURN"}))
    hand.wait(lambda: canvas.is_sharp and hand.window.snapper.is_ready(session.sheet))
    assert (ink(canvas) > before).any()
    left = {tuple(round(v) for v in line[:2]) for line in hand.window.snapper._indexes[1].segments.tolist()}
    assert left < ends
    press("s", "Layer I-FURN")
    hand.wait(lambda: canvas.is_sharp and hand.window.snapper.is_ready(session.sheet))
    assert (ink(canvas) == before).all()
    assert session.looks == {}


def test_a_dimmed_layer_is_paler_and_still_snapped_to(hand, layers, layered_job):
    hand.open(layered_job)
    canvas = hand.window.canvas
    hand.wait(lambda: canvas.is_sharp)
    before = ink(canvas).copy()
    dialog, press = layers()
    press("d", "Layer I-FURN", "Layer A-WALL")
    assert set(list(seen(dialog).values())[-2:]) == {"dimmed"}
    hand.wait(lambda: canvas.is_sharp and hand.window.snapper.is_ready(hand.window.session.sheet))
    drawn = before < 200
    assert drawn.any()
    assert (ink(canvas)[drawn] > before[drawn]).all()
    assert len(hand.window.snapper._indexes[1].segments) == 8


def test_kinds_of_marks_are_dimmed_and_hidden_and_the_key_h_shows_all_again(hand, layers, opened):
    session = hand.window.session
    session.select(Selection())

    def shapes():
        return hand.window.canvas._shapes._shapes

    count = len(shapes())
    strong = {shape.colour for shape in shapes() if shape.kind == "line"}
    dialog, press = layers()
    press("h", "Names of rooms", "Openings", "Coated sides")
    assert len(shapes()) < count
    assert not [shape for shape in shapes() if shape.kind == "text"]
    press("d", "Walls")
    assert not strong & {shape.colour for shape in shapes() if shape.kind == "line"}
    press("s", *seen(dialog))
    assert len(shapes()) == count
    dialog.destroy()
    hand.key("h")
    assert session.marks == {"names": "hidden"}


def test_nothing_chosen_is_told(hand, layers, opened):
    dialog, press = layers()
    press("h")
    assert "Click a row first" in dialog.said.cget("text")
