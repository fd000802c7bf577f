"""The range of the price: what it is not likely to exceed, and what moves it most."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from functools import partial

from takeoff.estimate.simulate import PriceRange
from takeoff.gui.entries import read_count
from takeoff.gui.panels.background_page import BackgroundPage
from takeoff.gui.reading_process import price_range
from takeoff.gui.session import Session
from takeoff.gui.widgets import Drawing, colour
from takeoff.report.planning_tables import range_table
from takeoff.units import Display

DRAWS = 100_000
LOW, HIGH, ON_BAR = "#56B4E9", "#E69F00", "#000000"
ROW, TOP, RIGHT = 22, 40, 56
"""Height of a row, of the names of percentiles, and space at the right, in pixels at 100 %."""
NAMES = 0.42
"""Part of the width that names take at the most."""


class RangePanel(BackgroundPage[PriceRange]):
    """Percentiles, and a bar for each driver from its low to its high price."""

    waiting = "working out prices …"
    failing = "not drawn"
    asks_itself = True

    def __init__(self, parent: tkinter.Misc, say: Callable[[str], None]) -> None:
        super().__init__(parent, say)
        self.draws = self.field("Draws", 70, read_count, "How many prices are drawn.")
        self.seed = self.field("Seed", 40, read_count, "What makes the draws the same again.")
        self.button("Draw", self.ask, "Draw the prices again.")
        self.canvas = Drawing(self, self._draw_bars)
        self.canvas.grid(row=1, column=0, sticky="nsew")
        self.fill()

    def order(self, session: Session) -> partial[PriceRange]:
        return partial(price_range, draws=read_count(self.draws.value), seed=read_count(self.seed.value))

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
        row, top, right = c.px(ROW), c.px(TOP), c.px(RIGHT)
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
