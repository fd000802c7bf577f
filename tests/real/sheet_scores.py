"""Score the tracing of real sheets against rooms that were outlined by eye, each sheet in a process of its own.

Usage: python -m tests.real.sheet_scores [SHEET ...] [--shown] [--limit SECONDS] [--json FILE]
TAKEOFF_REFERENCE names the folder that holds `real_sheets`. ``rooms_by_eye.json`` beside this file has, for each sheet,
3 to 11 clearly bounded rooms and their openings in points of the page as displayed (drawn by eye to about 50 mm, sides
then moved by at most 60 mm onto the line that is seen there), where its buildings lie, and its true scale. Not every
room of a sheet is outlined: a proposal inside a building that meets no outlined room is "unjudged".

Columns: rooms outlined, found (intersection over union of 0.9 or more), openings of the found rooms that are right
(within 0.25 m of their middle, 10 % or 0.1 m of their width), false rooms (those outside every building count double),
unjudged ones, sure ones judged and sure but wrong, printed areas within 3 %, seconds, those of the processor, peak
memory, the scale that the program takes by itself as a share of the true one, and what it says where no room is
found. Where the true scale is known, rooms are traced at it: the two questions are kept apart. With ``--shown`` the
script points at one wall, one door and one window of a vector sheet first, as a person does, by what was outlined.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections import Counter
from itertools import pairwise
from pathlib import Path
from typing import Any

import pymupdf
import shapely
from shapely import Polygon

from takeoff import actions
from takeoff.actions.drafting import read_drawn_sheet, style_words, with_look
from takeoff.actions.scales import set_scale_read, set_scale_scanned
from takeoff.actions.traced_sheets import read_sheet_trace
from takeoff.errors import TakeoffError
from takeoff.geometry.arcs import flatten_segment
from takeoff.job.edits import PutStyle, SetCalibration
from takeoff.job.job import JobSettings
from takeoff.job.store import JobStore
from takeoff.model.drafting import DraftingStyle, Look
from takeoff.model.plan import Sheet
from takeoff.sheet.calibrate import calibration_from_ratio
from takeoff.sheet.frame import displayed_to_sheet, sheet_to_displayed
from takeoff.trace.lines.traced_rooms import TracedRoom

FOUND = 0.9
"""Intersection over union from which an outlined room counts as found."""
MEETS = 0.3
"""Share of an outlined room, or of a proposal, in the other from which the proposal is judged by that room."""
NEAR_M, WIDTH_M, WIDTH_SHARE = 0.25, 0.1, 0.1
"""How far off an opening may be and still be right: its middle, its width; outlines by eye allow no less."""
PRINTED = 0.03
"""Share by which a printed area may differ: offices round, and measure to other faces."""
NEAR_PT = 2.0
"""Points by which what a person points at may lie from an outline by eye."""
LIMIT = 150.0
"""Seconds after which a sheet is given up."""
BY_EYE = Path(__file__).with_name("rooms_by_eye.json")
INCH = 0.0254
HEADS = (
    f"{'sheet':20s} rooms found  open.   false  unj.  sure wrong  printed    s  CPU s    MiB  own scale  "
    "what it says without rooms"
)


def folder() -> Path:
    """Return where the sheets are."""
    return Path(os.environ["TAKEOFF_REFERENCE"]) / "real_sheets"


def show(store: JobStore, sheet: Sheet, truth: dict[str, Any], signed: dict[str, str]) -> list[str]:
    """Point at one wall, one door and one window, as a person does who sees which they are; keep the style.

    A person takes the line that most sides of the outlined rooms lie on, the heavier of two, and what most arcs of
    doors and most glass is drawn with; an arc is met 0.87 of its width from the middle of its gap.
    """
    drawn = read_drawn_sheet(store, sheet.id)
    openings = [o for room in truth["rooms"] for o in room["openings"]]
    gaps = shapely.union_all([shapely.LineString(o["ends_pt"]) for o in openings]).buffer(2)
    sides = [side for room in truth["rooms"] for side in pairwise([*room["outline_pt"], room["outline_pt"][0]])]
    seen: Counter[Look | None] = Counter()
    for line in (
        part for side in sides for part in shapely.get_parts(shapely.LineString(side).difference(gaps)) if part.length
    ):
        for share in (0.2, 0.4, 0.6, 0.8):
            at = line.interpolate(share, normalized=True)
            look = drawn.look_at(displayed_to_sheet(sheet, at.x, at.y), NEAR_PT)
            seen[look] += line.length * (look.pen_pt or 1.0) if look else 0.0
    seen.pop(None, None)
    style = with_look(DraftingStyle(name="shown", walls=()), "wall", seen.most_common(1)[0][0]) if seen else None
    if style is None:
        return []
    for part, away, reach in (("door", 0.866, 0.1), ("window", 0.0, 0.05)):
        met: Counter[Look | None] = Counter()
        for (x0, y0), (x1, y1) in (o["ends_pt"] for o in openings if o["kind"] == part):
            for side in (1.0, -1.0):
                x, y = (x0 + x1) / 2 + side * away * (y1 - y0), (y0 + y1) / 2 - side * away * (x1 - x0)
                look = drawn.look_at(displayed_to_sheet(sheet, x, y), max(2.0, reach * math.dist((x0, y0), (x1, y1))))
                met[look] += look is not None and look not in style.walls
        met.pop(None, None)
        if met and met.most_common(1)[0][1]:
            style = with_look(style, part, met.most_common(1)[0][0])  # type: ignore[arg-type]
    store.do(PutStyle(style=style))
    return style_words(style)


def read_one(truth: dict[str, Any], *, shown: bool = False) -> dict[str, Any]:
    """Trace one sheet in this process and score it."""
    place = folder() / truth["sheet"]
    printed = json.loads((place / "truth.json").read_text())
    file = place / printed["file"]
    signed = {"sign": lambda: ("score", "2026-01-01T00:00:00+00:00")}
    begin = time.monotonic()
    with tempfile.TemporaryDirectory() as there:
        plans = [(file.name, file.read_bytes())]
        store, _ = actions.new_job(Path(there) / "job.takeoff", plans, JobSettings(name="score"), **signed)
        with store:
            sheets = store.job.sheets
            sheet = next(s for s in sheets.values() if len(sheets) == 1 or s.page == truth["page"])
            moved = _laid(truth, store, sheet)
            own, said = own_scale(store, sheet, signed)
            result: dict[str, Any] = {"own_scale": own, "reason": said}
            try:
                if moved["m_per_pt"]:
                    true = calibration_from_ratio(sheet.id, moved["m_per_pt"] * 72 / INCH)
                    store.do(SetCalibration(calibration=true))
                    result["own_scale"] = own and own / moved["m_per_pt"]
                if shown and sheet.kind == "vector":
                    result["shown"] = show(store, sheet, moved, signed)
                trace = read_sheet_trace(store, sheet.id)
                result["reason"] = "; ".join(getattr(trace, "notes", ()))
                rooms = trace.rooms()
            except TakeoffError as e:
                result["reason"], rooms = str(e), ()
            m_per_pt = moved["m_per_pt"] or own or 0.0
            result |= judged(moved, rooms, sheet, m_per_pt, printed.get("rooms", []))
    result["seconds"] = time.monotonic() - begin
    result["cpu"] = time.process_time()
    result["mib"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return result


def own_scale(store: JobStore, sheet: Sheet, signed: dict[str, str]) -> tuple[float | None, str]:
    """Return the scale in metres per point that the program takes by itself, or none and why."""
    try:
        found = set_scale_read(store, sheet) if sheet.kind == "vector" else set_scale_scanned(store, sheet)
    except TakeoffError as e:
        return None, str(e)
    one = found[0] if isinstance(found, tuple) else found
    return math.sqrt(one.mx * one.my), ""


def _laid(truth: dict[str, Any], store: JobStore, sheet: Sheet) -> dict[str, Any]:
    """Return the truth where the drawing lies on the page now: pages of DXF files are laid out by the program."""
    if "drawn_box_pt" not in truth:
        return truth
    page = pymupdf.open("pdf", store.source(sheet.source))[sheet.page - 1]
    boxes = [drawing["rect"] for drawing in page.get_drawings()]
    x0, y0 = min(b.x0 for b in boxes), min(b.y0 for b in boxes)
    x1 = max(b.x1 for b in boxes)
    was = truth["drawn_box_pt"]
    k = (x1 - x0) / (was[2] - was[0])

    def at(points: list[list[float]]) -> list[list[float]]:
        return [[x0 + (x - was[0]) * k, y0 + (y - was[1]) * k] for x, y in points]

    rooms = [
        {
            "id": room["id"],
            "outline_pt": at(room["outline_pt"]),
            "openings": [{"kind": o["kind"], "ends_pt": at(o["ends_pt"])} for o in room["openings"]],
        }
        for room in truth["rooms"]
    ]
    scale = truth["m_per_pt"] and truth["m_per_pt"] / k
    return {**truth, "m_per_pt": scale, "rooms": rooms, "buildings_pt": [at(b) for b in truth["buildings_pt"]]}


def outline_of(room: TracedRoom, sheet: Sheet) -> Polygon:
    """Return a traced room's outline in points as displayed."""
    ends = [*room.points_pt[1:], room.points_pt[0]]
    bulges = room.bulges or (0.0,) * len(ends)
    line = [
        sheet_to_displayed(sheet, *p)
        for a, b, bulge in zip(room.points_pt, ends, bulges, strict=True)
        for p in flatten_segment(a, b, bulge, 0.1)[:-1]
    ]
    return Polygon(line).buffer(0)


