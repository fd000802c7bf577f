"""Marks of a drawing set on paper: the model at a usual scale on a usual size, layouts at the size of their paper."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from takeoff.errors import SheetError
from takeoff.sheet.calibrate import LEAF
from takeoff.sheet.dxf_painter import Mark, Painter, extent
from takeoff.sheet.embedded import GUESS
from takeoff.sheet.formats import MAX_SIDE_IN
from takeoff.sheet.frame import Box
from takeoff.sheet.marks_pdf import POINTS_PER_MM, MarkedPage, Measure
from takeoff.sheet.scales import METRES_PER_POINT_AT_FULL_SIZE, USUAL_NOTES, ratio_text
from takeoff.units import FOOT, INCH

SMALLEST_PLAN_M, LARGEST_PLAN_M = 1.0, 1000.0
"""A plan that is less or more across is doubted: its unit may be wrong, or something lies far off (no source)."""

FEWEST_DOORS, SQUARE = 3, 0.02
"""Quarters of a circle that tell the unit of a drawing that says none, at the least, and the sine of the angle, or part
of their length, by which their two arms may be off (judgement)."""

VOID, FEW = 0.95, 0.25
"""What lies off by a void of more than the first part of the drawing is left out if it is at most the second part of
its things (judgement, no source)."""

UNITS: dict[int, tuple[str, float]] = {
    1: ("in", INCH), 2: ("ft", FOOT), 3: ("mi", 5280 * FOOT), 4: ("mm", 0.001), 5: ("cm", 0.01), 6: ("m", 1.0),
    7: ("km", 1000.0), 10: ("yd", 3 * FOOT), 14: ("dm", 0.1), 21: ("US survey ft", 1200 / 3937),
}  # fmt: skip
"""Name of the units of $INSUNITS and metres in one (DXF reference, header section)."""
_IMPERIAL = (1, 2, 3, 10, 21)
_UNIT = {False: ("m", 1.0), True: ("ft", FOOT)}
_RATIOS = {
    False: (50.0, 100.0, 200.0, 500.0, 1e3, 2e3, 5e3, 1e4, 2e4, 5e4, 1e5),
    True: (48.0, 96.0, 192.0, 480.0, 960.0, 2400.0, 6000.0, 12e3, 24e3, 6e4),
}
_PAPERS = {
    False: tuple((a * POINTS_PER_MM, b * POINTS_PER_MM) for a, b in ((297, 210), (420, 297), (594, 420), (841, 594))),
    True: ((792.0, 612.0), (1224.0, 792.0), (1728.0, 1296.0), (2592.0, 1728.0)),
}
"""N of 1:N and papers, finest and smallest first, by whether the drawing is imperial: ISO 216 A4 to A1; letter, ledger,
ARCH C and ARCH D (ISO 216 and ASME Y14.1, from memory)."""
_MARGIN_PT = 28.0


def model_page(
    document: Any, marks: Sequence[Mark], unit: tuple[str, float] | None, doubts: list[str], name: str
) -> MarkedPage:
    """Set the model on paper; a few things that lie far off are left out."""
    left, bottom, right, top = extent(marks)
    across = max(right - left, top - bottom)
    if unit is None or across * unit[1] > LARGEST_PLAN_M:
        together = _together(marks)
        if len(together) < len(marks):
            doubts.append(f"things that lie far from the plan are left out: {len(marks) - len(together)}")
            marks = together
            left, bottom, right, top = extent(marks)
            across = max(right - left, top - bottom)
    if across <= 0.0:
        raise SheetError("the drawing has no size", remedy="Save the plan itself.", where=name)
    is_imperial = int(document.units) in _IMPERIAL if unit else document.header.get("$MEASUREMENT", 1) == 0
    guessed = _likely_unit(marks, across, is_imperial) if document.units == 0 else None
    is_imperial = is_imperial if guessed is None else guessed in (UNITS[1], UNITS[2])
    metres = (unit or guessed or ("", 50.0 / across))[1]  # where none is said or likely, for its size on paper alone
    if unit and not SMALLEST_PLAN_M <= across * metres <= LARGEST_PLAN_M:
        doubts.append(f"by its unit ({unit[0]}) the drawing is {across * metres:,.4g} m across: check it, "
                      "and look for things that lie far off")  # fmt: skip
    paper = _paper(right - left, top - bottom, metres, is_imperial)
    if paper is None:
        raise SheetError(
            f"the drawing is {across * metres / 1000:,.6g} km across",
            remedy="Erase what lies far from the plan, or set the drawing's unit.",
            where=name,
        )
    width, height, ratio, scale = paper
    measure = _measure((0.0, 0.0, width, height), "Model", ratio, is_imperial)
    if unit is None and guessed:
        measure = replace(measure, hearsay=f"{GUESS}{guessed[0]}")
    return MarkedPage(
        width_pt=width,
        height_pt=height,
        marks=marks,
        scale=scale,
        origin=((left + right) / 2, (bottom + top) / 2),
        at=(width / 2, height / 2),
        measures=(measure,) if unit or guessed else (),
    )


def _likely_unit(marks: Sequence[Mark], across: float, is_imperial: bool) -> tuple[str, float] | None:
    """Return the unit in which the doors of a drawing are as wide as doors are, else one in which a plan is as large.

    A door is a quarter of a circle, which is one curve of two equal arms at right angles.
    """
    curves = np.array([mark.points[:4] for mark in marks if mark.steps == "mc"]).reshape(-1, 4, 2)
    arms = curves[:, 1] - curves[:, 0], curves[:, 3] - curves[:, 2]
    long = [np.hypot(*arm.T) for arm in arms]
    is_square = np.abs((arms[0] * arms[1]).sum(1)) < SQUARE * long[0] * long[1]
    is_quarter = is_square & (np.abs(long[0] - long[1]) < SQUARE * long[0])
    radii = np.hypot(*(curves[:, 3] - curves[:, 0]).T)[is_quarter] / math.sqrt(2.0)
    door = float(np.median(radii)) if len(radii) >= FEWEST_DOORS else 0.0
    as_doors = [UNITS[code] for code in (4, 5, 6, 1, 2) if LEAF[0] <= door * UNITS[code][1] <= LEAF[1]]
    as_plans = [UNITS[code] for code in ((1, 2) if is_imperial else (4, 6)) if 3.0 <= across * UNITS[code][1] <= 300.0]
    return next(iter(as_doors or as_plans), None)


def _together(marks: Sequence[Mark]) -> Sequence[Mark]:
    """Return the marks without the few that a void of nearly the whole drawing parts from them."""
    boxes = np.array([extent([mark]) for mark in marks])
    kept = np.arange(len(marks))
    axis, tried = 0, 0
    while tried < 2:
        low, high = boxes[kept, axis], boxes[kept, axis + 2]
        order = np.argsort(low, kind="stable")
        reach = np.maximum.accumulate(high[order])[:-1]
        voids = low[order][1:] - reach
        at = int(np.argmax(voids)) + 1 if len(voids) else 0
        parts = sorted((order[:at], order[at:]), key=len)
        if at and voids[at - 1] > VOID * (high.max() - low.min()) and len(parts[0]) <= FEW * len(kept):
            kept, tried = kept[np.sort(parts[1])], 0
        else:
            axis, tried = 1 - axis, tried + 1
    return [marks[i] for i in kept.tolist()]


def _paper(width: float, height: float, metres: float, is_imperial: bool) -> tuple[float, float, float, float] | None:
    """Choose the finest scale, and for it the smallest paper, that a drawing of this size in its units fits.

    Return the paper's width and height in points, N of 1:N, and points per unit of the drawing.
    """
    for ratio in _RATIOS[is_imperial]:
        scale = metres / (float(np.float32(_factor(ratio, is_imperial))) * _UNIT[is_imperial][1])
        for long, short in _PAPERS[is_imperial]:
            across, up = (long, short) if width >= height else (short, long)
            if width * scale <= across - 2 * _MARGIN_PT and height * scale <= up - 2 * _MARGIN_PT:
                return across, up, ratio, scale
    return None


def _factor(ratio: float, is_imperial: bool) -> str:
    """Write a scale in units per point with seven digits.

    PDF readers keep numbers in single precision. The drawing is set on paper by the number as they have it, so that
    lengths come out as they are drawn.
    """
    value = ratio * METRES_PER_POINT_AT_FULL_SIZE / _UNIT[is_imperial][1]
    return f"{value:.{max(0, 6 - math.floor(math.log10(value)))}f}"


def _measure(box: Box, name: str, ratio: float, is_imperial: bool) -> Measure:
    """Return the scale of a part of a page, its note as people write it."""
    notes = (note for note, usual in USUAL_NOTES if is_imperial and math.isclose(usual, ratio, rel_tol=1e-6))
    stated = next(notes, ratio_text(ratio * METRES_PER_POINT_AT_FULL_SIZE))
    factor = _factor(ratio, is_imperial)
    return Measure(box=box, name=name, unit=_UNIT[is_imperial][0], factor=factor, stated=stated)


def layout_pages(layout: Any, painter: Painter, unit: tuple[str, float] | None, doubts: list[str]) -> list[MarkedPage]:
    """Set a layout on its paper, or on one for what is drawn where that does not fit, with the scale of each view."""
    is_imperial = layout.dxf.get("plot_paper_units", 1) == 0
    scale = 72.0 if is_imperial else POINTS_PER_MM
    left, bottom, right, top = extent(painter.marks)
    width, height = _layout_size(layout, ((right - left) * scale, (top - bottom) * scale), is_imperial, doubts)
    if max(width, height) > MAX_SIDE_IN * 72.0:
        doubts.append(
            f"layout {layout.name} would be {max(width, height) / 72:,.0f} in of paper and is left out: "
            "erase what lies off its sheet"
        )
        return []
    origin, at = ((left + right) / 2, (bottom + top) / 2), (width / 2, height / 2)
    measures = []
    for i, (low, high, shown) in enumerate(painter.views if unit else (), start=1):
        ratio = (unit[1] if unit else 1.0) / (shown * scale * METRES_PER_POINT_AT_FULL_SIZE)
        box = [(value - o) * scale + a for value, o, a in zip((*low, *high), origin * 2, at * 2, strict=True)]
        measures.append(_measure((box[0], box[1], box[2], box[3]), f"{layout.name} {i}", ratio, is_imperial))
    return [
        MarkedPage(
            width_pt=width, height_pt=height, marks=painter.marks, scale=scale, origin=origin, at=at, measures=measures
        )
    ]


def _layout_size(layout: Any, drawn: tuple[float, float], is_imperial: bool, doubts: list[str]) -> tuple[float, float]:
    """Return width and height in points of a layout's page, for what is drawn on it in points."""
    stated = [float(layout.dxf.get(side, 0.0)) for side in ("paper_width", "paper_height")]
    if layout.dxf.get("plot_rotation", 0) in (1, 3):
        stated.reverse()
    paper = (stated[0] * POINTS_PER_MM, stated[1] * POINTS_PER_MM)
    if all(size <= side + 1.0 for size, side in zip(drawn, paper, strict=True)):
        return paper
    if min(stated) <= 0.0:
        doubts.append(f"layout {layout.name} does not state its paper: its page is sized by what is drawn on it")
    else:
        said = f"{stated[0]:.0f} mm × {stated[1]:.0f} mm"
        doubts.append(f"layout {layout.name} holds more than its paper of {said}: its page is sized by what is drawn")
    width, height = drawn[0] + 2 * _MARGIN_PT, drawn[1] + 2 * _MARGIN_PT
    papers = [(a, b) if width >= height else (b, a) for a, b in _PAPERS[is_imperial]]
    return next(((a, b) for a, b in papers if width <= a and height <= b), (width, height))
