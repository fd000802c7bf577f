"""Coatings as coverings of walls in an IFC4 model (ISO 16739-1:2018), with the standard's base quantities.

Each run is a wall with its line as axis, each coated face a covering of it: the net area as a surface, the material
named for the system, and Qto_CoveringBaseQuantities with gross and net area. Lengths that the standard's set has no
place for are in a set of the program's own. Sheets are storeys, rooms are spaces. Metres throughout.
"""

from __future__ import annotations

import math
import uuid
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Any

from takeoff.errors import ReportError
from takeoff.exchange.plan_lines import PlanFace, PlanRun, point_along, to_building
from takeoff.exchange.printable import one_line
from takeoff.geometry.paths import Path
from takeoff.model.figures import Quantities

SPACE_OF_IDS = uuid.UUID("6c5b8a0e-7d0f-5f6a-9a43-2f1c7f7f3a51")
"""Namespace of the model's ids, which follow from the job's so that the same job gives the same ids."""
OWN_SET = "Takeoff_CoatingQuantities"
CHORD = 0.002


def write_ifc(runs: Sequence[PlanRun], *, title: str, at: str) -> bytes:
    """Write runs as walls and coverings of an IFC4 model.

    Parameters
    ----------
    runs
        Runs with their faces.
    title
        Name of the job.
    at
        Time for the file's header, ISO 8601.

    Raises
    ------
    ReportError
        When the optional library ifcopenshell is not installed.
    """
    try:
        import ifcopenshell
        import ifcopenshell.guid
    except ImportError as error:
        raise ReportError(
            "IFC needs the library ifcopenshell, which is not installed",
            remedy="Install it: pip install 'takeoff[ifc]'.",
        ) from error
    model = ifcopenshell.file(schema="IFC4")
    model.header.file_name.name = _line(title)
    model.header.file_name.time_stamp = at
    model.header.file_name.preprocessor_version = "takeoff"
    model.header.file_name.originating_system = "takeoff"
    writer = _Model(model, ifcopenshell.guid.compress, _line(title))
    left = 0.0
    for sheet in dict.fromkeys((r.sheet, r.scale) for r in runs):
        members = [r for r in runs if (r.sheet, r.scale) == sheet]
        writer.storey(members, left)
        left += (sheet[0].width_pt if sheet[0].rotation % 180 == 0 else sheet[0].height_pt) * sheet[1].mx * 1.1
    writer.give_materials()
    text: str = model.to_string()
    return text.encode("utf-8")


def _line(text: str) -> str:
    """Keep a text to one line of printable characters."""
    return one_line(text)[:255]


