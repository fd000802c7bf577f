"""Commands that hand a job over and take walls in: report, demo, export, import."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from takeoff import actions
from takeoff.cli.figures import tell_open
from takeoff.cli.options import (
    MOST_CREWS,
    CatalogueFile,
    JobPath,
    arg,
    catalogue_in,
    flag,
    opt,
    option,
    read_date,
    read_point,
    with_kinds,
    with_options,
)
from takeoff.cli.rim import notes, opened, problems, say, told
from takeoff.cli.show import display_of, progress, show_measured, show_price_total
from takeoff.errors import InputError, TakeoffError
from takeoff.exchange.file_kinds import FORMS
from takeoff.limits import cores
from takeoff.report.kinds import KINDS, ReportKind, ReportOrder
from takeoff.report.letterhead import PLAIN, Edition, Paper, PriceBy
from takeoff.signing import now, signed
from takeoff.units import parse_length

if TYPE_CHECKING:
    from takeoff.job.job import Job
    from takeoff.model.plan import Sheet

Folder = Annotated[Path, opt("--out", "DIR", "Folder to write to; it is made if need be.")]
ASKED: dict[str, tuple[Any, Any]] = {
    "catalogue": (CatalogueFile, None),
    "letterhead": option(Path, "--letterhead", "FILE.toml", "Company lines, logo, who prepared it and own terms."),
    "paper": option(Paper, "--paper", None, "Paper of the PDF. Not given: by the units of the job."),
    "start": option(str, "--start", "YYYY-MM-DD", "First day of work: plans the crew days from it."),
    "crews": option(int, "--crews", "N", "Crews for the plan of days.", 1, min=1, max=MOST_CREWS),
    "edition": option(
        Edition,
        "--edition",
        None,
        "Everything for your own desk, the bid without costs, or the foreman's copy (PDF) without money.",
        "full",
    ),
    "price_by": option(PriceBy, "--price-by", None, "How a bid sets out the price.", "lump-sum"),
    "against": option(list[str], "--against", "SYSTEM", "Price this system on all coated walls too, as an alternate."),
    "allows_open": (
        Annotated[bool, flag("--allow-open", "Write a bid although open points move its price by more than 2 %.")],
        False,
    ),
}
"""What a person asks of reports besides their kinds."""


@with_kinds
@with_options("asked", ASKED, dict)
def report(job: JobPath, out: Folder, kinds: tuple[ReportKind, ...], asked: dict[str, Any]) -> int:
    """Write reports; with --edition the bid to hand over, or the foreman's copy. All kinds where none is named."""
    edition, start, head = (asked.pop(name) for name in ("edition", "start", "letterhead"))
    if asked["price_by"] != "lump-sum" and edition != "bid":
        raise InputError("--price-by sets out the price of a bid", remedy="Add --edition bid, or leave it out.")
    asked |= {"catalogue": catalogue_in(asked["catalogue"]), "against": asked["against"] or ()}
    order = ReportOrder(
        kinds=kinds or KINDS,
        edition=edition,
        letterhead=PLAIN if head is None else actions.read_letterhead(head),
        start=read_date(start) if start else None,
        **asked,
    )
    with opened(job) as store, progress("Writing reports") as step:
        made = actions.make_reports(store, out, order, at=now(), progress=step)
        settings = store.job.settings
    tell_open(made.points, display_of(settings, made.points.currency))
    notes(made.notes)
    if edition == "full" and (order.start or order.against) and not order.needs("planning"):
        notes(
            ["crew days and alternates stand in the PDF, the page and the workbook alone: add --pdf, --html or --xlsx"]
        )
    return say_paths(made.paths, made.failures)


def say_paths(paths: Iterable[Path], failures: Iterable[TakeoffError]) -> int:
    """List what was written on stdout and what could not be on stderr; gives the exit code."""
    for path in paths:
        say(str(path))
    return problems(failures)


