"""Changing the catalogue of a job: what its dialogs share, and the one where it is text, checked as it is typed."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from takeoff import actions
from takeoff.errors import TakeoffError
from takeoff.exchange.catalogue_file import read_catalogue
from takeoff.exchange.catalogue_writer import catalogue_text
from takeoff.gui.dialogs.common import Dialog, ask_files, room_across
from takeoff.gui.entries import AMOUNT, COUNT, SHARE, TEXT
from takeoff.gui.host import Host
from takeoff.gui.widgets import (
    THEME,
    ChoiceField,
    Form,
    Later,
    Row,
    ask_save,
    bold,
    button,
    clear,
    ctk,
    label,
    pack_labelled,
)
from takeoff.gui.wording import words_of
from takeoff.model.systems import Catalogue

NOT_YET = "Not in the job yet: click Use in this job."


class CatalogueDialog(Dialog):
    """A dialog over the ``catalogue`` of the open job, with buttons to use what is shown and to close."""

    def __init__(self, host: Host, title: str, width: int, *, scrolls: bool) -> None:
        super().__init__(host, title, width, scrolls=scrolls)
        self.catalogue: Catalogue = actions.catalogue_of(self.session.job)
        self._is_warned = False
        hint = "Price the job with it."
        self.take_button = button(self.foot, "Use in this job", self.take, is_main=True, hint=hint, side="right")
        button(self.foot, "Close", self.close, hint="Key: Escape", side="right", padx=8)

    @property
    def is_changed(self) -> bool:
        """True where something is not in the job yet."""
        return self.catalogue != actions.catalogue_of(self.session.job)

    def take(self) -> None:
        """Use what is shown in the job, as one edit that can be undone."""
        told = f"The job is priced with {self.catalogue.name}"
        self.leave_if(self.session.act(told, actions.use_catalogue, self.catalogue))

    def close(self) -> None:
        """Close; where something is not in the job yet, say so first."""
        if self._is_warned or not self.is_changed:
            self.destroy()
        else:
            self._is_warned = True
            self.refuse("What you changed is not in the job yet: click Use in this job, or close once more to drop it.")


CHECK_DELAY = 250
"""Milliseconds after the last key before the text is checked."""
WIDE = 980
"""Pixels at 100 % from which rates and text stand side by side."""
CATALOGUE_TYPES = [("Catalogues", "*.toml"), ("All files", "*")]

# fmt: off
RATES = (
    Row("wage", "Wage per hour", "What one person is paid an hour, before burden.", kind=AMOUNT),
    Row("access_per_day", "Access per day", "Lifts and scaffolds, per crew day.", kind=AMOUNT),
    Row("freight", "Freight", "A sum for the job.", kind=AMOUNT),
    Row("minimum_charge", "Minimum", "The lowest price of a job.", kind=AMOUNT),
    Row("burden", "Burden %", "Taxes and insurance on the wage.", kind=SHARE),
    Row("contingency", "Contingency %", "On the direct cost.", kind=SHARE),
    Row("overhead", "Overhead %", "On direct cost and contingency.", kind=SHARE),
    Row("profit", "Profit %", "Worked out as the next field says.", kind=SHARE),
    Row("material_tax", "Material tax %", "Sales tax on what is bought.", kind=SHARE),
    Row("price_tax", "Price tax %", "Tax on the price, where work is taxed.", kind=SHARE),
    Row("cut_up_factor", "Cut-up %",
        "Added to the hours for each metre of corner and opening edge on a m² of wall.", kind=SHARE),
    Row("profit_basis", "Profit is", "10 % markup on 100 is 10; 10 % margin makes the price 111.11.",
        [("markup", "markup on cost"), ("margin", "margin of the price")], TEXT),
    Row("crew", "Crew", "People in the crew.", kind=COUNT),
    Row("shift_hours", "Shift hours", "Hours of a working day.", kind=AMOUNT),
    Row("setup_hours", "Set-up hours", "Man-hours to set up and to clean up, half each, once for the job.",
        kind=AMOUNT),
)
# fmt: on


class SystemsEditor(CatalogueDialog):
    """Rates in fields; systems and products as text, checked while it is typed."""

    def __init__(self, host: Host) -> None:
        self.is_wide = room_across(host) >= WIDE
        super().__init__(host, "Systems and rates", 900, scrolls=not self.is_wide)
        self._checking = Later(self, self.check)
        self._text_rates = self.catalogue.rates
        self._text_shown = ""
        self.body.grid_columnconfigure(int(self.is_wide), weight=1)
        self._build_rates()
        self._build_text()
        button(self.foot, "Load a file…", self._load, side="left")
        button(self.foot, "Save as a file…", self._save, side="left", padx=8)
        self._show_catalogue(self.catalogue)

    def _build_rates(self) -> None:
        frame = clear(self.body, width=250)
        frame.grid(row=0, column=0, sticky="nw", padx=(0, 14))
        label(frame, "Rates", font=bold()).pack(fill="x")
        self.fields = Form(frame, RATES, self.refuse, commit=self._put_rate, add=partial(pack_labelled, wide=104))

    def _build_text(self) -> None:
        head = clear(self.body)
        place = {"row": 0, "column": 1} if self.is_wide else {"row": 1, "column": 0}
        head.grid(**place, sticky="new", pady=(0 if self.is_wide else 10, 0))
        label(head, "Systems and products", font=bold()).pack(side="left")
        hint = "Find a system or a product in the text, to change it or its price."
        self.places = ChoiceField(head, "Go to", [], self._go_to, hint=hint)
        self.places.label.configure(width=44)
        self.places.menu.configure(width=330 if self.is_wide else 220)
        self.places.pack(side="right")
        wide, high = (620, 430) if self.is_wide else (self.width - 40, 240)
        letters = ctk.CTkFont(family="DejaVu Sans Mono", size=12)
        self.text = ctk.CTkTextbox(self.body, width=wide, height=high, wrap="none", font=letters)
        self.text.grid(**place, sticky="nsew", pady=(32 if self.is_wide else 42, 0))
        self.text.bind("<KeyRelease>", lambda _event: self._checking.begin_anew(CHECK_DELAY))
        self.text.tag_config("fault", background=THEME.of("warn", False), foreground="#FFFFFF")

    # -- rates ---------------------------------------------------------------------------------------------------

    def _put_rate(self, key: str, _text: str) -> None:
        changes = self.fields.read(self.session.display, key)
        self.catalogue = replace(self.catalogue, rates=replace(self.catalogue.rates, **changes))
        self._show_rates()
        self.good(NOT_YET, is_well=False)

    def _show_rates(self) -> None:
        self.fields.show_of(self.session.display, self.catalogue.rates)

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

    def check(self) -> bool:
        """Check the text as it stands and say what is wrong with it."""
        self.text.tag_remove("fault", "1.0", "end")
        try:
            read = read_catalogue(self.text.get("1.0", "end-1c").encode())
        except TakeoffError as error:
            self.refuse(words_of(error))
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
        self.good(f"No fault found: {len(read.systems)} systems, {len(read.products)} products.")
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
        is_waiting = self._checking.is_waiting
        self._checking.stop()
        if not is_waiting or self.check():
            super().take()

    def _load(self) -> None:
        for path in ask_files(self.host, "Catalogue to load", CATALOGUE_TYPES):
            self.tries(lambda path=path: self._show_catalogue(read_catalogue(path)))  # type: ignore[misc]

    def _save(self) -> None:
        path = ask_save(self, "Save the catalogue", self.session.path.with_name("catalogue.toml"), CATALOGUE_TYPES)
        if path is not None:
            text = catalogue_text(self.catalogue, self.session.display.system)
            self.tries(lambda: actions.write_file(path, text.encode(), "catalogue"))

    @property
    def is_changed(self) -> bool:
        return self.text.get("1.0", "end-1c") != self._text_shown or super().is_changed

    def destroy(self) -> None:
        """Close; a check that waits is dropped."""
        self._checking.stop()
        super().destroy()
