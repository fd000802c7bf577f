"""Every command of the window in one table: menus, buttons, keys, tooltips and the sheet of keys come from it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

from takeoff.gui.dialogs import common, job_dialogs
from takeoff.gui.dialogs.check_dialog import ask_check, check_sheet
from takeoff.gui.dialogs.drawing_dialogs import LayersDialog, StylesDialog
from takeoff.gui.dialogs.exchange_dialogs import export, finish_schedule, take_in
from takeoff.gui.dialogs.job_dialogs import SettingsDialog, about, keys, repeat_dialog
from takeoff.gui.dialogs.reports_dialog import ReportsDialog
from takeoff.gui.dialogs.site_dialogs import ReadingDialog, TermsDialog, UseDialog
from takeoff.gui.dialogs.starting import new_job
from takeoff.gui.dialogs.system_forms import SystemForms
from takeoff.gui.dialogs.systems_editor import SystemsEditor
from takeoff.gui.dialogs.working import draft_set
from takeoff.gui.host import Command, Host, session_of
from takeoff.gui.job_shapes import polyline
from takeoff.gui.session import MARK_KINDS, Selection, Session
from takeoff.job import wall_edits
from takeoff.job.edits import Batch, Edit, RemoveOpening

MARKS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("all", ()),
    ("all but the names of rooms", ("names",)),
    ("the lines of the walls alone", ("names", "sides", "openings", "scales")),
    ("none", tuple(MARK_KINDS)),
)
"""Steps of what is hidden of the marks over the plan, in words and in kinds."""
ZOOM = 1.25
"""What one press of a key makes larger or smaller."""
TEXT_STEP, TEXT_MOST = 0.25, 2.0
"""Steps of the size of text, and its largest."""


# -- when a command can be run ---------------------------------------------------------------------------------------


def can_undo(host: Host) -> bool:
    """Whether there is a step of the tool or an edit to undo."""
    has_steps = host.tool is not None and host.tool.has_steps
    return host.session is not None and (has_steps or host.session.store.can_undo)


def when(is_so: Callable[[Session], object], first: str) -> dict[str, Any]:
    """Have a command run only where something is so of the open job; ``first`` says what to do before."""
    return {"is_enabled": lambda host: host.session is not None and bool(is_so(host.session)), "first": first}


# -- what commands do ------------------------------------------------------------------------------------------------


def undo(host: Host) -> None:
    """Take back the last point of what is under way, else the last edit."""
    if not (host.tool is not None and host.tool.back()):
        session_of(host).undo()
    host.paint()


def remove(host: Host) -> None:
    """Remove what the tool has hold of, else the opening or the walls that are selected, with rooms of theirs alone."""
    session = session_of(host)
    chosen = session.selection
    if host.tool is not None and not host.tool.key("delete"):
        if chosen.opening is not None:
            session.do(RemoveOpening(run=chosen.opening[0], index=chosen.opening[1]))
        elif chosen.runs:
            session.do(wall_edits.RemoveWalls(runs=chosen.runs))
    host.paint()


def fit_selection(host: Host) -> None:
    """See what is selected on the sheet, large."""
    session = session_of(host)
    points = [p for run in session.selected_runs() if run.sheet == session.sheet_id for p in polyline(run)]
    host.canvas.fit_points(points)


def step_sheet(host: Host, by: int) -> None:
    """Show the sheet so many places further on in the register, where there is one."""
    ids = sorted(session_of(host).job.sheets)
    at = ids.index(session_of(host).sheet_id) + by
    if 0 <= at < len(ids):
        host.choose_sheet(ids[at])


def step_snaps(host: Host) -> None:
    """Snap to everything, to ends and crossings alone, or to nothing."""
    if host.snapper is not None:
        session_of(host).tell(f"Snap to: {host.snapper.step()}.")


def step_marks(host: Host) -> None:
    """Hide more of what is drawn over the sheet, or show all of it again."""
    session = session_of(host)
    hidden = {kind for kind, seen in session.marks.items() if seen == "hidden"}
    at = next((i for i, (_, kinds) in enumerate(MARKS) if set(kinds) == hidden), -1)
    words, kinds = MARKS[(at + 1) % len(MARKS)]
    session.marks = dict.fromkeys(kinds, "hidden")
    host.repaint()
    session.tell(f"Marks over the plan: {words}.")


def step_dim(host: Host) -> None:
    """Show the drawing paler, or as it is again."""
    share = host.canvas.step_paleness()
    session_of(host).tell(f"The drawing is shown {'as it is' if share == 0 else f'{share:.0%} paler'}.")


def change_look(host: Host, **changed: Any) -> None:
    """Change how the window looks, now and for the next time."""
    host.remember(replace(host.preferences, **changed))
    host.take_look()


def change_text(host: Host, steps: int) -> None:
    """Make all text larger or smaller."""
    change_look(host, text_size=min(max(host.preferences.text_size + steps * TEXT_STEP, 1.0), TEXT_MOST))


def show_keys(host: Host) -> common.Dialog:
    """Show every key of the window."""
    named = ((c.key_text, c.label.removesuffix("…")) for c in COMMANDS if c.key_text)
    return keys(host, [*named])


def select_all(session: Session) -> None:
    """Select every wall of the sheet that is shown."""
    session.select(Selection(runs=tuple(run.id for run in session.runs_here())))


def remove_rooms(session: Session) -> bool:
    """Remove the rooms of the selected walls, with all their walls."""
    rooms = list(dict.fromkeys(run.room for run in session.selected_runs() if run.room))
    if not rooms:
        session.tell("The selected walls are in no room: Delete removes the walls.", is_refusal=True)
        return False
    names = dict(session.rooms())
    edits = tuple(wall_edits.RemoveRoomWithWalls(room=id) for id in rooms)
    return session.do(Batch(title=f"Remove {', '.join(names[id] for id in rooms)} with all walls", edits=edits))


def on_walls(make: Callable[..., Edit], **more: Any) -> Callable[[Session], bool]:
    """Return a command that does an edit of the selected walls."""
    return lambda session: session.do(make(runs=session.selection.runs, **more))


def duplicate(session: Session) -> bool:
    """Copy the selected walls into a new room, and select the copies."""
    return _made(
        session, wall_edits.DuplicateWalls(runs=session.selection.runs), "The copy is selected: drag it into place"
    )


def split(session: Session) -> bool:
    """Split the wall at the selected point, and select the part behind it."""
    assert session.selection.vertex is not None
    id, number = session.selection.vertex
    return _made(session, wall_edits.SplitWall(run=id, at_pt=session.job.runs[id].points_pt[number]))


def _made(session: Session, edit: Edit, told: str = "") -> bool:
    """Do an edit and select the walls that it made; where it made none, what was selected stays so."""
    before = session.job.runs
    if not session.do(edit, told):
        return False
    made = tuple(id for id in session.job.runs if id not in before)
    session.select(Selection(runs=made or session.selection.runs[:1]))
    return True


# -- the table -------------------------------------------------------------------------------------------------------


def _dialog(
    id: str, label: str, key: str, make: Callable[[Host], object], help: str, *, menu: str = "Job", **more: Any
) -> Command:
    return Command(menu, id, label, key, partial(common.open_once, make=make), help, **more)


def _tool(id: str, label: str, key: str, help: str) -> Command:
    return Command("Tools", f"tool-{id}", label, key, lambda host: host.use_tool(id), help)


def _edit(id: str, label: str, key: str, work: Callable[[Session], object], help: str, **more: Any) -> Command:
    def run(host: Host) -> None:
        work(session_of(host))
        host.paint()

    return Command("Edit", id, label, key, run, help, **(more or WALL))


_plans, _site = partial(_dialog, menu="Plans"), partial(_dialog, menu="Site")
_view = partial(Command, "View")
ALWAYS: dict[str, Any] = {"is_enabled": lambda _host: True}
UNDO: dict[str, Any] = {"is_enabled": can_undo, "first": "there is nothing to undo"}
REDO = when(lambda session: session.store.can_redo, "there is nothing to redo")
POINT = when(lambda session: session.selection.vertex, "click a point of the selected wall first")
OPENING = when(lambda session: session.selection.opening, "select the opening first")
TWO = when(
    lambda session: len(session.selection.runs) == 2, "select two walls whose ends meet first; Control + click adds one"
)
WALL = when(lambda session: session.selection.runs, "select a wall first")
JOB = when(lambda session: True, "")

# fmt: off
COMMANDS: tuple[Command, ...] = (
    _dialog("new", "New job from plans…", "Ctrl+N", new_job, "Start a job from plan files.", **ALWAYS),
    _dialog("open", "Open job…", "Ctrl+O", job_dialogs.open_job, "Open a job file.", **ALWAYS),
    _dialog("import-job", "Open an exported job…", "", job_dialogs.open_exported,
            "Make a job file of a job that was exported whole, as JSON, and open it.", **ALWAYS),
    _dialog("rescue", "Rescue a damaged job…", "", job_dialogs.rescue,
            "Save what can be trusted of a damaged job into a new file, and list what cannot.", **ALWAYS),
    _dialog("settings", "Units and rules…", "", SettingsDialog,
            "Name, units, currency, measuring rule and finish codes of the job; your name."),
    _dialog("system-forms", "Systems and products…", "Shift+F6", SystemForms,
            "Edit a system, its steps and their products in fields."),
    _dialog("systems", "Systems and rates…", "F6", SystemsEditor, "Edit systems, products, rates and prices."),
    Command("Job", "points", "Open points", "F12", lambda host: host.show_open_points(),
         "What nobody has confirmed yet, most money first."),
    Command("Job", "next-point", "Next open point", "N", lambda host: host.step_points(1),
         "Look at the next open point, at its place on the plan."),
    Command("Job", "previous-point", "Open point before", "P", lambda host: host.step_points(-1),
         "Look at the open point before."),
    Command("Job", "confirm-point", "Confirm the open point", "K", lambda host: host.confirm_point(),
         "Say that the value taken is right of the open point looked at, and look at the next."),
    _dialog("reports", "Reports…", "Ctrl+P", ReportsDialog, "Write the PDF, the workbook and the tables."),
    _dialog("export", "Export the job…", "", export,
            "Write the job for other programs: marked PDF, DXF, IFC, GeoJSON or JSON."),
    _dialog("history", "History…", "", job_dialogs.history, "Who did what when."),
    _dialog("copy", "Save a copy…", "", job_dialogs.copy, "Save a copy of the job, to try something in it."),
    Command("Job", "close", "Close job", "Ctrl+W", lambda host: host.close_job(),
            "Close the job; all is saved already."),

    _plans("draft", "Draft the set…", "", draft_set,
            "Take from all sheets what they say: rooms, openings, heights, systems and a price.", **ALWAYS),
    _plans("add-plans", "Add plans…", "", job_dialogs.add_plans, "Add sheets that the job does not have."),
    _plans("revise", "Compare a new revision…", "F7", job_dialogs.revise,
            "Compare a new revision of the sheet with the old one, and carry the walls over."),
    _plans("revise-set", "Compare a new set…", "", job_dialogs.revise_set,
            "Compare a whole new set with the job: which sheets are the same, changed, new or gone."),
    _plans("import", "Import walls…", "", take_in, "Add the walls of a marked PDF, a DXF drawing or an edits file."),
    _plans("finishes", "Read the finish schedule…", "", finish_schedule,
            "Set system, height and cove of the rooms by the schedule on the sheet that is shown."),
    _plans("check", "Check stated areas…", "", ask_check, "Compare a schedule of areas with what was measured."),
    _plans("check-sheet", "Check the areas on this sheet…", "", check_sheet,
            "Compare the areas in a table on this sheet with what was measured."),

    _site("terms", "How the site is worked…", "", TermsDialog,
            "First day, crews, hand-over of rooms, travel: days and price follow it."),
    _site("use", "Work done on site…", "F2", UseDialog,
            "Record packs used of a step, what was done with them, and the hours it took."),
    _site("reading", "Reading on site…", "F3", ReadingDialog, "Record air, wall and humidity: may it be coated?"),

    Command("Edit", "undo", "Undo", "Ctrl+Z", undo, "Take the last edit back; while tracing, the last point.", **UNDO),
    _edit("redo", "Redo", "Ctrl+Y", Session.redo, "Redo what was undone.", **REDO),
    Command("Edit", "delete", "Remove", "Delete", remove,
         "Remove the point, the opening or the walls that are selected.", **WALL),
    _edit("remove-room", "Remove the room", "Shift+Delete", remove_rooms,
          "Remove the rooms of the selected walls, with all their walls."),
    _edit("flip", "Coat the other side", "F", on_walls(wall_edits.FlipWalls),
          "Coat the other side of the selected walls."),
    _edit("both", "Coat both faces", "", on_walls(wall_edits.CoatBothFaces),
          "Coat both faces of the selected walls. Their thickness must be known."),
    _edit("duplicate", "Duplicate into a new room", "Ctrl+D", duplicate,
          "Copy the selected walls beside themselves, into a new room."),
    _edit("mirror-x", "Mirror left to right", "", on_walls(wall_edits.MirrorWalls),
          "Mirror the selected walls about their middle."),
    _edit("mirror-y", "Mirror top to bottom", "", on_walls(wall_edits.MirrorWalls, is_across=False),
          "Mirror the selected walls about their middle."),
    _edit("split", "Split at the selected point", "Ctrl+K", split,
          "Split the wall at the selected point.", **POINT),
    _edit("join", "Join two walls", "Ctrl+J", on_walls(wall_edits.JoinWalls),
          "Join two selected walls whose ends meet.", **TWO),
    Command("Edit", "copy-opening", "Repeat the opening…", "Ctrl+R", partial(common.open_once, make=repeat_dialog),
         "Repeat the selected opening along its wall.", **OPENING),
    _edit("select-all", "Select all on the sheet", "Ctrl+A", select_all,
          "Select every wall on the sheet.", **JOB),

    _tool("pick", "Select", "V", "Select walls, openings and points; drag them."),
    _tool("trace", "Trace walls", "T", "Trace the face to be coated, point by point."),
    _tool("room", "Room", "G", "Click inside a room to trace it from the drawing. Enter traces all rooms."),
    _tool("box", "Rectangle", "B", "Trace a rectangular room by two opposite points."),
    _tool("style", "Show a wall", "W", "Click one wall, door and window; what is drawn alike is read as such."),
    _tool("opening", "Opening", "D", "Place doors and windows on traced walls."),
    _tool("scale", "Scale", "S", "Set the scale by a known dimension."),
    _tool("measure", "Measure", "M", "Measure lengths, angles and areas on the plan. Nothing is kept."),
    _tool("region", "Scale region", "R", "Outline a detail at another scale."),
    _dialog("styles", "Drafting styles…", "", StylesDialog,
            "How offices draw walls, doors and windows: show, propose, remove, take from another job.", menu="Tools"),

    _view("fit-sheet", "See the whole sheet", "Home", lambda host: host.canvas.fit_sheet(), "See the whole sheet."),
    _view("fit-selection", "See the selection", "Z", fit_selection, "See what is selected, large."),
    _view("zoom-box", "See inside a box", "X", lambda host: host.use_tool("zoom-box"),
          "Drag a box to see it as large as the window."),
    _view("zoom-in", "Zoom in", "+", lambda host: host.canvas.zoom_by(ZOOM), "See less of the sheet, larger."),
    _view("zoom-out", "Zoom out", "−", lambda host: host.canvas.zoom_by(1 / ZOOM), "See more of the sheet, smaller."),
    _view("next-sheet", "Next sheet", "Page Down", partial(step_sheet, by=1), "Show the next sheet."),
    _view("previous-sheet", "Previous sheet", "Page Up", partial(step_sheet, by=-1), "Show the sheet before."),
    _view("snaps", "Snap to more or less", "O", step_snaps,
          "Snap to everything, to ends and crossings alone, or to nothing."),
    _view("marks", "Show less or more marks", "H", step_marks,
          "Hide the names, then the ticks and openings too, then the walls; then show all again."),
    _dialog("layers", "Layers…", "Ctrl+L", LayersDialog,
            "Show, dim or hide layers of the sheet and kinds of marks.", menu="View"),
    _view("dim", "Dim the drawing", "J", step_dim, "Show the drawing paler, paler still, and as it is again."),
    _view("sheets", "Fold the sheets", "F4", lambda host: host.fold("sheets"),
          "Fold or unfold the sheets beside the plan."),
    _view("side", "Fold the panel", "F5", lambda host: host.fold("side"), "Fold or unfold the panel beside the plan."),
    _view("figures", "Fold the tables", "F9", lambda host: host.fold("figures"),
          "Fold or unfold the tables below the plan."),
    _view("tall", "Tall tables", "Shift+F9", lambda host: host.make_tall(),
          "Give the tables most of the plan's height, or give it back."),
    _view("dark", "Light or dark", "F8",
          lambda host: change_look(host, is_dark=not host.preferences.is_dark), "Change between light and dark.",
          **ALWAYS),
    _view("larger", "Larger text", "Ctrl++", partial(change_text, steps=1), "Make all text larger, up to 200 %.",
          **ALWAYS),
    _view("smaller", "Smaller text", "Ctrl+−", partial(change_text, steps=-1), "Make all text smaller, down to 100 %.",
          **ALWAYS),

    _dialog("keys", "Keys", "F1", show_keys, "Every key of the window.", menu="Help", **ALWAYS),
    _dialog("about", "Safety and licence", "", about, "Safety advice, and the licence.", menu="Help", **ALWAYS),
)
# fmt: on


def command(id: str) -> Command:
    """Return a command by its id."""
    return next(c for c in COMMANDS if c.id == id)
