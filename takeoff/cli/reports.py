"""Commands that write reports: report, demo."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from takeoff import actions
from takeoff.cli.options import MOST_CREWS, CatalogueFile, JobPath, catalogue_in, flag, opt, read_date, with_kinds
from takeoff.cli.points import tell_open
from takeoff.cli.rim import notes, opened, problems, say, told
from takeoff.cli.show import display_of, progress, show_measured, show_price_total
from takeoff.errors import InputError, TakeoffError
from takeoff.limits import cores
from takeoff.report.kinds import KINDS, ReportKind, ReportOrder
from takeoff.report.letterhead import PLAIN, Edition, Paper, PriceBy
from takeoff.signing import now, person

if TYPE_CHECKING:
    from takeoff.report.kinds import ReportOrder


Folder = Annotated[Path, opt("--out", "DIR", "Folder to write to; it is made if need be.")]
LetterheadFile = Annotated[
    Path | None, opt("--letterhead", "FILE.toml", "Company lines, logo, who prepared it and own terms.")
]
OnPaper = Annotated[Paper | None, opt("--paper", None, "Paper of the PDF. Not given: by the units of the job.")]
FirstDay = Annotated[str, opt("--start", "YYYY-MM-DD", "First day of work: plans the crew days from it.")]
Crews = Annotated[int, opt("--crews", "N", "Crews for the plan of days.", min=1, max=MOST_CREWS, show_default=True)]
InEdition = Annotated[
    Edition,
    opt(
        "--edition",
        None,
        "Everything for your own desk, the bid without costs, or the foreman's copy (PDF) without money.",
        show_default=True,
    ),
]
HowPriced = Annotated[PriceBy, opt("--price-by", None, "How a bid sets out the price.", show_default=True)]
Against = Annotated[
    list[str] | None, opt("--against", "SYSTEM", "Price this system on all coated walls too, as an alternate.")
]
AllowOpen = Annotated[bool, flag("--allow-open", "Write a bid although open points move its price by more than 2 %.")]


@with_kinds
def report(
    job: JobPath,
    out: Folder,
    kinds: tuple[ReportKind, ...],
    catalogue: CatalogueFile = None,
    letterhead: LetterheadFile = None,
    paper: OnPaper = None,
    start: FirstDay = "",
    crews: Crews = 1,
    edition: InEdition = "full",
    price_by: HowPriced = "lump-sum",
    against: Against = None,
    allow_open: AllowOpen = False,
) -> int:
    """Write reports; with --edition the bid to hand over, or the foreman's copy. All kinds where none is named."""
    if price_by != "lump-sum" and edition != "bid":
        raise InputError("--price-by sets out the price of a bid", remedy="Add --edition bid, or leave it out.")
    order = ReportOrder(
        kinds=kinds or KINDS,
        edition=edition,
        price_by=price_by,
        letterhead=PLAIN if letterhead is None else actions.read_letterhead(letterhead),
        catalogue=catalogue_in(catalogue),
        paper=paper,
        start=read_date(start) if start else None,
        crews=crews,
        against=against or (),
        allows_open=allow_open,
    )
    with opened(job) as store, progress("Writing reports") as step:
        made = actions.make_reports(store, out, order, at=now(), progress=step)
        settings = store.job.settings
    tell_open(made.points, display_of(settings, made.points.currency))
    notes(made.notes)
    if _plans_nowhere(order):
        notes(
            ["crew days and alternates stand in the PDF, the page and the workbook alone: add --pdf, --html or --xlsx"]
        )
    return say_paths(made.paths, made.failures)


def _plans_nowhere(order: ReportOrder) -> bool:
    """Tell whether days or alternates are asked for in kinds that do not show them."""
    return order.edition == "full" and bool(order.start or order.against) and not order.needs("planning")


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
        done = actions.run_demo(out, who=person(), at=now(), progress=step, readers=Lanes(cores()))
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
