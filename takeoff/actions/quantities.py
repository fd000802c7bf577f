"""Measuring a job and pricing it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from takeoff.errors import CalibrationError, GeometryError, InputError, ReportError
from takeoff.estimate.bill import price_lines
from takeoff.estimate.days.site_plan import plan_labour, site_days
from takeoff.estimate.price import estimate, taken_by
from takeoff.exchange.catalogue_file import default_catalogue
from takeoff.job.job import Job
from takeoff.limits import no_sweeps
from takeoff.measure.faces import MeasuredFace, measure_faces
from takeoff.measure.kept import Kept
from takeoff.measure.rules import MeasureSettings
from takeoff.measure.totals import By, Finish, lots, room_label, summarise
from takeoff.model.costs import Estimate, LabourLine, SiteDays
from takeoff.model.figures import Lot, Measurement
from takeoff.model.plan import Calibration
from takeoff.model.site import SiteTerms
from takeoff.model.systems import Catalogue, Rates, System
from takeoff.model.walls import Room, Run
from takeoff.report.letterhead import other_currency
from takeoff.system.packing import EFFORT
from takeoff.units import UnitSystem


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A measured job: faces, their summary, the calibration by run id. What it rests on are its open points."""

    faces: tuple[MeasuredFace, ...]
    measurement: Measurement
    calibrations: dict[str, Calibration]


@dataclass(frozen=True, slots=True, kw_only=True)
class Priced:
    """A priced job: the estimate, what it was measured and priced with, the job's units and currency.

    Prices are in the currency of the estimate and never converted; where the job's is another, an open point says so.
    """

    estimate: Estimate
    measured: Measured
    catalogue: Catalogue
    rates: Rates
    units: UnitSystem
    job_currency: str
    terms: SiteTerms | None = None

    def has_day(self, start: date | None = None) -> bool:
        """True where days are planned from a day: one that is named, or one of the site's terms."""
        return start is not None or (self.terms is not None and self.terms.is_dated)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pending:
    """A run that cannot be measured yet: why, and what to do about it."""

    run: str
    message: str
    remedy: str


@no_sweeps()
def measure_ready(
    job: Job, *, by: By = "room", rule: str | None = None, kept: Kept | None = None
) -> tuple[Measured, tuple[Pending, ...]]:
    """Measure the runs of a job that can be measured, and say of each other one what it lacks.

    Parameters
    ----------
    by
        What the items are: rooms, runs or systems.
    kept
        What was measured of the job before an edit; what did not change since is not measured again.
    """
    kept = kept or Kept()
    rows = [(run, job.regions, job.calibrations) for run in job.runs.values()]
    scales = kept.memo("scales").renew(list(job.runs), rows, lambda new: [_scale(job, rows[i][0]) for i in new])
    lacks: dict[str, Pending] = {s.run: s for s in scales if isinstance(s, Pending)}
    calibrations = {id: s for id, s in zip(job.runs, scales, strict=True) if not isinstance(s, Pending)}
    runs = [run for run in job.runs.values() if run.id in calibrations]
    refused: dict[str, GeometryError] = {}
    settings = settings_of(job, rule)
    faces = measure_faces(runs, job.rooms, calibrations, settings=settings, kept=kept, refused=refused)
    calibrations = {id: scale for id, scale in calibrations.items() if id not in refused}
    summary = summarise(faces, by=by, rooms=job.rooms, rule=settings.rule)
    measured = Measured(faces=faces, measurement=in_catalogue_order(summary, job), calibrations=calibrations)
    if not lacks and not refused:
        return measured, ()
    lacks.update({id: Pending(run=id, message=e.message, remedy=e.remedy) for id, e in refused.items()})
    pending = tuple(lacks[id] for id in job.runs if id in lacks)
    known = replace(measured.measurement, left_out=_left_out(job, pending))
    return replace(measured, measurement=known), pending


def _left_out(job: Job, pending: Sequence[Pending]) -> tuple[str, ...]:
    """Say which walls are in no figure: by room, those of no room by their own id."""
    walls: Counter[str] = Counter()
    for one in pending:
        room = job.rooms.get(job.runs[one.run].room or "")
        walls[room_label(room) if room else one.run] += 1
    return tuple(f"{label}: {count} wall{'s' * (count != 1)} not measured" for label, count in walls.items())


