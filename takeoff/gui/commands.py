"""Every command of the window in one table: menus, buttons, keys, tooltips and the sheet of keys come from it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from takeoff.gui.session import Session


class Desk(Protocol):
    """What commands need of the window."""

    session: Session | None

    def run(self, c: Command) -> None:
        """Run a command where it is enabled."""

    def use_tool(self, id: str) -> None:
        """Take a tool."""

    def ask(self, what: str) -> None:
        """Open one of the window's dialogs."""

    def view(self, what: str) -> None:
        """Change what is seen."""

    def edit(self, what: str) -> None:
        """Change what is selected."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """One command: where it stands in the menus, its keys as Tk names them and as people do, and what it does.

    ``first`` says what to do before it can be done.
    """

    id: str
    menu: str
    label: str
    keys: tuple[str, ...] = ()
    key_text: str = ""
    help: str = ""
    run: Callable[[Desk], None]
    is_enabled: Callable[[Desk], bool] = lambda desk: desk.session is not None
    first: str = ""


def _has_job(desk: Desk) -> bool:
    return desk.session is not None


def _has_selection(desk: Desk) -> bool:
    return desk.session is not None and bool(desk.session.selection.runs)


def _has_corner(desk: Desk) -> bool:
    return desk.session is not None and desk.session.selection.vertex is not None


def _has_opening(desk: Desk) -> bool:
    return desk.session is not None and desk.session.selection.opening is not None


def _has_two(desk: Desk) -> bool:
    return desk.session is not None and len(desk.session.selection.runs) == 2


def _always(desk: Desk) -> bool:
    return True


def _tool(id: str, label: str, key: str, help: str) -> Command:
    return Command(
        id=f"tool-{id}",
        menu="Tools",
        label=label,
        keys=(key.lower(),),
        key_text=key,
        help=help,
        run=lambda desk: desk.use_tool(id),
    )


def _edit(
    id: str,
    label: str,
    keys: tuple[str, ...],
    key_text: str,
    help: str,
    is_enabled: Callable[[Desk], bool] = _has_selection,
    first: str = "select a wall first",
) -> Command:
    return Command(
        id=id,
        menu="Edit",
        label=label,
        keys=keys,
        key_text=key_text,
        help=help,
        run=lambda desk: desk.edit(id),
        is_enabled=is_enabled,
        first=first,
    )


def _view(id: str, label: str, keys: tuple[str, ...], key_text: str, help: str) -> Command:
    return Command(id=id, menu="View", label=label, keys=keys, key_text=key_text, help=help, run=lambda d: d.view(id))


def _ask(
    id: str, menu: str, label: str, keys: tuple[str, ...], key_text: str, help: str, *, always: bool = False
) -> Command:
    return Command(
        id=id,
        menu=menu,
        label=label,
        keys=keys,
        key_text=key_text,
        help=help,
        run=lambda desk: desk.ask(id),
        is_enabled=_always if always else _has_job,
    )


COMMANDS: tuple[Command, ...] = (
    _ask("new", "Job", "New job from plans…", ("Control-n",), "Ctrl+N", "Start a job from plan files.", always=True),
    _ask("open", "Job", "Open job…", ("Control-o",), "Ctrl+O", "Open a job file.", always=True),
    _ask("settings", "Job", "Units and rules…", (), "", "Name, units, currency, measuring rule of the job; your name."),
    _ask("systems", "Job", "Systems and rates…", ("F6",), "F6", "Edit systems, products, rates and prices."),
    _ask("reports", "Job", "Reports…", ("Control-p",), "Ctrl+P", "Write the PDF, the workbook and the tables."),
    _ask(
        "revise", "Job", "Take in a new issue…", ("F7",), "F7", "Compare a new issue of the sheet and carry runs over."
    ),
    _ask("check", "Job", "Check stated areas…", (), "", "Compare a schedule of areas with what was measured."),
    _ask("doubts", "Job", "What to check…", ("F12",), "F12", "What cannot be measured yet, and what is in doubt."),
    _ask("use", "Job", "Packs used on site…", ("F2",), "F2", "Record packs used of a coat and the area done."),
    _ask("reading", "Job", "Reading on site…", ("F3",), "F3", "Record air, wall and humidity: may it be coated?"),
    _ask("history", "Job", "History…", (), "", "Who did what when."),
    _ask("close", "Job", "Close job", ("Control-w",), "Ctrl+W", "Close the job; every edit is saved already."),
    Command(
        id="undo",
        menu="Edit",
        label="Undo",
        keys=("Control-z",),
        key_text="Ctrl+Z",
        help="Take the last edit back.",
        first="there is nothing to take back",
        run=lambda desk: desk.edit("undo"),
        is_enabled=lambda desk: desk.session is not None and desk.session.store.can_undo,
    ),
    Command(
        id="redo",
        menu="Edit",
        label="Redo",
        keys=("Control-y", "Control-Shift-Z"),
        key_text="Ctrl+Y",
        help="Do again what was taken back.",
        first="there is nothing to do again",
        run=lambda desk: desk.edit("redo"),
        is_enabled=lambda desk: desk.session is not None and desk.session.store.can_redo,
    ),
    _edit("delete", "Remove", ("Delete",), "Delete", "Remove the corner, opening or runs that are selected."),
    _edit("flip", "Coat the other side", ("f",), "F", "Put the coated side of the selected runs on the other hand."),
    _edit("both", "Coat both faces", (), "", "Coat both faces of the selected runs; they need a thickness."),
    _edit(
        "duplicate", "Duplicate into a new room", ("Control-d",), "Ctrl+D", "Copy the selected runs beside themselves."
    ),
    _edit("mirror-x", "Mirror left to right", (), "", "Mirror the selected runs about their middle."),
    _edit("mirror-y", "Mirror top to bottom", (), "", "Mirror the selected runs about their middle."),
    _edit(
        "split",
        "Split at the selected corner",
        ("Control-k",),
        "Ctrl+K",
        "Split the run at the selected corner.",
        _has_corner,
        "press a corner of the selected wall first",
    ),
    _edit(
        "join",
        "Join two runs",
        ("Control-j",),
        "Ctrl+J",
        "Join two selected runs whose ends meet.",
        _has_two,
        "select two walls whose ends meet first; Control + press adds one",
    ),
    _edit(
        "copy-opening",
        "Repeat the opening…",
        ("Control-r",),
        "Ctrl+R",
        "Repeat the selected opening along its wall.",
        _has_opening,
        "select the opening first",
    ),
    Command(
        id="select-all",
        menu="Edit",
        label="Select all on the sheet",
        keys=("Control-a",),
        key_text="Ctrl+A",
        help="Select every run on the sheet.",
        run=lambda desk: desk.edit("select-all"),
    ),
    _tool("pick", "Select", "V", "Select runs, openings and corners; drag them."),
    _tool("trace", "Trace walls", "T", "Trace the face to be coated, corner by corner."),
    _tool("room", "Room", "G", "Press inside a room to trace it from the drawing; Enter traces all rooms."),
    _tool("box", "Box room", "B", "Trace a rectangular room by two corners."),
    _tool("opening", "Opening", "D", "Place doors and windows on traced walls."),
    _tool("scale", "Scale", "S", "Set the scale by a known dimension."),
    _tool("region", "Scale region", "R", "Outline a detail at another scale."),
    _view("fit-sheet", "See the whole sheet", ("Home",), "Home", "See the whole sheet."),
    _view("fit-selection", "See the selection", ("Shift-Home", "z"), "Z", "See what is selected, large."),
    _view("zoom-box", "See inside a box", ("x",), "X", "Drag a box to see it as large as the window."),
    _view("zoom-in", "Closer in", ("plus", "equal", "KP_Add"), "+", "Zoom in."),
    _view("zoom-out", "Further out", ("minus", "KP_Subtract"), "−", "Zoom out."),
    _view("next-sheet", "Next sheet", ("Next",), "Page Down", "Show the next sheet."),
    _view("previous-sheet", "Previous sheet", ("Prior",), "Page Up", "Show the sheet before."),
    _view("sheets", "Fold the sheets", ("F4",), "F4", "Fold or unfold the sheets beside the plan."),
    _view("side", "Fold the panel", ("F5",), "F5", "Fold or unfold the panel beside the plan."),
    _view("figures", "Fold the figures", ("F9",), "F9", "Fold or unfold the tables below the plan."),
    _view(
        "tall", "Tall figures", ("Shift-F9",), "Shift+F9", "Give the tables most of the plan's height, or give it back."
    ),
    Command(
        id="dark",
        menu="View",
        label="Light or dark",
        keys=("F8",),
        key_text="F8",
        help="Change between light and dark.",
        run=lambda desk: desk.view("dark"),
        is_enabled=_always,
    ),
    Command(
        id="larger",
        menu="View",
        label="Larger text",
        keys=("Control-plus", "Control-equal"),
        key_text="Ctrl++",
        help="Make all text larger, up to 200 %.",
        run=lambda desk: desk.view("larger"),
        is_enabled=_always,
    ),
    Command(
        id="smaller",
        menu="View",
        label="Smaller text",
        keys=("Control-minus",),
        key_text="Ctrl+−",
        help="Make all text smaller, down to 100 %.",
        run=lambda desk: desk.view("smaller"),
        is_enabled=_always,
    ),
    _ask("keys", "Help", "Keys", ("F1",), "F1", "Every key of the window.", always=True),
    _ask("about", "Help", "Cautions and licence", (), "", "What to mind, and the licence.", always=True),
)

OTHER_KEYS: tuple[tuple[str, str], ...] = (
    ("Wheel", "Zoom about the pointer"),
    ("Middle or right drag, Space + drag", "Move the sheet"),
    ("Digits", "Begin a length in the entry line; Enter takes it"),
    ("Enter", "Finish what is under way"),
    ("Backspace", "Take the last point back"),
    ("Escape", "Drop what is under way, then go back to Select"),
    ("Shift", "Hold a right angle while tracing; move level or upright"),
    ("C", "Close the line while tracing"),
    ("A", "Arc while tracing: its end, then a point on it"),
    ("A on a corner", "Bend the wall after the selected corner into an arc"),
    ("N, P, K, B", "New issue: next, previous, take or leave, whose lines are shown"),
    ("Left, Right, L", "New issue: fade to the old issue, to the new one, blink between them"),
    ("Y, N, E", "Take, drop or edit a traced room that is doubtful"),
    ("W", "Door or window, while placing openings"),
    ("Control + press", "Add a run to what is selected"),
)
"""Keys that are no commands."""


def command(id: str) -> Command:
    """Return a command by its id."""
    return next(c for c in COMMANDS if c.id == id)
