"""What the parts of the window need of the whole, so that none of them knows the window itself."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, Protocol

from takeoff import actions
from takeoff.apart import Apart
from takeoff.gui.canvas.plan_canvas import PlanCanvas
from takeoff.gui.preferences import Preferences
from takeoff.gui.reading_process import Snapper
from takeoff.gui.review import Review
from takeoff.gui.session import Session
from takeoff.gui.tools.tool import Tool
from takeoff.job.store import JobStore
from takeoff.model.open_points import OpenPoint
from takeoff.model.plan import Sheet

Part = Literal["sheets", "side", "figures"]
"""What stands round the plan and can be folded."""


class Host(Protocol):
    """The job, the tool in hand, having things shown, and what commands and dialogs need besides."""

    canvas: PlanCanvas
    session: Session | None
    snapper: Snapper | None
    use_tool: Callable[[str], None]
    """Take a tool by its id; where it can be of no use yet, the one that comes first."""
    hold: Callable[[Tool], None]
    """Take a tool that is made already."""
    paint: Callable[[], None]
    """Show the tool's prompt and preview, and what was last said."""
    repaint: Callable[[], None]
    """Draw what lies over the sheet anew."""
    show_layers: Callable[[Sheet], None]
    """See and snap to what of a sheet's layers and marks is to be seen now."""
    forget_sheet: Callable[[], None]
    """Have the sheet shown anew at the next change."""
    choose_sheet: Callable[[int], None]
    """Show a sheet; one without a scale is shown with the tool to set it."""
    go_to: Callable[[OpenPoint], None]
    """Show the place of an open point, with what settles it in hand."""

    @property
    def tool(self) -> Tool | None:
        """The tool in hand."""

    @property
    def review(self) -> Review | None:
        """The review of a new issue that is open, if one is."""

    def guard(self, work: Callable[[], object]) -> bool:
        """Run something a tool does; a refusal is told. Return whether it was done."""

    def refuse(self, message: str) -> None:
        """Say what was refused."""

    def show_side(self) -> None:
        """Put beside the plan what belongs to the tool and the selection."""

    preferences: Preferences
    process: Apart
    """It reads drawings beside the window."""
    compare_issue: Callable[[Path], None]
    """Compare a new issue with the sheet that is shown."""
    compare_set: Callable[[Path], None]
    """Compare a whole new set with the job."""
    show_open_points: Callable[[], None]
    """Turn the figures to the list of open points."""
    step_points: Callable[[int], None]
    """Look at the next open point, or at the one before."""
    confirm_point: Callable[[], None]
    """Confirm the open point that is looked at."""
    fold: Callable[[Part], None]
    """Fold a part beside or below the plan, or unfold it."""
    make_tall: Callable[[], None]
    """Give the figures most of the plan's height, or give it back."""

    @property
    def root(self) -> tkinter.Tk:
        """The window, as what dialogs are over."""

    @property
    def priced(self) -> actions.Priced | None:
        """The price as it is shown."""

    def remember(self, preferences: Preferences) -> None:
        """Keep preferences for the next time."""

    def take_look(self) -> None:
        """Take colours and the size of text from the preferences."""

    def take_keys(self) -> None:
        """Have key presses come to the window."""

    def open_path(self, path: Path) -> bool:
        """Open a job file; a refusal is shown."""

    def take(self, store: JobStore) -> None:
        """Work on an open job file."""

    def close_job(self) -> None:
        """Close the job."""


def session_of(host: Host) -> Session:
    """Return the open job, for what is asked only while one is open."""
    assert host.session is not None
    return host.session


@dataclass(frozen=True, slots=True)
class Command:
    """One command: where it stands in the menus, its key as people name it, what it does and what it is for.

    ``first`` says what to do before it can be done.
    """

    menu: str
    id: str
    label: str
    key_text: str
    run: Callable[[Host], object]
    help: str
    is_enabled: Callable[[Host], bool] = lambda host: host.session is not None
    first: str = ""

    @property
    def keys(self) -> tuple[str, ...]:
        """Its keys as Tk names them."""
        return tk_keys(self.key_text)


KEYS_OF: dict[str, tuple[str, ...]] = {
    "+": ("plus", "equal", "KP_Add"),
    "−": ("minus", "KP_Subtract"),
    "Ctrl++": ("Control-plus", "Control-equal"),
    "Ctrl+−": ("Control-minus",),
    "Ctrl+Y": ("Control-y", "Control-Shift-Z"),
    "Page Down": ("Next",),
    "Page Up": ("Prior",),
    "Z": ("z", "Shift-Home"),
}
"""Keys as Tk names them, where that does not follow from how they are written."""


def tk_keys(text: str) -> tuple[str, ...]:
    """Return the keys that a text such as Ctrl+N names, as Tk names them.

    Examples
    --------
    >>> tk_keys("Ctrl+N"), tk_keys("G"), tk_keys("Shift+F9"), tk_keys("")
    (('Control-n',), ('g',), ('Shift-F9',), ())
    """
    if text in KEYS_OF or not text:
        return KEYS_OF.get(text, ())
    *held, last = text.replace("Ctrl", "Control").split("+")
    return ("-".join([*held, last.lower() if len(last) == 1 else last]),)
