"""Text of scanned sheets, and of drawings whose letters are lines, through an OCR library that is an optional extra.

Its model ships in its package. On a drawing letters stand apart, so lines of them are found here and only read there,
which takes a tenth of the time. What is read this way is a proposal: letters are lost, most often the foot mark (12-6"
for 12'-6"). It counts where a second reading confirms it.
"""

from __future__ import annotations

import importlib.util
import math
import re
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from takeoff.errors import InputError
from takeoff.geometry.pairs import linked_groups
from takeoff.limits import cores, quiet_libraries
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.frame import Box, displayed_size, displayed_to_sheet
from takeoff.sheet.render import darkest, full_pixels, pixel_box, render_array
from takeoff.sheet.text import TextLine, laid_line

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

SCAN_DPI = 200.0
"""Pixels per inch at which a scan is read: letters of 8 points are read whole from here on."""
A4_PT, A0_PT = 842.0, 3370.0
"""Points of the longer side of the smallest and the largest paper that people draw on (ISO 216): smaller pages were
shrunk, larger ones are plotted at the size of the building or are in the units of the drawing."""
TILE = 1600
OVERLAP = 240
"""Pixels of one part of a sheet that is read in one call, and by how much parts overlap, so no line is cut in both."""
SURE = 0.6
"""Least confidence, 0 to 1, with which a line is kept."""
_BLANK = 4.0
"""Standard deviation of grey values under which a part of a sheet has nothing on it."""
_LETTER = (9, 90)
"""Pixels of the longer side of a letter, or of a word whose letters touch: 3 to 32 points at `SCAN_DPI`."""
_AGAIN, _HALF = 0.9, 0.5
"""Share of the smaller of two boxes that they have in common from which both are one line: of letters before they are
read, and of what was read (judgement)."""
_Drawn = tuple[float, float, float, float, bool]
"""Left, top, right and bottom of a line of drawn letters in pixels, and whether it runs up the picture."""
_FEWEST = 3
"""Pieces as large as letters under which a part of a sheet is not read: lengths and notes have more."""
_APART, _UNLIKE = 0.9, 2.2
"""Distance of two letters of one line at the most, over the height of the larger, and the factor between them."""
_PLAIN = 0.85
"""Least confidence with which a line of drawn letters is kept: what is no text is read too, less surely (measured on
five drawings: 9 of 10 words read at 0.95 or more)."""
MOST_DRAWN = 1000
"""Lines of drawn letters that are read of one sheet at the most: 0.02 s each."""


class Reader:
    """The OCR engine, finding and reading lines; its settings stick to it, so it is kept for this one use."""

    def __init__(self) -> None:
        quiet_libraries()
        try:
            from rapidocr import RapidOCR
        except ImportError as error:
            raise InputError(
                "text on scans cannot be read: the OCR library is not installed",
                remedy='Install it with: pip install "takeoff[scan]".',
            ) from error
        one = {"EngineConfig.onnxruntime.intra_op_num_threads": 1}  # several wait for one another by spinning
        self._engine: Any = RapidOCR(params={"Global.log_level": "error", "Global.text_score": SURE, **one})

    def read(self, pixels: NDArray[np.uint8]) -> list[tuple[str, list[Point]]]:
        """Read every line in a picture: its text and the four corners of its box in pixels, along the line first."""
        found = self._engine(pixels, use_det=True, use_cls=True, use_rec=True)
        if found.boxes is None or found.txts is None:
            return []
        return [
            (text, [(float(x), float(y)) for x, y in box])
            for text, box in zip(found.txts, found.boxes, strict=True)
            if text.strip()
        ]

    def read_drawn(self, pixels: NDArray[np.uint8]) -> list[tuple[str, list[Point]]]:
        """Read the lines of letters that stand apart on a drawing, as `read`; those that run up or down it too."""
        import numpy as np

        def read_line(found: _Drawn) -> tuple[str, list[Point]] | None:
            x0, y0, x1, y1, is_upright = found
            corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
            crop = pixels[int(y0) : int(y1), int(x0) : int(x1)]
            for turn, first in ((-1, 3), (1, 1)) if is_upright else ((0, 0),):  # most read up the sheet
                read = self._engine(np.rot90(crop, turn).copy(), use_det=False, use_cls=False, use_rec=True)
                if read.txts and read.txts[0].strip() and read.scores[0] >= _PLAIN:
                    return read.txts[0], corners[first:] + corners[:first]
            return None

        found = [
            (x0 + x, y0 + y, x1 + x, y1 + y, is_upright)
            for x, y, part in _parts(pixels)
            for x0, y0, x1, y1, is_upright in _drawn_lines(part)
            if not _is_cut([(x0, y0), (x1, y1)], part, pixels, x, y)
        ]
        found = [found[i] for i in _once([line[:4] for line in found], _AGAIN)]
        with ThreadPoolExecutor(cores()) as pool:
            every = max(1.0, len(found) / MOST_DRAWN)  # those left out lie all over the sheet
            lines = pool.map(read_line, [found[int(i * every)] for i in range(int(len(found) / every))])
        return [line for line in lines if line]


