"""Runs and openings as marks on the pages of a PDF: what each is, where, and how it looks.

Marked PDF and XFDF write the same marks. Coordinates are those of the page's default user space (ISO 32000-2 §8.3.2.3).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from takeoff.exchange.plan_lines import PlanRun, cut_path
from takeoff.geometry.arcs import Point, arc_centre
from takeoff.geometry.paths import Path, point_on_segment
from takeoff.measure.faces import MeasuredFace
from takeoff.model.figures import PlacedOpening
from takeoff.model.plan import Sheet
from takeoff.sheet.document import Matrix
from takeoff.units import Display


def drawn_path(line: Path) -> str:
    """Write the path operators of a line (§8.5.2); an arc becomes a cubic curve for each quarter turn or less."""
    out = [f"{reals(line.points[:1])} m"]
    for a, b, bulge in line.segments():
        if bulge == 0.0:
            out.append(f"{reals([b])} l")
            continue
        centre, radius = arc_centre(a, b, bulge)
        start, sweep = math.atan2(a[1] - centre[1], a[0] - centre[0]), -4.0 * math.atan(bulge)
        count = max(1, math.ceil(abs(sweep) / (math.pi / 2) - 1e-9))
        k = 4.0 / 3.0 * math.tan(sweep / count / 4.0) * radius
        angles = [start + sweep * i / count for i in range(count + 1)]
        for t0, t1 in pairwise(angles):
            p0, p1 = ((centre[0] + radius * math.cos(t), centre[1] + radius * math.sin(t)) for t in (t0, t1))
            c0 = (p0[0] - k * math.sin(t0), p0[1] + k * math.cos(t0))
            c1 = (p1[0] + k * math.sin(t1), p1[1] - k * math.cos(t1))
            out.append(f"{reals([c0, c1, p1])} c")
    return " ".join([*out, "h"] if line.is_closed else out)


def moved(matrix: Matrix, point: Point) -> Point:
    """Apply a matrix to a point.

    Examples
    --------
    >>> moved((1, 0, 0, -1, 0, 100), (10, 30))
    (10, 70)
    """
    a, b, c, d, e, f = matrix
    return (a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f)


def inverse(matrix: Matrix) -> Matrix:
    """Invert a matrix.

    Examples
    --------
    >>> inverse((2.0, 0.0, 0.0, -1.0, 4.0, 100.0))[4:]
    (-2.0, 100.0)
    """
    a, b, c, d, e, f = matrix
    det = a * d - b * c
    return (d / det, -b / det, -c / det, a / det, (c * f - d * e) / det, (b * e - a * f) / det)


def real(value: float) -> str:
    """Write a real number without an exponent (§7.3.3).

    Examples
    --------
    >>> real(1e-7), real(2.0)
    ('0.0000001', '2')
    """
    return f"{value:.12f}".rstrip("0").rstrip(".") if value else "0"


def reals(points: Sequence[Point]) -> str:
    """Write the coordinates of points one after the other."""
    return " ".join(f"{real(x)} {real(y)}" for x, y in points)


def rectangle(points: Sequence[Point], margin: float = 0.0) -> str:
    """Write the rectangle around points, wider by a margin on every side (§7.9.5)."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    low, high = (min(xs) - margin, min(ys) - margin), (max(xs) + margin, max(ys) + margin)
    return f"[{reals([low, high])}]"


def text_string(text: str) -> str:
    """Write a text string as UTF-16 in hex, so that no character can end it (§7.9.2.2).

    Examples
    --------
    >>> text_string("a)")
    '<feff00610029>'
    """
    return f"<{(chr(0xFEFF) + text).encode('utf-16-be', 'replace').hex()}>"


def date(at: str) -> str:
    """Write an ISO 8601 time as a date (§7.9.4).

    Examples
    --------
    >>> date("2026-03-02T10:00:00+01:00")
    "D:20260302100000+01'00"
    """
    time = datetime.fromisoformat(at)
    zone = time.strftime("%z")
    return time.strftime("D:%Y%m%d%H%M%S") + (f"{zone[:3]}'{zone[3:5]}" if zone else "")


CHORD = 0.005
"""Sheet points by which the chords that stand for an arc may leave it."""
COLOURS = (
    (0, 114, 178), (213, 94, 0), (0, 158, 115), (204, 121, 167), (230, 159, 0), (86, 180, 233), (0, 0, 0),
)  # fmt: skip
"""Okabe and Ito, "Color Universal Design" (2008)."""
DASHES: tuple[tuple[float, ...], ...] = ((), (8, 3), (2, 3), (10, 3, 2, 3), (5, 5), (12, 4, 4, 4), (1, 4))
"""Strokes and gaps in parts of 1.8 of a line's width; none for a solid line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One annotation to be: a run, or an opening on its first face.

    ``name`` is unlike that of any other mark. ``line`` has true arcs, ``vertices`` chords for them. ``ticks`` are
    strokes to the coated side. ``dashes`` and ``width`` are in user units.
    """

    run: PlanRun
    is_opening: bool
    name: str
    subject: str
    contents: str
    line: Path
    vertices: tuple[Point, ...]
    ticks: tuple[tuple[Point, Point], ...]
    colour: tuple[int, int, int]
    dashes: tuple[float, ...]
    width: float

    @property
    def kind(self) -> str:
        """Polygon, PolyLine or Line, as annotations are called (ISO 32000-2 §12.5.6)."""
        if self.line.is_closed:
            return "Polygon"
        return "Line" if len(self.vertices) == 2 else "PolyLine"


