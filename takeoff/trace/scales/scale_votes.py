"""The readers of a sheet's scale: each reading is a vote.

Readers: written *notes*, *dimensions*, graphic *bars*, and the measurement *embedded* in the file.
`takeoff.trace.scales.scale_weighing` says what the votes come to.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import cv2
import numpy as np
import shapely

from takeoff.errors import CalibrationError
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.calibrate import U_EMBEDDED, U_STATED
from takeoff.sheet.embedded import GUESS, EmbeddedScale, embedded_scale
from takeoff.sheet.frame import Box, box_round, displayed_size, displayed_to_sheet
from takeoff.sheet.picture import is_size_known
from takeoff.sheet.render import darkest, render_array
from takeoff.sheet.scales import parse_scale_note, ratio_text
from takeoff.sheet.text import ScaleNote, TextLine, scale_notes
from takeoff.trace.drawing.crowded import read_some_linework
from takeoff.trace.drawing.linework import Floats, Linework, empty_linework
from takeoff.trace.drawing.raster_strokes import find_edges, find_strokes
from takeoff.trace.scales.dimensions import find_dimensions
from takeoff.trace.scales.grid_lines import KnownGrid, grid_lengths, read_grid
from takeoff.trace.scales.groups import ScaleVote, is_same
from takeoff.trace.scales.ink_marks import find_marks
from takeoff.trace.scales.lengths import PLACE_PT, DrawnLength
from takeoff.trace.scales.room_sizes import faces_of, room_sizes_alone, room_sizes_at
from takeoff.trace.scales.scale_bars import find_scale_bars
from takeoff.trace.scales.scale_weighing import ScaleReading, weigh_votes
from takeoff.trace.scales.signs import Signs, read_signs, scale_on_paper

Grids = Callable[[], Sequence[KnownGrid]]
"""What gives the grids of other sheets of the set, where a scale is in doubt."""


def read_scale(
    data: bytes, sheet: Sheet, linework: Linework, lines: Sequence[TextLine], grids: Grids = tuple
) -> ScaleReading:
    """Read the scale of a sheet from all that tells it; ``data`` is the plan file, for a measurement embedded in it.

    ``grids`` gives the grid lines of the set's sheets whose scale is sure. Raises `SheetError` when the file
    cannot be read.
    """
    signs = read_signs(linework, lines)
    stated = [
        vote
        for vote in _embedded_votes(embedded_scale(data, sheet))
        if not (vote.text.startswith(GUESS) and signs.doors_fit(vote.m_per_pt) is False)
    ]
    if not any(vote.is_bare for vote in stated):  # a page that was made of a drawing is not what its notes speak of
        stated += _note_votes(sheet, lines)
    return _weighed(stated, linework, lines, signs, grids)


def _weighed(
    stated: Sequence[ScaleVote],
    linework: Linework,
    lines: Sequence[TextLine],
    signs: Signs,
    grids: Grids = tuple,
    edges: Floats | None = None,
    place_pt: float = PLACE_PT,
) -> ScaleReading:
    """Weigh what is stated with what is drawn, of a scan with the ``edges`` of its ink, and how well it tells places.

    Where that leaves a doubt, grid lines of other sheets are asked, then the sizes that are printed in rooms.
    """
    drawn = [*find_dimensions(linework, lines, place_pt), *find_scale_bars(linework, lines)]
    votes = [*stated, *map(_drawn_vote, drawn)]
    reading = weigh_votes(votes, signs)
    if reading.m_per_pt is None or reading.doubts:
        grid = grid_lengths(read_grid(linework, lines), grids())
        votes += map(_drawn_vote, grid)
        reading = weigh_votes(votes, signs) if grid else reading
    if reading.m_per_pt is not None and not reading.doubts:
        return reading
    faces = faces_of(linework) if edges is None else edges
    if reading.m_per_pt is not None:
        borne = room_sizes_at(faces, lines, reading.m_per_pt, reading.u if reading.reader != "note" else 0.0)
        if borne:
            return weigh_votes([*votes, *map(_drawn_vote, borne)], signs)
    sizes, is_sure = room_sizes_alone(faces, lines, signs)
    if not sizes:
        return reading
    told = weigh_votes([*votes, *map(_drawn_vote, sizes)], signs)
    return told if is_sure else replace(told, doubts=(*told.doubts, SIZES))


def read_parts(
    linework: Linework, lines: Sequence[TextLine], sheet: Sheet, reading: ScaleReading
) -> list[tuple[Box, ScaleReading]]:
    """Read the plans of a sheet each by itself, where paper between them tells them and their written scales apart.

    ``reading`` is that of the whole sheet. Nothing where lengths contradict one of the scales, or bear out none.
    """
    found: list[tuple[Box, ScaleReading]] = []
    for box, note in parts_of(linework, lines, sheet):
        part = shapely.box(*box)
        drawn = [
            v for v in reading.votes if v.known and part.covers(shapely.MultiPoint([v.known.start_pt, v.known.end_pt]))
        ]
        stated = _note_vote(note.text, note.box_pt[:2], sheet)
        own = weigh_votes([*filter(None, [stated]), *drawn], Signs(stretch=reading.signs.stretch))
        if own.reader != "note" or own.parts or any("the dimensions give" in doubt for doubt in own.doubts):
            return []
        found.append((box, own))
    return found if any(own.is_borne_out for _, own in found) else []


def read_scanned_scale(data: bytes, sheet: Sheet, lines: Sequence[TextLine], dpi: float) -> ScaleReading:
    """Read the scale of a scan, or of a drawing whose letters are lines, from its note, dimensions and scale bars.

    What is read from a scan is a proposal: a lone dimension is passed over, and a lone note is doubted. ``data`` is the
    plan file, ``lines`` the text that was read on the sheet, in sheet points, and ``dpi`` the pixels per inch at which
    the strokes of a scan are looked for. Raises `SheetError` when the file cannot be read.
    """
    linework, edges = empty_linework(), None
    is_drawn = sheet.kind == "vector"  # with letters that are lines
    if any(character.isdigit() for line in lines for character in line.text):
        if is_drawn:
            linework = _without_letters(data, sheet, lines)
        else:
            linework, edges = _strokes_of_scan(data, sheet, dpi)
    signs = replace(
        read_signs(linework, lines), is_size_assumed=sheet.kind == "image" and not is_size_known(data, sheet.page)
    )
    place_pt = PLACE_PT if is_drawn else max(PLACE_PT, PLACE_PX * 72.0 / dpi)
    reading = _weighed(_note_votes(sheet, lines), linework, lines, signs, edges=edges, place_pt=place_pt)
    if reading.reader == "dimension" and len(reading.agreeing) == 1:
        found = (
            f"one dimension alone, “{reading.agreeing[0].text}”, was read on the scan, and nothing confirms it; by it "
            f"the scale were {ratio_text(reading.m_per_pt or 0.0)}"
        )
        return replace(reading, m_per_pt=None, u=0.0, reader=None, doubts=(*reading.doubts[:-1], found))
    is_of_part = not is_drawn and reading.main is not None and not signs.spans_all(reading.main)
    if is_of_part and reading.reader == "dimension" and not reading.doubts:  # no doors tell on a scan what is beside
        return replace(reading, doubts=(PART,))
    return reading


def _without_letters(data: bytes, sheet: Sheet, lines: Sequence[TextLine]) -> Linework:
    """Read what is drawn on a sheet without the strokes of the letters that were read: they would be marks."""
    linework = read_some_linework(data, sheet)
    ends = linework.lines.reshape(-1, 2, 2)
    is_letter = np.zeros(len(ends), bool)
    for x0, y0, x1, y1 in (line.box_pt for line in lines):
        is_letter |= ((ends >= (x0, y0)) & (ends <= (x1, y1))).all(axis=(1, 2))
    return replace(linework, lines=linework.lines[~is_letter], line_path=linework.line_path[~is_letter])


def _strokes_of_scan(data: bytes, sheet: Sheet, dpi: float) -> tuple[Linework, Floats]:
    """Return the straight strokes of a scan as linework, a dot at each mark on them, and the edges of its ink."""
    levels = 1.0 - np.arange(256, dtype=np.float32) / 255.0
    dark = np.asarray(cv2.LUT(darkest(render_array(data, sheet, dpi=dpi)), levels), np.float32)
    (across, down), (height, width) = displayed_size(sheet), dark.shape

    def on_sheet(found: Floats) -> Floats:
        points = (found.reshape(-1, 2) * (across / width, down / height)).tolist()
        return np.array([displayed_to_sheet(sheet, x, y) for x, y in points], np.float64).reshape(found.shape)

    strokes = find_strokes(dark)
    placed, marks = on_sheet(strokes), on_sheet(find_marks(dark, strokes, dpi))
    turns = np.arange(DOT_CORNERS) * 2.0 * np.pi / DOT_CORNERS
    dots = marks[:, None] + DOT_PT * np.stack([np.cos(turns), np.sin(turns)], axis=1)
    linework = replace(
        empty_linework(),
        lines=placed,
        line_path=np.zeros(len(placed), np.int64),
        ring_points=dots.reshape(-1, 2),
        ring_start=np.arange(len(marks) + 1) * DOT_CORNERS,
        ring_path=np.zeros(len(marks), np.int64),
        stroked=np.ones(1, bool),
        filled=np.zeros(1, bool),
        width=np.zeros(1),
        colour=np.zeros((1, 3)),
        fill=np.zeros((1, 3)),
        dashed=np.zeros(1, bool),
        layer=np.zeros(1, np.int64),
    )
    return linework, on_sheet(find_edges(dark))


def _embedded_votes(embedded: Sequence[EmbeddedScale]) -> list[ScaleVote]:
    """Return the vote of the largest part that carries a measurement."""
    if not embedded:
        return []
    largest = max(embedded, key=lambda part: shapely.Polygon(part.outline_pt).area)
    return [
        ScaleVote(
            reader="embedded",
            m_per_pt=math.sqrt(largest.mx * largest.my),
            u=U_EMBEDDED,
            text=largest.hearsay or largest.stated,
            at_pt=largest.outline_pt[0],
            is_bare=bool(largest.hearsay),
        )
    ]


def _note_votes(sheet: Sheet, lines: Sequence[TextLine]) -> list[ScaleVote]:
    """Return the vote of the title block's scale, else of each scale that is written on the sheet."""
    own = _note_vote(sheet.scale_note, (0.0, 0.0), sheet) if sheet.scale_note else None
    if own is not None:
        return [own]
    votes: list[ScaleVote] = []
    notes = {id(line) for line in lines if scale_notes([line]) or scale_on_paper(line.text, sheet)}
    for line in lines:
        vote = _note_vote(line.text, line.box_pt[:2], sheet) if id(line) in notes else None
        if vote is not None and not any(is_same(vote.m_per_pt, other.m_per_pt) for other in votes):
            votes.append(vote)
    return votes


