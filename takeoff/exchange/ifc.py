"""Coatings as coverings of walls in an IFC4 model (ISO 16739-1:2018), with the standard's base quantities.

Each run is a wall with its line as axis and a body behind its face, which its openings cut and doors and windows fill.
Each coated face is a covering of it and of its room: the net area as a surface, the material layers of the system.
Every one has the standard's base quantities; lengths that those have no place for are in a set of the program's own.
Sheets are storeys, rooms are spaces, with a body where their walls close. Metres throughout.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from takeoff.errors import ReportError
from takeoff.exchange.ifc_bodies import RoomShape, room_shape, voids, wall_bodies, wall_prisms
from takeoff.exchange.ifc_parts import Parts, line_of
from takeoff.exchange.plan_lines import PlanRun, by_room
from takeoff.measure.faces import MeasuredFace
from takeoff.model.figures import Quantities
from takeoff.model.walls import Room

OWN_SET = "Takeoff_CoatingQuantities"
OWN = (
    "length", "base_length", "top_length", "opening_edge_length", "termination_length", "inside_corner_length",
    "outside_corner_length", "cove_length", "return_area",
)  # fmt: skip
"""Figures of a face in that set; the last word of each is its kind."""
NOMINAL_THICKNESS = 0.1
"""Metres that a wall's body is thick where its thickness is not known; its description then says so."""
FILLING = 0.04
"""Metres that the body of a door or window is thick: it stands for the leaf and is no measure of it."""
_FILLINGS = {"door": ("IfcDoor", "DOOR"), "window": ("IfcWindow", "WINDOW"), "louvre": ("IfcWindow", "WINDOW")}
"""What fills an opening of a kind; any other stays open."""
Layers = Mapping[tuple[str, str], Sequence[tuple[str, str, float]]]
"""Of each system on a substrate, empty where none is given, the coats that leave a film: name of the step, of the
product, and dry thickness in metres."""


def write_ifc(runs: Sequence[PlanRun], *, title: str, at: str, layers: Layers) -> bytes:
    """Write runs as walls and coverings of an IFC4 model."""
    try:
        import ifcopenshell
        import ifcopenshell.guid
    except ImportError as error:
        raise ReportError(
            "IFC needs the library ifcopenshell, which is not installed",
            remedy="Install it: pip install 'takeoff[ifc]'.",
        ) from error
    model = ifcopenshell.file(schema="IFC4")
    model.header.file_name.name = line_of(title)
    model.header.file_name.time_stamp = at
    model.header.file_name.preprocessor_version = "takeoff"
    model.header.file_name.originating_system = "takeoff"
    writer = _Model(model, ifcopenshell.guid.compress, line_of(title))
    left = 0.0
    for sheet in dict.fromkeys((r.sheet, r.scale) for r in runs):
        members = [r for r in runs if (r.sheet, r.scale) == sheet]
        writer.storey(members, left)
        left += (sheet[0].width_pt if sheet[0].rotation % 180 == 0 else sheet[0].height_pt) * sheet[1].mx * 1.1
    writer.give_materials(layers)
    text: str = model.to_string()
    return text.encode("utf-8")


