"""Starting a job: what is shown while none is open, plan files chosen or dropped, and what is asked of a new one."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any, Literal

from takeoff import actions
from takeoff.errors import InputError, TakeoffError
from takeoff.exchange.catalogue_file import default_catalogue
from takeoff.gui.dialogs.common import JOB_TYPES, PLAN_TYPES, Dialog, FormDialog, ask_files, refusal
from takeoff.gui.entries import read_height
from takeoff.gui.host import Host, session_of
from takeoff.gui.session import assumed
from takeoff.gui.widgets import THEME, Pair, Row, TextField, bold, button, clear, ctk, label
from takeoff.job.job import JobSettings
from takeoff.model.walls import HeightProfile, Room
from takeoff.signing import signed
from takeoff.units import Display

STEPS = (
    "1  Choose the plans: a PDF set, or pictures of the sheets. Your files are never changed.",
    "2  The scale is read off the sheet. Where that is not sure, show one printed dimension.",
    "3  Trace each room by one click, or its walls by hand, with doors, windows, heights and cove.",
    "4  Give each room its system: areas, material, labour and price follow as you work.",
    "5  Settle the open points: what neither the sheets state nor you have confirmed.",
)


WIDE = 790
"""Width in pixels at 100 % text from which the buttons stand in one row."""
MARGIN = 30


class StartScreen(ctk.CTkScrollableFrame):
    """The first thing that is seen; it scrolls where the window is too small for its text.

    ``ways`` to begin go by what their buttons say, each with its hint; the first is the usual one.
    """

    def __init__(
        self,
        parent: tkinter.Misc,
        ways: Mapping[str, tuple[Callable[[], object], str]],
        *,
        open_path: Callable[[Path], object],
        takes_drops: bool,
    ) -> None:
        super().__init__(parent, fg_color=THEME.ground, corner_radius=0)
        self._open_path = open_path
        self._middle = clear(self)
        self._middle.pack(padx=MARGIN)
        self._texts: list[ctk.CTkLabel] = []
        self._say("takeoff", THEME.text, font=bold(30))
        subject = "From a plan to wall areas, material, labour and a price, for resinous wall systems."
        self._say(subject, THEME.quiet, font=ctk.CTkFont(size=15))
        row = clear(self._middle)
        row.pack(anchor="w", pady=12)
        self.buttons = [
            button(row, text, act, hint=hint, is_main=i == 0) for i, (text, (act, hint)) in enumerate(ways.items())
        ]
        if takes_drops:
            self._say("Plans, or a job file, can be dropped on this window too.", THEME.quiet)
        for step in STEPS:
            self._say(step, THEME.text, height=22)
        self.recent = clear(self._middle, height=0)
        self.recent.pack(anchor="w", fill="x", pady=(10, 0))
        self._parent_canvas.bind("<Configure>", self._fit, add="+")

    def _say(self, text: str, colour: Pair, **more: Any) -> None:
        made = label(self._middle, text, colour=colour, **more)
        made.pack(anchor="w", pady=1)
        self._texts.append(made)

    def _fit(self, _event: object = None) -> None:
        size = self._get_widget_scaling()
        wide, high = self._parent_canvas.winfo_width() / size, self._parent_canvas.winfo_height() / size
        columns = len(self.buttons) if wide >= WIDE else 2
        for i, made in enumerate(self.buttons):
            made.grid(row=i // columns, column=i % columns, padx=(0, 10), pady=4, sticky="ew")
        for text in self._texts:
            text.configure(wraplength=max(int(wide) - 2 * MARGIN, 200))
        self._middle.update_idletasks()
        self._middle.pack(pady=max(0.4 * (high - self._middle.winfo_reqheight() / size), 4))

    def show_recent(self, paths: Sequence[str]) -> None:
        """Show the recent jobs, those that are still there."""
        for child in self.recent.winfo_children():
            child.destroy()
        found = [Path(p) for p in paths if Path(p).is_file()]
        if not found:
            return
        label(self.recent, "Recent jobs", font=bold(14)).pack(anchor="w")
        for path in found:
            made = button(self.recent, f"{path.stem}   {path.parent}", partial(self._open_path, path))
            made.configure(border_width=0, text_color=THEME.accent, anchor="w")
            made.pack(anchor="w")
        self._fit()


Units = Literal["imperial", "metric"]

UNITS = (("", "those of the plans"), ("imperial", "feet and inches"), ("metric", "millimetres and metres"))
FIELDS = (
    Row("name", "Name", "Name of the job, as reports show it."),
    Row("place", "Save as", "The job file; it holds the plans too.", finds="save", types=JOB_TYPES),
    Row("units", "Units", "How lengths are read and shown.", UNITS),
    Row("height", "Height", "Top of the coating above the floor. A height that is printed in a room is taken first."),
    Row("system", "System", "What rooms are coated with. Left as proposed, it is an open point of each room.", ()),
)


class NewJobDialog(FormDialog):
    """Everything has a value already: Enter starts the job."""

    def __init__(self, host: Host, plans: list[Path]) -> None:
        super().__init__(host, "New job", FIELDS, "Start", width=520, takes_enter=True)
        self._plans = plans
        self.heading.configure(text="New job: " + ", ".join(plan.name for plan in plans))
        systems = [(system.id, system.name) for system in default_catalogue().systems]
        self.form.choices("system", [*systems, ("", "none yet")])
        self.form.choose("system", proposed_system(host))
        self._proposed = self.form.text("system")
        height = self.form["height"]
        assert isinstance(height, TextField)
        height.entry.configure(placeholder_text="as printed in each room, or type one: 10', 3 m")
        self.form.show(name=plans[0].stem, place=str(plans[0].with_suffix(".takeoff")), units="")

    def act(self) -> None:
        text, host = self.form.text, self.host
        units: Units | None = text("units") or None  # type: ignore[assignment]
        read_as = Display(system=units or ("imperial" if "'" in text("height") else "metric"))
        system = text("system")
        first = first_room(system, is_proposed=system == self._proposed, height=read_height(text("height"), read_as))
        place = Path(text("place")).expanduser()
        if place.exists():
            raise InputError(f"{place.name} is there already", remedy="Choose another name, or open that job (Ctrl+O).")
        host.remember(replace(host.preferences, first_system=text("system")))
        name = text("name")
        self.destroy()
        start_job(host, place, self._plans, name=name, units=units, first=first)


def proposed_system(host: Host) -> str:
    """Return the id of the system that the last job began with, else of the first that is shipped; empty for none."""
    last = host.preferences.first_system
    return default_catalogue().systems[0].id if last is None else last


def first_room(system: str, *, is_proposed: bool, height: HeightProfile | None = None) -> Room:
    """Return what the first room of a job takes; a system that nobody chose is an open point of it."""
    basis = (assumed("system", system, "proposed for a new job"),) if system and is_proposed else ()
    return Room(id="new", height=height, system=system or None, basis=basis)


def new_job(host: Host) -> Dialog | None:
    """Ask for plan files, and then for the rest in one dialog."""
    plans = ask_files(host, "Plans of the job", PLAN_TYPES, several=True)
    return NewJobDialog(host, plans) if plans else None


def free_place(folder: Path, stem: str) -> Path:
    """Return a job file of this name in a folder that is not there yet, numbered where need be."""
    place, n = folder / f"{stem}.takeoff", 2
    while place.exists():
        place, n = folder / f"{stem}-{n}.takeoff", n + 1
    return place


def start_job(
    host: Host, place: Path, plans: list[Path], *, name: str = "", units: Units | None = None, first: Room | None = None
) -> bool:
    """Start a job from plan files in the place of a job file; a refusal is shown.

    Without a name it has the file's, without units those of the sheets' own notes; without what the first room takes,
    that has the system which is proposed.
    """
    try:
        files = [(p.name, actions.read_file(p, "plan file")) for p in plans]
        settings = JobSettings(name=name or place.stem, units=units or "imperial")
        store, doubts = actions.new_job(place, files, settings, sign=signed, tells_units=units is None)
    except TakeoffError as error:
        refusal(host, "The job was not started", error)
        return False
    host.take(store)
    session = session_of(host)
    count = len(store.job.sheets)
    told = f"{count} sheet{'s' * (count > 1)} taken in. " + " ".join(doubts)
    session.tell(told.strip())
    session.next_room = first or first_room(proposed_system(host), is_proposed=True)
    host.choose_sheet(session.sheet_id)
    return True


JOB_ENDING = ".takeoff"
PLAN_ENDINGS = tuple(PLAN_TYPES[0][1].replace("*", "").split())


def accept_files(root: Any, take: Callable[[list[Path]], object]) -> bool:
    """Have files that are dropped anywhere on a root window handed over; return whether the library for it loads here.

    They are handed over once the program that they come from has been told that they were taken.
    """
    try:
        from tkinterdnd2 import DND_FILES, TkinterDnD

        TkinterDnD.require(root)
    except (ImportError, RuntimeError):
        return False

    def dropped(names: str) -> str:
        root.after_idle(partial(take, [Path(name) for name in root.tk.splitlist(names)]))
        return "copy"

    root.tk.call("tkdnd::drop_target", "register", root, (DND_FILES,))
    root.tk.call("bind", root, "<<Drop>>", f"{root.register(dropped)} %D")
    return True


def take_dropped(host: Host, paths: Sequence[Path]) -> None:
    """Open a job file, start a job from plans, or ask what a plan is while a job is open; refuse anything else."""
    endings = {path.suffix.lower() for path in paths}
    if len(paths) == 1 and endings == {JOB_ENDING}:
        host.open_path(paths[0])
    elif not paths or not endings <= set(PLAN_ENDINGS):
        what = ", ".join(path.name for path in paths) or "nothing"
        remedy = f"Drop one job file ({JOB_ENDING}), or plans ({', '.join(PLAN_ENDINGS)})."
        refusal(host, "This cannot be taken in", InputError(f"dropped: {what}", remedy=remedy))
    elif host.session is None:
        NewJobDialog(host, list(paths))
    else:
        DroppedPlans(host, list(paths))


class DroppedPlans(Dialog):
    """Asks what plans are that were dropped while a job is open."""

    def __init__(self, host: Host, paths: list[Path]) -> None:
        super().__init__(host, "Plans were dropped" if len(paths) > 1 else "A plan was dropped")
        sheet = self.session.sheet
        name = " ".join(t for t in (sheet.number, sheet.title) if t) or f"sheet {sheet.id}"
        self.say("\n".join(path.name for path in paths))
        start = partial(self._do, partial(NewJobDialog, host, paths))
        self.new = button(self.foot, "Plans of a new job…", start, side="left")
        button(self.foot, "Cancel", self.close, side="right")
        if len(paths) == 1:
            self.say(f"Is it a new revision of {name}, the sheet that is shown, or the plan of another job?")
            compare = partial(self._do, partial(host.compare_issue, paths[0]))
            text = "A new revision of this sheet"
            self.issue = button(self.foot, text, compare, is_main=True, side="left", padx=8)
        else:
            self.say("A new revision is taken in sheet by sheet: drop one file for that.")

    def _do(self, work: Callable[[], object]) -> None:
        self.close()
        work()
