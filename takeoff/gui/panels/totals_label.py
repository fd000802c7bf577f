"""The totals beside the names of the pages: as much as there is room for, nothing of it cut."""

from __future__ import annotations

import tkinter

from takeoff import actions
from takeoff.gui.widgets import THEME, ctk
from takeoff.model.figures import MeasuredItem
from takeoff.units import Display

PAD = 14
"""Pixels at 100 % that are kept free beside the totals."""


class TotalsLabel(ctk.CTkLabel):
    """Net area, price, hours and walls that wait, at the right of a strip, after what stands ``before`` it."""

    def __init__(self, parent: tkinter.Misc, *before: tkinter.Widget) -> None:
        self._face = ctk.CTkFont(size=13, weight="bold")
        super().__init__(parent, text="", anchor="e", text_color=THEME.text, font=self._face)
        self._strip, self._before = parent, before
        self._forms: tuple[str, ...] = ()
        for widget in (parent, *before):
            # the toolkit's own bind reaches the parts of a button and not its place
            tkinter.Misc.bind(widget, "<Configure>", lambda _e: self.fit(), add="+")

    def clear(self) -> None:
        """Say nothing."""
        self._forms = ()
        self.fit()

    def show(self, total: MeasuredItem, priced: actions.Priced | None, waiting: int, display: Display) -> None:
        """Say what all walls come to, and how many are not measured yet."""
        net, price, hours, missing = display.area(total.quantities.net_area), [], [], []
        if priced is not None and priced.estimate.hours > 0:
            price = [display.money(priced.estimate.line("price").amount)]
            hours = [f"{priced.estimate.hours:,.1f} h"]
        if waiting:
            missing = [f"{waiting} wall{'s' * (waiting > 1)} not measured yet"]
        forms = (
            [f"Net {net} ± {display.area(total.u.net_area)}", *price, *hours, *missing],
            [f"Net {net}", *price, *hours, *missing],
            [f"Net {net}", *price, *missing],
            [f"Net {net}", *(missing or price)],
            [f"Net {net}"],
            [net],
            [f"{display.area_number(total.quantities.net_area):,.0f} {display.area_unit}"],
            hours,
        )
        self._forms = tuple("   ".join(parts) for parts in forms)
        self.configure(text_color=THEME.warn if waiting else THEME.text)
        self.fit()

    def fit(self) -> None:
        """Choose the fullest form that there is room for."""
        taken = max(w.winfo_x() + w.winfo_width() if w.winfo_manager() else 0 for w in self._before)
        room = self._strip.winfo_width() - taken
        room = room / ctk.ScalingTracker.get_widget_scaling(self) - PAD
        said = next((text for text in self._forms if self._face.measure(text) <= room), "")
        if said != self.cget("text"):
            self.configure(text=said)
