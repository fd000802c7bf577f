"""Setting the scale of a sheet or of a region on it."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import replace

import shapely

from takeoff.errors import CalibrationError, InputError
from takeoff.job.edits import Batch, Edit, PutRegion, SetCalibration
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.model.open_points import Basis
from takeoff.model.plan import Calibration, KnownDimension, Point, ScaleRegion, Sheet
from takeoff.sheet.calibrate import (
    calibration_from_embedded,
    calibration_from_note,
    calibration_from_ratio,
    fit_calibration,
)
from takeoff.sheet.ocr import read_scanned_lines, scan_dpi
from takeoff.sheet.scales import EmbeddedScale, embedded_scale, parse_scale_note, ratio_of, ratio_text
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.scales.lengths import PLACE_PT
from takeoff.trace.scales.scale_votes import read_scale, read_scanned_scale
from takeoff.trace.scales.scale_weighing import ScaleReading, ScaleVote

AGREE = 0.005
"""Embedded and written scales closer than this are one (common practice, no source)."""
HAND_PICK_PT = 0.5
"""Standard uncertainty in points of a coordinate picked by hand, as runs will be on a sheet whose scale was read."""
MOST_DIMENSIONS = 8
"""Dimensions along each direction that a calibration is fitted to: the surest, which are the longest."""


def make_region(job: Job, sheet: Sheet, outline_pt: Sequence[Point], name: str = "") -> ScaleRegion:
    """Make a scale region from its outline in sheet points; without a name it is called after sheet and count.

    Raises
    ------
    InputError
        When the outline is no area, crosses itself, or the name belongs to a region of another sheet.
    """
    remedy = "Give three or more points X,Y around the detail, in order."
    if len(outline_pt) < 3:
        raise InputError(f"a scale region of {len(outline_pt)} points", remedy=remedy)
    outline = shapely.Polygon(outline_pt)
    if not outline.is_valid or outline.area == 0:
        raise InputError("the outline of the scale region crosses itself or has no area", remedy=remedy)
    if name in job.regions and job.regions[name].sheet != sheet.id:
        raise InputError(f'the scale region "{name}" is on sheet {job.regions[name].sheet}', remedy="Choose a name.")
    count = 1
    while not name:
        free = f"{sheet.id}-{count}"
        name, count = ("" if free in job.regions else free), count + 1
    return ScaleRegion(id=name, sheet=sheet.id, outline_pt=tuple(outline_pt))


def find_region(job: Job, sheet: Sheet, name: str) -> ScaleRegion:
    """Return a scale region of a sheet by its name.

    Raises
    ------
    InputError
        When the sheet has none of that name.
    """
    found = job.regions.get(name)
    if found is None or found.sheet != sheet.id:
        known = ", ".join(r.id for r in job.regions.values() if r.sheet == sheet.id) or "none"
        raise InputError(
            f'sheet {sheet.id} has no scale region "{name}"',
            remedy=f'Known: {known}. Outline a new one as "X1,Y1 X2,Y2 X3,Y3".',
        )
    return found


def set_scale_points(
    store: JobStore,
    sheet: Sheet,
    dimensions: Sequence[KnownDimension],
    *,
    region: ScaleRegion | None = None,
    who: str,
    at: str,
) -> Calibration:
    """Set the scale from known dimensions; the sheet's own scale note is compared with them.

    Raises
    ------
    CalibrationError
        When a dimension has no length on paper or in the building, or an end of it lies off the sheet.
    """
    for x, y in (p for d in dimensions for p in (d.start_pt, d.end_pt)):
        if not sheet.holds((x, y)):
            raise CalibrationError(
                f"({x:g}, {y:g}) lies off the sheet of {sheet.width_pt:g} × {sheet.height_pt:g} points",
                remedy="Points are 1/72 inch from the unrotated page's top left corner, y down.",
                where=f"sheet {sheet.id}",
            )
    note = None if region else _note_scale(sheet)
    fitted = fit_calibration(sheet.id, dimensions, region=region.id if region else None, note_m_per_pt=note)
    return _set(store, fitted, region, who=who, at=at)


def set_scale_ratio(
    store: JobStore, sheet: Sheet, ratio: str, *, region: ScaleRegion | None = None, who: str, at: str
) -> Calibration:
    """Set the scale from a ratio as people write it, such as 1:50.

    Raises
    ------
    CalibrationError
        When the text is not a ratio that a plan can have.
    """
    value = ratio_of(parse_scale_note(ratio))
    stated = calibration_from_ratio(sheet.id, value, region=region.id if region else None)
    return _set(store, stated, region, who=who, at=at)


def set_scale_note(
    store: JobStore, sheet: Sheet, note: str, *, region: ScaleRegion | None = None, who: str, at: str
) -> Calibration:
    """Set the scale from a written note, such as 1/4" = 1'-0".

    Raises
    ------
    CalibrationError
        When the note gives no scale.
    """
    stated = calibration_from_note(sheet.id, note, region=region.id if region else None)
    return _set(store, stated, region, who=who, at=at)


def set_scale_read(
    store: JobStore, sheet: Sheet, *, who: str, at: str
) -> tuple[tuple[Calibration, ...], tuple[str, ...]]:
    """Set the scale from what the sheet carries: measurements embedded in the PDF, else its dimensions and its note.

    Where the embedded measurements differ from part to part, the largest part gives the sheet's scale and the others
    become scale regions. A note that the dimensions and scale bars bear out is taken; where they contradict it and
    confirm each other, they are taken.

    Returns
    -------
    tuple of Calibration
        The sheet's first.
    tuple of str
        What does not agree, with both figures.

    Raises
    ------
    CalibrationError
        When the sheet carries none of them, or notes that differ and nothing that tells which is right.
    """
    data = store.source(sheet.source)
    embedded = embedded_scale(data, sheet)
    reading = read_scale(data, sheet, read_linework(data, sheet), read_lines(data, sheet))
    if not embedded:
        calibration, doubts = _read_calibration(store.job, sheet, reading)
        return (_set(store, _doubted(calibration, doubts), None, who=who, at=at),), doubts
    main = max(embedded, key=lambda e: abs(shapely.Polygon(e.outline_pt).area))
    whole = calibration_from_embedded(sheet.id, main)
    doubts = (*_note_against(sheet, whole), *reading.doubts)
    whole = _doubted(whole, doubts)
    edits: list[Edit] = [SetCalibration(calibration=whole)]
    calibrations = [whole]
    # the first of the list wins where parts overlap; later regions win in a job, so they go in the other way round
    for number, part in enumerate(reversed([e for e in embedded if not _same_scale(e, main)]), start=1):
        region = ScaleRegion(id=f"{sheet.id}-{part.name or number}", sheet=sheet.id, outline_pt=tuple(part.outline_pt))
        calibration = calibration_from_embedded(sheet.id, part, region=region.id)
        edits.extend((PutRegion(region=region), SetCalibration(calibration=calibration)))
        calibrations.append(calibration)
    store.do(
        edits[0] if len(edits) == 1 else Batch(title="Read the sheet's scales", edits=tuple(edits)), who=who, at=at
    )
    return tuple(calibrations), doubts


def set_scale_scanned(
    store: JobStore, sheet: Sheet, *, who: str, at: str
) -> tuple[tuple[Calibration, ...], tuple[str, ...]]:
    """Set the scale of a picture or a scan from the text on it, which takes a minute or more on a large sheet.

    Dimensions and scale bars that confirm each other are taken even where a note agrees, as a scanner stretches.

    Returns
    -------
    tuple of Calibration
        The sheet's, alone.
    tuple of str
        What does not agree, with both figures.

    Raises
    ------
    InputError
        When the OCR library is not installed.
    CalibrationError
        When nothing was read that a second reading confirms.
    """
    data = store.source(sheet.source)
    dpi = scan_dpi(sheet)
    reading = read_scanned_scale(data, sheet, read_scanned_lines(data, sheet), dpi)
    votes = reading.agreeing
    if len(votes) > 1 and reading.m_per_pt is not None:
        calibration, doubts = _fitted(sheet, votes), reading.doubts
    else:
        calibration, doubts = _read_calibration(store.job, sheet, reading)
    return (_set(store, _doubted(calibration, doubts), None, who=who, at=at),), doubts


def _doubted(calibration: Calibration, doubts: Sequence[str]) -> Calibration:
    """Keep with a calibration what did not agree when it was read."""
    return replace(calibration, doubts=tuple(dict.fromkeys((*calibration.doubts, *doubts))))


def _read_calibration(job: Job, sheet: Sheet, reading: ScaleReading) -> tuple[Calibration, tuple[str, ...]]:
    """Make a calibration of what was read on a sheet without an embedded measurement."""
    if reading.reader == "note":
        doubts = reading.doubts if reading.agreeing else (*reading.doubts, *_same_note_elsewhere(job, sheet, reading))
        made = calibration_from_note(sheet.id, reading.stated)
        basis = Basis(
            of="mx",
            taken=made.mx,
            how="stated",
            text=reading.stated,
            sheet=sheet.id,
            unsure="" if reading.agreeing else "no dimension and no scale bar on the sheet confirms it",
        )
        return replace(made, basis=(basis,)), doubts
    if reading.m_per_pt is not None:
        return _fitted(sheet, reading.agreeing), reading.doubts
    remedy = f"Set it yourself: takeoff scale JOB {sheet.id} --points X1,Y1 X2,Y2 --length L (or --note, --ratio)."
    where = f"sheet {sheet.id}"
    if sheet.kind == "image" and not reading.doubts:
        raise CalibrationError("a picture carries no scale that can be read", remedy=remedy, where=where)
    found = "it carries neither an embedded measurement nor a written scale, nor dimensions that tell one"
    raise CalibrationError("; ".join(reading.doubts) or found, remedy=remedy, where=where)


def _fitted(sheet: Sheet, agreeing: Sequence[ScaleVote]) -> Calibration:
    """Fit a calibration to the surest of the drawn lengths that agree."""
    votes = _longest_each_way(agreeing)
    known = [vote.known for vote in votes if vote.known is not None]
    rounding = statistics.median(vote.step for vote in votes) / math.sqrt(12)
    return replace(fit_calibration(sheet.id, known, pick=PLACE_PT, length_u=rounding), pick=HAND_PICK_PT)


def _longest_each_way(votes: Sequence[ScaleVote]) -> list[ScaleVote]:
    """Pick the surest lengths along the sheet and as many up it: short ones add rounding and no knowledge."""
    picked: list[ScaleVote] = []
    for is_along in (True, False):
        way = [
            vote
            for vote in votes
            if vote.known is not None
            and (
                abs(vote.known.end_pt[0] - vote.known.start_pt[0]) >= abs(vote.known.end_pt[1] - vote.known.start_pt[1])
            )
            == is_along
        ]
        picked.extend(way[:MOST_DIMENSIONS])
    return [vote for vote in picked if vote.u <= 3 * picked[0].u] if len(picked) > 2 else picked


def _same_note_elsewhere(job: Job, sheet: Sheet, reading: ScaleReading) -> tuple[str, ...]:
    """Tell of a sheet of the same file whose dimensions contradicted the same note; nothing here confirms it."""
    for other in job.sheets.values():
        calibration = job.calibrations.get(str(other.id))
        if other.source != sheet.source or other.id == sheet.id or calibration is None:
            continue
        measured = math.sqrt(calibration.mx * calibration.my)
        if calibration.source != "dimensions" or _note_scale(other) != _note_scale(sheet) or reading.m_per_pt is None:
            continue
        if not math.isclose(measured, reading.m_per_pt, rel_tol=AGREE):
            return (
                f"no dimension confirms the note, which says {ratio_text(reading.m_per_pt)}; on sheet {other.id} of "
                f"the same file the dimensions give {ratio_text(measured)} under the same note",
            )
    return ()


def _same_scale(one: EmbeddedScale, other: EmbeddedScale) -> bool:
    return math.isclose(one.mx, other.mx, rel_tol=1e-6) and math.isclose(one.my, other.my, rel_tol=1e-6)


def _note_scale(sheet: Sheet) -> float | None:
    """Metres per point of the sheet's note; nothing where it gives no scale."""
    try:
        return parse_scale_note(sheet.scale_note) if sheet.scale_note else None
    except CalibrationError:
        return None


def _note_against(sheet: Sheet, calibration: Calibration) -> tuple[str, ...]:
    note = _note_scale(sheet)
    scale = math.sqrt(calibration.mx * calibration.my)
    if note is None or math.isclose(note, scale, rel_tol=AGREE):
        return ()
    return (f"the note says {ratio_text(note)}, the embedded measurement gives {ratio_text(scale)}",)


def _set(store: JobStore, calibration: Calibration, region: ScaleRegion | None, *, who: str, at: str) -> Calibration:
    edit: Edit = SetCalibration(calibration=calibration)
    if region is not None and store.job.regions.get(region.id) != region:
        edit = Batch(title=edit.label, edits=(PutRegion(region=region), edit))
    store.do(edit, who=who, at=at)
    return calibration
