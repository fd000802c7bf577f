"""The wall that the coats of a system cover in a room: from what is measured to what is ordered and worked on."""

from __future__ import annotations

from collections.abc import Sequence

from takeoff.model.costs import AreaLine, Arithmetic
from takeoff.model.figures import Lot
from takeoff.model.systems import Catalogue
from takeoff.system.bases import coats_walls
from takeoff.system.words import METRIC_FIRST, Words


def wall_areas(lots: Sequence[Lot], catalogue: Catalogue, *, words: Words = METRIC_FIRST) -> tuple[AreaLine, ...]:
    """Set out the coated area of every lot: net area, with coated returns, less the band that the cove covers.

    A system without wall coats covers nothing; its line says what it is priced by.

    Parameters
    ----------
    lots
        One per room and system.
    catalogue
        The systems.
    words
        How the arithmetic writes figures.

    Raises
    ------
    CatalogueError
        When a lot's system is not in the catalogue.
    """
    return tuple(_line(lot, is_coated=coats_walls(catalogue.system(lot.system)), words=words) for lot in lots)


def _line(lot: Lot, *, is_coated: bool, words: Words) -> AreaLine:
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
