"""Setting the scale of a sheet or of a region on it."""

from __future__ import annotations

import math
import statistics
from collections.abc import Collection, Sequence
from contextlib import suppress
from dataclasses import replace
from functools import partial

import shapely

from takeoff.actions.scale_basis import note_scale, of_one_set, scale_from_areas, with_reading, with_verdict, words_of
from takeoff.actions.sheet_places import MadeScale, free_region
from takeoff.apart import apart
from takeoff.errors import CalibrationError
from takeoff.job.edits import Batch, Edit, PutRegion, SetCalibration
from takeoff.job.store import JobStore
from takeoff.model.plan import Calibration, KnownDimension, ScaleRegion, Sheet
from takeoff.sheet.calibrate import (
    calibration_from_embedded,
    calibration_from_note,
    calibration_from_ratio,
    fit_calibration,
)
from takeoff.sheet.embedded import EmbeddedScale, embedded_scale
from takeoff.sheet.frame import Box
from takeoff.sheet.ocr import can_recognise, read_scanned_lines, scan_dpi
from takeoff.sheet.scales import parse_scale, ratio_of
from takeoff.sheet.text import TextLine, read_lines
from takeoff.trace.drawing.crowded import MANY, count_drawn, read_some_linework
from takeoff.trace.drawing.linework import Linework
from takeoff.trace.scales.grid_lines import GridLine, KnownGrid, read_grid
from takeoff.trace.scales.groups import ScaleVote, is_along, is_same, spread
from takeoff.trace.scales.lengths import PLACE_PT
from takeoff.trace.scales.scale_votes import Grids, read_parts, read_scale, read_scanned_scale
from takeoff.trace.scales.scale_weighing import ScaleReading, judge_scale
from takeoff.trace.texts.drawn_letters import read_drawn_letters
from takeoff.trace.texts.printed_sizes import read_printed_areas

PART_OUTLINE = "the outline of this part was drawn round its dimensions: check that it holds all of it"
RECOGNISED = "the letters of this sheet are drawn as lines, and its figures were recognised: check one of them"
FEW_TEXTS = 20
"""Lines of text up to which letters that are lines are recognised unasked: it takes up to a minute (judgement)."""
HAND_PICK_PT = 0.5
"""Standard uncertainty in points of a coordinate picked by hand, as runs will be on a sheet whose scale was read."""
MOST_ASKED, EVEN = 3, 0.001
"""Other sheets whose grid lines are asked for one scale, and by which part their two scales may differ (judgement)."""
MOST_DIMENSIONS = 8
"""Dimensions along each direction that a calibration is fitted to: the surest, which are the longest."""


def set_scale_points(
    store: JobStore, sheet: Sheet, dimensions: Sequence[KnownDimension], *, region: ScaleRegion | None = None
) -> Calibration:
    """Set the scale from known dimensions; it is weighed against the sheet's note and all that was read on it.

    Raises `CalibrationError` when a dimension has no length on paper or in the building, or an end of it lies off the
    sheet.
    """
    for x, y in (p for d in dimensions for p in (d.start_pt, d.end_pt)):
        if not sheet.holds((x, y)):
            raise CalibrationError(
                f"({x:g}, {y:g}) lies off the sheet of {sheet.width_pt:g} × {sheet.height_pt:g} points",
                remedy="Points are 1/72 inch from the unrotated page's top left corner, y down.",
                where=sheet.called,
            )
    note = None if region else note_scale(sheet)
    fitted = fit_calibration(sheet.id, dimensions, region=region.id if region else None, note_m_per_pt=note)
    return _set_stated(store, sheet, fitted, region)


def set_scale_ratio(store: JobStore, sheet: Sheet, ratio: str, *, region: ScaleRegion | None = None) -> Calibration:
    """Set the scale from a ratio as people write it, such as 1:50; it is weighed against all that the sheet shows.

    Raises `CalibrationError` when the text is not a ratio that a plan can have.
    """
    value = ratio_of(parse_scale(ratio))
    stated = calibration_from_ratio(sheet.id, value, region=region.id if region else None)
    return _set_stated(store, sheet, stated, region)


def set_scale_note(store: JobStore, sheet: Sheet, note: str, *, region: ScaleRegion | None = None) -> Calibration:
    """Set the scale from a written note, such as 1/4" = 1'-0"; it is weighed against all that the sheet shows.

    Raises `CalibrationError` when the note gives no scale.
    """
    parse_scale(note)  # what a person types is read whole or refused
    stated = calibration_from_note(sheet.id, note, region=region.id if region else None)
    return _set_stated(store, sheet, stated, region)


