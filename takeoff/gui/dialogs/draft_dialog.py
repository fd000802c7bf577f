"""Drafting a whole set: sheets are read beside the window, then taken; a page shows what came of it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future
from pathlib import Path
from tkinter import filedialog

from takeoff import actions
from takeoff.actions.draft.lanes import Lanes
from takeoff.actions.draft.making import Draft, make_draft, sheet_tasks
from takeoff.actions.draft.reading import SheetRead, SheetTask
from takeoff.actions.draft.telling import DraftedValue
from takeoff.apart import Apart
from takeoff.gui.background import Pending, fault_words
from takeoff.gui.dialogs.common import PLAN_TYPES, Dialog
from takeoff.gui.dialogs.starting import free_place, start_job
from takeoff.gui.host import Host
from takeoff.gui.reading_process import PATIENCE
from takeoff.gui.widgets.parts import button
from takeoff.gui.widgets.table_view import TableView
from takeoff.gui.widgets.theme import THEME
from takeoff.gui.widgets.toolkit import ctk
from takeoff.limits import cores
from takeoff.report.tables import Column, Table
from takeoff.signing import now, person

LOOK_MS = 100
"""Between two looks how far the reading is."""
MOST_POINTS = 6
"""Open points that the page lists; the panel of open points has all."""
ABOUT = (
    "Takes from the sheets all that they say: scales, rooms, openings, heights, systems. Scales, rooms and values that "
    "you gave stay as they are. What no sheet says plainly is an open point. All of it is one step to undo."
)


class SheetReading(threading.Thread):
    """Sheets being read in processes; ``read`` grows with each one that is done."""

    def __init__(self, tasks: list[SheetTask], plans: dict[str, bytes]) -> None:
        super().__init__(name="draft", daemon=True)
        self._tasks, self._plans = tasks, plans
        self._stopped = threading.Event()
        self.read: list[SheetRead] = []
        self.fault = ""

    def run(self) -> None:
        """Read until all are done or a person stops it."""
        try:
            for found in Lanes(cores())(self._tasks, self._plans.__getitem__):
                self.read.append(found)
                if self._stopped.is_set():
                    break
        except Exception as error:  # told in the dialog: a thread has nobody to tell
            self.fault = f"The sheets could not be read: {error}"

    def stop(self) -> None:
        """Stop after the sheet that is done next."""
        self._stopped.set()


def take_draft(job: Path, read: Sequence[SheetRead], who: str, at: str) -> Draft:
    """Take what was read into a job file as one edit, and price it; this runs in a process beside the window."""

    def given(tasks: Iterable[SheetTask], contents: Callable[[str], bytes]) -> Iterator[SheetRead]:
        return iter(read)

    with actions.open_job(job) as store:
        return make_draft(store, readers=given, who=who, at=at)


class DraftDialog(Dialog):
    """Says what drafting does, drafts with a bar and a button to stop it, then shows rooms, totals and open points."""

    def __init__(self, host: Host) -> None:
        super().__init__(host, "Draft the set", 900)
        assert host.session is not None
        self.session = host.session
        self.text = ctk.CTkLabel(
            self.body, text=ABOUT, anchor="nw", justify="left", wraplength=self.width, text_color=THEME.text
        )
        self.text.pack(fill="x", pady=(0, 8))
        self.bar = ctk.CTkProgressBar(self.body, progress_color=THEME.accent)
        self.table = TableView(self.body, lambda _row: None)
        self.table.tree.configure(height=10)
        self.points_button = button(self.foot, "See the open points", self._see_points, is_main=True)
        self.act_button = button(self.foot, "Draft it", self.begin, is_main=True)
        self.act_button.pack(side="right", padx=(8, 0))
        self.leave_button = button(self.foot, "Close", self.close)
        self.leave_button.pack(side="right")
        self.reading: SheetReading | None = None
        self.draft: Draft | None = None
        self._look_job: str | None = None
        self._taker = Apart(PATIENCE)
        self._taking: Pending[Draft] = Pending(self, self._taken)
        self._left = 0

    def begin(self) -> None:
        """Begin to read the sheets."""
        if self.reading is not None or self._taking.is_waiting:
            return
        store = self.session.store
        tasks = sheet_tasks(store.job)
        self.reading = SheetReading(tasks, {sha256: store.source(sha256) for sha256 in store.job.sources})
        self.bar.set(0)
        self.bar.pack(fill="x", pady=8)
        self.act_button.configure(state="disabled")
        self.leave_button.configure(text="Stop")
        self.reading.start()
        self._look(len(tasks))

    def _look(self, count: int) -> None:
        self._look_job = None
        reading = self.reading
        if reading is None:
            return
        done = len(reading.read)
        self.bar.set(done / count)
        if reading.is_alive():
            self.good(f"{done} of {count} sheets read")
            self._look_job = self.after(LOOK_MS, self._look, count)
            return
        self.reading = None
        if reading.fault:
            self._end()
            self.refuse(reading.fault)
            return
        self._left = count - done
        self.good("Taking what was read into the job, and pricing it. Nothing is in the job yet.")
        self.bar.configure(mode="indeterminate")
        self.bar.start()
        work = self._taker.submit(take_draft, self.session.path, tuple(reading.read), person(), now())
        self._taking.wait(work)

    def _end(self) -> None:
        self.bar.stop()
        self.bar.configure(mode="determinate")
        self.bar.pack_forget()
        self.act_button.configure(state="normal", text="Draft it again")
        self.leave_button.configure(text="Close")

    def _taken(self, made: Future[Draft]) -> None:
        """Show what was taken into the job, or why it was not."""
        self._end()
        error = made.exception()
        if error is not None:
            self.refuse(fault_words(error, "The draft was not taken"))
            return
        self.draft = draft = made.result()
        self.session.take_up()
        self.session.tell("The set is drafted. Open points: F12.")
        stopped = f"Stopped: {self._left} sheets were not read; draft it again to go on. " if self._left else ""
        self.good(f"{stopped}{draft.points.words()}", is_well=not draft.points.open)
        self._show(draft)

    def _show(self, draft: Draft) -> None:
        show = self.session.display
        titles = ("Room", "Height", "System", "Cove", "Openings", "Open", "From")
        columns = tuple(Column(title=title, kind="text") for title in titles)
        rows = [
            (r.label, *(v.taken for v in r.values), str(len(r.openings)), str(r.open), "; ".join(_sources(r.values)))
            for r in draft.rooms
        ]
        self.table.show(Table(id="draft", title="", columns=columns, rows=tuple(rows)))
        self.table.pack(fill="both", expand=True, pady=6)
        total = draft.priced.measured.measurement.total
        estimate = draft.priced.estimate
        lines = [f"Net area {show.area(total.quantities.net_area)} ± {show.area(total.u.net_area)}"]
        if estimate.materials:
            lines[0] += f"; price {show.money(estimate.line('price').amount)}"
        if draft.points.open:
            lines.append("Next: settle the open points, those with most money first; then draft it again.")
            self.points_button.pack(side="left")
        else:
            lines.append("Next: write the reports.")
        lines += [f"Not done: {s.name}, {s.title}: {s.fault}" for s in draft.sheets if s.fault]
        lines += [f"· {line}" for line in draft.points.lines(show, most=MOST_POINTS)]
        self.text.configure(text="\n".join(lines))
        self.after(30, self._place)

    def _see_points(self) -> None:
        self.destroy()
        self.host.show_open_points()

    def close(self) -> None:
        """Stop reading, stop taking, or close."""
        if self.reading is not None:
            self.reading.stop()
        elif self._taking.is_waiting:
            self._taker.close()
        else:
            self.destroy()

    def destroy(self) -> None:
        """Close, and stop what is being read."""
        if self._look_job is not None:
            self.after_cancel(self._look_job)
            self._look_job = None
        if self.reading is not None:
            self.reading.stop()
            self.reading.join()
            self.reading = None
        self._taking.stop()
        self._taker.close()
        super().destroy()


def _sources(values: Iterable[DraftedValue]) -> list[str]:
    return list(dict.fromkeys(value.source for value in values if value.source))


def draft_set(host: Host) -> DraftDialog | None:
    """Draft the job that is open; where none is, ask for the plans of a new one first."""
    if host.session is None:
        plans = [Path(p) for p in filedialog.askopenfilenames(parent=host.root, title="Plans of the set",
                                                              filetypes=PLAN_TYPES)]  # fmt: skip
        if not plans:
            return None
        if not start_job(host, free_place(plans[0].parent, plans[0].stem), plans):
            return None
    return DraftDialog(host)
