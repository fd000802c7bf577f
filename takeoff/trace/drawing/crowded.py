"""Sheets with very many lines: how many they have, and what of them is read all the same."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np

from takeoff.model.plan import Sheet
from takeoff.sheet.document import open_page
from takeoff.sheet.formats import file_format
from takeoff.trace.drawing.linework import Linework, empty_linework, read_linework

_PIECE = re.compile(rb"[\d.]\s+(?:l|c|v|y|re)\b")
"""What a page's instructions say for a piece of a line (ISO 32000-1, 8.5)."""
MANY, MANY_PATHS, _SHORT_PATH = 300_000, 150_000, 8
"""Pieces of lines and paths of a sheet from which walls are read only as they were shown: more take over ten seconds
(measured: a million paths take 11 s to come out of the file; scribbles, which fill columns, count as one piece). What
dimensions are drawn with has no more pieces than the last in one path (judgement)."""


def count_drawn(data: bytes, sheet: Sheet) -> int:
    """Return how many pieces of lines a sheet has, without reading them.

    What is drawn in a form counts once, however often the form is placed.
    """
    if file_format(data, sheet.called) != "pdf":
        return 0
    with open_page(data, sheet.page, sheet.called) as page:
        streams = [page.read_contents(), *(page.parent.xref_stream(form[0]) or b"" for form in page.get_xobjects())]
    return sum(len(_PIECE.findall(stream)) for stream in streams)


def is_crowded(sheet: Sheet) -> bool:
    """Tell whether a sheet has more paths than are read in ten seconds."""
    return (sheet.paths or 0) > MANY_PATHS


def read_some_linework(data: bytes, sheet: Sheet) -> Linework:
    """Read what scales are told by: all that is drawn, of very many lines short paths, and of more paths nothing."""
    return empty_linework() if is_crowded(sheet) else short_paths(read_linework(data, sheet))


def short_paths(whole: Linework) -> Linework:
    """Leave out the long paths of very many lines: no dimension is drawn with them."""
    if len(whole.lines) <= MANY:
        return whole
    kept = np.bincount(whole.line_path, minlength=whole.path_count)[whole.line_path] <= _SHORT_PATH
    return replace(whole, lines=whole.lines[kept], line_path=whole.line_path[kept])
