"""Plans with known truth that were not made by the generator: the sample plans, and reference plans where present."""

from __future__ import annotations

import json
import os
from pathlib import Path

from shapely import Polygon

from takeoff.geometry.arcs import flatten_segment
from takeoff.units.reading import parse_length
from tests.jobs import PLANS
from tests.trace.plans import Plan, TrueOpening, TrueRoom

POINT = 0.0254 / 72


def reference_folder() -> Path | None:
    """Return the folder of the reference plans; nothing where the environment names none."""
    named = os.environ.get("TAKEOFF_REFERENCE", "")
    return Path(named) if named and Path(named).is_dir() else None


def sample_plans_known() -> list[Plan]:
    """Return the vector sample plans with the rooms that their edits trace."""
    return [
        _sample("facility-imperial.pdf", "facility-edits.json", 48 * POINT),
        _sample("facility-metric.pdf", "facility-metric-edits.json", 50 * POINT),
    ]


def _sample(pdf: str, edits: str, m_per_pt: float) -> Plan:
    rooms = tuple(sample_rooms(edits, m_per_pt))
    return Plan(data=(PLANS / pdf).read_bytes(), m_per_pt=m_per_pt, rooms=rooms, kind=pdf, seed=0)


def sample_rooms(edits: str, m_per_pt: float) -> list[TrueRoom]:
    """Return the rooms that the edits of a sample plan trace."""
    value = json.loads((PLANS / edits).read_text(encoding="utf-8"))
    runs: dict[str, list[dict]] = {}
    for run in value["runs"]:
        if run["closed"]:
            runs.setdefault(run["room"], []).append(run)
    rooms = []
    for room in value["rooms"]:
        own = runs[room["id"]]
        walls = next(r for r in own if r["face"] == "right")
        rooms.append(
            TrueRoom(
                outline_pt=_outline(walls),
                columns_pt=tuple(_outline(r) for r in own if r is not walls),
                openings=tuple(_openings(walls, m_per_pt)),
                name=room["name"].upper(),
                number=room["number"],
            )
        )
    return rooms


def _chain(run: dict) -> list[tuple[float, float]]:
    points = [tuple(p) for p in run["points"]]
    bulges = run.get("bulges") or [0.0] * len(points)
    chain = []
    for i, a in enumerate(points):
        chain.extend(flatten_segment(a, points[(i + 1) % len(points)], bulges[i], 0.005)[:-1])
    return chain


def _outline(run: dict) -> Polygon:
    return Polygon(_chain(run))


def _openings(run: dict, m_per_pt: float) -> list[TrueOpening]:
    line = Polygon(_chain(run)).exterior
    found = []
    for o in run.get("openings", []):
        at, width = _metres(o["at"]), _metres(o["width"])
        count = o.get("count", 1)
        spacing = _metres(o["spacing"]) if o.get("spacing") else 2 * width
        for i in range(count):
            middle = at + (i - (count - 1) / 2) * spacing if count > 1 else at
            ends = [line.interpolate((middle + k * width / 2) / m_per_pt) for k in (-1, 1)]
            found.append(TrueOpening(side_pt=tuple((p.x, p.y) for p in ends), kind=o.get("kind", "door"), width=width))
    return found


def _metres(value: float | str) -> float:
    return parse_length(value) if isinstance(value, str) else float(value)


def reference_plans() -> list[Plan]:
    """Return the reference plans whose rooms are bounded by walls; empty where the folder is absent."""
    folder = reference_folder()
    if folder is None:
        return []
    return [_reference(folder / "ifc_plans" / f"{name}.pdf") for name in ("house_ground", "duplex_level1")]


def _reference(pdf: Path) -> Plan:
    value = json.loads(pdf.with_suffix(".json").read_text(encoding="utf-8"))
    (a, b, c), (d, e, f) = value["page"]["m_to_pt"]
    rooms = []
    for room in [*value["rooms"], *value["regions"]]:
        if room["basis"] != "faces":
            continue
        outline = [(a * x + b * y + c, d * x + e * y + f) for x, y in room["faces"]["outline"][0]]
        openings = tuple(TrueOpening(side_pt=None, kind=o["kind"], width=o["width"]) for o in room["openings"])
        rooms.append(
            TrueRoom(
                outline_pt=Polygon(outline), columns_pt=(), openings=openings, name=room["long_name"] or "", number=""
            )
        )
    return Plan(data=pdf.read_bytes(), m_per_pt=1 / a, rooms=tuple(rooms), kind=pdf.stem, seed=0)
