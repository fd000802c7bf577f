"""Commands that read what is drawn: trace, and style, which shows how walls, doors and windows are drawn."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from takeoff import actions
from takeoff.cli.as_json import dump, picked
from takeoff.cli.figures import tell_opened
from takeoff.cli.options import AsJson, AsShown, JobPath, SheetText, flag, opt, points_of, read_point
from takeoff.cli.rim import notes, opened, say_file, told
from takeoff.cli.show import progress
from takeoff.errors import InputError
from takeoff.units import parse_height

if TYPE_CHECKING:
    from takeoff.actions.drafting import DrawnSheet
    from takeoff.actions.tracing import Traced
    from takeoff.job.store import JobStore
    from takeoff.model.drafting import DraftingStyle, Part
    from takeoff.trace.lines.traced_rooms import TracedRoom


def trace(
    job: JobPath,
    sheet: SheetText,
    at: Annotated[list[str], opt("--at", "X,Y", "A sheet point in a room. Repeat for more.")] = [],  # noqa: B006 - typer copies it
    every: Annotated[
        bool, flag("--all", "Every room of the sheet; those that are doubtful are listed, not taken.")
    ] = False,
    height: Annotated[str, opt("--height", "H", "Top of the coating above the floor, such as 9'-0\" or 2.7 m.")] = "",
    as_shown: AsShown = False,
    as_json: AsJson = False,
) -> None:
    """Trace rooms from what is drawn on a sheet, with their openings and columns."""
    from takeoff.actions.tracing import trace_sheet

    given = [read_point(text) for text in at]
    with opened(job) as store:
        metres = parse_height(height, system=store.job.settings.units) if height else None
        which = actions.find_sheet(store.job, sheet)
        points = points_of(which, given, as_shown=as_shown)
        before = store.job
        with progress("Tracing"):
            traced = trace_sheet(store, which.id, at=points, all=every, height=metres)
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
    import shapely

    point = shapely.Polygon(room.points_pt).representative_point()
    return f"{point.x:.1f},{point.y:.1f}"


_SHOWN = 20
"""Looks that the list shows: those that are drawn longest."""


def _shown(option: str, what: str) -> Any:
    return opt(option, "X,Y|N", f"A sheet point on {what}, or its number in the list. Repeat.")


def style(
    job: JobPath,
    sheet: SheetText,
    wall: Annotated[list[str], _shown("--wall", "a wall")] = [],  # noqa: B006 - typer copies it
    door: Annotated[list[str], _shown("--door", "a door")] = [],  # noqa: B006
    window: Annotated[list[str], _shown("--window", "a window")] = [],  # noqa: B006
    other: Annotated[list[str], _shown("--not", "what is no wall, door or window")] = [],  # noqa: B006
    name: Annotated[str, opt("--name", "NAME", "The style's name.", show_default=True)] = "office",
    remove: Annotated[bool, flag("--remove", "Remove the style of this name.")] = False,
    source: Annotated[str, opt("--from", "JOB", "Take the styles of another job.")] = "",
    propose: Annotated[
        bool, flag("--propose", "Show the style that a sheet is read by without help, and how sure it is.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Show how walls, doors and windows are drawn; without options list what is drawn alike on a sheet."""
    from takeoff.actions import drafting
    from takeoff.job.edits import PutStyle, Remove

    named: dict[Part, list[str]] = {"wall": wall, "door": door, "window": window, "other": other}
    shown = [(part, text) for part, texts in named.items() for text in texts]
    with opened(job) as store:
        which = actions.find_sheet(store.job, sheet)
        if remove:
            store.do(Remove(kind="style", id=name))
            told(f"Removed the drafting style {name}.")
            return
        drawn = drafting.read_drawn_sheet(store, which.id)
        if source:
            with actions.open_job(Path(source)) as from_job:
                styles = list(from_job.job.styles.values())
            for taken in styles:
                store.do(PutStyle(style=taken))
                fits = "it fits this sheet" if drawn.fits(taken) else "it does not fit this sheet"
                told(f"Took the drafting style {taken.name}: {fits}.")
            return
        if shown:
            made = _made(drawn, shown, name, store.job.styles.get(name))
            store.do(PutStyle(style=made))
            _tell(f"Kept the drafting style {name}. Sheets that it fits are traced by it.", made)
            return
        styles = list(store.job.styles.values())
        proposed = _proposed(store, which.id, name) if propose else None
    if propose and proposed is None:
        told("No style can be proposed: no rooms were found on the sheet's lines. Show a wall with --wall X,Y.")
    _list(drawn, styles, proposed, as_json=as_json)


def _proposed(store: JobStore, sheet: int, name: str) -> tuple[DraftingStyle, float] | None:
    from takeoff.actions.drafting import proposed_style
    from takeoff.actions.traced_sheets import read_sheet_trace

    with progress("Tracing"):
        read = read_sheet_trace(store, sheet)
    return proposed_style([plan for _, _, plan in read.parts], name)


def _made(drawn: DrawnSheet, shown: list[tuple[Part, str]], name: str, start: DraftingStyle | None) -> DraftingStyle:
    from takeoff.actions.drafting import AS_WALLS, with_look
    from takeoff.model.drafting import DraftingStyle

    looks = drawn.looks()
    style = start or DraftingStyle(name=name, walls=())
    for part, text in shown:
        if not text.isdecimal():
            look = drawn.look_shown(read_point(text))
        elif 1 <= int(text) <= len(looks):
            look = looks[int(text) - 1].look
        else:
            raise InputError(f"there is no number {text} in the list", remedy=f"Take one of 1 to {len(looks)}.")
        style = with_look(style, part, look)
        if part in ("door", "window") and look in style.walls:
            told(f"The {part} at {text}: {AS_WALLS}.")
    return style


def _list(
    drawn: DrawnSheet, styles: list[DraftingStyle], proposed: tuple[DraftingStyle, float] | None, *, as_json: bool
) -> None:
    from takeoff.actions.drafting import style_words
    from takeoff.trace.drawing.looks import in_words

    looks = drawn.looks()
    if as_json:
        rows = [
            {"number": i, "words": in_words(one.look), "count": one.paths, "length_pt": one.length_pt,
             "at": list(one.sample[0][0]) if one.sample else None}
            for i, one in enumerate(looks, start=1)
        ]  # fmt: skip
        kept = [{"name": one.name, "fits": drawn.fits(one), "parts": style_words(one)} for one in styles]
        told_json: dict[str, Any] = {"schema": "takeoff.style/1", "looks": rows, "styles": kept}
        if proposed is not None:
            told_json["proposed"] = {"parts": style_words(proposed[0]), "sure": proposed[1]}
        say_file(dump(told_json))
        return
    for i, one in enumerate(looks[:_SHOWN], start=1):
        at = f", for example at {one.sample[0][0][0]:.0f},{one.sample[0][0][1]:.0f}" if one.sample else ""
        told(f"{i:3d}  {in_words(one.look)}: {one.paths} drawn{at}")
    for kept_style in styles:
        fits = "" if drawn.fits(kept_style) else ", does not fit this sheet"
        _tell(f"Drafting style {kept_style.name}{fits}:", kept_style)
    if proposed is not None:
        style, sure = proposed
        _tell(f"Proposed drafting style, by which the outlines of {sure:.0%} of the rooms are sure:", style)


def _tell(heading: str, style: DraftingStyle) -> None:
    """Say a style under a heading, a line for each part."""
    from takeoff.actions.drafting import style_words

    told(heading)
    for line in style_words(style):
        told(f"  {line}")
