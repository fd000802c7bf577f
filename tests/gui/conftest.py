"""A real window on a real (virtual) display."""

from __future__ import annotations

import os
import shutil
import threading
import time
import tkinter
import traceback
from concurrent.futures import wait
from dataclasses import replace
from pathlib import Path

import pytest

from takeoff import actions
from takeoff.apart import go_apart
from takeoff.gui.dialogs.common import Dialog
from takeoff.gui.preferences import Preferences, Sizes
from takeoff.gui.tools.room_tool import RoomTool
from takeoff.signing import signed
from tests.jobs import job_on

MOST_WAIT = 10.0
"""Seconds that work under way in a process of the window is waited for before the process is ended."""


@pytest.fixture(scope="session")
def sample_plan():
    return actions.sample_plans() / "facility-imperial.pdf"


@pytest.fixture(scope="session")
def untouched_template(tmp_path_factory, sample_plan):
    path = tmp_path_factory.mktemp("untouched") / "hand.takeoff"
    job_on(path, sample_plan, name="By hand").close()
    return path


@pytest.fixture
def job_file(tmp_path, untouched_template):
    """A job with the sample set and nothing done to it."""
    path = tmp_path / "hand.takeoff"
    shutil.copy(untouched_template, path)
    return path


@pytest.fixture
def traced_job(tmp_path, wing_made):
    """A job with the sample set traced whole."""
    path = tmp_path / "traced.takeoff"
    shutil.copy(wing_made, path)
    return path


@pytest.fixture(scope="session")
def revision(wing_made, tmp_path_factory):
    """The second revision of the sample plan, compared with the first sheet of the traced job once for all tests."""
    plan = actions.sample_plans() / "facility-rev-b.pdf"
    job = shutil.copy(wing_made, tmp_path_factory.mktemp("revision"))
    with actions.open_job(Path(job), signed) as store:
        return actions.compare_revision(store, store.job.sheets[1], plan.name, plan.read_bytes())


SOON_MS = 450
"""Milliseconds within which what is done later belongs to what was done last; clocks tick more slowly."""
_noted = set()


@pytest.fixture(scope="session", autouse=True)
def later_is_noted():
    """Note what event loops are to do soon, but for the toolkit's own, some of which goes on for ever."""
    after = tkinter.Misc.after

    def noted(widget, ms, func=None, *args):
        id = after(widget, ms, func, *args)
        work = getattr(getattr(func, "__self__", None), "_work", func)
        is_own = not (getattr(work, "__module__", None) or "").startswith("customtkinter")
        goes_on = getattr(work, "__name__", "") == "_await_reading"  # as long as the tool for rooms is in hand
        if is_own and func is not None and ms != "idle" and ms <= SOON_MS and not goes_on:
            _noted.add((widget.tk.interpaddr(), id))
        return id

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(tkinter.Misc, "after", noted)
        yield


def soon(window):
    """Tell whether a window is to do something soon."""
    own, waiting = window.tk.interpaddr(), window.tk.splitlist(window.tk.call("after", "info"))
    _noted.difference_update([(of, id) for of, id in _noted if of == own and id not in waiting])
    return any(of == own for of, _ in _noted)


@pytest.fixture(scope="session")
def standing(tmp_path_factory):
    """One window for all tests that take one, closed at their end with no thread and no waiting job left behind.

    It and its processes cost two to six seconds of processor time; a test gets it as it is on a first start.
    """
    if not os.environ.get("DISPLAY"):
        pytest.fail("the window needs a display: install Xvfb, or set DISPLAY")
    from takeoff.gui.app import DeskWindow
    from takeoff.gui.widgets import ctk

    ctk.DrawEngine.preferred_drawing_method = "polygon_shapes"  # rounded corners without letters for their edges
    before = {t for t in threading.enumerate() if not t.daemon}
    made = DeskWindow(tmp_path_factory.mktemp("window") / "window.json")
    yield made
    if made.winfo_exists():
        made.shut()
    deadline = time.monotonic() + 5
    while time.monotonic() < deadline and {t for t in threading.enumerate() if not t.daemon} - before:
        time.sleep(0.02)
    assert {t for t in threading.enumerate() if not t.daemon} - before == set()


