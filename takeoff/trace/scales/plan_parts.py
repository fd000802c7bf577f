"""Plans of one sheet that each have a written scale under them, told apart by the empty paper between them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from takeoff.model.plan import Sheet
from takeoff.sheet.frame import Box, box_round
from takeoff.sheet.text import ScaleNote, TextLine, scale_notes
from takeoff.trace.drawing.linework import Floats, Linework

GAP_PT = 9.0
"""Points of empty paper that part two plans at the least: an eighth of an inch (judgement)."""
LONG, FRAME = 0.5, 0.8
"""Lines longer than the first part of a side of the sheet part nothing; the frame of its title block is as long as the
second (judgement)."""
TITLE_BLOCK = 0.7
"""Part of a side behind which such a line is taken for the edge of the title block (judgement)."""
_SAME = 1e-3


def parts_of(linework: Linework, lines: Sequence[TextLine], sheet: Sheet) -> list[tuple[Box, ScaleNote]]:
    """Return the parts of a sheet that have a scale each, in sheet points, with that; none where one holds for all.

    A scale stands under its plan (common practice, no source), so sheets are parted under the upper of two, or between
    two that stand side by side. Sheets that are displayed turned are not parted.
    """
    if sheet.rotation:
        return []
    size = np.array([sheet.width_pt, sheet.height_pt])
    drawn = np.sort(linework.lines.reshape(-1, 2, 2), axis=1).reshape(-1, 4)
    span = drawn[:, 2:] - drawn[:, :2]
    is_long = (span > LONG * size).any(1)
    edge = size.copy()
    for side in (0, 1):
        at = drawn[(span[:, side] < 1.0) & (span[:, 1 - side] > FRAME * size[1 - side]), side]
        edge[side] = at[(at > TITLE_BLOCK * size[side])].min(initial=size[side])
    boxes = np.concatenate([drawn[~is_long], np.array([line.box_pt for line in lines]).reshape(-1, 4)])
    boxes = boxes[(boxes[:, :2] < edge).all(1)]
    notes = [note for note in scale_notes(list(lines)) if note.box_pt[0] < edge[0] and note.box_pt[1] < edge[1]]
    return _parted(boxes, notes) if len(_scales(notes)) > 1 else []


def _scales(notes: Sequence[ScaleNote]) -> set[int]:
    return {round(np.log(note.m_per_pt) / _SAME) for note in notes}


def _parted(boxes: Floats, notes: Sequence[ScaleNote]) -> list[tuple[Box, ScaleNote]]:
    """Part what is drawn until each part has one scale; none where a part cannot be parted."""
    if len(_scales(notes)) == 1:
        return [(box_round(map(tuple, boxes.tolist())), notes[0])]
    for side in (1, 0):
        for place in _gaps(boxes, side):
            before = [note for note in notes if note.box_pt[side + 2] <= place]
            after = [note for note in notes if note not in before]
            if before and after and not _scales(before) & _scales(after):
                low = boxes[:, side + 2] <= place
                parts = [_parted(boxes[low], before), _parted(boxes[~low], after)]
                return parts[0] + parts[1] if all(parts) else []
    return []


def _gaps(boxes: Floats, side: int) -> list[float]:
    """Return the middles of the empty strips across what is drawn, from the start of the sheet."""
    spans = boxes[np.argsort(boxes[:, side])][:, [side, side + 2]]
    reach = np.maximum.accumulate(spans[:, 1])
    middles: Floats = (reach[:-1] + spans[1:, 0]) / 2
    return [float(middle) for middle in middles[spans[1:, 0] - reach[:-1] >= GAP_PT]]
