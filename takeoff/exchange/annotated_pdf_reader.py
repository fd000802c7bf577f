"""Runs out of a PDF's annotations: those that the program wrote, whole, and what other programs measured, as lines.

The geometry that every viewer shows is the truth: where it was moved after the program wrote it, the run follows.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import msgspec

from takeoff.apart import apart
from takeoff.errors import InputError
from takeoff.exchange.annotated_pdf import OPENING, PRIVATE
from takeoff.exchange.edits_entries import RoomEntry, RunEntry, line_of
from takeoff.exchange.edits_file import FoundRuns, found_runs, read_entry
from takeoff.exchange.plan_marks import chords, moved
from takeoff.geometry.arcs import Point
from takeoff.geometry.paths import Path
from takeoff.model.plan import Calibration, Sheet
from takeoff.sheet.document import Matrix, load_page, open_document, user_to_sheet
from takeoff.sheet.embedded import PdfValue, rectilinear_scale
from takeoff.sheet.scales import ratio_text

MOVED = 0.05
"""Sheet points; vertices further than this from where the program put them were moved by a person."""
_HIDDEN = 0b100010
"""Flags of an annotation that does not show: hidden, and no view (ISO 32000-1, table 165)."""
_LARGEST = 20_000
"""Vertices of one annotation; more are not a measured line."""


@apart
def read_annotated_pdf(
    data: bytes,
    sheets: Mapping[int, Sheet],
    *,
    scales: Mapping[int, Calibration],
    taken: Sequence[str] = (),
    height: float | None = None,
) -> FoundRuns:
    """Read the runs of a PDF: its own marks, and Line, PolyLine and Polygon annotations with a measure dictionary.

    ``sheets`` are the sheets that its pages show, by page counted from 1; ``scales`` calibrations by sheet id, to
    compare with the scale that a foreign measurement carries. ``height`` is the top of the coating above the floor in
    m, for foreign runs; without it their rooms must give it. Raises `InputError` when no such annotation is on any
    page.
    """
    own: list[tuple[RunEntry, RoomEntry | None]] = []
    foreign: list[tuple[str, RunEntry]] = []
    doubts: list[str] = []
    for number, found in _annotations(data, sheets):
        if found.own is not None:
            run, room = found.own
            own.append((_followed(run, found, doubts), room))
        elif found.scale is not None:
            sheet = sheets[number]
            foreign.append((found.name, _foreign(found, sheet, height)))
            doubts.extend(_scale_doubts(found, number, scales.get(sheet.id)))
    if not own and not foreign:
        raise InputError(
            "no page has a measured line, polyline or polygon", remedy="Measure on it first, or name another file."
        )
    return found_runs(own, foreign, taken=taken, doubts=doubts, what="measured annotations")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """An annotation in sheet points: its line, its name, its scale (m per sheet point), and the run it carries."""

    name: str
    points: tuple[Point, ...]
    is_closed: bool
    scale: tuple[float, float] | None
    own: tuple[RunEntry, RoomEntry | None] | None


def _annotations(data: bytes, sheets: Mapping[int, Sheet]) -> Iterator[tuple[int, _Found]]:
    """Give every line that is measured or was written by the program, with its page."""
    with open_document(data, "the annotated PDF") as document:
        for number, sheet in sheets.items():
            page = load_page(document, number, "the annotated PDF")
            matrix = user_to_sheet(page)
            annotations = PdfValue.of_page(page).get("Annots")
            for i in range(annotations.length):
                found = _read(annotations.at(i), matrix, sheet)
                if found is not None:
                    yield number, found


def _read(annotation: PdfValue, matrix: Matrix, sheet: Sheet) -> _Found | None:
    kind, private = annotation.get("Subtype").text, annotation.get(PRIVATE).text
    values = annotation.get({"Line": "L", "PolyLine": "Vertices", "Polygon": "Vertices"}.get(kind, PRIVATE))
    is_hidden = int(annotation.get("F").number or 0) & _HIDDEN
    if is_hidden or private == OPENING or not 4 <= values.length <= 2 * _LARGEST:
        return None
    numbers: list[Any] = [values.at(i).number for i in range(values.length - values.length % 2)]
    if any(n is None or not math.isfinite(n) for n in numbers):
        return None
    points = [moved(matrix, pair) for pair in zip(numbers[::2], numbers[1::2], strict=True)]
    own = read_entry(private) if private else None
    if own is not None and own[0].sheet != sheet.id:
        own = (msgspec.structs.replace(own[0], sheet=sheet.id), own[1])
    distinct = [p for i, p in enumerate(points) if i == 0 or p != points[i - 1]]
    is_closed = kind == "Polygon" or (len(distinct) > 3 and distinct[0] == distinct[-1])
    if is_closed and len(distinct) > 1 and distinct[0] == distinct[-1]:
        distinct.pop()
    if len(distinct) < (3 if is_closed else 2):
        return None
    return _Found(
        name=annotation.get("Subj").text.strip() or "measured",
        points=tuple(distinct),
        is_closed=is_closed,
        scale=rectilinear_scale(annotation.get("Measure"), matrix),
        own=own,
    )


def _followed(run: RunEntry, found: _Found, doubts: list[str]) -> RunEntry:
    """Keep a run whose annotation lies where it was put; else give it the line that is drawn now."""
    points, drawn, is_closed = line_of(run)
    segments = len(points) if is_closed else len(points) - 1
    bulges = tuple(drawn[:segments]) or (0.0,) * segments
    put = chords(Path(tuple(points), bulges, is_closed))
    if (
        is_closed == found.is_closed
        and len(put) == len(found.points)
        and all(math.dist(p, q) <= MOVED for p, q in zip(put, found.points, strict=True))
    ):
        return run
    doubts.append(f"wall {run.id} was moved in another program: it follows the line drawn there, arcs as chords")
    return msgspec.structs.replace(run, points=list(found.points), bulges=[], closed=found.is_closed)


def _foreign(found: _Found, sheet: Sheet, height: float | None) -> RunEntry:
    points = list(found.points)
    return RunEntry(id=found.name, sheet=sheet.id, points=points, closed=found.is_closed, height=height)


def _scale_doubts(found: _Found, page: int, scale: Calibration | None) -> list[str]:
    """Compare a foreign measurement's scale with the sheet's."""
    if found.scale is None or scale is None:
        return []
    theirs, ours = math.sqrt(found.scale[0] * found.scale[1]), math.sqrt(scale.mx * scale.my)
    if math.isclose(theirs, ours, rel_tol=max(0.005, 4 * scale.u_scale)):
        return []
    return [f"page {page}: a measurement was made at {ratio_text(theirs)} and the sheet is at {ratio_text(ours)}"]