class _Model(Parts):
    """The storeys, rooms, walls, openings and coverings of a job."""

    def __init__(self, model: Any, compress: Any, title: str) -> None:
        super().__init__(model, compress, title)
        self.coverings: dict[tuple[str, str], list[Any]] = {}
        """Coverings of each system on each substrate."""

    def storey(self, runs: Sequence[PlanRun], x: float) -> None:
        """Add a sheet with the rooms, walls and coverings on it."""
        sheet, region = runs[0].sheet, runs[0].scale.region
        key = f"storey/{sheet.id}/{region or ''}"
        name = " ".join(t for t in (sheet.number, sheet.title, region) if t) or f"Sheet {sheet.id}"
        storey = self.rooted(
            "IfcBuildingStorey",
            key,
            Name=line_of(name),
            ObjectPlacement=self.placement(self.building.ObjectPlacement, x),
            CompositionType="ELEMENT",
        )
        self.relate("IfcRelAggregates", key, RelatingObject=self.building, RelatedObjects=[storey])
        spaces = {id: self.space(members, storey, key) for id, members in by_room(runs).items()}
        if spaces:
            self.relate(
                "IfcRelAggregates", f"{key}/spaces", RelatingObject=storey, RelatedObjects=list(spaces.values())
            )
        contents: dict[str, list[Any]] = {}
        for run in runs:
            room = run.room.id if run.room else ""
            wall, coverings, fillings = self.wall(run, storey)
            contents.setdefault("", []).extend([wall, *fillings])
            contents.setdefault(room, []).extend(coverings)
            if space := spaces.get(room):
                self.relate("IfcRelCoversSpaces", run.run.id, RelatingSpace=space, RelatedCoverings=coverings)
        for room, elements in contents.items():
            self.relate(
                "IfcRelContainedInSpatialStructure",
                f"{key}/{room}",
                RelatingStructure=spaces.get(room, storey),
                RelatedElements=elements,
            )

    def space(self, runs: Sequence[PlanRun], storey: Any, key: str) -> Any:
        """Add a room, with its body and quantities where its walls close and are of one height."""
        room = runs[0].room
        assert room is not None
        key = f"{key}/space/{room.id}"
        shape = room_shape(runs)
        space = self.rooted(
            "IfcSpace",
            key,
            Name=line_of(room.number or room.id),
            LongName=line_of(room.name) or None,
            Description=_of_one(room),
            ObjectPlacement=self.placement(storey.ObjectPlacement),
            CompositionType="ELEMENT",
            PredefinedType="INTERNAL",
            Representation=self.shape(self.body, "Body", "SweptSolid", [self.floor_solid(shape)]) if shape else None,
        )
        if shape is not None:
            self.quantities(space, key, "Qto_SpaceBaseQuantities", _of_space(shape))
        return space

    def wall(self, run: PlanRun, storey: Any) -> tuple[Any, list[Any], list[Any]]:
        """Add a run as a wall, its faces as coverings of it, its openings and what fills them."""
        import shapely

        place = self.placement(storey.ObjectPlacement)
        face, thickness = run.faces[0], run.run.thickness or NOMINAL_THICKNESS
        holes = voids(face)
        whole = shapely.union_all([face.elevation.net, *holes])
        body = [self.faces(*mesh, closed=True) for mesh in wall_bodies(run, face, whole, thickness)]
        parts = [self.representation(self.axis, "Axis", "Curve2D", [self.curve(run, face.path)])]
        parts += [self.representation(self.body, "Body", "Tessellation", body)] if body else []
        wall = self.rooted(
            "IfcWall",
            f"wall/{run.run.id}",
            Name=line_of(run.run.id),
            Description=None if run.run.thickness else f"Thickness not known: the body is {thickness:g} m thick",
            ObjectPlacement=place,
            PredefinedType="NOTDEFINED",
            Representation=self.make("IfcProductDefinitionShape", Representations=parts),
        )
        self.quantities(wall, f"wall/{run.run.id}", "Qto_WallBaseQuantities", _of_wall(run, face))
        coverings = [self.covering(run, one, place) for one in run.faces]
        self.relate("IfcRelCoversBldgElements", run.run.id, RelatingBuildingElement=wall, RelatedCoverings=coverings)
        fillings = []
        for number, (opening, hole) in enumerate(zip(face.elevation.openings, holes, strict=True)):
            if hole.is_empty or not body:
                continue
            key = f"opening/{run.run.id}/{number}"
            sizes = (opening.source.width, opening.source.height)
            void = self.opening(run, face, hole, place, key, thickness)
            self.relate("IfcRelVoidsElement", key, RelatingBuildingElement=wall, RelatedOpeningElement=void)
            self.quantities(void, key, "Qto_OpeningElementBaseQuantities", _of_opening(sizes, hole.area, run))
            if named := _FILLINGS.get(opening.source.kind):
                filling = self.filling(run, face, hole, place, key, named, sizes, opening.source.mark)
                self.relate("IfcRelFillsElement", key, RelatingOpeningElement=void, RelatedBuildingElement=filling)
                fillings.append(filling)
        return wall, coverings, fillings

    def opening(self, run: PlanRun, face: MeasuredFace, hole: Any, place: Any, key: str, thickness: float) -> Any:
        """Add what is cut out of a wall, a little deeper than the wall on both sides."""
        cut = wall_prisms(run, face, hole, thickness + 2 * FILLING, start=-FILLING)
        return self.rooted(
            "IfcOpeningElement",
            key,
            ObjectPlacement=place,
            PredefinedType="OPENING",
            Representation=self.shape(self.body, "Body", "SweptSolid", [self.solid(prism) for prism in cut]),
        )

    def filling(
        self, run: PlanRun, face: MeasuredFace, hole: Any, place: Any, key: str, named: tuple[str, str],
        sizes: tuple[float, float], mark: str,
    ) -> Any:  # fmt: skip
        """Add the door or window in an opening."""
        kind, predefined = named
        thickness = run.run.thickness or NOMINAL_THICKNESS
        leaf = wall_prisms(run, face, hole, min(FILLING, thickness), start=max(0.0, thickness - FILLING) / 2)
        filling = self.rooted(
            kind,
            f"{key}/filling",
            Name=line_of(mark) or None,
            ObjectPlacement=place,
            OverallWidth=sizes[0],
            OverallHeight=sizes[1],
            PredefinedType=predefined,
            Representation=self.shape(self.body, "Body", "SweptSolid", [self.solid(prism) for prism in leaf]),
        )
        lengths = [("Length", "Width", sizes[0]), ("Length", "Height", sizes[1]), ("Area", "Area", hole.area)]
        self.quantities(filling, f"{key}/filling", f"Qto_{kind[3:]}BaseQuantities", lengths)
        return filling

    def covering(self, run: PlanRun, face: MeasuredFace, place: Any) -> Any:
        """Add a face as a covering, with its material and quantities."""
        key = f"covering/{face.elevation.key}"
        items = [t for t in [self.surface(run, face)] if t is not None]
        covering = self.rooted(
            "IfcCovering",
            key,
            Name=line_of(f"{run.run.id}, {face.elevation.face} face"),
            Description=_of_one(run.room),
            ObjectType=line_of(run.system) or None,
            ObjectPlacement=place,
            PredefinedType="CLADDING",
            Representation=self.shape(self.body, "Body", "Tessellation", items) if items else None,
        )
        if run.system:
            substrate = run.run.substrate or (run.room.substrate if run.room else None) or ""
            self.coverings.setdefault((run.system, substrate), []).append(covering)
        q = face.once
        areas = [("Area", "GrossArea", q.gross_area), ("Area", "NetArea", q.net_area)]
        self.quantities(covering, key, "Qto_CoveringBaseQuantities", areas)
        self.quantities(covering, key, OWN_SET, _own(q))
        return covering

    def give_materials(self, layers: Layers) -> None:
        """Give the coverings of each system its layers; one of which no film is known has its name alone."""
        for (system, substrate), coverings in self.coverings.items():
            name = f"{system} on {substrate}" if substrate else system
            films = [
                self.make(
                    "IfcMaterialLayer",
                    Material=self.make("IfcMaterial", Name=line_of(product), Category="wall coating"),
                    LayerThickness=thickness,
                    Name=line_of(step),
                )
                for step, product, thickness in layers.get((system, substrate), ())
            ]
            material = (
                self.make("IfcMaterialLayerSet", MaterialLayers=films, LayerSetName=line_of(name))
                if films
                else self.make("IfcMaterial", Name=line_of(system), Category="wall coating")
            )
            self.relate("IfcRelAssociatesMaterial", name, RelatedObjects=coverings, RelatingMaterial=material)


