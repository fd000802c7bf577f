"""What the scale of a sheet rests on, printed areas among it, and what the sheets of a set tell of each other."""

from __future__ import annotations

import math
import re
import statistics
from collections.abc import Iterator, Sequence
from dataclasses import replace

import shapely

from takeoff.actions.traced_sheets import SheetTrace, read_drawn_sheet
from takeoff.errors import CalibrationError, TakeoffError
from takeoff.job.job import Job
from takeoff.model.open_points import Basis, How, basis_of, put_basis
from takeoff.model.plan import Calibration, Sheet
from takeoff.sheet.calibrate import calibration_from_ratio
from takeoff.sheet.scales import is_usual, parse_scale_note, ratio_of, ratio_text
from takeoff.trace.drawing.crowded import count_drawn
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.lines.plan_rooms import TracedPlan
from takeoff.trace.scales.groups import is_same
from takeoff.trace.scales.scale_doubts import NOTHING, WELL_KNOWN
from takeoff.trace.scales.scale_weighing import ScaleReading
from takeoff.trace.scales.signs import find_doors
from takeoff.trace.texts.printed_sizes import AGREES, PrintedArea, areas_inside, read_printed_areas, scale_told

COARSE = 0.005
"""A scale that was read and is less certain than this is open: a hundredth of every length, at k = 2 (our choice)."""
_ALIKE, _WARNS = "on sheet ", "the sheet says "
_BORNE = "printed alike, confirms the notes of its file"
_SHRUNK = ", printed alike, has other dimensions that give the same"
_FEW, _ROUGH, _NOTE = "dimensions alone", "the dimensions tell the scale to ±", "the note says "
"""What such a sheet settles: that few dimensions tell the scale, or to little, and that they contradict the note."""
SAME_PAGE_PT = 1.0
"""Points by which the pages of one plot differ at the most."""


def with_reading(calibration: Calibration, reading: ScaleReading, doubts: Sequence[str]) -> Calibration:
    """Return a calibration that was read with what it rests on; ``doubts`` are all that was said of the reading."""
    if calibration.source == "dimensions" and calibration.u_scale > COARSE and not any("only" in d for d in doubts):
        told = f"the dimensions tell it to ± {2 * calibration.u_scale:.1%} only: check it with a longer one"
        doubts = (*doubts, told)
    how: How = "measured" if calibration.source == "dimensions" or reading.is_borne_out else "note"
    if calibration.source == "embedded":
        is_hearsay = any(vote.reader == "embedded" and vote.is_bare for vote in reading.votes)
        how = "stated" if not is_hearsay else "assumed" if doubts else "measured"  # its doors or lengths bear it out
    lengths = ", ".join(f"“{vote.text}”" for vote in reading.agreeing[:3])
    more = len(reading.agreeing) - 3
    text = f"{lengths}{f' and {more} more' if more > 0 else ''}" if lengths and how != "note" else calibration.stated
    text += "".join(f"; they show that “{said}” is not true of this sheet" for said in reading.refuted)
    return based(calibration, how, text, doubts, reading.others)


def with_verdict(
    calibration: Calibration, is_borne_out: bool, against: Sequence[str], others: Sequence[float]
) -> Calibration:
    """Return a calibration that a person stated with what the sheet says of it, as `judge_scale` gives it."""
    if is_borne_out:
        return based(calibration, "measured", "the dimensions on the sheet", against, ())
    if calibration.source == "dimensions" and not against:
        return calibration
    return based(calibration, "person", calibration.stated, against or (NOTHING,), others)


def of_one_set(job: Job, made: Sequence[Calibration]) -> list[Calibration]:
    """Let the sheets that were printed alike speak to one another.

    ``job``: the job, without the calibrations that are being made. Gives the new ones, and those of other sheets that
    change by them.
    """
    known = {c.sheet: c for c in job.calibrations.values() if c.region is None}
    known.update({c.sheet: c for c in made if c.region is None})
    new = [replace(c) for c in made if c.region is not None]
    for id, calibration in known.items():
        weighed = _told_by_others(job, job.sheets[id], calibration, known)
        if weighed != calibration or calibration in made:
            new.append(weighed)
    return new


def note_scale(sheet: Sheet) -> float | None:
    """Return metres per point of a sheet's note; nothing where it gives no scale."""
    try:
        return parse_scale_note(sheet.scale_note) if sheet.scale_note else None
    except CalibrationError:
        return None


