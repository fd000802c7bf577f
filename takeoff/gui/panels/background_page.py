"""What pages below the plan share, the totals beside their names, and pages made of the job in the background."""

from __future__ import annotations

import tkinter
from abc import abstractmethod
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from functools import partial
from typing import ClassVar, Generic, TypeVar

from takeoff import actions
from takeoff.apart import Apart
from takeoff.errors import TakeoffError
from takeoff.gui.background import Pending, fault_words
from takeoff.gui.reading_process import with_job
from takeoff.gui.session import Session
from takeoff.gui.widgets import THEME, Pair, TextField, button, clear, ctk, label
from takeoff.gui.wording import words_of
from takeoff.model.figures import MeasuredItem
from takeoff.units import Display

Made = TypeVar("Made")
SMALLEST_STATE = 160
"""Pixels at 100 % below which the line stands below the buttons."""


class Page(ctk.CTkFrame):
    """A page with `buttons`, a line beside them on how it stands, and what shows the figures in row 1.

    ``say`` is called with what is to be read beside the page.
    """

    def __init__(self, parent: tkinter.Misc, say: Callable[[str], None]) -> None:
        super().__init__(parent, fg_color=THEME.card, corner_radius=0)
        self.say = say
        self.session: Session | None = None
        self.grid_columnconfigure(0, weight=1)
        self.grid_rowconfigure(1, weight=1)
        self.head = clear(self)
        self.head.grid(row=0, column=0, columnspan=2, sticky="ew")
        self.head.grid_columnconfigure(1, weight=1)
        self.buttons = clear(self.head, width=0, height=0)
        self.buttons.grid(row=0, column=0)
        self.state = label(self.head)
        self.state.grid(row=0, column=1, sticky="ew", padx=10)
        for part in (self.head, self.buttons):
            part.bind("<Configure>", lambda _e: self._fit_state())

    @property
    def _session(self) -> Session:
        """The open job, for what happens only while one is."""
        assert self.session is not None
        return self.session

    def button(self, text: str, act: Callable[[], object], hint: str) -> ctk.CTkButton:
        """Put a button after the others."""
        is_first = not self.buttons.winfo_children()
        return button(self.buttons, text, act, hint=hint, side="left", padx=(8 if is_first else 2, 2))

    def field(self, name: str, width: int, commit: Callable[[str], object], hint: str | Callable[[], str]) -> TextField:
        """Put a small field with its name after the buttons; what does not fit is said in the line beside them."""
        made = TextField(self.buttons, name, commit, lambda text: self.note(text, THEME.refuse), hint=hint)
        made.label.configure(width=0)
        made.label.grid_configure(padx=(0, 4))
        made.entry.configure(width=width)
        made.pack(side="left", padx=(10, 0))
        return made

    def note(self, text: str, colour: Pair = THEME.text) -> None:
        """Write into the line beside the buttons."""
        self.state.configure(text=text, text_color=colour)

    def _fit_state(self) -> None:
        """Break the line beside the buttons where the head ends."""
        size = ctk.ScalingTracker.get_widget_scaling(self)
        taken = sum(part.winfo_reqwidth() for part in self.head.winfo_children() if part is not self.state)
        room = (self.head.winfo_width() - taken) / size - 24
        is_below = room < SMALLEST_STATE
        self.state.grid(row=int(is_below), column=int(not is_below), columnspan=3 if is_below else 1)
        self.state.configure(wraplength=self.head.winfo_width() / size - 24 if is_below else room)