def set_scale_read(store: JobStore, sheet: Sheet, *, recognises: bool = True) -> tuple[Calibration, ...]:
    """Set the scale from what the sheet carries: measurements embedded in the PDF, else its dimensions and its note.

    Letters that are lines are recognised (`set_scale_scanned`) unless ``recognises`` is false: it may take a minute.
    Where the embedded measurements differ from part to part, the largest part gives the sheet's scale and the others
    become scale regions. A note that the dimensions and scale bars bear out is taken; where they contradict it and
    confirm each other, they are taken. Gives the calibrations, the sheet's first; each says what does not agree
    (``open_words``). Raises `CalibrationError` when the sheet carries none of them, or notes that differ and nothing
    that tells which is right.
    """
    taken, others = tuple(store.job.regions), _sure_sheets(store, sheet)
    is_recognised = recognises and sheet.kind == "vector"
    return put_scales(store, _read_whole(store.source(sheet.source), sheet, taken, others, is_recognised))


@apart
def _read_whole(
    data: bytes, sheet: Sheet, taken: Collection[str], others: Sequence[SureSheet], is_recognised: bool
) -> list[MadeScale]:
    read = read_or_recognise if is_recognised else read_scales
    linework, lines = read_some_linework(data, sheet), read_lines(data, sheet)
    return read(data, sheet, linework, lines, taken=taken, grids=partial(_grids_of, others))


def read_or_recognise(
    data: bytes,
    sheet: Sheet,
    linework: Linework,
    lines: Sequence[TextLine],
    *,
    taken: Collection[str] = (),
    grids: Grids = tuple,
) -> list[MadeScale]:
    """Read the scales of a vector sheet, else by the areas printed in its rooms, else by recognising its letters.

    A picture's are recognised at once.

    The parameters and the error are those of `read_scales`. Recognising takes up to a minute; it is left where there
    are texts, or a crowd of lines.
    """
    if sheet.kind != "vector":
        return [(None, recognised_scale(data, sheet))]
    try:
        return read_scales(data, sheet, linework, lines, taken=taken, grids=grids)
    except CalibrationError as refused:
        with suppress(CalibrationError):
            return [(None, scale_from_areas(data, sheet, read_printed_areas(lines), refused.message))]
        if not can_recognise():
            raise
        if len(lines) >= FEW_TEXTS or count_drawn(data, sheet) > MANY:
            look = f"If its figures are drawn as lines, try takeoff scale JOB {sheet.id} --scanned. {refused.remedy}"
            raise CalibrationError(refused.message, remedy=look, where=refused.where) from None
        return [(None, recognised_scale(data, sheet))]


SureSheet = tuple[bytes, Sheet, Calibration]
"""A plan file, a sheet of it, and the scale of that, which is sure."""


def _sure_sheets(store: JobStore, sheet: Sheet) -> list[SureSheet]:
    """Return the sheets of a job whose scale is sure, to be asked for their grid lines: the nearest ones."""
    if sheet.kind != "vector":
        return []
    sure = [c for c in store.job.calibrations.values() if c.sheet != sheet.id and tells_grid(c)]
    sure = [c for c in sure if store.job.sheets[c.sheet].kind == "vector"]
    sure.sort(key=lambda c: (store.job.sheets[c.sheet].source != sheet.source, abs(c.sheet - sheet.id)))
    asked = [(store.job.sheets[c.sheet], c) for c in sure[:MOST_ASKED]]
    plans = {sha256: store.source(sha256) for sha256 in {one.source for one, _ in asked}}  # each is read once
    return [(plans[one.source], one, c) for one, c in asked]


def _grids_of(others: Sequence[SureSheet]) -> list[KnownGrid]:
    return [known_grid(s, c, read_grid(read_some_linework(data, s), read_lines(data, s))) for data, s, c in others]


def tells_grid(calibration: Calibration) -> bool:
    """Tell whether a scale is sure, and of a whole sheet: then its grid lines tell the scale of others."""
    return calibration.region is None and not words_of(calibration)[0] and abs(calibration.anisotropy) < EVEN


def known_grid(sheet: Sheet, calibration: Calibration, lines: tuple[GridLine, ...]) -> KnownGrid:
    """Return the grid lines of a sheet whose scale is sure."""
    return KnownGrid(called=sheet.called, m_per_pt=calibration.mx, u=calibration.u_scale, lines=lines)


