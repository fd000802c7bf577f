"""One door for all files that a job is handed over as: the ending of the name says which."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import PurePath

from takeoff.actions.handover import measured_runs, refuse_without_walls
from takeoff.actions.planning import next_monday, plan_job
from takeoff.actions.points.deriving import open_points
from takeoff.actions.quantities import Measured, Pending, Priced, catalogue_of, finish_of, measure_ready, price_measured
from takeoff.actions.reports import report_content
from takeoff.errors import InputError
from takeoff.estimate.days.works import DayPlan
from takeoff.exchange.annotated_pdf import PlanSet, annotated_pdf, write_xfdf
from takeoff.exchange.day_calendar import calendar_text, calendar_xml
from takeoff.exchange.dxf import write_dxf
from takeoff.exchange.file_kinds import ENDINGS
from takeoff.exchange.geojson import write_geojson, write_geopackage
from takeoff.exchange.ifc import write_ifc
from takeoff.exchange.job_json import job_to_json
from takeoff.exchange.plan_lines import PlanRun
from takeoff.job.store import JobStore
from takeoff.model.site import day_of
from takeoff.model.systems import Catalogue, Substrate, System
from takeoff.report.files import table_csv
from takeoff.report.kinds import ReportOrder, kinds_named
from takeoff.report.tables import cost_lines
from takeoff.system.bases import counts_wall_area, steps_on
from takeoff.system.buildup import coat_films

Tell = Callable[[str], object]


@dataclass(frozen=True, kw_only=True)
class _Asked:
    """What is handed over, by whom and when (ISO 8601); ``flattened`` draws the marks of a PDF into its pages."""

    store: JobStore
    who: str
    at: str
    flattened: bool
    tell: Tell

    @cached_property
    def ready(self) -> tuple[Measured, tuple[Pending, ...]]:
        """What of the job can be measured, and what each other wall lacks."""
        return measure_ready(self.store.job)

    @property
    def title(self) -> str:
        """Name of the job."""
        return self.store.job.settings.name

    @property
    def runs(self) -> tuple[PlanRun, ...]:
        """The walls with their lines and figures; refused where none can be measured."""
        return measured_runs(self.store.job)

    def plans(self) -> PlanSet:
        """The sheets with scales and walls, ready to be marked."""
        job = self.store.job
        return PlanSet(
            title=self.title,
            author=self.who,
            at=self.at,
            display=job.settings.display,
            sheets=tuple(job.sheets.values()),
            files={sha: self.store.source(sha) for sha in job.sources},
            scales=[(job.regions[c.region] if c.region else None, c) for c in job.calibrations.values()],
            runs=self.runs,
        )

    @cached_property
    def points(self) -> int:
        """How many points of the job are open."""
        return len(open_points(self.store.job, ready=self.ready, has_stakes=False).open)

    def priced(self) -> Priced:
        """Price what can be measured."""
        return price_measured(self.store.job, self.ready[0])

    def plan(self) -> DayPlan:
        """Plan the days from the first day of the job's terms, or from the next Monday, which is told."""
        priced = self.priced()
        monday = next_monday(day_of(self.at))
        if priced.has_day():
            return plan_job(priced)
        self.tell(f"no first day is kept with the job: the days are counted from Monday {monday.isoformat()}")
        return plan_job(priced, start=monday)

    def report(self, name: str) -> bytes:
        """Make the one file of a kind of report."""
        (kind,) = kinds_named(name)
        content = report_content(self.store, self.priced(), ReportOrder(kinds=(kind,)), at=self.at)
        return kind.write(content)[kind.files["full"]]

    def tell_open(self) -> None:
        """Tell which walls have no figure, and how much is open: the file alone does not show it."""
        for words in self.ready[0].measurement.left_out:
            self.tell(f"{words}, so left out")
        if self.points:
            count = f"{self.points} open point{'s' * (self.points != 1)}"
            self.tell(f"{count}: the figures handed over rest on what was taken for them")


