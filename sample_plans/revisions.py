"""Revisions B and C of the sample plan, with every change known.

Run ``python -m sample_plans.revisions [FOLDER]``: ``facility-rev-b.pdf`` and ``facility-rev-c.pdf``, and beside each
the edits file that traces it. B stands elsewhere on the paper; C is on a larger sheet with its title block moved.

B: the wall between 103 and 106 goes a foot east; the doors to 104 go two feet east; 103 gets a door to the outside;
the window of 102 is gone; 107 is called dry store. C, on top of B: the square pillar goes two feet east; the splash
wall is gone; the roll-up door is ten feet wide.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pymupdf

from sample_plans import floorplan, scenario, sheets, titleblock, tracing
from sample_plans.draw import COVE_IMPERIAL
from sample_plans.ink import POCHE, Frame, Ink, Point, add_layers
from sample_plans.scenario import (
    OPENINGS,
    PILLAR_DIAMETER,
    PILLAR_ROUND,
    PILLAR_SIDE,
    PILLAR_SQUARE,
    ROOMS,
    SINGLE,
    XS_SOUTH,
    Opening,
    Room,
    ft,
)

ANSI_E = (3168.0, 2448.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Issue:
    """One issue of the plan: what it shows, where it lies on its paper, and what its title block says."""

    revision: str
    date: str
    rooms: tuple[Room, ...] = ROOMS
    openings: tuple[Opening, ...] = OPENINGS
    pillar: Point = PILLAR_SQUARE
    has_splash_wall: bool = True
    xs_south: tuple[float, ...] = XS_SOUTH
    frame: Frame = sheets.PLAN_IMPERIAL
    paper: Point = sheets.ANSI_D


ISSUE_A = Issue(revision="A", date="2026-03-02")


def _issue_b() -> Issue:
    east = ft(1)
    xs = (XS_SOUTH[0], XS_SOUTH[1] + east, XS_SOUTH[2] + east, *XS_SOUTH[3:])
    rooms = []
    for room in ROOMS:
        if room.number == "103":
            room = replace(room, points=tuple((xs[1] if x == XS_SOUTH[1] else x, y) for x, y in room.points))
        elif room.number == "106":
            room = replace(room, points=tuple((xs[2] if x == XS_SOUTH[2] else x, y) for x, y in room.points))
        elif room.number == "107":
            room = replace(room, name="Dry store")
        rooms.append(room)
    openings = []
    for o in OPENINGS:
        if o.mark == "104A":
            o = replace(o, at=o.at + ft(2))
        if o.mark == "C" and o.rooms == ("102",):
            continue
        openings.append(o)
    openings.append(
        Opening(
            mark="103B", style="single", axis="x", at=ft(10), lo=scenario.YS[5], hi=scenario.DEPTH,
            width=SINGLE[0], height=SINGLE[1], rooms=("103",), swing=1,
        )
    )  # fmt: skip
    return Issue(
        revision="B",
        date="2026-03-16",
        rooms=tuple(rooms),
        openings=tuple(openings),
        xs_south=xs,
        frame=replace(sheets.PLAN_IMPERIAL, x0=216.0, y0=307.5),
    )


ISSUE_B = _issue_b()
ISSUE_C = replace(
    ISSUE_B,
    revision="C",
    date="2026-04-02",
    openings=tuple(replace(o, width=ft(10)) if o.mark == "108B" else o for o in ISSUE_B.openings),
    pillar=(PILLAR_SQUARE[0] + ft(2), PILLAR_SQUARE[1]),
    has_splash_wall=False,
    frame=replace(sheets.PLAN_IMPERIAL, x0=402.0, y0=611.0),
    paper=ANSI_E,
)


@contextmanager
def drawn_as(issue: Issue) -> Iterator[None]:
    """Let the drawing and tracing scripts show another issue."""
    wanted: list[tuple[Any, str, Any]] = [
        *((module, "ROOMS", issue.rooms) for module in (floorplan, sheets, tracing)),
        *((module, "OPENINGS", issue.openings) for module in (floorplan, sheets, tracing)),
        *((module, "PILLAR_SQUARE", issue.pillar) for module in (floorplan, tracing)),
        (floorplan, "XS_SOUTH", issue.xs_south),
        (titleblock, "REVISION", issue.revision),
        (titleblock, "DATE", issue.date),
        (sheets, "DATE", issue.date),
        (titleblock, "_size", lambda width, height: "ANSI E" if width > sheets.ANSI_D[0] else "ANSI D"),
    ]
    if not issue.has_splash_wall:
        wanted.append((floorplan, "_pillars", lambda ink, frame, wording: _pillars_alone(ink, frame, issue.pillar)))
    kept = [(module, name, getattr(module, name)) for module, name, _ in wanted]
    for module, name, value in wanted:
        setattr(module, name, value)
    try:
        yield
    finally:
        for module, name, value in kept:
            setattr(module, name, value)


def _pillars_alone(ink: Ink, frame: Frame, square: Point) -> None:
    """Draw the pillars without the splash wall."""
    (x, y), half = square, PILLAR_SIDE / 2
    ink.box("A-COLS", frame.pt((x - half, y - half)), frame.pt((x + half, y + half)), 0.9, fill=POCHE)
    ink.circle("A-COLS", frame.pt(PILLAR_ROUND), PILLAR_DIAMETER / 2 * frame.scale, 0.9, fill=POCHE)


def draw_issue(issue: Issue) -> pymupdf.Document:
    """Draw sheet A-101 of one issue."""
    with drawn_as(issue):
        doc = sheets.new_set(["A-101"], issue.paper)
        sheets.plan_sheet(doc[0], add_layers(doc), issue.frame, sheets.IMPERIAL, '1/4" = 1\'-0"')
        return doc


def trace_issue(issue: Issue) -> dict[str, Any]:
    """Trace one issue exactly, as an edits file."""
    with drawn_as(issue):
        made = tracing.edits(issue.frame.pt, sheets.feet_and_inches, COVE_IMPERIAL)
    if not issue.has_splash_wall:
        made["runs"] = [run for run in made["runs"] if run["id"] != "103-splash-wall"]
    return made


def revision_files() -> dict[str, bytes]:
    """Make the files of both revisions, by name."""
    files = {}
    for issue in (ISSUE_B, ISSUE_C):
        stem = f"facility-rev-{issue.revision.lower()}"
        files[f"{stem}.pdf"] = draw_issue(issue).tobytes(garbage=3, deflate=True, no_new_id=True)
        files[f"{stem}-edits.json"] = (json.dumps(trace_issue(issue), ensure_ascii=False, indent=1) + "\n").encode()
    return files


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent
    for name, content in revision_files().items():
        (folder / name).write_bytes(content)