def can_recognise() -> bool:
    """Tell whether the OCR library is installed."""
    return importlib.util.find_spec("rapidocr") is not None


def scan_dpi(sheet: Sheet) -> float:
    """Return the pixels per inch that a sheet is read at: a scan's own, up to `SCAN_DPI`; a drawing's as A4 to A0."""
    if sheet.kind == "vector" and sheet.dpi is None:
        longest = max(sheet.width_pt, sheet.height_pt)
        return SCAN_DPI * min(max(A4_PT, longest), A0_PT) / longest
    return min(SCAN_DPI, sheet.dpi or SCAN_DPI)


_LAST: dict[tuple[object, ...], list[TextLine]] = {}
"""What was read last: a sheet is read again for its scale, for its rooms, and for them each time a wall is shown."""


def read_scanned_lines(
    data: bytes, sheet: Sheet, *, reader: Reader | None = None, clip_pt: Box | None = None
) -> list[TextLine]:
    """Read the lines of text on a picture or a scan; those of the sheet that was read last are remembered.

    Raises `InputError` when the OCR library is not installed, `SheetError` when the file cannot be read.

    Parameters
    ----------
    data
        The bytes of the plan file.
    sheet
        The sheet.
    reader
        An engine to use again; a new one where ``None``.
    clip_pt
        The part to read, in sheet points; the whole sheet where ``None``.

    Returns
    -------
    list of TextLine
        With boxes in sheet points. A box encloses its line, which may be turned.
    """
    dpi = scan_dpi(sheet)
    key = (hash(data), sheet.page, dpi, clip_pt)
    if reader is None and key in _LAST:
        return list(_LAST[key])
    pixels = render_array(data, sheet, dpi=dpi, clip_pt=clip_pt)
    lines = lines_of_pixels(reader or Reader(), pixels, sheet, dpi, clip_pt)
    _LAST.clear()
    _LAST[key] = lines
    return list(lines)


def lines_of_pixels(
    engine: Reader, pixels: NDArray[np.uint8], sheet: Sheet, dpi: float, clip_pt: Box | None = None
) -> list[TextLine]:
    """Read the lines in a rendered sheet, part by part; ``pixels`` is the sheet as displayed at ``dpi``."""
    left, top = pixel_box(sheet, dpi, clip_pt)[:2]
    whole = full_pixels(sheet, dpi)
    width, height = displayed_size(sheet)
    scale = (width / whole[0], height / whole[1])
    found = engine.read_drawn(pixels) if sheet.kind == "vector" else _of_scan(engine, pixels)

    def placed(x: float, y: float) -> Point:
        return displayed_to_sheet(sheet, (x + left) * scale[0], (y + top) * scale[1])

    lines = [laid_line(_plain(text), [placed(*corner) for corner in corners]) for text, corners in found]
    kept = [lines[i] for i in _once([line.box_pt for line in lines], _HALF)]
    kept = [replace(line, is_recognised=True) for line in kept]
    return sorted(kept, key=lambda line: (line.box_pt[1], line.box_pt[0]))


def _of_scan(engine: Reader, pixels: NDArray[np.uint8]) -> Iterator[tuple[str, list[Point]]]:
    """Read the lines of a scan, part by part, with the corners of their boxes in pixels of all of it."""
    for x, y, part in _parts(pixels):
        for text, corners in engine.read(part):
            if not _is_cut(corners, part, pixels, x, y):
                yield text, [(px + x, py + y) for px, py in corners]


def _parts(pixels: NDArray[np.uint8]) -> Iterator[tuple[int, int, NDArray[np.uint8]]]:
    """Yield the parts of a picture that have something on them, with their left and top."""
    import cv2

    height, width = pixels.shape[:2]
    for y in _starts(height):
        for x in _starts(width):
            part = pixels[y : y + TILE, x : x + TILE]
            if cv2.meanStdDev(part)[1].max() > _BLANK and _has_letters(part):
                yield x, y, part


def _has_letters(part: NDArray[np.uint8]) -> bool:
    """Tell whether pieces of ink stand in a part that are as large as letters: looking takes a hundredth of reading."""
    import numpy as np

    boxes, area = _pieces(part)
    sides = np.sort(boxes[:, 2:], axis=1)
    return int(((sides[:, 0] >= 0.2 * sides[:, 1]) & (area < 0.7 * sides.prod(1))).sum()) >= _FEWEST


