"""One dialog that starts a job: its plans, name, place and units, and what its first room takes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from tkinter import filedialog

from takeoff.errors import TakeoffError
from takeoff.exchange.catalogue_file import default_catalogue
from takeoff.gui.dialogs.common import PLAN_TYPES, Dialog
from takeoff.gui.dialogs.starting import Units, start_job
from takeoff.gui.entries import read_height
from takeoff.gui.host import Host
from takeoff.gui.session import Defaults
from takeoff.gui.widgets.fields import ChoiceField, TextField, button
from takeoff.gui.wording import words_of
from takeoff.units import Display

UNITS = (("", "those of the plans"), ("imperial", "feet and inches"), ("metric", "millimetres and metres"))


class NewJobDialog(Dialog):
    """Everything has a value already: Enter starts the job."""

    def __init__(self, host: Host, plans: list[Path]) -> None:
        super().__init__(host, "New job", 520, scrolls=True)
        self._plans = plans
        self._units: Units | None = None
        known = {system.id for system in default_catalogue().systems}
        last = host.preferences.first_system
        self._system = last if last in known else ""
        first = plans[0]
        self.say("\n".join(plan.name for plan in plans))
        self.name = self._text("Name", first.stem, "Name of the job, as reports show it.")
        self.first = self.name
        self.place = self._text(
            "Keep it as", str(first.with_suffix(".takeoff")), "The job file; it holds the plans too."
        )
        button(self.place, "…", self._choose_place, hint="Choose it.", width=30).grid(row=0, column=2, padx=(4, 0))
        self.units = ChoiceField(self.body, "Units", UNITS, self._with_units, hint="How lengths are read and shown.")
        self.units.show("")
        self.units.pack(fill="x", pady=2)
        self.height = self._text(
            "Height",
            "",
            "Top of the coating above the floor. One that is printed in a room goes before it.",
        )
        systems = [("", "none yet"), *((system.id, system.name) for system in default_catalogue().systems)]
        self.system = ChoiceField(
            self.body, "System", systems, self._with_system, hint="What the first room is coated with."
        )
        self.system.show(self._system)
        self.system.pack(fill="x", pady=2)
        self.start_button = button(self.foot, "Start", self.start, is_main=True, hint="Key: Enter")
        self.start_button.pack(side="right")
        button(self.foot, "Close", self.close, hint="Key: Escape").pack(side="right", padx=8)
        self.bind("<Return>", lambda _e: self.start())
        for key in ("<Control-Return>", "<<FieldTaken>>"):
            self.bind(key, lambda _e: self.start())

    def _text(self, label: str, text: str, hint: str) -> TextField:
        field = TextField(self.body, label, lambda _t: None, self.refuse, hint=hint)
        field.show(text)
        field.pack(fill="x", pady=2)
        return field

    def _with_units(self, units: str) -> None:
        self._units = units or None  # type: ignore[assignment]
        self.units.show(units)

    def _with_system(self, system: str) -> None:
        self._system = system
        self.system.show(system)

    def _choose_place(self) -> None:
        at = Path(self.place.entry.get())
        chosen = filedialog.asksaveasfilename(
            parent=self,
            title="Where to keep the job",
            initialdir=at.parent,
            initialfile=at.name,
            defaultextension=".takeoff",
            filetypes=[("Job files", "*.takeoff"), ("All files", "*")],
        )
        if chosen:
            self.place.show(chosen)

    def start(self) -> None:
        """Start the job; what does not fit is said, and nothing is made."""
        if not self.winfo_exists():
            return
        text = self.height.entry.get()
        try:
            height = read_height(text, Display(system=self._units or ("imperial" if "'" in text else "metric")))
        except TakeoffError as error:
            self.refuse(words_of(error))
            return
        first = Defaults(height=height, system=self._system or None)
        place = Path(self.place.entry.get().strip()).expanduser()
        name = self.name.entry.get().strip()
        host = self.host
        if place.exists():
            self.refuse(f"{place.name} is there already. Choose another name, or open that job (Ctrl+O).")
            return
        host.remember(replace(host.preferences, first_system=self._system))
        self.destroy()
        start_job(host, place, self._plans, name=name, units=self._units, first=first)


def new_job(host: Host) -> Dialog | None:
    """Ask for plan files, and then for the rest in one dialog."""
    plans = filedialog.askopenfilenames(parent=host.root, title="Plans of the job", filetypes=PLAN_TYPES)
    return NewJobDialog(host, [Path(p) for p in plans]) if plans else None
