"""Lines that are no building: dimension lines, and what stands on layers for other things."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
import shapely

from takeoff.sheet.text import TextLine
from takeoff.trace.layers import layer_role
from takeoff.trace.linework import Flags, Linework, Pieces

_DIMENSION = re.compile(r"[\d'\"′″’”/ .,½¼¾⅛⅜⅝⅞-]*\d[\d'\"′″’”/ .,½¼¾⅛⅜⅝⅞-]*(?:mm|cm|m|ft|in)?\.?", re.IGNORECASE)


def _is_dimension(text: str) -> bool:
    """Tell whether a text is a dimension; a bare number of up to three figures is rather that of a room or a door."""
    return _DIMENSION.fullmatch(text) is not None and not (text.isdecimal() and len(text) < 4)


def note_rows(pieces: Pieces, linework: Linework, lines: Sequence[TextLine]) -> Flags:
    """Tell which pieces of linework are dimension lines, or stand on a layer that the standard gives to other things.

    Parameters
    ----------
    pieces, linework
        The pieces of the linework, and the linework for their layers.
    lines
        The sheet's text: a line that runs along a written dimension, or ends at it, is its dimension line.
    """
    roles = [layer_role(name) for name in linework.layers]
    is_other = np.array([role in ("other", "pattern") for role in roles])[linework.layer]
    flags: Flags = is_other[pieces.path] if len(pieces.path) else np.zeros(0, bool)
    written = [line for line in lines if _is_dimension(line.text.strip())]
    if not written or not len(pieces.segments):
        return flags
    rows = np.flatnonzero(pieces.is_whole & ~flags)
    tree = shapely.STRtree(shapely.linestrings(pieces.segments[rows].reshape(-1, 2, 2)))
    boxes = shapely.box(*np.array([line.box_pt for line in written]).T)
    texts, hits = tree.query(boxes, predicate="dwithin", distance=0.8 * np.array([line.size for line in written]))
    d = pieces.segments[rows[hits], 2:] - pieces.segments[rows[hits], :2]
    length = np.hypot(d[:, 0], d[:, 1])
    size = np.array([(b[2] - b[0], b[3] - b[1]) for b in (line.box_pt for line in written)])[texts]
    runs_on = (size[:, 0] >= 0.8 * size[:, 1]) & (np.abs(d[:, 1]) < 0.05 * length)
    runs_up = (size[:, 1] >= 0.8 * size[:, 0]) & (np.abs(d[:, 0]) < 0.05 * length)
    is_skew = (np.abs(d) > 0.05 * length[:, None]).all(1)  # the box of slanting words tells nothing of their direction
    flags[rows[hits[(runs_on | runs_up | is_skew) & (length > size.min(1))]]] = True
    return flags