def _pieces(part: NDArray[np.uint8]) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Return the pieces of ink as large as letters: left, top, width and height of each, and how much of it is ink."""
    import cv2

    grey = part if part.ndim == 2 else darkest(part)
    _, ink = cv2.threshold(grey, 0, 1, cv2.THRESH_BINARY_INV | cv2.THRESH_OTSU)
    _, _, stats, _ = cv2.connectedComponentsWithStats(ink, connectivity=8)
    longer = stats[:, 2:4].max(axis=1)
    kept = stats[1:][((longer >= _LETTER[0]) & (longer <= _LETTER[1]))[1:]]
    return kept[:, :4], kept[:, 4]


def _once(boxes: Sequence[Sequence[float]], share: float) -> list[int]:
    """Return which boxes have no more than a share in common with one before: parts of a sheet overlap.

    The share is that of the smaller of two boxes.
    """
    import numpy as np
    import shapely

    shapes = shapely.box(*np.array(boxes, np.float64).reshape(-1, 4).T)
    one, other = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    common = shapely.area(shapely.intersection(shapes[one], shapes[other]))
    again = one[(one > other) & (common > share * np.minimum(shapely.area(shapes[one]), shapely.area(shapes[other])))]
    return sorted(set(range(len(boxes))) - set(again.tolist()))


def _drawn_lines(part: NDArray[np.uint8]) -> list[_Drawn]:
    """Return the boxes of what stands in lines as letters do, with some room, and whether each runs up the picture.

    A piece that stands in a line along the picture and in one up it belongs to that with more pieces.
    """
    import numpy as np
    import shapely

    boxes, area = _pieces(part)
    filled = area > 0.75 * boxes[:, 2:].prod(1)
    boxes = boxes[~filled | (boxes[:, 2:].min(1) < 0.3 * boxes[:, 2:].max(1))].astype(np.float64)
    low, high, size = boxes[:, :2], boxes[:, :2] + boxes[:, 2:], boxes[:, 2:].max(1)
    groups = []
    for way in (0, 1):
        reach = high.copy()
        reach[:, way] += _APART * size
        one, other = shapely.STRtree(shapely.box(*low.T, *high.T)).query(shapely.box(*low.T, *reach.T))
        level = np.minimum(high[one, 1 - way], high[other, 1 - way]) - np.maximum(
            low[one, 1 - way], low[other, 1 - way]
        )
        is_next = (one != other) & (level > 0.4 * np.minimum(size[one], size[other]))
        is_next &= np.maximum(size[one], size[other]) < _UNLIKE * np.minimum(size[one], size[other])
        groups.append(linked_groups(len(boxes), one[is_next], other[is_next]))
    counts = [np.bincount(group, minlength=len(boxes))[group] for group in groups]
    lines = []
    for way, (group, is_own) in enumerate(zip(groups, (counts[0] >= counts[1], counts[0] < counts[1]), strict=True)):
        for label in np.unique(group[is_own]):
            of = is_own & (group == label)
            (x0, y0), (x1, y1), room = low[of].min(0), high[of].max(0), 0.25 * float(size[of].max())
            if of.sum() > 1:
                lines.append((max(0, x0 - room), max(0, y0 - room), x1 + room, y1 + room, bool(way)))
    return lines


def _starts(length: int) -> Sequence[int]:
    """Return where parts begin along a side; they overlap by `OVERLAP` or more."""
    if length <= TILE:
        return (0,)
    count = math.ceil((length - OVERLAP) / (TILE - OVERLAP))
    return [round(index * (length - TILE) / (count - 1)) for index in range(count)]


def _is_cut(corners: Sequence[Point], part: NDArray[np.uint8], whole: NDArray[np.uint8], x: int, y: int) -> bool:
    """Tell whether a line touches an edge of its part that is none of the sheet: the next part has all of it."""
    height, width = part.shape[:2]
    xs, ys = [corner[0] for corner in corners], [corner[1] for corner in corners]
    return (
        (min(xs) < 3 and x > 0)
        or (min(ys) < 3 and y > 0)
        or (max(xs) > width - 4 and x + width < whole.shape[1])
        or (max(ys) > height - 4 and y + height < whole.shape[0])
    )


def _plain(text: str) -> str:
    """Spell what the engine writes in wide letters as it is typed, without a line that runs up to a number."""
    wide = str.maketrans("，：；（）＝－＂＇", ",:;()=-\"'")
    return re.sub(r"^-+\s*(?=\d)|(?<=[\d'\"])\s*-+$", "", re.sub(r"\s+", " ", text.translate(wide)).strip())
