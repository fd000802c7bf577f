"""What the window knows besides the job: which sheet is shown, what is selected, and who is told of changes."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from takeoff import actions
from takeoff.errors import EditError, InputError, TakeoffError
from takeoff.gui.wording import begun, remedy_here, words_of
from takeoff.job.edits import Batch, Change, Edit, PutRoom, PutRun, has_changed_since
from takeoff.job.job import Job, calibration_key
from takeoff.job.store import JobStore
from takeoff.job.wall_edits import AddWalls
from takeoff.measure.kept import Kept
from takeoff.measure.totals import By, in_names, natural_key, room_label, wall_labels
from takeoff.model.open_points import Basis, taken_of
from takeoff.model.plan import Calibration, Point, Sheet
from takeoff.model.walls import Room, Run
from takeoff.sheet.layers import LayerLook
from takeoff.sheet.text import TextLine, read_lines
from takeoff.units import Display

SAG_PT = 0.5
"""Sheet points by which the chords that stand for an arc may miss it."""
Seen = Literal["shown", "dimmed", "hidden"]
MARK_KINDS: Mapping[str, str] = {
    "names": "Names of rooms",
    "walls": "Walls",
    "sides": "Coated sides",
    "openings": "Openings",
    "scales": "Scale regions and dimensions",
}
"""What is drawn over the plan, and what each kind is called."""
OVERTAKEN = (
    "Another window or a command has just changed the same thing. Look at it, then do yours again if it still fits."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Selection:
    """Runs that are selected, and at most one opening (run id, number from 0) or vertex of one of them."""

    runs: tuple[str, ...] = ()
    opening: tuple[str, int] | None = None
    vertex: tuple[str, int] | None = None


class Session:
    """One open job file, which `close` closes, and what is looked at in it."""

    def __init__(self, store: JobStore) -> None:
        self.store = store
        current = [id for id, sheet in store.job.sheets.items() if sheet.replaced_by is None] or list(store.job.sheets)
        traced = {run.sheet for run in store.job.runs.values()}
        self.sheet_id = min(current, key=lambda id: (id not in traced, id))
        self.selection = Selection()
        self.next_room = Room(id="new")
        self.next_opening = actions.usual_opening("door", store.job.settings.units)
        """What the next room and the next opening take until something else is chosen."""
        self._lines: dict[int, tuple[TextLine, ...]] = {}
        self.looked_at: Point | None = None
        """Place on the sheet of the open point that was gone to, until something is selected."""
        self.tried: set[int] = set()
        """Sheets whose scale was looked for when they were first shown."""
        self.marks: dict[str, Seen] = {}
        """Kinds of `MARK_KINDS` that are dimmed or hidden over the plan; all others are shown."""
        self.looks: dict[int, LayerLook] = {}
        """Layers that are dimmed or hidden, by sheet."""
        self.message = ""
        self.is_refusal = False
        self._listeners: list[Callable[[Change | None], None]] = []
        self._kept = Kept()
        self._names: tuple[Job | None, dict[str, str]] = (None, {})
        self._measured: dict[By, tuple[Job, actions.Measured, tuple[actions.Pending, ...]]] = {}
        for room in store.job.rooms.values():
            if room.height is not None and room.height.is_constant:
                self.next_room = _next_room(room)

    @property
    def job(self) -> Job:
        """The job as it is now."""
        return self.store.job

    @property
    def path(self) -> Path:
        """The job file."""
        return self.store.path

    @property
    def sheet(self) -> Sheet:
        """The sheet that is shown."""
        return self.job.sheets[self.sheet_id]

    @property
    def display(self) -> Display:
        """How figures are shown."""
        return self.job.settings.display

    @property
    def scale(self) -> Calibration | None:
        """Scale of the sheet that is shown; nothing where it has none yet."""
        return self.job.calibrations.get(calibration_key(self.sheet_id))

    def runs_here(self) -> list[Run]:
        """Runs on the sheet that is shown."""
        return [run for run in self.job.runs.values() if run.sheet == self.sheet_id]

    def selected_runs(self) -> list[Run]:
        """The selected runs."""
        return [self.job.runs[id] for id in self.selection.runs if id in self.job.runs]

    def on_change(self, listener: Callable[[Change | None], None]) -> None:
        """Have a function called after each edit with its change, and with ``None`` when only the view changed."""
        self._listeners.append(listener)

    def tell(self, message: str, *, is_refusal: bool = False) -> None:
        """Show a sentence to the person and repaint."""
        self._say(message, is_refusal=is_refusal)
        self._notify(None)

    def _say(self, message: str, *, is_refusal: bool = False) -> None:
        self.message, self.is_refusal = begun(self.named(message)), is_refusal

    def _notify(self, change: Change | None) -> None:
        if change is not None:
            self._drop_stale_selection()
        for listener in tuple(self._listeners):
            listener(change)

    # -- edits ---------------------------------------------------------------------------------------------------

    def do(self, edit: Edit, told: str = "") -> bool:
        """Do an edit and return whether it was done; a refusal is told, not raised."""
        before = self.job
        if self.take_up() and has_changed_since(edit, before, self.job):
            self.tell(OVERTAKEN, is_refusal=True)
            return False
        return self.act(told or "Done: {}", actions.do_edit, edit)

    def take_up(self) -> bool:
        """Take up what another window or command has done to the job, and say so; return whether there was any."""
        try:
            line = self.store.catch_up()
        except TakeoffError as error:
            self.tell(words_of(error), is_refusal=True)
            return False
        if line is None:
            return False
        self._say(f"Changed in another window or by a command, by {line.who}: {line.label}")
        self._notify(Change(line.label, ()))
        return True

    def attempt(self, work: Callable[[], object], told: str) -> bool:
        """Do anything that changes the job through an action; a refusal is told, not raised.

        ``told`` may leave a place, {}, for the label of the change.
        """
        self.take_up()
        self.named("")  # walls that this removes are called by their names afterwards too
        try:
            result = work()
        except TakeoffError as error:
            self.tell(words_of(error), is_refusal=True)
            return False
        change = result if isinstance(result, Change) else Change(told, ())
        self._say(told.replace("{}", change.label))
        self._notify(change)
        return True

    def act(self, told: str, action: Callable[..., object], *given: object, **named: object) -> bool:
        """Attempt an action that is given the job's store and what is given here."""
        return self.attempt(lambda: action(self.store, *given, **named), told)

    def undo(self) -> bool:
        """Take the last edit back."""
        return self._step(self.store.undo, "Undone")

    def redo(self) -> bool:
        """Redo what was last undone."""
        return self._step(self.store.redo, "Redone")

    def _step(self, step: Callable[..., Change | None], word: str) -> bool:
        if self.take_up():
            self.tell(f"{self.message}. Do it once more to undo or redo that.", is_refusal=True)
            return False

        def work() -> Change:
            change = step()
            if change is None:
                raise EditError("there is nothing more to undo or redo")
            return change

        return self.attempt(work, f"{word}: {{}}")

    # -- looking -------------------------------------------------------------------------------------------------

    def show_sheet(self, id: int) -> None:
        """Show a sheet."""
        if id != self.sheet_id:
            self.sheet_id, self.selection, self.looked_at = id, Selection(), None
            self._say("")  # what was said was about the sheet before
        self._notify(None)

    def select(self, selection: Selection) -> None:
        """Select runs, an opening or a vertex; the sheet of the first run is shown."""
        self.selection, self.looked_at = selection, None
        if selection.runs and selection.runs[0] in self.job.runs:
            self.sheet_id = self.job.runs[selection.runs[0]].sheet
        self._notify(None)

    def _drop_stale_selection(self) -> None:
        runs = {id: self.job.runs[id] for id in self.selection.runs if id in self.job.runs}
        opening, vertex = self.selection.opening, self.selection.vertex
        if opening and (opening[0] not in runs or opening[1] >= len(runs[opening[0]].openings)):
            opening = None
        if vertex and (vertex[0] not in runs or vertex[1] >= len(runs[vertex[0]].points_pt)):
            vertex = None
        self.selection = Selection(runs=tuple(runs), opening=opening, vertex=vertex)
        if self.sheet_id not in self.job.sheets:
            self.sheet_id = min(self.job.sheets)

    # -- figures -------------------------------------------------------------------------------------------------

    def measured(self, by: By = "room") -> tuple[actions.Measured, tuple[actions.Pending, ...]]:
        """Return what can be measured, by room, run or system, and what each other run lacks."""
        if by not in self._measured or self._measured[by][0] is not self.job:
            measured, pending = actions.measure_ready(self.job, by=by, kept=self._kept)
            pending = tuple(replace(p, remedy=remedy_here(p.remedy)) for p in pending)
            self._measured[by] = (self.job, measured, pending)
        return self._measured[by][1:]

    def rooms(self) -> list[tuple[str, str]]:
        """Id and label of every room, in natural order of the labels."""
        rooms = ((room.id, room_label(room)) for room in self.job.rooms.values())
        return sorted(rooms, key=lambda room: natural_key(room[1]))

    def named(self, text: str) -> str:
        """Write names of walls in place of their ids; those that are gone keep the names they had."""
        if self._names[0] is not self.job:
            self._names = (self.job, {**self._names[1], **wall_labels(self.job.runs.values(), self.job.rooms)})
        return in_names(text, self._names[1])

    def wall(self, run: str) -> str:
        """Name a wall, as the start of a sentence."""
        return begun(self.named(f"wall {run}"))

    def systems(self) -> list[tuple[str, str]]:
        """Id and name of every system that a run can take."""
        return [(s.id, s.name) for s in actions.catalogue_of(self.job).systems]

    # -- what edits need -----------------------------------------------------------------------------------------

    def need_on_sheet(self, points: Sequence[Point]) -> None:
        """Refuse (`InputError`) corners that lie off the sheet that is shown."""
        if not all(self.sheet.holds(pt) for pt in points):
            raise InputError("this point lies off the sheet", remedy="Keep walls on the paper.")

    def new_runs(self, runs: Sequence[Run], told: str) -> bool:
        """Add traced runs: those without a room go into the room that is selected, or into a new one."""
        job, said = self.job, ""
        room = next((run.room for run in self.selected_runs() if run.room in job.rooms), None)
        like, usual = self.next_room, self.next_room.height
        outline = next((run for run in runs if run.closed and run.room is None), None)
        if outline is not None:
            like = self.printed_room(outline, like)
            parts = [" ".join(t for t in (like.number, like.name) if t)]
            if like.height is not None and like.height != usual:
                parts.append(f"{self.display.length(like.height.points[0][1])} high")
            called = ", ".join(part for part in parts if part)
            said = f"{told}: {called}, as it is printed there." if called else ""
        is_done = self.do(AddWalls(runs=tuple(runs), room=room, like=like, title=told), said)
        if is_done:
            self.select(Selection(runs=tuple(id for id in self.job.runs if id not in job.runs)))
        return is_done

    def printed_room(self, run: Run, like: Room) -> Room:
        """A room with what the sheet prints inside a closed run; a name that is in the job is not given again."""
        sheet = self.job.sheets[run.sheet]
        if sheet.id not in self._lines:
            try:
                self._lines[sheet.id] = tuple(read_lines(self.store.source(sheet.source), sheet))
            except TakeoffError:
                self._lines[sheet.id] = ()
        made = actions.printed_room(self._lines[sheet.id], sheet.id, run.path_pt.flattened(SAG_PT), like)
        taken = {(room.name, room.number) for room in self.job.rooms.values()}
        return replace(made, name="", number="") if (made.name, made.number) in taken else made

    def put_runs(self, runs: Sequence[Run], title: str) -> bool:
        """Replace runs as one edit."""
        if all(self.job.runs.get(run.id) == run for run in runs):
            return False
        return self.do(Batch(title=title, edits=tuple(PutRun(run=run) for run in runs)))

    def put_rooms(self, rooms: Sequence[Room], title: str) -> bool:
        """Replace rooms as one edit, and remember what they take for the next room."""
        is_done = self.do(Batch(title=title, edits=tuple(PutRoom(room=room) for room in rooms)))
        if is_done and rooms:
            self.next_room = _next_room(rooms[-1])
        return is_done

    def close(self) -> None:
        """Close the job file."""
        self._listeners.clear()
        self.store.close()


def _next_room(room: Room) -> Room:
    """Return what the room after a room takes of it: until somebody confirms that, it is assumed."""
    taken = {"height": room.height, "system": room.system, "cove": room.cove}
    basis = tuple(assumed(of, value, "as in the room before") for of, value in taken.items() if value is not None)
    return Room(id="new", height=room.height, system=room.system, cove=room.cove, basis=basis)


def assumed(of: str, value: object, why: str) -> Basis:
    """Return the basis of a value that nobody gave."""
    return Basis(of=of, taken=taken_of(value), how="assumed", text=why)
