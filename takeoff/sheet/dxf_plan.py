"""DXF drawings as plan files: taken in as a vector PDF that holds the same lines, layers and texts, and the scale.

The model becomes a page at a usual scale on a usual size of paper; each layout with something on it becomes a page at
its own size, with the scale of each view. What is switched off, frozen or not plotted in the drawing is left out.
"""

from __future__ import annotations

import contextlib
import io
import logging
import struct
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from takeoff.errors import SheetError
from takeoff.sheet.dxf_pages import UNITS, layout_pages, model_page
from takeoff.sheet.dxf_painter import MOST_MARKS, Painter
from takeoff.sheet.formats import BINARY_START
from takeoff.sheet.marks_pdf import MarkedPage, write_marks

LARGEST_FILE = 100_000_000
"""Most bytes of a drawing that is read."""
MOST_PATTERN_LINES = 20_000
"""A hatch with more lines is filled."""
MOST_INSERTED = 10 * MOST_MARKS
"""Most objects with those of blocks as often as they are inserted: much of that may not be shown."""
FEWEST_DIMENSIONS = 3
"""With fewer dimensions in feet and inches the drawing's own word stands."""
_SOLIDS = {
    "3DSOLID", "BODY", "REGION", "SURFACE", "EXTRUDEDSURFACE", "LOFTEDSURFACE", "REVOLVEDSURFACE", "SWEPTSURFACE",
    "PLANESURFACE", "ACAD_PROXY_ENTITY",
}  # fmt: skip
"""Objects that have no lines of their own, or belong to a program that is not there (DXF reference, entities)."""
_BROKEN = (
    ValueError, TypeError, LookupError, AttributeError, ArithmeticError, AssertionError, RuntimeError, OSError,
    struct.error,
)  # fmt: skip

UNCALIBRATED = ": check its scale with a known dimension"
"""The scale of a drawing of which this is said is guessed, or there is none."""


def drawing_to_pdf(data: bytes, name: str) -> tuple[bytes, list[str]]:
    """Turn a DXF drawing, ASCII or binary, into a vector PDF.

    Raises `SheetError` when the drawing is damaged, ends early, is too large or shows nothing.

    Parameters
    ----------
    data
        Bytes of the drawing.
    name
        Name of the file, for messages.

    Returns
    -------
    pdf
        The same bytes for the same drawing. Its first page is the model; each layout that shows something follows.
    doubts
        What was assumed or left out, a sentence each.
    """
    document, doubts = _opened(data, name)
    unit = UNITS.get(int(document.units))
    hearsay = unit[0] if unit else ""
    if _is_dimensioned_in_feet(document):
        if unit != UNITS[1]:
            said = f"says that its unit is {unit[0]}" if unit else "does not say its unit"
            doubts.append(f"the drawing {said}; its dimensions are written in feet and inches, so the inch is taken")
        document.units, unit, hearsay = 1, UNITS[1], ""
    if unit is None:
        said = (
            f"says a unit that plans are not drawn in ({document.units})" if document.units else "does not say its unit"
        )
        doubts.append(f"the drawing {said}{UNCALIBRATED}")
    try:
        pages = _pages(document, unit, doubts, name)
        pages = [replace(p, measures=[replace(m, hearsay=hearsay or m.hearsay) for m in p.measures]) for p in pages]
    # a damaged layout lacks what every layout has
    except _BROKEN as error:
        raise SheetError("the DXF is damaged and cannot be read", remedy="Save it as DXF again.", where=name) from error
    if not pages:
        why = "; ".join(("the drawing shows nothing", *(doubt for doubt in doubts if not doubt.endswith(UNCALIBRATED))))
        raise SheetError(why, remedy="Save the plan itself, with its layers switched on.", where=name)
    doubts = list(dict.fromkeys(doubts))
    told = [doubt for doubt in doubts if not doubt.endswith(UNCALIBRATED)]
    return write_marks(pages, name, told), [f"{name}: {doubt}" for doubt in doubts]


def _pages(document: Any, unit: tuple[str, float] | None, doubts: list[str], name: str) -> list[MarkedPage]:
    """Pages of the model and of every layout that shows something."""
    pages: list[MarkedPage] = []
    model = _painted(document, document.modelspace(), doubts)
    if model.marks:
        pages.append(model_page(document, model.marks, unit, doubts, name))
    for layout in document.layouts:
        things = (e for e in layout if e.dxftype() != "VIEWPORT" or e.dxf.get("id", 2) != 1)  # 1 is its own outer view
        if layout.is_modelspace or next(things, None) is None:
            continue
        painter = _painted(document, layout, doubts)
        aslant = sum(not view.is_top_view for view in layout.query("VIEWPORT") if view.dxf.get("id", 2) != 1)
        if aslant:
            doubts.append(f"layout {layout.name}: views that do not look straight down are left out: {aslant}")
        if painter.marks:
            pages += layout_pages(layout, painter, unit, doubts)
    return pages


