"""The change order for the client: gathered from a revision that was taken into a job, priced by cost or by area."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from takeoff.actions.change_clips import change_clips, changed_things
from takeoff.actions.points.deriving import open_points
from takeoff.actions.quantities import Priced, lots_of, make_estimate, refuse_other_currency
from takeoff.actions.revising import Revision
from takeoff.errors import ReportError
from takeoff.estimate.price import ESTIMATE_ONLY
from takeoff.job.job import Job
from takeoff.measure.rules import rule_named
from takeoff.model.costs import Estimate
from takeoff.model.site import day_of
from takeoff.report.change_letter import ChangeLetter, ChangeLine, ChangeTerms, area_column, write_change_letter
from takeoff.report.change_order import ChangeClip
from takeoff.report.content import OWN_AFFAIRS, sheet_issue, sheet_title
from takeoff.report.letterhead import change_qualifications
from takeoff.revise.carry import CarriedRun
from takeoff.revise.delta import Delta, DeltaItem, amounts_by_cost, amounts_by_unit_price
from takeoff.system.bases import coats_walls
from takeoff.units import Display
from takeoff.units.money import rounded


@dataclass(frozen=True, slots=True, kw_only=True)
class SentChange:
    """A change order as written: where, what it comes to, and notes for whoever sends it."""

    path: Path
    letter: ChangeLetter
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Revised:
    """A job before and after, both priced, and what was taken in between."""

    before: Job
    after: Job
    old: Priced
    new: Priced
    revision: Revision
    taken: Sequence[CarriedRun]
    show: Display

    def room_of(self, run: str) -> str:
        """Id of a run's room, empty for none."""
        return (self.after.runs.get(run) or self.before.runs[run]).room or ""


def send_change(
    before: Job,
    after: Job,
    revision: Revision,
    delta: Delta,
    path: Path,
    terms: ChangeTerms,
    *,
    taken: Sequence[str],
    at: str,
    old_data: bytes,
) -> SentChange | None:
    """Write the change order that a client is sent: PDF, HTML, XLSX or CSV by the file's ending.

    Gives ``None`` where no room changes its area or price, so that nothing is to be sent. Raises `ReportError` when it
    cannot be written, when its prices would be in another currency than the job, or when it is to be priced by area and
    the job had no price per area.

    Parameters
    ----------
    path, terms
        Where to write, and what a person states of it.
    taken
        Ids of the runs that were accepted.
    old_data
        The plan file of the old sheet, for the pictures before and after.
    """
    refuse_other_currency(after, delta.currency)
    old, new = make_estimate(before), make_estimate(after)
    revised = _Revised(
        before=before, after=after, old=old, new=new, revision=revision,
        taken=[r for r in revision.runs if r.before.id in taken],
        show=replace(after.settings.display, currency=delta.currency),
    )  # fmt: skip
    lines, notes = _lines(revised, delta, terms)
    if not lines:
        return None
    letter = _letter(revised, terms, delta, lines, terms.date or str(day_of(at)))
    letter = replace(letter, clips=_clips(revised, lines, old_data))
    if terms.by == "unit-price" and round(100.0 * letter.change) != round(100.0 * delta.price.change):
        money = revised.show.money
        notes.append(
            f"by unit price the change is {money(letter.change)}; the estimate's is {money(delta.price.change)}"
        )
    return SentChange(path=write_change_letter(letter, path), letter=letter, notes=tuple(notes))


def _letter(
    revised: _Revised, terms: ChangeTerms, delta: Delta, lines: Sequence[ChangeLine], date: str
) -> ChangeLetter:
    return ChangeLetter(
        job=revised.after.settings.name,
        date=date,
        display=revised.show,
        terms=terms,
        drawings=_drawings(revised.revision),
        lines=tuple(lines),
        basis=_basis(revised, terms, delta, lines),
        days=_days(revised.old.estimate, revised.new.estimate),
        qualifications=_qualifications(revised, terms, lines),
        cautions=tuple(text for text in revised.new.estimate.cautions if text != ESTIMATE_ONLY),
    )