@pytest.fixture(scope="module")
def text_size():
    """Size of the text that a file's tests begin with; a file of tests at another size has its own."""
    return 1.0


@pytest.fixture(scope="session")
def kept(tmp_path_factory):
    """What processes of the window made, for all workers."""
    from tests.gui.kept_work import Kept

    root = tmp_path_factory.getbasetemp()
    return Kept((root.parent if "PYTEST_XDIST_WORKER" in os.environ else root) / "kept-work")


@pytest.fixture
def works_anew():
    """For a test that takes it, nothing that processes of the window made before is kept."""


@pytest.fixture
def window(standing, tmp_path, text_size, kept, request, monkeypatch):
    """The standing window as it is on a first start: no job, no dialog, nothing folded, the usual look and size."""
    if "works_anew" not in request.fixturenames:
        kept.put_in(monkeypatch)
    go_apart(standing.waiting)
    as_first_started(standing, tmp_path / "window.json", text_size)
    faults = []
    standing.report_callback_exception = lambda kind, value, trace: faults.append(
        "".join(traceback.format_exception(value))
    )
    yield standing
    put_away(standing)
    go_apart(None)
    assert faults == []


def put_away(window):
    """Close what a test left open; work of the window's processes ends first, for new ones cost more than that."""
    for process in (window.process, window.figures.process):
        for future in process._asked.copy():
            future.cancel()
        wait(process._asked.copy(), MOST_WAIT)
    kept = (window.menu, *window.menu._menus.values())
    for child in [*window.winfo_children(), *window.menu.winfo_children()]:
        if isinstance(child, tkinter.Toplevel | tkinter.Menu) and child not in kept:
            child.destroy()
    window.close_job()
    window.update()


def as_first_started(window, preferences_file, text_size):
    """Take back what outlives a job: preferences, look, size, and what was folded or turned to."""
    look = (window.preferences.is_dark, window.preferences.text_size)
    window._preferences_file, window.preferences = preferences_file, Preferences(text_size=text_size)
    if look != (False, text_size):
        window.take_look()
    desk = window.desk
    desk._wishes.clear()
    desk._is_tall = False
    desk.take_sizes(Sizes())
    window.figures.open_page("Rooms")
    window.entry.delete(0, "end")
    while window.canvas._paleness:
        window.canvas.step_paleness()
    window.geometry("1280x760+0+0")
    deadline = time.monotonic() + 20
    while (window.winfo_width(), window.winfo_height()) != (1280, 760):
        # a toolkit that has just changed the size of its text holds a window's own size for a second
        assert time.monotonic() < deadline, "the window does not take its size"
        window.update()
        time.sleep(0.01)


@pytest.fixture
def hand(window):
    return Hand(window)


@pytest.fixture
def opened(hand, traced_job):
    """The window with the sample set open, traced whole."""
    hand.open(traced_job)
    return hand.window


@pytest.fixture
def compared(hand, opened):
    """The second revision of the sample plan, compared by the window and under review."""
    hand.window.compare_issue(actions.sample_plans() / "facility-rev-b.pdf")
    hand.wait(lambda: hand.window.review is not None)
    hand.settle()
    return hand