def _note_vote(text: str, at_pt: Point, sheet: Sheet) -> ScaleVote | None:
    """Return the vote of a written scale; one for another paper than the sheet's is turned into that on this one."""
    named, factor = scale_on_paper(text, sheet) or (text, 1.0)
    try:
        scale = factor * parse_scale_note(named)
    except CalibrationError:
        return None
    if factor != 1.0:
        text = f"{text}, which on paper of this size is {ratio_text(scale)}"
    return ScaleVote(reader="note", m_per_pt=scale, u=U_STATED, text=text, at_pt=at_pt)


def _drawn_vote(drawn: DrawnLength) -> ScaleVote:
    return ScaleVote(
        reader=drawn.reader,
        m_per_pt=drawn.m_per_pt,
        u=drawn.u,
        text=drawn.text,
        at_pt=drawn.box_pt[:2],
        known=drawn.known,
        step=drawn.step,
        is_bare=drawn.is_bare,
    )


SIZES = "few sizes printed in rooms tell the scale: check it with a dimension"
PART = "the dimensions are of a part of what is drawn, and the rest may have a scale of its own: check it there"
PLACE_PX = 0.6
"""Standard uncertainty in pixels of the place of a mark on a scan (measured on a picture of 85 dpi)."""
DOT_PT, DOT_CORNERS = 0.6, 6
"""How a mark on a scan is handed on: as a dot of this radius, with so many corners."""
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
    boxes = np.column_stack([boxes, np.arange(len(boxes)) < len(boxes) - len(lines)])[(boxes[:, :2] < edge).all(1)]
    notes = [note for note in scale_notes(list(lines)) if note.box_pt[0] < edge[0] and note.box_pt[1] < edge[1]]
    return _parted(boxes, notes) if len(_scales(notes)) > 1 else []


