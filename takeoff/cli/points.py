"""The command that lists and settles what a job's figures rest on and nobody has confirmed: points."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from takeoff import actions
from takeoff.cli.as_json import amount, dump, picked
from takeoff.cli.options import AsJson, CatalogueFile, JobPath, catalogue_in, flag, opt
from takeoff.cli.rim import notes, opened, say, say_file, told
from takeoff.cli.show import display_of, progress, table
from takeoff.errors import InputError
from takeoff.model.point_register import can_confirm, grouped
from takeoff.signing import now, person

if TYPE_CHECKING:
    from takeoff.job.job import Job
    from takeoff.model.open_points import OpenPoint
    from takeoff.model.point_register import Register
    from takeoff.units import Display

TOLD = 8
"""Groups of points that another command names."""
SHOWN = 40
"""Points that are listed unless all are asked for."""


def points(
    job: JobPath,
    confirm: Annotated[
        list[str] | None, opt("--confirm", "KEY", "Take a point, or all of a group, as it is. Repeat for more.")
    ] = None,
    give: Annotated[
        list[str] | None, opt("--give", "KEY=VALUE", "Give the value of a point, or of all of a group.")
    ] = None,
    confirm_all: Annotated[bool, flag("--confirm-all", "Take all of them as they are.")] = False,
    every: Annotated[bool, flag("--all", "List confirmed ones too, and all of a group.")] = False,
    fail: Annotated[bool, flag("--fail", "End with exit code 1 where any is open.")] = False,
    catalogue: CatalogueFile = None,
    as_json: AsJson = False,
) -> None:
    """List what the figures rest on and nobody has confirmed, most money first; confirm it, or give the value."""
    chosen = catalogue_in(catalogue)
    if confirm_all and (confirm or give):
        raise InputError("--confirm-all and others were given", remedy="Confirm all, or name points.")
    with opened(job) as store:
        register = actions.open_points(store.job, catalogue=chosen)
        if confirm or confirm_all:
            wanted = _confirmable(register) if confirm_all else actions.find_points(register, confirm or [])
            if wanted:
                told(f"Done: {actions.confirm_points(store, wanted, who=person(), at=now()).label}")
            register = actions.open_points(store.job, catalogue=chosen)
        for text in give or []:
            key, mark, given = text.rpartition("=")
            if not mark:
                raise InputError(f'"{text}" names no value', remedy="Write KEY=VALUE, such as sill:R1-walls:2=3'-6\".")
            found = actions.find_points(register, [key])
            told(f"Done: {actions.give_value(store, found, given, who=person(), at=now()).label}")
            register = actions.open_points(store.job, catalogue=chosen)
        value = store.job
    if as_json:
        say_file(dump(register_json(register, value)))
    else:
        show_register(register, value, every=every)
    if fail and register.open:
        raise typer.Exit(1)


def questions(
    job: JobPath,
    out: Annotated[Path, opt("--out", "DIR", "Folder to write to; it is made if need be.")],
) -> None:
    """Write the open points that the author of the drawings can settle as numbered questions: PDF, web page, CSV."""
    with opened(job) as store, progress("Writing questions"):
        paths = actions.ask_architect(store, out, at=now())
    for path in paths:
        say(str(path))


def _confirmable(register: Register) -> tuple[OpenPoint, ...]:

    return tuple(point for point in register.open if can_confirm(point))


def show_register(register: Register, job: Job, *, every: bool = False) -> None:
    """Print the list: points of one group on one line unless every one is asked for."""
    show = display_of(job.settings, register.currency)
    rows = []
    for group in grouped(register.points if every else register.open, together=not every):
        first = group.points[0]
        money = show.money(group.money) if group.is_priced else ""
        taken = first.taken or "nothing"
        if first.confirmed is not None:
            taken = f"{taken} (confirmed by {first.confirmed.by})"
        rows.append((group.label, money, taken, group.place, first.why, group.key))
    if rows:
        headings = ("What", "At stake", "Taken", "Where", "Why", "Key")
        table("Open points", headings, rows[: None if every else SHOWN], more_text=(2, 3, 4, 5))
    if not every and len(rows) > SHOWN:
        say(f"… and {len(rows) - SHOWN} more: --all lists them.")
    say(register.words())


def tell_open(register: Register, show: Display) -> None:
    """Write to stderr how much is open, with what has most money at stake."""
    notes((*register.lines(show, most=TOLD), f"{register.words()} See: takeoff points JOB" if register.open else ""))


def tell_opened(before: Job, after: Job) -> None:
    """Write to stderr what an edit left open that was not open before, or rests on something else now."""
    known = {(point.key, point.state) for point in actions.open_points(before, has_stakes=False).open}
    register = actions.open_points(after, has_stakes=False)
    asked = [point for point in register.open if point.kind not in ("rates", "product", "job")]
    new = [point for point in asked if (point.key, point.state) not in known]
    newly = replace(register, points=tuple(new), price=0.0)
    if new:
        show = display_of(after.settings, register.currency)
        notes((*newly.lines(show, most=TOLD), f"{newly.words()} See: takeoff points JOB"))


def register_json(register: Register, job: Job) -> dict[str, Any]:
    """The register: lengths in m, areas in m², money with its currency."""
    points = [point_json(point, register.currency) for point in register.points]
    return {"schema": "takeoff.points/1", **summary_json(register), "points": points}


def summary_json(register: Register) -> dict[str, Any]:
    """How many points are open, the money at stake, and its share of the price."""
    return {
        "open": len(register.open),
        "confirmed": len(register.confirmed),
        "at_stake": amount(register.money, register.currency),
        "share_of_price": register.share,
    }


def point_json(point: OpenPoint, currency: str) -> dict[str, Any]:
    """One point."""
    stake, where = point.stake, point.where
    return {
        **picked(point, "key kind group what taken why settle low high", open=point.is_open),
        **picked(where, "sheet region room run opening", at=where.at_pt, place=where.words),
        "at_stake": stake and picked(stake, "area length", money=amount(stake.money, currency)),
        "confirmed": point.confirmed and picked(point.confirmed, "by at"),
    }