class _Model:
    """A model in the making; entities are added through ``make``."""

    def __init__(self, model: Any, compress: Any, title: str) -> None:
        self.make = model.create_entity
        self.compress = compress
        self.title = title
        self.origin = self.make("IfcCartesianPoint", (0.0, 0.0, 0.0))
        world = self.make("IfcAxis2Placement3D", self.origin)
        self.context = self.make(
            "IfcGeometricRepresentationContext",
            ContextType="Model",
            CoordinateSpaceDimension=3,
            Precision=1e-6,
            WorldCoordinateSystem=world,
        )
        self.body = self._part("Body", "MODEL_VIEW")
        self.axis = self._part("Axis", "GRAPH_VIEW")
        units = [
            self.make("IfcSIUnit", UnitType=kind, Name=name)
            for kind, name in (
                ("LENGTHUNIT", "METRE"), ("AREAUNIT", "SQUARE_METRE"), ("VOLUMEUNIT", "CUBIC_METRE"),
                ("PLANEANGLEUNIT", "RADIAN"),
            )
        ]  # fmt: skip
        project = self.rooted(
            "IfcProject",
            "project",
            Name=title,
            UnitsInContext=self.make("IfcUnitAssignment", units),
            RepresentationContexts=[self.context],
        )
        self.building = self.rooted(
            "IfcBuilding", "building", Name=title, ObjectPlacement=self.placement(), CompositionType="ELEMENT"
        )
        self.relate("IfcRelAggregates", "project/building", RelatingObject=project, RelatedObjects=[self.building])
        self.coverings: dict[str, list[Any]] = {}

    def _part(self, name: str, view: str) -> Any:
        return self.make(
            "IfcGeometricRepresentationSubContext",
            ContextIdentifier=name,
            ContextType="Model",
            ParentContext=self.context,
            TargetView=view,
        )

    def rooted(self, kind: str, key: str, **values: Any) -> Any:
        """Make an entity whose id follows from the job's name and its key."""
        id = self.compress(uuid.uuid5(SPACE_OF_IDS, f"{self.title}\n{key}").hex)
        return self.make(kind, GlobalId=id, **values)

    def relate(self, kind: str, key: str, **values: Any) -> Any:
        """Make a relation."""
        return self.rooted(kind, f"{kind}/{key}", **values)

    def placement(self, parent: Any = None, x: float = 0.0) -> Any:
        """Place something, x metres to the right of its parent."""
        at = self.make("IfcAxis2Placement3D", self.make("IfcCartesianPoint", (x, 0.0, 0.0)))
        return self.make("IfcLocalPlacement", PlacementRelTo=parent, RelativePlacement=at)

    def storey(self, runs: Sequence[PlanRun], x: float) -> None:
        """Add a sheet with the rooms, walls and coverings on it."""
        sheet, region = runs[0].sheet, runs[0].scale.region
        key = f"storey/{sheet.id}/{region or ''}"
        name = " ".join(t for t in (sheet.number, sheet.title, region) if t) or f"Sheet {sheet.id}"
        storey = self.rooted(
            "IfcBuildingStorey",
            key,
            Name=_line(name),
            ObjectPlacement=self.placement(self.building.ObjectPlacement, x),
            CompositionType="ELEMENT",
        )
        self.relate("IfcRelAggregates", key, RelatingObject=self.building, RelatedObjects=[storey])
        rooms = {r.room.id: r.room for r in runs if r.room is not None}
        spaces = {
            id: self.rooted(
                "IfcSpace",
                f"{key}/space/{id}",
                Name=_line(room.number or id),
                LongName=_line(room.name) or None,
                ObjectPlacement=self.placement(storey.ObjectPlacement),
                CompositionType="ELEMENT",
                PredefinedType="INTERNAL",
            )
            for id, room in rooms.items()
        }
        if spaces:
            self.relate(
                "IfcRelAggregates", f"{key}/spaces", RelatingObject=storey, RelatedObjects=list(spaces.values())
            )
        contents: dict[str, list[Any]] = {}
        for run in runs:
            wall, coverings = self.wall(run, storey)
            contents.setdefault("", []).append(wall)
            contents.setdefault(run.room.id if run.room else "", []).extend(coverings)
        for room, elements in contents.items():
            self.relate(
                "IfcRelContainedInSpatialStructure",
                f"{key}/{room}",
                RelatingStructure=spaces.get(room, storey),
                RelatedElements=elements,
            )

    def wall(self, run: PlanRun, storey: Any) -> tuple[Any, list[Any]]:
        """Add a run as a wall, and its faces as coverings of it."""
        place = self.placement(storey.ObjectPlacement)
        wall = self.rooted(
            "IfcWall",
            f"wall/{run.run.id}",
            Name=_line(run.run.id),
            ObjectPlacement=place,
            PredefinedType="NOTDEFINED",
            Representation=self.shape(self.axis, "Axis", "Curve2D", [self.curve(run, run.faces[0].path)]),
        )
        coverings = [self.covering(run, face, place) for face in run.faces]
        self.relate("IfcRelCoversBldgElements", run.run.id, RelatingBuildingElement=wall, RelatedCoverings=coverings)
        return wall, coverings

    def covering(self, run: PlanRun, face: PlanFace, place: Any) -> Any:
        """Add a face as a covering, with its material and quantities."""
        key = f"covering/{face.elevation.key}"
        items = [t for t in [self.surface(run, face)] if t is not None]
        covering = self.rooted(
            "IfcCovering",
            key,
            Name=_line(f"{run.run.id}, {face.side} face"),
            ObjectType=_line(run.system) or None,
            ObjectPlacement=place,
            PredefinedType="CLADDING",
            Representation=self.shape(self.body, "Body", "Tessellation", items) if items else None,
        )
        if run.system:
            self.coverings.setdefault(run.system, []).append(covering)
        self.quantities(covering, key, "Qto_CoveringBaseQuantities", _standard(face.quantities))
        self.quantities(covering, key, OWN_SET, _own(face.quantities))
        return covering

    def give_materials(self) -> None:
        """Give the coverings of each system its material."""
        for system, coverings in self.coverings.items():
            material = self.make("IfcMaterial", Name=_line(system), Category="wall coating")
            self.relate("IfcRelAssociatesMaterial", system, RelatedObjects=coverings, RelatingMaterial=material)

    def quantities(self, covering: Any, key: str, name: str, values: Iterable[tuple[str, str, float]]) -> None:
        """Give a covering a set of quantities: (kind, name, value)."""
        parts = [
            self.make(f"IfcQuantity{kind}", Name=label, **{f"{kind}Value": value}) for kind, label, value in values
        ]
        held = self.rooted("IfcElementQuantity", f"{key}/{name}", Name=name, Quantities=parts)
        self.relate(
            "IfcRelDefinesByProperties",
            f"{key}/{name}",
            RelatedObjects=[covering],
            RelatingPropertyDefinition=held,
        )

    def shape(self, context: Any, identifier: str, kind: str, items: Sequence[Any]) -> Any:
        """Make the representation of a product."""
        shape = self.make(
            "IfcShapeRepresentation",
            ContextOfItems=context,
            RepresentationIdentifier=identifier,
            RepresentationType=kind,
            Items=list(items),
        )
        return self.make("IfcProductDefinitionShape", Representations=[shape])

    def curve(self, run: PlanRun, path: Path) -> Any:
        """Draw a line in plan; arcs are true arcs through their middle."""
        points: list[tuple[float, float]] = [to_building(run.sheet, run.scale, path.points[0])]
        segments = []
        for a, b, bulge in path.segments():
            start = len(points)
            between = [point_along(a, b, bulge, 0.5)] if bulge else []
            points.extend(to_building(run.sheet, run.scale, p) for p in (*between, b))
            kind = "IfcArcIndex" if bulge else "IfcLineIndex"
            segments.append(self.make(kind, tuple(range(start, len(points) + 1))))
        return self.make(
            "IfcIndexedPolyCurve",
            Points=self.make("IfcCartesianPointList2D", points),
            Segments=segments,
            SelfIntersect=False,
        )

    def surface(self, run: PlanRun, face: PlanFace) -> Any:
        """Stand the net elevation on its line in plan, as triangles; nothing where no area is left."""
        points: dict[tuple[float, float, float], int] = {}
        triangles = []
        for corners in _triangles(face):
            spots = [(*to_building(run.sheet, run.scale, p), z) for p, z in corners]
            numbers = [points.setdefault((round(x, 9), round(y, 9), round(z, 9)), len(points) + 1) for x, y, z in spots]
            if len(set(numbers)) == 3:
                triangles.append(tuple(numbers))
        if not triangles:
            return None
        return self.make(
            "IfcTriangulatedFaceSet",
            Coordinates=self.make("IfcCartesianPointList3D", list(points)),
            Closed=False,
            CoordIndex=triangles,
        )


