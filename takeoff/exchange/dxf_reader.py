"""Runs out of a DXF drawing: those that the program wrote, and polylines, lines, arcs and circles of other programs."""

from __future__ import annotations

import fnmatch
import io
import json
import math
from collections.abc import Iterator, Sequence
from typing import Any

import msgspec

from takeoff.apart import apart
from takeoff.errors import InputError
from takeoff.exchange.dxf import RECORD
from takeoff.exchange.edits_entries import RoomEntry, RunEntry, line_of
from takeoff.exchange.edits_file import FoundRuns, found_runs, read_entry
from takeoff.exchange.plan_lines import from_building
from takeoff.geometry.arcs import Point
from takeoff.geometry.paths import Path
from takeoff.model.plan import Calibration, Sheet

MOVED = 1e-6
"""Relative difference of a length from which a face counts as changed in another program."""
LARGEST_FILE = 200_000_000
MOST_ENTITIES = 200_000
SMALLEST = 0.5
"""Metres across that lines of walls have at the least; less is a slip of the unit (judgement)."""
_METRES = {
    1: 0.0254, 2: 0.3048, 3: 1609.344, 4: 0.001, 5: 0.01, 6: 1.0, 7: 1000.0, 10: 0.9144, 14: 0.1, 21: 1200 / 3937,
}  # fmt: skip
"""Metres in the units of $INSUNITS (DXF reference, header section); 21 is the US survey foot."""


class _Record(msgspec.Struct):
    """What the program leaves with a polyline; ``entry`` is there with the first face of a run only."""

    run: str
    side: str
    start: tuple[float, float]
    scale: tuple[float, float]
    shape: list[tuple[float, float, float]]
    entry: Any


@apart
def read_dxf(
    data: bytes,
    sheet: Sheet,
    scale: Calibration,
    *,
    layers: str = "A-WALL*",
    unit: float | None = None,
    taken: Sequence[str] = (),
    height: float | None = None,
    origin: Point = (0.0, 0.0),
) -> FoundRuns:
    """Read the lines of a drawing as runs on a sheet.

    Lines of other programs are read from ``layers``, with * and ? for any characters, and go on the sheet by its
    ``scale``; ``height`` is the top of their coating above the floor in m. ``unit`` is metres in a unit of the drawing,
    what the file says where ``None``; ``origin`` its point, in its units, that lies on the sheet's lower left corner as
    displayed. Raises `InputError` when the file is no DXF, says no unit, or has no line on the layers.
    """
    document = _opened(data)
    factor = unit or _METRES.get(document.units)
    if factor is None:
        raise InputError("the drawing does not say its unit", remedy="Give it: --unit 1mm, 1m, 1in or 1ft.")
    own, drawn, doubts = _sorted_out(document, layers, sheet, factor)
    if not own and not drawn:
        raise InputError(
            f'no line is on a layer "{layers}"', remedy=f"Layers: {', '.join(sorted(_layers(document))) or 'none'}."
        )
    blank = RunEntry(id="", sheet=sheet.id, points=[], height=height)
    foreign = [(layer, _foreign(line, sheet, scale, factor, origin, blank)) for layer, line in drawn]
    corners = [p for _, line in drawn for p in line.points]
    if corners and (across := factor * max(max(c) - min(c) for c in zip(*corners, strict=True))) < SMALLEST:
        doubts.append(f"by the drawing's unit its lines are {across:.3g} m across: check the unit")
    _check_on_sheet([p for _, run in foreign for p in line_of(run)[0]], corners, sheet)
    return found_runs(own, foreign, taken=taken, doubts=doubts, what="lines")


