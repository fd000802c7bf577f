"""Runs as a DXF drawing in building metres or feet, arcs as true arcs, on layers of the US National CAD Standard.

Layers: discipline A, then the standard's major and minor groups where it has them (A-DOOR, A-GLAZ, A-ANNO-TEXT,
A-ANNO-SYMB). Own minor groups, which the standard leaves to users: A-WALL-COAT-SYnn for the coated faces of the n-th
system (its name is the layer's description), A-WALL-OPNG for openings that are neither doors nor glazing.
"""

from __future__ import annotations

import io
import json
from collections.abc import Sequence
from typing import Any

from takeoff.exchange.edits_file import entry_text
from takeoff.exchange.plan_lines import PlanRun, cut_path, to_building
from takeoff.exchange.printable import one_line
from takeoff.geometry.arcs import Point
from takeoff.geometry.paths import Path
from takeoff.measure.faces import MeasuredFace
from takeoff.units import FOOT, Display

RECORD = "TAKEOFF_RUN"
"""Name of the record in a polyline's extension dictionary that holds the run for `dxf_reader`."""
CHUNK = 240
"""Characters of one string in a record; DXF allows 255."""
OPENING_LAYERS = {"door": "A-DOOR", "window": "A-GLAZ"}
GAP = 0.1
"""Space between drawings side by side, of the width of the one before."""


def write_dxf(runs: Sequence[PlanRun], display: Display, *, title: str) -> bytes:
    """Write runs as a DXF drawing (release AC1024, 2010), in feet where ``display`` is imperial, else in metres.

    Sheets and scale regions lie side by side, each with its lower left corner as displayed on the x axis. Faces of
    constant height have it as thickness and stand on their base.
    """
    import ezdxf
    from ezdxf import units

    document = ezdxf.new("R2010", setup=False)
    is_feet = display.system == "imperial"
    document.units = units.FT if is_feet else units.M
    document.header["$MEASUREMENT"] = 0 if is_feet else 1
    document.header["$PROJECTNAME"] = plain_text(title)
    drawing = _Drawing(document, display, sorted({r.system for r in runs}))
    left = 0.0
    for group in _groups(runs):
        sheet, scale = group[0].sheet, group[0].scale
        drawing.start = (left, 0.0)
        for run in group:
            drawing.run(run)
        width = (sheet.width_pt if sheet.rotation % 180 == 0 else sheet.height_pt) * scale.mx
        left += width * (1.0 + GAP)
    out = io.StringIO()
    document.write(out)
    return out.getvalue().encode("utf-8", "replace")


def plain_text(text: str) -> str:
    r"""Make a text one line, since a line break would end a DXF value, and take control codes for signs out.

    Examples
    --------
    >>> plain_text("Wash\n  0\nLINE %%u")
    'Wash 0 LINE % %u'
    """
    return one_line(text).replace("%%", "% %")


def _groups(runs: Sequence[PlanRun]) -> list[list[PlanRun]]:
    groups: dict[tuple[int, str], list[PlanRun]] = {}
    for run in runs:
        groups.setdefault((run.sheet.id, run.scale.region or ""), []).append(run)
    return [groups[key] for key in sorted(groups)]


class _Drawing:
    """The model space of a drawing; ``start`` is where the sheet's lower left corner goes, in metres."""

    def __init__(self, document: Any, display: Display, systems: Sequence[str]) -> None:
        self.document = document
        self.space = document.modelspace()
        self.unit = FOOT if display.system == "imperial" else 1.0
        self.display = display
        self.systems = list(systems)
        self.start: Point = (0.0, 0.0)
        for i, system in enumerate(systems, start=1):
            layer = document.layers.add(f"A-WALL-COAT-SY{i:02d}", color=1 + (i - 1) % 6)
            layer.description = plain_text(system) or "no system"
        for name, colour in (
            ("A-DOOR", 30), ("A-GLAZ", 140), ("A-WALL-OPNG", 40), ("A-ANNO-TEXT", 7), ("A-ANNO-SYMB", 8),
        ):  # fmt: skip
            document.layers.add(name, color=colour)

    def place(self, run: PlanRun, point: Point) -> Point:
        """Turn metres of the sheet into units of the drawing."""
        x, y = to_building(run.sheet, run.scale, point)
        return ((x + self.start[0]) / self.unit, (y + self.start[1]) / self.unit)

    def line(self, run: PlanRun, path: Path, layer: str, **attributes: Any) -> Any:
        """Draw a chain as one polyline; bulges are those of DXF already."""
        bulges = (*path.bulges, 0.0)
        points = [(*self.place(run, p), b) for p, b in zip(path.points, bulges, strict=False)]
        return self.space.add_lwpolyline(
            points, format="xyb", close=path.is_closed, dxfattribs={"layer": layer, **attributes}
        )

    def run(self, run: PlanRun) -> None:
        """Draw the faces of a run, its openings, corners and name."""
        layer = f"A-WALL-COAT-SY{self.systems.index(run.system) + 1:02d}"
        for i, face in enumerate(run.faces):
            heights = {h for _, h in face.elevation.profile}
            solid = {}
            if len(heights) == 1:
                base = run.run.base
                solid = {"elevation": base / self.unit, "thickness": (heights.pop() - base) / self.unit}
            drawn = self.line(run, face.path, layer, **solid)
            self.record(drawn, run, face, is_first=i == 0)
            for opening in face.elevation.openings:
                name = OPENING_LAYERS.get(opening.source.kind, "A-WALL-OPNG")
                low = {"elevation": opening.z0 / self.unit, "thickness": (opening.z1 - opening.z0) / self.unit}
                cut = self.line(run, cut_path(face.path, opening.x0, opening.x1), name, **low)
                self.record(cut, run, face, is_first=False)
            for corner in face.elevation.corners:
                at = self.place(run, face.path.points[corner.vertex % len(face.path.points)])
                self.text("I" if corner.is_inside else "O", at, "A-ANNO-SYMB", 0.15)
        first = run.faces[0]
        a, b = first.path.points[:2]
        self.text(
            f"{run.name}: net {self.display.area(sum(f.quantities.net_area for f in run.faces))}",
            self.place(run, ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)),
            "A-ANNO-TEXT",
            0.2,
        )

    def text(self, text: str, at: Point, layer: str, height: float) -> None:
        """Write a line of text; its height is in metres."""
        from ezdxf.enums import TextEntityAlignment

        size = height / self.unit
        entity = self.space.add_text(plain_text(text), height=size, dxfattribs={"layer": layer})
        entity.set_placement(at, align=TextEntityAlignment.MIDDLE_CENTER)

    def record(self, drawn: Any, run: PlanRun, face: MeasuredFace, *, is_first: bool) -> None:
        """Keep the run with the first of its faces, and with the others which run they belong to."""
        content = {
            "run": run.run.id,
            "side": face.elevation.face,
            "start": self.start,
            "scale": (run.scale.mx, run.scale.my),
            "shape": [(x, y, b) for x, y, b in drawn.get_points("xyb")],
            "entry": json.loads(entry_text(run.run, run.room)) if is_first else None,
        }
        text = json.dumps(content, separators=(",", ":"))  # ASCII, so no character can end a line
        chunks = [text[i : i + CHUNK] for i in range(0, len(text), CHUNK)]
        drawn.new_extension_dict().add_xrecord(RECORD).reset([(1, chunk) for chunk in chunks])
