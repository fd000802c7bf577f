"""One door for all files that a job is handed over as: the ending of the name says which."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
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
from takeoff.actions.planning import next_monday, plan_job
from takeoff.actions.points.deriving import open_points
from takeoff.actions.quantities import Measured, Pending, Priced, measure_ready, price_measured
from takeoff.actions.reports import report_content
from takeoff.errors import InputError
from takeoff.estimate.days.works import DayPlan
from takeoff.exchange.day_calendar import calendar_text, calendar_xml
from takeoff.exchange.forms import ENDINGS
from takeoff.job.store import JobStore
from takeoff.report.csv import table_csv
from takeoff.report.kinds import ReportOrder, kinds_named
from takeoff.report.tables import cost_lines

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
        terms, monday = priced.terms, next_monday(date.fromisoformat(self.at[:10]))
        if terms is not None and terms.is_dated:
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
        because a figure is missing, and how many points are open.

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
    asked = _Asked(store=store, who=who, at=at, flattened=flattened, tell=tell)
    if ending != ".json":
        refuse_without_walls(store.job)
        asked.tell_open()
    return writer(asked)