def _clips(revised: _Revised, lines: Sequence[ChangeLine], old_data: bytes) -> tuple[ChangeClip, ...]:
    """Plans of the rooms that have a line, before and after; of walls on other sheets the revision shows none."""
    rooms: dict[str, list[CarriedRun]] = {line.room: [] for line in lines}
    for r in revised.taken:
        if r.before.sheet == revised.revision.old.id and (label := _label(revised, r.before.id)) in rooms:
            rooms[label].append(r)
    return change_clips(revised.revision, old_data, rooms, revised.show.length)


def _lines(revised: _Revised, delta: Delta, terms: ChangeTerms) -> tuple[list[ChangeLine], list[str]]:
    """One line for each room that changes its area or its amount, and what to tell the sender."""
    column = area_column("", revised.show)
    areas = [
        {id: column.text(revised.show.area_number(area)) for id, area in _areas(job, priced).items()}
        for job, priced in ((revised.before, revised.old), (revised.after, revised.new))
    ]
    nil = column.text(0.0)
    rooms = delta.rooms
    before, after = ([found.get(room.id, nil).replace(",", "") for room in rooms] for found in areas)
    amounts, notes = _amounts(revised, delta, terms, before, after)
    lines = [
        ChangeLine(
            room=room.label,
            words=_words(revised, room),
            before=float(a),
            after=float(b),
            amount=amount,
            is_judged=any(not r.sure and revised.room_of(r.before.id) == room.id for r in revised.taken),
        )
        for room, a, b, amount in zip(rooms, before, after, amounts, strict=True)
        if a != b or round(100.0 * amount) != 0
    ]
    return lines, notes


def _amounts(
    revised: _Revised, delta: Delta, terms: ChangeTerms, before: Sequence[str], after: Sequence[str]
) -> tuple[tuple[float, ...], list[str]]:
    """Each room's amount, areas as they are printed, and what the sender has to look at."""
    rooms = delta.rooms
    notes = []
    if terms.by == "cost":
        changes = [room.price_change for room in rooms]
        by_area = [room.figures["net_area"].change for room in rooms]
        amounts = amounts_by_cost(changes, delta.price.change, areas=by_area, currency=delta.currency)
    else:
        amounts = amounts_by_unit_price(before, after, str(_unit_price(revised)), delta.currency)
        silent = [r.label for r, a, b in zip(rooms, before, after, strict=True) if a == b and r.price_change]
        if silent:
            notes.append(f"no coated area changes in {', '.join(silent)}, so by unit price nothing is charged there")
    against = [
        room.label
        for room, a, b, amount in zip(rooms, before, after, amounts, strict=True)
        if room.price_change * amount < 0.0 or (float(b) - float(a)) * amount < 0.0
    ]
    if against:
        notes.append(
            f"in {', '.join(against)} the amount goes the other way than the area or the cost, through edges of "
            "openings or whole packs: look at the lines before you send them"
        )
    return amounts, notes


def _areas(job: Job, priced: Priced) -> Mapping[str, float]:
    """Coated wall of each room by the measuring rule, m², as the price per area is made from."""
    areas: dict[str, float] = {}
    for lot in lots_of(job, priced.measured.faces, priced.catalogue):
        if coats_walls(priced.catalogue.system(lot.system)):
            areas[lot.room] = areas.get(lot.room, 0.0) + lot.quantities.measured_area
    return areas


def _unit_price(revised: _Revised) -> float:
    """The price per area shown of the job as it was, to the smallest unit of its currency."""
    price = revised.old.estimate.price_per_paid_area
    if price <= 0.0:
        raise ReportError("the job had no price per area before the revision", remedy="Price the change by cost.")
    return rounded(revised.show.number("per area", price), revised.show.currency)