def _csv(asked: _Asked) -> bytes:
    priced, display = asked.priced(), asked.store.job.settings.display
    left_out = priced.measured.measurement.left_out
    return table_csv(cost_lines(priced.estimate, priced.catalogue, display, left_out=left_out, points=asked.points))


def _xfdf(asked: _Asked) -> bytes:
    sources = list(asked.store.job.sources.values())
    if len(sources) > 1:
        asked.tell("pages are counted through all plan files in their order, as in the marked PDF")
    return write_xfdf(asked.plans(), file=sources[0].name if len(sources) == 1 else "marked.pdf")


def _ifc(asked: _Asked) -> bytes:
    job, catalogue = asked.store.job, catalogue_of(asked.store.job)
    substrates = {finish_of(job, run)[0] for run in job.runs.values()}
    layers = {(s.id, str(on or "")): _layers(s, catalogue, on) for s in catalogue.systems for on in substrates}
    return write_ifc(asked.runs, title=asked.title, at=asked.at, layers=layers)


def _layers(system: System, catalogue: Catalogue, substrate: Substrate | None) -> list[tuple[str, str, float]]:
    """The coats of a system on a substrate that leave a film: step, product and dry thickness in metres."""
    products = {product.id: product for product in catalogue.products}
    steps = steps_on(system, substrate or catalogue.rates.substrate)
    mat = next((products.get(step.product or "") for step in steps if step.kind == "mat"), None)
    used = [(step, products.get(step.product or "")) for step in steps if counts_wall_area(step.basis)]
    dry = [(step, product, coat_films(step, product, mat)[1] * step.coats) for step, product in used]
    return [(step.name, product.name, film) for step, product, film in dry if product is not None and film > 0.0]


WRITERS: Mapping[str, Callable[[_Asked], bytes]] = {
    ".pdf": lambda a: annotated_pdf(a.plans(), flattened=a.flattened, tell=a.tell),
    ".xfdf": _xfdf,
    ".dxf": lambda a: write_dxf(a.runs, a.store.job.settings.display, title=a.title),
    ".ifc": _ifc,
    ".geojson": lambda a: write_geojson(a.runs, title=a.title),
    ".gpkg": lambda a: write_geopackage(a.runs),
    ".xlsx": lambda a: a.report("xlsx"),
    ".csv": _csv,
    ".ics": lambda a: calendar_text(a.plan(), title=a.title, at=a.at),
    ".xml": lambda a: calendar_xml(a.plan(), title=a.title, at=a.at),
    ".html": lambda a: a.report("html"),
    ".json": lambda a: job_to_json(a.store),
}


def export_file(store: JobStore, name: str, *, flattened: bool = False, tell: Tell = lambda text: None) -> bytes:
    """Give a job in the form that a file name's ending asks for (`takeoff.exchange.file_kinds.FORMS`).

    Raises `InputError` when the ending is none of those, or only PDF can be flattened, `ReportError` or `SheetError` or
    `CatalogueError` when there is no wall, none can be measured, a plan cannot be used, or a library that the form
    needs is not installed: the extras ``ifc`` and ``gis``.

    Parameters
    ----------
    name
        Name of the file to be; nothing is written.
    who, at
        Name and time for the file's properties.
    flattened
        Draw the marks of a PDF into its pages.
    tell
        Is told what was taken out of the plan files in a PDF, what days are counted from, which walls are left out
        because a figure is missing, and how many points are open.
    """
    ending = PurePath(name).suffix.lower()
    if flattened and ending != ".pdf":
        raise InputError("only a PDF can be flattened", remedy="Name a .pdf file, or leave --flat out.")
    writer = WRITERS.get(ending)
    if writer is None:
        raise InputError(
            f'the ending of "{name}" names no kind of file that can be written',
            remedy=f"Let it end in {', '.join(ENDINGS[:-1])} or {ENDINGS[-1]}.",
        )
    who, at = store.signed()
    asked = _Asked(store=store, who=who, at=at, flattened=flattened, tell=tell)
    if ending != ".json":
        refuse_without_walls(store.job)
        asked.tell_open()
    return writer(asked)
