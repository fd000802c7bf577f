"""Runs, openings, rooms and systems as layers of a GeoPackage (OGC 12-128), in a frame of building metres."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from takeoff.errors import ReportError
from takeoff.exchange.geojson import face_features, opening_features, room_features, system_features
from takeoff.exchange.plan_lines import PlanRun

FRAME = (
    'LOCAL_CS["Building metres, lower left corner of the sheet as displayed",'
    'UNIT["metre",1],AXIS["x",EAST],AXIS["y",NORTH]]'
)


def write_geopackage(runs: Sequence[PlanRun]) -> bytes:
    """Write the layers "faces" and "openings" (lines), "rooms" (polygons) and the table "systems".

    Raises
    ------
    ReportError
        When the optional library pyogrio is not installed, or cannot write.
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
            for layer, kind, features in (
                ("faces", "LineString", face_features(runs)),
                ("rooms", "Polygon", room_features(runs)),
                ("openings", "LineString", opening_features(runs)),
                ("systems", None, system_features(runs)),
            ):
                if features:
                    _write_layer(pyogrio.raw, path, layer, kind, features)
        except (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError) as error:
            raise ReportError(f"the GeoPackage could not be written: {error}", remedy="Export as .geojson.") from error
        return path.read_bytes()


def _write_layer(
    raw: Any, path: Path, layer: str, kind: str | None, features: Sequence[tuple[Any, dict[str, Any]]]
) -> None:
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
        crs=None if kind is None else FRAME,
        append=path.exists(),
    )
