"""What the scale of a sheet rests on, and what the sheets of one set tell of each other."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from takeoff.errors import CalibrationError
from takeoff.job.job import Job
from takeoff.model.open_points import Basis, How, basis_of, put_basis
from takeoff.model.plan import Calibration, Sheet
from takeoff.sheet.scales import parse_scale_note, ratio_text
from takeoff.trace.scales.claims import Verdict
from takeoff.trace.scales.groups import is_same
from takeoff.trace.scales.scale_weighing import ScaleReading

COARSE = 0.005
"""A scale that was read and is less certain than this is open: a hundredth of every length, at k = 2 (our choice)."""
NOTHING = "no dimension on the sheet confirms it"
"""Why a scale that was only stated is open."""
_ALIKE, _WARNS = "on sheet ", "the sheet says "
_BORNE = "printed alike, confirms the notes of its file"
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


def with_verdict(calibration: Calibration, verdict: Verdict | None) -> Calibration:
    """Return a calibration that a person stated with what the sheet says of it; ``None`` where nothing can be read."""
    is_measured_by_hand = calibration.source == "dimensions"
    if verdict is not None and verdict.is_borne_out:
        return based(calibration, "measured", "the dimensions on the sheet", (), ())
    against = verdict.against if verdict is not None else ()
    if is_measured_by_hand and not against:
        return calibration
    return based(calibration, "person", calibration.stated, against or (NOTHING,), verdict.others if verdict else ())


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
    """Weigh a scale that nothing on its own sheet bears out against the sheets that were printed alike."""
    basis, note = basis_of(calibration, "mx"), note_scale(sheet)
    if basis is None or basis.how not in ("note", "person") or calibration.source == "dimensions" or note is None:
        return calibration
    own = [said for said in basis.unsure.split("; ") if said and not said.startswith(_ALIKE)]
    if not own and _BORNE in basis.text:
        own = [NOTHING]
    scale = math.sqrt(calibration.mx * calibration.my)
    against: list[str] = []
    others: list[float] = []
    borne = None
    for other, shrunk in _printed_alike(job, sheet, known):
        expected = note * shrunk
        if not is_same(expected, scale):
            others.append(expected)
            against.append(
                f"{_ALIKE}{other.id}, printed alike, the dimensions give {ratio_text(known[other.id].mx)} and its note "
                f"says {other.scale_note}: by that this one is {ratio_text(expected)}"
            )
        elif is_same(scale, note):
            borne = other
    if borne is not None and not against and [said for said in own if not said.startswith(_WARNS)] == [NOTHING]:
        return based(calibration, basis.how, f"{calibration.stated}; sheet {borne.id}, {_BORNE}", (), ())
    made = based(calibration, basis.how, calibration.stated or basis.text, (*own, *against[:1]), others)
    mine = basis_of(made, "mx")
    return calibration if mine is not None and mine.unsure == basis.unsure else made


def _printed_alike(job: Job, sheet: Sheet, known: dict[int, Calibration]) -> Iterator[tuple[Sheet, float]]:
    """Yield the sheets of the same file and page size whose dimensions tell by how much their notes are off."""
    for id, calibration in known.items():
        other, basis = job.sheets[id], basis_of(calibration, "mx")
        note = calibration.mx if calibration.source == "note" else note_scale(other)  # of several it took one
        is_alike = (
            other.source == sheet.source
            and other.kind == sheet.kind
            and all(
                abs(a - b) <= SAME_PAGE_PT
                for a, b in ((other.width_pt, sheet.width_pt), (other.height_pt, sheet.height_pt))
            )
        )
        if id != sheet.id and is_alike and note is not None and basis is not None and basis.how == "measured":
            yield other, math.sqrt(calibration.mx * calibration.my) / note


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