def marks_on(sheet: Sheet, back: Matrix, runs: Sequence[PlanRun], display: Display) -> list[Mark]:
    """Give the marks of a sheet; ``back`` turns sheet points into the page's user space."""
    systems = sorted({r.system for r in runs})
    unit = max(sheet.width_pt, sheet.height_pt) / 1000.0 * math.hypot(back[0], back[1])
    made = []
    for run in (r for r in runs if r.sheet.id == sheet.id):
        made.append(_run_mark(run, systems.index(run.system), back, unit, display))
        made += [
            _opening_mark(run, face, o, back, unit, display) for face in run.faces[:1] for o in face.elevation.openings
        ]
    return made


def look_of(system: int) -> tuple[tuple[int, int, int], tuple[float, ...]]:
    """Return the colour and dashes of a system by its place: no two of the first 49 look alike."""
    turn, place = divmod(system, len(COLOURS))
    return COLOURS[place], DASHES[(place + turn) % len(DASHES)]


def chords(line: Path) -> list[Point]:
    """Vertices that stand for a line in sheet points or user space; its arcs become chords."""
    out = line.flattened(CHORD)
    return out[:-1] if line.is_closed else out


def _run_mark(run: PlanRun, system: int, back: Matrix, unit: float, display: Display) -> Mark:
    line = _mapped(Path(run.run.points_pt, run.run.segment_bulges, run.run.closed), back)
    width = 1.8 * unit
    colour, dashes = look_of(system)
    return Mark(
        run=run,
        is_opening=False,
        name=f"takeoff/run/{run.run.id}",
        subject=run.system_name,
        contents=run.words(display),
        line=line,
        vertices=tuple(chords(line)),
        ticks=tuple((moved(back, a), moved(back, b)) for a, b in _ticks(run, unit / math.hypot(back[0], back[1]))),
        colour=colour,
        dashes=tuple(d * width / 1.8 for d in dashes),
        width=width,
    )


def _opening_mark(
    run: PlanRun, face: MeasuredFace, opening: PlacedOpening, back: Matrix, unit: float, display: Display
) -> Mark:
    cut, o, width = cut_path(face.path, opening.x0, opening.x1), opening.source, 0.9 * unit
    line = _mapped(Path(tuple((x / run.scale.mx, y / run.scale.my) for x, y in cut.points), cut.bulges, False), back)
    name = " ".join(t for t in (o.kind, o.mark) if t)
    sizes = f"{display.length(o.width)} × {display.length(o.height)}, sill {display.length(o.sill)}"
    return Mark(
        run=run,
        is_opening=True,
        name=f"takeoff/opening/{run.run.id}/{opening.index}/{opening.x0:.6f}",
        subject=name,
        contents=f"{name} on {run.name} ({run.run.id}): {sizes}",
        line=line,
        vertices=tuple(chords(line)),
        ticks=(),
        colour=(0, 0, 0),
        dashes=(3 * width / 1.8, 3 * width / 1.8),
        width=width,
    )


def _mapped(line: Path, matrix: Matrix) -> Path:
    """Move a line into user space; where that turns y upwards, bulges change their sign for formulas with y down."""
    sign = 1.0 if matrix[0] * matrix[3] > matrix[1] * matrix[2] else -1.0
    return Path(tuple(moved(matrix, p) for p in line.points), tuple(sign * b for b in line.bulges), line.is_closed)


def _ticks(run: PlanRun, unit: float) -> list[tuple[Point, Point]]:
    """Short strokes from the middle of each segment of a face to its coated side, in sheet points."""
    out = []
    for face in run.faces:
        hand = 1.0 if face.elevation.face == "left" else -1.0
        for a, b, bulge in face.path.segments():
            (ax, ay), (bx, by), (mx, my) = (
                (x / run.scale.mx, y / run.scale.my) for x, y in (a, b, point_on_segment(a, b, bulge, 0.5))
            )
            chord = math.hypot(bx - ax, by - ay)
            if chord > 12 * unit:
                reach = hand * 7 * unit / chord
                out.append(((mx, my), (mx + (by - ay) * reach, my - (bx - ax) * reach)))
    return out