def _scales(notes: Sequence[ScaleNote]) -> set[int]:
    return {round(np.log(note.m_per_pt) / _SAME) for note in notes}


def _parted(boxes: Floats, notes: Sequence[ScaleNote]) -> list[tuple[Box, ScaleNote]]:
    """Part what is drawn until each part has one scale; none where a part cannot be parted, or is text alone.

    Behind each box (x0, y0, x1, y1) stands whether it is drawn or text.
    """
    if len(_scales(notes)) == 1:
        return [(box_round(map(tuple, boxes[:, :4].tolist())), notes[0])] if boxes[:, 4].any() else []
    for side in (1, 0):
        for place in _gaps(boxes, side):
            before = [note for note in notes if note.box_pt[side + 2] <= place]
            after = [note for note in notes if note not in before]
            if before and after and not _scales(before) & _scales(after):
                low = boxes[:, side + 2] <= place
                parts = [_parted(boxes[low], before), _parted(boxes[~low], after)]
                if all(parts):
                    return parts[0] + parts[1]
    return []


def _gaps(boxes: Floats, side: int) -> list[float]:
    """Return the middles of the empty strips across what is drawn, from the start of the sheet."""
    spans = boxes[np.argsort(boxes[:, side])][:, [side, side + 2]]
    reach = np.maximum.accumulate(spans[:, 1])
    middles: Floats = (reach[:-1] + spans[1:, 0]) / 2
    return [float(middle) for middle in middles[spans[1:, 0] - reach[:-1] >= GAP_PT]]
