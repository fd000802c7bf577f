"""Measure how revisions are registered, compared and carried: ``python -m tests.bench.revise [quick]``.

Prints errors against known warps, precision and recall on generated revisions, and times as medians with their spread.
Run it on an idle machine; times on a shared one say little.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import pymupdf

from takeoff.model.plan import Sheet
from takeoff.revise.changes import find_changes
from takeoff.revise.pictures import picture_changes, picture_lines
from takeoff.revise.register_lines import register_lines
from takeoff.revise.register_pictures import register_pictures
from takeoff.revise.registration import Registration
from takeoff.sheet.files import read_sheets
from takeoff.sheet.render import render_array
from takeoff.trace.drawing.linework import read_linework
from tests.revise.test_carry_simulated import outcomes

PLANS = Path(__file__).parents[2] / "sample_plans"
M_PER_PT = 96 * 0.0254 / 72
"""1/8" = 1'-0"."""
ARCH_E, ARCH_D = (3456.0, 2592.0), (2592.0, 1728.0)


@dataclass(frozen=True)
class Truth:
    """What a generated revision changes: boxes of what is added, removed and moved, in points of the old sheet."""

    added: list[tuple[float, float]]
    removed: list[tuple[float, float]]


def said(text: str) -> None:
    sys.stdout.write(text + "\n")


def timed(title: str, work: Callable[[], object], repeats: int) -> None:
    """Print the median time of some work, wall and processor."""
    wall, busy = [], []
    for _ in range(repeats):
        start, cpu = time.perf_counter(), time.process_time()
        work()
        wall.append(time.perf_counter() - start)
        busy.append(time.process_time() - cpu)
    said(
        f"{title:58} {statistics.median(wall):6.2f} s ({min(wall):.2f} to {max(wall):.2f}), "
        f"processor {statistics.median(busy):.2f} s"
    )


def big_plan(size: tuple[float, float], paths: int, *, revised: bool, seed: int = 5) -> tuple[bytes, Truth]:
    """A plan of many rooms with doors, furniture and hatching; the revision adds and removes walls, and is shifted."""
    rng = np.random.default_rng(seed)
    doc = pymupdf.open()
    page = doc.new_page(width=size[0], height=size[1])
    shape = page.new_shape()
    off = (11.3, -7.9) if revised else (0.0, 0.0)
    truth = Truth([], [])
    cell, wall = 90.0, 4.2
    columns, rows = int((size[0] - 500) / cell), int((size[1] - 300) / cell)
    count = 0

    def line(x0: float, y0: float, x1: float, y1: float, width: float) -> None:
        nonlocal count
        shape.draw_line((x0 + off[0], y0 + off[1]), (x1 + off[0], y1 + off[1]))
        shape.finish(width=width, color=(0, 0, 0))
        count += 1

    for i in range(columns):
        for j in range(rows):
            x, y = 100 + i * cell, 120 + j * cell
            a, b = rng.uniform(10, 50), rng.uniform(10, 50)
            line(x, y, x + cell - 30 + a * 0.2, y, 0.7)
            line(x, y + wall, x + cell - 30 + a * 0.2, y + wall, 0.7)
            line(x, y, x, y + cell - b * 0.4, 0.7)
            line(x + wall, y + wall, x + wall, y + cell - b * 0.4, 0.7)
            change = rng.random()
            if change < 0.06:
                truth.added.append((x + 25, y + 30))
                if revised:
                    for k in range(2):
                        line(x + 25, y + 30 + 4 * k, x + 60, y + 30 + 4 * k, 0.7)
            elif change < 0.12:
                truth.removed.append((x + 25, y + 50))
                if not revised:
                    for k in range(2):
                        line(x + 25, y + 50 + 4 * k, x + 60, y + 50 + 4 * k, 0.7)
    per_room = max((paths - count) // (columns * rows), 0)
    for i in range(columns):
        for j in range(rows):
            x, y = 100 + i * cell, 120 + j * cell
            for k in range(per_room):
                u, v = x + 8 + (k % 40) * 0.4 + (i * 7 + j * 3) % 5, y + 68 + (k // 40) * 3.0
                line(u, v, u + 5, v + 5, 0.2)
    shape.commit()
    return doc.tobytes(), truth


def of(data: bytes) -> Sheet:
    return read_sheets(data, "plan.pdf")[0][0]


def scored(registration: Registration, found: object, truth: Truth) -> str:
    """Precision and recall of added and removed linework."""
    hits, total = 0, len(truth.added) + len(truth.removed)
    changes = [c for c in found if c.kind != "text"]  # type: ignore[attr-defined]
    for kind, places in (("added", truth.added), ("removed", truth.removed)):
        for place in places:
            x, y = registration.carry(place)
            hits += any(c.kind == kind and abs(c.box_pt[0] - x) < 4 and abs(c.box_pt[1] - y) < 4 for c in changes)
    precision = hits / max(len(changes), 1)
    return f"{hits} of {total} found, {len(changes)} reported: recall {hits / total:.1%}, precision {precision:.1%}"


def vector(paths: int, repeats: int) -> None:
    (old, _), (new, truth) = big_plan(ARCH_E, paths, revised=False), big_plan(ARCH_E, paths, revised=True)
    a, b = of(old), of(new)
    focus = (80.0, 100.0, ARCH_E[0] - 380, ARCH_E[1] - 160)

    def work() -> None:
        first, second = read_linework(old, a), read_linework(new, b)
        made = register_lines(
            first.pieces.segments, second.pieces.segments, focus_pt=focus, m_per_pt=M_PER_PT, limit=0.02
        )
        found = find_changes(
            first, second, made, m_per_pt=M_PER_PT, focus_pt=(*made.carry(focus[:2]), *made.carry(focus[2:]))
        )
        results.append((made, found, first.path_count))

    results: list[tuple[Registration, object, int]] = []
    timed(f"vector ARCH E pair: read, registered, compared ({paths:,})", work, repeats)
    made, found, count = results[-1]
    error = np.hypot(*(np.array(made.carry((500.0, 500.0))) - np.array([511.3, 492.1])))
    said(f"  {count:,} paths; error {error * M_PER_PT * 1000:.3f} mm, stated {made.u * 1000:.3f} mm (1 sigma)")
    said(f"  {scored(made, found.changes, truth)}")  # type: ignore[attr-defined]


def grey(data: bytes, dpi: float) -> np.ndarray[tuple[int, int], np.dtype[np.uint8]]:
    picture = render_array(data, of(data), dpi=dpi)
    return picture if picture.ndim == 2 else cv2.cvtColor(picture[..., :3], cv2.COLOR_RGB2GRAY)


def scans(repeats: int) -> None:
    (old, _), (new, truth) = big_plan(ARCH_D, 6000, revised=False), big_plan(ARCH_D, 6000, revised=True)
    rng = np.random.default_rng(2)
    a, clean = grey(old, 200.0), grey(new, 200.0)
    turn = np.radians(0.6)
    matrix = np.array([[np.cos(turn), -np.sin(turn), 60.0], [np.sin(turn) * 1.002, np.cos(turn) * 1.002, 20.0]])
    b = cv2.warpAffine(clean, matrix, (clean.shape[1] + 120, clean.shape[0] + 140), borderValue=255)
    b = np.clip(cv2.GaussianBlur(b, (0, 0), 0.7) + rng.normal(0, 3, b.shape), 0, 255).astype(np.uint8)
    focus = (80.0, 100.0, ARCH_D[0] - 380, ARCH_D[1] - 160)
    results: list[tuple[Registration, object]] = []

    def work() -> None:
        made = register_pictures(a, b, old_dpi=200, new_dpi=200, focus_pt=focus, m_per_pt=M_PER_PT, limit=0.05)
        corners = [
            made.carry(p)
            for p in ((focus[0], focus[1]), (focus[2], focus[1]), (focus[2], focus[3]), (focus[0], focus[3]))
        ]
        box = (
            min(p[0] for p in corners),
            min(p[1] for p in corners),
            max(p[0] for p in corners),
            max(p[1] for p in corners),
        )
        found = picture_changes(a, b, made, old_dpi=200, new_dpi=200, m_per_pt=M_PER_PT, focus_pt=box).changes
        results.append((made, found))

    timed("200 dpi ARCH D pair of scans: registered, compared", work, repeats)
    made, found = results[-1]
    spots = np.array([(200.0, 200.0), (2000.0, 200.0), (2000.0, 1400.0), (200.0, 1400.0)])
    px = (spots + np.array([11.3, -7.9])) * 200 / 72 - 0.5
    want = ((px @ matrix[:, :2].T + matrix[:, 2]) + 0.5) * 72 / 200
    error = np.hypot(*(made.carry_all(spots) - want).T).max()
    said(f"  error at corners {error * M_PER_PT * 1000:.2f} mm, stated {made.u * 1000:.2f} mm (1 sigma)")
    said(f"  {scored(made, found, truth)}")
    timed(
        "lines of both pictures found, for carrying runs",
        lambda: [picture_lines(p, dpi=200, focus_pt=focus) for p in (a, b)],
        1,
    )


def warps(count: int) -> None:
    """Registration error of the sample plan's linework under random warps."""
    data = (PLANS / "facility-imperial.pdf").read_bytes()
    lines = read_linework(data, of(data)).pieces.segments
    rng = np.random.default_rng(8)
    spots = np.array([(150.0, 250.0), (1690.0, 250.0), (1690.0, 1280.0), (150.0, 1280.0)])
    errors = []
    for _ in range(count):
        turn, scale, stretch = np.radians(rng.uniform(-5, 5)), rng.uniform(0.5, 2.0), rng.uniform(0.995, 1.005)
        m = np.diag([1.0, stretch]) @ np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]) * scale
        shift = rng.uniform(-300, 300, 2)
        new = (lines.reshape(-1, 2) @ m.T + shift).reshape(-1, 4)[rng.random(len(lines)) > 0.2]
        made = register_lines(lines, new, focus_pt=(150, 250, 1700, 1280), m_per_pt=M_PER_PT / 2, limit=0.02)
        errors.append(np.hypot(*(made.carry_all(spots) - (spots @ m.T + shift)).T).max() / scale * M_PER_PT / 2 * 1000)
    said(f"vector, {count} random warps, a fifth of the lines gone: largest error {max(errors):.4f} mm on the building")


def carried(count: int) -> None:
    """Runs carried across generated revisions, traced to half a point."""
    for (kind, sure, right), number in sorted(outcomes(range(count), 0.5).items()):
        said(f"  {kind:8} {sure:5} {right:6} {number}")


if __name__ == "__main__":
    quick = "quick" in sys.argv[1:]
    warps(5 if quick else 40)
    said("runs carried across generated revisions:")
    carried(20 if quick else 200)
    vector(10_000 if quick else 50_000, 1 if quick else 5)
    scans(1 if quick else 3)
