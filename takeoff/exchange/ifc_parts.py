"""The parts of a building model in the making: entities with ids, placements, shapes and quantities (IFC4)."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Sequence
from typing import Any

from takeoff.exchange.ifc_bodies import Prism, RoomShape, triangles
from takeoff.exchange.plan_lines import PlanRun, to_building
from takeoff.exchange.printable import one_line
from takeoff.geometry.paths import Path, point_on_segment
from takeoff.measure.faces import MeasuredFace

SPACE_OF_IDS = uuid.UUID("6c5b8a0e-7d0f-5f6a-9a43-2f1c7f7f3a51")
"""Namespace of the model's ids, which follow from the job's so that the same job gives the same ids."""


def line_of(text: str) -> str:
    """Keep a text to one line of printable characters."""
    return one_line(text)[:255]


class Parts:
    """A model in the making, with its project and building; entities are added through ``make``."""

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

    def floor_solid(self, shape: RoomShape) -> Any:
        """Stand a room's floor up to its height."""
        return self._pushed(self.profile(shape.floor), self.make("IfcAxis2Placement3D", self.origin), 1.0, shape.height)

    def _pushed(self, profile: Any, position: Any, up: float, depth: float) -> Any:
        return self.make(
            "IfcExtrudedAreaSolid",
            SweptArea=profile,
            Position=position,
            ExtrudedDirection=self.make("IfcDirection", (0.0, 0.0, up)),
            Depth=depth,
        )

    def quantities(self, owner: Any, key: str, name: str, values: Iterable[tuple[str, str, float]]) -> None:
        """Give something a set of quantities: (kind, name, value)."""
        parts = [
            self.make(f"IfcQuantity{kind}", Name=label, **{f"{kind}Value": value}) for kind, label, value in values
        ]
        held = self.rooted("IfcElementQuantity", f"{key}/{name}", Name=name, Quantities=parts)
        self.relate(
            "IfcRelDefinesByProperties", f"{key}/{name}", RelatedObjects=[owner], RelatingPropertyDefinition=held
        )

    def solid(self, prism: Prism) -> Any:
        """Push an upright profile out square to the line that it stands on."""
        along = (*prism.along, 0.0)
        square = (prism.along[1], -prism.along[0], 0.0)
        position = self.make(
            "IfcAxis2Placement3D",
            self.make("IfcCartesianPoint", prism.start),
            self.make("IfcDirection", square),
            self.make("IfcDirection", along),
        )
        up = 1.0 if prism.is_to_the_right else -1.0
        return self._pushed(self.profile(prism.profile), position, up, prism.depth)

    def profile(self, polygon: Any) -> Any:
        """Draw a polygon as a profile."""
        outer, *holes = [self._ring(ring) for ring in (polygon.exterior, *polygon.interiors)]
        if holes:
            return self.make("IfcArbitraryProfileDefWithVoids", ProfileType="AREA", OuterCurve=outer, InnerCurves=holes)
        return self.make("IfcArbitraryClosedProfileDef", ProfileType="AREA", OuterCurve=outer)

    def _ring(self, ring: Any) -> Any:
        corners = [self.make("IfcCartesianPoint", tuple(map(float, point))) for point in ring.coords[:-1]]
        return self.make("IfcPolyline", [*corners, corners[0]])

    def shape(self, context: Any, identifier: str, kind: str, items: Sequence[Any]) -> Any:
        """Make the one representation of a product."""
        return self.make(
            "IfcProductDefinitionShape", Representations=[self.representation(context, identifier, kind, items)]
        )

    def representation(self, context: Any, identifier: str, kind: str, items: Sequence[Any]) -> Any:
        """Make one representation."""
        return self.make(
            "IfcShapeRepresentation",
            ContextOfItems=context,
            RepresentationIdentifier=identifier,
            RepresentationType=kind,
            Items=list(items),
        )

    def curve(self, run: PlanRun, path: Path) -> Any:
        """Draw a line in plan; arcs are true arcs through their middle."""
        points: list[tuple[float, float]] = [to_building(run.sheet, run.scale, path.points[0])]
        segments = []
        for a, b, bulge in path.segments():
            start = len(points)
            between = [point_on_segment(a, b, bulge, 0.5)] if bulge else []
            points.extend(to_building(run.sheet, run.scale, p) for p in (*between, b))
            kind = "IfcArcIndex" if bulge else "IfcLineIndex"
            segments.append(self.make(kind, tuple(range(start, len(points) + 1))))
        return self.make(
            "IfcIndexedPolyCurve",
            Points=self.make("IfcCartesianPointList2D", points),
            Segments=segments,
            SelfIntersect=False,
        )

    def surface(self, run: PlanRun, face: MeasuredFace) -> Any:
        """Stand the net elevation on its line in plan, as triangles; nothing where no area is left."""
        points: dict[tuple[float, float, float], int] = {}
        numbered = []
        for corners in triangles(face):
            spots = [(*to_building(run.sheet, run.scale, p), z) for p, z in corners]
            numbers = [points.setdefault((round(x, 9), round(y, 9), round(z, 9)), len(points) + 1) for x, y, z in spots]
            if len(set(numbers)) == 3:
                numbered.append(tuple(numbers))
        return self.faces(list(points), numbered, closed=False) if numbered else None

    def faces(self, points: Sequence[tuple[float, ...]], numbers: Sequence[tuple[int, ...]], *, closed: bool) -> Any:
        """Make triangles between numbered points."""
        return self.make(
            "IfcTriangulatedFaceSet",
            Coordinates=self.make("IfcCartesianPointList3D", points),
            Closed=closed,
            CoordIndex=numbers,
        )