def _is_dimensioned_in_feet(document: Any) -> bool:
    """Tell whether most dimensions of the model show what they measure in feet and inches.

    Those formats (DIMLUNIT 3 and 4) take the drawing's unit for the inch (DXF reference, from memory).
    """
    measured = [e for e in document.modelspace().query("DIMENSION") if e.dxf.get("text", "") in ("", "<>")]
    styles = [entity.override() for entity in measured]
    in_feet = [s for s in styles if s.get("dimlunit") in (3, 4) and s.get("dimlfac", 1.0) in (None, 1.0)]
    return len(in_feet) >= FEWEST_DIMENSIONS and 2 * len(in_feet) > len(styles)


def _opened(data: bytes, name: str) -> tuple[Any, list[str]]:
    """Read the drawing, and what is missing in it."""
    import ezdxf
    from ezdxf.audit import AuditError
    from ezdxf.entities import DXFGraphic

    logging.getLogger("ezdxf").disabled = True  # what a person should know of the drawing is told here
    if len(data) > LARGEST_FILE:
        raise SheetError(
            f"the drawing is {len(data):,} bytes long; at most {LARGEST_FILE:,} are read",
            remedy="Save the plan alone.",
            where=name,
        )
    if b"EOF" not in data[-64:]:
        raise SheetError("the DXF ends early: it is truncated", remedy="Save or download it again.", where=name)
    try:
        document, auditor, lost = _read(data)
        if b"$INSUNITS" not in data:
            document.units = 0  # the library gives a drawing without a header a unit of its own
        doubts = [f"{len(auditor.errors)} faults of the drawing could not be repaired"] * bool(auditor.errors)
        missing = sorted(block.name for block in document.blocks if block.block is not None and block.block.is_xref)
        shown = [entity for entity in document.entitydb.values() if isinstance(entity, DXFGraphic)]
        for layer in sorted({str(entity.dxf.get("layer", "0")) for entity in shown}):
            if not document.layers.has_entry(layer):
                document.layers.add(layer)
        plots = {layer.dxf.name.casefold(): layer.dxf.get("plot", 1) for layer in document.layers if layer.is_on()}
        unplotted = sorted({e.dxf.layer for e in shown if plots.get(e.dxf.get("layer", "0").casefold()) == 0})
        unplotted = [layer for layer in unplotted if layer.upper() != "DEFPOINTS"]  # which is never plotted
        pictures = len(document.entitydb.query("IMAGE PDFUNDERLAY DWFUNDERLAY OLE2FRAME"))
        unseen = sum(map(_is_unseen, document.entitydb.values()))
        blocks = sum(fix.code == AuditError.UNDEFINED_BLOCK for fix in auditor.fixes)
    except (*_BROKEN, ezdxf.DXFError) as error:
        raise SheetError("the DXF is damaged and cannot be read", remedy="Save it as DXF again.", where=name) from error
    if missing:
        doubts.append(f"it refers to drawings that are not in it ({', '.join(missing)}): bind them and save it again")
    if unplotted:
        doubts.append(f"layers that show and are not plotted are left out: {', '.join(unplotted)}")
    if blocks:
        doubts.append(f"blocks that are not in it are left out: {blocks}")
    if lost > blocks:
        doubts.append(f"objects that are not whole are left out: {lost - blocks}")
    if unseen:
        doubts.append(
            f"solids and objects of other programs, which hold no lines to show, are left out: {unseen}; "
            "explode them or plot the drawing to PDF"
        )
    if pictures:
        doubts.append(f"{pictures} pictures in the drawing are left out")
    return document, doubts


def _is_unseen(entity: Any) -> bool:
    """Tell whether the library cannot take an object apart into lines, and it brings none of its own."""
    from ezdxf.entities import DXFTagStorage
    from ezdxf.proxygraphic import ProxyGraphic, ProxyGraphicError

    is_unknown = isinstance(entity, DXFTagStorage) and bool(entity.is_graphic_entity)
    if not is_unknown and entity.dxftype() not in _SOLIDS:
        return False
    with contextlib.suppress(*_BROKEN, ProxyGraphicError):
        graphic = getattr(entity, "proxy_graphic", None)
        return graphic is None or not any(True for _ in ProxyGraphic(graphic, entity.doc).virtual_entities())
    return True


def _audited(document: Any) -> tuple[Any, Any, int]:
    """Return a drawing, its audit, and how many things to draw were thrown out by that."""
    from ezdxf.entities import DXFGraphic

    drawn = [entity for entity in document.entitydb.values() if isinstance(entity, DXFGraphic)]
    auditor = document.audit()
    return document, auditor, sum(not entity.is_alive for entity in drawn)


