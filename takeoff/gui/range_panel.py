"""The range of the price: what it is not likely to exceed, and what moves it most."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from concurrent.futures import Future
from pathlib import Path

from takeoff import actions
from takeoff.gui.awaited import Awaited, fault_words
from takeoff.gui.planned import price_range_of
from takeoff.gui.reading import ReadingProcess
from takeoff.gui.theme import THEME
from takeoff.units import Display

LOW, HIGH = "#56B4E9", "#E69F00"
ROW, LEFT = 22, 260


class RangePanel(tkinter.Canvas):
    """Percentiles, and a bar for each driver from its low to its high price.

    Parameters
    ----------
    say
        Called with what is to be read beside the bars.
    """

    def __init__(self, parent: tkinter.Misc, say: Callable[[str], None]) -> None:
        super().__init__(parent, highlightthickness=0)
        self._say = say
        self._asked = Awaited[actions.PriceRange](self, self._drawn)
        self._for: object = None
        self._told = ""
        self._display = Display()
        self.range: actions.PriceRange | None = None
        self.is_dark = False
        self.bind("<Configure>", lambda _e: self.draw())

    def show(self, job: Path, state: object, process: ReadingProcess, display: Display) -> None:
        """Draw anew where the job is not what the range was made of."""
        self._display = display
        if state is self._for:
            return
        self._for, self._told = state, "drawing 100,000 prices …"
        self._asked.wait(process.submit(price_range_of, job))
        self.draw()

    def _drawn(self, made: Future[actions.PriceRange]) -> None:
        error = made.exception()
        self.range = None if error is not None else made.result()
        self._told = "" if error is None else fault_words(error, "not drawn")
        if self.range is not None:
            self._say(_words(self.range, self._display))
        self.draw()

    def draw(self) -> None:
        """Draw the bars anew."""
        self.delete("all")
        self.configure(background=THEME.of("card", self.is_dark))
        text, quiet = THEME.of("text", self.is_dark), THEME.of("quiet", self.is_dark)
        r = self.range
        if r is None:
            self.create_text(16, 16, anchor="nw", text=self._told, fill=quiet, width=max(self.winfo_width() - 32, 200))
            return
        show = self._display
        drivers = r.drivers[: max((self.winfo_height() - 60) // ROW, 1)]
        low = min([r.p10, *(d.low_price for d in drivers)])
        high = max([r.p90, *(d.high_price for d in drivers)])
        scale = max(self.winfo_width() - LEFT - 40, 100) / max(high - low, 1e-9)

        def x(price: float) -> float:
            return LEFT + (price - low) * scale

        bottom = 40 + ROW * len(drivers)
        for value, name in ((r.p10, "P10"), (r.p50, "P50"), (r.p80, "P80")):
            self.create_line(x(value), 30, x(value), bottom, fill=quiet, dash=(3, 3))
            self.create_text(x(value), 14, text=name, fill=text, font=("TkDefaultFont", -12, "bold"))
        for i, d in enumerate(drivers):
            y = 40 + i * ROW
            self.create_text(8, y + ROW / 2, anchor="w", text=d.label[:40], fill=text, font=("TkDefaultFont", -11))
            self.create_rectangle(x(d.low_price), y + 3, x(r.likely), y + ROW - 3, fill=LOW, outline="")
            self.create_rectangle(x(r.likely), y + 3, x(d.high_price), y + ROW - 3, fill=HIGH, outline="")
        likely = f"likely {show.money(r.likely)}, before tax and contingency"
        self.create_text(8, bottom + 10, anchor="w", fill=quiet, text=likely)

    def stop(self) -> None:
        """Forget what is being drawn."""
        self._asked.stop()
        self.range = self._for = None


def _words(r: actions.PriceRange, show: Display) -> str:
    lines = [
        f"P10 {show.money(r.p10)}",
        f"P50 {show.money(r.p50)}",
        f"P80 {show.money(r.p80)}",
        "",
        "In 80 of 100 draws the price stays under P80.",
        f"{r.draws:,} draws of three-point rates, seed {r.seed}.",
        "Contingency is left out, since the spread takes its place.",
        "",
        "What moves it most:",
        *(f"{d.label}: {100 * d.share:.0f} % of the spread" for d in r.drivers[:8]),
    ]
    return "\n".join(lines)
