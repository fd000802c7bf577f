"""Taking plan files in: what they are, what is wrong with them, and the register of their sheets."""

from __future__ import annotations

import hashlib
import math
from dataclasses import replace
from typing import Any

from takeoff.apart import apart
from takeoff.errors import SheetError
from takeoff.model.plan import Finding, Sheet, Source
from takeoff.sheet.contents import Stream, count_page, page_resources, pictures_on
from takeoff.sheet.document import load_page, open_document
from takeoff.sheet.embedded import PdfValue
from takeoff.sheet.formats import check_pictures, check_side, file_format, is_dxf
from takeoff.sheet.layers import shown_otherwise
from takeoff.sheet.marks_pdf import TOLD
from takeoff.sheet.page_faults import page_faults
from takeoff.sheet.picture import read_pictures
from takeoff.sheet.scope_words import wall_notes
from takeoff.sheet.text import lines_of_page, noted_lines
from takeoff.sheet.titles import stamps_of, with_title_block

INCOMPLETE = "the page may be incomplete: its drawing instructions are damaged or stop early"
ENDS_EARLY = "the file was cut short: sheets and lines that stood after its end are missing"
REBUILT = "the file's table of contents was damaged and was rebuilt"
SCAN_COVER = 0.8
"""A page is a scan when pictures cover at least this part of it …"""
SCAN_PATHS = 100
"""… and it has fewer painted paths than this: stamps and marks put on a scan (common practice, no source)."""


def source_of(data: bytes, name: str) -> Source:
    """Describe a plan file by its name, size in bytes and SHA-256.

    Examples
    --------
    >>> source_of(b"", "plan.pdf").sha256[:8]
    'e3b0c442'
    """
    written = name.encode("utf-8", "replace").decode()  # a name may hold bytes that are no letters
    return Source(sha256=hashlib.sha256(data).hexdigest(), name=written, size=len(data))


@apart
def plan_contents(data: bytes, name: str) -> tuple[bytes, list[str]]:
    """Return a plan file as it is kept: as it is, or as PDF where it is a DXF drawing.

    Raises `SheetError` when it is a drawing that is damaged, truncated, too large or empty.

    Parameters
    ----------
    data
        Bytes of the file; they are not altered.
    name
        Name of the file, for messages.

    Returns
    -------
    contents
        What `source_of`, `read_sheets` and all that reads plans take.
    doubts
        What had to be assumed or left out, a sentence each.

    Examples
    --------
    >>> plan_contents(b"%PDF-1.7", "plan.pdf")
    (b'%PDF-1.7', [])
    """
    if not is_dxf(data):
        return data, []
    from takeoff.sheet.dxf_plan import drawing_to_pdf

    return drawing_to_pdf(data, name)


@apart
def read_sheets(data: bytes, name: str) -> tuple[list[Sheet], list[str]]:
    """Read the register of the sheets in a plan file: PDF, PNG, JPEG or TIFF (a DXF by `plan_contents` first).

    Raises `SheetError` when the file is empty, no plan file, damaged, truncated, protected, without pages or too large.

    Parameters
    ----------
    data
        Bytes of the file; they are not altered.
    name
        Name of the file, for messages.

    Returns
    -------
    sheets
        In the order of the file, ids counted from 1. ``width_pt`` and ``height_pt`` are of the unrotated page.
    doubts
        What had to be repaired or assumed, a sentence each.
    """
    source = source_of(data, name).sha256
    if file_format(data, name) == "pdf":
        sheets, doubts = _pdf_sheets(data, name, source)
    else:
        sheets = read_pictures(data, name, source)
        doubts = [f"{name}, page {sheet.page}: {found.text}" for sheet in sheets for found in sheet.findings]
    return [replace(sheet, id=number) for number, sheet in enumerate(sheets, start=1)], doubts


def _pdf_sheets(data: bytes, name: str, source: str) -> tuple[list[Sheet], list[str]]:
    """Register the pages of a PDF."""
    sheets: list[Sheet] = []
    doubts: list[str] = []
    streams: dict[int, Stream] = {}
    with open_document(data, name) as document:
        is_short = bool(document.is_repaired) and b"%%EOF" not in data[-2048:]
        repaired = ENDS_EARLY if is_short else REBUILT
        for number in range(1, document.page_count + 1):
            where = f"{name}, page {number}"
            try:
                page = load_page(document, number, name)
                sheet, faults = _pdf_sheet(document, page, source, streams, where)
            except SheetError:
                if not is_short:
                    raise
                doubts.append(f"{where}: it lies after the end of the file and is left out")
                continue
            found = [*shown_otherwise(document, page), *faults]
            told = sheet.findings
            taken_in = PdfValue.of_page(page).get(TOLD)
            found += [taken_in.at(index).text for index in range(taken_in.length)]
            if document.is_repaired:
                found.insert(0, repaired)
            sheets.append(replace(sheet, findings=(*(Finding(about="file", text=text) for text in found), *told)))
            doubts += [f"{where}: {fault}" for fault in faults]
        if document.is_repaired:
            doubts.insert(0, f"{name}: {repaired}: check every sheet")
    if not sheets:
        raise SheetError("the PDF ends before its first page", remedy="Export or download it again.", where=name)
    return sheets, doubts


def _pdf_sheet(
    document: Any, page: Any, source: str, streams: dict[int, Stream], where: str
) -> tuple[Sheet, list[str]]:
    """Register one page, and say what is wrong with it."""
    across, down = float(page.rect.width), float(page.rect.height)
    rotation = _rotation(page, where)
    width, height = (across, down) if rotation % 180 == 0 else (down, across)
    check_side(width, height, where)
    images, forms, has_fonts, has_masks = page_resources(document, page, where)
    check_pictures(images.values(), where)
    paths, complete = count_page(document, page, streams, forms, where)
    dpi = _scan_dpi(page, width * height) if images and paths < SCAN_PATHS else None
    sheet = Sheet(
        id=page.number + 1,
        source=source,
        page=page.number + 1,
        width_pt=width,
        height_pt=height,
        rotation=rotation,
        kind="vector" if dpi is None else "scan",
        dpi=dpi,
        paths=paths,
    )
    lines = lines_of_page(page) if has_fonts else noted_lines(page)
    is_empty = not (paths or images or lines)
    faults = [] if complete else [INCOMPLETE]
    is_picture = dpi is not None or (bool(images) and not (paths or lines))
    faults += page_faults(
        document, page, images, is_picture=is_picture, is_empty=is_empty and complete, has_masks=has_masks
    )  # fmt: skip
    stamps = " and ".join(f"“{stamp}”" for stamp in stamps_of(lines))
    marked = (Finding(about="stamp", text=f"it is marked {stamps}"),) if stamps else ()
    return replace(with_title_block(sheet, lines), findings=(*marked, *wall_notes(lines))), faults


def _rotation(page: Any, where: str) -> int:
    """Return by how many degrees a page is turned; by less than a right angle none is (ISO 32000-1 §7.7.3.3)."""
    told = PdfValue.of_page(page).inherited("Rotate").number or 0.0
    if told % 90:
        raise SheetError(f"the page is turned by {told:g}°", remedy="Export it upright.", where=where)
    return int(page.rotation)


def _scan_dpi(page: Any, area_pt2: float) -> float | None:
    """Return the dots per inch of the largest picture where pictures cover the page, otherwise ``None``."""
    sizes = [(area, pixels) for area, pixels in pictures_on(page) if pixels]
    if sum(area for area, _ in sizes) < SCAN_COVER * area_pt2:
        return None
    area, pixels = max(sizes)
    return 72.0 * math.sqrt(pixels / area) if area > 0 else None
