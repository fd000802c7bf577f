"""The menus Tools and View."""

from __future__ import annotations

from functools import partial

from takeoff.gui import view_commands
from takeoff.gui.host import Command
from takeoff.gui.menus.kinds import always, tool_command, view_command

TOOLS: tuple[Command, ...] = (
    tool_command("pick", "Select", "V", "Select walls, openings and points; drag them."),
    tool_command("trace", "Trace walls", "T", "Trace the face to be coated, point by point."),
    tool_command("room", "Room", "G", "Click inside a room to trace it from the drawing. Enter traces all rooms."),
    tool_command("box", "Box room", "B", "Trace a rectangular room by two opposite points."),
    tool_command("style", "Show a wall", "W", "Click one wall, door and window; what is drawn alike is read as such."),
    tool_command("opening", "Opening", "D", "Place doors and windows on traced walls."),
    tool_command("scale", "Scale", "S", "Set the scale by a known dimension."),
    tool_command("measure", "Measure", "M", "Read lengths, angles and areas off the plan. Nothing is kept."),
    tool_command("region", "Scale region", "R", "Outline a detail at another scale."),
)
"""The menu Tools."""


VIEW: tuple[Command, ...] = (
    view_command(
        "fit-sheet",
        "See the whole sheet",
        lambda host: host.canvas.fit_sheet(),
        ("Home",),
        "Home",
        "See the whole sheet.",
    ),
    view_command(
        "fit-selection",
        "See the selection",
        view_commands.fit_selection,
        ("Shift-Home", "z"),
        "Z",
        "See what is selected, large.",
    ),
    view_command(
        "zoom-box",
        "See inside a box",
        lambda host: host.use_tool("zoom-box"),
        ("x",),
        "X",
        "Drag a box to see it as large as the window.",
    ),
    view_command(
        "zoom-in",
        "Zoom in",
        lambda host: host.canvas.zoom_by(view_commands.ZOOM),
        ("plus", "equal", "KP_Add"),
        "+",
        "See less of the sheet, larger.",
    ),
    view_command(
        "zoom-out",
        "Zoom out",
        lambda host: host.canvas.zoom_by(1 / view_commands.ZOOM),
        ("minus", "KP_Subtract"),
        "−",
        "See more of the sheet, smaller.",
    ),
    view_command(
        "next-sheet",
        "Next sheet",
        partial(view_commands.step_sheet, by=1),
        ("Next",),
        "Page Down",
        "Show the next sheet.",
    ),
    view_command(
        "previous-sheet",
        "Previous sheet",
        partial(view_commands.step_sheet, by=-1),
        ("Prior",),
        "Page Up",
        "Show the sheet before.",
    ),
    view_command(
        "snaps",
        "Snap to more or less",
        view_commands.step_snaps,
        ("o",),
        "O",
        "Snap to everything, to ends and crossings alone, or to nothing.",
    ),
    view_command(
        "marks",
        "Show less or more marks",
        view_commands.step_marks,
        ("h",),
        "H",
        "Hide the names, then the ticks and openings too, then the walls; then show all again.",
    ),
    view_command(
        "dim",
        "Dim the drawing",
        view_commands.step_dim,
        ("j",),
        "J",
        "Show the drawing paler, paler still, and as it is again.",
    ),
    view_command(
        "sheets",
        "Fold the sheets",
        lambda host: host.fold("sheets"),
        ("F4",),
        "F4",
        "Fold or unfold the sheets beside the plan.",
    ),
    view_command(
        "side",
        "Fold the panel",
        lambda host: host.fold("side"),
        ("F5",),
        "F5",
        "Fold or unfold the panel beside the plan.",
    ),
    view_command(
        "figures",
        "Fold the figures",
        lambda host: host.fold("figures"),
        ("F9",),
        "F9",
        "Fold or unfold the tables below the plan.",
    ),
    view_command(
        "tall",
        "Tall figures",
        lambda host: host.make_tall(),
        ("Shift-F9",),
        "Shift+F9",
        "Give the tables most of the plan's height, or give it back.",
    ),
    view_command(
        "dark",
        "Light or dark",
        view_commands.change_dark,
        ("F8",),
        "F8",
        "Change between light and dark.",
        is_enabled=always,
    ),
    view_command(
        "larger",
        "Larger text",
        partial(view_commands.change_text, steps=1),
        ("Control-plus", "Control-equal"),
        "Ctrl++",
        "Make all text larger, up to 200 %.",
        is_enabled=always,
    ),
    view_command(
        "smaller",
        "Smaller text",
        partial(view_commands.change_text, steps=-1),
        ("Control-minus",),
        "Ctrl+−",
        "Make all text smaller, down to 100 %.",
        is_enabled=always,
    ),
)
"""The menu View."""
