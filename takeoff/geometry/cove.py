"""An integral cove in a right angle: its girth and its section. Lengths in metres, sections in m².

The cove runs up one leg by ``height`` and out along the other by ``toe``; a fillet of ``radius`` joins them.
"""

from __future__ import annotations

import math


def fillet_section(radius: float) -> float:
    """Return the section in m² between a right angle and the fillet of ``radius`` in it, (1 − π/4) r².

    The square on the radius less a quarter disc.

    Examples
    --------
    >>> round(fillet_section(0.025) * 1e6, 4)
    134.1261
    """
    return (1.0 - math.pi / 4.0) * radius**2


def cove_girth(height: float, toe: float, radius: float) -> float:
    """Return the exposed girth in m of a cove, (h − r) + (t − r) + πr/2.

    Parameters
    ----------
    height, toe
        Legs in m, measured from the corner of the finished faces.
    radius
        Fillet radius in m, at most the shorter leg.

    Examples
    --------
    >>> round(cove_girth(0.100, 0.100, 0.025), 7)
    0.1892699
    """
    return (height - radius) + (toe - radius) + math.pi * radius / 2.0


def cove_section(height: float, toe: float, radius: float, thickness: float) -> float:
    """Return the section in m² of a cove's mortar, b(h + t − b) + (1 − π/4) r².

    Legs of thickness b meet in a corner square that belongs to both and counts once.

    Parameters
    ----------
    height, toe
        Legs in m, measured from the corner of the bare wall and floor.
    radius
        Fillet radius in m of the finished face.
    thickness
        Thickness b of both legs in m, at most the shorter leg; 0 leaves the fillet alone.

    Examples
    --------
    A litre and three tenths per metre of cove:

    >>> round(cove_section(0.100, 0.100, 0.025, 0.006) * 1000, 6)
    1.298126
    """
    return thickness * (height + toe - thickness) + fillet_section(radius)
