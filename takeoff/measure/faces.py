"""Measure runs face by face."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

import shapely

from takeoff.errors import GeometryError
from takeoff.geometry.intervals import total
from takeoff.geometry.paths import Path
from takeoff.limits import no_sweeps
from takeoff.measure.develop import ARC_SAG, NO_ENDS, Face, FaceEnds, develop
from takeoff.measure.elevation import edge_lengths, elevations, shared_section
from takeoff.measure.joins import EndJoin, end_section, find_joins
from takeoff.measure.kept import Kept
from takeoff.measure.mitres import find_mitres
from takeoff.measure.returns import cove_bands, cove_figures, opening_returns, ruled_openings
from takeoff.measure.rules import EXACT_NET, RULES, MeasureSettings, Rule, RuledFace, rule_named
from takeoff.measure.uncertainty import Spread, face_spread
from takeoff.model.figures import Corner, Elevation, Quantities, ReturnStrip
from takeoff.model.plan import Calibration
from takeoff.model.walls import Room, Run

_Row = tuple[Run, Room | None, Calibration, FaceEnds]
"""What the faces of a run are developed from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredFace:
    """One face of a run, measured: elevation, quantities, share of uncertainty, what is doubtful, and its true line.

    ``path`` is that of ``elevation.line`` with arcs as arcs, in building metres, y down. Quantities and uncertainty are
    those of all copies of its room; ``once`` are the quantities of one.
    """

    elevation: Elevation
    quantities: Quantities
    spread: Spread
    path: Path
    doubts: tuple[str, ...] = ()

    @property
    def once(self) -> Quantities:
        """Quantities of the face as it is traced."""
        return self.quantities * (1.0 / self.elevation.times)


@no_sweeps()
def measure_faces(
    runs: Sequence[Run],
    rooms: Mapping[str, Room],
    calibrations: Mapping[str, Calibration],
    *,
    settings: MeasureSettings,
    kept: Kept | None = None,
    refused: dict[str, GeometryError] | None = None,
) -> tuple[MeasuredFace, ...]:
    """Measure every coated face of runs.

    Parameters
    ----------
    runs
        Runs in any order; joins between them are found.
    refused
        Takes in, by run id, why a run cannot be developed; the others are measured without it.
    """
    rule_named(settings.rule)
    kept = kept or Kept()
    kept.measure_with(settings)
    faces: list[Face] = []
    for run, made in zip(runs, _developed(runs, rooms, calibrations, settings, kept), strict=True):
        if not isinstance(made, GeometryError):
            faces.extend(made)
        elif refused is None:
            raise made
        else:
            refused[run.id] = made
    scales = [calibrations[f.run.id] for f in faces]
    starts, finishes = find_joins(faces, scales, corner_threshold=settings.corner_threshold, kept=kept)
    rows = list(zip(faces, scales, starts, finishes, strict=True))
    keys = [(f.run.id, f.side) for f in faces]
    return tuple(kept.memo("faces").renew(keys, rows, lambda new: _measure([rows[i] for i in new], settings)))


def areas_by_rule(
    runs: Sequence[Run],
    rooms: Mapping[str, Room],
    calibrations: Mapping[str, Calibration],
    *,
    settings: MeasureSettings,
) -> dict[str, float]:
    """Area in m² of runs under every measuring rule, by its name; they are developed once."""
    faces: list[Face] = []
    for made in _developed(runs, rooms, calibrations, settings, Kept()):
        if isinstance(made, GeometryError):
            raise made
        faces.extend(made)
    walls, nets = elevations(faces)
    gross, net = shapely.area(walls).tolist(), shapely.area(nets).tolist()
    backs = [_backs(opening_returns(face, n)) for face, n in zip(faces, nets, strict=True)]
    rows = list(zip(faces, walls, gross, net, backs, strict=True))
    return {rule.name: sum(_ruled_area(rule, *row) for row in rows) for rule in RULES.values()}


