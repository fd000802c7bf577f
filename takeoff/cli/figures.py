"""Commands that give figures: measure, estimate, schema, catalogue."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from takeoff import actions
from takeoff.cli.as_json import dump, measured_json, picked, priced_json
from takeoff.cli.options import AsJson, CatalogueFile, Explain, JobPath, arg, catalogue_in, flag, opt
from takeoff.cli.points import summary_json, tell_open
from takeoff.cli.rim import notes, opened, say_file, told
from takeoff.cli.show import display_of, nothing_yet, show_measured, show_measured_arithmetic, show_priced, show_table
from takeoff.errors import InputError
from takeoff.signing import now, person

if TYPE_CHECKING:
    from takeoff.actions import Priced
    from takeoff.estimate.alternates import Comparison
    from takeoff.estimate.simulate import PriceRange
    from takeoff.job.job import Job
    from takeoff.units import Display

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
    with opened(job) as store:
        value = store.job
    if not as_json and nothing_yet(value, job, "to measure", to_price=False):
        return
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
    made = priced_job(job, "to price", as_json=as_json, catalogue=catalogue)
    if made is None:
        return
    value, priced = made
    found = None
    if has_range:
        found = actions.price_range(priced, draws=draws or DRAWS, seed=SEED if seed is None else seed)
    compared = actions.compare_alternates(value, against, catalogue=priced.catalogue) if against else None
    register = actions.open_points(value, priced=priced)
    currency = priced.estimate.currency
    show = display_of(value.settings, currency)
    tell_open(register, show)
    if as_json:
        out = priced_json(priced) | {"open_points": summary_json(register)}
        if found is not None:
            out["range"] = range_json(found, currency)
        if compared is not None:
            out["alternates"] = alternates_json(compared)
        say_file(dump(out))
        return
    show_priced(priced, show, explain=explain)
    if found is not None:
        show_range(found, currency)
    if compared is not None:
        show_alternates(compared, show)


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
        change = actions.use_catalogue(store, chosen, who=person(), at=now())
        left = actions.systems_left(store.job, chosen)
    if left:
        notes([f"walls take {', '.join(left)}, which {use.name} does not have: they are priced as before"])
    told(f"Done: {change.label}")


def priced_job(
    job: Path, what: str, *, as_json: bool, catalogue: Path | None = None, **more: Any
) -> tuple[Job, Priced] | None:
    """Open a job and price it; ``None`` where there is nothing yet, which is said unless JSON is wanted."""
    chosen = catalogue_in(catalogue)
    with opened(job) as store:
        value = store.job
    priced = actions.make_estimate(value, catalogue=chosen, **more)
    return None if not as_json and nothing_yet(value, job, what) else (value, priced)


def show_range(result: PriceRange, currency: str) -> None:
    """Print the range of a price and what drives it."""
    from takeoff.report.planning_tables import drivers_table, range_table

    show_table(range_table(result, currency))
    show_table(drivers_table(result, currency))


def show_alternates(result: Comparison, display: Display) -> None:
    """Print alternates side by side."""
    from takeoff.report.planning_tables import alternates_table

    show_table(alternates_table(result, display))


def range_json(result: PriceRange, currency: str) -> dict[str, Any]:
    """The range of a price before tax on it, and its drivers."""
    return picked(
        result,
        "draws seed likely mean deviation p10 p50 p80 p90 asked holds",
        currency=currency,
        drivers=[picked(d, "id label share", low=d.low_price, high=d.high_price) for d in result.drivers],
    )


def alternates_json(result: Comparison) -> dict[str, Any]:
    """Alternates side by side, areas in m²."""
    rows = [picked(row, "kind id label unit values") for row in result.rows]
    return picked(result, "currency names notes", rows=rows)
