"""Open points of site and catalogue: how the work runs, and what price and days take although nobody said it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from takeoff.actions.planning import KEEPING, assumed_times, limits_words
from takeoff.actions.points.finding import AS_IT_IS, Found, Variant, Words, point_found
from takeoff.actions.quantities import PLANNED_ROOMS, Priced, finish_of, lots_of, planned_price
from takeoff.actions.readings import products_priced
from takeoff.estimate.climate import limits_known
from takeoff.job.job import Job
from takeoff.model.open_points import PointKind, Stake
from takeoff.model.systems import System
from takeoff.system.bases import covers, pour_of, ruling, steps_on, surface_of
from takeoff.units import format_money


def site_points(job: Job, priced: Priced, *, has_stakes: bool) -> Iterator[Found]:
    """Find what days and price take of the site and of products that nobody said."""
    yield from _by_hours(job, priced, has_stakes=has_stakes)
    yield from _handed_over(job)
    yield from _conditions(priced)
    yield from _catalogue_gaps(job, priced)
    yield from _access(job, priced)
    yield from _finishes(job, priced)
    if (times := assumed_times(priced)) and priced.has_day():
        yield _point(
            KEEPING,
            "Lead times and shelf lives",
            "common practice",
            f"Nobody asked the supplier for: {times}. The order list takes common practice, which has no source.",
            settle="Put the supplier's times into the catalogue, or confirm them as they are.",
            assumes="Products come and keep as is common practice.",
            state=times,
            kind="product",
        )


def _finishes(job: Job, priced: Priced) -> Iterator[Found]:
    """Tell walls whose substrate or colour nobody gave, where what is priced follows them."""
    words = Words(job)
    given = {run.id: finish_of(job, run) for run in job.runs.values()}
    bare = {run.room for run in job.runs.values() if run.room in job.rooms and given[run.id][0] is None}
    taken = priced.rates.substrate
    if bare and any(steps_on(s, taken) != steps_on(s, "block") for s in _used(priced)):
        names = ", ".join(sorted(words.room(id) for id in bare))
        found = _point(
            "substrate",
            "Substrate of the walls",
            taken,
            f"Nobody said what the coats go onto in {names}: {taken} is taken, as the rates say. Primer, filler and"
            " preparation follow it.",
            settle="Give the substrate of each room, or of a single wall, or confirm it.",
            assumes=f"Walls are {taken} where no substrate is given, sound and dry.",
            state=f"{taken}: {','.join(sorted(id or '' for id in bare))}",
        )
        block = {id: replace(job.rooms[id], substrate="block") for id in bare if id is not None}
        yield replace(found, variants=(AS_IT_IS, Variant(rooms=block)) if taken != "block" else ())
    plain = [n for line in priced.estimate.materials if line.colour_packs for n in line.needs if not n.colour]
    if plain:
        names = ", ".join(dict.fromkeys(words.room(n.room) for n in plain))
        yield _point(
            "colour",
            "Colour of the coats",
            "one colour",
            f"No colour is given for {names}: packs are counted as if these were all of one colour.",
            settle="Give the colour of each room, or of a single wall, or confirm one colour for all of them.",
            assumes="Walls without a given colour are all of one colour.",
            state=names,
            kind="product",
        )


def _used(priced: Priced) -> list[System]:
    used = {line.id for line in priced.estimate.systems}
    return [system for system in priced.catalogue.systems if system.id in used]


def _point(
    key: str, what: str, taken: str, why: str, *, settle: str, assumes: str, state: str = "", kind: PointKind = "job"
) -> Found:
    """Make a point of the whole job; its state is what was taken where nothing else is given."""
    return point_found(
        key=key, kind=kind, what=what, taken=taken, why=why, settle=settle, assumes=assumes, state=state or taken
    )


def _conditions(priced: Priced) -> Iterator[Found]:
    """Tell temperature and travel that nobody gave, and what may not be laid in the conditions that somebody did."""
    terms = priced.terms
    if terms is None:
        return
    if terms.temperature is None:
        yield _point(
            "site:temperature",
            "Temperature on site",
            "that of the data sheets",
            "Nobody gave the temperature on site, so recoat times and pot lives are as the data sheets state them, and"
            " no product is judged by its limits.",
            settle="Give the temperature and the humidity on site, or confirm that they are those of the data sheets.",
            assumes="Air and walls are kept at the temperatures that the data sheets state.",
        )
    for said in limits_words(priced):
        yield _point(
            "site:limits",
            "Limits of products",
            "laid anyway",
            said,
            settle="Heat or dry the site, choose other products, or confirm that the site will be within the limits.",
            assumes="The site is brought within the limits of every product before it is laid.",
            state=said,
            kind="product",
        )
    if terms.is_priced_by and not (terms.travel_hours or terms.travel_km):
        yield _point(
            "site:travel",
            "Travel to the site",
            "none",
            "Nobody said how far the site is: no travel is in the price.",
            settle="Give the time and the distance one way, or confirm that there is none.",
            assumes="The price holds no travel to the site.",
        )


def _catalogue_gaps(job: Job, priced: Priced) -> Iterator[Found]:
    """Tell cures, recoat times, limits and pot lives that the catalogue does not give for what is priced."""
    terms = priced.terms
    systems = _used(priced)
    laid = products_priced(priced)
    gaps = (
        (
            "cure",
            "Cure before service",
            "0 h",
            [s.name for s in systems if s.cure <= 0.0 and (terms is None or terms.cure_hours is None)],
            "rooms are taken to be ready for service as soon as the last step is done",
            "The time from the last step to service is not in the days.",
        ),
        (
            "recoat",
            "Least time to the next coat",
            "0 h",
            [f"{name} ({s.name})" for s in systems for name in _without_wait(s)],
            "the next coat is planned at once",
            "The next coat may follow at once where the data sheet gives no least time.",
        ),
        (
            "limits",
            "Limits to lay in",
            "the usual ones",
            [p.name for p in laid if not limits_known(p)],
            "usual limits of temperature, humidity and dew point are taken",
            "Products without limits of their own are laid within the usual ones.",
        ),
        (
            "pot-life",
            "Pot life",
            "not limited",
            [p.name for p in laid if p.mix and p.pot_life is None],
            "no batch is limited by it",
            "Batches of products without a stated pot life are not counted.",
        ),
    )
    for id, what, taken, lacking, why, assumes in gaps:
        if lacking:
            names = "; ".join(dict.fromkeys(lacking))
            yield _point(
                f"product:{id}",
                what,
                taken,
                f"The catalogue gives none for {names}: {why}.",
                settle="Put it into the catalogue from the data sheet, or confirm it as it is.",
                assumes=assumes,
                state=names,
                kind="product",
            )


def _without_wait(system: System) -> Iterator[str]:
    """Name what is covered again although nothing says how long it must dry: each step once."""
    steps = system.steps
    for at, step in enumerate(steps):
        pour = pour_of(system, step)
        if step is not pour[0]:
            continue
        later = steps[at + len(pour) :]
        for surface, last in ruling(pour).items():
            is_next = any(covers(other) and surface_of(other) == surface for other in later)
            if last.min_recoat is None and (is_next or last.coats > 1):
                yield last.name


def _access(job: Job, priced: Priced) -> Iterator[Found]:
    """Tell wall above the height at which work slows down where no access equipment is priced."""
    rates = priced.rates
    high = [height for height, factor in rates.height_factors if factor > 1.0]
    if rates.access_per_day or not high:
        return
    lots = lots_of(job, priced.measured.faces, priced.catalogue)
    above = sum(area for lot in lots for low, _, area in lot.bands if low >= high[0] - 1e-9)
    if above > 0.0:
        show = job.settings.display
        yield _point(
            "site:access",
            "Access equipment",
            "none",
            f"{show.area(above)} of wall lie above {show.length(high[0])}, and the rates give no cost of access a day.",
            settle="Give a cost of access a day in the rates, or confirm that others provide it.",
            assumes="Scaffolds, lifts and other access equipment are provided by others.",
        )


def _by_hours(job: Job, priced: Priced, *, has_stakes: bool) -> Iterator[Found]:
    """Tell a price that is made by hours, with what a plan of days would make of it where stakes are asked for."""
    if priced.estimate.site is not None:
        return
    rooms = {run.room for run in job.runs.values()}
    planned = planned_price(job, priced) if has_stakes and len(rooms) <= PLANNED_ROOMS else None
    currency, by_hours = priced.estimate.currency, priced.estimate.line("price").amount
    why = "Nobody said how the site is worked, so the price is made by hours."
    if job.settings.site is not None:
        why = "The terms of the site say that the price is made by hours."
    if planned is not None:
        site, price = planned
        crews = "one crew" if site.crews == 1 else f"{site.crews} crews"
        why += (
            f" A plan for {crews} has {site.visits} visits and {site.waiting:.1f} crew hours of waiting, and makes"
            f" {format_money(price, currency)} instead of {format_money(by_hours, currency)}."
        )
    yield point_found(
        key="site:by-hours",
        kind="job",
        group="Price by hours",
        what="Price by hours or by a plan of days",
        taken="by hours",
        why=why,
        settle="Say how the site is worked, or confirm the price by hours.",
        assumes="The price holds no waiting between coats and no further visits or phases.",
        state="by hours",
        stake=None if planned is None else Stake(money=abs(planned[1] - by_hours), area=0.0, length=0.0),
    )


def _handed_over(job: Job) -> Iterator[Found]:
    """Tell rooms of a job with terms of the site whose day of hand-over nobody gave."""
    terms = job.settings.site
    if terms is None:
        return
    given = {found.room for found in terms.handed_over}
    lacking = sorted({run.room for run in job.runs.values() if run.room} - given)
    if lacking:
        words = Words(job)
        rooms = ", ".join(words.room(id) for id in lacking)
        yield point_found(
            key="site:handed-over",
            kind="job",
            what="Days from which rooms can be worked in",
            taken="from the first day on",
            why=f"No day was given for {rooms}.",
            settle="Give the day of each room, or confirm that all are open from the first day.",
            question="From which day is each room handed over to be coated?",
            assumes="Every room without a day of its own can be worked in from the first day on.",
            state=",".join(lacking),
        )
