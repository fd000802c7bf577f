"""What a person meets who has never seen the window: where the keys go, what is said next, nothing out of sight."""

from __future__ import annotations

import ast
import re
import tkinter
from dataclasses import replace
from pathlib import Path

import pytest

import takeoff
from takeoff import actions
from takeoff.apart import go_apart
from takeoff.errors import EditError
from takeoff.gui.commands import show_keys
from takeoff.gui.session import Selection
from takeoff.gui.widgets.parts import button
from takeoff.gui.wording import remedy_here, words_of
from takeoff.model.walls import Room
from takeoff.sheet.frame import displayed_size, displayed_to_sheet
from takeoff.signing import signed
from tests.gui.contrast import contrast


def scaled(hand, path):
    """Open a job and give its first sheet the scale that it states, 1/4" = 1'-0"."""
    hand.open(path)
    hand.scale()


def traced(hand, path):
    """Trace one room by hand, with nothing said of it yet."""
    scaled(hand, path)
    hand.key("t")
    for corner in hand.ROOM:
        hand.press(*corner)
    hand.key("c")
    hand.settle()


# -- keys --------------------------------------------------------------------------------------------------------


def test_keys_go_to_the_plan_again_when_a_dialog_is_closed(hand, job_file):
    hand.open(job_file)
    window = hand.window
    dialog = show_keys(window)
    hand.settle()
    hand.key_in(dialog, "<Escape>")
    assert not dialog.winfo_exists()
    assert window.focus_get() is window.canvas


def test_escape_closes_every_dialog(hand, opened):
    for id in ("settings", "systems", "reports", "history", "use", "reading", "keys", "about"):
        hand.window.do(id)
        hand.settle()
        (dialog,) = hand.dialogs()
        hand.key_in(dialog, "<Escape>")
        assert not dialog.winfo_exists(), id


def test_keys_go_to_the_plan_after_a_choice_and_after_a_press_beside_a_field(hand, job_file):
    traced(hand, job_file)
    window = hand.window
    hand.give_keys(window.details.room["cove"].entry._entry)
    window.details.room["system"]._chosen("Thin-film epoxy wall")
    assert window.focus_get() is window.canvas
    for widget in (window.desk.prompt._label, window.figures.pages["Walls"]._canvas):
        hand.give_keys(window.details.room["name"].entry._entry)
        hand.click(widget)
        window.use_tool("pick")
        window.focus_get().event_generate("d")
        hand.settle()
        assert window.tool.id == "opening"
        assert window.details.room["name"].entry.get() == "PROCESS"  # as printed; no key went into it


def test_keys_work_while_the_arithmetic_is_looked_at(hand, opened):
    hand.window.desk.show_page("Rooms")
    hand.settle()
    box = hand.window.figures.working._textbox
    hand.key_in(box, "<KeyPress-t>")
    assert hand.window.tool.id == "trace"


def test_tab_goes_from_a_rooms_height_to_its_system_and_down_opens_the_list(hand, job_file):
    traced(hand, job_file)
    details = hand.window.details
    hand.key_in(details.room["height"].entry._entry, "<Tab>")
    inner = details.room["system"].menu._canvas
    assert hand.window.focus_get() is inner
    inner.event_generate("<KeyPress-Down>")
    hand.settle()
    assert details.room["system"].menu._dropdown_menu.is_open()
    details.room["system"].menu._dropdown_menu.event_generate("<KeyPress-Escape>")
    hand.settle()


def test_a_button_is_used_by_the_space_bar(hand):
    done = []
    made = button(hand.window.start, "Do it", lambda: done.append(1))
    made.pack()
    hand.key_in(made._canvas, "<KeyPress-space>")
    assert done == [1]


# -- what is said ------------------------------------------------------------------------------------------------