def _sorted_out(
    document: Any, layers: str, sheet: Sheet, factor: float
) -> tuple[list[tuple[RunEntry, RoomEntry | None]], list[tuple[str, Path]], list[str]]:
    """Give the runs that the program wrote, lines of other programs by layer, and what is doubtful."""
    doubts: list[str] = []
    own: list[tuple[RunEntry, RoomEntry | None]] = []
    drawn: list[tuple[str, Path]] = []
    skipped: dict[str, int] = {}
    hidden = 0
    for entity in _entities(document):
        record, line, layer = _record(entity), _line(entity), str(entity.dxf.layer)
        if not _shows(entity, document):
            hidden += line is not None and fnmatch.fnmatchcase(layer.upper(), layers.upper())
        elif record is not None:
            entry = read_entry(json.dumps(record.entry))
            if entry is not None and line is not None:
                run = msgspec.structs.replace(entry[0], sheet=sheet.id)
                own.append((_followed(run, line, record, sheet, factor, doubts), entry[1]))
        elif fnmatch.fnmatchcase(layer.upper(), layers.upper()):
            if line is not None:
                drawn.append((layer, line))
            else:
                skipped[entity.dxftype()] = skipped.get(entity.dxftype(), 0) + 1
    if hidden:
        doubts.append(f"left out, as they are hidden or on layers that are off, frozen or not plotted: {hidden} lines")
    if skipped:
        kinds = ", ".join(f"{count} {kind}" for kind, count in sorted(skipped.items()))
        doubts.append(f"left out, as they are no lines or arcs: {kinds}")
    return own, drawn, doubts


def _check_on_sheet(points: Sequence[Point], corners: Sequence[Point], sheet: Sheet) -> None:
    """Refuse lines that lie off the sheet; ``corners`` are their points in the drawing."""
    if all(0.0 <= x <= sheet.width_pt and 0.0 <= y <= sheet.height_pt for x, y in points):
        return
    left, bottom = (min(p[axis] for p in corners) for axis in (0, 1))
    raise InputError(
        f"lines of the drawing lie off the sheet; the lowest and leftmost are at {left:.12g},{bottom:.12g} of it",
        remedy="Give the point of the drawing that lies on the sheet's lower left corner, --origin X,Y, and its --unit "
        "if that is wrong.",
    )


def _opened(data: bytes) -> Any:
    import ezdxf
    from ezdxf import recover

    if len(data) > LARGEST_FILE:
        raise InputError(f"the drawing is {len(data):,} bytes long", remedy=f"At most {LARGEST_FILE:,} are taken.")
    if b"SECTION" not in data:
        raise InputError("it is no DXF drawing", remedy="Save it as DXF, not in a program's own format.")
    try:
        document, _ = recover.read(io.BytesIO(data))
    except (OSError, ValueError, LookupError, ezdxf.DXFError) as error:
        raise InputError(f"it is no DXF drawing: {error}", remedy="Save it as DXF again.") from error
    return document


def _entities(document: Any) -> Iterator[Any]:
    from ezdxf import disassemble

    # what a frozen or hidden block draws does not show, whatever layers its lines are on
    top = (e for e in document.modelspace() if e.dxftype() != "INSERT" or _shows(e, document))
    for count, entity in enumerate(disassemble.recursive_decompose(top)):
        if count >= MOST_ENTITIES:
            raise InputError(
                f"the drawing has more than {MOST_ENTITIES:,} objects with those of its blocks",
                remedy="Save the walls alone.",
            )
        yield entity


def _shows(entity: Any, document: Any) -> bool:
    """Tell whether an entity shows: it is not hidden, nor is its layer off, frozen or not plotted."""
    layers, name = document.layers, entity.dxf.layer
    layer = layers.get(name) if name in layers else None
    is_on = layer is None or (layer.is_on() and not layer.is_frozen() and layer.dxf.get("plot", 1) != 0)
    return is_on and not entity.dxf.get("invisible", 0)


def _layers(document: Any) -> set[str]:
    return {str(entity.dxf.layer) for entity in document.modelspace()}


def _record(entity: Any) -> _Record | None:
    if not entity.has_extension_dict:
        return None
    found = entity.get_extension_dict().get(RECORD)
    if found is None:
        return None
    try:
        return msgspec.json.decode("".join(str(tag.value) for tag in found.tags if tag.code == 1), type=_Record)
    except (msgspec.MsgspecError, UnicodeError):
        return None


