"""Open points of sheets and scales."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import cache
from typing import Any

import shapely

from takeoff.actions.points.finding import (
    AS_IT_IS,
    Found,
    Variant,
    Words,
    place_of,
    point_found,
    sentence,
    told_found,
    usual_length,
)
from takeoff.job.job import Job, calibration_key
from takeoff.job.newer_sheets import newer_sheet
from takeoff.model.open_points import Where, basis_of
from takeoff.model.plan import Calibration, Finding, Sheet
from takeoff.model.walls import Run
from takeoff.sheet.scales import ratio_text
from takeoff.sheet.scope_words import height_in, stands_for_several
from takeoff.sheet.uses import shows_what_was, use_of
from takeoff.units.showing import INCH

HALF_SIZE = 2.0
"""What a scale is wrong by where a sheet was printed at half its size, the usual slip (common practice, no source)."""

NO_ROOM = "Check its scale, show one wall, or trace it by hand; confirm it if nothing on it is coated."

SETTLE = {
    "room": "Look at it: trace the room if it is coated, or confirm that it is not.",
    "mark": "Look whether an opening is missing, or confirm that none is.",
    "file": "Look at the sheet, or confirm that it is as it should be.",
    "stamp": "Ask for the sheets to bid from, or confirm that this is one.",
    "finish": "Trace the room or set it by hand, or confirm that it is not coated.",
    "written": "Look at both sheets and change what is written otherwise, or confirm that nothing is.",
    "extent": "Set the heights that it gives, or confirm that they are as it says.",
    "scope": "Take what it leaves out from the price, or confirm that all is in.",
    "times": "Give its rooms how often they are built, or confirm that it is built once.",
    "said": "Change what it says, or confirm that it changes nothing.",
    "draft": "Take from the sheet by hand what is coated, or confirm that nothing on it is.",
}


def scale_points(job: Job) -> Iterator[Found]:
    """Find the scales that nothing on the sheet confirms, or that something on it contradicts."""
    words = Words(job)
    for key, calibration in job.calibrations.items():
        runs = _runs_at(job, calibration)
        at = place_of(job, runs[0]) if runs else None
        where = Where(sheet=calibration.sheet, at_pt=at, region=calibration.region)
        place = words.sheet(calibration.sheet) + (f', detail "{calibration.region}"' if calibration.region else "")
        ratio = ratio_text(calibration.mx)
        said: dict[str, Any] = {
            "what": f"Scale of {place}",
            "taken": ratio,
            "question": "At which scale is this sheet drawn, and was it printed at full size?",
            "assumes": f"{sentence(place)[:-1]} is measured at {ratio}.",
        }
        yield from _unconfirmed(words, key, calibration, where, said)
        u = 2.0 * calibration.u_scale
        for doubt in calibration.doubts:
            yield told_found(
                "scale",
                f"scale:{key}",
                doubt,
                where,
                **said,
                settle="Set the scale by a long dimension, or confirm it.",
                state=f"{sentence(doubt)} {ratio}",
                variants=_rescaled(calibration, 1 - u, 1 + u),
            )


def _unconfirmed(
    words: Words, key: str, calibration: Calibration, where: Where, said: Mapping[str, Any]
) -> Iterator[Found]:
    basis = basis_of(calibration, "mx")
    if basis is None and calibration.source not in ("ratio", "note"):
        return
    if basis is not None and not (basis.is_open or basis.confirmed):
        return
    why = f"it was set as {calibration.stated or said['taken']}, and nothing on the sheet confirms that"
    low, high = calibration.mx, HALF_SIZE * calibration.mx
    if basis is not None:
        why, low, high = words.why(basis), basis.low or low, basis.high or high
    yield point_found(
        **said,
        key=f"scale:{key}",
        kind="scale",
        where=where,
        why=sentence(why),
        settle="Check it against a dimension on the sheet, or confirm it.",
        field="mx" if basis is not None else "",
        low=low,
        high=high,
        state=said["taken"],
        confirmed=basis.confirmed if basis is not None else None,
        variants=_rescaled(calibration, low / calibration.mx, high / calibration.mx),
    )


def _rescaled(calibration: Calibration, *factors: float) -> tuple[Variant, ...]:
    key = calibration_key(calibration.sheet, calibration.region)
    return tuple(
        Variant(calibrations={key: replace(calibration, mx=calibration.mx * f, my=calibration.my * f)}) for f in factors
    )


def _runs_at(job: Job, calibration: Calibration) -> list[Run]:
    """Runs on a calibration's sheet, or with a region those that lie in it; one that crosses edges is passed over."""
    on_sheet = [run for run in job.runs.values() if run.sheet == calibration.sheet]
    if not any(region.sheet == calibration.sheet for region in job.regions.values()):
        return on_sheet
    return [run for run in on_sheet if job.scale_for(run) is calibration]