def _developed(
    runs: Sequence[Run],
    rooms: Mapping[str, Room],
    calibrations: Mapping[str, Calibration],
    settings: MeasureSettings,
    kept: Kept,
) -> list[tuple[Face, ...] | GeometryError]:
    """Faces of each run, or why it cannot be developed; thick walls that meet end where their faces do."""
    rows = [(run, rooms.get(run.room or ""), calibrations[run.id], NO_ENDS) for run in runs]

    def develop_rows(name: str, rows: Sequence[_Row]) -> list[tuple[Face, ...] | GeometryError]:
        def make(row: _Row) -> tuple[Face, ...] | GeometryError:
            try:
                return develop(*row[:3], corner_threshold=settings.corner_threshold, ends=row[3])
            except GeometryError as error:
                return error

        return kept.memo(name).renew([row[0].id for row in rows], rows, lambda new: [make(rows[i]) for i in new])

    out = develop_rows("developed", rows)
    able = [run for run, made in zip(runs, out, strict=True) if run.thickness and not isinstance(made, GeometryError)]
    mitres = find_mitres(able, calibrations)
    met = [i for i, run in enumerate(runs) if run.id in mitres] if mitres else []
    mitred = develop_rows("mitred", [(*rows[i][:3], mitres[runs[i].id]) for i in met])
    for i, made in zip(met, mitred, strict=True):
        out[i] = made
    return out


def _measure(
    rows: Sequence[tuple[Face, Calibration, EndJoin | None, EndJoin | None]], settings: MeasureSettings
) -> list[MeasuredFace]:
    """Measure developed faces whose joins are known; polygons are built and measured for all of them at once."""
    faces = [row[0] for row in rows]
    rule = rule_named(settings.rule)
    walls, nets = elevations(faces)
    gross, net, perimeter = (a.tolist() for a in (shapely.area(walls), shapely.area(nets), shapely.length(nets)))
    lengths = {k: v.tolist() for k, v in edge_lengths(faces, nets).items()}
    bands = cove_bands(faces, nets)
    out = []
    for i, (face, scale, *met) in enumerate(rows):
        joins = [join for join in met if join is not None]
        edges = {k: v[i] for k, v in lengths.items()}
        reveals = opening_returns(face, nets[i])
        corners = _corners(face, joins)
        returns = (*chain.from_iterable(reveals), *_coated_ends(face, edges))
        quantities = _quantities(
            face,
            gross=gross[i],
            net=net[i],
            measured=_ruled_area(rule, face, walls[i], gross[i], net[i], _backs(reveals)),
            perimeter=perimeter[i],
            edges=edges,
            joins=joins,
            corners=corners,
            returns=returns,
            cove_band=bands[i],
        )
        out.append(
            MeasuredFace(
                elevation=Elevation(
                    run=face.run.id,
                    face=face.side,
                    room=face.room,
                    system=face.system,
                    length=face.length,
                    is_closed=face.run.closed,
                    top=face.run.top,
                    base=face.run.base,
                    wall=walls[i],
                    net=nets[i],
                    profile=face.profile,
                    openings=face.openings,
                    corners=corners,
                    line=tuple(face.path.flattened(ARC_SAG)),
                    returns=returns,
                    times=face.times,
                ),
                quantities=quantities * face.times,
                spread=face_spread(face, scale, quantities, height_u=settings.height_u) * face.times,
                path=face.path,
                doubts=face.doubts,
            )
        )
    return out


def _backs(reveals: Sequence[Sequence[ReturnStrip]]) -> list[float]:
    return [sum(strip.area for strip in strips) for strips in reveals]


def _ruled_area(
    rule: Rule, face: Face, wall: shapely.Geometry, gross: float, net: float, backs: Sequence[float]
) -> float:
    openings = () if rule.name == EXACT_NET else ruled_openings(face, wall, backs, joins_touching=rule.joins_touching)
    return rule.measured_area(RuledFace(gross=gross, net=net, openings=openings))


def _corners(face: Face, joins: Sequence[EndJoin]) -> tuple[Corner, ...]:
    corners = []
    for i, turn in enumerate(face.turns):
        if turn and (length := total(shared_section(face, i))) > 0:
            corners.append(Corner(station=face.stations[i], turn=turn, length=length, vertex=i))
    for end in (0, 1):
        if not face.run.closed and face.run.ends[end] == "return" and _caps(face):
            length = total(end_section(face, end))
            station, vertex = (0.0, 0) if end == 0 else (face.length, len(face.turns) - 1)
            corners.extend(
                Corner(station=station, turn=-math.pi / 2, length=length, vertex=vertex)
                for _ in range(2 if face.run.face == "both" else 1)
            )
    for j in joins:
        if j.turn:
            station, vertex = (0.0, 0) if j.end == 0 else (face.length, len(face.turns) - 1)
            corners.append(Corner(station=station, turn=j.turn, length=j.length, vertex=vertex, joined=j.other))
    return tuple(sorted(corners, key=lambda c: c.station))


