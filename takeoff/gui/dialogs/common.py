"""What every dialog has; dialogs that are fields with a button; refusals and faults."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from tkinter import filedialog

from takeoff.errors import InputError, TakeoffError
from takeoff.gui.host import Host, session_of
from takeoff.gui.layout import SCREEN_BARS
from takeoff.gui.session import Session
from takeoff.gui.widgets import (
    LABEL_WIDTH,
    THEME,
    Form,
    ReadText,
    Row,
    ScrolledFrame,
    TextField,
    Toplevel,
    bold,
    button,
    clear,
    ctk,
    label,
    pack_labelled,
    text_size,
)
from takeoff.gui.wording import finding_of, remedy_here, words_of

PLAN_TYPES = [("Plans", "*.pdf *.png *.jpg *.jpeg *.tif *.tiff *.dxf"), ("All files", "*")]

JOB_TYPES = [("Job files", "*.takeoff"), ("All files", "*")]

SPARE = 20
"""Pixels at 100 % that a dialog as high as the screen leaves free."""


class Dialog(Toplevel):
    """A small window of its own over the desk; Escape closes it.

    One that ``scrolls`` has its body scroll where it is higher than the screen. A dialog may name its ``first`` field,
    which has the keys when it opens.
    """

    def __init__(self, host: Host, title: str, width: int = 460, *, scrolls: bool = False) -> None:
        super().__init__(host.root, fg_color=THEME.card)
        self.title(title)
        self.host = host
        self.width = width = min(width, room_across(host) - 60)
        self.transient(host.root)
        self.first: TextField | None = None
        self.made_by: Callable[[Host], object] | None = None
        self.heading = label(self, title, font=bold(16), width=width)
        self.heading.pack(fill="x", padx=16, pady=(12, 6))
        self.foot = clear(self)
        self.foot.pack(side="bottom", fill="x", padx=16, pady=12)
        self.said = label(self, colour=THEME.refuse, wrap=width - 40)
        self.said.pack(side="bottom", fill="x", padx=16)
        self._scrolls = scrolls
        make = partial(ScrolledFrame, width=width) if scrolls else ctk.CTkFrame
        self.body = make(self, fg_color="transparent")
        self.body.pack(fill="both", expand=True, padx=(16, 4) if scrolls else 16)
        if scrolls:
            self.body._scrollbar.configure(height=0)  # it is as high as the body, and makes no low one higher
        self.bind("<Escape>", lambda _e: self.close())
        self.protocol("WM_DELETE_WINDOW", self.close)
        self.after(30, self._place)

    @property
    def session(self) -> Session:
        """The open job."""
        return session_of(self.host)

    @property
    def _room_high(self) -> int:
        """Pixels of the screen's height beside its own title bar and a task bar."""
        return int(self.winfo_screenheight()) - SCREEN_BARS

    def _place(self) -> None:
        """Take the size of its parts, its body's at most what the screen has left, and its place."""
        if not self.winfo_exists():
            return
        tkinter.Toplevel.geometry(self, "")
        self.update_idletasks()
        if self._scrolls:
            size = text_size()
            outer = self.body._parent_frame
            others = sum(part.winfo_reqheight() for part in self.pack_slaves() if part is not outer)
            most = self._room_high - others - SPARE * size
            self.body.configure(height=round(min(self.body.winfo_reqheight(), most) / size))
            self.after(30, self._centre)  # its size is known once it has been laid out anew
        else:
            self._centre()

    def _centre(self) -> None:
        if not self.winfo_exists():
            return
        self.update_idletasks()  # on a busy machine it has not been laid out yet
        needed = (self.winfo_reqwidth(), self.winfo_reqheight())
        wide, high = min(needed[0], self.winfo_screenwidth()), min(needed[1], self._room_high)
        x = self.host.root.winfo_rootx() + (self.host.root.winfo_width() - wide) // 2
        y = self.host.root.winfo_rooty() + (self.host.root.winfo_height() - high) // 3
        x = max(min(x, self.winfo_screenwidth() - wide), 0)
        y = max(min(y, self._room_high - high), 0)
        size = "" if needed == (wide, high) else f"{wide}x{high}"
        tkinter.Toplevel.geometry(self, f"{size}+{x}+{y}")
        self.update_idletasks()  # asked for before word of its last size comes, or the place is lost
        self.lift()
        if not str(self.focus_get()).startswith(str(self)):  # a field that has them keeps them
            self.take_keys()

    def take_keys(self) -> None:
        """Have key presses come to this dialog."""
        (self if self.first is None else self.first.entry._entry).focus_force()

    def close(self) -> None:
        """Close it, as its person asks."""
        self.destroy()

    def destroy(self) -> None:
        """Close it and give the keys back to the window."""
        super().destroy()
        self.host.take_keys()

    def say(self, text: str, *, into: tkinter.Misc | None = None) -> None:
        """Put a paragraph into the body, or into a part of it."""
        label(into or self.body, text, wrap=self.width).pack(fill="x", pady=2)

    def refuse(self, text: str) -> None:
        """Show what does not fit."""
        self.said.configure(text=text, text_color=THEME.refuse)

    def good(self, text: str, *, is_well: bool = True) -> None:
        """Say what came of it."""
        self.said.configure(text=text, text_color=THEME.good if is_well else THEME.warn)

    def tries(self, work: Callable[[], object]) -> bool:
        """Do something and return whether it was done; a refusal is said."""
        try:
            work()
        except TakeoffError as error:
            self.refuse(words_of(error))
            return False
        return True

    def leave_if(self, is_done: bool) -> None:
        """Close it where the job took what was asked; else say why not."""
        if is_done:
            self.destroy()
        else:
            self.refuse(self.session.message)

    def close_button(self, text: str = "Close") -> None:
        """Add the button that closes it."""
        button(self.foot, text, self.close, is_main=True, side="right")


