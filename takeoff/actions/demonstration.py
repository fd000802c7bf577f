"""The demonstration that goes through a whole job."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from takeoff.actions.draft.making import Draft, make_draft
from takeoff.actions.draft.sheet_reads import Readers, read_here
from takeoff.actions.files import find_sheet, read_file, sample_plans
from takeoff.actions.jobs import apply_edits, new_job
from takeoff.actions.planning import next_monday
from takeoff.actions.reports import Progress, Reported, make_reports
from takeoff.actions.scales import set_scale_note
from takeoff.actions.schedules import keep_codes
from takeoff.errors import InputError
from takeoff.job.job import Job, JobSettings
from takeoff.job.store import Sign
from takeoff.model.site import day_of
from takeoff.model.walls import Opening, Room, Run
from takeoff.report.kinds import ReportOrder


@dataclass(frozen=True, slots=True, kw_only=True)
class Demonstrated(Reported):
    """A demonstration: its reports, with the job files among the paths, and the job.

    ``drafted`` are the rooms of a small bid set that was drafted, each against what is true of it.
    """

    job: Job
    drafted: tuple[RoomVerdict, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomVerdict:
    """A room of a draft against the truth: right, open where an open point says so, or wrong in silence.

    ``differs`` names what is not as it is true: system, height, openings, area, or the room itself.
    """

    room: str
    verdict: Literal["right", "open", "wrong"]
    differs: tuple[str, ...] = ()


def run_demo(
    folder: Path, *, sign: Sign, progress: Progress | None = None, readers: Readers = read_here
) -> Demonstrated:
    """Do a whole job on the sample plans: plans, scale, rooms and runs, figures, reports.

    The job files in ``folder`` are made anew; reports of an earlier demonstration are replaced. A small bid set is
    drafted beside it, to show how far that comes. Raises `InputError` when the sample plans are missing, or the folder
    cannot be made.
    """
    plans = sample_plans()
    path, draft_path = folder / "demo.takeoff", folder / "draft.takeoff"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for suffix in ("", "-wal", "-shm"):
            for file in (path, draft_path):
                file.with_name(file.name + suffix).unlink(missing_ok=True)
    except OSError as error:
        raise InputError(
            f"{folder} cannot be written to ({error.strerror})", remedy="Name another folder: --out DIR."
        ) from error
    name = "facility-imperial.pdf"
    settings = JobSettings(name="Sample dairy, packing wing")
    store, doubts = new_job(path, [(name, read_file(plans / name, "plan file"))], settings, sign=sign)
    with store:
        sheet = find_sheet(store.job, "A-101")
        set_scale_note(store, sheet, sheet.scale_note)
        apply_edits(store, read_file(plans / "facility-edits.json", "edits file"))
        _, at = store.signed()
        monday = next_monday(day_of(at))
        made = make_reports(store, folder, ReportOrder(start=monday), at=at, progress=progress)
        return Demonstrated(
            job=store.job,
            priced=made.priced,
            paths=(path, draft_path, *made.paths),
            points=made.points,
            notes=(*doubts, *made.notes),
            failures=made.failures,
            drafted=draft_sample_set(draft_path, sign=sign, readers=readers),
        )


def draft_sample_set(path: Path, *, sign: Sign, readers: Readers = read_here) -> tuple[RoomVerdict, ...]:
    """Draft the small bid set of the sample plans into a new job, and judge its rooms by what is true of them."""
    name = "facility-set.pdf"
    truth = json.loads(read_file(sample_plans() / "facility-set-truth.json", "truth of the set"))
    settings = JobSettings(name="Sample dairy, bid set")
    store, _ = new_job(path, [(name, read_file(sample_plans() / name, "plan file"))], settings, sign=sign)
    with store:
        keep_codes(store, truth["codes"])
        draft = make_draft(store, readers=readers)
        return judged(store.job, draft, truth["rooms"])


PLAY = 0.02
"""Metres by which a size of an opening may differ from the truth; two percent of a height or an area likewise."""
EXCUSES = {
    "system": {"system"},
    "height": {"height"},
    "openings": {"opening", "outline"},
    "area": {"opening", "outline", "height", "unmeasured", "overlap"},
}
"""Kinds of open points that tell of each thing that may differ."""


def judged(job: Job, draft: Draft, truth: Mapping[str, Mapping[str, Any]]) -> tuple[RoomVerdict, ...]:
    """Judge the rooms of a drafted job by what is true of them, by number: lengths in m, areas in m²."""
    rooms = {room.number: room for room in job.rooms.values()}
    said = []
    for number in dict.fromkeys((*truth, *rooms)):
        room, true = rooms.get(number), truth.get(number)
        if room is None or true is None:
            told = any(number in point.what for point in draft.points.open)
            said.append(RoomVerdict(room=number, verdict="open" if told else "wrong", differs=("room",)))
            continue
        run = max((r for r in job.runs.values() if r.room == room.id), key=lambda r: len(r.openings))
        kinds = {p.kind for p in draft.points.open if p.where.room == room.id}
        scale = {p.kind for p in draft.points.open if p.kind == "scale" and p.where.sheet == run.sheet}
        differs = _differs(draft, room, run, true)
        is_told = all(EXCUSES[field] & kinds or scale for field in differs)
        verdict: Literal["right", "open", "wrong"] = "wrong" if not is_told else "open" if kinds | scale else "right"
        said.append(RoomVerdict(room=f"{number} {room.name}", verdict=verdict, differs=differs))
    return tuple(said)


def _differs(draft: Draft, room: Room, run: Run, true: Mapping[str, Any]) -> tuple[str, ...]:
    """Name what of a room, with the wall that goes round it, is not as it is true."""
    faces = draft.priced.measured.faces
    area = next((f.quantities.net_area for f in faces if f.elevation.run == run.id), None)
    height = room.height.points[0][1] if room.height is not None and room.height.is_constant else None
    sizes = [size for o in sorted(run.openings, key=_sizes) for size in _sizes(o)]
    wanted = [size for opening in true["openings"] for size in opening]
    is_same = {
        "system": room.system == true["system"],
        "height": _near(height, true["height"]),
        "openings": len(sizes) == len(wanted) and all(abs(a - b) <= PLAY for a, b in zip(sizes, wanted, strict=True)),
        "area": _near(area, true["net_area"]),
    }
    return tuple(field for field, same in is_same.items() if not same)


def _sizes(opening: Opening) -> tuple[float, ...]:
    return tuple(round(size, 3) for size in (opening.width, opening.height, opening.sill))


def _near(found: float | None, true: float | None) -> bool:
    if found is None or true is None:
        return found is true
    return abs(found - true) <= PLAY * true