def _scale(job: Job, run: Run) -> Calibration | Pending:
    """Scale that a run is measured with, or what it lacks."""
    try:
        return job.calibration_for(run)
    except CalibrationError as error:
        return Pending(run=run.id, message=error.message, remedy="Set the scale of its sheet.")


def settings_of(job: Job, rule: str | None = None) -> MeasureSettings:
    """Return what a job is measured with; ``rule`` is the job's own where ``None``."""
    return MeasureSettings(
        corner_threshold=job.settings.corner_threshold, height_u=job.settings.height_u, rule=rule or job.settings.rule
    )


def in_catalogue_order(measurement: Measurement, job: Job) -> Measurement:
    """List what was measured by system in the order and by the names of the job's catalogue, others as they are."""
    if measurement.by != "system":
        return measurement
    systems = catalogue_of(job).systems
    place, names = {s.id: n for n, s in enumerate(systems)}, {s.id: s.name for s in systems}
    items = sorted(measurement.items, key=lambda item: place.get(item.id, len(place)))
    return replace(measurement, items=tuple(replace(i, label=names.get(i.id, i.label)) for i in items))


def make_estimate(job: Job, *, catalogue: Catalogue | None = None, cut_effort: float = EFFORT) -> Priced:
    """Measure what can be measured of a job and price it; the other walls are open points.

    ``cut_effort``: how long to look for fewer rolls and lengths, as of `takeoff.system.packing.pack`.
    """
    return price_measured(job, measure_ready(job)[0], catalogue=catalogue, cut_effort=cut_effort)


@no_sweeps()
def price_measured(
    job: Job, measured: Measured, *, catalogue: Catalogue | None = None, cut_effort: float = EFFORT
) -> Priced:
    """Price what was measured of a job; parameters and errors as `make_estimate`."""
    chosen = _with_shift(catalogue or catalogue_of(job), job.settings.site)
    parts = lots_of(job, measured.faces, chosen)
    terms = job.settings.site
    names = room_labels({lot.room: lot.room_label or lot.room for lot in parts})
    is_priced_by = terms is not None and terms.is_priced_by

    def plan(labour: Sequence[LabourLine]) -> SiteDays | None:
        own = terms or SiteTerms()
        try:
            return site_days(plan_labour(labour, chosen, chosen.rates, own, names=names), own, chosen.rates)
        except InputError:
            if is_priced_by:
                raise
            return None

    is_planned = is_priced_by or (chosen.rates.access_per_day > 0.0 and len(names) <= PLANNED_ROOMS)
    priced = estimate(
        parts,
        chosen,
        chosen.rates,
        cut_effort=cut_effort,
        units=job.settings.units,
        plan=plan if is_planned else None,
        is_priced_by=is_priced_by,
    )
    return Priced(
        estimate=priced,
        measured=measured,
        catalogue=chosen,
        rates=chosen.rates,
        units=job.settings.units,
        job_currency=job.settings.currency,
        terms=terms,
    )


PLANNED_ROOMS = 300
"""Rooms up to which days are planned although nobody asked: 200 took 1.5 s of processor time, 600 took 8.2."""


def _with_shift(catalogue: Catalogue, terms: SiteTerms | None) -> Catalogue:
    """Return a catalogue whose rates have the shift of the site: overtime and days are counted by it."""
    if terms is None or terms.shift_hours is None:
        return catalogue
    return replace(catalogue, rates=replace(catalogue.rates, shift_hours=terms.shift_hours))


def planned_price(job: Job, priced: Priced) -> tuple[SiteDays, float] | None:
    """Return what a plan of days counts and makes of a price by hours; ``None`` where none can be planned.

    The terms are the job's own, one crew from Monday to Friday where it has none; the plan is the quick one.
    """
    lots, labour = lots_of(job, priced.measured.faces, priced.catalogue), priced.estimate.labour
    terms = priced.terms or SiteTerms()
    try:
        plan = plan_labour(labour, priced.catalogue, priced.rates, terms, effort=0.0)
    except InputError:
        return None
    site = site_days(plan, terms, priced.rates)
    if site is None:
        return None
    taken = taken_by(lots, priced.catalogue, priced.rates, priced.estimate.materials, labour, days=site)
    return site, price_lines(taken, priced.rates, currency=priced.catalogue.currency)[-1].amount


