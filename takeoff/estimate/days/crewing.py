"""From the labour of an estimate to what is planned into days: works with their waits.

What is laid with a wet edge, and what goes into a wet step, is not left half done: it is one work that lies within a
shift, or equal parts that each do and that end at a corner or an edge. What is mixed in one batch is done in one go.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from takeoff.errors import InputError
from takeoff.estimate.climate import scale_time
from takeoff.estimate.days.works import Follow, Work
from takeoff.model.costs import LabourLine
from takeoff.model.systems import Catalogue, Product, Rates, Step, Surface, System
from takeoff.system.bases import basis_kind, covers, most_between, ruling, surface_of

QUARTERS = 4
"""Parts of an hour that parts of a step are fitted into a shift by."""

MOST_HOURS = 100_000
"""Most hours of a crew on one coat in one room, fifty years: beyond it is a slip in the labour. No source."""

ABRADE_RATE = 11.15
"""m² that one person abrades in an hour where no step of the catalogue says it; 120 sf: common practice, no source."""

COVE_GIRTH = 0.2
"""m² of cove a metre where only its length is known: height and toe of 4 in, common practice, no source."""

EDGE_WIDTH = 0.05
"""m² of edge a metre: a band of 2 in, common practice, no source."""


def around_hours(rates: Rates, crews: int) -> float:
    """Return the hours of set-up before the work, and of clean-up after it, when all crews do half of it each time.

    Examples
    --------
    >>> around_hours(Rates(setup_hours=8.0, crew=4), 1)
    1.0
    """
    return rates.setup_hours / 2.0 / (rates.crew * crews)


_Pour = Sequence[tuple[Step, LabourLine, float]]
"""Steps of a room that are worked together, with their crew hours; most often one."""


@dataclass(frozen=True, slots=True)
class _Site:
    """What works are made for: catalogue, shift in hours, temperature on site, people of a crew, rooms' names."""

    catalogue: Catalogue
    shift: float
    temperature: float | None
    people: int
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
    share_area: float | None = None,
    names: Mapping[str, str] | None = None,
) -> tuple[Work, ...]:
    """Turn labour lines into works: each step follows the one before it in its room and system.

    It waits the least recoat time of whatever was laid before it. What covers a surface comes within the window of what
    covered that surface last, whatever is done on other surfaces in between, or the surface is abraded first; a step
    that abrades it ends the window. The hours are man-hours over the people of a crew. The most of a window runs from
    each part of what is laid in parts to what is laid over it.

    ``lines`` are labour by room, system and step, in the order of an estimate. Of ``crews`` of the size in ``rates``
    each step is done by one where they do not share it: ``share_area`` is m² of wall in a room for each of the crews
    that do its steps together, ``None`` where they share none. Parts must fit into ``shift_hours``, the rates' where
    ``None``. Windows and pot lives are scaled to the ``temperature`` on site in °C, doubling per 10 °C, and left as
    stated where it is ``None``. ``names`` are what rooms are called, by id; work ids go by room ids.
    """
    shift = math.floor((shift_hours or rates.shift_hours) * QUARTERS + 1e-6) / QUARTERS
    site = _Site(catalogue, shift, temperature, rates.crew, names or {})
    lines = _merged(lines)
    works: list[Work] = []
    chains: dict[tuple[str, str], _Chain] = {}
    for pour in _pours(lines, catalogue, rates.crew):
        key = (pour[0][1].room, pour[0][1].system)
        if key not in chains:
            areas = _surface_areas([other for other in lines if (other.room, other.system) == key], catalogue)
            sharing = max(1, min(crews, int(areas.get("wall", 0.0) / share_area))) if share_area else 1
            system = catalogue.system(key[1])
            abrading = {surface: area / _abrading_rate(surface, catalogue, system) for surface, area in areas.items()}
            chains[key] = _Chain(site, abrading, sharing)
        works += chains[key].works_of(pour)
    return tuple(works)


def _merged(lines: Sequence[LabourLine]) -> list[LabourLine]:
    """Put lines of one step in one room together, such as those of walls in several colours; in step order."""
    found: dict[tuple[str, str, str], LabourLine] = {}
    for line in lines:
        key = (line.room, line.system, line.step)
        old = found.get(key)
        found[key] = line if old is None else replace(
            old, hours=old.hours + line.hours, basis_value=old.basis_value + line.basis_value
        )  # fmt: skip
    return list(found.values())


def _pours(lines: Sequence[LabourLine], catalogue: Catalogue, people: int) -> Sequence[_Pour]:
    """Put together what goes into a wet step and that step, each room by itself."""
    groups: dict[tuple[str, str, int], list[tuple[Step, LabourLine, float]]] = {}
    for line in lines:
        steps = catalogue.system(line.system).steps
        at = next(n for n, step in enumerate(steps) if step.id == line.step)
        first = next(n for n in range(at, -1, -1) if not steps[n].into_wet)
        groups.setdefault((line.room, line.system, first), []).append((steps[at], line, line.hours / people))
    return list(groups.values())


@dataclass(frozen=True, slots=True)
class _Clock:
    """Since when a surface waits to be covered: works and whether the most counts from them; its window in hours."""

    works: tuple[Work, ...]
    wait: float
    within: float | None


