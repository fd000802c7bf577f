"""The command that drafts a job from the plans as they came: draft."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from takeoff.cli.options import AsJson
from takeoff.cli.points import register_json
from takeoff.cli.rim import notes, say, say_file, told
from takeoff.errors import InputError
from takeoff.signing import now, person

if TYPE_CHECKING:
    from takeoff.actions.draft import Draft
    from takeoff.units import Display


def draft(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="The job file; it is made where plans are named.")],
    plan: Annotated[
        list[Path] | None,
        typer.Option("--plan", metavar="FILE", help="A plan file of a new job. Repeat for more.", show_default=False),
    ] = None,
    units: Annotated[
        Literal["imperial", "metric"] | None,
        typer.Option(help="Units of a new job; those of the sheets' scale notes without it.", show_default=False),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Take from the plans all that they say: scales, rooms, openings, heights, systems; then measure and price it."""
    from takeoff import actions
    from takeoff.actions.draft import make_draft
    from takeoff.cli.as_json import dump
    from takeoff.cli.show import display_of, progress
    from takeoff.job.edits import SetSettings
    from takeoff.job.job import JobSettings
    from takeoff.sheet.uses import units_of

    if plan:
        plans = [(path.name, actions.read_file(path, "plan file")) for path in plan]
        store, found = actions.new_job(job, plans, JobSettings(name=job.stem), who=person(), at=now())
        settings = replace(store.job.settings, units=units or units_of(store.job.sheets.values()))
        if settings != store.job.settings:
            store.do(SetSettings(settings=settings), who=person(), at=now())
        notes(found)
    elif not job.exists():
        raise InputError(f"there is no job {job.name}", remedy="Name the plans of a new one: --plan FILE.")
    else:
        store = actions.open_job(job)
    with store, progress("Drafting") as step:
        made = make_draft(store, who=person(), at=now(), progress=step)
        value = store.job
    if as_json:
        say_file(dump(draft_json(made) | {"open_points": register_json(made.points, value)}))
        return
    show = display_of(value.settings, made.priced.estimate.currency)
    show_draft(made, show)
    told(f"Next: takeoff points {job}" if made.points.open else f"Next: takeoff report {job} --out DIR")


def show_draft(made: Draft, show: Display) -> None:
    """Print what was made of each sheet and each room, the totals, and what is open."""
    from takeoff.cli.show import show_price_total, table

    sheets = [
        (s.name, s.use, s.why, (s.fault and f"not done: {s.fault}") or s.done or "nothing to take") for s in made.sheets
    ]
    table("Sheets", ("Sheet", "Is a", "Because", "Done"), sheets, more_text=(1, 2, 3))
    if made.rooms:
        rows = []
        for room in made.rooms:
            cells = [f"{text} ({source})" if source else text for _, text, source in room.values]
            rows.append((room.label, *cells, str(room.openings), str(room.open)))
        table("Rooms", ("Room", "Height", "System", "Cove", "Openings", "Open"), rows, more_text=(1, 2, 3))
    total = made.priced.measured.measurement.total
    say(f"Net area {show.area(total.quantities.net_area)} ± {show.area(total.u.net_area)}")
    if made.priced.estimate.materials:
        show_price_total(made.priced, show)
    for line in made.points.lines(show, most=12):
        say(f"open: {line}")
    say(made.points.words())


def draft_json(made: Draft) -> dict[str, Any]:
    """The draft: areas in m², money with its currency."""
    estimate = made.priced.estimate
    return {
        "schema": "takeoff.draft/1",
        "sheets": [
            {"sheet": s.sheet, "name": s.name, "use": s.use, "why": s.why, "done": s.done, "fault": s.fault}
            for s in made.sheets
        ],
        "rooms": [
            {
                "room": r.room,
                "label": r.label,
                **{field: {"value": text, "source": source} for field, text, source in r.values},
                "openings": r.openings,
                "open_points": r.open,
            }
            for r in made.rooms
        ],
        "net_area": made.priced.measured.measurement.total.quantities.net_area,
        "price": {"amount": estimate.line("price").amount, "currency": estimate.currency},
    }
