"""What of a drawing shows: the boxes that a PDF cuts its paths off at."""

from __future__ import annotations

import math

Box = tuple[float, float, float, float]
"""Left, top, right and bottom in points."""

SLACK_PT = 0.01
"""Points by which a line may lie over the edge of a box and still be within it: numbers are rounded."""


class Scissors:
    """The boxes that are in force while paths follow one another, by how deep they are nested."""

    def __init__(self) -> None:
        """Start with the whole plane."""
        self._boxes: list[tuple[int, Box]] = []

    def cut(self, level: int, box: Box) -> None:
        """Take in a box that what follows at a deeper level is cut off at."""
        around = self.within(level)
        if around is not None:
            box = (max(box[0], around[0]), max(box[1], around[1]), min(box[2], around[2]), min(box[3], around[3]))
        self._boxes.append((level, box))

    def within(self, level: int) -> Box | None:
        """Return the box that a path at a level is cut off at; ``None`` where nothing cuts."""
        while self._boxes and self._boxes[-1][0] >= level:
            self._boxes.pop()
        return self._boxes[-1][1] if self._boxes else None


def cut_line(
    a: tuple[float, float], b: tuple[float, float], box: Box
) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Return the part of a line that lies in a box, or ``None``.

    Examples
    --------
    >>> cut_line((0.0, 1.0), (10.0, 1.0), (2.0, 0.0, 4.0, 3.0))
    ((2.0, 1.0), (4.0, 1.0))
    >>> cut_line((0.0, 5.0), (10.0, 5.0), (2.0, 0.0, 4.0, 3.0)) is None
    True
    """
    low, high = 0.0, 1.0
    for start, end, least, most in ((a[0], b[0], box[0], box[2]), (a[1], b[1], box[1], box[3])):
        way = end - start
        if least - SLACK_PT <= start <= most + SLACK_PT and least - SLACK_PT <= end <= most + SLACK_PT:
            continue
        if way == 0.0:
            return None
        near, far = sorted(((least - start) / way, (most - start) / way))
        low, high = max(low, near), min(high, far)
    if not low < high or math.dist(a, b) * (high - low) <= SLACK_PT:
        return None

    def at(part: float) -> tuple[float, float]:
        return (a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1]))

    return a if low == 0.0 else at(low), b if high == 1.0 else at(high)
