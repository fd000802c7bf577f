"""The menu Edit."""

from __future__ import annotations

from functools import partial

from takeoff.gui import edit_commands
from takeoff.gui.dialogs.common import open_once
from takeoff.gui.dialogs.opening_dialog import RepeatDialog
from takeoff.gui.host import Command, Host
from takeoff.gui.menus.kinds import (
    can_redo,
    can_undo,
    edit_command,
    has_corner,
    has_job,
    has_opening,
    has_selection,
    has_two,
)
from takeoff.gui.session import Session


def _undo(host: Host) -> None:
    """Take back the last point of what is under way, else the last edit."""
    if host.session is not None and not (host.tool is not None and host.tool.back()):
        host.session.undo()
    host.paint()


def _remove(host: Host) -> None:
    """Remove what the tool has hold of, else what is selected."""
    if host.session is not None and host.tool is not None and not host.tool.key("delete"):
        edit_commands.remove(host.session)
    host.paint()


EDIT: tuple[Command, ...] = (
    Command(
        id="undo",
        menu="Edit",
        label="Undo",
        keys=("Control-z",),
        key_text="Ctrl+Z",
        help="Take the last edit back; while tracing, the last point.",
        run=_undo,
        is_enabled=can_undo,
        first="there is nothing to undo",
    ),
    edit_command(
        "redo",
        "Redo",
        Session.redo,
        ("Control-y", "Control-Shift-Z"),
        "Ctrl+Y",
        "Redo what was undone.",
        can_redo,
        "there is nothing to redo",
    ),
    Command(
        id="delete",
        menu="Edit",
        label="Remove",
        keys=("Delete",),
        key_text="Delete",
        help="Remove the point, the opening or the walls that are selected.",
        run=_remove,
        is_enabled=has_selection,
        first="select a wall first",
    ),
    edit_command(
        "flip",
        "Coat the other side",
        edit_commands.flip,
        ("f",),
        "F",
        "Coat the other side of the selected walls.",
    ),
    edit_command(
        "both",
        "Coat both faces",
        edit_commands.both_faces,
        (),
        "",
        "Coat both faces of the selected walls. Their thickness must be known.",
    ),
    edit_command(
        "duplicate",
        "Duplicate into a new room",
        edit_commands.duplicate,
        ("Control-d",),
        "Ctrl+D",
        "Copy the selected walls beside themselves, into a new room.",
    ),
    edit_command(
        "mirror-x",
        "Mirror left to right",
        edit_commands.mirror_across,
        (),
        "",
        "Mirror the selected walls about their middle.",
    ),
    edit_command(
        "mirror-y",
        "Mirror top to bottom",
        edit_commands.mirror_down,
        (),
        "",
        "Mirror the selected walls about their middle.",
    ),
    edit_command(
        "split",
        "Split at the selected point",
        edit_commands.split,
        ("Control-k",),
        "Ctrl+K",
        "Split the wall at the selected point.",
        has_corner,
        "click a point of the selected wall first",
    ),
    edit_command(
        "join",
        "Join two walls",
        edit_commands.join,
        ("Control-j",),
        "Ctrl+J",
        "Join two selected walls whose ends meet.",
        has_two,
        "select two walls whose ends meet first; Control + click adds one",
    ),
    Command(
        id="copy-opening",
        menu="Edit",
        label="Repeat the opening…",
        keys=("Control-r",),
        key_text="Ctrl+R",
        help="Repeat the selected opening along its wall.",
        run=partial(open_once, make=RepeatDialog),
        is_enabled=has_opening,
        first="select the opening first",
    ),
    edit_command(
        "select-all",
        "Select all on the sheet",
        edit_commands.select_all,
        ("Control-a",),
        "Ctrl+A",
        "Select every wall on the sheet.",
        has_job,
    ),
)
"""The menu Edit."""