def _told_by_others(job: Job, sheet: Sheet, calibration: Calibration, known: dict[int, Calibration]) -> Calibration:
    """Weigh a scale that its own sheet leaves open against the sheets that were printed alike."""
    basis, note = basis_of(calibration, "mx"), note_scale(sheet)
    if basis is not None and calibration.source == "dimensions" and basis.how == "measured":
        return _drawn_alike(job, sheet, calibration, known, basis)
    if basis is None or basis.how not in ("note", "person") or calibration.source == "dimensions" or note is None:
        return calibration
    own = [said for said in basis.unsure.split("; ") if said and not said.startswith(_ALIKE)]
    if not own and _BORNE in basis.text:
        own = [NOTHING]
    scale = math.sqrt(calibration.mx * calibration.my)
    against: list[str] = []
    others: list[float] = []
    borne = None
    for other, its in _printed_alike(job, sheet, known):
        said = its.mx if its.source == "note" else note_scale(other)  # of several it took one
        if said is None:
            continue
        expected = note * math.sqrt(its.mx * its.my) / said
        if not is_same(expected, scale):
            others.append(expected)
            against.append(
                f"{_ALIKE}{other.id}, printed alike, the dimensions give {ratio_text(its.mx)} and its note "
                f"says {other.scale_note}: by that this one is {ratio_text(expected)}"
            )
        elif is_same(scale, note):
            borne = other
    if borne is not None and not against and [said for said in own if not said.startswith(_WARNS)] == [NOTHING]:
        return based(calibration, basis.how, f"{calibration.stated}; {borne.called}, {_BORNE}", (), ())
    made = based(calibration, basis.how, calibration.stated or basis.text, (*own, *against[:1]), others)
    mine = basis_of(made, "mx")
    return calibration if mine is not None and mine.unsure == basis.unsure else made


def _drawn_alike(
    job: Job, sheet: Sheet, calibration: Calibration, known: dict[int, Calibration], basis: Basis
) -> Calibration:
    """Settle what is open about few dimensions where other lengths on another sheet give the same scale.

    A note that both are off is settled where nobody draws at such a scale: both were shrunk with their paper. Says so
    again when the other is gone.
    """
    text, was_settled, _ = basis.text.partition("; sheet ")
    own = [said for said in basis.unsure.split("; ") if said]
    if was_settled:
        own.append(f"few {_FEW} tell the scale: check it with another")
    alike = [
        other.id
        for other, its in _printed_alike(job, sheet, known)
        if abs(math.log(its.mx / calibration.mx)) <= WELL_KNOWN and _is_other(text, words_of(its)[2])
    ]
    settled = (_FEW, _ROUGH) if is_usual(ratio_of(calibration.mx)) else (_FEW, _ROUGH, _NOTE)
    if alike and any(word in said for said in own for word in settled):
        own = [said for said in own if not any(word in said for word in settled)]
        text += f"; sheet {alike[0]}{_SHRUNK}"
    made = based(calibration, "measured", text, own, ())
    return calibration if basis_of(made, "mx") == replace(basis, low=None, high=None) else made


def _is_other(one: str, other: str) -> bool:
    """Tell whether two texts name lengths of which neither has all of the other's."""
    own, its = (set(re.findall("“(.+?)”", text)) for text in (one, other))
    return bool(own - its) and bool(its - own)


def _printed_alike(job: Job, sheet: Sheet, known: dict[int, Calibration]) -> Iterator[tuple[Sheet, Calibration]]:
    """Yield the sheets of the same file and page size whose dimensions tell their scales, with these."""
    for id, calibration in known.items():
        other, basis = job.sheets[id], basis_of(calibration, "mx")
        is_alike = (
            other.source == sheet.source
            and other.kind == sheet.kind
            and all(
                abs(a - b) <= SAME_PAGE_PT
                for a, b in ((other.width_pt, sheet.width_pt), (other.height_pt, sheet.height_pt))
            )
        )
        if id != sheet.id and is_alike and basis is not None and basis.how == "measured":
            yield other, calibration


def words_of(calibration: Calibration) -> tuple[str, How, str]:
    """Return what is open about a scale, how it was got and from what; a scale without a basis is a person's."""
    basis = basis_of(calibration, "mx")
    return (basis.unsure, basis.how, basis.text) if basis is not None else ("", "person", calibration.stated)