def test_a_traced_room_asks_for_its_height_then_its_system_and_takes_the_height_as_typed(hand, job_file):
    traced(hand, job_file)
    window = hand.window
    (room,) = window.session.job.rooms.values()
    window.session.put_rooms([Room(id=room.id, name="Store")], "A room in which nothing is printed")
    hand.settle()
    assert "Type the height of Store" in window.tool.prompt()
    assert "Select the wall and type a height." in window.figures.working.get("1.0", "end")
    hand.type(window.entry, "12'")
    (room,) = window.session.job.rooms.values()
    assert room.height.points[0][1] == pytest.approx(12 * 0.3048)
    assert "Choose the system of Store" in window.tool.prompt()
    window.details.room["system"]._chosen("Thin-film epoxy wall")
    assert window.tool.prompt() == "Click the first point of a wall to trace"


def test_a_typed_length_that_nothing_waits_for_is_refused_and_not_lost(hand, opened):
    hand.key("v")
    hand.type(hand.window.entry, "9'")
    assert hand.window.session.is_refusal
    assert "No tool or field takes the length 9'" in hand.window.session.message
    assert hand.window.entry.get() == "9'"


def test_a_length_begun_on_the_plan_takes_the_place_of_one_that_was_refused(hand, opened):
    hand.key("v")
    hand.type(hand.window.entry, "9'")
    hand.key("1")
    assert hand.window.entry.get() == "1"
    hand.key("Escape")
    assert hand.window.entry.get() == ""


def test_a_refused_change_of_a_wall_is_said_and_changes_nothing(hand, job_file):
    traced(hand, job_file)
    session = hand.window.session
    before = session.job
    session.tell("Something said before")
    hand.window.details.wall["line"]._chosen("its centreline")
    assert session.job is before
    assert session.is_refusal
    assert "thickness" in session.message


def test_what_is_done_is_told_as_done_and_what_is_refused_as_a_sentence(hand, job_file):
    traced(hand, job_file)
    assert hand.window.session.message == "Trace a room: 104 PROCESS, 12'-0\" high, as it is printed there."
    hand.window.do("flip")
    assert hand.window.session.message == "Done: Coat the other side of wall of 104 PROCESS"
    assert words_of(EditError("no corner is selected", remedy="Press one.")) == "No corner is selected. Press one."


def test_walls_are_called_by_their_rooms_and_never_by_an_id(hand, job_file):
    scaled(hand, job_file)
    window, session = hand.window, hand.window.session
    for corners in (hand.ROOM[:2], hand.ROOM[2:]):
        hand.key("t")
        for corner in corners:
            hand.press(*corner)
        hand.key("Return")
        hand.settle()
    first, second = session.job.runs
    session.put_runs([replace(session.job.runs[second], room=session.job.runs[first].room)], f"Move {second}")
    session.put_rooms([Room(id=session.job.runs[first].room, number="104", name="Lab")], "Name it")
    session.select(Selection(runs=(second,)))
    assert window.details.cards["wall"].title.cget("text") == "Wall B of 104 Lab"
    hand.window.do("delete")
    assert session.message == "Done: Remove wall B of 104 Lab"
    session.select(Selection(runs=(first,)))
    window.desk.show_page("Walls")
    hand.settle()
    tree = window.figures.table.tree
    shown = " ".join(str(tree.item(row, "values")) for row in tree.get_children())
    shown += window.details.cards["wall"].title.cget("text") + window.figures.working.get("1.0", "end")
    assert "Wall of 104 Lab" in shown
    assert first not in shown


def test_a_wall_counted_twice_stays_in_sight_while_it_is_selected(hand, job_file):
    traced(hand, job_file)
    window = hand.window
    hand.key("t")
    for corner in hand.ROOM:
        hand.press(*corner)
    hand.key("c")
    hand.settle()
    assert window.session.selection != Selection()
    assert window.desk._checks.winfo_viewable()
    hand.key("F12")
    points = window.figures.panels["Open points"]
    hand.wait(lambda: points.result is not None)
    assert any("counted twice" in point.why for point in points.result.open)


