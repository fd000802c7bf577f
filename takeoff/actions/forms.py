"""One door for all files that a job is handed over as: the ending of the name says which."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import PurePath

from takeoff.actions.exchanges import export_json
from takeoff.actions.handover import (
    export_annotated_pdf,
    export_dxf,
    export_geojson,
    export_geopackage,
    export_ifc,
    export_xfdf,
    refuse_without_walls,
)
from takeoff.actions.open_points import open_points
from takeoff.actions.planning import next_monday, plan_job
from takeoff.actions.quantities import make_estimate, measure_ready
from takeoff.actions.reports import report_content
from takeoff.errors import InputError
from takeoff.estimate.days.works import DayPlan
from takeoff.exchange.day_calendar import calendar_text, calendar_xml
from takeoff.exchange.forms import ENDINGS
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.report.cost_lines import cost_lines
from takeoff.report.csv import table_csv
from takeoff.report.kinds import ReportOrder, kinds_named

Tell = Callable[[str], object]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """What is handed over, by whom and when (ISO 8601); ``flattened`` draws the marks of a PDF into its pages."""

    store: JobStore
    who: str
    at: str
    flattened: bool
    tell: Tell

    def plan(self) -> DayPlan:
        """Plan the days from the first day of the job's terms, or from the next Monday, which is told."""
        priced = make_estimate(self.store.job)
        terms, monday = priced.terms, next_monday(date.fromisoformat(self.at[:10]))
        if terms is not None and terms.is_dated:
            return plan_job(priced)
        self.tell(f"no first day is kept with the job: the days are counted from Monday {monday.isoformat()}")
        return plan_job(priced, start=monday)

    def report(self, name: str) -> bytes:
        """Make the one file of a kind of report."""
        (kind,) = kinds_named(name)
        priced = make_estimate(self.store.job)
        content = report_content(self.store, priced, ReportOrder(kinds=(kind,)), at=self.at)
        return kind.write(content)[kind.files["full"]]


def _csv(asked: _Asked) -> bytes:
    job = asked.store.job
    priced = make_estimate(job)
    points = len(open_points(job, priced=priced, has_stakes=False).open)
    left_out = priced.measured.measurement.left_out
    rows = cost_lines(priced.estimate, priced.catalogue, job.settings.display, left_out=left_out, points=points)
    return table_csv(rows)


def _title(asked: _Asked) -> str:
    return asked.store.job.settings.name


WRITERS: Mapping[str, Callable[[_Asked], bytes]] = {
    ".pdf": lambda a: export_annotated_pdf(a.store, who=a.who, at=a.at, flattened=a.flattened, tell=a.tell),
    ".xfdf": lambda a: export_xfdf(a.store, who=a.who, at=a.at, tell=a.tell),
    ".dxf": lambda a: export_dxf(a.store),
    ".ifc": lambda a: export_ifc(a.store, at=a.at),
    ".geojson": lambda a: export_geojson(a.store),
    ".gpkg": lambda a: export_geopackage(a.store),
    ".xlsx": lambda a: a.report("xlsx"),
    ".csv": _csv,
    ".ics": lambda a: calendar_text(a.plan(), title=_title(a), at=a.at),
    ".xml": lambda a: calendar_xml(a.plan(), title=_title(a), at=a.at),
    ".html": lambda a: a.report("html"),
    ".json": lambda a: export_json(a.store),
}


def export_file(
    store: JobStore, name: str, *, who: str, at: str, flattened: bool = False, tell: Tell = lambda text: None
) -> bytes:
    """Give a job in the form that a file name's ending asks for (`takeoff.exchange.forms.FORMS`).

    Parameters
    ----------
    store
        The open job.
    name
        Name of the file to be; nothing is written.
    who, at
        Name and time for the file's properties.
    flattened
        Draw the marks of a PDF into its pages.
    tell
        Is told what was taken out of the plan files in a PDF, what days are counted from, which walls are left out
        for want of a figure, and how many points are open.

    Raises
    ------
    InputError
        When the ending is none of those, or only PDF can be flattened.
    ReportError, SheetError, CatalogueError
        As the form's own function.
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
    if ending != ".json":
        refuse_without_walls(store.job)
        _tell_open(store.job, tell)
    return writer(_Asked(store=store, who=who, at=at, flattened=flattened, tell=tell))


def _tell_open(job: Job, tell: Tell) -> None:
    """Tell which walls have no figure, and how much is open: the file alone does not show it."""
    ready = measure_ready(job)
    for words in ready[0].measurement.left_out:
        tell(f"{words}, so left out")
    if count := len(open_points(job, ready=ready, has_stakes=False).open):
        tell(f"{count} open point{'s' * (count != 1)}: the figures handed over rest on what was taken for them")
