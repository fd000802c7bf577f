"""Made-up plans with lines over them that are no building: clutter on a large sheet, and lines drawn across walls."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from typing import Literal

import pymupdf
import shapely

from tests.trace.plans import Plan

Strays = Literal["clutter", "clutter in the walls' pen", "across walls"]

"""Lines of 5 to 120 points everywhere, square to the sheet or slanting, in any pen or in that of the walls; and lines
from edge to edge of the plan in the pen of the walls, such as those of a section or a grid."""

LARGE = (3456.0, 2592.0)
"""Points; the sheet that a plan is set on the upper left of: 48 by 36 inches."""


def with_strays(plan: Plan, strays: Strays, count: int) -> Plan:
    """Draw stray lines over a plan; the truth stays as it is."""
    rng = random.Random(f"{plan.seed} {plan.kind} {strays} {count}")
    document = pymupdf.open("pdf", plan.data)
    page = document[0]
    pens = [0.18, 0.5, 0.7, 1.0, 2.0] if strays == "clutter" else [_pen_of_walls(plan)]
    height = page.mediabox.height
    parts = ["q 0 G [] 0 d"]
    for number in range(count):
        if number % 50 == 0:
            parts.append(f"{rng.choice(pens):.3f} w")
        parts.append(_across(rng, plan) if strays == "across walls" else _anywhere(rng))
    parts.append("Q")
    flip = f"1 0 0 -1 0 {height:.3f} cm\n"
    if strays != "across walls":
        document.xref_set_key(page.xref, "MediaBox", f"[0 {height - LARGE[1]:.3f} {LARGE[0]:.3f} {height:.3f}]")
    content = document.get_new_xref()
    document.update_object(content, "<<>>")
    document.update_stream(content, ("q " + flip + "\n".join(parts) + " Q").encode())
    before = " ".join(f"{number} 0 R" for number in page.get_contents())
    # what came before may have turned the page over: it is put between q and Q
    opening, closing = document.get_new_xref(), document.get_new_xref()
    for number, words in ((opening, b"q "), (closing, b" Q ")):
        document.update_object(number, "<<>>")
        document.update_stream(number, words)
    document.xref_set_key(page.xref, "Contents", f"[{opening} 0 R {before} {closing} 0 R {content} 0 R]")
    return replace(plan, data=bytes(document.tobytes(no_new_id=True)))


def _pen_of_walls(plan: Plan) -> float:
    """Return the commonest pen of what is drawn along the true faces of the rooms."""
    faces = shapely.union_all([r.outline_pt.exterior for r in plan.rooms]).buffer(0.3)
    with pymupdf.open("pdf", plan.data) as document:
        page = document[0]
        page.set_rotation(0)
        lengths: Counter[float] = Counter()
        for drawing in page.get_cdrawings():
            if "s" not in drawing["type"]:
                continue
            for item in drawing["items"]:
                if item[0] == "l":
                    line = shapely.LineString([item[1], item[2]])
                    lengths[round(drawing["width"], 3)] += line.intersection(faces).length
    return lengths.most_common(1)[0][0] if lengths else 0.5


def _anywhere(rng: random.Random) -> str:
    x, y = rng.uniform(0, LARGE[0]), rng.uniform(0, LARGE[1])
    dx, dy = rng.choice(
        [(rng.uniform(5, 120), 0.0), (0.0, rng.uniform(5, 120)), (rng.uniform(-30, 30), rng.uniform(-30, 30))]
    )
    return f"{x:.2f} {y:.2f} m {x + dx:.2f} {y + dy:.2f} l S"


def _across(rng: random.Random, plan: Plan) -> str:
    boxes = [room.outline_pt.bounds for room in plan.rooms]
    x0, y0 = min(b[0] for b in boxes), min(b[1] for b in boxes)
    x1, y1 = max(b[2] for b in boxes), max(b[3] for b in boxes)
    reach = rng.uniform(10, 60)
    share = [rng.uniform(0.05, 0.95) for _ in range(2)]
    if rng.random() < 0.5:
        share[1] = share[0]  # square to the sheet
    if rng.random() < 0.5:
        ends = (x0 - reach, y0 + share[0] * (y1 - y0)), (x1 + reach, y0 + share[1] * (y1 - y0))
    else:
        ends = (x0 + share[0] * (x1 - x0), y0 - reach), (x0 + share[1] * (x1 - x0), y1 + reach)
    return f"{ends[0][0]:.2f} {ends[0][1]:.2f} m {ends[1][0]:.2f} {ends[1][1]:.2f} l S"
