"""Pages of bars of what is planned: crew days, room by room and step by step, and the range of the price."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from functools import partial

from takeoff import actions
from takeoff.estimate.days.calendar import DAYS, moment_words
from takeoff.estimate.days.works import WHOLE_JOB, DayPlan
from takeoff.estimate.simulate import PriceRange
from takeoff.gui.panels.background_page import BackgroundPage
from takeoff.gui.reading_process import of_estimate
from takeoff.gui.session import Session
from takeoff.gui.widgets import Drawing, clear, colour, with_bars
from takeoff.measure.totals import natural_key
from takeoff.model.site import SiteTerms, read_day
from takeoff.report.planning_tables import range_table
from takeoff.units import Display, parse_count

PALETTE = ("#0072B2", "#E69F00", "#009E73", "#CC79A7", "#56B4E9", "#D55E00")
ROW, LEFT, TOP, DAY = 18, 210, 26, 38
"""Height of a row, width of names, height of the dates and smallest width of a day, in pixels at 100 %."""
QUICK, THOROUGH = 0.0, 10.0
"""Effort to look for fewer days: 1 is about a second."""


class DaysPanel(BackgroundPage[DayPlan]):
    """A bar for each step of each room."""

    asking = "Click Plan to see a bar for each step of each room."
    waiting = "planning …"
    failing = "it could not be planned"
    asks_itself = True

    def __init__(self, parent: tkinter.Misc, say: Callable[[str], None]) -> None:
        super().__init__(parent, say)
        self._effort = QUICK
        self._terms: SiteTerms | None
        self.start = self.field("From", 94, read_day, "First day, such as 2026-03-02.")
        self.crews = self.field("Crews", 36, parse_count, "Crews of the size in the rates.")
        self.button("Plan", partial(self.plan_with, QUICK), "A quick plan.")
        self.button("Thoroughly", partial(self.plan_with, THOROUGH), "Look longer for fewer days.")
        self._put_usual_terms()
        body = clear(self)
        body.grid(row=1, column=0, sticky="nsew")
        self.canvas = Drawing(body, self._draw_bars)
        with_bars(self.canvas, "xy")
        self.canvas.bind("<Button-1>", self._pressed)
        self.canvas.bind("<Button-4>", lambda _e: self.canvas.yview_scroll(-2, "units"))
        self.canvas.bind("<Button-5>", lambda _e: self.canvas.yview_scroll(2, "units"))

    def plan_with(self, effort: float) -> None:
        """Have the days planned, with so much effort to look for fewer."""
        self._effort = effort
        self.ask()
        self._effort = QUICK

    def order(self, session: Session) -> partial[DayPlan]:
        """Have the days planned, by the job's terms of the site as soon as they are others."""
        terms = session.job.settings.site
        if terms is not None and terms != self._terms:
            self.start.show(terms.start or self.start.value)
            self.crews.show(str(terms.crews))
        self._terms = terms
        start, crews = read_day(self.start.value), parse_count(self.crews.value)
        return partial(of_estimate, work=actions.plan_job, start=start, crews=crews, effort=self._effort)

    def _put_usual_terms(self) -> None:
        self.start.show(actions.next_monday(date.today()).isoformat())
        self.crews.show("1")
        self._terms = None

    def summary(self, result: DayPlan, show: Display) -> str:
        proven = "no plan is shorter" if result.is_proven else f"none is shorter than {result.bound:.0f} h"
        missed = f"; {result.abraded} recoat windows missed: abraded" if result.abraded else ""
        return f"{result.days} working days, {result.hours:.0f} h; {proven}{missed}"

    def words(self, result: DayPlan, show: Display) -> str:
        first = "Click a bar to see why it starts then."
        hatched = ("A hatched bar is abrading.",) if result.abraded else ()
        return "\n".join((first, *hatched, *result.notes))

    def fill(self) -> None:
        if self.session is None:
            self._put_usual_terms()
        self.canvas.renew()

    def _draw_bars(self) -> None:
        c, plan = self.canvas, self.result
        if plan is None or not plan.works:
            return
        row, left, top = c.px(ROW), c.px(LEFT), c.px(TOP)
        small, strong = c.face(11), c.face(12, is_bold=True)
        text, quiet = colour("text"), colour("quiet")
        first = datetime.combine(min(w.start for w in plan.works).date(), time())
        last = max(w.end for w in plan.works)
        days = max((last - first).days + 1, 1)
        wide = max((c.winfo_width() - left - 16) / days, c.px(DAY))
        rooms = sorted({w.room for w in plan.works}, key=lambda room: (room != WHOLE_JOB, natural_key(room)))
        bottom = top + row * (len(plan.works) + len(rooms))
        for day in range(days):
            x = left + day * wide
            at = first + timedelta(days=day)
            c.create_line(x, top - c.px(8), x, bottom, fill=colour("line"))
            name = f"{DAYS[at.weekday()][:2]} {at.day}"
            c.create_text(x + wide / 2, c.px(9), text=name, fill=quiet, font=small)
        y = top
        for r, room in enumerate(rooms):
            c.create_text(6, y + row / 2, anchor="w", text=c.fitted(room, strong, left - 12), fill=text, font=strong)
            y += row
            for i, work in enumerate(plan.works):
                if work.room != room:
                    continue
                name = c.fitted(work.name, small, left - 24)
                c.create_text(18, y + row / 2, anchor="w", text=name, fill=text, font=small)
                for begin, end in work.bars:
                    x0 = left + (begin - first).total_seconds() / 86400 * wide
                    x1 = left + (end - first).total_seconds() / 86400 * wide
                    look = (text, "gray50") if work.kind == "abrade" else ("", "")
                    made = c.create_rectangle(x0, y + 3, max(x1, x0 + 2), y + row - 3, tags=(f"work-{i}",))
                    c.itemconfigure(made, fill=PALETTE[r % len(PALETTE)], outline=look[0], stipple=look[1])
                y += row
        c.configure(scrollregion=(0, 0, left + days * wide + 8, y + 8))

    def _pressed(self, event: tkinter.Event[tkinter.Canvas]) -> None:
        x, y = self.canvas.canvasx(event.x), self.canvas.canvasy(event.y)
        items = self.canvas.find_overlapping(x - 2, y - 2, x + 2, y + 2)
        tag = next((t for item in items for t in self.canvas.gettags(item) if t.startswith("work-")), None)
        if tag is not None and self.result is not None:
            work = self.result.works[int(tag.removeprefix("work-"))]
            when = f"{moment_words(work.start)} to {moment_words(work.end)}, {', '.join(work.crews)}"
            self.tell(f"{work.room}\n{work.name}\n{when}\n\nStarts then: {work.reason}")


