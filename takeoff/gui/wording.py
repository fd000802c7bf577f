"""What refusals say in the window: where a remedy names a command to type, what to do here. No toolkit in here."""

from __future__ import annotations

import re
from collections.abc import Mapping

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
ID = re.compile(r"(?P<kind>\b(?:[Rr]uns?|[Ww]alls?) )?(?P<id>\b\w(?:[\w.-]*\w)?)")
"""A word that may be an id, with what is said before one."""
TWICE = re.compile(r"(\bwall(?: [A-Z]+)? of (\S.*?)) of \2")
"""A wall whose room is said once more."""


def in_names(text: str, names: Mapping[str, str]) -> str:
    """Write names of walls in place of their ids in a sentence.

    Examples
    --------
    >>> in_names("run run-1, point 2: Split it.", {"run-1": "wall of 104 LAB"})
    'wall of 104 LAB, point 2: Split it.'
    >>> in_names("Walls a and b", {"a": "wall of 104 LAB", "b": "wall in no room"})
    'Wall of 104 LAB and b'
    >>> in_names("Outline of wall a of 104 LAB: a gap", {"a": "wall B of 104 LAB"})
    'Outline of wall B of 104 LAB: a gap'
    """

    def named(found: re.Match[str]) -> str:
        kind, name = found["kind"] or "", names.get(found["id"])
        if name is None or not (kind or not found["id"].isalnum()):
            return found[0]
        return name[:1].upper() + name[1:] if kind[:1].isupper() else name

    return TWICE.sub(r"\1", ID.sub(named, text))


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