def based(calibration: Calibration, how: How, text: str, doubts: Sequence[str], others: Sequence[float]) -> Calibration:
    """Return a calibration with the basis of its scale; ``others`` are what it could be, in metres per point."""
    own = math.sqrt(calibration.mx * calibration.my)
    along = [other * calibration.mx / own for other in others]
    basis = Basis(
        of="mx",
        taken=calibration.mx,
        how=how,
        text=text,
        sheet=calibration.sheet,
        low=min(*along, calibration.mx) if along else None,
        high=max(*along, calibration.mx) if along else None,
        unsure="; ".join(doubts),
    )
    return replace(calibration, basis=put_basis(calibration.basis, basis))


OTHER = 2 * AGREES
"""Share by which lengths are off from which areas speak against a scale: twice what rounding explains (judgement)."""
DOOR = 0.85
"""Metres that most doors are wide, to begin from (common practice, no source)."""
MOST_LINES = 25_000
"""Lines of a sheet that is traced to find its scale, at the most: some seconds (judgement)."""
TIMES, NEAR = 3, 0.12
"""How often a sheet is traced for that at the most, and the natural logarithm by which the scale may be off at which
walls were looked for: rooms keep their outlines (judgement)."""
UNIT_UNKNOWN = "the drawing says "


def weighed_by_areas(trace: SheetTrace) -> Calibration | None:
    """Return the scale of a traced sheet as the areas printed in its rooms leave it; nothing where they say nothing."""
    plan, scale = next(((plan, scale) for region, scale, plan in trace.parts if region is None), (None, None))
    told = scale_told(_pairs(plan, read_printed_areas(trace.lines))) if plan is not None else None
    if scale is None or told is None:
        return None
    factor, count = told
    said, how, text = words_of(scale)
    if abs(math.log(factor)) <= AGREES / 2:
        if not said or not said.startswith((NOTHING, UNIT_UNKNOWN)):
            return None
        return based(scale, "measured", f"{scale.stated or text}; the areas printed in {count} rooms agree", (), ())
    against = f"the areas printed in {count} rooms give {ratio_text(factor * scale.mx)}"
    if abs(math.log(factor)) < OTHER or against in said:
        return None
    return based(scale, how, text, tuple(filter(None, (said, against))), (factor * scale.mx,))


def scale_from_areas(data: bytes, sheet: Sheet, areas: Sequence[PrintedArea], said: str = "") -> Calibration:
    """Propose the scale at which the rooms of a vector sheet have the areas that are printed in them.

    ``said`` is what was said where no scale was taken from what else the sheet shows. Raises `CalibrationError` when no
    three rooms agree on one.
    """
    nothing = CalibrationError("no three printed areas tell one scale", where=sheet.called)
    if len(areas) < 3 or count_drawn(data, sheet) > MOST_LINES:
        raise nothing
    leaves = [width for *_, width in find_doors(read_linework(data, sheet))]
    around = shapely.MultiPoint([area.at_pt for area in areas]).convex_hull.area
    if not leaves and around <= 0.0:
        raise nothing
    scale = DOOR / statistics.median(leaves) if leaves else math.sqrt(sum(a.area for a in areas) / 2.0 / around)
    for _ in range(TIMES):
        tried = Calibration(sheet=sheet.id, mx=scale, my=scale)
        try:
            told = scale_told(_pairs(read_drawn_sheet(data, sheet, [tried], {}).parts[0][2], areas))
        except TakeoffError:
            raise nothing from None
        if told is None:
            raise nothing
        scale *= told[0]
        if abs(math.log(told[0])) < NEAR:
            made = calibration_from_ratio(sheet.id, ratio_of(scale))
            u = AGREES / 2 / math.sqrt(told[1])
            unsure = f"the areas printed in {told[1]} rooms alone tell the scale: check it with a dimension"
            stated = f"the areas printed in {told[1]} rooms"
            doubts = (unsure, said) if said.startswith("the note") else (unsure,)
            return based(replace(made, u_scale=u, stated=stated), "measured", stated, doubts, ())
    raise nothing


def _pairs(plan: TracedPlan, printed: Sequence[PrintedArea]) -> list[tuple[float, float]]:
    """Return the printed area and that of the outline, in m², of each closed room in which one area is printed."""
    pairs = []
    for room, shape in zip(plan.rooms, plan.shapes, strict=True):
        own = areas_inside(shape, printed)
        if len(own) == 1 and not room.leaks_pt and room.area > 0.0:
            pairs.append((own[0], room.area))
    return pairs