DRAWS = 100_000
LOW, HIGH, ON_BAR = "#56B4E9", "#E69F00", "#000000"
DRIVER, HEAD, RIGHT = 22, 40, 56
"""Height of a driver's row, of the names of percentiles, and space at the right, in pixels at 100 %."""
NAMES = 0.42
"""Part of the width that names take at the most."""


class RangePanel(BackgroundPage[PriceRange]):
    """Percentiles, and a bar for each driver from its low to its high price."""

    waiting = "working out prices …"
    failing = "not drawn"
    asks_itself = True

    def __init__(self, parent: tkinter.Misc, say: Callable[[str], None]) -> None:
        super().__init__(parent, say)
        self.draws = self.field("Draws", 70, parse_count, "How many prices are drawn.")
        self.seed = self.field("Seed", 40, parse_count, "What makes the draws the same again.")
        self.button("Draw", self.ask, "Draw the prices again.")
        self.canvas = Drawing(self, self._draw_bars)
        self.canvas.grid(row=1, column=0, sticky="nsew")
        self.fill()

    def order(self, session: Session) -> partial[PriceRange]:
        draws, seed = parse_count(self.draws.value), parse_count(self.seed.value)
        return partial(of_estimate, work=actions.price_range, draws=draws, seed=seed)

    def summary(self, result: PriceRange, show: Display) -> str:
        parts = f"P50 {show.money(result.p50)}, P80 {show.money(result.p80)}; likely {show.money(result.likely)}"
        return f"{parts}, before tax and contingency"

    def words(self, result: PriceRange, show: Display) -> str:
        table = range_table(result, show.currency)
        prices = "\n".join(f"{name}: {show.money(float(str(amount)))}" for name, amount in table.rows)
        bars = "Each bar changes one line alone. It goes from the price with its low value to that with its high one."
        most = (f"{d.label}: {100 * d.share:.0f} % of the spread" for d in result.drivers[:8])
        return "\n\n".join((prices, table.note, bars, "\n".join(("What moves it most:", *most))))

    def fill(self) -> None:
        if self.session is None:
            self.draws.show(str(DRAWS))
            self.seed.show("1")
        self.canvas.renew()

    def _draw_bars(self) -> None:
        c, r = self.canvas, self.result
        if r is None:
            return
        row, top, right = c.px(DRIVER), c.px(HEAD), c.px(RIGHT)
        small, strong = c.face(11), c.face(12, is_bold=True)
        text, quiet = colour("text"), colour("quiet")
        drivers = r.drivers[: max((c.winfo_height() - top) // row, 1)]
        names = [d.label for d in drivers]
        room = min(max((c.width_of(n, small) for n in names), default=0), round(NAMES * c.winfo_width()))
        left = room + right
        low = min([r.p10, *(d.low_price for d in drivers)])
        high = max([r.p90, *(d.high_price for d in drivers)])
        scale = max(c.winfo_width() - left - right, 100) / max(high - low, 1e-9)

        def x(price: float) -> float:
            return left + (price - low) * scale

        bottom = top + row * len(drivers)
        for value, name in ((r.p10, "P10"), (r.p50, "P50"), (r.p80, "P80")):
            c.create_line(x(value), top - c.px(10), x(value), bottom, fill=quiet, dash=(3, 3))
            c.create_text(x(value), top - c.px(26), text=name, fill=text, font=strong)
        for i, (d, name) in enumerate(zip(drivers, names, strict=True)):
            y = top + i * row
            c.create_text(8, y + row / 2, anchor="w", text=c.fitted(name, small, room), fill=text, font=small)
            c.create_rectangle(x(d.low_price), y + 3, x(r.likely), y + row - 3, fill=LOW, outline="")
            c.create_rectangle(x(r.likely), y + 3, x(d.high_price), y + row - 3, fill=HIGH, outline="")
            if i == 0:
                for word, at, inwards in (("low", d.low_price, 1), ("high", d.high_price, -1)):
                    wide = c.width_of(word, small) + 10
                    if abs(x(at) - x(r.likely)) > wide:
                        middle = x(at) + inwards * wide / 2
                        c.create_text(middle, y + row / 2, text=word, fill=ON_BAR, font=small)
