"""The lengths to cut of a strip that comes in stock lengths: corner by corner where they are known."""

from __future__ import annotations

import math

from takeoff.model.cutting import Piece
from takeoff.model.figures import Elevation, Lot
from takeoff.model.systems import Step
from takeoff.system.mat import spare_count
from takeoff.system.spread import practical_spread
from takeoff.system.words import METRIC_FIRST, Words

CLOSE = 1e-6
"""Relative difference up to which pieces are those that were measured."""


def strip_pieces(lot: Lot, step: Step, length: float, *, words: Words = METRIC_FIRST) -> tuple[Piece, ...]:
    """Return the pieces of a strip in one room, spare ones for the step's loss last.

    Corners and edges of openings are pieces of their own where a face's elevation gives them and they add up to what
    was measured. Any other length, its loss added, is one piece a room, joined end to end from whole lengths and a
    rest.

    Parameters
    ----------
    lot
        Where the strip goes.
    step
        The step that takes it; an ``amount`` of two metres a metre is two pieces for each.
    length
        Length of strip before loss in m.
    words
        How the places of corners are written.
    """
    rate = 1.0 if step.amount is None else step.amount
    measured = [piece for face in lot.faces if face.elevation for piece in _measured(face.elevation, step.basis, words)]
    repeats = max(1, round(rate))
    total = math.fsum(piece.length for piece in measured) * repeats
    if math.isclose(rate, repeats, rel_tol=CLOSE) and math.isclose(total, length, rel_tol=CLOSE):
        pieces = [piece for piece in measured for _ in range(repeats)]
    else:
        return (Piece(label=lot.room_label or lot.room, length=length / practical_spread(1.0, loss=step.loss)),)
    longest = max(pieces, key=lambda piece: piece.length)
    spare = spare_count(len(pieces), step.loss)
    return (*pieces, *(Piece(label="spare", length=longest.length) for _ in range(spare)))


def _measured(elevation: Elevation, basis: str, words: Words) -> list[Piece]:
    """Return what a basis measured on a face, piece by piece; none where it does not go by pieces."""
    pieces: list[Piece] = []
    if basis in ("inside_corner_length", "outside_corner_length", "corner_length"):
        for corner in elevation.corners:
            kind = "inside" if corner.is_inside else "outside"
            if basis in (f"{kind}_corner_length", "corner_length"):
                label = f"{elevation.key} {kind} corner at {words.short_length(corner.station)}"
                pieces.append(Piece(label=label, length=corner.length))
    elif basis == "opening_edge_length":
        for opening in elevation.openings:
            high, wide = opening.z1 - opening.z0, opening.x1 - opening.x0
            sides = (("jamb", high), ("jamb", high), ("head", wide), *((("sill", wide),) if opening.z0 > 0.0 else ()))
            name = opening.source.mark or opening.source.kind
            pieces += [Piece(label=f"{elevation.key} {name}, {side}", length=size) for side, size in sides]
    return [piece for piece in pieces if piece.length > 0.0]
