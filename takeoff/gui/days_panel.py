"""Crew days as bars, room by room and step by step; pressing a bar tells why it starts no earlier."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from concurrent.futures import Future
from datetime import date, datetime, time, timedelta
from pathlib import Path
from tkinter import ttk

from takeoff import actions
from takeoff.errors import TakeoffError
from takeoff.estimate.works import WHOLE_JOB
from takeoff.gui.awaited import Awaited, fault_words
from takeoff.gui.entries import read_count, read_day
from takeoff.gui.fields import button
from takeoff.gui.planned import plan_days_of
from takeoff.gui.reading import ReadingProcess
from takeoff.gui.theme import THEME
from takeoff.gui.toolkit import ctk
from takeoff.measure.order import natural_key

PALETTE = ("#0072B2", "#E69F00", "#009E73", "#CC79A7", "#56B4E9", "#D55E00")
ROW, LEFT, TOP = 18, 210, 26
QUICK, THOROUGH = 0.0, 10.0
"""Seconds for the solver."""


class DaysPanel(ctk.CTkFrame):
    """A bar for each step of each room.

    Parameters
    ----------
    say
        Called with what is to be read beside the bars.
    """

    def __init__(self, parent: tkinter.Misc, say: Callable[[str], None]) -> None:
        super().__init__(parent, fg_color=THEME.card, corner_radius=0)
        self._say = say
        self._job: Path | None = None
        self._process: ReadingProcess | None = None
        self._asked = Awaited[actions.DayPlan](self, self._planned)
        self._for: object = None
        self.plan: actions.DayPlan | None = None
        self.is_dark = False
        self.grid_columnconfigure(0, weight=1)
        self.grid_rowconfigure(1, weight=1)
        self._build_head()
        self.canvas = tkinter.Canvas(self, highlightthickness=0)
        down = ttk.Scrollbar(self, orient="vertical", command=self.canvas.yview)
        across = ttk.Scrollbar(self, orient="horizontal", command=self.canvas.xview)
        self.canvas.configure(yscrollcommand=down.set, xscrollcommand=across.set)
        self.canvas.grid(row=1, column=0, sticky="nsew")
        down.grid(row=1, column=1, sticky="ns")
        across.grid(row=2, column=0, sticky="ew")
        self.canvas.bind("<Configure>", lambda _e: self.draw())
        self.canvas.bind("<Button-1>", self._pressed)
        self.canvas.bind("<Button-4>", lambda _e: self.canvas.yview_scroll(-2, "units"))
        self.canvas.bind("<Button-5>", lambda _e: self.canvas.yview_scroll(2, "units"))

    def _build_head(self) -> None:
        head = ctk.CTkFrame(self, fg_color="transparent")
        head.grid(row=0, column=0, columnspan=2, sticky="ew")
        ctk.CTkLabel(head, text="From", text_color=THEME.quiet).pack(side="left", padx=(8, 4))
        self.start = ctk.CTkEntry(head, width=104, height=26)
        self.start.insert(0, actions.next_monday(date.today()).isoformat())
        self.start.pack(side="left")
        ctk.CTkLabel(head, text="Crews", text_color=THEME.quiet).pack(side="left", padx=(10, 4))
        self.crews = ctk.CTkEntry(head, width=44, height=26)
        self.crews.insert(0, "1")
        self.crews.pack(side="left")
        button(head, "Plan", lambda: self.ask(QUICK), hint="A quick plan.").pack(side="left", padx=(10, 4))
        thorough = button(
            head, "Plan thoroughly", lambda: self.ask(THOROUGH), hint="Search ten seconds for fewer days."
        )
        thorough.pack(side="left")
        self.state = ctk.CTkLabel(head, text="", text_color=THEME.text, anchor="w")
        self.state.pack(side="left", padx=10)

    def show(self, job: Path, state: object, process: ReadingProcess) -> None:
        """Plan anew where the job is not what the bars were made of."""
        self._job, self._process = job, process
        if state is not self._for:
            self._for = state
            self.ask(QUICK)

    def ask(self, limit: float) -> None:
        """Have the days planned in the background."""
        if self._job is None or self._process is None:
            return
        try:
            start = read_day(self.start.get())
            crews = read_count(self.crews.get())
        except TakeoffError as error:
            self.state.configure(text=str(error), text_color=THEME.refuse)
            return
        self._asked.wait(self._process.submit(plan_days_of, self._job, start, crews, limit))
        self.state.configure(text="planning …", text_color=THEME.quiet)

    def _planned(self, made: Future[actions.DayPlan]) -> None:
        error = made.exception()
        if error is not None:
            self.plan = None
            self.state.configure(text=fault_words(error, "it could not be planned"), text_color=THEME.refuse)
        else:
            self.plan = made.result()
            self.state.configure(text=_summary(self.plan), text_color=THEME.text)
            self._say("\n".join(("Press a bar to see why it starts when it does.", *self.plan.notes)))
        self.draw()

    def draw(self) -> None:
        """Draw the bars anew."""
        c = self.canvas
        c.delete("all")
        c.configure(background=THEME.of("card", self.is_dark))
        plan = self.plan
        if plan is None or not plan.works:
            return
        text, quiet = THEME.of("text", self.is_dark), THEME.of("quiet", self.is_dark)
        first = datetime.combine(min(w.start for w in plan.works).date(), time())
        last = max(w.end for w in plan.works)
        days = max((last - first).days + 1, 1)
        wide = max((c.winfo_width() - LEFT - 16) / days, 44.0)
        rooms = sorted({w.room for w in plan.works}, key=lambda room: (room != WHOLE_JOB, natural_key(room)))
        y = TOP
        for day in range(days):
            x = LEFT + day * wide
            at = first + timedelta(days=day)
            c.create_line(x, 18, x, TOP + ROW * (len(plan.works) + len(rooms)), fill=THEME.of("line", self.is_dark))
            c.create_text(x + wide / 2, 9, text=f"{at:%a} {at.day}", fill=quiet, font=("TkDefaultFont", -11))
        for r, room in enumerate(rooms):
            c.create_text(6, y + ROW / 2, anchor="w", text=room, fill=text, font=("TkDefaultFont", -12, "bold"))
            y += ROW
            for i, work in enumerate(plan.works):
                if work.room != room:
                    continue
                c.create_text(18, y + ROW / 2, anchor="w", text=work.name[:32], fill=text, font=("TkDefaultFont", -11))
                for begin, end in work.bars:
                    x0 = LEFT + (begin - first).total_seconds() / 86400 * wide
                    x1 = LEFT + (end - first).total_seconds() / 86400 * wide
                    c.create_rectangle(
                        x0,
                        y + 3,
                        max(x1, x0 + 2),
                        y + ROW - 3,
                        fill=PALETTE[r % len(PALETTE)],
                        outline=text if work.kind == "abrade" else "",
                        stipple="gray50" if work.kind == "abrade" else "",
                        tags=(f"work-{i}",),
                    )
                y += ROW
        c.configure(scrollregion=(0, 0, LEFT + days * wide + 8, y + 8))

    def _pressed(self, event: tkinter.Event[tkinter.Canvas]) -> None:
        x, y = self.canvas.canvasx(event.x), self.canvas.canvasy(event.y)
        for item in self.canvas.find_overlapping(x - 2, y - 2, x + 2, y + 2):
            tag = next((t for t in self.canvas.gettags(item) if t.startswith("work-")), None)
            if tag is not None and self.plan is not None:
                work = self.plan.works[int(tag.removeprefix("work-"))]
                self._say(
                    f"{work.room}\n{work.name}\n{work.start:%a %d %b %H:%M} to {work.end:%a %d %b %H:%M}, "
                    f"{', '.join(work.crews)}\n\nStarts then: {work.reason}"
                )
                return

    def stop(self) -> None:
        """Forget what is being planned."""
        self._asked.stop()
        self.plan = self._for = None


def _summary(plan: actions.DayPlan) -> str:
    proven = "no plan is shorter" if plan.is_proven else f"none is shorter than {plan.bound:.0f} h"
    missed = f", {plan.abraded} recoat windows missed: abraded" if plan.abraded else ""
    return f"{plan.days} working days, {plan.hours:.0f} h; {proven}{missed}"
