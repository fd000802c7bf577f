"""The command that traces rooms: trace."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Annotated, Any

import typer

from takeoff import actions
from takeoff.cli.as_json import dump, picked
from takeoff.cli.figures import tell_opened
from takeoff.cli.options import AsJson, AsShown, JobPath, SheetText, points_of, read_point
from takeoff.cli.rim import notes, opened, say_file, told
from takeoff.cli.show import progress
from takeoff.signing import now, person
from takeoff.units import parse_length

if TYPE_CHECKING:
    from takeoff.actions.tracing import Traced
    from takeoff.trace.lines.traced_rooms import TracedRoom


def trace(
    job: JobPath,
    sheet: SheetText,
    at: Annotated[
        list[str],
        typer.Option("--at", metavar="X,Y", help="A sheet point in a room. Repeat for more.", show_default=False),
    ] = [],  # noqa: B006 - typer copies it
    every: Annotated[
        bool, typer.Option("--all", help="Every room of the sheet; those that are doubtful are listed, not taken.")
    ] = False,
    height: Annotated[
        str,
        typer.Option(
            metavar="H", help="Top of the coating above the floor, such as 9'-0\" or 2.7 m.", show_default=False
        ),
    ] = "",
    as_shown: AsShown = False,
    as_json: AsJson = False,
) -> None:
    """Trace rooms from what is drawn on a sheet, with their openings and columns."""
    from takeoff.actions.tracing import trace_sheet

    given = [read_point(text) for text in at]
    with opened(job) as store:
        metres = parse_length(height, system=store.job.settings.units) if height else None
        which = actions.find_sheet(store.job, sheet)
        points = points_of(which, given, as_shown=as_shown)
        before = store.job
        with progress("Tracing"):
            traced = trace_sheet(store, which.id, at=points, all=every, height=metres, who=person(), when=now())
        after = store.job
    notes(traced.notes)
    tell_opened(before, after)
    if as_json:
        say_file(dump(traced_json(traced)))
        return
    for id, room in traced.put:
        told(f"{id}: {_words(room)}")
    for room in traced.doubtful:
        label = room.label or "a room without a name"
        against = " ".join(room.reasons[1:]) or room.reasons[0]
        told(f"Doubtful: {label} at {_middle(room)}, {room.confidence:.0%}. {against}")
    named = Counter(lost.name for lost in traced.lost)
    for lost in traced.lost:
        if times := named.pop(lost.name, 0):
            more = f" and in {times - 1} more place{'s' * (times > 2)}" if times > 1 else ""
            name, (x, y) = lost.name or "a field without a name", lost.at_pt
            told(f"No room: {name} at {x:.1f},{y:.1f}{more}: {lost.reason}. {lost.mend}.")
    if every and traced.doubtful:
        told(f"Left out {len(traced.doubtful)}; take one with: takeoff trace {job} {sheet} --at X,Y")


def traced_json(traced: Traced) -> dict[str, Any]:
    """Return what tracing did: rooms put into the job, and rooms left for a look; lengths in m, areas in m²."""
    return {
        "schema": "takeoff.trace/1",
        "units": {"length": "m", "area": "m2", "points": "sheet points"},
        "rooms": [{"room": id, **_room_json(room)} for id, room in traced.put],
        "doubtful": [_room_json(room) for room in traced.doubtful],
        "lost": [picked(lost, "name reason mend", at=lost.at_pt) for lost in traced.lost],
        "notes": traced.notes,
    }


def _room_json(room: TracedRoom) -> dict[str, Any]:
    return picked(
        room,
        "name number bulges confidence sure reasons",
        points=room.points_pt,
        floor_area=room.area,
        openings=[picked(o, "at width kind form confidence reason mark height") for o in room.openings],
        columns=[picked(c, "bulges", points=c.points_pt) for c in room.columns],
    )


def _words(room: TracedRoom) -> str:
    sides, openings, columns = len(room.points_pt), len(room.openings), len(room.columns)
    label = room.label or "no name"
    parts = [f"{sides} side{'s' * (sides != 1)}", f"{openings} opening{'s' * (openings != 1)}"]
    if columns:
        parts.append(f"{columns} column{'s' * (columns != 1)}")
    return f"{label}, {', '.join(parts)}, {_sureness(room.confidence)}"


def _sureness(confidence: float) -> str:
    """Write a confidence; none is called certain.

    Examples
    --------
    >>> _sureness(0.83), _sureness(0.999)
    ('83% sure', 'over 99% sure')
    """
    return "over 99% sure" if confidence > 0.99 else f"{confidence:.0%} sure"


def _middle(room: TracedRoom) -> str:
    """Return a sheet point inside a room, as it is typed."""
    import shapely

    point = shapely.Polygon(room.points_pt).representative_point()
    return f"{point.x:.1f},{point.y:.1f}"
