"""Runs, openings, rooms and systems as GeoJSON features or a GeoPackage, in building metres.

RFC 7946 asks for longitudes and latitudes on WGS 84; a building plan has none. Coordinates here are building metres of
the sheet as displayed, x right and y up, as the foreign member "frame" of the collection says; everything else
follows the RFC: exterior rings run counter-clockwise, a room without a closed run and a system have no geometry.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

import msgspec

from takeoff.errors import ReportError
from takeoff.exchange.plan_lines import PlanRun, by_room, cut_path, to_building
from takeoff.geometry.arcs import Point
from takeoff.measure.faces import MeasuredFace
from takeoff.model.figures import Quantities

CHORD = 0.001
"""Metres by which chords may leave an arc; figures in the properties are exact."""
FIGURES = (
    "length", "gross_area", "net_area", "deducted_area", "return_area", "base_length", "inside_corner_length",
    "outside_corner_length", "termination_length", "cove_length",
)  # fmt: skip
"""Figures of faces, rooms and systems that the properties give."""
Feature = tuple[dict[str, Any] | None, dict[str, Any]]
"""A shape, nothing where it has no place, and properties."""
FRAME = "building metres: x right and y up from the lower left corner of the sheet as displayed, not WGS 84"


def write_geojson(runs: Sequence[PlanRun], *, title: str) -> bytes:
    """Write a feature for each face of each run, each opening on it, each room and each system."""
    features = [
        {
            "type": "Feature",
            "id": f"{kind}:{properties['id']}",
            "geometry": geometry,
            "properties": {"kind": kind, **properties},
        }
        for kind in ("room", "face", "opening", "system")
        for geometry, properties in LAYERS[kind][1](runs)
    ]
    collection = {"type": "FeatureCollection", "name": title, "frame": FRAME, "features": features}
    return msgspec.json.format(msgspec.json.encode(collection), indent=1)


def face_features(runs: Sequence[PlanRun]) -> list[Feature]:
    """A line and properties for each face."""
    return [
        (
            {"type": "LineString", "coordinates": face_line(run, face)},
            {
                "id": face.elevation.key,
                "run": run.run.id,
                "face": face.elevation.face,
                "room": run.room_label,
                "system": run.system,
                "sheet": run.sheet.number or str(run.sheet.id),
                "base_m": run.run.base,
                "top_m": max(h for _, h in face.elevation.profile),
                **figures(face.quantities),
            },
        )
        for run in runs
        for face in run.faces
    ]


def room_features(runs: Sequence[PlanRun]) -> list[Feature]:
    """The largest closed run of each room as its outline, and the sums of its faces."""
    out: list[Feature] = []
    for id, members in sorted(by_room(runs).items()):
        rings = [face_line(r, r.faces[0]) for r in members if r.run.closed]
        ring = max(rings, key=lambda line: abs(_signed_area(line)), default=None)
        if ring is not None and _signed_area(ring) < 0:
            ring = ring[::-1]
        total = sum((f.quantities for r in members for f in r.faces), Quantities())
        properties = {"id": id, "label": members[0].room_label, "sheet": members[0].sheet.number, **figures(total)}
        out.append((None if ring is None else {"type": "Polygon", "coordinates": [ring]}, properties))
    return out


def opening_features(runs: Sequence[PlanRun]) -> list[Feature]:
    """A line and properties for each opening of each face."""
    out: list[Feature] = []
    for run in runs:
        for face in run.faces:
            for n, placed in enumerate(face.elevation.openings, start=1):
                line = cut_path(face.path, placed.x0, placed.x1).flattened(CHORD)
                shape = {"type": "LineString", "coordinates": [to_building(run.sheet, run.scale, p) for p in line]}
                properties = {
                    "id": f"{face.elevation.key}:{n}",
                    "face": face.elevation.key,
                    "room": run.room_label,
                    "opening": placed.source.kind,
                    "mark": placed.source.mark,
                    "width_m": placed.x1 - placed.x0,
                    "height_m": placed.z1 - placed.z0,
                    "sill_m": placed.z0,
                }
                out.append((shape, properties))
    return out


def system_features(runs: Sequence[PlanRun]) -> list[Feature]:
    """The sums of the faces of each system; it has no place."""
    sums: dict[str, Quantities] = {}
    for run in runs:
        if run.system:
            sums[run.system] = sum((f.quantities for f in run.faces), sums.get(run.system, Quantities()))
    return [(None, {"id": id, **figures(total)}) for id, total in sorted(sums.items())]


def face_line(run: PlanRun, face: MeasuredFace) -> list[Point]:
    """Give the line of a face in building metres as displayed, arcs as chords; a closed one ends where it starts."""
    return [to_building(run.sheet, run.scale, p) for p in face.path.flattened(CHORD)]


def figures(q: Quantities) -> dict[str, float]:
    """Name the figures with their units."""
    return {f"{name}_{'m2' if name.endswith('area') else 'm'}": getattr(q, name) for name in FIGURES}


def _signed_area(ring: Sequence[Point]) -> float:
    """Area within a closed line, positive where it runs counter-clockwise with y up."""
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairwise(ring)) / 2.0


LAYERS: dict[str, tuple[str | None, Callable[[Sequence[PlanRun]], list[Feature]]]] = {
    "face": ("LineString", face_features),
    "room": ("Polygon", room_features),
    "opening": ("LineString", opening_features),
    "system": (None, system_features),
}
"""Kinds of feature, what shapes they are, and what makes them."""

# -- the same as layers of a GeoPackage (OGC 12-128)

GIS_FRAME = (
    'LOCAL_CS["Building metres, lower left corner of the sheet as displayed",'
    'UNIT["metre",1],AXIS["x",EAST],AXIS["y",NORTH]]'
)


def write_geopackage(runs: Sequence[PlanRun]) -> bytes:
    """Write the layers "faces" and "openings" (lines), "rooms" (polygons) and the table "systems".

    Raises `ReportError` when the optional library pyogrio is not installed, or cannot write.
    """
    try:
        import pyogrio.errors  # type: ignore[import-untyped, unused-ignore]
        import pyogrio.raw  # type: ignore[import-untyped, unused-ignore]
    except ImportError as error:
        raise ReportError(
            "GeoPackage needs the library pyogrio, which is not installed",
            remedy="Install it: pip install 'takeoff[gis]', or export as .geojson.",
        ) from error
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "runs.gpkg"
        try:
            for layer, (kind, features_of) in LAYERS.items():
                if features := features_of(runs):
                    _write_layer(pyogrio.raw, path, f"{layer}s", kind, features)
        except (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError) as error:
            raise ReportError(f"the GeoPackage could not be written: {error}", remedy="Export as .geojson.") from error
        return path.read_bytes()


def _write_layer(raw: Any, path: Path, layer: str, kind: str | None, features: Sequence[Feature]) -> None:
    import numpy as np
    import shapely

    shapes = [None if g is None else shapely.from_geojson(json.dumps(g)) for g, _ in features]
    names = [name for name in features[0][1] if name != "id"]
    columns = [[properties[name] for _, properties in features] for name in ("id", *names)]
    raw.write(
        path,
        None if kind is None else shapely.to_wkb(np.array(shapes, dtype=object)),
        [np.array(c, dtype=object if isinstance(c[0], str) else np.float64) for c in columns],
        ["name", *names],
        layer=layer,
        driver="GPKG",
        geometry_type=kind,
        crs=None if kind is None else GIS_FRAME,
        append=path.exists(),
    )
