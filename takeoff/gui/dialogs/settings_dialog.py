"""Name, units, currency and measuring rule of the job, and whose name goes into the journal."""

from __future__ import annotations

from dataclasses import replace

from takeoff.errors import InputError
from takeoff.gui.dialogs.common import Dialog
from takeoff.gui.host import Host
from takeoff.gui.widgets.fields import ChoiceField, TextField
from takeoff.gui.widgets.theme import THEME
from takeoff.gui.widgets.toolkit import ctk
from takeoff.job.edits import SetSettings
from takeoff.measure.rules import RULES
from takeoff.signing import person, set_person


class SettingsDialog(Dialog):
    """Name, units, currency and measuring rule of the job."""

    def __init__(self, host: Host) -> None:
        super().__init__(host, "Units and rules")
        session = host.session
        assert session is not None
        self.session = session
        self.name = TextField(self.body, "Job", self._put_name, self.refuse)
        self.units = ChoiceField(
            self.body,
            "Units",
            [("imperial", "feet and inches, square feet"), ("metric", "millimetres, square metres")],
            lambda v: self._put(units=v),
        )
        self.precision = ChoiceField(
            self.body,
            "Fractions",
            [(str(n), f"to 1/{n} in") for n in (2, 4, 8, 16, 32)],
            lambda v: self._put(precision=int(v)),
        )
        self.currency = TextField(
            self.body, "Currency", self._put_currency, self.refuse, hint="Three letters: USD, EUR …"
        )
        self.rule = ChoiceField(
            self.body,
            "Pay by",
            [(name, name) for name in RULES],
            lambda v: self._put(rule=v),
            hint="The measuring rule for payment. Material is always ordered by the exact net area.",
        )
        self.person = TextField(
            self.body,
            "Your name",
            self._put_person,
            self.refuse,
            hint="What you do from now on is recorded under it, in every job. Empty for your login name.",
        )
        for field in (self.name, self.units, self.precision, self.currency, self.rule, self.person):
            field.pack(fill="x", pady=2)
        self.source = ctk.CTkLabel(
            self.body, text="", anchor="w", justify="left", wraplength=440, text_color=THEME.quiet
        )
        self.source.pack(fill="x", pady=4)
        self._show()
        self.close_button()

    def _show(self) -> None:
        s = self.session.job.settings
        self.name.show(s.name)
        self.units.show(s.units)
        self.precision.show(str(s.precision))
        self.currency.show(s.currency)
        self.rule.show(s.rule)
        self.person.show(person())
        rule = RULES[s.rule]
        self.source.configure(text=f"{rule.name}: {rule.summary} Source: {rule.source}.")

    def _put(self, **fields: object) -> None:
        settings = replace(self.session.job.settings, **fields)  # type: ignore[arg-type]
        self.session.do(SetSettings(settings=settings), "Settings changed")
        self._show()

    def _put_name(self, text: str) -> None:
        self._put(name=text.strip())

    def _put_person(self, text: str) -> None:
        set_person(text)
        self.refuse("")
        self.session.tell(f"What you do from now on is recorded under: {person()}")

    def _put_currency(self, text: str) -> None:
        code = text.strip().upper()
        if len(code) != 3 or not code.isascii() or not code.isalpha():
            raise InputError(f'"{text.strip()}" is no currency', remedy="Write its three letters, such as USD.")
        self._put(currency=code)
