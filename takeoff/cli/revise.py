"""The command that compares a new revision of a sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from takeoff.cli.as_json import dump
from takeoff.cli.options import AsJson, JobPath, arg, opt, read_date, read_points
from takeoff.cli.rim import notes, opened, say_file, told
from takeoff.cli.show import display_of, progress
from takeoff.errors import InputError
from takeoff.report.letterhead import PLAIN
from takeoff.signing import now, person
from takeoff.units import parse_length

if TYPE_CHECKING:
    from takeoff.actions.revising import Revision
    from takeoff.job.job import Job
    from takeoff.job.store import JobStore
    from takeoff.model.plan import Point
    from takeoff.report.change_letter import ChangeTerms
    from takeoff.revise.delta import Delta


NewSet = Annotated[Path | None, arg("NEWSET", "A whole new set: every sheet is compared with the job's.")]
OneSheet = Annotated[str, opt("--sheet", "SHEET", "One sheet as it is in the job: position or number.")]
OnePlan = Annotated[Path | None, opt("--plan", "FILE", "The plan file of its new revision.")]
Page = Annotated[int | None, opt("--page", "N", "Its page. Not given: the one with the same number.")]
Taken = Annotated[
    Literal["sure", "all", "none"],
    opt(
        "--accept",
        None,
        "Which proposals to take into the job; the rest stay on the old sheet, and so does, with all, what "
        "is to be looked at.",
        show_default=True,
    ),
]
Runs = Annotated[list[str] | None, opt("--run", "RUN", "Take the proposal for this wall or new room too.")]
SamePoints = Annotated[
    list[str] | None,
    opt(
        "--points",
        "OLDX,OLDY NEWX,NEWY",
        "A point of the old sheet and the same one on the new; two or more register the sheets.",
    ),
]
Smallest = Annotated[
    str, opt("--smallest", "LENGTH", "Changes of linework smaller than this are left out.", show_default=True)
]
DeskPages = Annotated[
    Path | None, opt("--out", "PDF", "Write what is taken in, with hours and costs, for your own desk.")
]
Letter = Annotated[
    Path | None, opt("--letter", "FILE", "Write the change order for the client: .pdf, .html, .xlsx or .csv.")
]
Number = Annotated[str, opt("--number", "TEXT", "The change order's number.")]
To = Annotated[str, opt("--to", "TEXT", "To whom the change order goes.")]
Reason = Annotated[str, opt("--reason", "TEXT", "Its reason, such as the addendum.")]
DateOf = Annotated[str, opt("--date", "DATE", "Its date, such as 2026-03-16, or today.")]
ValidDays = Annotated[
    int | None, opt("--valid-days", "DAYS", "How long it holds; the letterhead's without it, or 30.", min=1)
]
PricedBy = Annotated[
    Literal["cost", "unit-price"],
    opt("--by", None, "Price it by the estimate's difference, or by the job's own price per area.", show_default=True),
]
LetterheadFile = Annotated[
    Path | None, opt("--letterhead", "FILE.toml", "Company lines, logo and own terms of the change order.")
]


def revise(
    job: JobPath,
    newset: NewSet = None,
    sheet: OneSheet = "",
    plan: OnePlan = None,
    page: Page = None,
    accept: Taken = "none",
    run: Runs = None,
    points: SamePoints = None,
    smallest: Smallest = "100 mm",
    as_json: AsJson = False,
    out: DeskPages = None,
    letter: Letter = None,
    number: Number = "",
    to: To = "",
    reason: Reason = "",
    date: DateOf = "",
    valid_days: ValidDays = None,
    by: PricedBy = "cost",
    letterhead: LetterheadFile = None,
) -> None:
    """Compare a new revision of a sheet, or a whole new set, and carry the walls across as far as they are accepted."""
    if newset is not None:
        if sheet or plan or page or run or points or out or letter:
            raise InputError(
                "a whole set was named and options for one sheet",
                remedy="Give the set with --accept alone, or --sheet and --plan for one sheet.",
            )
        with opened(job) as store:
            revise_set(store, newset, accept, as_json=as_json)
        return
    if not sheet or plan is None:
        raise InputError("no new revision was named", remedy="Give NEWSET, or --sheet and --plan for one sheet.")
    if letter is None and (number or to or reason or date or valid_days or letterhead or by != "cost"):
        raise InputError("options of a change order were named without one", remedy="Add --letter FILE.")
    terms = _terms(letter, number, to, reason, date, valid_days, by, letterhead)
    written = Written(out=out, letter=letter, terms=terms)
    with opened(job) as store:
        _revise_sheet(
            store, sheet, plan, page=page, accept=accept, runs=run or (), pairs=_pairs(points or ()),
            smallest=smallest, as_json=as_json, written=written,
        )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What to write of a revision that is taken in: the internal pages, and the change order with its terms."""

    out: Path | None
    letter: Path | None
    terms: ChangeTerms