def remedies():
    """Every remedy written in the program, in place or by name, with what is filled in as a word."""
    root = Path(takeoff.__file__).parent
    for path in sorted(root.rglob("*.py")):
        if path.relative_to(root).parts[0] in ("cli", "gui"):
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        given = [n.value for n in ast.walk(tree) if isinstance(n, ast.keyword) and n.arg == "remedy"]
        named = {n.id for value in given for n in ast.walk(value) if isinstance(n, ast.Name)} | {"remedy"}
        for node in ast.walk(tree):
            if isinstance(node, ast.Assign) and any(isinstance(t, ast.Name) and t.id in named for t in node.targets):
                given.append(node.value)
        for value in given:
            parts = [c.value for c in ast.walk(value) if isinstance(c, ast.Constant)]
            yield "X".join(p for p in parts if isinstance(p, str))


def test_no_remedy_in_the_window_names_a_command_to_type():
    found = list(remedies())
    assert len(found) > 50
    typed = re.compile(r"takeoff [a-z]+[ )]|takeoff [a-z]+$|--[a-z]")
    assert any(typed.search(r) for r in found)
    assert [r for r in found if typed.search(remedy_here(r))] == []


def test_residuals_of_known_dimensions_are_in_the_jobs_units(hand, job_file):
    hand.open(job_file)
    (x0, y0), (x1, _), (_, y2), _ = ((190.0, 224.0), (838.0, 224.0), (838.0, 620.0), (190.0, 620.0))
    hand.press(x0, y0)
    hand.press(x1, y0)
    hand.type(hand.window.entry, "36'")
    said = [
        str(part.cget("text")) for row in hand.window.scale_panel.rows.winfo_children() for part in row.winfo_children()
    ]
    assert "the only one" in said
    hand.press(x0, y0)
    hand.press(x0, y2)
    hand.type(hand.window.entry, "22'")
    hand.press(x0, y2)
    hand.press(x1, y2)
    hand.type(hand.window.entry, "36'-6\"")
    said = " ".join(
        str(part.cget("text")) for row in hand.window.scale_panel.rows.winfo_children() for part in row.winfo_children()
    )
    assert "too short" in said
    assert " mm" not in said


# -- nothing out of sight ----------------------------------------------------------------------------------------


def place(view):
    return view.scale, view.left, view.top


def test_the_plan_stays_where_it_is_while_prompts_come_and_go(hand, job_file):
    scaled(hand, job_file)
    window = hand.window
    hand.key("t")
    hand.settle()
    view, prompts = window.canvas.view, set()
    for corner in hand.ROOM:
        hand.press(*corner)
        hand.settle()
        prompts.add(window.tool.prompt())
        assert place(window.canvas.view) == place(view)
    hand.key("d")
    hand.settle()
    assert place(window.canvas.view) == place(view)
    assert len(prompts) > 2


def test_the_card_of_an_opening_stands_first_as_soon_as_it_is_placed(hand, job_file):
    traced(hand, job_file)
    hand.key("d")
    (x0, y0), (x1, y1) = hand.ROOM[:2]
    hand.press((x0 + x1) / 2, (y0 + y1) / 2)
    hand.settle()
    details = hand.window.details
    assert details.cards["opening"].winfo_y() < details.cards["room"].winfo_y() < details.cards["wall"].winfo_y()


def test_figures_by_the_pointer_stay_clear_of_the_mark_and_on_the_plan(hand, job_file):
    scaled(hand, job_file)
    canvas = hand.window.canvas
    hand.key("t")
    for corner in hand.ROOM[:2]:
        hand.press(*corner)
    hand.settle()
    for x_pt, y_pt in ((838.0, 620.0), (2300.0, 200.0), (2300.0, 1500.0)):
        hand.move(x_pt, y_pt)
        hand.settle()
        px, py = hand.pixel(x_pt, y_pt)
        plates = [
            canvas.bbox(item)
            for item in canvas.find_all()
            if canvas.type(item) == "text" and "°" in canvas.itemcget(item, "text")
        ]
        (box,) = plates
        assert not (box[0] < px < box[2] and box[1] < py < box[3])
        assert box[0] >= 0
        assert box[2] <= canvas.winfo_width()