def read_scales(
    data: bytes,
    sheet: Sheet,
    linework: Linework,
    lines: Sequence[TextLine],
    *,
    taken: Collection[str] = (),
    grids: Grids = tuple,
) -> list[MadeScale]:
    """Read the scales of a vector sheet, as `set_scale_read` sets them; ``taken`` are ids of regions that there are.

    ``grids`` gives the grid lines of the set's sheets whose scale is sure. Raises `CalibrationError` as
    `set_scale_read`.
    """
    embedded = embedded_scale(data, sheet)
    lines = [*lines, *read_drawn_letters(linework, lines, sheet)]
    reading = read_scale(data, sheet, linework, lines, grids)
    if reading.reader == "embedded":
        return _embedded(sheet, embedded, reading)
    plans = read_parts(linework, lines, sheet, reading)
    if plans:
        return _of_plans(taken, sheet, plans)
    return [(None, _read_calibration(sheet, reading)), *_apart(taken, sheet, reading)]


def set_scale_scanned(store: JobStore, sheet: Sheet) -> tuple[Calibration, ...]:
    """Set the scale of a picture or a scan from the text on it, which takes a minute or more on a large sheet.

    Dimensions and scale bars that confirm each other are taken even where a note agrees, as a scanner stretches. Gives
    the sheet's calibration alone; it says what does not agree (``open_words``). Raises `InputError` when the OCR
    library is not installed, `CalibrationError` when nothing was read that a second reading confirms.
    """
    return put_scales(store, [(None, _recognise_apart(store.source(sheet.source), sheet))])


def recognised_scale(data: bytes, sheet: Sheet) -> Calibration:
    """Return the scale that recognised text gives a scan, or a drawing whose letters are lines.

    Raises `CalibrationError` as `set_scale_scanned`.
    """
    reading = _recognise(data, sheet)
    is_sure = reading.main is not None and reading.main.is_sure  # figures that were misread do not agree
    if sheet.kind == "vector" and reading.m_per_pt is not None and not (is_sure and reading.is_borne_out):
        reading = replace(reading, doubts=(*reading.doubts, RECOGNISED))
    votes = reading.agreeing
    if len(votes) > 1 and reading.m_per_pt is not None:
        return with_reading(_fitted(sheet, votes, reading.m_per_pt), reading, reading.doubts)
    return _read_calibration(sheet, reading, is_recognised=True)


_recognise_apart = apart(recognised_scale)


def _recognise(data: bytes, sheet: Sheet) -> ScaleReading:
    lines = read_scanned_lines(data, sheet)
    if sheet.kind == "vector":
        if not any(sign.isdigit() for line in lines for sign in line.text):
            lines = read_scanned_lines(data, replace(sheet, dpi=scan_dpi(sheet) / 2))  # its letters may be very large
        lines += read_lines(data, sheet)
    return read_scanned_scale(data, sheet, lines, scan_dpi(sheet))


def _embedded(sheet: Sheet, embedded: Sequence[EmbeddedScale], reading: ScaleReading) -> list[MadeScale]:
    """Make calibrations of a file's measurements: the sheet's of the largest part, regions of those that differ."""
    main = max(embedded, key=lambda part: shapely.Polygon(part.outline_pt).area)
    made: list[MadeScale] = [(None, with_reading(calibration_from_embedded(sheet.id, main), reading, reading.doubts))]
    # the first of the list wins where parts overlap; later regions win in a job, so they go in the other way round
    for number, part in enumerate(reversed([e for e in embedded if not _same_scale(e, main)]), start=1):
        region = ScaleRegion(id=f"{sheet.id}-{part.name or number}", sheet=sheet.id, outline_pt=tuple(part.outline_pt))
        made.append((region, calibration_from_embedded(sheet.id, part, region=region.id)))
    return made


def _of_plans(there: Collection[str], sheet: Sheet, plans: Sequence[tuple[Box, ScaleReading]]) -> list[MadeScale]:
    """Make the sheet's scale of that of its largest plan, and a region of each that has another."""
    ordered = sorted(plans, key=lambda plan: -shapely.box(*plan[0]).area)
    made: list[MadeScale] = [(None, _read_calibration(sheet, ordered[0][1]))]
    for box, reading in ordered[1:]:
        read = _read_calibration(sheet, reading)
        if not is_same(read.mx, made[0][1].mx):
            region = free_region(sheet, box, there, made)
            made.append((region, replace(read, region=region.id)))
    return made


def _apart(there: Collection[str], sheet: Sheet, reading: ScaleReading) -> list[MadeScale]:
    """Make a region of each part of a sheet whose dimensions confirm each other at a scale of their own."""
    made: list[MadeScale] = []
    for group in reading.parts:
        region = free_region(sheet, group.box.bounds, there, made)
        fitted = replace(_fitted(sheet, group.votes, group.m_per_pt), region=region.id)
        drawn = replace(reading, others=(), votes=tuple(replace(vote, agrees=True) for vote in group.votes))
        made.append((region, with_reading(fitted, drawn, (PART_OUTLINE,))))
    return made


