"""The command that compares a new revision of a sheet."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from takeoff.cli.as_json import dump
from takeoff.cli.options import AsJson, JobPath, arg, option, read_points, with_options
from takeoff.cli.rim import notes, opened, say_file, told
from takeoff.cli.show import display_of, progress
from takeoff.errors import InputError
from takeoff.model.site import read_day
from takeoff.report.letterhead import PLAIN
from takeoff.signing import now
from takeoff.units import parse_length

if TYPE_CHECKING:
    from takeoff.actions.revising import Revision
    from takeoff.job.job import Job
    from takeoff.job.store import JobStore
    from takeoff.model.plan import Point
    from takeoff.report.change_letter import ChangeTerms
    from takeoff.revise.delta import Delta


NewSet = Annotated[Path | None, arg("NEWSET", "A whole new set: every sheet is compared with the job's.")]
ONE: dict[str, tuple[Any, Any]] = {
    "sheet": option(str, "--sheet", "SHEET", "One sheet as it is in the job: position or number."),
    "plan": option(Path, "--plan", "FILE", "The plan file of its new revision."),
    "page": option(int, "--page", "N", "Its page. Not given: the one with the same number."),
    "accept": option(
        Literal["sure", "all", "none"],
        "--accept",
        None,
        "Which proposals to take into the job; the rest stay on the old sheet, and so does, with all, what "
        "is to be looked at.",
        "none",
    ),
    "run": option(list[str], "--run", "RUN", "Take the proposal for this wall or new room too."),
    "points": option(
        list[str],
        "--points",
        "OLDX,OLDY NEWX,NEWY",
        "A point of the old sheet and the same one on the new; two or more register the sheets.",
    ),
    "smallest": option(str, "--smallest", "LENGTH", "Changes of linework smaller than this are left out.", "100 mm"),
}
"""What is compared, and what of it is taken."""
WRITTEN: dict[str, tuple[Any, Any]] = {
    "out": option(Path, "--out", "PDF", "Write what is taken in, with hours and costs, for your own desk."),
    "letter": option(Path, "--letter", "FILE", "Write the change order for the client: .pdf, .html, .xlsx or .csv."),
    "number": option(str, "--number", "TEXT", "The change order's number."),
    "to": option(str, "--to", "TEXT", "To whom the change order goes."),
    "reason": option(str, "--reason", "TEXT", "Its reason, such as the addendum."),
    "date": option(str, "--date", "DATE", "Its date, such as 2026-03-16, or today."),
    "valid_days": option(int, "--valid-days", "DAYS", "How long it holds; the letterhead's without it, or 30.", min=1),
    "by": option(
        Literal["cost", "unit-price"],
        "--by",
        None,
        "Price it by the estimate's difference, or by the job's own price per area.",
        "cost",
    ),
    "letterhead": option(Path, "--letterhead", "FILE.toml", "Company lines, logo and own terms of the change order."),
}
"""What is written of it: pages for the own desk, and the change order with its terms."""
Given = dict[str, Any]
LEFT = "To be looked at, and left on the old sheet: {}. Take each with --sheet, --plan and --run."
"""What is told of walls that are not taken with the others."""


@with_options("one", ONE, dict)
@with_options("written", WRITTEN, dict)
def revise(job: JobPath, newset: NewSet = None, *, one: Given, as_json: AsJson = False, written: Given) -> None:
    """Compare a new revision of a sheet, or a whole new set, and carry the walls across as far as they are accepted."""
    if newset is not None:
        others = [one[name] for name in ("sheet", "plan", "page", "run", "points")]
        if any((*others, written["out"], written["letter"])):
            raise InputError(
                "a whole set was named and options for one sheet",
                remedy="Give the set with --accept alone, or --sheet and --plan for one sheet.",
            )
        with opened(job) as store:
            revise_set(store, newset, one["accept"], as_json=as_json)
        return
    if not one["sheet"] or one["plan"] is None:
        raise InputError("no new revision was named", remedy="Give NEWSET, or --sheet and --plan for one sheet.")
    terms = _terms(**{name: value for name, value in written.items() if name != "out"})
    pairs = _pairs(one["points"] or ())
    with opened(job) as store:
        _revise_sheet(store, one, pairs, as_json=as_json, written=written, terms=terms)


def _terms(letter: Path | None, letterhead: Path | None, date: str | None, **said: Any) -> ChangeTerms:
    """Read the terms of a change order, and refuse what could not be written before anything is taken in."""
    from takeoff.actions import read_letterhead
    from takeoff.report.change_letter import ChangeTerms, letter_kind

    named = {name: value for name, value in said.items() if value}
    if letter is not None:
        letter_kind(letter)
    elif letterhead or date or named != {"by": "cost"}:
        raise InputError("options of a change order were named without one", remedy="Add --letter FILE.")
    head = PLAIN if letterhead is None else read_letterhead(letterhead)
    return ChangeTerms(**named, date=read_day(date).isoformat() if date else "", letterhead=head)


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
    one: Given,
    pairs: Sequence[tuple[Point, Point]],
    *,
    as_json: bool,
    written: Given,
    terms: ChangeTerms,
) -> None:
    from takeoff.actions import find_sheet, read_file
    from takeoff.actions.comparing import compare_revision
    from takeoff.actions.deltas import revision_delta
    from takeoff.actions.quantities import catalogue_of, refuse_other_currency
    from takeoff.actions.revising import accept_revision
    from takeoff.cli.revision_show import delta_json, revision_json, show_delta, show_revision

    before = store.job
    if written["out"] is not None or written["letter"] is not None:
        refuse_other_currency(before, catalogue_of(before).currency)
    least, plan = parse_length(one["smallest"]), one["plan"]
    data = read_file(plan, "plan file")
    with progress("Comparing") as step:
        found = compare_revision(
            store,
            find_sheet(before, one["sheet"]),
            plan.name,
            data,
            page=one["page"],
            points=pairs,
            smallest=least,
            progress=step,
        )
    wanted = list(dict.fromkeys((*(r.before.id for r in found.chosen(one["accept"])), *(one["run"] or ()))))
    chosen = [r.before.id for r in found.chosen(wanted)]
    is_taken = bool(wanted) or found.is_taken(one["accept"])
    change = accept_revision(store, found, wanted) if is_taken else None
    delta = None if change is None else revision_delta(before, store.job, found)
    if delta is not None:
        _write(store, before, found, delta, chosen, written, terms)
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
        if left := found.left(chosen):
            told(LEFT.format(", ".join(left)))
    elif not found.runs:
        told("No wall stands on that sheet of the job, so nothing is to be carried.")
    else:
        told("The job is as it was. Take proposals in with --accept sure, --accept all or --run RUN.")


def _write(
    store: JobStore,
    before: Job,
    found: Revision,
    delta: Delta,
    taken: Sequence[str],
    written: Given,
    terms: ChangeTerms,
) -> None:
    from takeoff.actions.change_letters import send_change
    from takeoff.actions.deltas import write_change_order

    if written["out"] is not None:
        out = write_change_order(store, found, delta, written["out"], taken=taken, at=now())
        told(f"Wrote {out}")
    if written["letter"] is not None:
        sent = send_change(
            before, store.job, found, delta, written["letter"], terms, taken=taken, at=now(),
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
    taken = accept_set(store, sheets, accept) if accept != "none" else ()
    if as_json:
        say_file(dump(set_json(sheets, accept, before)))
        return
    show_set(path.name, sheets, accept, display_of(store.job.settings), before)
    for found, change in taken:
        told(f"Done: {change.label}")
        if left := found.left(accept):
            told(LEFT.format(", ".join(left)))
    if not taken:
        told("The job is as it was. Take proposals in with --accept sure or --accept all.")
