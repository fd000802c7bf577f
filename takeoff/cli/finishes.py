"""The command that sets rooms by a finish schedule: finishes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Annotated, Any

from takeoff import actions
from takeoff.cli.as_json import dump, picked
from takeoff.cli.options import AsJson, JobPath, SheetText, flag, opt
from takeoff.cli.rim import notes, opened, say_file, told
from takeoff.cli.show import display_of, table
from takeoff.errors import InputError
from takeoff.signing import now, person

if TYPE_CHECKING:
    from takeoff.trace.schedules.finish_matching import FinishedRoom, ScheduleMatch
    from takeoff.units import Display


def finishes(
    job: JobPath,
    sheet: SheetText,
    code: Annotated[list[str], opt("--code", "CODE=SYSTEM", "What a wall code stands for. Repeat for more.")] = [],  # noqa: B006 - typer copies it
    apply: Annotated[bool, flag("--apply", "Set the rooms; without it they are shown and left as they are.")] = False,
    as_json: AsJson = False,
) -> None:
    """Read the finish schedule of a sheet, and set system, height and cove of the rooms by it."""
    from takeoff.actions.quantities import catalogue_of
    from takeoff.actions.schedules import apply_finish_schedule, keep_codes, read_finish_schedule

    named = named_codes(code)
    with opened(job) as store:
        which = actions.find_sheet(store.job, sheet)
        match = read_finish_schedule(store, which, named=named)
        if apply:
            keep_codes(store, named, who=person(), at=now())
        done = apply_finish_schedule(store, match, who=person(), at=now()) if apply else None
        show = display_of(store.job.settings)
        names = {system.id: system.name for system in catalogue_of(store.job).systems}
    notes(match.doubts)
    if as_json:
        say_file(dump(finishes_json(match, applied=done is not None)))
        return
    show_match(match, show, names)
    if done is not None:
        told(f"{done.label}.")
    elif any(found.changes for found in match.rooms):
        told(f"Nothing was changed. To set these rooms: takeoff finishes {job} {sheet} --apply")


def show_match(match: ScheduleMatch, show: Display, names: Mapping[str, str]) -> None:
    """Print what each room gets, what the codes stand for, and what was left over."""

    def row(found: FinishedRoom) -> tuple[str, ...]:
        room = found.room
        top = show.length(room.height.points[0][1]) if room.height is not None and room.height.is_constant else "-"
        cove = show.length(room.cove.height) if room.cove is not None else "-"
        changed = ", ".join(found.changes) or "nothing"
        return (room.number, room.name, found.row.wall, names.get(room.system or "", "-"), top, cove, changed)

    if match.rooms:
        table(
            "Finish schedule",
            ("Room", "Name", "Code", "System", "Height", "Cove", "Changes"),
            [row(found) for found in match.rooms],
            text_columns=4,
        )
    for meaning in match.codes:
        if meaning.how == "words":
            system = names.get(meaning.system or "")
            told(f"{meaning.code} “{meaning.words}” is taken for {system} by its words; check it.")
    for left in match.rows_left:
        told(f"No room of the job for {' '.join(part for part in (left.number, left.name) if part)}.")
    for room in match.rooms_left:
        told(f"Not in the schedule: {' '.join(part for part in (room.number, room.name) if part) or room.id}.")


def finishes_json(match: ScheduleMatch, *, applied: bool) -> dict[str, Any]:
    """Return what a schedule gives each room and what could not be matched; lengths in m."""
    return {
        "schema": "takeoff.finishes/1",
        "units": {"length": "m"},
        "applied": applied,
        "rooms": [_room_json(found) for found in match.rooms],
        "codes": [picked(meaning, "code words system", how=meaning.how or None) for meaning in match.codes],
        "rows_left": [picked(row, "number name") for row in match.rows_left],
        "rooms_left": [room.id for room in match.rooms_left],
        "doubts": match.doubts,
    }


def _room_json(found: FinishedRoom) -> dict[str, Any]:
    room = found.room
    return {
        **picked(room, "number system", room=room.id),
        **picked(found, "how changes", code=found.row.wall or None),
        "height": room.height and room.height.points,
        "cove": room.cove and picked(room.cove, "height toe radius"),
    }


def named_codes(texts: Sequence[str]) -> dict[str, str]:
    """Read what codes stand for, each as CODE=SYSTEM.

    Raises
    ------
    InputError
        When a text names no system.
    """
    return dict(_named(text) for text in texts)


def _named(text: str) -> tuple[str, str]:
    code, _, system = text.partition("=")
    if not code.strip() or not system.strip():
        raise InputError(f'"{text}" names no system for a code', remedy="Write it as W1=mat-hygienic.")
    return code.strip(), system.strip()
