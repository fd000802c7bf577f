"""Every command of the window in one table: menus, buttons, keys, tooltips and the sheet of keys come from it."""

from __future__ import annotations

from takeoff.gui.dialogs import common
from takeoff.gui.host import Command, Host
from takeoff.gui.menus.edit_menu import EDIT
from takeoff.gui.menus.job_menu import JOB
from takeoff.gui.menus.kinds import dialog_command
from takeoff.gui.menus.view_menu import TOOLS, VIEW


def show_keys(host: Host) -> common.Dialog:
    """Show every key of the window."""
    return common.keys(host, [*((c.key_text, c.label.removesuffix("…")) for c in COMMANDS if c.key_text), *OTHER_KEYS])


HELP: tuple[Command, ...] = (
    dialog_command("keys", "Help", "Keys", show_keys, ("F1",), "F1", "Every key of the window.", is_always=True),
    dialog_command(
        "about", "Help", "Safety and licence", common.about, (), "", "Safety advice, and the licence.", is_always=True
    ),
)
"""The menu Help."""

COMMANDS: tuple[Command, ...] = (*JOB, *EDIT, *TOOLS, *VIEW, *HELP)

OTHER_KEYS: tuple[tuple[str, str], ...] = (
    ("Wheel", "Zoom about the pointer"),
    ("Middle or right drag, Space + drag", "Move the sheet"),
    ("Digits", "Begin a length in the entry line; Enter takes it"),
    ("Enter", "Finish what is under way"),
    ("Backspace", "Take the last point back"),
    ("Escape", "Drop what is under way, asking first; then go back to Select"),
    ("Shift", "Hold a right angle while tracing, at snaps too; move level or upright"),
    ("Arrow keys", "Move the selected point, opening or wall by 1 in or 1 cm; with Shift ten times as far"),
    ("A place: 12', 8'6\"", "Put a point so far right and down of the sheet's corner, while tracing"),
    ("C", "Close the line while tracing"),
    ("A", "Arc while tracing: its end, then a point on it"),
    ("A on a point", "Bend the wall after the selected point into an arc"),
    ("N, P, K, B", "New revision: next, previous, take or leave, whose lines are shown"),
    ("Left, Right, L", "New revision: fade to the old one, to the new one, blink between them"),
    ("Y, N, E", "Take, drop or edit a traced room that is doubtful"),
    ("W", "Door or window, while placing openings"),
    ("Control + click", "Add a wall to what is selected, or take it out"),
)
"""Keys that are no commands."""


def command(id: str) -> Command:
    """Return a command by its id."""
    return next(c for c in COMMANDS if c.id == id)