def sheet_points(job: Job) -> Iterator[Found]:
    """Find sheets with walls that are replaced by a newer revision, built more than once, or may show no work."""
    words = Words(job)
    for sheet in job.sheets.values():
        runs = [run for run in job.runs.values() if run.sheet == sheet.id]
        if not runs:
            continue
        named, titled = words.sheet(sheet.id), f"Its title is “{sheet.title.strip()}”, as of a plan"
        whole, shown = sentence(named)[:-1], {"what": f"What {named} shows", "taken": "walls to be coated"}
        newer, (use, told) = newer_sheet(job.sheets, sheet), use_of(sheet)
        if newer is not None:
            found = _walls_found(
                words, sheet, runs, f"sheet:{sheet.id}:{newer.id}",
                what=f"Walls on {named}",
                taken=f"{len(runs)} wall{'s' * (len(runs) != 1)}",
                why=f"{sentence(words.sheet(newer.id))[:-1]} is a newer revision of it, and these walls were not "
                f"carried over: {', '.join(f'wall {run.id}' for run in runs[:6])}{' …' if len(runs) > 6 else ''}.",
                settle="Carry the walls to the newer revision, remove them, or confirm that they still hold.",
                assumes=f"{whole} still holds for the walls measured on it.",
            )  # fmt: skip
            yield replace(found, point=replace(found.point, state=" ".join(sorted(run.id for run in runs))))
        once = [run for run in runs if _counts_once(job, run)]
        if once and stands_for_several(sheet.title):  # at stake is what once more is worth
            yield _walls_found(
                words, sheet, once, f"several:{sheet.id}",
                what=f"How often {named} is built",
                taken="once",
                why=f"{titled} for several floors or units, and its walls are counted once.",
                settle="Give its rooms how often they are built, or confirm that it is built once.",
                question=f"For how many floors or units does {named} stand?",
                assumes=f"{whole} is built once.",
            )  # fmt: skip
        if shows_what_was(sheet.title):
            yield _walls_found(
                words, sheet, runs, f"before:{sheet.id}", **shown,
                why=f"{titled} of what stands before the work: walls on it may be pulled down.",
                settle="Measure on the plan of the new work, or confirm that these walls are there to be coated.",
                question=f"Do the walls of {named} stay?",
                assumes=f"The walls measured on {named} stay and are coated.",
            )  # fmt: skip
        elif use in ("elevation", "schedule", "detail", "other"):
            yield _walls_found(
                words, sheet, runs, f"use:{sheet.id}", **shown,
                why=f"By what is written on it, it is no floor plan: {told}.",
                settle="Measure on a floor plan, or confirm that these walls are drawn in plan here.",
                question=f"Are walls to be measured on {named}?",
                assumes=f"{whole} shows the walls measured on it in plan.",
            )  # fmt: skip


def _counts_once(job: Job, run: Run) -> bool:
    """Tell whether nobody said that the room of a wall is built several times."""
    room = job.rooms.get(run.room or "")
    return room is None or room.count == 1


def _walls_found(words: Words, sheet: Sheet, runs: list[Run], key: str, **said: Any) -> Found:
    """An open point of all that was measured on a sheet, which is at stake; ``said`` are the fields of the point."""
    where = Where(sheet=sheet.id, at_pt=place_of(words.job, runs[0]), run=runs[0].id)

    return point_found(
        key=key,
        kind="sheet",
        where=where,
        state=sheet.title,
        **said,
        variants=(AS_IT_IS, Variant(runs={run.id: None for run in runs})),
    )


def code_points(job: Job) -> Iterator[Found]:
    """Find rooms in which a finish code stands that is of another system than they take, or reaches another height."""
    words, meant = Words(job), dict(job.settings.finish_codes)
    runs = {run.room: run for run in job.runs.values()}
    for room in job.rooms.values():
        basis, run = basis_of(room, "codes"), runs.get(room.id)
        if basis is None or run is None or room.system is None:
            continue
        written = [code for code in re.findall(r"[A-Z]{1,4}-?\d{1,2}[A-Z]?", basis.text.upper()) if code in meant]
        others = {code: meant[code] for code in written if meant[code] != room.system}
        top, held = height_in(basis.text), room.height.points[0][1] if room.height else None
        is_other_top = top is not None and held is not None and abs(top - held) > INCH
        if not others and not (written and is_other_top):
            continue
        taken, named, height = words.system(room.system), words.room(room.id), words.show.length(held or 0.0)
        told = " and ".join(f"{code} is {words.system(system)}" for code, system in others.items())
        yield point_found(
            key=f"codes:{room.id}",
            kind="system",
            group="Rooms in which another finish stands",
            where=Where(sheet=run.sheet, at_pt=place_of(job, run), room=room.id),
            what=f"Finish of {named}",
            taken=f"{taken} to {height}",
            why=sentence("; ".join(filter(None, (words.source(basis), told, f"the room takes {taken} to {height}")))),
            settle="Set the system and the height of the walls that it is of, or confirm what was taken.",
            question=f"Which walls of {named} take the finish “{basis.text}” that is written in it, and how high?",
            assumes=f"All walls of {named} take {taken} to {height}.",
            state=f"{basis.text} {room.system} {height}",
            variants=(AS_IT_IS, *(Variant(rooms={room.id: replace(room, system=id)}) for id in others.values())),
        )


