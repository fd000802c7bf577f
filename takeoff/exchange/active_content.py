"""What a copy of a PDF loses and gets: what acts by itself or leads out of it is taken out, a legend is written in.

Actions of ISO 32000-2 §12.6 other than going to a place in the file itself, forms of XFA (§12.7.8), attachments
(§7.11.4) and annotations that play or run something (§12.5.6). What is drawn on the pages stays byte for byte.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Sequence
from html import escape
from typing import Any

from takeoff.exchange.plan_lines import PlanRun, by_room
from takeoff.exchange.plan_marks import look_of
from takeoff.exchange.printable import one_line
from takeoff.model.plan import Sheet
from takeoff.units import Display

_INSIDE = ("GoTo", "Named")
"""Actions that stay: they go to a place in this file, or to the next page."""
_ACTING = ("FileAttachment", "RichMedia", "Screen", "Movie", "Sound", "3D", "Projection")
"""Kinds of annotations that carry a file, or play or run one."""
_WORDS = {
    "JavaScript": "a script",
    "Launch": "a command to start a program",
    "SubmitForm": "a form that sends itself",
    "ImportData": "a form that reads a file",
    "URI": "a link to an address outside",
    "GoToR": "a link to another file",
    "GoToE": "a link to an attached file",
}
_OTHER = "an action"
_OF_CATALOG = {
    "OpenAction": "", "AA": _OTHER, "URI": "", "Collection": "a set of attached files", "Names/JavaScript": "a script",
    "Names/EmbeddedFiles": "attached files", "Names/Renditions": "media", "AcroForm/XFA": "an XFA form",
    "AcroForm/CO": "",
}  # fmt: skip
"""Keys of the document's catalogue that go, and what they are; nothing is said of some."""
_TOKEN = re.compile(r"\((?:\\.|\((?:\\.|[^\\()])*\)|[^\\()])*\)|<<|>>|\d+ 0 R", re.S)
"""Texts in brackets, with one level of brackets in them, the ends of dictionaries, and references."""


def take_out_active(document: Any) -> tuple[str, ...]:
    """Take everything that acts out of an open PDF; gives what it was, with how many, for people."""
    found: Counter[str] = Counter()
    catalog = document.pdf_catalog()
    for key, words in _OF_CATALOG.items():
        if document.xref_get_key(catalog, key)[0] != "null":
            if key == "OpenAction":
                words = _words_of(document, catalog, key)
            found.update([words] if words else [])
            document.xref_set_key(catalog, key, "null")
    for page in range(document.page_count):
        found.update(_from_page(document, document.page_xref(page)))
    for number in range(1, document.xref_length()):
        found.update(_from_object(document, number))
    return tuple(f"{words} ({count} times)" if count > 1 else words for words, count in sorted(found.items()))


def _from_object(document: Any, number: int) -> list[str]:
    """Take actions out of one object, and files that are associated with it."""
    found = []
    try:
        keys = document.xref_get_keys(number)
    except (RuntimeError, ValueError):
        return []
    for key in ("A", "PA"):
        if key in keys and document.xref_get_key(number, "S")[0] == "null":
            words = _words_of(document, number, key)
            if words:
                found.append(words)
                document.xref_set_key(number, key, "null")
    for key, words in (("AA", _OTHER), ("AF", "attached files"), ("Next", "")):
        if key in keys and (key != "Next" or document.xref_get_key(number, "S")[0] == "name"):
            found += [words] if words else []
            document.xref_set_key(number, key, "null")
    return found


def _words_of(document: Any, number: int, key: str) -> str:
    """Say what an action does; empty where it stays in the file, or is none."""
    kind, value = document.xref_get_key(number, key)
    if kind == "xref":
        target = int(value.split()[0])
        kind, value = "dict", document.xref_object(target, compressed=True)
    if kind != "dict":
        return ""
    named = re.search(r"/S\s*/(\w+)", value)
    if named is None:
        return "" if number == document.pdf_catalog() else _OTHER if "/JS" in value or "/F" in value else ""
    is_chained = "/Next" in value
    return "" if named[1] in _INSIDE and not is_chained else _WORDS.get(named[1], _OTHER)


