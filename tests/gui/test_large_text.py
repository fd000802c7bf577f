"""The window with its text at 200 %: nothing is cut off, nothing lies on anything else."""

from __future__ import annotations

import pytest

from takeoff.gui.session import Selection
from takeoff.gui.widgets import toolkit


@pytest.fixture(scope="module")
def text_size():
    return 2.0


def test_every_dialog_at_twice_the_text_size_keeps_its_buttons_on_the_screen(hand, traced_job):
    window = hand.window
    hand.open(traced_job)
    for id in ("settings", "systems", "reports", "history", "use", "about"):
        window.do(id)
        hand.settle()
        (dialog,) = hand.dialogs()
        buttons = dialog.foot.winfo_children()
        assert buttons, id
        for made in buttons:
            assert made.winfo_rootx() >= 0, id
            assert made.winfo_rootx() + made.winfo_width() <= window.winfo_screenwidth(), id
            assert made.winfo_rooty() + made.winfo_height() <= window.winfo_screenheight(), id
        dialog.destroy()


def test_at_twice_the_text_size_prompts_take_two_lines_at_most(hand, job_file):
    window = hand.window
    window.geometry("1280x736+0+0")
    hand.open(job_file)
    hand.key("F5")
    hand.settle()
    hand.scale()
    hand.key("t")
    hand.settle()
    height = window.desk.prompt.winfo_height()
    for corner in hand.ROOM:
        hand.press(*corner)
        hand.settle()
        assert window.desk.prompt._label.winfo_reqheight() <= height
        assert window.desk.prompt.winfo_height() == height


def test_names_of_rooms_grow_with_the_text_and_never_lie_on_one_another(hand, opened):
    canvas = hand.window.canvas
    hand.settle()
    names = {r.number for r in hand.window.session.job.rooms.values()}

    def shown():
        return [
            item
            for item in canvas.find_all()
            if canvas.type(item) == "text"
            and canvas.itemcget(item, "text").split(" ")[0] in names
            and canvas.itemcget(item, "state") != "hidden"
        ]

    boxes = [canvas.bbox(item) for item in shown()]
    assert boxes
    assert all(box[3] - box[1] >= 18 for box in boxes)
    for i, (x0, y0, x1, y1) in enumerate(boxes):
        assert all(x1 <= a0 or x0 >= a1 or y1 <= b0 or y0 >= b1 for a0, b0, a1, b1 in boxes[:i])
    few = len(boxes)
    for _ in range(4):
        hand.key("plus")
    hand.settle()
    assert len(shown()) >= few
    assert len(shown()) == len(
        [r for r in hand.window.session.runs_here() if r.closed and r.room and r.id.endswith("walls")]
    )


def test_text_grows_by_steps_to_twice_its_size_and_shrinks_again(hand):
    sizes = []
    for id in ("smaller", "smaller", "larger", "larger", "larger"):
        hand.window.do(id)
        sizes.append(hand.window.preferences.text_size)
    assert sizes == [1.75, 1.5, 1.75, 2.0, 2.0]
    assert toolkit.text_size() == 2.0


@pytest.mark.parametrize("width", [1280, 1440])
def test_no_tool_is_cut_off_in_a_narrow_window(hand, opened, width):
    hand.window.geometry(f"{width}x760+0+0")
    hand.settle()
    for made in hand.window.desk.bar.tools.values():
        assert made.winfo_x() + made.winfo_width() <= hand.window.winfo_width() - 2
        assert made._text_label.winfo_width() >= made._text_label.winfo_reqwidth()


def test_the_name_of_every_system_is_read_whole_in_the_panel(hand, opened):
    session = hand.window.session
    session.select(Selection(runs=("104-walls",)))
    hand.key("F5")
    hand.settle()
    field = hand.window.details.room["system"]
    label = field.menu._text_label
    for id, _ in session.systems():
        field.show(id)
        hand.settle()
        assert label.winfo_reqheight() <= field.menu.winfo_height()
        assert label.winfo_reqwidth() <= label.winfo_width()