def room_labels(labels: Mapping[str, str]) -> dict[str, str]:
    """Return what people call each room, by id; ids are added where two have one name."""
    many = {label for label in labels.values() if list(labels.values()).count(label) > 1}
    return {id: f"{label} ({id})" if label in many else label for id, label in labels.items()}


def room_names(priced: Priced) -> dict[str, str]:
    """Return what people call each room of an estimate, by id; ids are added where two have one name."""
    return room_labels({room.id: room.label or room.id for room in priced.estimate.rooms})


def makes_cove(system: System) -> bool:
    """Tell whether a system makes an integral cove."""
    return any(step.kind == "cove" for step in system.steps)


def without_cove(job: Job, runs: Iterable[Run]) -> dict[str, list[Run]]:
    """Return walls by the ids of their rooms, of the rooms for which nobody gave a cove, or said that there is none."""
    by_room: dict[str, list[Run]] = {}
    for run in runs:
        if run.room is not None and run.room in job.rooms:
            by_room.setdefault(run.room, []).append(run)
    return {
        id: own
        for id, own in by_room.items()
        if not (job.rooms[id].cove or any(run.cove or run.no_cove or run.base > 0.0 for run in own))
    }


def refuse_other_currency(job: Job, currency: str) -> None:
    """Refuse, with `ReportError`, what a client is handed priced in a currency that is not the job's."""
    if found := other_currency(job.settings.currency, currency):
        raise ReportError(
            found,
            remedy=f"Take a catalogue in {job.settings.currency} into the job, or one in {currency} where the "
            "client is to be told prices in that.",
        )


def lots_of(job: Job, faces: Sequence[MeasuredFace], catalogue: Catalogue) -> list[Lot]:
    """Group measured faces into what a catalogue prices: a lot for each room, system, substrate and colour."""
    edges = [height for height, _ in catalogue.rates.height_factors if height > 0.0]
    finishes = {id: finish_of(job, job.runs[id]) for id in {face.elevation.run for face in faces}}
    return _room_by_room(lots(faces, rooms=job.rooms, band_edges=edges, finishes=finishes), catalogue)


def finish_of(job: Job, run: Run) -> Finish:
    """Return substrate and colour of a wall: its own, or its room's."""
    room = job.rooms.get(run.room or "") or Room(id="")
    return run.substrate or room.substrate, run.colour or room.colour


def _room_by_room(parts: Sequence[Lot], catalogue: Catalogue) -> list[Lot]:
    """Put the systems of each room in the order of the catalogue; the rooms keep theirs."""
    room = {id: n for n, id in enumerate(dict.fromkeys(lot.room for lot in parts))}
    place = {system.id: n for n, system in enumerate(catalogue.systems)}
    return sorted(parts, key=lambda lot: (room[lot.room], place.get(lot.system, len(place))))


def catalogue_of(job: Job) -> Catalogue:
    """Return what a job is priced with: its own systems, products and rates, then those of the shipped catalogue.

    The notes are those of the job's own catalogue; of the shipped one too where walls take one of its systems.
    """
    shipped, own = default_catalogue(), job.settings.catalogue_notes
    takes_shipped = bool(job.systems) and any(id not in job.systems for id in systems_taken(job))
    notes = shipped.notes if own is None else (*own, *(shipped.notes if takes_shipped else ()))
    return replace(
        shipped,
        notes=tuple(dict.fromkeys(notes)),
        currency=job.settings.currency if job.products else shipped.currency,
        systems=(*job.systems.values(), *(s for s in shipped.systems if s.id not in job.systems)),
        products=(*job.products.values(), *(p for p in shipped.products if p.id not in job.products)),
        rates=job.settings.rates or shipped.rates,
    )


def systems_taken(job: Job) -> tuple[str, ...]:
    """List the systems that the runs of a job take, by their own or their room's."""
    of_room = {room.id: room.system for room in job.rooms.values()}
    taken = (run.system or of_room.get(run.room or "") for run in job.runs.values())
    return tuple(dict.fromkeys(id for id in taken if id))