class _Chain:
    """The steps of one system in one room, one after the other, and the recoat clocks of its surfaces."""

    def __init__(self, site: _Site, abrading: Mapping[Surface, float], crews: int) -> None:
        self.site, self.abrading, self.crews = site, abrading, crews
        self.last: Work | None = None
        self.wait = 0.0
        self.clocks: dict[Surface, _Clock] = {}

    def works_of(self, pour: _Pour) -> list[Work]:
        """Return the works of a pour, coat by coat and part by part, and set the clocks by it."""
        coats = pour[0][0].coats if len(pour) == 1 else 1
        works: list[Work] = []
        for coat in range(coats):
            mine = self._coat(pour, coat, coats)
            works += mine
            for surface in {surface for step, _, _ in pour for surface in step.abrades} & self.clocks.keys():
                self.clocks[surface] = replace(self.clocks[surface], within=None)
            self.last, self.wait = mine[-1], 0.0
            for surface, step in ruling([step for step, _, _ in pour]).items():
                most = step.max_recoat if coat + 1 == coats else most_between(step)
                wait = self.site.scaled(step.min_recoat or 0.0, step)
                within = None if most is None else self.site.scaled(most, step)
                self.clocks[surface] = _Clock(tuple(mine), wait, within)
                self.wait = max(self.wait, wait)
        return works

    def _coat(self, pour: _Pour, coat: int, coats: int) -> list[Work]:
        line = pour[0][1]
        hours = math.fsum(h for _, _, h in pour) / coats / self.crews
        if hours > MOST_HOURS:
            raise InputError(
                f"{hours:,.0f} hours of {_name(pour)} in one room", remedy="Check the labour of the step and its wall."
            )
        mixes = tuple((h / coats / self.crews, pot) for s, _, h in pour if (pot := self.site.pot_life(s)) is not None)
        is_one_batch = any(h > 0.0 for h, _ in mixes) and all(h <= pot for h, pot in mixes)
        is_wet = len(pour) > 1 or pour[0][0].wet_edge
        parts = max(1, math.ceil(hours / self.site.shift - 1e-9)) if is_wet else 1
        steps = "+".join(each.id for each, _, _ in pour)
        works: list[Work] = []
        for part in range(parts):
            said = [f"coat {coat + 1} of {coats}"] * (coats > 1) + [f"part {part + 1} of {parts}"] * (parts > 1)
            marks = [*[str(coat + 1)] * (coats > 1), *[str(part + 1)] * (parts > 1)]
            works.append(
                Work(
                    id="/".join([line.room, line.system, steps, *marks]),
                    room=self.site.names.get(line.room, line.room),
                    step=steps,
                    name=_name(pour),
                    hours=hours / parts,
                    crews=self.crews,
                    follows=self._follows(pour, part, parts, works[-1] if works else None),
                    is_whole=is_wet or (is_one_batch and hours <= self.site.shift),
                    mixes=tuple((h / parts, pot) for h, pot in mixes),
                    part=", ".join(said),
                )
            )
        return works

    def _follows(self, pour: _Pour, part: int, parts: int, before: Work | None) -> tuple[Follow, ...]:
        """Return what a part of a pour must follow: the part or step before, and whatever waits to be covered by it."""
        found: dict[str, Follow] = {}
        if before is not None:
            found[before.id] = Follow(work=before.id)
        elif self.last is not None:
            found[self.last.id] = Follow(work=self.last.id, wait=self.wait)
        covered = {surface_of(step) for step, _, _ in pour if covers(step)}
        for surface, clock in self.clocks.items():
            if before is None and clock.wait > 0.0:
                last = found.get(clock.works[-1].id, Follow(work=clock.works[-1].id))
                found[last.work] = replace(last, wait=max(last.wait, clock.wait))
            if surface in covered and clock.within is not None:
                hours = self.abrading.get(surface, 0.0) / self.site.people / self.crews
                for n, work in enumerate(clock.works):
                    share = _overlap(
                        (part / parts, (part + 1) / parts), (n / len(clock.works), (n + 1) / len(clock.works))
                    )
                    if share > 0.0:
                        old = found.get(work.id, Follow(work=work.id))
                        found[work.id] = replace(
                            old,
                            wait=max(old.wait, clock.wait),
                            within=min(clock.within, math.inf if old.within is None else old.within),
                            abrade_hours=old.abrade_hours + share * hours,
                        )
        return tuple(found.values())


def _surface_areas(lines: Sequence[LabourLine], catalogue: Catalogue) -> dict[Surface, float]:
    """Return the area in m² of each surface that the lines of one system in one room cover.

    The largest area that a step covers it by; where it is covered by length only, that length times its width.
    """
    areas: dict[Surface, float] = {}
    lengths: dict[Surface, float] = {}
    for line in lines:
        step = next(step for step in catalogue.system(line.system).steps if step.id == line.step)
        if covers(step):
            surface, kind = surface_of(step), basis_kind(step.basis)
            into = areas if kind == "area" else lengths
            if kind in ("area", "length"):
                into[surface] = max(into.get(surface, 0.0), line.basis_value)
    width: dict[Surface, float] = {"wall": 1.0, "cove": COVE_GIRTH, "edge": EDGE_WIDTH}
    return {**{surface: length * width[surface] for surface, length in lengths.items()}, **areas}


def _abrading_rate(surface: Surface, catalogue: Catalogue, system: System) -> float:
    """Return m² abraded in a man-hour: by the system's own step that abrades the surface, or another's, or as usual."""
    for one in (system, *catalogue.systems):
        for step in one.steps:
            rate = step.labour.rate if step.labour is not None else None
            if surface in step.abrades and rate is not None and basis_kind(step.basis) == "area":
                return rate
    return ABRADE_RATE


def _overlap(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Return how much of a surface two stretches of it have in common; a float's crumb is nothing."""
    common = min(one[1], other[1]) - max(one[0], other[0])
    return common if common > 1e-9 else 0.0


def _name(pour: _Pour) -> str:
    first, last = pour[0][0].name, pour[-1][0].name
    if len(pour) == 1:
        return first
    return f"{first} {'with' if len(pour) == 2 else 'to'} {last}"