def _from_page(document: Any, page: int) -> list[str]:
    """Take annotations out of a page that carry or run something; those written into the page get their own objects."""
    kind, value = document.xref_get_key(page, "Annots")
    if kind == "xref":
        value = document.xref_object(int(value.split()[0]), compressed=True)
    if kind not in ("array", "xref"):
        return []
    found, kept = [], []
    for entry in _entries(value):
        if entry.startswith("<<"):
            number = document.get_new_xref()
            document.update_object(number, entry)
        else:
            number = int(entry.split()[0])
        if document.xref_get_key(number, "Subtype")[1].lstrip("/") in _ACTING:
            found.append("an attached or played file")
        else:
            kept.append(f"{number} 0 R")
    if found or "<<" in value:
        document.xref_set_key(page, "Annots", f"[{' '.join(kept)}]")
    return found


def _entries(array: str) -> list[str]:
    """References and dictionaries of an array, as they are written; texts in brackets are passed over.

    Examples
    --------
    >>> _entries("[7 0 R<</Contents(a>>b)/A<</S/URI>>>>9 0 R]")
    ['7 0 R', '<</Contents(a>>b)/A<</S/URI>>>>', '9 0 R']
    """
    entries, depth, start = [], 0, 0
    for token in _TOKEN.finditer(array):
        if token[0] == "<<":
            start = start if depth else token.start()
            depth += 1
        elif token[0] == ">>":
            depth -= 1
            if depth == 0:
                entries.append(array[start : token.end()])
        elif depth == 0 and token[0].endswith("R"):
            entries.append(token[0])
    return entries


LABEL, LEGEND = 7.0, 7.0
"""Height of letters in thousandths of the sheet's longer side."""
_INK_DPI = 18
"""Dots per inch at which the page is looked at for an empty place."""
_PLACES = 24
"""Places across and down that are tried."""
TITLE = "Net areas as measured"


def write_legend(page: Any, sheet: Sheet, runs: Sequence[PlanRun], display: Display) -> None:
    """Write names and areas into the rooms of a page, and a legend where it covers the least ink.

    The page is open for change, its marks drawn already; ``runs`` are all of the job, so that a system has the colour
    of its mark.
    """
    here = [run for run in runs if run.sheet.id == sheet.id]
    if not here:
        return
    unit = max(sheet.width_pt, sheet.height_pt) / 1000.0
    for members in by_room(here).values():
        _label(page, members, unit, display)
    _legend(page, here, sorted({run.system for run in runs}), unit, display)


def _label(page: Any, runs: Sequence[PlanRun], unit: float, display: Display) -> None:
    """Write the name and net area of a room into the middle of its largest wall line."""
    import shapely

    lines = [[(x / run.scale.mx, y / run.scale.my) for x, y in run.faces[0].path.flattened(0.05)] for run in runs]
    shapes = [shapely.Polygon(line) if len(line) > 3 else shapely.LineString(line) for line in lines]
    x, y = max(shapes, key=lambda shape: (shape.area, shape.length)).representative_point().coords[0]
    words = [one_line(runs[0].room_label), display.area(_net(runs))]
    size = LABEL * unit
    wide, high = max(map(len, words)) * size * 0.62 + size, 2.9 * size
    text = "<br/>".join(escape(word) for word in words)
    _box(page, (x, y), wide, high)
    _write(page, (x, y), wide, high, f'<div style="text-align:center;font-size:{size:.2f}px">{text}</div>')


