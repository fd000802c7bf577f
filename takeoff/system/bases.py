"""What a step is counted by: the figure behind each basis, and how it is written."""

from __future__ import annotations

from collections.abc import Sequence

from takeoff.model.costs import AreaLine, Arithmetic
from takeoff.model.figures import Lot, Quantities
from takeoff.model.systems import Basis, Catalogue, Step, Substrate, System
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
        arithmetic=Arithmetic(lines=(f"{text}.",)),
    )
