"""Commands that give figures and what they rest on: measure, estimate, points, questions, schema, catalogue."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from takeoff import actions
from takeoff.cli.as_json import amount, dump, measured_json, picked, priced_json
from takeoff.cli.options import AsJson, CatalogueFile, Explain, JobPath, arg, catalogue_in, flag, opt
from takeoff.cli.rim import job_in, notes, opened, say, say_file, told
from takeoff.cli.show import (
    display_of,
    end_with_nothing,
    progress,
    show_measured,
    show_measured_arithmetic,
    show_priced,
    show_table,
)
from takeoff.cli.table import table
from takeoff.errors import InputError
from takeoff.model.point_register import can_confirm, grouped
from takeoff.signing import now

if TYPE_CHECKING:
    from takeoff.actions import Priced
    from takeoff.estimate.simulate import PriceRange
    from takeoff.job.job import Job
    from takeoff.model.open_points import OpenPoint
    from takeoff.model.point_register import Register
    from takeoff.units import Display

TOLD = 8
"""Groups of points that another command names."""
SHOWN = 40
"""Points that are listed unless all are asked for."""


def points(
    job: JobPath,
    confirm: Annotated[
        list[str] | None, opt("--confirm", "KEY", "Take a point, or all of a group, as it is. Repeat for more.")
    ] = None,
    give: Annotated[
        list[str] | None, opt("--give", "KEY=VALUE", "Give the value of a point, or of all of a group.")
    ] = None,
    confirm_all: Annotated[bool, flag("--confirm-all", "Take all of them as they are.")] = False,
    every: Annotated[bool, flag("--all", "List confirmed ones too, and all of a group.")] = False,
    fail: Annotated[bool, flag("--fail", "End with exit code 1 where any is open.")] = False,
    catalogue: CatalogueFile = None,
    as_json: AsJson = False,
) -> None:
    """List what the figures rest on and nobody has confirmed, most money first; confirm it, or give the value."""
    chosen = catalogue_in(catalogue)
    if confirm_all and (confirm or give):
        raise InputError("--confirm-all and others were given", remedy="Confirm all, or name points.")
    with opened(job) as store:
        register = actions.open_points(store.job, catalogue=chosen)
        if confirm or confirm_all:
            every_one = tuple(point for point in register.open if can_confirm(point))
            wanted = every_one if confirm_all else actions.find_points(register, confirm or [])
            if wanted:
                told(f"Done: {actions.confirm_points(store, wanted).label}")
            register = actions.open_points(store.job, catalogue=chosen)
        for text in give or []:
            key, mark, given = text.rpartition("=")
            if not mark:
                raise InputError(f'"{text}" names no value', remedy="Write KEY=VALUE, such as sill:R1-walls:2=3'-6\".")
            found = actions.find_points(register, [key])
            told(f"Done: {actions.give_value(store, found, given).label}")
            register = actions.open_points(store.job, catalogue=chosen)
        value = store.job
    if as_json:
        say_file(dump(register_json(register)))
    else:
        show_register(register, value, every=every)
    if fail and register.open:
        raise typer.Exit(1)


def questions(
    job: JobPath, out: Annotated[Path, opt("--out", "DIR", "Folder to write to; it is made if need be.")]
) -> None:
    """Write the open points that the author of the drawings can settle as numbered questions: PDF, web page, CSV."""
    with opened(job) as store, progress("Writing questions"):
        paths = actions.ask_architect(store, out, at=now())
    for path in paths:
        say(str(path))


def show_register(register: Register, job: Job, *, every: bool = False) -> None:
    """Print the list: points of one group on one line unless every one is asked for."""
    show = display_of(job.settings, register.currency)
    rows = []
    for group in grouped(register.points if every else register.open, together=not every):
        first = group.points[0]
        money = show.money(group.money) if group.is_priced else ""
        taken = first.taken or "nothing"
        if first.confirmed is not None:
            taken = f"{taken} (confirmed by {first.confirmed.by})"
        rows.append((group.label, money, taken, group.place, first.why, group.key))
    if rows:
        headings = ("What", "At stake", "Taken", "Where", "Why", "Key")
        table("Open points", headings, rows[: None if every else SHOWN], more_text=(2, 3, 4, 5))
    if not every and len(rows) > SHOWN:
        say(f"… and {len(rows) - SHOWN} more: --all lists them.")
    say(register.words())


def tell_open(register: Register, show: Display) -> None:
    """Write to stderr how much is open, with what has most money at stake."""
    notes((*register.lines(show, most=TOLD), f"{register.words()} See: takeoff points JOB" if register.open else ""))


def tell_opened(before: Job, after: Job) -> None:
    """Write to stderr what an edit left open that was not open before, or rests on something else now."""
    known = {(point.key, point.state) for point in actions.open_points(before, has_stakes=False).open}
    register = actions.open_points(after, has_stakes=False)
    asked = [point for point in register.open if point.kind not in ("rates", "product", "job")]
    new = [point for point in asked if (point.key, point.state) not in known]
    newly = replace(register, points=tuple(new), price=0.0)
    if new:
        show = display_of(after.settings, register.currency)
        notes((*newly.lines(show, most=TOLD), f"{newly.words()} See: takeoff points JOB"))


def register_json(register: Register) -> dict[str, Any]:
    """The register: lengths in m, areas in m², money with its currency."""
    points = [point_json(point, register.currency) for point in register.points]
    return {"schema": "takeoff.points/1", **summary_json(register), "points": points}


def summary_json(register: Register) -> dict[str, Any]:
    """How many points are open, the money at stake, and its share of the price."""
    return {
        "open": len(register.open),
        "confirmed": len(register.confirmed),
        "at_stake": amount(register.money, register.currency),
        "share_of_price": register.share,
    }


def point_json(point: OpenPoint, currency: str) -> dict[str, Any]:
    """One point."""
    stake, where = point.stake, point.where
    return {
        **picked(point, "key kind group what taken why settle low high", open=point.is_open),
        **picked(where, "sheet region room run opening", at=where.at_pt, place=where.words),
        "at_stake": stake and picked(stake, "area length", money=amount(stake.money, currency)),
        "confirmed": point.confirmed and picked(point.confirmed, "by at"),
    }


DRAWS, SEED = 100_000, 1
"""Draws for the range of a price, and the seed that they start from."""


def measure(
    job: JobPath,
    by: Annotated[Literal["room", "run", "system"], opt("--by", None, "What to list.", show_default=True)] = "room",
    rule: Annotated[str, opt("--rule", "NAME", "Measuring rule for payment. Not given: that of the job.")] = "",
    as_json: AsJson = False,
    explain: Explain = False,
) -> None:
    """Measure every wall: net area, corners, cove, edges, with their uncertainty."""
    value = job_in(job)
    if not as_json:
        end_with_nothing(value, job, "to measure", to_price=False)
    ready = actions.measure_ready(value, by=by, rule=rule or None)
    measured, register = ready[0], actions.open_points(value, ready=ready)
    if not value.runs:
        notes(["there is no wall to measure: trace one (takeoff trace) or apply an edits file (takeoff apply)"])
    tell_open(register, display_of(value.settings, register.currency))
    if as_json:
        say_file(dump(measured_json(measured, explain=explain) | {"open_points": summary_json(register)}))
        return
    show = display_of(value.settings)
    show_measured(measured, show)
    if explain:
        show_measured_arithmetic(measured, show)


def estimate(
    job: JobPath,
    catalogue: CatalogueFile = None,
    as_json: AsJson = False,
    explain: Explain = False,
    has_range: Annotated[bool, flag("--range", "Show the range of the price and what drives it.")] = False,
    draws: Annotated[int | None, opt("--draws", "N", "Draws of --range, 100,000 unless given.", min=1)] = None,
    seed: Annotated[int | None, opt("--seed", "N", "Seed of --range, 1 unless given.", min=0)] = None,
    against: Annotated[
        list[str] | None, opt("--against", "SYSTEM", "Price this system on all coated walls too, side by side.")
    ] = None,
) -> None:
    """Price the job: material in whole packs, labour, and the way to the price."""
    if not has_range and (draws, seed) != (None, None):
        given = "--draws" if draws is not None else "--seed"
        raise InputError(f"{given} belongs to --range", remedy="Add --range, or leave it out.")
    value, priced = priced_job(job, "to price", as_json=as_json, catalogue=catalogue)
    found = None
    if has_range:
        found = actions.price_range(priced, draws=draws or DRAWS, seed=SEED if seed is None else seed)
    compared = actions.compare_alternates(value, against, catalogue=priced.catalogue) if against else None
    register, currency = tell_points(value, priced), priced.estimate.currency
    if as_json:
        out = priced_json(priced) | {"open_points": summary_json(register)}
        if found is not None:
            out["range"] = range_json(found, currency)
        if compared is not None:
            rows = [picked(row, "kind id label unit values") for row in compared.rows]
            out["alternates"] = picked(compared, "currency names notes", rows=rows)
        say_file(dump(out))
        return
    from takeoff.report.planning_tables import alternates_table, drivers_table, range_table

    show = display_of(value.settings, currency)
    show_priced(priced, show, explain=explain)
    if found is not None:
        show_table(range_table(found, currency))
        show_table(drivers_table(found, currency))
    if compared is not None:
        show_table(alternates_table(compared, show))


def schema(
    which: Annotated[
        Literal["edits", "job", "system", "catalogue"],
        arg("FORM", "Which form to describe: edits, job, system or catalogue.", show_default=True),
    ] = "edits",
) -> None:
    """Print the JSON schema of a file that the program reads."""
    say_file(dump(actions.schema_of(which)))


def catalogue(
    job: Annotated[Path | None, arg("JOB", "A job to take the file of --set.")] = None,
    use: Annotated[Path | None, opt("--set", "FILE.toml", "Take its systems, products and rates into JOB.")] = None,
) -> None:
    """Print the shipped catalogue to write one's own from, or take one's own into a job with --set."""
    from takeoff.exchange.catalogue_file import default_catalogue_text, read_catalogue

    if job is None and use is None:
        say_file(default_catalogue_text().rstrip("\n"))
        return
    if job is None or use is None:
        raise InputError(
            "one of JOB and --set FILE.toml is missing", remedy="Give both, or neither to print the shipped catalogue."
        )
    chosen = read_catalogue(use)
    with opened(job) as store:
        change = actions.use_catalogue(store, chosen)
        left = actions.systems_left(store.job, chosen)
    if left:
        notes([f"walls take {', '.join(left)}, which {use.name} does not have: they are priced as before"])
    told(f"Done: {change.label}")


def priced_job(
    job: Path, what: str, *, as_json: bool, catalogue: Path | None = None, **more: Any
) -> tuple[Job, Priced]:
    """Open a job and price it; unless JSON is wanted, the command ends where there is nothing yet, which is said."""
    chosen, value = catalogue_in(catalogue), job_in(job)
    priced = actions.make_estimate(value, catalogue=chosen, **more)
    if not as_json:
        end_with_nothing(value, job, what)
    return value, priced


def tell_points(value: Job, priced: Priced) -> Register:
    """Write to stderr how much is open of a priced job; gives the register."""
    register = actions.open_points(value, priced=priced)
    tell_open(register, display_of(value.settings, priced.estimate.currency))
    return register


def range_json(result: PriceRange, currency: str) -> dict[str, Any]:
    """The range of a price before tax on it, and its drivers."""
    return picked(
        result,
        "draws seed likely mean deviation p10 p50 p80 p90 asked holds",
        currency=currency,
        drivers=[picked(d, "id label share", low=d.low_price, high=d.high_price) for d in result.drivers],
    )