def demo(
    out: Annotated[Path, opt("--out", "DIR", "Folder to write to.", show_default=True)] = Path("takeoff-demo"),
) -> int:
    """Do a whole job on the sample plans: measure, price, write reports. An earlier demo there is replaced."""
    from takeoff.actions.draft.lanes import Lanes

    with progress("Measuring the sample plans and writing reports") as step:
        done = actions.run_demo(out, sign=signed, progress=step, readers=Lanes(cores()))
    show = display_of(done.job.settings, done.priced.estimate.currency)
    tell_open(done.points, show)
    notes(done.notes)
    show_measured(done.priced.measured, show)
    show_price_total(done.priced, show)
    verdicts = [room.verdict for room in done.drafted]
    counts = ", ".join(f"{verdicts.count(word)} {word}" for word in ("right", "open", "wrong"))
    say(f"Draft of the sample set, {len(verdicts)} rooms against what is true of them: {counts}.")
    for room in done.drafted:
        if room.verdict != "right":
            say(f"  {room.room}: {room.verdict}" + f", differs in {', '.join(room.differs)}" * bool(room.differs))
    told("Wrote:")
    return say_paths(done.paths, done.failures)


def export_job(
    job: JobPath,
    out: Annotated[
        Path, arg("OUT", f"Where to write; its ending says what: {', '.join(f'{f.ending} {f.words}' for f in FORMS)}.")
    ],
    flat: Annotated[bool, flag("--flat", "Draw the marks of a PDF into its pages.")] = False,
) -> None:
    """Write the job in a form that other programs read."""
    with opened(job) as store:
        taken_out: list[str] = []
        data = actions.export_file(store, out.name, flattened=flat, tell=taken_out.append)
    notes(taken_out)
    actions.write_file(out, data, "export")
    told(f"Wrote {out}")


def import_job(
    source: Annotated[Path, arg("IN", "An exported job (.json), or walls as marked PDF or DXF drawing.")],
    job: Annotated[Path, arg("JOB", "The job file: one to make from .json, else the one to add walls to.")],
    sheet: Annotated[str, opt("--sheet", "SHEET", "Sheet that the lines of a DXF go on.")] = "",
    height: Annotated[str, opt("--height", "LENGTH", "Height of lines that other programs drew.")] = "",
    layers: Annotated[str, opt("--layers", "NAME*", "Layers of a DXF to read.", show_default=True)] = "A-WALL*",
    unit: Annotated[str, opt("--unit", "LENGTH", "One unit of a DXF that does not say it, such as 1mm.")] = "",
    origin: Annotated[
        str, opt("--origin", "X,Y", "Point of a DXF on the sheet's lower left corner, in its units.", show_default=True)
    ] = "0,0",
) -> None:
    """Make a job file from an exported job, or take walls into a job from a marked PDF or a DXF drawing."""
    ending = source.suffix.lower()
    if ending not in (".pdf", ".dxf"):
        data = actions.read_file(source, "exported job")
        with actions.import_json(job, data, sign=signed):
            pass
        told(f"Made {job}")
        return
    data = actions.read_file(source, "PDF" if ending == ".pdf" else "drawing")
    with opened(job) as store:
        system = store.job.settings.units
        top = parse_length(height, system=system) if height else None
        if ending == ".pdf":
            taken = actions.import_annotated_pdf(store, data, height=top, name=source.name)
        else:
            taken = actions.import_dxf(
                store,
                data,
                _sheet(store.job, sheet),
                layers=layers,
                unit=parse_length(unit, system=system) if unit else None,
                height=top,
                origin=read_point(origin),
            )
    notes(taken.doubts)
    told(f"Done: took in {taken.count} wall{'s' * (taken.count != 1)}")


def _sheet(job: Job, text: str) -> Sheet:
    if text:
        return actions.find_sheet(job, text)
    if len(job.sheets) != 1:
        raise InputError("it is not said which sheet the lines go on", remedy="Name it: --sheet A-101.")
    return next(iter(job.sheets.values()))
