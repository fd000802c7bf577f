"""From the labour of an estimate to what is planned into days: works with their waits, for one kind of crew.

What is laid with a wet edge, and what goes into a wet step, is not left half done: it is one work that lies within a
shift, or equal parts that each do and that end at a corner or an edge. What is mixed in one batch is done in one go.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from takeoff.errors import InputError
from takeoff.estimate.climate import scale_time
from takeoff.estimate.days.works import Crew, Follow, Work
from takeoff.model.costs import LabourLine
from takeoff.model.systems import Catalogue, Product, Rates, Step

ABRADE_SHARE = 0.25
"""Hours of abrading as a part of the hours of the step whose window was missed: common practice, no source."""

QUARTERS = 4
"""Parts of an hour that parts of a step are fitted into a shift by."""


def around_hours(rates: Rates, crews: int) -> float:
    """Return the hours of set-up before the work, and of clean-up after it, when all crews do half of it each time.

    Examples
    --------
    >>> around_hours(Rates(setup_hours=8.0, crew=4), 1)
    1.0
    """
    return rates.setup_hours / 2.0 / (rates.crew * crews)


@dataclass(frozen=True, slots=True)
class _Pour:
    """Steps of a room that are worked together, with their crew hours; most often one."""

    steps: tuple[tuple[Step, LabourLine, float], ...]

    @property
    def hours(self) -> float:
        return math.fsum(hours for _, _, hours in self.steps)


@dataclass(frozen=True, slots=True)
class _Site:
    """What works are made for: catalogue, shift in hours, temperature on site, share of abrading, rooms' names."""

    catalogue: Catalogue
    shift: float
    temperature: float | None
    abrade_share: float
    names: Mapping[str, str]

    def product(self, step: Step) -> Product | None:
        return None if step.product is None else self.catalogue.product(step.product)

    def scaled(self, hours: float, step: Step) -> float:
        product = self.product(step)
        if product is None or self.temperature is None:
            return hours
        return scale_time(hours, stated_at=product.temperature, temperature=self.temperature)

    def pot_life(self, step: Step) -> float | None:
        product = self.product(step)
        return None if product is None or product.pot_life is None else self.scaled(product.pot_life, step)


def works_of(
    lines: Sequence[LabourLine],
    catalogue: Catalogue,
    rates: Rates,
    *,
    crews: int = 1,
    shift_hours: float | None = None,
    temperature: float | None = None,
    abrade_share: float = ABRADE_SHARE,
    names: Mapping[str, str] | None = None,
) -> tuple[tuple[Work, ...], tuple[Crew, ...]]:
    """Turn labour lines into works: each step follows the one before it in its room and system.

    The waits are the recoat windows of the step before, between its coats too; the hours are man-hours over the people
    of a crew. The most of a window runs from each part of what is laid in parts.

    Parameters
    ----------
    lines
        Labour by room, system and step, in the order of an estimate.
    catalogue
        The systems and products that they come from.
    rates
        People in a crew.
    crews
        How many crews of that size there are; each step is done by one.
    shift_hours
        Hours of a shift, that parts must fit into; the rates' where ``None``.
    temperature
        On site in °C: windows and pot lives are scaled to it from the temperature of the step's product, doubling per
        10 °C. None leaves them as stated.
    abrade_share
        Hours of abrading as a part of the hours of the step whose window was missed.
    names
        What rooms are called, by id; a room without is called by its id. Work ids go by room ids.

    Raises
    ------
    InputError
        When there is no crew.
    CatalogueError
        When a line's system or a step's product is not in the catalogue.
    """
    if crews < 1:
        raise InputError(f"{crews} crews", remedy="Give one or more.")
    shift = math.floor((shift_hours or rates.shift_hours) * QUARTERS + 1e-6) / QUARTERS
    site = _Site(catalogue, shift, temperature, abrade_share, names or {})
    works: list[Work] = []
    last: dict[tuple[str, str], tuple[Follow, ...]] = {}
    for pour in _pours(lines, catalogue, rates.crew):
        line = pour.steps[0][1]
        made, last[line.room, line.system] = _works(pour, site, last.get((line.room, line.system), ()))
        works += made
    return tuple(works), (Crew(id="crew", name="Crew", count=crews),)


def _pours(lines: Sequence[LabourLine], catalogue: Catalogue, people: int) -> list[_Pour]:
    """Put together what goes into a wet step and that step, each room by itself."""
    groups: dict[tuple[str, str, int], list[tuple[Step, LabourLine, float]]] = {}
    for line in lines:
        steps = catalogue.system(line.system).steps
        at = next(n for n, step in enumerate(steps) if step.id == line.step)
        first = next(n for n in range(at, -1, -1) if not steps[n].into_wet)
        groups.setdefault((line.room, line.system, first), []).append((steps[at], line, line.hours / people))
    return [_Pour(tuple(rows)) for rows in groups.values()]


def _works(pour: _Pour, site: _Site, follows: tuple[Follow, ...]) -> tuple[list[Work], tuple[Follow, ...]]:
    """Return the works of a pour, coat by coat and part by part, and what comes next must follow."""
    (step, line, _), (last, _, last_hours) = pour.steps[0], pour.steps[-1]
    coats = step.coats if len(pour.steps) == 1 else 1
    hours = pour.hours / coats
    mixes = tuple((h / coats, pot) for s, _, h in pour.steps if (pot := site.pot_life(s)) is not None)
    is_one_batch = any(h > 0.0 for h, _ in mixes) and all(h <= pot for h, pot in mixes)
    is_wet = len(pour.steps) > 1 or step.wet_edge
    parts = max(1, math.ceil(hours / site.shift - 1e-9)) if is_wet else 1
    is_whole = is_wet or (is_one_batch and hours <= site.shift)
    wait = site.scaled(last.min_recoat or 0.0, last)
    within = None if last.max_recoat is None else site.scaled(last.max_recoat, last)
    steps = "+".join(each.id for each, _, _ in pour.steps)
    id = f"{line.room}/{line.system}/{steps}"
    works: list[Work] = []
    for coat in range(coats):
        mine: list[Work] = []
        for part in range(parts):
            said = [f"coat {coat + 1} of {coats}"] * (coats > 1) + [f"part {part + 1} of {parts}"] * (parts > 1)
            work = Work(
                id="/".join([id, *[str(coat + 1)] * (coats > 1), *[str(part + 1)] * (parts > 1)]),
                room=site.names.get(line.room, line.room),
                step=steps,
                name=_name(pour),
                hours=hours / parts,
                crews=(("crew", 1),),
                follows=(Follow(work=mine[-1].id),) if mine else follows,
                is_whole=is_whole,
                mixes=tuple((h / parts, pot) for h, pot in mixes),
                part=", ".join(said),
            )
            mine.append(work)
        abrade = site.abrade_share * last_hours / coats / parts
        rows = mine[-1:] if within is None else mine
        follows = tuple(Follow(work=work.id, wait=wait, within=within, abrade_hours=abrade) for work in rows)
        works += mine
    return works, follows


def _name(pour: _Pour) -> str:
    """Name what is worked together by its first and last step."""
    first, last = pour.steps[0][0].name, pour.steps[-1][0].name
    if len(pour.steps) == 1:
        return first
    return f"{first} {'with' if len(pour.steps) == 2 else 'to'} {last}"