def _of_one(room: Room | None) -> str | None:
    """Say of a room that is built several times that the model and its quantities are of one."""
    return f"Built {room.count} times: quantities are of one" if room is not None and room.count > 1 else None


def _of_wall(run: PlanRun, face: MeasuredFace) -> list[tuple[str, str, float]]:
    """Give what Qto_WallBaseQuantities has a place for; what rests on a thickness that is not known is left out."""
    q, thickness = face.once, run.run.thickness
    heights = {h for _, h in face.elevation.profile}
    return [
        ("Length", "Length", q.length),
        *([("Length", "Height", heights.pop() - face.elevation.base)] if len(heights) == 1 else []),
        ("Area", "GrossSideArea", q.gross_area),
        ("Area", "NetSideArea", q.net_area),
        *([("Length", "Width", thickness), ("Volume", "NetVolume", q.net_area * thickness)] if thickness else []),
    ]


def _of_opening(sizes: tuple[float, float], area: float, run: PlanRun) -> list[tuple[str, str, float]]:
    depth = [("Length", "Depth", run.run.thickness)] if run.run.thickness else []
    return [("Length", "Width", sizes[0]), ("Length", "Height", sizes[1]), *depth, ("Area", "Area", area)]


def _of_space(shape: RoomShape) -> list[tuple[str, str, float]]:
    return [
        ("Length", "Height", shape.height),
        ("Length", "GrossPerimeter", shape.floor.exterior.length),
        ("Area", "NetFloorArea", shape.floor.area),
        ("Volume", "NetVolume", shape.floor.area * shape.height),
    ]


def _own(q: Quantities) -> list[tuple[str, str, float]]:
    return [(name.split("_")[-1].title(), name.title().replace("_", ""), getattr(q, name)) for name in OWN]