def _line(entity: Any) -> Path | None:
    """Read the geometry of an entity as a chain; nothing where it is no chain of lines and arcs in plan."""
    kind = entity.dxftype()
    side = -1.0 if entity.dxf.hasattr("extrusion") and entity.dxf.extrusion.z < 0.0 else 1.0  # seen from below
    if kind == "LWPOLYLINE":
        rows = list(entity.get_points("xyb"))
        return _tidy([(side * x, y) for x, y, _ in rows], [side * b for _, _, b in rows], entity.closed)
    if kind == "POLYLINE" and entity.is_2d_polyline:
        corners = [v.dxf for v in entity.vertices]
        points = [(side * d.location.x, d.location.y) for d in corners]
        return _tidy(points, [side * d.get("bulge", 0.0) for d in corners], entity.is_closed)
    if kind == "LINE":
        return _tidy([entity.dxf.start.vec2, entity.dxf.end.vec2], [0.0, 0.0], is_closed=False)
    if kind == "ARC":
        sweep = math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360.0 or 360.0)
        bulges = [side * math.tan(sweep / 4.0), 0.0]
        return _tidy([entity.start_point.vec2, entity.end_point.vec2], bulges, is_closed=False)
    if kind == "CIRCLE":
        (x, y), r = entity.dxf.center.vec2, entity.dxf.radius
        return _tidy([(side * x + r, y), (side * x - r, y)], [1.0, 1.0], is_closed=True)
    return None


def _tidy(points: Sequence[Any], bulges: Sequence[float], is_closed: bool) -> Path | None:
    """Make a chain in drawing units, y up, without points that stand twice; nothing where one point is left."""
    plain = [(float(x), float(y)) for x, y in points]
    if is_closed and len(plain) > 2 and plain[0] == plain[-1]:
        plain, bulges = plain[:-1], bulges[:-1]
    kept = [i for i, p in enumerate(plain) if i + 1 == len(plain) or p != plain[i + 1]]
    bends = tuple(float(bulges[i]) for i in (kept if is_closed else kept[:-1]))
    return Path(tuple(plain[i] for i in kept), bends, is_closed) if len(kept) >= 2 else None


def _followed(run: RunEntry, line: Path, record: _Record, sheet: Sheet, factor: float, doubts: list[str]) -> RunEntry:
    """Keep a run whose face lies where it was drawn; else give it the line that is drawn now, where that is the run."""
    bulges = (*line.bulges, 0.0)
    now = [(*p, b) for p, b in zip(line.points, bulges, strict=False)]
    is_same = len(now) == len(record.shape) and all(
        math.isclose(a, b, rel_tol=MOVED, abs_tol=MOVED)
        for p, q in zip(now, record.shape, strict=True)
        for a, b in zip(p, q, strict=True)
    )
    if is_same and line.is_closed == run.closed:
        return run
    if run.line == "centre" or run.face == "both":
        doubts.append(f"wall {run.id} was changed in another program: trace it again, it came in as it was measured")
        return run
    doubts.append(f"wall {run.id} was moved in another program: it follows the line drawn there")
    scale = Calibration(sheet=sheet.id, mx=record.scale[0], my=record.scale[1])
    start = (record.start[0] / factor, record.start[1] / factor)
    return _foreign(line, sheet, scale, factor, start, run)


def _foreign(line: Path, sheet: Sheet, scale: Calibration, factor: float, origin: Point, run: RunEntry) -> RunEntry:
    """Give a run the line of a drawing; ``origin`` in its units is the sheet's lower left corner as displayed."""
    points = [from_building(sheet, scale, ((x - origin[0]) * factor, (y - origin[1]) * factor)) for x, y in line.points]
    bulges = list(line.bulges) if any(line.bulges) else []
    return msgspec.structs.replace(run, points=points, bulges=bulges, closed=line.is_closed)