def _caps(face: Face) -> bool:
    """Tell whether this face carries the coated ends: of two faces only the left one does."""
    return face.run.face != "both" or face.side == "left"


def _coated_ends(face: Face, edges: Mapping[str, float]) -> list[ReturnStrip]:
    """Coated ends and top of the wall itself, each as long as the edge that it turns from."""
    run = face.run
    out = []
    for end, name in ((0, "start"), (1, "finish")):
        if not run.closed and run.ends[end] == "return" and _caps(face):
            low = min((low for low, _ in end_section(face, end)), default=run.base)
            out.append(ReturnStrip(edge="end", length=edges[name], depth=run.thickness, low=low))
    if run.top == "return":
        # with both faces coated each has half of the top
        depth = run.thickness / 2.0 if run.face == "both" else run.thickness
        out.append(ReturnStrip(edge="top", length=edges["top"], depth=depth, low=min(h for _, h in face.profile)))
    return out


def _return_edges(run: Run, strips: Sequence[ReturnStrip]) -> float:
    """Edges of coated ends and tops at which the coating stops in the open, in m.

    The top of a coated end stops where the wall's top does; ends of a coated top stop at the wall's free ends. With
    one face coated, a coated top stops at its far arris. (That of a coated end counts with the ends.)
    """
    ends = [s for s in strips if s.edge == "end"]
    tops = [s for s in strips if s.edge == "top"]
    found = sum(s.depth for s in ends) if run.top == "exposed" else 0.0
    if run.face != "both":
        found += sum(s.length for s in tops)
    if not run.closed:
        found += sum(s.depth for s in tops) * run.ends.count("free")
    return found


def _held(face: Face, edges: Mapping[str, float], joined: Mapping[int, float]) -> float:
    """Length of the ends that go on in another run, abut, or go on round the end of the wall, in m."""
    run = face.run
    held = 0.0
    for end, name in ((0, "start"), (1, "finish")):
        if not run.closed and run.ends[end] == "return":
            # with one face coated the coat stops at the far arris, which is as long as this one
            held += edges[name] if run.face == "both" else 0.0
        elif run.closed or run.ends[end] == "abut":
            held += edges[name]
        else:
            held += min(joined.get(end, 0.0), edges[name])
    return held


def _quantities(
    face: Face,
    *,
    gross: float,
    net: float,
    measured: float,
    perimeter: float,
    edges: Mapping[str, float],
    joins: Sequence[EndJoin],
    corners: Sequence[Corner],
    returns: Sequence[ReturnStrip],
    cove_band: float,
) -> Quantities:
    run = face.run
    held = _held(face, edges, {j.end: j.length for j in joins})
    inside = [c for c in corners if c.is_inside]
    outside = [c for c in corners if not c.is_inside]
    lows = {j.end: j.low for j in joins}
    cove = cove_figures(face, band=cove_band, base_length=edges["base"], returns=returns, corners=corners, lows=lows)
    return Quantities(
        length=face.length,
        gross_area=gross,
        net_area=net,
        deducted_area=gross - net,
        return_area=sum(strip.area for strip in returns),
        measured_area=measured,
        base_length=edges["base"],
        top_length=edges["top"],
        top_exposed_length=edges["top"] if run.top == "exposed" else 0.0,
        return_edge_length=_return_edges(run, returns),
        end_length=edges["start"] + edges["finish"] - held,
        joined_length=held,
        jamb_length=edges["jamb"],
        head_length=edges["head"],
        sill_length=edges["sill"],
        perimeter=perimeter,
        inside_corners=float(len(inside)),
        outside_corners=float(len(outside)),
        inside_corner_length=sum(c.length for c in inside),
        outside_corner_length=sum(c.length for c in outside),
        openings=float(sum(o.count for o in run.openings)) if _caps(face) else 0.0,
        **cove,
    )
