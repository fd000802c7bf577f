"""How many actions a person needs for common tasks, counted on a real window: python tests/bench/hand_work.py

Beside each count stands that of the first trial by mouse and keys, where the task was counted then.

One action is one key or chord, one click, one choice in a menu, or one text typed with its Enter. Choosing a file in
the system's own dialog counts as two. Every task ends with a room that has an area and a price; the script fails where
one has none. It needs a display (an Xvfb will do).
"""

from __future__ import annotations

import shutil
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from takeoff import actions
from takeoff.gui.app import DeskWindow
from takeoff.gui.dialogs.drawing_dialogs import LayersDialog
from takeoff.gui.dialogs.starting import NewJobDialog
from takeoff.gui.session import Selection
from takeoff.gui.widgets.fields import TextField
from takeoff.model.plan import Point

ROOM: tuple[Point, ...] = ((210.0, 330.0), (858.0, 330.0), (858.0, 726.0), (210.0, 726.0))
"""Inner corners of the process room of the sample plan, in sheet points (docs/edits-file.md traces it so)."""
PATIENCE = 60.0
"""Seconds that the reading of the drawing may take."""


class Person:
    """Does things to the window, and counts them."""

    def __init__(self, folder: Path) -> None:
        self.window = DeskWindow(folder / "window.json")
        self.count = 0
        self.folder = folder
        self.wait(0.3)

    def wait(self, seconds: float) -> None:
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            self.window.update()
            time.sleep(0.01)

    def key(self, name: str) -> None:
        self.count += 1
        self.window.canvas.focus_force()
        self.window.update()
        self.window.canvas.event_generate(f"<KeyPress-{name}>" if len(name) > 1 else name)
        self.wait(0.1)

    def click(self, point: Point) -> None:
        self.count += 1
        x, y = (round(v) for v in self.window.canvas.to_pixel(point))
        canvas = self.window.canvas
        canvas.event_generate("<Motion>", x=x, y=y)
        canvas.event_generate("<ButtonPress-1>", x=x, y=y)
        canvas.event_generate("<ButtonRelease-1>", x=x, y=y)
        self.wait(0.1)

    def start(self) -> None:
        """Ctrl+N, the plan file in the system's dialog, Enter in ours: each field has a value already."""
        plan = Path(shutil.copy(actions.sample_plans() / "facility-imperial.pdf", self.folder))
        self.count += 1 + 2  # Ctrl+N, and the file
        dialog = NewJobDialog(self.window, [plan])
        self.wait(0.3)
        dialog.run()
        self.count += 1  # Enter
        self.wait(1.0)
        if self.window.session is None or self.window.session.scale is None:
            raise SystemExit("the scale of the sample was not read by itself")

    def priced(self) -> bool:
        self.wait(1.0)
        priced = self.window.figures.priced
        return priced is not None and priced.estimate.line("price").amount > 0.0


def by_click(person: Person) -> None:
    person.key("g")
    end = time.monotonic() + PATIENCE
    person.click((560.0, 600.0))
    session = person.window.session
    assert session is not None
    while not session.job.runs and time.monotonic() < end:
        person.wait(0.2)


def by_box(person: Person) -> None:
    person.key("b")
    person.click(ROOM[0])
    person.click(ROOM[2])


def by_hand(person: Person) -> None:
    person.key("t")
    for corner in ROOM:
        person.click(corner)
    person.key("c")


TASKS: tuple[tuple[str, Callable[[Person], None], int], ...] = (
    ("first room by one click", by_click, 17),
    ("first room as a box", by_box, 23),
    ("first room by hand, point by point", by_hand, 26),
)
"""Tasks, with the actions that the first trial took from a very first start."""


def all_rooms(person: Person) -> None:
    """Every room of the sheet, by G and Enter, once the drawing has been read."""
    person.key("g")
    end = time.monotonic() + PATIENCE
    person.key("Return")
    session = person.window.session
    assert session is not None
    while not session.job.runs and time.monotonic() < end:
        person.wait(0.2)


def one_height_for_two_rooms(person: Person) -> None:
    """Two lines of the table of rooms with Control, the field of the height, and the height with Enter."""
    window, session = person.window, person.window.session
    assert session is not None
    rooms = list(session.job.rooms.values())[:2]
    runs = tuple(next(run.id for run in session.job.runs.values() if run.room == room.id) for room in rooms)
    person.count += 2
    session.select(Selection(runs=runs))
    person.wait(0.2)
    field = window.details.room["height"]
    assert isinstance(field, TextField)
    person.count += 2  # the field clicked, and the height typed with Enter
    field.entry._entry.focus_force()
    field._put("")
    field.entry.insert(0, "13'")
    field.entry._entry.event_generate("<Return>")
    person.wait(0.3)
    heights = {session.job.rooms[room.id].height for room in rooms}
    if len(heights) != 1 or None in heights:
        raise SystemExit("two rooms did not take one height")


def a_layer_hidden(person: Person) -> None:
    """Ctrl+L, a row clicked, H, Escape."""
    person.count += 1
    person.window.canvas.event_generate("<Control-l>")
    person.wait(0.5)
    dialog = next(child for child in person.window.winfo_children() if isinstance(child, LayersDialog))
    person.count += 3
    dialog.table.tree.selection_set(dialog.table.tree.get_children()[-1])
    dialog.table.tree.focus_force()
    person.window.update()
    dialog.table.tree.event_generate("h")
    person.wait(0.3)
    dialog.close()
    if person.window.session is None or not person.window.session.looks:
        raise SystemExit("no layer was hidden")


MORE_TASKS: tuple[tuple[str, Callable[[Person], None]], ...] = (
    ("every room of the sheet", all_rooms),
    ("one height for two rooms", one_height_for_two_rooms),
    ("a layer of the plan hidden", a_layer_hidden),
)
"""Tasks on the job that those before have made, one after the other."""


def main() -> None:
    """Print a table of actions for each task."""
    print(f"{'task':40} {'start':>6} {'task':>6} {'all':>6} {'first trial':>12}")
    for name, work, before in TASKS:
        with tempfile.TemporaryDirectory() as folder:
            person = Person(Path(folder))
            person.start()
            started = person.count
            work(person)
            if not person.priced():
                raise SystemExit(f"{name}: there is no price")
            print(f"{name:40} {started:6} {person.count - started:6} {person.count:6} {before:12}", flush=True)
            person.window.shut()
    with tempfile.TemporaryDirectory() as folder:
        person = Person(Path(folder))
        person.start()
        for name, task in MORE_TASKS:
            started = person.count
            task(person)
            print(f"{name:40} {'':6} {person.count - started:6}", flush=True)
        person.window.shut()


if __name__ == "__main__":
    main()