def _read(data: bytes) -> tuple[Any, Any, int]:
    """Read a drawing the quick way and, where that fails, the forgiving one; as `_audited`."""
    import ezdxf
    from ezdxf import recover
    from ezdxf.document import Drawing
    from ezdxf.filemanagement import dxf_stream_info
    from ezdxf.lldxf.tagger import binary_tags_loader

    if data.startswith(BINARY_START):
        return _audited(Drawing.load(binary_tags_loader(data, errors="surrogateescape")))
    try:
        encoding = dxf_stream_info(io.TextIOWrapper(io.BytesIO(data), "utf-8", "replace")).encoding
        return _audited(ezdxf.read(io.TextIOWrapper(io.BytesIO(data), encoding, "surrogateescape")))
    except (*_BROKEN, ezdxf.DXFError):
        return (*recover.read(io.BytesIO(data)), 0)


def _count(layout: Any, known: dict[str, int]) -> int:
    """Count the objects of a layout or block, those of blocks as often as they are inserted, shown or not."""
    total = 0
    for entity in layout:
        total += 1
        if entity.dxftype() == "INSERT" and (block := entity.block()) is not None:
            if block.name not in known:
                known[block.name] = 0  # a block within itself is not drawn
                known[block.name] = _count(block, known)
            total += entity.mcount * known[block.name]
    return total


def _painted(document: Any, layout: Any, doubts: list[str]) -> Painter:
    """Take a layout apart into marks; what is damaged in it is left out and doubted."""
    import ezdxf
    from ezdxf.addons.drawing.config import BackgroundPolicy, Configuration, ImagePolicy
    from ezdxf.addons.drawing.frontend import UniversalFrontend
    from ezdxf.addons.drawing.properties import RenderContext

    if _count(layout, {}) > MOST_INSERTED:
        raise SheetError(
            f"{layout.name} has more than {MOST_INSERTED:,} objects in its blocks", remedy="Save the plan alone."
        )
    painter = Painter()
    unit = UNITS.get(int(document.units), ("", 0.001))[1]
    settings = Configuration(background_policy=BackgroundPolicy.WHITE, image_policy=ImagePolicy.IGNORE)
    frontend: Any = UniversalFrontend(RenderContext(document, export_mode=True), painter, settings)
    draw = frontend.draw_entity
    seen = broken = 0

    def draw_or_leave(entity: Any, properties: Any) -> None:
        nonlocal seen, broken
        seen += 1
        if seen > MOST_MARKS:
            raise SheetError(
                f"the drawing has more than {MOST_MARKS:,} objects in its blocks", remedy="Save the plan alone."
            )
        try:
            draw(entity, properties)
        except (*_BROKEN, ezdxf.DXFError):
            broken += 1

    def skipped(entity: Any, why: str) -> None:
        nonlocal broken
        broken += why not in ("invisible", "unsupported")  # of these others are told

    frontend.draw_entity, frontend.skip_entity = draw_or_leave, skipped
    frontend.draw_complex_mtext = frontend.draw_simple_mtext
    frontend.draw_hatch_pattern = lambda hatch, outlines, properties: painter.draw_solid_lines(
        _pattern(hatch, outlines, 0.005 / unit), properties
    )
    try:
        frontend.draw_layout(layout, finalize=False)
    except (*_BROKEN, ezdxf.DXFError) as error:
        raise SheetError(f"{layout.name} cannot be drawn", remedy="Save the drawing as DXF again.") from error
    if broken + painter.placeless:
        doubts.append(f"damaged objects are left out: {broken + painter.placeless}")
    if painter.lost_letters:
        doubts.append(f"{painter.lost_letters} letters of texts are shown as a question mark")
    return painter


def _pattern(hatch: Any, outlines: Sequence[Any], least: float) -> list[tuple[Any, Any]]:
    """Return the lines of a hatch's pattern; one with too many, or closer than ``least``, is to be filled instead.

    The pattern is moved by a thousandth of its step, always the same, so that no line meets a corner.
    """
    from ezdxf.math import Vec2
    from ezdxf.render import hatching

    lines: list[tuple[Any, Any]] = []
    ocs, elevation = hatch.ocs(), hatch.dxf.elevation.z
    for found in hatching.pattern_baselines(hatch, min_hatch_line_distance=least):
        step = found.offset.magnitude
        base = hatching.HatchBaseLine(
            found.origin + Vec2(0.00061 * step, 0.00043 * step), found.direction, found.offset, found.line_pattern
        )
        for line in hatching.hatch_paths(base, outlines):
            for start, end in base.pattern_renderer(line.distance).render(line.start, line.end):
                lines.append(tuple(ocs.to_wcs((p.x, p.y, elevation)) for p in (start, end)))
            if len(lines) > MOST_PATTERN_LINES:
                raise hatching.DenseHatchingLinesError
    return lines
