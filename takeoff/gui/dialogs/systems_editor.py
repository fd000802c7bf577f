"""Systems, products, rates and prices of the job, edited as a catalogue that is checked as it is typed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from tkinter import filedialog

from takeoff import actions
from takeoff.errors import InputError, TakeoffError
from takeoff.exchange.catalogue_file import read_catalogue
from takeoff.exchange.catalogue_writer import catalogue_text
from takeoff.gui.dialogs.catalogue_dialog import CatalogueDialog
from takeoff.gui.dialogs.common import room_across
from takeoff.gui.host import Host
from takeoff.gui.widgets.fields import ChoiceField, TextField
from takeoff.gui.widgets.parts import bold, button
from takeoff.gui.widgets.theme import THEME
from takeoff.gui.widgets.toolkit import ctk
from takeoff.gui.wording import words_of
from takeoff.model.systems import Catalogue, Rates

CHECK_DELAY = 250
"""Milliseconds after the last key before the text is checked."""
WIDE = 980
"""Pixels at 100 % from which rates and text stand side by side."""
CATALOGUE_TYPES = [("Catalogues", "*.toml"), ("All files", "*")]

MONEY_FIELDS = (
    ("wage", "Wage per hour", "What one person is paid an hour, before burden."),
    ("access_per_day", "Access per day", "Lifts and scaffolds, per crew day."),
    ("freight", "Freight", "A sum for the job."),
    ("minimum_charge", "Minimum", "The lowest price of a job."),
)
SHARE_FIELDS = (
    ("burden", "Burden", "Taxes and insurance on the wage."),
    ("contingency", "Contingency", "On the direct cost."),
    ("overhead", "Overhead", "On direct cost and contingency."),
    ("profit", "Profit", "Worked out as the next field says."),
    ("material_tax", "Material tax", "Sales tax on what is bought."),
    ("price_tax", "Price tax", "Tax on the price, where work is taxed."),
    ("cut_up_factor", "Cut-up", "Added to the hours for each metre of corner and opening edge on a m² of wall."),
)


class SystemsEditor(CatalogueDialog):
    """Rates in fields; systems and products as text, checked while it is typed."""

    def __init__(self, host: Host) -> None:
        self.is_wide = room_across(host) >= WIDE
        super().__init__(host, "Systems and rates", 900, scrolls=not self.is_wide)
        self._check_job: str | None = None
        self._text_rates = self.catalogue.rates
        self._text_shown = ""
        self.body.grid_columnconfigure(int(self.is_wide), weight=1)
        self._build_rates()
        self._build_text()
        button(self.foot, "Load a file…", self._load).pack(side="left")
        button(self.foot, "Save as a file…", self._save).pack(side="left", padx=8)
        self._show_catalogue(self.catalogue)

    def _build_rates(self) -> None:
        frame = ctk.CTkFrame(self.body, fg_color="transparent", width=250)
        frame.grid(row=0, column=0, sticky="nw", padx=(0, 14))
        ctk.CTkLabel(frame, text="Rates", font=bold(), anchor="w").pack(fill="x")
        self.fields: dict[str, TextField] = {}
        for name, label, hint in MONEY_FIELDS:
            self._rate_field(frame, name, label, hint, is_share=False)
        for name, label, hint in SHARE_FIELDS:
            self._rate_field(frame, name, f"{label} %", hint, is_share=True)
        self.profit_basis = ChoiceField(
            frame,
            "Profit is",
            [("markup", "markup on cost"), ("margin", "margin of the price")],
            lambda v: self._set_rates(profit_basis=v),
            hint="10 % markup on 100 is 10; 10 % margin makes the price 111.11.",
        )
        self.profit_basis.pack(fill="x", pady=1)
        for name, label, hint in (
            ("crew", "Crew", "People in the crew."),
            ("shift_hours", "Shift hours", "Hours of a working day."),
            ("setup_hours", "Set-up hours", "Man-hours to set up and to clean up, half each, once for the job."),
        ):
            self._rate_field(frame, name, label, hint, is_share=False)

    def _rate_field(self, frame: ctk.CTkFrame, name: str, label: str, hint: str, *, is_share: bool) -> None:
        def commit(text: str) -> None:
            try:
                value = float(text.strip().rstrip("%"))
            except ValueError as error:
                raise InputError(f'{label}: "{text}" is not a number', remedy="Write a number such as 12.5.") from error
            if value < 0:
                raise InputError(f"{label}: {value:g} is below zero", remedy="Write 0 or more.")
            number = value / 100.0 if is_share else value
            self._set_rates(**{name: int(number) if name == "crew" else number})

        field = TextField(frame, label, commit, self.refuse, hint=hint)
        field.label.configure(width=104)
        field.pack(fill="x", pady=1)
        self.fields[name] = field

    def _build_text(self) -> None:
        head = ctk.CTkFrame(self.body, fg_color="transparent")
        place = {"row": 0, "column": 1} if self.is_wide else {"row": 1, "column": 0}
        head.grid(**place, sticky="new", pady=(0 if self.is_wide else 10, 0))
        ctk.CTkLabel(head, text="Systems and products", font=bold(), anchor="w").pack(side="left")
        self.places = ChoiceField(
            head, "Go to", [], self._go_to, hint="Find a system or a product in the text, to change it or its price."
        )
        self.places.label.configure(width=44)
        self.places.menu.configure(width=330 if self.is_wide else 220)
        self.places.pack(side="right")
        self.text = ctk.CTkTextbox(
            self.body,
            width=620 if self.is_wide else self.width - 40,
            height=430 if self.is_wide else 240,
            wrap="none",
            font=ctk.CTkFont(family="DejaVu Sans Mono", size=12),
        )
        self.text.grid(**place, sticky="nsew", pady=(32 if self.is_wide else 42, 0))
        self.text.bind("<KeyRelease>", self._typed)
        self.text.tag_config("fault", background=THEME.of("warn", False), foreground="#FFFFFF")

    # -- rates ---------------------------------------------------------------------------------------------------

    def _set_rates(self, **fields: object) -> None:
        rates: Rates = replace(self.catalogue.rates, **fields)  # type: ignore[arg-type]
        self.catalogue = replace(self.catalogue, rates=rates)
        self._show_rates()
        self.said.configure(text="Not in the job yet: click Use in this job.", text_color=THEME.warn)

    def _show_rates(self) -> None:
        rates = self.catalogue.rates
        shares = {name for name, _, _ in SHARE_FIELDS}
        for name, field in self.fields.items():
            value = getattr(rates, name)
            field.show(f"{value * 100:g}" if name in shares else f"{value:g}")
        self.profit_basis.show(rates.profit_basis)

    # -- text ----------------------------------------------------------------------------------------------------

    def _show_catalogue(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self.text.delete("1.0", "end")
        self._text_shown = catalogue_text(catalogue, self.session.display.system)
        self._text_rates = catalogue.rates
        self.text.insert("1.0", self._text_shown)
        self._show_rates()
        self._show_places()

    def _show_places(self) -> None:
        names = [*(x.name for x in self.catalogue.systems), *(x.name for x in self.catalogue.products)]
        named = [(f'name = "{name}"', name) for name in names]
        self.places.set_choices(named)
        self.places.show("")

    def _go_to(self, line: str) -> None:
        """Show the line that names a system or a product, with its entry below it."""
        at = self.text.search(line, "1.0", stopindex="end")
        if at:
            self.text.see("end")
            self.text.see(at)
            self.text.mark_set("insert", f"{at} lineend")
            self.text.focus_set()

    def _typed(self, _event: object) -> None:
        if self._check_job is not None:
            self.after_cancel(self._check_job)
        self._check_job = self.after(CHECK_DELAY, self.check)

    def check(self) -> bool:
        """Check the text as it stands and say what is wrong with it."""
        self._check_job = None
        self.text.tag_remove("fault", "1.0", "end")
        try:
            read = read_catalogue(self.text.get("1.0", "end-1c").encode())
        except TakeoffError as error:
            self.refuse(words_of(error))
            self.said.configure(text_color=THEME.refuse)
            self._mark(error.where)
            self.take_button.configure(state="disabled")
            return False
        if read.rates == self._text_rates:
            read = replace(read, rates=self.catalogue.rates)
        else:
            self._text_rates = read.rates
        self.catalogue = read
        self._show_rates()
        self._show_places()
        self.said.configure(
            text=f"In order: {len(read.systems)} systems, {len(read.products)} products.", text_color=THEME.good
        )
        self.take_button.configure(state="normal")
        return True

    def _mark(self, where: str) -> None:
        """Mark the line that names the thing at fault, where it can be found."""
        for word in reversed(where.replace(",", " ").split()):
            at = self.text.search(f'"{word}"', "1.0", stopindex="end")
            if at:
                self.text.tag_add("fault", f"{at} linestart", f"{at} lineend")
                self.text.see(at)
                return

    def take(self) -> None:
        """Use what is shown in the job, as one edit that can be undone."""
        if self._check_job is not None:
            self.after_cancel(self._check_job)
            if not self.check():
                return
        super().take()

    def _load(self) -> None:
        path = filedialog.askopenfilename(parent=self, title="Catalogue to load", filetypes=CATALOGUE_TYPES)
        if path:
            try:
                self._show_catalogue(read_catalogue(Path(path)))
            except TakeoffError as error:
                self.refuse(words_of(error))

    def _save(self) -> None:
        path = filedialog.asksaveasfilename(
            parent=self, title="Save the catalogue", defaultextension=".toml", filetypes=CATALOGUE_TYPES
        )
        if path:
            try:
                text = catalogue_text(self.catalogue, self.session.display.system)
                actions.write_file(Path(path), text.encode(), "catalogue")
            except TakeoffError as error:
                self.refuse(words_of(error))

    @property
    def is_changed(self) -> bool:
        """True where something is typed, or not in the job yet."""
        return self.text.get("1.0", "end-1c") != self._text_shown or super().is_changed

    def destroy(self) -> None:
        """Close; a check that waits is dropped."""
        if self._check_job is not None:
            self.after_cancel(self._check_job)
            self._check_job = None
        super().destroy()
