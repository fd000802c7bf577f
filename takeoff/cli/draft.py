"""The command that drafts a job from the plans as they came: draft."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from takeoff import actions
from takeoff.cli.as_json import amount, dump, picked
from takeoff.cli.check import named_codes
from takeoff.cli.figures import register_json
from takeoff.cli.options import AsJson, Units, arg, flag, opt
from takeoff.cli.rim import notes, say, say_file, title_of, told
from takeoff.cli.show import display_of, progress, show_price_total
from takeoff.cli.table import table
from takeoff.errors import InputError
from takeoff.job.job import JobSettings
from takeoff.limits import STOPPED, cores
from takeoff.signing import signed

if TYPE_CHECKING:
    from takeoff.actions.draft.making import Draft
    from takeoff.job.store import JobStore
    from takeoff.units import Display


def draft(
    job: Annotated[Path, arg("JOB", "The job file; it is made where plans are named.")],
    plan: Annotated[list[Path] | None, opt("--plan", "FILE", "A plan file of a new job. Repeat for more.")] = None,
    units: Annotated[Units | None, opt("--units", None, "Units of a new job. Not given: those of its sheets.")] = None,
    code: Annotated[
        list[str], opt("--code", "CODE=SYSTEM", "What a finish code stands for; the job keeps it. Repeat for more.")
    ] = [],  # noqa: B006 - typer copies it
    sources: Annotated[bool, flag("--sources", "Show where every value of each room came from.")] = False,
    processes: Annotated[
        int,
        opt(
            "--processes",
            None,
            "Sheets that are read side by side; as many as there are cores with 0.",
            min=0,
            show_default=True,
        ),
    ] = 0,
    cluster: Annotated[
        str | None,
        opt(
            "--cluster", "ADDRESS", "Read the sheets on a Dask cluster: address or scheduler file (the extra cluster)."
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Take from the plans all that they say: scales, rooms, openings, heights, systems; then measure and price it."""
    from takeoff.actions.draft.making import make_draft
    from takeoff.actions.draft.sheet_reads import Cluster, Lanes
    from takeoff.actions.schedules import keep_codes

    if not plan and not job.exists():
        raise InputError(f"there is no job {job.name}", remedy="Name the plans of a new one: --plan FILE.")
    readers = Cluster(cluster) if cluster else Lanes(processes or cores(), is_early=bool(plan))
    with _opened(job, plan, units) as store:
        keep_codes(store, named_codes(code))
        with progress("Drafting") as step:
            made = make_draft(store, readers=readers, progress=step)
        value = store.job
    if as_json:
        say_file(dump(draft_json(made) | {"open_points": register_json(made.points)}))
    else:
        show_draft(made, display_of(value.settings, made.priced.estimate.currency), sources=sources)
        told(f"Next: takeoff points {job}" if made.points.open else f"Next: takeoff report {job} --out DIR")
    if made.not_read:
        told(f"Stopped: {made.not_read} sheets were not read. What was read is kept; run it again to go on.")
        raise typer.Exit(STOPPED)


def _opened(job: Path, plan: list[Path] | None, units: Units | None) -> JobStore:
    if not plan:
        return actions.open_job(job, signed)
    plans = [(path.name, actions.read_file(path, "plan file")) for path in plan]
    settings = JobSettings(name=title_of(job), units=units or "imperial")
    store, found = actions.new_job(job, plans, settings, sign=signed, tells_units=units is None)
    notes(found)
    return store


def show_draft(made: Draft, show: Display, *, sources: bool = False) -> None:
    """Print what was made of each sheet and each room, the totals, and what is open."""
    from takeoff.report.tables import price_table

    sheets = [
        (s.name, s.title, s.use, f"{s.why}; {s.drawn}", (s.fault and f"open: {s.fault}") or s.done or "-")
        for s in made.sheets
    ]
    table("Sheets", ("Sheet", "Title", "Is a", "Because", "Done"), sheets, more_text=(1, 2, 3, 4))
    if made.codes:
        how = {"named": "named for this job", "id": "a system's own name", "words": "its words alone: open", "": "open"}
        names = {system.id: system.name for system in made.priced.catalogue.systems}
        codes = [(c.code, c.words, names.get(c.system or "", "-"), how[c.how]) for c in made.codes]
        table("Finish codes", ("Code", "Words", "System", "By"), codes, more_text=(1, 2, 3))
    if made.rooms:
        rows = [(r.label, *(v.taken for v in r.values), str(r.opening_count), str(r.open)) for r in made.rooms]
        table("Rooms", ("Room", "Height", "System", "Cove", "Openings", "Open"), rows, more_text=(1, 2, 3))
    for room in made.rooms if sources else ():
        say(f"{room.label}:")
        for value in (*room.values, *room.walls, *room.openings):
            say(f"  {value.of}: {value.taken}" + (f" ({value.source})" if value.source else ""))
    total = made.priced.measured.measurement.total
    say(f"Net area {show.area(total.quantities.net_area)} ± {show.area(total.u.net_area)}")
    if made.priced.estimate.materials:
        if made.priced.estimate.retention or made.priced.estimate.pays_by_rule:
            say(price_table(made.priced.estimate, show).note)
        show_price_total(made.priced, show)
    for line in made.points.lines(show, most=12):
        say(f"open: {line}")
    say(made.points.words())


def draft_json(made: Draft) -> dict[str, Any]:
    """The draft: areas in m², money with its currency; values as shown, each with its source."""
    from dataclasses import asdict

    estimate = made.priced.estimate
    rooms = []
    for r in made.rooms:
        values = {v.of: {"value": v.id or v.taken, "source": v.source} for v in r.values}
        parts = {kind: [picked(v, "of taken source") for v in getattr(r, kind)] for kind in ("walls", "openings")}
        rooms.append(picked(r, "room label", **values, **parts, open_points=r.open))
    return {
        "schema": "takeoff.draft/1",
        "sheets": [asdict(sheet) for sheet in made.sheets],
        "not_read": made.not_read,
        "codes": [asdict(code) for code in made.codes],
        "rooms": rooms,
        "net_area": made.priced.measured.measurement.total.quantities.net_area,
        "price": amount(estimate.line("price").amount, estimate.currency),
    }