def _terms(
    letter: Path | None,
    number: str,
    to: str,
    reason: str,
    date: str,
    valid_days: int | None,
    by: Literal["cost", "unit-price"],
    letterhead: Path | None,
) -> ChangeTerms:
    """Read the terms of a change order, and refuse what could not be written before anything is taken in."""
    from takeoff.actions import read_letterhead
    from takeoff.report.change_letter import ChangeTerms, letter_kind

    if letter is not None:
        letter_kind(letter)
    head = PLAIN if letterhead is None else read_letterhead(letterhead)
    on = read_date(date).isoformat() if date else ""
    return ChangeTerms(
        number=number, to=to, reason=reason, by=by, date=on, valid_days=valid_days, letterhead=head
    )  # fmt: skip


def _pairs(texts: Sequence[str]) -> list[tuple[Point, Point]]:
    pairs = []
    for text in texts:
        pair = read_points(text)
        if len(pair) != 2:
            raise InputError(f'"{text}" is not a pair of points', remedy="Write it as OLDX,OLDY NEWX,NEWY.")
        pairs.append((pair[0], pair[1]))
    return pairs


def _revise_sheet(
    store: JobStore,
    sheet: str,
    plan: Path,
    *,
    page: int | None,
    accept: Literal["sure", "all", "none"],
    runs: Sequence[str],
    pairs: Sequence[tuple[Point, Point]],
    smallest: str,
    as_json: bool,
    written: Written,
) -> None:
    from takeoff.actions import find_sheet, read_file
    from takeoff.actions.comparing import compare_revision
    from takeoff.actions.deltas import revision_delta
    from takeoff.actions.quantities import catalogue_of, refuse_other_currency
    from takeoff.actions.revising import accept_revision
    from takeoff.cli.revision_show import delta_json, revision_json, show_delta, show_revision

    before = store.job
    if written.out is not None or written.letter is not None:
        refuse_other_currency(before, catalogue_of(before).currency)
    least = parse_length(smallest)
    data = read_file(plan, "plan file")
    with progress("Comparing") as step:
        found = compare_revision(
            store, find_sheet(before, sheet), plan.name, data, page=page, points=pairs, smallest=least, progress=step
        )
    wanted = list(dict.fromkeys((*(r.before.id for r in found.chosen(accept)), *runs)))
    chosen = [r.before.id for r in found.chosen(wanted)]
    change = accept_revision(store, found, wanted, who=person(), at=now()) if wanted else None
    delta = None if change is None else revision_delta(before, store.job, found)
    if delta is not None:
        _write(store, before, found, delta, chosen, written)
    show = display_of(store.job.settings)
    notes(found.doubts)
    if as_json:
        say_file(dump({**revision_json(found, chosen, before), "delta": None if delta is None else delta_json(delta)}))
        return
    show_revision(found, show, chosen, before)
    if delta is not None:
        show_delta(delta, show)
    if change is not None:
        told(f"Done: {change.label}")
    elif not found.runs:
        told("No wall stands on that sheet of the job, so nothing is to be carried.")
    else:
        told("The job is as it was. Take proposals in with --accept sure, --accept all or --run RUN.")


def _write(store: JobStore, before: Job, found: Revision, delta: Delta, taken: Sequence[str], written: Written) -> None:
    """Write the pages and the change order that were asked for."""
    from takeoff.actions.change_letters import send_change
    from takeoff.actions.deltas import write_change_order

    if written.out is not None:
        told(f"Wrote {write_change_order(store, found, delta, written.out, taken=taken, at=now())}")
    if written.letter is not None:
        sent = send_change(
            before, store.job, found, delta, written.letter, written.terms, taken=taken, at=now(),
            old_data=store.source(found.old.source),
        )  # fmt: skip
        if sent is None:
            told("No room changes its area or price, so there is no change order to send.")
            return
        told(f"Wrote {sent.path}")
        notes(sent.notes)


def revise_set(store: JobStore, path: Path, accept: Literal["sure", "all", "none"], *, as_json: bool) -> None:
    """Compare a whole set, take in what is accepted, and say per sheet what was found."""
    from takeoff.actions import read_file
    from takeoff.actions.addendum import accept_set, compare_set
    from takeoff.cli.revision_show import set_json, show_set

    before = store.job
    with progress("Comparing") as step:
        sheets = compare_set(store, path.name, read_file(path, "plan file"), progress=step)
    taken = accept_set(store, sheets, accept, who=person(), at=now()) if accept != "none" else ()
    if as_json:
        say_file(dump(set_json(sheets, accept, before)))
        return
    show_set(path.name, sheets, accept, display_of(store.job.settings), before)
    for _, change in taken:
        told(f"Done: {change.label}")
    if not taken:
        told("The job is as it was. Take proposals in with --accept sure or --accept all.")