def test_rooms_with_long_names_are_whole_in_a_table_that_was_shown_empty_before(hand, job_file):
    traced(hand, job_file)
    hand.type(hand.window.entry, "12'")
    hand.type(hand.window.details.room["name"].entry, "MECHANICAL AND ELECTRICAL")
    hand.settle()
    tree = hand.window.figures.table.tree
    needed = tkinter.font.nametofont("TkDefaultFont").measure("MECHANICAL AND ELECTRICAL")
    assert tree.column(tree["columns"][0], "width") >= needed


def test_a_filled_button_keeps_its_text_legible_under_the_pointer(hand, opened):
    window = hand.window
    for made in (window.figures.pages["Rooms"], window.desk.bar.tools[window.tool.id]):
        for i in range(2):
            text, ground = made.cget("text_color")[i], made.cget("hover_color")[i]
            assert contrast(text, ground) >= 4.5  # WCAG 2.2, 1.4.3


def test_a_long_refusal_is_read_whole_beside_what_is_to_be_checked(hand, opened):
    window = hand.window
    window.refuse("This was found, and more than fits into one line of the window. " * 4)
    hand.settle()
    status = window.desk.status
    label = status._label
    assert label.winfo_reqheight() <= status.winfo_height()
    assert status.winfo_rootx() >= window.winfo_rootx()
    assert status.winfo_rooty() + status.winfo_height() <= window.winfo_rooty() + window.winfo_height()
    assert status.winfo_rootx() + status.winfo_width() <= window.desk.where.winfo_rootx()


def test_a_dialog_begins_in_its_first_field_and_escape_there_closes_it(hand, opened):
    hand.window.do("reading")
    hand.settle()
    (dialog,) = hand.dialogs()
    field = dialog.form["air"].entry._entry
    assert hand.window.focus_get() is field
    field.insert(0, "68")
    field.event_generate("<Escape>")
    hand.settle()
    assert dialog.winfo_exists()
    assert field.get() == ""
    hand.key_in(field, "<Escape>")
    assert not dialog.winfo_exists()


def test_a_dialog_that_is_open_comes_to_the_front_instead_of_a_second_one(hand, opened):
    for _ in range(2):
        hand.window.do("settings")
        hand.settle()
    assert len(hand.dialogs()) == 1


def test_control_and_enter_in_a_field_do_the_whole_dialog(hand, opened):
    hand.window.do("reading")
    hand.settle()
    (dialog,) = hand.dialogs()
    for field, text in ((dialog.form["air"], "68"), (dialog.form["surface"], "66"), (dialog.form["humidity"], "50")):
        hand.give_keys(field.entry._entry)
        field.entry._entry.insert(0, text)
    dialog.form["humidity"].entry._entry.event_generate("<Control-Return>")
    hand.settle()
    assert len(hand.window.session.job.readings) == 1


def test_names_of_openings_in_an_elevation_never_lie_on_one_another(hand, opened):
    window = hand.window
    hand.key("F9")
    window.figures.open_page("Elevation")
    window.session.select(Selection(runs=("101-walls",)))
    hand.settle()
    panel = window.figures.panels["Elevation"]
    kinds = ("door", "window", "pass-through")
    boxes = [
        panel.bbox(item)
        for item in panel.find_all()
        if panel.type(item) == "text" and panel.itemcget(item, "text").startswith(kinds)
    ]
    assert len(boxes) > 5
    for i, (x0, y0, x1, y1) in enumerate(boxes):
        assert all(x1 <= a0 or x0 >= a1 or y1 <= b0 or y0 >= b1 for a0, b0, a1, b1 in boxes[:i])


def test_a_command_that_cannot_be_done_says_what_comes_first(hand, opened):
    window = hand.window
    window.session.select(Selection(runs=("101-walls",)))
    for key, words in (
        ("Control-k", "click a point"),
        ("Control-j", "select two walls"),
        ("Control-r", "select the opening"),
        ("Control-y", "nothing to redo"),
    ):
        hand.chord(key)
        assert words in window.session.message
        assert window.session.is_refusal