def unit_points(job: Job) -> Iterator[Found]:
    """Find that nobody and nothing plain says in which units the drawings are."""
    basis = basis_of(job.settings, "units")
    if basis is not None and basis.is_open:
        units = job.settings.units
        yield told_found(
            "job", "units", Words(job).why(basis), what="Units of the drawings", taken=units,
            settle="Choose the units of the job, or confirm them.", question="In which units are the drawings?",
            assumes=f"The drawings are in {units} units.",
        )  # fmt: skip


def finding_points(job: Job) -> Iterator[Found]:
    """Find what readers found on sheets that is in no value: rooms not taken, lines of schedules, damaged files.

    At stake is a room of the job's usual size where one is missing, what leaves the price with rooms that a note takes
    out of the scope, and what one more of a plan is worth that a note says is built several times.
    """
    words, rules, usual = Words(job), _settled_by(job), cache(lambda: usual_length(job))
    for sheet in job.sheets.values():
        for found in sheet.findings:
            if (rule := rules.get(found.about)) is not None and rule(sheet, found):
                continue
            on, name = words.sheet(sheet.id), found.name or "without a name"
            said: dict[str, Any] = {"what": sentence(on)[:-1], "settle": SETTLE[found.about]}
            is_missing = found.about == "finish" or (found.about == "room" and found.at_pt is not None)
            if found.about == "room" and is_missing:
                said["what"] = f"Room not taken: {name}"
                said["assumes"] = f"Not coated: {found.name or 'a room without a name'} on {on}."
                said |= {"group": f"{said['what']} on {on}"} if found.name else {}
            elif found.about == "room":
                said["settle"] = NO_ROOM
            elif found.about == "said":
                said["assumes"] = f"What {on} says changes nothing: {found.text}."
            elif found.about == "written":
                said["assumes"] = f"Room names, heights and schedules of {on} are as on the older revision."
            gone = dict.fromkeys(_in_question(job, sheet, found))
            yield told_found(
                "outline" if found.about == "room" else "sheet", f"{found.about}:{sheet.id}", f"{on}: {found.text}",
                Where(sheet=sheet.id, at_pt=found.at_pt), wall_length=found.length or (usual() if is_missing else 0.0),
                variants=(AS_IT_IS, Variant(runs=gone)) if gone else (), **said,
            )  # fmt: skip


def _settled_by(job: Job) -> Mapping[str, Callable[[Sheet, Finding], bool]]:
    """What tells of a finding, by what it is about, that the job as it is now settles it."""
    measured = {run.sheet for run in job.runs.values()}
    numbers = Counter(room.number.casefold() for room in job.rooms.values() if room.number)
    asked = {sheet.id for sheet in job.sheets.values() if any(found.about == "room" for found in sheet.findings)}
    rooms: dict[int, list[shapely.Polygon]] = {}
    for run in job.runs.values():
        if run.closed and run.sheet in asked:
            rooms.setdefault(run.sheet, []).append(shapely.Polygon(run.path_pt.flattened(0.5)))

    def is_taken(sheet: Sheet, found: Finding) -> bool:
        at = shapely.Point(found.at_pt) if found.at_pt is not None else None
        return at is not None and any(room.contains(at) for room in rooms.get(sheet.id, ()))

    return {
        "stamp": lambda sheet, _: sheet.id not in measured,
        "written": lambda sheet, _: calibration_key(sheet.id) in job.calibrations and sheet.id not in measured,
        "extent": lambda *_: not measured,
        "scope": lambda _, found: not _named_in(job, found),
        "times": lambda sheet, found: stands_for_several(sheet.title) or not _in_question(job, sheet, found),
        "finish": lambda _, found: numbers[found.name.casefold()] == 1,
        "room": is_taken,
    }


def _in_question(job: Job, sheet: Sheet, found: Finding) -> list[str]:
    """Walls that a note is about: those of the rooms that it takes out of the scope, or that the sheet counts once."""
    if found.about == "times":
        return [run.id for run in job.runs.values() if run.sheet == sheet.id and _counts_once(job, run)]
    rooms = _named_in(job, found) if found.about == "scope" else set()
    return [run.id for run in job.runs.values() if run.room in rooms]


def _named_in(job: Job, found: Finding) -> set[str]:
    """Rooms whose number a note names."""
    return {room.id for room in job.rooms.values() if _parts(room.number) & _parts(found.text)}


def is_settled(job: Job, sheet: Sheet, found: Finding) -> bool:
    """Tell whether a person confirmed what was found on a sheet."""
    point = told_found("sheet", f"{found.about}:{sheet.id}", f"{Words(job).sheet(sheet.id)}: {found.text}").point
    known = job.settled.get(point.key)
    return known is not None and known.state == point.state


def _parts(text: str) -> set[str]:
    """Return what may be the number of a room in a text: what holds a digit and stands alone."""
    return {part.casefold() for part in re.findall(r"[\w.-]*\d[\w-]*", text)}