def _read_calibration(sheet: Sheet, reading: ScaleReading, *, is_recognised: bool = False) -> Calibration:
    """Make a calibration of what was read, or recognised, on a sheet without an embedded measurement."""
    if reading.reader == "note":
        note = calibration_from_ratio(sheet.id, ratio_of(reading.m_per_pt or 0.0))
        return with_reading(replace(note, source="note", stated=reading.stated), reading, reading.doubts)
    if reading.m_per_pt is not None:
        return with_reading(_fitted(sheet, reading.agreeing, reading.m_per_pt), reading, reading.doubts)
    remedy = f"Set it yourself: takeoff scale JOB {sheet.id} --points X1,Y1 X2,Y2 --length L (or --note, --ratio)."
    found = "it carries neither an embedded measurement nor a written scale, nor dimensions that tell one"
    if sheet.kind == "image" and is_recognised:
        found = "a picture carries no scale that can be read"
    elif reading.signs.letters_m is None:
        found = "no text on it can be read: its letters are drawn as lines, or it is a picture"
        if sheet.kind != "vector" or not can_recognise():
            remedy = f"Try takeoff scale JOB {sheet.id} --scanned, which recognises letters. {remedy}"
    raise CalibrationError("; ".join(reading.doubts) or found, remedy=remedy, where=sheet.called)


def _fitted(sheet: Sheet, agreeing: Sequence[ScaleVote], m_per_pt: float) -> Calibration:
    """Fit a calibration to the surest of the drawn lengths that agree."""
    votes = _longest_each_way(agreeing)
    known = [vote.known for vote in votes if vote.known is not None]
    close = spread(agreeing, m_per_pt)
    rounding = close * statistics.median(vote.step for vote in votes) / math.sqrt(12)
    is_even = sheet.kind == "vector"
    fitted = fit_calibration(sheet.id, known, pick=close * PLACE_PT, length_u=rounding, is_even=is_even)
    return replace(fitted, pick=HAND_PICK_PT)


def _longest_each_way(votes: Sequence[ScaleVote]) -> list[ScaleVote]:
    """Pick the surest lengths along the sheet and as many up it: short ones add rounding and no knowledge."""
    picked: list[ScaleVote] = []
    for way_along in (True, False):
        way = [vote for vote in votes if vote.known is not None and is_along(vote) == way_along]
        picked.extend(way[:MOST_DIMENSIONS])
    return [vote for vote in picked if vote.u <= 3 * picked[0].u] if len(picked) > 2 else picked


def _same_scale(one: EmbeddedScale, other: EmbeddedScale) -> bool:
    return math.isclose(one.mx, other.mx, rel_tol=1e-6) and math.isclose(one.my, other.my, rel_tol=1e-6)


def _set_stated(store: JobStore, sheet: Sheet, calibration: Calibration, region: ScaleRegion | None) -> Calibration:
    """Set a scale that a person states, with what the sheet says of it."""
    judged: tuple[bool, tuple[str, ...], tuple[float, ...]] = (False, (), ())
    if sheet.kind == "vector":
        reading = _read_for_verdict(store.source(sheet.source), sheet, _sure_sheets(store, sheet))
        scale = math.sqrt(calibration.mx * calibration.my)
        judged = judge_scale(reading, scale, calibration.u_scale, region.outline_pt if region is not None else None)
    return put_scales(store, [(region, with_verdict(calibration, *judged))])[0]


@apart
def _read_for_verdict(data: bytes, sheet: Sheet, others: Sequence[SureSheet]) -> ScaleReading:
    linework, lines = read_some_linework(data, sheet), read_lines(data, sheet)
    lines = [*lines, *read_drawn_letters(linework, lines, sheet)]
    return read_scale(data, sheet, linework, lines, partial(_grids_of, others))


def put_scales(store: JobStore, made: Sequence[MadeScale]) -> tuple[Calibration, ...]:
    """Put calibrations into the job as one step, and what they tell of other sheets of the set with them."""
    edits: list[Edit] = [
        PutRegion(region=region)
        for region, _ in made
        if region is not None and store.job.regions.get(region.id) != region
    ]
    weighed = of_one_set(store.job, [calibration for _, calibration in made])
    edits += [SetCalibration(calibration=calibration) for calibration in weighed]
    title = edits[0].apply(store.job).label if len(made) == 1 else "Read the sheet's scales"
    store.do(edits[0] if len(edits) == 1 else Batch(title=title, edits=tuple(edits)))
    keys = [(calibration.sheet, calibration.region) for _, calibration in made]
    return tuple(next(c for c in weighed if (c.sheet, c.region) == key) for key in keys)