def _legend(page: Any, runs: Sequence[PlanRun], systems: Sequence[str], unit: float, display: Display) -> None:
    size = LEGEND * unit
    names = {run.system: one_line(run.system_name) for run in runs}
    here = [system for system in systems if system in names]
    words = [f"{names[s]}: {display.area(_net([r for r in runs if r.system == s]))}" for s in here]
    wide, high = (max(len(w) for w in (*words, TITLE)) * 0.62 + 6) * size, (len(here) + 2) * 1.5 * size
    corner = _emptiest(page, wide, high, 2 * size)
    left, top = corner[0] - wide / 2, corner[1] - high / 2
    middle = (left + wide / 2, top + high / 2)
    _box(page, _onto_sheet(page, middle), wide, high, is_framed=True)
    _write(
        page, _onto_sheet(page, (middle[0], top + 1.25 * size)), wide - size, 1.6 * size,
        f'<div style="font-size:{size:.2f}px"><b>{TITLE}</b></div>',
    )  # fmt: skip
    for row, (system, text) in enumerate(zip(here, words, strict=True), start=1):
        y = top + (row + 0.85) * 1.5 * size
        rgb, strokes = look_of(systems.index(system))
        ends = [_onto_sheet(page, (left + part * size, y)) for part in (0.7, 3.7)]
        dashes = " ".join(f"{d * unit:.2f}" for d in strokes)
        colour = [c / 255 for c in rgb]
        page.draw_line(*ends, color=colour, width=1.8 * unit, dashes=f"[{dashes}] 0" if dashes else None)
        at = _onto_sheet(page, (left + 4.4 * size + (wide - 5 * size) / 2, y))
        _write(page, at, wide - 5 * size, 1.5 * size, f'<div style="font-size:{size:.2f}px">{escape(text)}</div>')


def _net(runs: Sequence[PlanRun]) -> float:
    return math.fsum(face.quantities.net_area for run in runs for face in run.faces)


def _onto_sheet(page: Any, point: tuple[float, float]) -> tuple[float, float]:
    import pymupdf

    moved = pymupdf.Point(*point) * page.derotation_matrix
    return moved.x, moved.y


def _around(page: Any, middle: tuple[float, float], wide: float, high: float) -> Any:
    """Return the rectangle about a point, ``wide`` across as displayed."""
    import pymupdf

    across, down = (wide, high) if page.rotation % 180 == 0 else (high, wide)
    x, y = middle
    return pymupdf.Rect(x - across / 2, y - down / 2, x + across / 2, y + down / 2)


def _box(page: Any, middle: tuple[float, float], wide: float, high: float, *, is_framed: bool = False) -> None:
    looks = {"color": (0, 0, 0), "width": high / 150} if is_framed else {"color": None, "fill_opacity": 0.75}
    page.draw_rect(_around(page, middle, wide, high), fill=(1, 1, 1), **looks)


def _write(page: Any, middle: tuple[float, float], wide: float, high: float, html: str) -> None:
    page.insert_htmlbox(
        _around(page, middle, wide, high), html, css="* {font-family: sans-serif}", rotate=page.rotation, scale_low=0
    )


def _emptiest(page: Any, wide: float, high: float, margin: float) -> tuple[float, float]:
    """Return the middle of the place on the page as displayed where a box covers the least ink, low before high."""
    import numpy as np
    import pymupdf

    picture = page.get_pixmap(dpi=_INK_DPI, colorspace=pymupdf.csGRAY)
    ink = 255 - np.frombuffer(picture.samples, np.uint8).reshape(picture.height, picture.stride)[:, : picture.width]
    sums = np.pad(ink.astype(np.int64).cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
    xs = np.linspace(margin + wide / 2, max(page.rect.width - margin - wide / 2, margin + wide / 2), _PLACES)
    ys = np.linspace(max(page.rect.height - margin - high / 2, margin + high / 2), margin + high / 2, _PLACES)
    by = _INK_DPI / 72.0

    def covered(middle: tuple[float, float]) -> int:
        x0, x1 = (min(max(0, round((middle[0] + side * wide / 2) * by)), picture.width) for side in (-1, 1))
        y0, y1 = (min(max(0, round((middle[1] + side * high / 2) * by)), picture.height) for side in (-1, 1))
        return int(sums[y1, x1] - sums[y0, x1] - sums[y1, x0] + sums[y0, x0])

    return min(((float(x), float(y)) for y in ys for x in xs), key=covered)
