"""What the finish codes of the drawings stand for: one choice of a system for each code, kept in the job."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import partial

from takeoff.errors import InputError
from takeoff.gui.session import Session
from takeoff.gui.widgets import LABEL_WIDTH, THEME, ChoiceField, TextField, bold, ctk, label
from takeoff.job.edits import SetSettings
from takeoff.trace.schedules.finish_matching import CodeMeaning

HOW = {
    "named": "as you said",
    "id": "its name is that of the system",
    "words": "taken by its words alone; choose it to confirm it",
    "": "nothing says which system it is: choose one",
}
NONE = ("", "not said")


def kept_codes(session: Session) -> tuple[CodeMeaning, ...]:
    """Codes that the job keeps a system for."""
    codes = session.job.settings.finish_codes
    return tuple(CodeMeaning(code=code, words="", system=system, how="named") for code, system in codes)


class CodeFields(ctk.CTkFrame):
    """A field for each code, and how it is known; each change is an edit at once, after which ``changed`` is called.

    It may be as ``wide`` as so many pixels at 100 %. With ``refuse``, which is called with what does not fit, there is
    a field for a code more.
    """

    def __init__(
        self,
        parent: tkinter.Misc,
        session: Session,
        wide: int,
        codes: Iterable[CodeMeaning],
        changed: Callable[[], None],
        refuse: Callable[[str], None] | None = None,
    ) -> None:
        super().__init__(parent, fg_color="transparent")
        self._session, self._changed, self._wide = session, changed, wide
        self.fields: dict[str, ChoiceField] = {}
        self._how: dict[str, ctk.CTkLabel] = {}
        label(self, "Finish codes", font=bold()).pack(fill="x")
        self.more: TextField | None = None
        if refuse is not None:
            hint = "A code of a finish schedule, such as WP-1. Then choose the system that it stands for."
            self.more = TextField(self, "Add a code", self._add, refuse, hint=hint)
        self.show(codes)

    def show(self, codes: Iterable[CodeMeaning]) -> None:
        """Show what codes stand for now."""
        for meaning in sorted(codes, key=lambda meaning: meaning.code):
            if meaning.code not in self.fields:
                self._build(meaning.code)
            self.fields[meaning.code].show(meaning.system or "")
            words = f"“{meaning.words}”, " if meaning.words else ""
            self._how[meaning.code].configure(text=f"{words}{HOW[meaning.how]}")
        if self.more is not None:
            self.more.pack(fill="x", pady=2)

    def _build(self, code: str) -> None:
        choices = [NONE, *self._session.systems()]
        field = ChoiceField(self, code, choices, partial(self._put, code), hint="The system that this code stands for.")
        field.pack(fill="x", pady=(2, 0))
        told = label(self, colour=THEME.quiet, height=18, wrap=self._wide - LABEL_WIDTH)
        told.pack(fill="x", padx=(LABEL_WIDTH, 0))
        self.fields[code], self._how[code] = field, told
        if self.more is not None:
            self.more.pack_forget()

    def _add(self, text: str) -> None:
        code = text.strip().upper()
        if not code or code in self.fields:
            raise InputError(f"{code or 'nothing'} is no new code", remedy="Write a code that is not in the list.")
        assert self.more is not None
        self.show((CodeMeaning(code=code, words="", system=None, how=""),))
        self.more.show("")

    def _put(self, code: str, system: str) -> None:
        settings = self._session.job.settings
        codes = {**dict(settings.finish_codes), code: system}
        kept = tuple(sorted((c, s) for c, s in codes.items() if s))
        means = f"stands for {dict(self._session.systems())[system]}" if system else "is not said"
        told = f"Code {code} {means}."
        self._session.do(SetSettings(settings=replace(settings, finish_codes=kept)), told)
        self._changed()
