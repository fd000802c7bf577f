"""Commands that read tables of the drawings: check, finishes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from takeoff import actions
from takeoff.cli.as_json import dump, picked
from takeoff.cli.options import AsJson, JobPath, SheetText, arg, flag, opt
from takeoff.cli.rim import notes, opened, say, say_file, told
from takeoff.cli.show import display_of
from takeoff.cli.table import table
from takeoff.errors import InputError
from takeoff.signing import now

if TYPE_CHECKING:
    from takeoff.audit.verdict import AreaCheck, CheckLine
    from takeoff.trace.schedules.finish_matching import FinishedRoom, ScheduleMatch
    from takeoff.units import Display

StatedFile = Annotated[
    Path | None, arg("STATED", "CSV, XLSX, XLS, ODS or PDF with a row for each room, or for each wall.")
]
OnSheet = Annotated[str, opt("--table", "SHEET", "Read the table on this sheet of the job instead.")]


def check(
    job: JobPath,
    stated: StatedFile = None,
    table: OnSheet = "",
    rule: Annotated[str, opt("--rule", "NAME", "Measuring rule. Not given: that of the job.")] = "",
    basis: Annotated[
        Literal["net", "gross", "with-returns", "centreline", "floor"],
        opt("--basis", None, "What the stated areas are taken to be areas of.", show_default=True),
    ] = "net",
    unit: Annotated[
        Literal["sf", "m2"] | None, opt("--unit", None, "Unit of areas that name none in heading or cell.")
    ] = None,
    column: Annotated[str, opt("--column", "HEADING", "Column to read where several hold areas.")] = "",
    as_json: AsJson = False,
    out: Annotated[Path | None, opt("--out", "PDF", "Write a page for the architect.")] = None,
) -> int:
    """Check stated areas against what was measured; exit code 1 where something is wrong in the table."""
    from takeoff.actions import find_sheet, read_file
    from takeoff.actions.checking import check_areas, read_sheet_areas, read_stated_areas, write_check_report

    if (stated is None) == (not table):
        fault = "no stated areas were named" if stated is None else "stated areas were named twice"
        raise InputError(fault, remedy="Give a file (CSV, XLSX, XLS, ODS, PDF), or --table SHEET, one of them.")
    with opened(job) as store:
        value = store.job
        if stated is None:
            sheet = find_sheet(value, table)
            source = sheet.called
            read = read_sheet_areas(store, sheet, basis=basis, unit=unit, column=column)
        else:
            source = stated.name
            read = read_stated_areas(read_file(stated, "table of areas"), source, basis=basis, unit=unit, column=column)
    found = check_areas(value, read, rule=rule or None, basis=basis)
    notes((*read.doubts, *found.doubts))
    if as_json:
        say_file(dump(check_json(found)))
    else:
        show_check(found, display_of(value.settings))
    if out is not None:
        written = write_check_report(value, found, out, source=source, at=now())
        told(f"Wrote {written}")
    return 0 if found.is_clean else 1


def show_check(found: AreaCheck, show: Display) -> None:
    """Print a check: a table, then what is behind each line that needs a person."""
    from takeoff.audit.verdict import leading_texts

    def row(line: CheckLine) -> tuple[str, ...]:
        return (
            line.match.stated.label,
            line.room_label or "-",
            line.match.how,
            line.match.stated.text,
            "" if line.measured is None else show.area(line.measured),
            line.relative_words,
            "" if line.u is None else f"± {show.area(line.u)}",
            line.verdict,
        )

    table(
        f"Stated areas as {found.basis}, rule {found.rule}",
        ("Stated for", "Room", "Matched by", "Stated", "Measured", "Difference", "k = 2", "Finding"),
        [row(line) for line in found.lines],
        text_columns=3,
    )
    for text in leading_texts(found):
        say(text)
    for line in found.lines:
        if line.verdict == "agrees" and not (line.match.doubts or line.match.stated.parts):
            continue
        say(f"{line.match.stated.label}: {line.verdict}, {line.reason}")
        for doubt in line.match.doubts:
            say(f"  note: {doubt}")
        for cause in line.causes:
            say(f"  {cause.text}: {cause.arithmetic}")
        if line.verdict == "differs" and not line.causes:
            say("  no reason that we know of is likely")
    for fault in found.faults:
        say(f"wrong in the table: {fault}")
    if found.unstated:
        say(f"measured and not stated: {', '.join(found.unstated)}")


def check_json(found: AreaCheck) -> dict[str, Any]:
    """A check with areas in m²."""
    return {
        "schema": "takeoff.check/1",
        "units": {"area": "m2"},
        "agrees": found.count("agrees"),
        "differs": found.count("differs"),
        "cannot_say": found.count("cannot say"),
        "items": [_line(line) for line in found.lines],
        "leading": [picked(r, "kind text explained remaining") for r in found.leading],
        **picked(found, "rule basis unstated faults doubts"),
    }


def _line(line: CheckLine) -> dict[str, Any]:
    match, stated = line.match, line.match.stated
    return {
        **picked(stated, "number name where", stated=stated.area if stated.is_figure else None, stated_as=stated.text),
        **picked(match, "room doubts", matched_by=match.how),
        **picked(line, "measured difference u verdict reason"),
        "causes": [picked(cause, "kind text arithmetic area") for cause in line.causes],
    }


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
            keep_codes(store, named)
        done = apply_finish_schedule(store, match) if apply else None
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
    """Read what codes stand for, each as CODE=SYSTEM; a text that names no system is refused."""
    return dict(_named(text) for text in texts)


def _named(text: str) -> tuple[str, str]:
    code, _, system = text.partition("=")
    if not code.strip() or not system.strip():
        raise InputError(f'"{text}" names no system for a code', remedy="Write it as W1=mat-hygienic.")
    return code.strip(), system.strip()
