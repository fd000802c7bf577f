"""Sheets of a set that a draft takes nothing from."""

from __future__ import annotations

from collections.abc import Mapping

from takeoff.actions.draft.sheet_reads import WITH_WALLS, SheetRead
from takeoff.actions.points.finding import Words
from takeoff.job.job import Job
from takeoff.job.newer_sheets import newer_sheet
from takeoff.sheet.scope_words import scope_remark
from takeoff.sheet.uses import names_trade, shows_what_was


def left_out(job: Job, read: Mapping[int, SheetRead]) -> dict[int, str]:
    """Say why nothing is taken from sheets: a newer revision is in the set, or a plan shows work beside the contract.

    The latter, as of a plan of what stands before the work, holds where another plan is there to be taken; for one of
    another trade that is to be a floor plan. A sheet that has walls already is none of them.
    """
    drawn = {run.sheet for run in job.runs.values()}
    out: dict[int, str] = {}
    for id in read.keys() - drawn:
        newer = newer_sheet(job.sheets, job.sheets[id])
        if newer is not None and newer.title.casefold() == job.sheets[id].title.casefold():
            named = Words(job).sheet(newer.id)
            is_same = (newer.revision, newer.date) == (job.sheets[id].revision, job.sheets[id].date)
            told = (
                "has the same number, title and revision"
                if is_same
                else f"is there in a newer revision {newer.revision}"
            )
            out[id] = f"{named} {told}, and this is left out"
    plans = {id for id, found in read.items() if found.use in WITH_WALLS and id not in out}
    titles = {id: job.sheets[id].title for id in plans - drawn}
    beside = {id for id, title in titles.items() if scope_remark(title) or shows_what_was(title)}
    trades = {id for id, title in titles.items() if names_trade(title)}
    if any(read[id].use == "floor plan" for id in plans - beside - trades):
        beside |= trades
    if beside < plans:
        out |= {id: f"its title says {titles[id]}, and it is left out" for id in beside}
    return out