class Hand:
    """The person: presses, drags and types with real events, and waits until the window is quiet."""

    ROOM = ((190.0, 224.0), (838.0, 224.0), (838.0, 620.0), (190.0, 620.0))
    """Corners of a rectangle of 36 by 22 ft on the sample plan, which is drawn at 18 points to the foot."""

    def __init__(self, window):
        self.window = window

    def turn(self, pause=0.002):
        """Let the window take what has come, once, as for a look at something that is not done yet."""
        self.window.update()
        time.sleep(pause)

    def wait(self, is_so, seconds=600):
        """Wait until something is so, as a person does who looks at the window, and ever less often."""
        end, pause = time.monotonic() + seconds, 0.002
        while not is_so():
            assert time.monotonic() < end, "it did not come about"
            self.turn(pause)
            pause = min(1.2 * pause, 0.04)

    def settle(self):
        """Wait until the window has done what it began, work of its processes too."""
        self.wait(self._is_quiet)

    def _is_quiet(self):
        self.window.winfo_pointerxy()  # the display has done by then what it was asked for, and told of it
        self.window.update()
        tool = self.window.tool
        return not soon(self.window) and not (isinstance(tool, RoomTool) and (tool.is_waiting or tool.is_holding))

    def give_keys(self, widget):
        """Have the keys go to a widget, or to what stands in it; they do only once the display has said so."""
        widget.focus_force()
        self.turn()
        self.wait(lambda: f"{self.window.tk.call('focus')}.".startswith(f"{widget}."))

    def key_in(self, widget, *events):
        """Give a widget the keys, and press some there."""
        self.give_keys(widget)
        for event in events:
            widget.event_generate(event)
        self.settle()

    def click(self, inner):
        """Press a part of a widget with the left button, as the pointer does, and let go; nothing is waited for."""
        for event in ("<Enter>", "<ButtonPress-1>", "<ButtonRelease-1>"):
            inner.event_generate(event, x=5, y=5)
        self.window.update()

    def dialogs(self, kind=Dialog):
        """The dialogs of a kind that stand open."""
        return [child for child in self.window.winfo_children() if isinstance(child, kind)]

    def text_size(self, size):
        """Give the text a size at one go; by steps, every part of the window is laid out anew at each."""
        self.window.remember(replace(self.window.preferences, text_size=size))
        self.window.take_look()

    def open(self, path):
        """Open a job, and wait until the pointer snaps to what is drawn, unless that is a picture."""
        self.window.take(actions.open_job(path, signed))
        self.settle()
        sheet = self.window.session.sheet
        self.wait(lambda: sheet.kind != "vector" or self.window.snapper.is_ready(sheet))

    def scale(self):
        """Give the sheet that is shown the scale that it states, 1/4" = 1'-0"."""
        self.key("s")
        self.type(self.window.scale_panel.written.entry, '1/4" = 1\'-0"')
        self.settle()

    def pixel(self, x_pt, y_pt):
        px, py = self.window.canvas.to_pixel((x_pt, y_pt))
        return round(px), round(py)

    def move(self, x_pt, y_pt, state=0):
        px, py = self.pixel(x_pt, y_pt)
        self.window.canvas.event_generate("<Motion>", x=px, y=py, state=state)
        self.window.update()

    def press(self, x_pt, y_pt, state=0):
        px, py = self.pixel(x_pt, y_pt)
        canvas = self.window.canvas
        canvas.event_generate("<Motion>", x=px, y=py, state=state)
        canvas.event_generate("<ButtonPress-1>", x=px, y=py, state=state)
        canvas.event_generate("<ButtonRelease-1>", x=px, y=py, state=state | 0x100)
        self.window.update()

    def drag(self, start, end, state=0):
        canvas = self.window.canvas
        (x0, y0), (x1, y1) = self.pixel(*start), self.pixel(*end)
        canvas.event_generate("<Motion>", x=x0, y=y0, state=state)
        canvas.event_generate("<ButtonPress-1>", x=x0, y=y0, state=state)
        for i in range(1, 6):
            canvas.event_generate(
                "<B1-Motion>", x=x0 + (x1 - x0) * i // 5, y=y0 + (y1 - y0) * i // 5, state=state | 0x100
            )
        canvas.event_generate("<ButtonRelease-1>", x=x1, y=y1, state=state | 0x100)
        self.window.update()

    def key(self, key):
        self.give_keys(self.window.canvas)
        self.window.canvas.event_generate(f"<KeyPress-{key}>" if len(key) > 1 else key)
        self.window.update()

    def chord(self, sequence):
        self.give_keys(self.window.canvas)
        self.window.canvas.event_generate(f"<{sequence}>")
        self.window.update()

    def type(self, entry, text):
        inner = entry._entry
        self.give_keys(inner)
        inner.delete(0, "end")
        inner.insert(0, text)
        inner.event_generate("<Return>")
        self.window.update()
