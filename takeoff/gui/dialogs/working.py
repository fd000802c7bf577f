"""Dialogs whose button begins work beside the window, how far it is and a way to stop it: drafting a set is one."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from functools import partial
from typing import Any, Generic, TypeVar

from takeoff import actions
from takeoff.gui.background import Beside
from takeoff.gui.dialogs.common import PLAN_TYPES, FormDialog, ask_files
from takeoff.gui.dialogs.starting import free_place, start_job
from takeoff.gui.host import Host
from takeoff.gui.reading_process import take_draft, with_store
from takeoff.gui.widgets import THEME, Later, Row, TableView, button, ctk, label
from takeoff.limits import cores
from takeoff.report.tables import rows_table

Made = TypeVar("Made")
LOOK_MS = 60
"""Between two looks how far it is."""


class Work(threading.Thread, Generic[Made]):
    """Something being made: ``make`` sets its ``fraction`` as it goes on, and ends early where ``is_stopped``."""

    def __init__(self, make: Callable[[Work[Made]], Made]) -> None:
        super().__init__(name="work", daemon=True)
        self._make = make
        self.fraction, self.is_stopped = 0.0, False
        self.made: Made | None = None
        self.error: Exception | None = None

    def run(self) -> None:
        """Make it; a thread has nobody to tell of a fault, so it is kept."""
        try:
            self.made = self._make(self)
        except Exception as error:
            self.error = error


class WorkDialog(FormDialog):
    """Has work done with a bar to see how far it is; the button that closes the dialog stops it meanwhile."""

    def __init__(self, host: Host, title: str, rows: Sequence[Row], act: str, *, width: int) -> None:
        super().__init__(host, title, rows, act, width=width)
        self.bar = ctk.CTkProgressBar(self, progress_color=THEME.accent)
        self.work: Work[Any] | None = None
        self._looking = Later(self, self._look)

    def begin(self, make: Callable[[Work[Any]], Any]) -> None:
        """Begin work, and look from time to time how far it is."""
        self.refuse("")
        self.bar.set(0)
        self.bar.pack(side="bottom", fill="x", padx=16, pady=8, after=self.said)
        self.act_button.configure(state="disabled")
        self.leave_button.configure(text="Stop")
        self.work = Work(make)
        self.work.start()
        self._look()

    def _look(self) -> None:
        work = self.work
        if work is None:
            return
        self.bar.set(work.fraction)
        if work.is_alive():
            self.tell(work)
            self._looking.begin(LOOK_MS)
        else:
            self.work = None
            self.take(work)

    def tell(self, work: Work[Any]) -> None:
        """Say more of how far it is than the bar does."""

    def take(self, work: Work[Any]) -> None:
        """Take what was made, or say why it was not; `end` belongs to it."""
        raise NotImplementedError

    def end(self) -> None:
        """Have it look as before the work."""
        self.bar.pack_forget()
        self.act_button.configure(state="normal")
        self.leave_button.configure(text="Close")

    def close(self) -> None:
        if self.work is None:
            self.destroy()
        else:
            self.work.is_stopped = True

    def destroy(self) -> None:
        self._looking.stop()
        if self.work is not None:
            self.work.is_stopped = True
            self.work.join()
            self.work = None
        super().destroy()


MOST_POINTS = 6
"""Open points that the page lists; the panel of open points has all."""
SHEETS, ROOMS = "Show the sheets", "Show the rooms"
ABOUT = (
    "Takes from the sheets all that they say: scales, rooms, openings, heights, systems. Scales, rooms and values that "
    "you gave stay as they are. What no sheet says plainly is an open point. All of it is one step to undo."
)


def read_set(
    tasks: list[actions.SheetTask], plans: dict[str, bytes], work: Work[list[actions.SheetRead]]
) -> list[actions.SheetRead]:
    """Read sheets in processes until all are done, or one is done after a person stopped it."""
    read: dict[int, actions.SheetRead] = {}
    for found in actions.read_set(tasks, plans.__getitem__, actions.Lanes(cores())):
        read[found.sheet] = found
        work.fraction = len(read) / len(tasks)
        if work.is_stopped:
            break
    return list(read.values())


class DraftDialog(WorkDialog):
    """Says what drafting does, drafts, then shows rooms, totals and open points."""

    def __init__(self, host: Host) -> None:
        super().__init__(host, "Draft the set", (), "Draft it", width=900)
        self.text = label(self.body, ABOUT, anchor="nw", wrap=self.width)
        self.text.pack(fill="x", pady=(0, 8))
        self.table = TableView(self.body)
        self.points_button = button(self.foot, "See the open points", self._see_points, is_main=True)
        self.other_button = button(self.foot, SHEETS, self._turn)
        self.draft: actions.Draft | None = None
        self._taking: Beside[actions.Draft] = Beside(
            self, self.refuse, self._taken, "The draft was not taken", self.end
        )
        self._count = self._left = 0

    def act(self) -> None:
        if self.work is not None or self._taking.is_waiting:
            return
        store = self.session.store
        tasks = actions.sheet_tasks(store.job)
        self._count = len(tasks)
        self.begin(partial(read_set, tasks, {sha256: store.source(sha256) for sha256 in store.job.sources}))

    def tell(self, work: Work[Any]) -> None:
        self.good(f"{round(work.fraction * self._count)} of {self._count} sheets read")

    def take(self, work: Work[Any]) -> None:
        """Have what was read taken into the job, in a process beside the window."""
        if work.made is None:
            self.end()
            self.refuse(f"The sheets could not be read: {work.error}")
            return
        self._left = self._count - len(work.made)
        self.good("Taking what was read into the job, and pricing it. Nothing is in the job yet.")
        self.bar.configure(mode="indeterminate")
        self.bar.start()
        self._taking.begin(with_store, self.session.path, take_draft, tuple(work.made))

    def end(self) -> None:
        super().end()
        self.bar.stop()
        self.bar.configure(mode="determinate")
        self.act_button.configure(text="Draft it again")

    def _taken(self, draft: actions.Draft) -> None:
        self.draft = draft
        self.session.take_up()
        self.session.tell("The set is drafted. Open points: F12.")
        stopped = f"Stopped: {self._left} sheets were not read; draft it again to go on. " if self._left else ""
        self.good(f"{stopped}{draft.points.words()}", is_well=not draft.points.open)
        self._show(draft)

    def _show(self, draft: actions.Draft) -> None:
        show = self.session.display
        self._list(draft)
        self.table.pack(fill="both", expand=True, pady=6)
        self.other_button.pack(side="left", padx=(0, 8))
        total = draft.priced.measured.measurement.total
        estimate = draft.priced.estimate
        lines = [f"Net area {show.area(total.quantities.net_area)} ± {show.area(total.u.net_area)}"]
        if estimate.has_price:
            lines[0] += f"; price {show.money(estimate.line('price').amount)}"
        if draft.points.open:
            lines.append("Next: settle the open points, those with most money first; then draft it again.")
            self.points_button.pack(side="left")
        else:
            lines.append("Next: write the reports.")
        lines += [f"Open: {s.name}, {s.title}: {s.fault}" for s in draft.sheets if s.fault]
        lines += [f"· {line}" for line in draft.points.lines(show, most=MOST_POINTS)]
        self.text.configure(text="\n".join(lines))
        self.after(30, self._place)

    def _list(self, draft: actions.Draft) -> None:
        """List the rooms, or what each sheet is, why, and what was taken from it."""
        if self.other_button.cget("text") == SHEETS:
            titles = ["Room", "Height", "System", "Cove", "Openings", "Open", "From"]
            rows = []
            for r in draft.rooms:
                sources = "; ".join(dict.fromkeys(value.source for value in r.values if value.source))
                rows.append([r.label, *(v.taken for v in r.values), str(r.opening_count), str(r.open), sources])
        else:
            titles = ["Sheet", "Title", "Is a", "Because", "Taken"]
            rows = [[s.name, s.title, s.use, f"{s.why}; {s.drawn}", s.fault or s.done or "-"] for s in draft.sheets]
        self.table.show(rows_table(titles, rows))

    def _turn(self) -> None:
        if self.draft is not None:
            self.other_button.configure(text=ROOMS if self.other_button.cget("text") == SHEETS else SHEETS)
            self._list(self.draft)

    def _see_points(self) -> None:
        self.destroy()
        self.host.show_open_points()

    def close(self) -> None:
        """Stop taking what was read, stop reading, or close."""
        if self._taking.is_waiting:
            self._taking.break_off()
        else:
            super().close()


def draft_set(host: Host) -> DraftDialog | None:
    """Draft the job that is open; where none is, ask for the plans of a new one first."""
    if host.session is None:
        plans = ask_files(host, "Plans of the set", PLAN_TYPES, several=True)
        if not plans or not start_job(host, free_place(plans[0].parent, plans[0].stem), plans):
            return None
    return DraftDialog(host)