def judged(
    truth: dict[str, Any], rooms: tuple[TracedRoom, ...], sheet: Sheet, m_per_pt: float, printed: list[dict[str, Any]]
) -> dict[str, Any]:
    """Compare the proposed rooms of a sheet with those outlined by eye."""
    shapes = [outline_of(room, sheet) for room in rooms]
    true = [Polygon(room["outline_pt"]).buffer(0) for room in truth["rooms"]]
    buildings = shapely.union_all([Polygon(b) for b in truth["buildings_pt"]])
    found: set[int] = set()
    counts = dict.fromkeys(("false", "unjudged", "sure", "sure_judged", "sure_wrong", "openings", "openings_right"), 0)
    for room, shape in zip(rooms, shapes, strict=True):
        counts["sure"] += room.sure
        best, share = max(((i, _share(shape, t)) for i, t in enumerate(true)), key=lambda p: p[1], default=(-1, 0.0))
        if share >= FOUND:
            found.add(best)
            counts["sure_judged"] += room.sure
            right, there = _openings(room, shape, truth["rooms"][best]["openings"], sheet, m_per_pt)
            counts["openings"] += there
            counts["openings_right"] += right
        elif not buildings.intersects(shape.representative_point()) or shape.area > 2 * max(buildings.area, 1e-9):
            counts["false"] += 2
            counts["sure_judged"] += room.sure
            counts["sure_wrong"] += room.sure
        elif any(shape.intersection(t).area > MEETS * min(shape.area, t.area) for t in true):
            counts["false"] += 1
            counts["sure_judged"] += room.sure
            counts["sure_wrong"] += room.sure
        else:
            counts["unjudged"] += 1
    areas = [p for p in printed if p.get("printed_m2")]
    within = sum(_fits(p, shapes, m_per_pt) for p in areas)
    proposals = [
        {"box": [round(v, 1) for v in shape.bounds], "sure": room.sure, "confidence": room.confidence}
        for room, shape in zip(rooms, shapes, strict=True)
    ]
    return {
        "rooms": len(true),
        "found": len(found),
        "missing": [r["id"] for i, r in enumerate(truth["rooms"]) if i not in found],
        "proposed": len(rooms),
        **counts,
        "printed": len(areas),
        "printed_within": within,
        "proposals": proposals,
    }