def _triangles(face: PlanFace) -> Iterable[list[tuple[tuple[float, float], float]]]:
    """Cut the net elevation at the bends of its line into triangles of (point in metres of the sheet, height)."""
    import shapely

    line = face.path.flattened(CHORD)
    at = [0.0]
    for a, b in pairwise(line):
        at.append(at[-1] + math.dist(a, b))
    at = [s * face.elevation.length / at[-1] for s in at]
    top = max(h for _, h in face.elevation.profile) + 1.0
    strips = shapely.intersection(face.elevation.net, shapely.box(at[:-1], -1.0, at[1:], top))
    for (a, b), (s0, s1), strip in zip(pairwise(line), pairwise(at), strips, strict=True):
        for part in shapely.get_parts(strip):
            if part.geom_type != "Polygon":
                continue
            for triangle in shapely.get_parts(shapely.constrained_delaunay_triangles(part)):
                yield [
                    ((a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t), z)
                    for s, z in triangle.exterior.coords[:3]
                    for t in [(s - s0) / (s1 - s0)]
                ]


def _standard(q: Quantities) -> list[tuple[str, str, float]]:
    """Give the quantities that Qto_CoveringBaseQuantities has a place for."""
    return [("Area", "GrossArea", q.gross_area), ("Area", "NetArea", q.net_area)]


def _own(q: Quantities) -> list[tuple[str, str, float]]:
    return [
        ("Length", "Length", q.length),
        ("Length", "BaseLength", q.base_length),
        ("Length", "TopLength", q.top_length),
        ("Length", "OpeningEdgeLength", q.opening_edge_length),
        ("Length", "TerminationLength", q.termination_length),
        ("Length", "InsideCornerLength", q.inside_corner_length),
        ("Length", "OutsideCornerLength", q.outside_corner_length),
        ("Length", "CoveLength", q.cove_length),
        ("Area", "ReturnArea", q.return_area),
    ]