class BackgroundPage(Page, Generic[Made]):
    """A page whose result is made in the reading process and is true of one state of the job only."""

    asking: ClassVar[str] = ""
    """What to do to have the result made."""
    waiting: ClassVar[str] = ""
    """What is said while it is being made."""
    stale: ClassVar[str] = "The job has changed since."
    """What is said first where an edit dropped it."""
    failing: ClassVar[str] = ""
    """What is said of a fault."""
    asks_itself: ClassVar[bool] = False
    """Whether the page asks as soon as it is shown with a job as it was not yet asked about."""

    def __init__(self, parent: tkinter.Misc, say: Callable[[str], None]) -> None:
        super().__init__(parent, say)
        self.result: Made | None = None
        self.is_read_beside = True
        self._process: Apart | None = None
        self._asked = Pending[Made](self, self._take)
        self._for: object = None

    # -- what each page says for itself --------------------------------------------------------------------------

    @abstractmethod
    def order(self, session: Session) -> partial[Made]:
        """Return what makes the result of the job over there: a function of a module, with what else it is given.

        A `TakeoffError` is raised where something is missing or not understood.
        """

    @abstractmethod
    def fill(self) -> None:
        """Show the result in the page, or that there is none."""

    @abstractmethod
    def summary(self, result: Made, show: Display) -> str:
        """Say in a line what was made."""

    @abstractmethod
    def words(self, result: Made, show: Display) -> str:
        """Say what is to be read beside the page."""

    def renew(self, session: Session) -> None:
        """Offer anew what can be chosen, for the job has changed."""

    def mark(self) -> None:
        """Mark what belongs to the walls that are selected."""

    # -- asking, waiting, telling --------------------------------------------------------------------------------

    def show(self, session: Session, process: Apart) -> None:
        """Show the page with a job; what was made of it before an edit is shown no more."""
        self.session, self._process = session, process
        if session.job is not self._for:
            is_old = self.result is not None or self._asked.is_waiting
            self._asked.stop()
            self._for = session.job
            self.renew(session)
            self._put(None)
            self.note(f"{self.stale} {self.asking}" if is_old else self.asking, THEME.quiet)
            if self.asks_itself:
                self.ask()
        self.mark()

    def ask(self) -> None:
        """Have the result made in the background."""
        if self.session is None or self._process is None:
            return
        try:
            work = self.order(self.session)
        except TakeoffError as error:
            self.note(words_of(error), THEME.refuse)
            return
        self._asked.wait(self._process.submit(with_job, self.session.path, work))
        self.note(self.waiting, THEME.quiet)

    def _take(self, made: Future[Made]) -> None:
        error = made.exception()
        if error is not None:
            self._put(None)
            self.note(fault_words(error, self.failing), THEME.refuse)
            return
        result = made.result()
        self._put(result)
        self.note(self.summary(result, self._session.display))
        self.mark()

    def _put(self, result: Made | None) -> None:
        self.result = result
        self.fill()
        show = self.session.display if self.session is not None else Display()
        self.say(self.asking if result is None else self.words(result, show))

    def tell(self, text: str) -> None:
        """Say what a person pressed: beside the page, or in the line above it where nothing is read beside it."""
        self.say(text)
        if not self.is_read_beside:
            self.note(" ".join(text.split()))

    def stop(self) -> None:
        """Forget the job, what is being made of it and what was chosen for it."""
        self._asked.stop()
        self.result = self.session = self._process = self._for = None
        self.fill()


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
        self._say(())

    def show(self, total: MeasuredItem, priced: actions.Priced | None, waiting: int, display: Display) -> None:
        """Say what all walls come to, and how many are not measured yet."""
        net, price, hours, missing = display.area(total.quantities.net_area), [], [], []
        if priced is not None and priced.estimate.hours > 0:
            price = [display.money(priced.estimate.line("price").amount)]
            hours = [f"{priced.estimate.hours:,.1f} h"]
        if waiting:
            missing = [f"{waiting} wall{'s' * (waiting > 1)} not measured yet"]
        if not total.sources:
            self._say([missing or ["Nothing measured yet"]], is_waiting=bool(waiting))
            return
        forms = [
            [f"Net {net} ± {display.area(total.u.net_area)}", *price, *hours, *missing],
            [f"Net {net}", *price, *hours, *missing],
            [f"Net {net}", *price, *missing],
            [f"Net {net}", *(missing or price)],
            [f"Net {net}"],
            [net],
            [f"{display.area_number(total.quantities.net_area):,.0f} {display.area_unit}"],
            hours,
        ]
        self._say(forms, is_waiting=bool(waiting))

    def _say(self, forms: Sequence[Sequence[str]], *, is_waiting: bool = False) -> None:
        """Say the same in several forms, the fullest first."""
        self._forms = tuple("   ".join(parts) for parts in forms)
        self.configure(text_color=THEME.warn if is_waiting else THEME.text)
        self.fit()

    def fit(self) -> None:
        """Choose the fullest form that there is room for."""
        taken = max(w.winfo_x() + w.winfo_width() if w.winfo_manager() else 0 for w in self._before)
        room = self._strip.winfo_width() - taken
        room = room / ctk.ScalingTracker.get_widget_scaling(self) - PAD
        said = next((text for text in self._forms if self._face.measure(text) <= room), "")
        if said != self.cget("text"):
            self.configure(text=said)