def _share(one: Polygon, other: Polygon) -> float:
    both = one.intersection(other).area
    return float(both / max(one.area + other.area - both, 1e-9))


def _fits(printed: dict[str, Any], shapes: list[Polygon], m_per_pt: float) -> bool:
    """Tell whether the smallest proposal round a printed area has that area."""
    round_it = [s.area for s in shapes if s.contains(shapely.Point(printed["at"]))]
    return bool(round_it) and abs(min(round_it) * m_per_pt**2 / printed["printed_m2"] - 1) <= PRINTED


def _openings(
    room: TracedRoom, shape: Polygon, true: list[dict[str, Any]], sheet: Sheet, m_per_pt: float
) -> tuple[int, int]:
    """Return how many of the true openings were traced at their place with their width, and how many there are."""
    del shape
    ring = shapely.LineString(
        [sheet_to_displayed(sheet, *p) for p in (*room.points_pt, room.points_pt[0])]
    )  # openings stand on straight sides
    left = [(ring.interpolate(o.at / m_per_pt), o.width) for o in room.openings]
    right = 0
    for opening in true:
        (x0, y0), (x1, y1) = opening["ends_pt"]
        middle, width = shapely.Point((x0 + x1) / 2, (y0 + y1) / 2), math.dist((x0, y0), (x1, y1)) * m_per_pt
        for place in left:
            is_wide = abs(place[1] - width) <= max(WIDTH_M, WIDTH_SHARE * width)
            if place[0].distance(middle) * m_per_pt <= NEAR_M and is_wide:
                left.remove(place)
                right += 1
                break
    return right, len(true)


