"""What a step is counted by, how that is written, and which surface a step covers and abrades."""

from __future__ import annotations

from collections.abc import Sequence

from takeoff.model.costs import AreaLine
from takeoff.model.figures import Lot, Quantities
from takeoff.model.systems import Basis, Catalogue, Step, Substrate, Surface, System
from takeoff.system.words import METRIC_FIRST, BasisKind, Words


def basis_kind(basis: Basis) -> BasisKind:
    """Say whether a basis is an area in m², a length in m, a volume in m³ or a count.

    Examples
    --------
    >>> basis_kind("net_area"), basis_kind("cove_length"), basis_kind("room")
    ('area', 'length', 'count')
    """
    if basis.endswith("_area"):
        return "area"
    if basis.endswith("_length"):
        return "length"
    return "volume" if basis.endswith("_volume") else "count"


def basis_value(quantities: Quantities, basis: Basis, times: int = 1) -> float:
    """Return the figure of a basis in m², m or m³, or as a count; a room counts as ``times`` as it is built.

    Examples
    --------
    >>> basis_value(Quantities(net_area=8.11, return_area=0.5), "coated_area")
    8.61
    """
    return float(times) if basis == "room" else float(getattr(quantities, basis))


def counts_wall_area(basis: Basis) -> bool:
    """Say whether a basis is an area of the wall itself, not of its cove.

    Examples
    --------
    >>> counts_wall_area("coated_area"), counts_wall_area("cove_girth_area")
    (True, False)
    """
    return basis in ("net_area", "coated_area", "gross_area")


def coats_walls(system: System) -> bool:
    """Say whether any step of a system is counted by the area of the wall; a cove base alone is not."""
    return any(counts_wall_area(step.basis) for step in system.steps)


def steps_on(system: System, substrate: Substrate) -> tuple[Step, ...]:
    """Return the steps of a system that are done on a substrate.

    Examples
    --------
    >>> fill = Step(id="fill", name="Fill", kind="work", basis="net_area", on=("block",))
    >>> coat = Step(id="coat", name="Coat", kind="work", basis="net_area")
    >>> wall = System(id="a", name="A", summary="", steps=(fill, coat))
    >>> [step.id for step in steps_on(wall, "concrete")], [step.id for step in steps_on(wall, "block")]
    (['coat'], ['fill', 'coat'])
    """
    return tuple(step for step in system.steps if not step.on or substrate in step.on)


def basis_words(basis: Basis, value: float, words: Words) -> str:
    """Write a basis value in SI and US units, in the order of ``words``.

    Examples
    --------
    >>> basis_words("net_area", 9.290304, Words())
    '9.29 m² (100.0 sf)'
    """
    kind = basis_kind(basis)
    if kind == "area":
        return words.area(value)
    if kind == "length":
        return words.length(value)
    return words.volume(value * 1000.0) if kind == "volume" else f"{value:g}"


def wall_areas(lots: Sequence[Lot], catalogue: Catalogue, *, words: Words = METRIC_FIRST) -> tuple[AreaLine, ...]:
    """Set out the coated area of every lot: net area, with coated returns, less the band that the cove covers.

    A system without wall coats covers nothing; its line says what it is priced by.
    """
    return tuple(_area_line(lot, is_coated=coats_walls(catalogue.system(lot.system)), words=words) for lot in lots)


def _area_line(lot: Lot, *, is_coated: bool, words: Words) -> AreaLine:
    q = lot.quantities
    if is_coated:
        text = f"Net {words.area(q.net_area)}"
        if q.return_area:
            text += f" + coated returns {words.area(q.return_area)}"
        if q.cove_band_area:
            text += f" − behind the cove {words.area(q.cove_band_area)}"
        text += f" = {words.area(q.coated_area)}" if q.return_area or q.cove_band_area else ""
    else:
        text = f"The system coats no wall: net {words.area(q.net_area)} is measured and has no price by area"
        text += f"; it is priced by {words.length(q.cove_length)} of cove" if q.cove_length else ""
    return AreaLine(
        system=lot.system,
        room=lot.room,
        room_label=lot.room_label or lot.room,
        net=q.net_area,
        returns=q.return_area,
        behind_cove=q.cove_band_area,
        coated=q.coated_area if is_coated else 0.0,
        is_coated=is_coated,
        arithmetic=(f"{text}.",),
    )


COVERING = ("coat", "mat", "broadcast", "cove", "panel", "sealant")
"""Kinds of step that lay something over a whole surface."""


def surface_of(step: Step) -> Surface:
    """Return the surface that a step is done on: what it says, or what its basis goes by.

    Examples
    --------
    >>> surface_of(Step(id="a", name="A", kind="work", basis="cove_length"))
    'cove'
    >>> surface_of(Step(id="a", name="A", kind="work", basis="coated_area"))
    'wall'
    """
    if step.surface is not None:
        return step.surface
    if step.kind == "cove" or step.basis.startswith("cove_"):
        return "cove"
    return "edge" if step.basis in ("termination_length", "base_length", "top_length") else "wall"


def covers(step: Step) -> bool:
    """Say whether a step covers its surface, so that the surface's clock starts anew."""
    return step.kind in COVERING or step.min_recoat is not None or step.max_recoat is not None


def most_between(step: Step) -> float | None:
    """Return the most hours from one coat of a step to its next."""
    return step.max_recoat if step.max_between is None else step.max_between


def pour_of(system: System, step: Step) -> tuple[Step, ...]:
    """Return the steps that are worked together with a step, wet into wet, in their order; often itself alone."""
    steps = system.steps
    at = steps.index(step)
    first = next(n for n in range(at, -1, -1) if not steps[n].into_wet)
    last = next((n for n in range(first + 1, len(steps)) if not steps[n].into_wet), len(steps))
    return steps[first:last]


def ruling(pour: Sequence[Step]) -> dict[Surface, Step]:
    """Return for each surface that steps worked together cover the one whose recoat window rules.

    That is the last that has a window, or the last of all.

    Examples
    --------
    >>> base = Step(id="base", name="Base", kind="coat", basis="net_area")
    >>> flake = Step(id="flake", name="Flake", kind="broadcast", basis="net_area", min_recoat=12.0)
    >>> {surface: step.id for surface, step in ruling([base, flake]).items()}
    {'wall': 'flake'}
    """
    found: dict[Surface, Step] = {}
    for step in pour:
        if covers(step):
            surface = surface_of(step)
            has_window = step.min_recoat is not None or step.max_recoat is not None
            old = found.get(surface)
            if has_window or old is None or (old.min_recoat is None and old.max_recoat is None):
                found[surface] = step
    return found
