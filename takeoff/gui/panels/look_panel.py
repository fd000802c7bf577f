"""What a tool has a person look at, beside the plan: what it is, why it is asked, and a button for each answer."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from functools import partial

from takeoff.gui.tools.tool import Asked
from takeoff.gui.widgets import THEME, Card, button, ctk, label

WRAP = 236


class LookPanel(ctk.CTkScrollableFrame):
    """Shown while a tool asks something; ``answer`` is called with the key of an answer."""

    def __init__(self, parent: tkinter.Misc, answer: Callable[[str], object]) -> None:
        super().__init__(parent, fg_color=THEME.ground, corner_radius=0)
        self._answer = answer
        self.asked: Asked | None = None
        self.buttons: dict[str, ctk.CTkButton] = {}

    def show(self, asked: Asked | None) -> None:
        """Show what is asked now."""
        if asked is None or asked == self.asked:
            return
        self.asked, self.buttons = asked, {}
        for child in self.winfo_children():
            child.destroy()
        card = Card(self, asked.title)
        card.title.configure(wraplength=WRAP)
        for words in asked.words:
            card.add(label(card, words, wrap=WRAP, height=18))
        for key, said in asked.answers:
            made = button(card, f"{said}  {key.upper()}", partial(self._answer, key), is_main=not self.buttons)
            self.buttons[key] = card.add(made)
        card.stand()
