"""Signs that a scale is right or wrong, other than lengths: the doors, the letters and the paper.

They tell a scale that is wrong by half or a third, not one that is wrong by a twentieth: they can speak against a scale
and tell which unit a number is in, and never set a scale.
"""

from __future__ import annotations

import math
import re
import statistics
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from takeoff.geometry.arcs import arc_centre
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.calibrate import LEAF
from takeoff.sheet.frame import Box
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Floats, Linework
from takeoff.trace.scales.groups import AGREE, AROUND_PT, VoteGroup

NO_LEAF = (0.48, 1.6)
"""Metres outside which it cannot be: a fifth beyond the narrowest door and a quarter beyond the widest (our choice)."""
SWEEP = (math.radians(60), math.radians(100))
"""Turn of the arc of a door that stands open; without its lesser ones, curved walls and furniture are taken for it."""
LEAF_PT = (3.0, 330.0)
"""Points that a leaf is long on paper: 0.7 m at 1:660, and 1.1 m at 1:10."""
LETTER = 0.6
"""Height of a capital as a part of the height of its line: 0.7 em of 1.17 em (from memory, no source)."""
SMALL_LETTERS_M = 0.0014
"""Capitals lower than this on paper are those of a reduced print: 1.8 mm is the least that ISO 3098-1 has, 3/32 in is
usual (from memory)."""
_PAPERS_MM = {
    "A0": (841, 1189), "A1": (594, 841), "A2": (420, 594), "A3": (297, 420), "A4": (210, 297),
    "ARCH D": (609.6, 914.4), "ARCH C": (457.2, 609.6), "ARCH E": (914.4, 1219.2), "ARCH B": (304.8, 457.2),
    "ANSI B": (279.4, 431.8), "ANSI C": (431.8, 558.8), "ANSI D": (558.8, 863.6), "ANSI E": (863.6, 1117.6),
}  # fmt: skip
"""Papers that a note may name, in millimetres: ISO 216; the others after ASME Y14.1 (from memory)."""
_PAPER = r"A[0-4]|(?:ARCH|ANSI)\s+[B-E]"
_ON_PAPER = re.compile(
    rf"(?P<a>1\s*:\s*\d+(?:\.\d+)?|[^@=]+=[^@]+?)\s*[@(–-]?\s*(?:at|on)?\s*(?<!\w)(?P<p>{_PAPER})\b|"
    rf"\b(?P<q>{_PAPER})\)?\s*[:=@–-]?\s*(?P<b>1\s*:\s*\d+(?:\.\d+)?)",
    re.IGNORECASE,
)
_WARNING = re.compile(
    r"\bDO NOT SCALE\b|\bHALF[ -]SIZE\b|\bREDUCED (?:PRINT|SIZE|DRAWING|SCALE)\b|\bPREFERENCE TO SCALING\b|"
    r"\bNICHT MASSST[AÄ]BLICH\b|\bVERKLEINERT\w*|\bNE PAS MESURER\b|\bNO MEDIR\b|\bN[AÃ]O MEDIR\b|\bNON MISURARE\b",
    re.IGNORECASE,
)
"""Words that warn of measuring on a sheet (ordinary words, no source)."""
_OF_PART = re.compile(r"[⌀ØøΦφ]\s?\d|\d\s?°|\bR\d+[.,]\d|\bTOLERANCES?\b", re.I)
"""Signs of the drawing of a part: a diameter, an angle, a radius, tolerances; pipes and roofs have them too (usage)."""
OF_ALL = 0.6
"""Part of what is drawn that dimensions span where they are of all of it (judgement)."""
FEWEST_DOORS = 3
"""Doors that tell a plan from details beside it, at the least (judgement)."""
MOST = (10, 90)
"""Hundredths of the lines that lie before and behind most of what is drawn (judgement)."""
SAME_PAPER = 0.01
"""Share by which a page may differ from the paper that it is."""
QUARTER, OFF_QUARTER = math.tan(math.pi / 8), 0.02
"""Bulge of a quarter of a circle, and how far one may be off that is drawn as a curve (judgement)."""
SQUARE = 0.1
"""Natural logarithm by which the quarter of a stretched circle is higher than wide at the most, or is no quarter of one
between its top and its side (judgement)."""
FEWEST_ROUND = 4
"""Such quarters that are alike and tell whether a sheet is stretched, at the least: one circle (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signs:
    """What a sheet shows besides lengths.

    ``doors`` are the hinges of door leaves, and their widths, in sheet points; ``letters_m`` is the height on paper of
    the capitals of most texts in metres, ``None`` without texts; ``is_size_assumed`` tells that nobody knows how
    large a picture is on paper; ``warning`` are words that warn of measuring on it; ``drawn_pt`` is the box round
    most that is drawn; ``is_part`` tells that it may be no building but a part, drawn with diameters and angles;
    ``stretch`` is the natural logarithm of how many times higher than wide its circles and door swings are, ``None``
    where few are drawn.
    """

    doors: tuple[tuple[float, float, float], ...] = ()
    drawn_pt: Box = (0.0, 0.0, 0.0, 0.0)
    letters_m: float | None = None
    is_size_assumed: bool = False
    warning: str = ""
    is_part: bool = False
    stretch: float | None = 0.0

    def door(self, m_per_pt: float) -> float | None:
        """Return the width in metres of the middle one of the doors; ``None`` without doors."""
        return statistics.median(door[2] for door in self.doors) * m_per_pt if self.doors else None

    def doors_fit(self, m_per_pt: float) -> bool | None:
        """Tell whether the doors are as wide as doors are; ``None`` where they do not tell."""
        door = self.door(m_per_pt)
        if door is None:
            return None
        if LEAF[0] <= door <= LEAF[1]:
            return True
        return None if NO_LEAF[0] <= door <= NO_LEAF[1] else False

    def spans_all(self, group: VoteGroup) -> bool:
        """Tell whether lengths are of the plan and not of a part beside it: across most that is drawn, or all doors."""
        drawn = shapely.box(*self.drawn_pt)
        within, beside = self.parted(group.spans_pt)
        are_all_doors = len(within.doors) >= FEWEST_DOORS and not beside.doors
        return are_all_doors or bool(group.box.intersection(drawn).area > OF_ALL * drawn.area)

    def parted(self, spans: Sequence[tuple[Point, Point]]) -> tuple[Signs, Signs]:
        """Return these signs with the doors between lines that are drawn between two points each, and with the rest.

        Lines along the sheet say nothing of how far up it what they measure goes, and the other way round.
        """
        reach = [(math.inf, -math.inf), (math.inf, -math.inf)]
        for start, end in spans:
            way = 0 if abs(end[0] - start[0]) >= abs(end[1] - start[1]) else 1
            low, high = sorted((start[way], end[way]))
            reach[way] = (min(reach[way][0], low), max(reach[way][1], high))
        ends = [(way, low - AROUND_PT, high + AROUND_PT) for way, (low, high) in enumerate(reach) if low < high]
        inside = tuple(d for d in self.doors if all(low <= d[way] <= high for way, low, high in ends))
        return replace(self, doors=inside), replace(self, doors=tuple(d for d in self.doors if d not in inside))


def read_signs(linework: Linework, lines: Sequence[TextLine]) -> Signs:
    """Read the signs of a sheet."""
    sizes = sorted(line.size for line in lines if len(line.text) > 1)
    middles = (linework.lines[:, :2] + linework.lines[:, 2:]) / 2
    x0, y0, x1, y1 = np.percentile(middles, MOST, axis=0).ravel().tolist() if len(middles) else (0.0, 0.0, 0.0, 0.0)
    return Signs(
        doors=find_doors(linework),
        drawn_pt=(x0, y0, x1, y1),
        letters_m=LETTER * sizes[len(sizes) // 2] * 0.0254 / 72 if sizes else None,
        is_part=any(_OF_PART.search(line.text) for line in lines),
        stretch=_stretch(linework.arcs),
        warning=next((found[0] for line in lines if (found := _WARNING.search(line.text))), ""),
    )


def _stretch(arcs: Floats) -> float | None:
    """Return how many times higher than wide quarters of circles are, as a natural logarithm, where enough tell it."""
    wide, high = np.abs(arcs[:, 2:4] - arcs[:, :2]).T
    is_quarter = (np.abs(np.abs(arcs[:, 4]) - QUARTER) < OFF_QUARTER) & (np.minimum(wide, high) >= LEAF_PT[0])
    off = np.log(high[is_quarter] / wide[is_quarter])
    halves = 2 * int((np.abs(np.abs(arcs[:, 4]) - 1.0) < OFF_QUARTER).sum())  # of circles that are round
    off = np.concatenate([off[np.abs(off) < SQUARE], np.zeros(halves)])
    middle = float(np.median(off)) if len(off) else 0.0
    return middle if (np.abs(off - middle) < AGREE).sum() >= FEWEST_ROUND else None


def scale_on_paper(text: str, sheet: Sheet) -> tuple[str, float] | None:
    """Return the scale in a text that names its paper beside it, and how many times larger that paper is.

    Of several, such as 1:50 @ A1, 1:100 @ A3, the one whose paper the sheet is; nothing where none names a paper, or
    the sheet is no such paper.
    """
    sides = sorted(side * 25.4 / 72 for side in (sheet.width_pt, sheet.height_pt))
    found = []
    for named in _ON_PAPER.finditer(text):
        paper = _PAPERS_MM[re.sub(r"\s+", " ", named["p"] or named["q"]).upper()]
        factors = [one / other for one, other in zip(paper, sides, strict=True)]
        if abs(factors[0] / factors[1] - 1) < 2 * SAME_PAPER:
            factor = 1.0 if abs(factors[0] - 1) < SAME_PAPER else factors[0]
            found.append((re.sub(r"\s*:\s*", ":", named["a"] or named["b"]), factor))
    return min(found, key=lambda one: abs(math.log(one[1])), default=None)


def find_doors(linework: Linework) -> tuple[tuple[float, float, float], ...]:
    """Return hinge and width in points of the doors that stand open: an arc with a leaf from its middle to one end."""
    low, high = LEAF_PT
    lines = linework.lines
    lengths = np.hypot(lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1])
    fit = lines[(lengths >= 0.85 * low) & (lengths <= 1.1 * high)]
    leaves: Floats = np.concatenate([fit, fit[:, [2, 3, 0, 1]]])
    tree = shapely.STRtree(shapely.points(leaves[:, :2]))
    arcs = [(*arc_centre((a, b), (c, d), bulge), (a, b), (c, d), bulge) for a, b, c, d, bulge in linework.arcs.tolist()]
    centres = shapely.points(np.array([centre for centre, *_ in arcs]).reshape(-1, 2))
    sweeps = np.array([4 * math.atan(abs(arc[4])) for arc in arcs])
    radii = np.array([arc[1] for arc in arcs])
    about = shapely.STRtree(centres)
    doors: list[tuple[float, float, float]] = []
    for (centre, radius, start, end, _), place, sweep in zip(arcs, centres, sweeps.tolist(), strict=True):
        if not (SWEEP[0] <= sweep <= SWEEP[1] and low <= radius <= high):
            continue
        others = about.query(place, predicate="dwithin", distance=0.15 * radius)
        if sweeps[others][np.abs(radii[others] - radius) < 0.15 * radius].sum() > SWEEP[1]:
            continue  # arcs that make a circle together are a mark of a level or a section
        near = leaves[tree.query(shapely.Point(centre), predicate="dwithin", distance=0.12 * radius)]
        if any((np.hypot(near[:, 2] - x, near[:, 3] - y) < 0.12 * radius).any() for x, y in (start, end)):
            doors.append((*centre, radius))
    return tuple(doors)
