"""Commands that change what is in a job, and whose name its journal has: draft, settings, room, remove, person."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from takeoff import actions
from takeoff.cli.as_json import amount, dump, picked
from takeoff.cli.check import named_codes
from takeoff.cli.figures import register_json
from takeoff.cli.options import RULE_NAMES, AsJson, JobPath, MorePlans, Plans, Units, arg, flag, opt, plan_paths
from takeoff.cli.rim import notes, opened, say, say_file, title_of, told
from takeoff.cli.show import display_of, progress, show_price_total
from takeoff.cli.table import table
from takeoff.errors import InputError
from takeoff.job.job import JobSettings
from takeoff.limits import STOPPED, cores
from takeoff.model.walls import MOST_ALIKE
from takeoff.signing import person as name_of_person
from takeoff.signing import set_person, signed

if TYPE_CHECKING:
    from takeoff.actions.draft.making import Draft
    from takeoff.job.store import JobStore
    from takeoff.units import Display


def settings(
    job: JobPath,
    name: Annotated[str | None, opt("--name", "NAME", "New name of the job.")] = None,
    units: Annotated[Units | None, opt("--units", None, "Units to read and show.")] = None,
    precision: Annotated[int | None, opt("--precision", "N", 'Smallest fraction of an inch: 16 for 1/16".')] = None,
    currency: Annotated[str | None, opt("--currency", "CODE", "Currency code of the prices.")] = None,
    rule: Annotated[str | None, opt("--rule", "NAME", f"Measuring rule for payment: {RULE_NAMES}.")] = None,
) -> None:
    """Show the settings of a job, or change those that are named."""
    wanted = {"name": name, "units": units, "precision": precision, "currency": currency, "rule": rule}
    named = {key: value for key, value in wanted.items() if value is not None}
    with opened(job) as store:
        if named:
            actions.change_settings(store, **named)
        s = store.job.settings
    for key in wanted:
        told(f"{key}: {getattr(s, key)}")


def room(
    job: JobPath,
    rooms: Annotated[list[str], arg("ROOM...", "Rooms by id, number or name; none for all.")] = [],  # noqa: B006 - typer copies it
    run: Annotated[list[str], opt("--wall", "ID", "A single wall by its id. Repeat for more.")] = [],  # noqa: B006 - typer copies it
    colour: Annotated[str | None, opt("--colour", "NAME", 'Colour of its coats; "" removes it.')] = None,
    substrate: Annotated[
        Literal["board", "concrete", "plaster", "block", "brick", "metal", "existing"] | None,
        opt("--substrate", None, "What the coats go onto."),
    ] = None,
    times: Annotated[
        int | None,
        opt(
            "--times",
            "N",
            "How often each is built as it is traced: all of it counts that often.",
            min=1,
            max=MOST_ALIKE,
        ),
    ] = None,
    sheet: Annotated[str, opt("--sheet", "SHEET", "All rooms with walls on this sheet.")] = "",
) -> None:
    """Set the colour and the substrate of rooms, or of single walls, and how often rooms are built; or show them."""
    with opened(job) as store:
        ids = [actions.room_named(store, name).id for name in rooms]
        if sheet:
            id = actions.find_sheet(store.job, sheet).id
            on = dict.fromkeys(one.room for one in store.job.runs.values() if one.sheet == id and one.room)
            if not on:
                raise InputError(
                    f"no room has a wall on sheet {sheet}", remedy="Look at the rooms: takeoff measure JOB."
                )
            ids += [room for room in on if room is not None and room not in ids]
        if colour is not None or substrate is not None or times is not None:
            chosen = ids or ([] if run else list(store.job.rooms))
            if chosen and not ids:
                notes([f"no room was named: all {len(chosen)} rooms of the job are set"])
            actions.set_finish(
                store, rooms=chosen, runs=run, colour=colour, substrate=substrate, times=times,
            )  # fmt: skip
        value = store.job
    walls = [one for one in value.runs.values() if one.colour or one.substrate]
    for found in value.rooms.values():
        if not ids or found.id in ids:
            finish = f"{found.substrate or 'substrate not given'}, {found.colour or 'colour not given'}"
            told(f"{found.id}: {finish}, built {found.times}")
            for wall in walls:
                if wall.room == found.id:
                    told(f"  wall {wall.id}: {wall.substrate or 'as the room'}, {wall.colour or 'as the room'}")


def remove(
    job: JobPath,
    run: Annotated[list[str], opt("--run", "ID", "A wall by its id. Repeat for more.")] = [],  # noqa: B006 - typer copies it
    room: Annotated[
        list[str], opt("--room", "ROOM", "A room by id, number or name, with its walls. Repeat for more.")
    ] = [],  # noqa: B006 - typer copies it
) -> None:
    """Remove walls, or rooms with their walls; one step that undo takes back."""
    if not run and not room:
        raise InputError("nothing to remove was named", remedy="Give --run ID or --room ROOM.")
    with opened(job) as store:
        change = actions.remove_from_job(store, runs=run, rooms=room)
    gone = [entry for entry in change.entries if entry.after is None]
    walls, rooms = (sum(entry.kind == kind for entry in gone) for kind in ("run", "room"))
    told(f"Removed {walls} wall{'s' * (walls != 1)} and {rooms} room{'s' * (rooms != 1)}.")


def person(
    name: Annotated[str | None, arg("NAME", "Your name, as the journal and exported marks are to show it.")] = None,
    login: Annotated[bool, flag("--login", "Go back to the login name.")] = False,
) -> None:
    """Print the name under which your work is recorded, or set it for all jobs."""
    if name is None and not login:
        say(name_of_person())
        return
    if name is not None and (login or not name.strip()):
        fault = "a name and --login were given" if login else "the name is empty"
        raise InputError(fault, remedy="Give your name, or --login to go back to the login name.")
    set_person(name or "")
    told(f"What you do from now on is recorded under: {name_of_person()}")


def draft(
    job: Annotated[Path, arg("JOB", "The job file; it is made where plans are named.")],
    plans: Plans = None,
    plan: MorePlans = None,
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

    paths = plan_paths(plans, plan)
    if not paths and not job.exists():
        raise InputError(f"there is no job {job.name}", remedy="Name the plans of a new one behind it.")
    readers = Cluster(cluster) if cluster else Lanes(processes or cores(), is_early=bool(paths))
    with _opened(job, paths, units) as store:
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


def _opened(job: Path, plan: list[Path], units: Units | None) -> JobStore:
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
    if made.priced.estimate.has_price:
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