def test_the_right_button_on_a_wall_selects_it_and_offers_what_can_be_done(hand, opened):
    window = hand.window
    (x0, y0), (x1, y1) = window.session.job.runs["106-walls"].points_pt[1:3]
    x, y = hand.pixel(x0 + 0.3 * (x1 - x0), y0 + 0.3 * (y1 - y0))
    window.canvas.event_generate("<ButtonPress-3>", x=x, y=y)
    window.canvas.event_generate("<ButtonRelease-3>", x=x, y=y)
    hand.settle()
    (run,) = window.session.selection.runs
    assert window.session.job.runs[run].room in ("R106", "R102")
    (menu,) = [w for w in window.menu.winfo_children() if w not in window.menu._menus.values()]
    states = {menu.entrycget(i, "label"): menu.entrycget(i, "state") for i in range(menu.index("end") + 1)}
    assert states["Coat the other side"] == "normal"
    assert states["Split at the selected point"] == states["Join two walls"] == "disabled"
    assert menu.cget("background") == window.menu.cget("background")
    menu.unpost()


# -- a window that has just been opened --------------------------------------------------------------------------------


def test_nothing_is_waited_for_while_a_job_is_opened_so_that_the_first_click_on_the_plan_counts(window, job_file):
    """What is waited for holds the pointer: a click on the plan meanwhile would be lost."""
    waited_for = []

    def wait(work, given):
        waited_for.append(work.func.__name__)
        return window.waiting(work, given)

    go_apart(wait)
    window.take(actions.open_job(job_file, signed))
    window.update()
    assert waited_for == []


def test_a_refusal_of_two_lines_lies_over_nothing_on_a_small_screen(hand, opened):
    window = hand.window
    window.geometry("1366x700+0+0")
    hand.wait(lambda: window.winfo_width() == 1366)
    window.session.tell("It cannot be measured yet: " + "its room has no height. " * 8, is_refusal=True)
    hand.settle()
    said, tab = window.desk.status, window.figures.pages["Walls"]
    assert said.winfo_reqheight() > 30  # two lines
    assert said.winfo_rooty() >= tab.winfo_rooty() + tab.winfo_height()
    assert said.winfo_rooty() + said.winfo_height() <= window.winfo_rooty() + window.winfo_height()


def test_each_sheet_has_its_printed_scale_read_when_it_is_first_shown_and_never_again(hand, job_file):
    """A-201 of the sample prints 3/8" = 1'-0": 12 in of building on 3/8 in of paper are 1:32."""
    hand.open(job_file)
    session = hand.window.session
    hand.window.choose_sheet(2)
    hand.wait(lambda: session.scale is not None)
    assert session.scale.mx == pytest.approx(0.0254 / 72 * 32, rel=1e-3)
    assert "as the sheet prints it" in session.message
    canvas, sheet = hand.window.canvas, session.sheet
    middle = displayed_to_sheet(sheet, *(side / 2 for side in displayed_size(sheet)))
    # the panel of the scale has gone, and the whole sheet stands in the middle of what is free now
    hand.wait(lambda: canvas.to_pixel(middle) == pytest.approx((canvas.winfo_width() / 2, canvas.winfo_height() / 2)))
    session.undo()
    hand.window.choose_sheet(1)
    hand.wait(lambda: session.scale is not None)
    hand.window.choose_sheet(2)
    hand.settle()
    assert session.scale is None  # somebody took it back
    hand.window.choose_sheet(3)
    hand.wait(lambda: "No scale could be read" in session.message)


def test_a_wall_traced_where_the_panel_comes_is_brought_beside_it(hand, job_file):
    scaled(hand, job_file)
    canvas = hand.window.canvas
    hand.key("t")
    hand.settle()
    canvas.zoom_by(2.0)
    wide = canvas.winfo_width()
    ends = [canvas.to_sheet(wide - 120, y) for y in (200, 400)]
    for end in ends:
        hand.press(*end)
    hand.key("Return")
    (run,) = hand.window.session.job.runs.values()
    hand.wait(lambda: canvas.winfo_width() < wide - 120)
    hand.wait(lambda: all(0 < canvas.to_pixel(point)[0] < canvas.winfo_width() for point in run.points_pt))