def _basis(revised: _Revised, terms: ChangeTerms, delta: Delta, lines: Sequence[ChangeLine]) -> str:
    rule = rule_named(revised.new.measured.measurement.rule)
    measured = f"by {rule.name} ({rule.source})" if revised.new.estimate.pays_by_rule else "net of openings"
    said = f"Areas are coated walls, {measured}."
    if terms.by == "unit-price":
        unit = revised.show.unit("per area")
        return f"{said} Each change of area is priced at {revised.show.money(_unit_price(revised))}{unit}."
    by_edges = {room.label for room in delta.rooms if room.price_change * room.figures["net_area"].change < 0.0}
    outweighed = [line.room for line in lines if line.room in by_edges and line.amount * (line.after - line.before) < 0]
    if outweighed:
        said += f" Edges round openings are priced too; in {', '.join(outweighed)} they outweigh the area."
    tax = [priced.estimate.line("tax").amount for priced in (revised.old, revised.new)]
    return f"{said} Tax on the price is in the amounts." if any(tax) else said


def _drawings(revision: Revision) -> str:
    new, old = (", ".join(sheet_issue(sheet)) or "without a mark" for sheet in (revision.sheet, revision.old))
    return f"{sheet_title(revision.old)}: {new}, in place of {old}"


def _days(old: Estimate, new: Estimate) -> str:
    """Days on site before and after, where both are priced by a plan of days."""
    return "" if old.site is None or new.site is None else f"{new.site.days}, before {old.site.days}"


def _words(revised: _Revised, room: DeltaItem) -> str:
    length = revised.show.length
    taken = [r for r in revised.taken if revised.room_of(r.before.id) == room.id]
    said = [thing.words for r in taken for thing in changed_things(r, length)]
    fresh = [id for id in revised.after.runs if id not in revised.before.runs and revised.room_of(id) == room.id]
    if fresh:
        said.append("new walls" if len(fresh) > 1 else "new wall")
    heights = [job.rooms[room.id].height for job in (revised.before, revised.after) if room.id in job.rooms]
    if len(heights) == 2 and heights[0] != heights[1]:
        said.append("height of the walls changed")
    text = "; ".join(dict.fromkeys(said)) or "area of the walls changed"
    return text[0].upper() + text[1:]


def _qualifications(revised: _Revised, terms: ChangeTerms, lines: Sequence[ChangeLine]) -> tuple[str, ...]:
    """What the change order stands on: its own terms first, then what was assumed, then the company's."""
    revision, show = revised.revision, revised.show
    rooms = {line.room for line in lines}
    taken = {r.before.id for r in revised.taken}
    left = [r for r in revision.runs if r.before.id not in taken and r.verdict != "unchanged"]
    waiting = dict.fromkeys(_label(revised, r.before.id) for r in left)
    days = terms.letterhead.valid_days if terms.valid_days is None else terms.valid_days
    is_judged = any(line.is_judged for line in lines)
    own = list(
        change_qualifications(
            days, is_judged=is_judged, has_days=bool(_days(revised.old.estimate, revised.new.estimate))
        )
    )
    if waiting:
        own.append(
            f"Walls of {', '.join(waiting)} are as on the earlier revision; a change there is priced separately."
        )
    if revision.new_walls:
        total = show.length(sum(wall.length for wall in revision.new_walls))
        own.append(
            f"New walls that the drawing shows, about {total} long, are not in this price unless a line says so."
        )
    for r in revised.taken:
        own += [
            f"A new {o.after.kind} in {_label(revised, r.before.id)} is taken {show.length(o.after.height)} high, "
            "to be confirmed."
            for o in r.openings
            if o.verdict == "new" and o.after is not None
        ]
    return tuple(dict.fromkeys((*own, *_assumed(revised, rooms), *terms.letterhead.qualifications)))


def _label(revised: _Revised, run: str) -> str:
    room = revised.room_of(run)
    items = (*revised.new.measured.measurement.items, *revised.old.measured.measurement.items)
    return next((item.label for item in items if item.id == room), "walls without a room")


def _assumed(revised: _Revised, rooms: set[str]) -> Iterable[str]:
    """What is not confirmed of the rooms that change, as far as it can be said without naming a wall by its id."""
    points = open_points(revised.after, priced=revised.new, has_stakes=False)
    for point in points.open:
        if point.kind in OWN_AFFAIRS or point.where.inside not in rooms or not point.assumes:
            continue
        if not any(id in point.assumes for id in revised.after.runs):
            yield f"Not confirmed yet: {point.assumes}"
