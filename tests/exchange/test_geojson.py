from __future__ import annotations

import json
from typing import Any

import pyogrio
import pyogrio.raw
import pytest
import shapely

from takeoff import actions
from takeoff.job.store import JobStore


def _collection(store: JobStore) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(actions.export_file(store, "walls.geojson"))
    return found


def test_every_face_is_a_line_of_its_length_with_its_figures(sample):
    measured = {f.elevation.key: f for f in actions.measure_ready(sample.job)[0].faces}
    faces = {f["properties"]["id"]: f for f in _collection(sample)["features"] if f["properties"]["kind"] == "face"}
    assert set(faces) == set(measured)
    for key, feature in faces.items():
        q = measured[key].quantities
        assert feature["properties"]["net_area_m2"] == q.net_area
        assert feature["properties"]["cove_length_m"] == q.cove_length
        line = shapely.from_geojson(json.dumps(feature["geometry"]))
        assert line.length == pytest.approx(q.length, rel=2e-3)  # chords leave an arc by 1 mm at the most
        if not any(sample.job.runs[feature["properties"]["run"]].bulges):
            assert line.length == pytest.approx(q.length, rel=1e-9)


def test_rooms_are_polygons_wound_as_the_standard_asks(sample):
    measured = {i.id: i for i in actions.measure_ready(sample.job, by="room")[0].measurement.items}
    rooms = {f["properties"]["id"]: f for f in _collection(sample)["features"] if f["properties"]["kind"] == "room"}
    assert set(rooms) == set(measured)
    for id, feature in rooms.items():
        assert feature["properties"]["label"] == measured[id].label
        assert feature["properties"]["net_area_m2"] == pytest.approx(measured[id].quantities.net_area, rel=1e-12)
        polygon = shapely.from_geojson(json.dumps(feature["geometry"]))
        assert polygon.is_valid
        assert polygon.exterior.is_ccw  # RFC 7946 §3.1.6
    store = shapely.from_geojson(json.dumps(rooms["R107"]["geometry"]))
    x0, y0, x1, y1 = store.bounds
    assert (x1 - x0, y1 - y0) == (pytest.approx(15.667 * 0.3048, abs=0.01), pytest.approx(22.0 * 0.3048, abs=0.01))


def test_a_room_without_a_closed_run_has_no_geometry(fresh, put_runs, blank):
    store = fresh(blank(), units="metric", ratio="1:50")
    run = {"id": "a", "sheet": 1, "room": "R", "points": [[100, 100], [400, 100]]}
    put_runs(store, run, rooms=({"id": "R", "height": 3.0},))
    room, face = _collection(store)["features"]
    assert (room["geometry"], face["geometry"]["type"]) == (None, "LineString")


def test_the_file_says_that_its_coordinates_are_not_on_the_globe(sample):
    collection = _collection(sample)
    assert "not WGS 84" in collection["frame"]
    # RFC 7946 §4 took "crs" out; §7.1 keeps the members of other types off a collection
    assert not {"crs", "coordinates", "geometries", "geometry", "properties"} & set(collection)


def test_a_geopackage_reader_finds_the_same_features_in_every_layer(sample, tmp_path):
    path = tmp_path / "runs.gpkg"
    path.write_bytes(actions.export_file(sample, "walls.gpkg"))
    layers = {"faces": "LineString", "rooms": "Polygon", "openings": "LineString", "systems": None}
    assert dict(pyogrio.list_layers(path)) == layers
    every = _collection(sample)["features"]
    for layer in layers:
        meta, _, _, columns = pyogrio.raw.read(path, layer=layer)
        ids = [f["properties"]["id"] for f in every if layer == f"{f['properties']['kind']}s"]
        assert list(columns[list(meta["fields"]).index("name")]) == ids
        assert ids
    features = [f for f in every if f["properties"]["kind"] == "face"]
    meta, _, shapes, columns = pyogrio.raw.read(path, layer="faces")
    assert "metre" in meta["crs"]
    fields = dict(zip(meta["fields"], columns, strict=True))
    assert list(fields["name"]) == [f["properties"]["id"] for f in features]
    assert list(fields["net_area_m2"]) == [f["properties"]["net_area_m2"] for f in features]
    for shape, feature in zip(shapes, features, strict=True):
        assert shapely.equals_exact(shapely.from_wkb(shape), shapely.from_geojson(json.dumps(feature["geometry"])))


def test_an_opening_is_as_long_on_the_map_as_it_is_wide_and_lies_on_its_face(sample):
    features = _collection(sample)["features"]
    faces = {f["properties"]["id"]: f["geometry"] for f in features if f["properties"]["kind"] == "face"}
    openings = [f for f in features if f["properties"]["kind"] == "opening"]
    placed = sum(len(run.openings) for run in sample.job.runs.values())
    assert len(openings) >= placed > 20
    for opening in openings:
        line = shapely.from_geojson(json.dumps(opening["geometry"]))
        wide = opening["properties"]["width_m"]
        # an arc is drawn as chords, which are shorter than it
        assert wide * 0.999 <= line.length + 1e-6 <= wide + 2e-6
        face = shapely.from_geojson(json.dumps(faces[opening["properties"]["face"]]))
        assert shapely.hausdorff_distance(shapely.intersection(face.buffer(0.01), line), line) < 0.01


def test_the_areas_of_the_systems_are_those_of_their_faces(sample):
    features = [f["properties"] for f in _collection(sample)["features"]]
    systems = {f["id"]: f["net_area_m2"] for f in features if f["kind"] == "system"}
    for id, area in systems.items():
        faces = sum(f["net_area_m2"] for f in features if f["kind"] == "face" and f.get("system") == id)
        assert area == pytest.approx(faces, rel=1e-12)
    assert len(systems) > 1
