"""What refusals say in the window: where a remedy names a command to type, what to do here. No toolkit in here."""

from __future__ import annotations

import re

from takeoff.errors import TakeoffError

REMEDIES: tuple[tuple[str, str], ...] = (
    ("(takeoff style)", "Click in the middle of a room whose walls close, show one of its walls (W), or trace it (T)."),
    ("takeoff scale", "Press S, then click both ends of a printed dimension and type its length."),
    ("takeoff trace", "Trace rooms first: by a click (G), by hand (T) or as a box (B)."),
    ("takeoff history", "History in the menu Job shows what was done."),
    ("takeoff rescue", "Choose Rescue a damaged job in the menu Job."),
    ("takeoff new", "Choose a job file, or start one from plans (Ctrl+N)."),
    ("takeoff schema", "The catalogue page of the documentation lists the keys and values."),
    ("--allow-open", "Settle the open points first (F12), or tick that the bid says what is open."),
    ("takeoff points", "Look at the list again (F12)."),
    ("--points OLDX", "Take it in again (F7) and show two points that both revisions have."),
    ("--plan", "Choose one or more plan files."),
    ("--out", "Choose another folder."),
    ("--page", "Choose the page."),
    ("--system", "Choose the coat with its system."),
    ("--column", "Leave one column of areas in the table."),
    ("--unit", "Write the unit into the heading, such as Area (SF) or Area (m2)."),
    ("--flat", "Choose a PDF file."),
    ("--json", "Write it as another kind of file."),
    ('"height"', "Select the wall and type a height."),
)
"""A part of a remedy for the command line, and the remedy in the window."""


POINT_OFF = re.compile(r"\([-\d.e+]+, [-\d.e+]+\) lies off the sheet of .* points")
"""A corner that is refused by its place in sheet points, which nobody reads off a plan."""
ROUND = re.compile(r" round -?[\d.e+]+,-?[\d.e+]+")
"""The place of a click, in sheet points too."""
FIELD = re.compile(r"[a-z]+(_[a-z]+)*")
"""A place that is the name of a field: it tells a script where to look, and a person nothing."""


FILE = re.compile(r"\S+\.\w+\b")


def begun(text: str) -> str:
    """Begin a sentence with a capital, unless it begins with the name of a file.

    Examples
    --------
    >>> begun("the disk is full"), begun("a.takeoff: the disk is full")
    ('The disk is full', 'a.takeoff: the disk is full')
    """
    return text if FILE.match(text) else text[:1].upper() + text[1:]


def remedy_here(remedy: str) -> str:
    """Return a remedy for the window."""
    return next((here for part, here in REMEDIES if part in remedy), remedy)


def words_of(error: TakeoffError) -> str:
    """Say in one line what was refused and what to do in the window."""
    return " ".join(t for t in (finding_of(error), remedy_here(error.remedy)) if t)


def finding_of(error: TakeoffError) -> str:
    """Say what was found, as a sentence."""
    message = ROUND.sub("", POINT_OFF.sub("a point lies off the sheet", error.message))
    head = f"{error.where}: {message}" if error.where and not FIELD.fullmatch(error.where) else message
    return f"{begun(head).rstrip('.')}."