def run_one(name: str, limit: float, *, shown: bool) -> dict[str, Any]:
    """Score a sheet in a process of its own."""
    command = [sys.executable, "-m", "tests.real.sheet_scores", "--one", name, *(["--shown"] if shown else [])]
    begin = time.monotonic()
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=limit, check=False)
    except subprocess.TimeoutExpired:
        return {"reason": f"given up after {limit:.0f} s", "seconds": limit}
    if done.returncode:
        last = (done.stderr.strip().splitlines() or ["?"])[-1]
        return {"reason": f"exit {done.returncode}: {last}", "seconds": time.monotonic() - begin}
    result: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return result


def row(name: str, r: dict[str, Any]) -> str:
    """Write a sheet's figures in one line."""
    own = f"{r['own_scale']:.3f}" if r.get("own_scale") else "none"
    reason = "" if r.get("proposed") else r.get("reason", "")
    if "rooms" not in r:
        return (
            f"{name:20s} {'-':>5s} {'-':>5s} {'':49s} {r['seconds']:4.0f} {'-':>6s} {'-':>6s} {'-':>9s}  {reason[:160]}"
        )
    return (
        f"{name:20s} {r['rooms']:5d} {r['found']:5d}  {r['openings_right']:2d}/{r['openings']:2d} {r['false']:7d} "
        f"{r['unjudged']:5d} {r['sure_judged']:5d} {r['sure_wrong']:5d} {r['printed_within']:4d}/{r['printed']:2d} "
        f"{r['seconds']:4.0f} {r.get('cpu', 0):6.1f} {r['mib']:6.0f} {own:>9s}  {reason[:160]}"
    )


def main() -> None:
    """Score the sheets and print the table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("sheets", nargs="*", help="names, or the beginnings of names; all where none is given")
    parser.add_argument("--shown", action="store_true", help="point at a wall, a door and a window first")
    parser.add_argument("--limit", type=float, default=LIMIT)
    parser.add_argument("--json", type=Path)
    parser.add_argument("--one", help=argparse.SUPPRESS)
    wanted = parser.parse_args()
    truth = {sheet["sheet"]: sheet for sheet in json.loads(BY_EYE.read_text())}
    if wanted.one:
        print(json.dumps(read_one(truth[wanted.one], shown=wanted.shown)))
        return
    print(HEADS)
    results = {}
    for name in truth:
        if not wanted.sheets or name.startswith(tuple(wanted.sheets)):
            results[name] = run_one(name, wanted.limit, shown=wanted.shown)
            print(row(name, results[name]), flush=True)
    keys = ("rooms", "found", "openings_right", "openings", "false", "unjudged", "sure_judged", "sure_wrong")
    total = {key: sum(r.get(key, 0) for r in results.values()) for key in (*keys, "printed_within", "printed")}
    total |= {
        "seconds": sum(r["seconds"] for r in results.values()),
        "mib": max(r.get("mib", 0) for r in results.values()),
    }
    print(row("all", total))
    if wanted.json:
        wanted.json.write_text(json.dumps(results, indent=1) + "\n")


if __name__ == "__main__":
    main()
