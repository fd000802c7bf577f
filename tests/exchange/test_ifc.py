from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import ifcopenshell
import ifcopenshell.geom
import ifcopenshell.util.element
import ifcopenshell.validate
import numpy as np
import pytest

from takeoff import actions
from takeoff.actions.handover import export_ifc
from takeoff.job.store import JobStore

AT = "2026-03-02T10:00:00+00:00"


def _open(data: bytes) -> Any:
    return ifcopenshell.file.from_string(data.decode("utf-8"))


def _faults(model: Any, *, rules: bool) -> list[str]:
    logger = ifcopenshell.validate.json_logger()
    ifcopenshell.validate.validate(model, logger, express_rules=rules)
    return [str(s) for s in logger.statements]


@pytest.fixture
def small(fresh: Callable[..., JobStore], put_runs: Callable[..., None], blank: Callable[..., bytes]) -> JobStore:
    """A room with a door and a bowed wall coated on both faces."""
    store = fresh(blank(rotate=90), units="metric", ratio="1:50", name="Small")
    door = {"at": 2.0, "width": 0.9, "height": 2.1}
    square = [[100, 100], [400, 100], [400, 300], [100, 300]]
    put_runs(
        store,
        {"id": "a", "sheet": 1, "room": "R", "points": square, "closed": True, "face": "right", "openings": [door]},
        {"id": "b", "sheet": 1, "points": [[150, 150], [250, 150]], "bulges": [0.3], "height": [[0, 2.0], [1, 3.0]],
         "face": "both", "line": "centre", "thickness": 0.2, "system": "thin-film"},
        rooms=({"id": "R", "name": "Wash", "number": "103", "height": 3.0, "system": "mat-hygienic"},),
    )  # fmt: skip
    return store


@pytest.mark.filterwarnings(  # the validator leaves its own rules file open
    "ignore:unclosed file:ResourceWarning", "ignore::pytest.PytestUnraisableExceptionWarning"
)
def test_the_validator_finds_no_fault_against_the_schema_and_its_rules(small: JobStore) -> None:
    model = _open(export_ifc(small, at=AT))
    assert model.schema == "IFC4"
    assert _faults(model, rules=True) == []


def test_the_whole_sample_is_valid_against_the_schema(sample: JobStore) -> None:
    model = _open(export_ifc(sample, at=AT))
    assert _faults(model, rules=False) == []
    ids = [e.GlobalId for e in model.by_type("IfcRoot")]
    assert len(set(ids)) == len(ids)


def test_quantities_read_back_equal_those_that_were_measured(sample: JobStore) -> None:
    model = _open(export_ifc(sample, at=AT))
    measured = {f.elevation.key: f.quantities for f in actions.measure(sample.job).faces}
    coverings = {c.Name: c for c in model.by_type("IfcCovering")}
    assert len(coverings) == len(measured)
    for key, q in measured.items():
        run, _, side = key.rpartition(":")
        sets = ifcopenshell.util.element.get_psets(coverings[f"{run}, {side} face"], qtos_only=True)
        standard, own = sets["Qto_CoveringBaseQuantities"], sets["Takeoff_CoatingQuantities"]
        assert (standard["GrossArea"], standard["NetArea"]) == (q.gross_area, q.net_area)
        assert own["Length"] == q.length
        assert own["BaseLength"] == q.base_length
        assert own["InsideCornerLength"] == q.inside_corner_length
        assert own["CoveLength"] == q.cove_length
    units = {u.UnitType: (u.Prefix, u.Name) for u in model.by_type("IfcUnitAssignment")[0].Units}
    assert units["LENGTHUNIT"] == (None, "METRE")
    assert units["AREAUNIT"] == (None, "SQUARE_METRE")


def test_every_covering_covers_its_wall_in_its_room_with_the_material_of_its_system(small: JobStore) -> None:
    model = _open(export_ifc(small, at=AT))
    found = {}
    for covering in model.by_type("IfcCovering"):
        (relation,) = covering.CoversElements
        (place,) = covering.ContainedInStructure
        material = ifcopenshell.util.element.get_material(covering)
        found[covering.Name] = (relation.RelatingBuildingElement.Name, place.RelatingStructure.is_a(), material.Name)
    assert found == {
        "a, right face": ("a", "IfcSpace", "mat-hygienic"),
        "b, left face": ("b", "IfcBuildingStorey", "thin-film"),
        "b, right face": ("b", "IfcBuildingStorey", "thin-film"),
    }
    (space,) = model.by_type("IfcSpace")
    assert (space.Name, space.LongName) == ("103", "Wash")


def test_the_geometry_kernel_gets_the_net_area_out_of_the_surface(small: JobStore) -> None:
    model = _open(export_ifc(small, at=AT))
    measured = {f.elevation.key: f.quantities.net_area for f in actions.measure(small.job).faces}
    settings = ifcopenshell.geom.settings()
    for covering in model.by_type("IfcCovering"):
        shape = ifcopenshell.geom.create_shape(settings, covering).geometry
        points = np.array(shape.verts).reshape(-1, 3)
        a, b, c = (points[np.array(shape.faces).reshape(-1, 3)[:, i]] for i in range(3))
        area = np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2
        run, side = covering.Name.removesuffix(" face").split(", ")
        # chords leave an arc by 2 mm at the most: their area is a little less
        assert area == pytest.approx(measured[f"{run}:{side}"], rel=1e-9 if run == "a" else 2e-3)
        assert points[:, 2].min() == pytest.approx(0.0)


def test_an_arc_stays_an_arc_in_the_axis_of_its_wall(small: JobStore) -> None:
    model = _open(export_ifc(small, at=AT))
    (wall,) = [w for w in model.by_type("IfcWall") if w.Name == "b"]
    (curve,) = wall.Representation.Representations[0].Items
    assert [s.is_a() for s in curve.Segments] == ["IfcArcIndex"]


def test_the_same_job_gives_the_same_file(small: JobStore) -> None:
    assert export_ifc(small, at=AT) == export_ifc(small, at=AT)


def test_texts_of_the_job_cannot_add_entities(
    fresh: Callable[..., JobStore], put_runs: Callable[..., None], blank: Callable[..., bytes]
) -> None:
    text = "x');\n#9999=IFCWALL('2O2Fr$t4X7Zf8NOew3FLOH',$,'owned',$,$,$,$,$,$);\nünïcode 墙 \\X2\\"
    store = fresh(blank(), units="metric", ratio="1:50", name=text)
    run = {"id": text, "sheet": 1, "room": text, "points": [[100, 100], [400, 100]], "system": "thin-film"}
    put_runs(store, run, rooms=({"id": text, "name": text, "number": text, "height": 3.0},))
    data = export_ifc(store, at=AT)
    model = _open(data)
    (wall,) = model.by_type("IfcWall")
    assert wall.Name == " ".join(text.split())
    assert len(re.findall(rb"^#\d+=IFCWALL\(", data, re.MULTILINE)) == 1
