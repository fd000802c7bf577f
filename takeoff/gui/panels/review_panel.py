"""What a person is to look at, beside the plan: what a tool asks, and the review of a new issue."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from functools import partial
from tkinter import font as tkfont
from tkinter import ttk

from takeoff.gui.review import Review, Reviewing, ReviewItem
from takeoff.gui.tools.tool import Asked
from takeoff.gui.widgets import THEME, Card, TextField, Tooltip, button, clear, ctk, label, light, show_if, with_bars

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


LIST_HEIGHT = 152
"""Height of the list of changes at 100 %: six lines and the bar that moves them."""
INDENT = 30
"""Pixels that a line of the list begins at, with a little behind it."""


class ReviewPanel(ctk.CTkScrollableFrame):
    """A list of proposals and changes with buttons to take them in; ``refuse`` is called with what does not fit."""

    def __init__(self, parent: tkinter.Misc, issue: Reviewing, refuse: Callable[[str], None]) -> None:
        super().__init__(parent, fg_color=THEME.ground, corner_radius=0)
        self._issue = issue
        self.review: Review | None = None
        head = Card(self, "New revision")
        self.summary = head.add(label(head, wrap=WRAP))
        self.doubts = head.add(label(head, wrap=WRAP, colour=THEME.warn))
        legend = "Dashed red-orange: gone. Blue: new. Green: proposal found whole. Pink: look at it."
        head.add(label(head, legend, wrap=WRAP, colour=THEME.quiet))
        head.stand()
        self._build_list(refuse)
        foot = Card(self, "Take in")
        row = foot.add(clear(foot))
        for text, which in (("Sure", "sure"), ("All", "all"), ("None", "none")):
            take = partial(self._do, lambda review, which=which: review.take(which))  # type: ignore[misc]
            button(row, text, take, side="left", padx=(0, 6))
        self.take_in = foot.add(button(foot, "Take in what is ticked", issue.take_in, is_main=True))
        foot.add(button(foot, "Put the new revision aside", issue.put_aside))
        foot.stand()
        self._see_card()
        self._marked: tuple[str, ...] = ()
        self._listed: list[ReviewItem] = []

    def _build_list(self, refuse: Callable[[str], None]) -> None:
        body = Card(self, "Walls and changes")
        hint = "Changes of linework smaller than this are left out, of the list and on the plan."
        self.smallest = body.add(TextField(body, "Ignore under", self._issue.leave_out, refuse, hint=hint))
        holder = body.add(clear(body, width=WRAP, height=LIST_HEIGHT))
        holder.grid_propagate(False)
        self.tree = ttk.Treeview(holder, show="tree", selectmode="browse", height=6, style="Figures.Treeview")
        self.tree.bind("<<TreeviewSelect>>", self._chosen)
        with_bars(self.tree, "x")
        self.so_far = body.add(label(body, wrap=WRAP, colour=THEME.accent))
        self.found = body.add(label(body, wrap=WRAP, anchor="nw"))
        hint = "Take the proposal, or leave it. Key: K"
        self.tick = body.add(button(body, "Take or leave (K)", partial(self._do, Review.toggle), hint=hint))
        body.stand()

    def _see_card(self) -> None:
        card = Card(self, "Old under new")
        row = card.add(clear(card))
        row.grid_columnconfigure(1, weight=1)
        for column, text in ((0, "Old"), (2, "New")):
            label(row, text, colour=THEME.quiet).grid(row=0, column=column)
        looks = {"button_color": THEME.accent, "button_hover_color": THEME.accent}
        looks |= {"progress_color": THEME.line, "fg_color": THEME.line}
        self.slider = ctk.CTkSlider(row, from_=0.0, to=1.0, width=120, command=self._slid, **looks)
        self.slider.grid(row=0, column=1, sticky="ew", padx=6)
        Tooltip(self.slider, "Fade from the old revision to the new one. Keys: Left and Right")
        row = card.add(clear(card))
        hint = "Show old and new in turn. Key: L"
        self.blink = button(row, "Blink (L)", self._issue.blink, hint=hint, side="left", padx=(0, 6))
        hint = "Whose lines are drawn in colour: both, old, new, none. Key: B"
        self.lines = button(row, "", partial(self._do, Review.next_shown), hint=hint, width=130, side="left")
        card.stand()

    def show(self, review: Review | None, *, so_far: str, is_blinking: bool) -> None:
        """Show a review as it stands."""
        if review is None:
            return
        if review is not self.review or review.items is not self._listed:
            self.review, self._listed = review, review.items
            self.tree.delete(*self.tree.get_children())
            for i in range(len(review.items)):
                self.tree.insert("", "end", iid=str(i))
        self.slider.set(1.0 - review.share)
        light(self.blink, is_on=is_blinking)
        self.lines.configure(text=f"Lines: {review.shown} (B)")
        self.smallest.show(review.display.length(review.smallest))
        r, show = review.revision, review.display
        finest = 0.0254 / show.precision if show.system == "imperial" else 0.001
        how = "compared by what is written on it"
        if r.scales:
            within = show.length(max(2 * r.registration.u, finest))
            how = f"laid on the old revision to within {within} on the building (k\u00a0=\u00a02)"
        counts = f"{_count(len(r.runs), 'wall')}, {sum(not c.sure for c in r.runs)} to look at"
        names = [r.sheet.number] * bool(r.sheet.number) + [f"revision {r.sheet.revision}"] * bool(r.sheet.revision)
        name = " ".join(names) or "The new revision"
        self.summary.configure(text=f"{name}, {how}. {counts}.")
        self.doubts.configure(text="\n".join(f"• {d}" for d in r.doubts))
        show_if(self.doubts, bool(r.doubts))
        for i, item in enumerate(review.items):
            tick = ("☑ " if item.run in review.taken else "☐ ") if item.run else "   "
            look = "" if item.is_sure else "look: "
            self.tree.item(str(i), text=f"{tick}{look}{item.said}")
        self._widen()
        if review.items:
            self._marked = (str(review.at),)
            self.tree.selection_set(self._marked)
            self.tree.see(self._marked[0])
        looked_at = review.item
        said = "\n".join(t for t in (looked_at.said, looked_at.figures) if t) if looked_at else "Nothing changed."
        self.found.configure(text=said)
        self.so_far.configure(text=so_far)
        self.tick.configure(state="normal" if looked_at and looked_at.run else "disabled")
        self.take_in.configure(text=f"Take in {_count(len(review.taken), 'wall')}")

    def _widen(self) -> None:
        """Make the column as wide as its longest line, so that each can be read to its end."""
        measure = tkfont.nametofont("TkDefaultFont").measure
        widest = max((measure(str(self.tree.item(i, "text"))) for i in self.tree.get_children()), default=0)
        self.tree.column("#0", minwidth=widest + INDENT, width=widest + INDENT, stretch=True)

    def _chosen(self, _event: object) -> None:
        chosen = self.tree.selection()
        if self.review is not None and chosen and chosen != self._marked:
            self.review.at = int(chosen[0])
            self._issue.changed(True)

    def _slid(self, value: float) -> None:
        self._do(lambda review: setattr(review, "share", round(1.0 - value, 3)))

    def _do(self, work: Callable[[Review], object]) -> None:
        if self.review is not None:
            work(self.review)
            self._issue.changed(False)


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'s' * (number != 1)}"
