"""Areas that are scribbled full: one path that goes to and fro in a small box, thousands of lines that say nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from takeoff.trace.drawing.linework import Linework

FEWEST_LINES = 20
LONGER = 3.0
"""A scribble has that many lines or more, and is that many times longer than its box is round (measured on a plotted
office plan whose solid columns are zigzags: 11,800 paths of 1.04 million lines; no dimension line was lost)."""


def without_scribbles(linework: Linework) -> Linework:
    """Return the linework without the lines of paths that are scribbles; their fills stay."""
    lines, path, count = linework.lines, linework.line_path, linework.path_count
    if not len(lines):
        return linework
    many = np.bincount(path, minlength=count) >= FEWEST_LINES
    length = np.bincount(path, np.hypot(*(lines[:, 2:] - lines[:, :2]).T), minlength=count)
    low, high = np.full((count, 2), np.inf), np.full((count, 2), -np.inf)
    np.minimum.at(low, path, np.minimum(lines[:, :2], lines[:, 2:]))
    np.maximum.at(high, path, np.maximum(lines[:, :2], lines[:, 2:]))
    kept = ~(many & (length > LONGER * 2 * np.where(many[:, None], high - low, 0.0).sum(axis=1)))[path]
    return linework if kept.all() else replace(linework, lines=lines[kept], line_path=path[kept])