class FormDialog(Dialog):
    """Fields, and a button that does what they say; what does not fit is said, and nothing is done.

    The first field that is a text has the keys. Ctrl+Enter does it too, and Enter alone in one that ``takes_enter``.
    """

    def __init__(
        self,
        host: Host,
        title: str,
        rows: Sequence[Row],
        act: str,
        *,
        hint: str = "",
        width: int = 460,
        takes_enter: bool = False,
    ) -> None:
        super().__init__(host, title, width, scrolls=True)
        measure = ctk.CTkFont().measure
        wide = max([LABEL_WIDTH, *(measure(row.label) + 10 for row in rows if not row.is_tick)])
        self.form = Form(self.body, rows, self.refuse, commit=self.changed, add=partial(pack_labelled, wide=wide))
        texts = (self.form[row.key] for row in rows)
        self.first = next((field for field in texts if isinstance(field, TextField)), None)
        key = "Key: Enter" if takes_enter else "Key: Ctrl+Enter"
        hint = f"{hint} {key}".strip()
        self.act_button = button(self.foot, act, self.run, is_main=True, hint=hint, side="right")
        self.leave_button = button(self.foot, "Close", self.close, hint="Key: Escape", side="right", padx=8)
        for sequence in ("<Control-Return>", "<Control-KP_Enter>", *(("<Return>", "<<FieldTaken>>") * takes_enter)):
            self.bind(sequence, lambda _e: self.run())

    def changed(self, key: str, text: str) -> None:
        """Take a change of one field."""

    def run(self) -> None:
        """Do what the fields say; a refusal is said."""
        if self.winfo_exists():
            self.tries(self.act)

    def act(self) -> None:
        """Do what the fields say; a `TakeoffError` is raised where something does not fit."""
        raise NotImplementedError


class AskDialog(FormDialog):
    """Fields and one thing to do with them; it closes once that is done, and what came of it is told.

    ``work`` is called with the dialog; it returns what to tell, or ``None`` where it was refused and is told already.
    The fields show at first what is ``given`` by key.
    """

    def __init__(
        self,
        host: Host,
        title: str,
        rows: Sequence[Row],
        act: str,
        work: Callable[[AskDialog], str | None],
        *,
        width: int = 460,
        takes_enter: bool = False,
        **given: str,
    ) -> None:
        super().__init__(host, title, rows, act, width=width, takes_enter=takes_enter)
        self._work = work
        self.form.show(**given)

    @property
    def path(self) -> Path:
        """What the field ``file`` names; an empty one is refused."""
        name = self.form.text("file")
        if not name:
            raise InputError("no file is named", remedy="Name one, or choose it with the button.")
        return Path(name).expanduser()

    def act(self) -> None:
        told = self._work(self)
        if told is None:
            self.refuse(self.session.message)
            return
        self.destroy()
        if self.host.session is not None:
            self.host.session.tell(told)


def ask_files(host: Host, title: str, types: Sequence[tuple[str, str]], *, several: bool = False) -> list[Path]:
    """Ask for files to read, beginning in the job's folder, or in that of the job before; none where none is chosen."""
    known = [host.session.path] if host.session is not None else [Path(path) for path in host.preferences.recent]
    at = known[0].parent if known else Path.cwd()
    ask = filedialog.askopenfilenames if several else filedialog.askopenfilename
    found = ask(parent=host.root, title=title, initialdir=at, filetypes=types)
    return [Path(path) for path in ([found] if isinstance(found, str) else found) if path]


def asking(
    title: str, types: Sequence[tuple[str, str]], take: Callable[[Host, Path], object]
) -> Callable[[Host], None]:
    """Return a command that asks for a file and does something with it."""

    def ask(host: Host) -> None:
        for path in ask_files(host, title, types):
            take(host, path)

    return ask


def room_across(host: Host) -> int:
    """Pixels at 100 % that the screen is wide at the size of text."""
    return int(host.root.winfo_screenwidth() / text_size())


def refusal(host: Host, title: str, error: TakeoffError) -> Dialog:
    """Say what was refused, why and what to do."""
    dialog = Dialog(host, title)
    dialog.say(finding_of(error))
    if error.remedy:
        dialog.say(remedy_here(error.remedy))
    dialog.close_button()
    return dialog


def fault(host: Host, trace: str) -> Dialog:
    """Show a fault of the program; the job is safe, for every edit is on disk."""
    dialog = Dialog(host, "A fault of the program", 560)
    dialog.say("Something went wrong that should not have. Your job is safe: every edit is on disk. You can go on.")
    dialog.say("If it happens again, report what is written here:")
    ReadText(dialog.body, trace, width=560, height=200, wrap="none").pack(fill="both", expand=True, pady=6)
    dialog.close_button("Go on")
    return dialog


def open_once(host: Host, make: Callable[[Host], object]) -> None:
    """Open what a function makes; a dialog of it that is open already comes to the front."""
    for child in host.root.winfo_children():
        if isinstance(child, Dialog) and child.made_by is make:
            child.lift()
            child.take_keys()
            return
    made = make(host)
    if isinstance(made, Dialog):
        made.made_by = make
