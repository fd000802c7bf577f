"""How long it takes to abrade a surface whose recoat window was missed: by its area, at the rate of the catalogue."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from takeoff.model.costs import LabourLine
from takeoff.model.systems import Catalogue, Surface, System
from takeoff.system.bases import basis_kind
from takeoff.system.surfaces import covers, surface_of

ABRADE_RATE = 11.15
"""m² that one person abrades in an hour where no step of the catalogue says it; 120 sf: common practice, no source."""

COVE_GIRTH = 0.2
"""m² of cove a metre where only its length is known: height and toe of 4 in, common practice, no source."""

EDGE_WIDTH = 0.05
"""m² of edge a metre: a band of 2 in, common practice, no source."""


def surface_areas(lines: Sequence[LabourLine], catalogue: Catalogue) -> dict[Surface, float]:
    """Return the area in m² of each surface that the lines of one system in one room cover.

    The largest area that a step covers it by; where it is covered by length only, that length times its width.
    """
    areas: dict[Surface, float] = {}
    lengths: dict[Surface, float] = {}
    for line in lines:
        step = next(step for step in catalogue.system(line.system).steps if step.id == line.step)
        if covers(step):
            surface, kind = surface_of(step), basis_kind(step.basis)
            into = areas if kind == "area" else lengths
            if kind in ("area", "length"):
                into[surface] = max(into.get(surface, 0.0), line.basis_value)
    width: dict[Surface, float] = {"wall": 1.0, "cove": COVE_GIRTH, "edge": EDGE_WIDTH}
    return {**{surface: length * width[surface] for surface, length in lengths.items()}, **areas}


def abrading_hours(areas: Mapping[Surface, float], catalogue: Catalogue, system: System) -> dict[Surface, float]:
    """Return the man-hours that abrading each of these areas takes once."""
    return {surface: area / abrading_rate(surface, catalogue, system) for surface, area in areas.items()}


def abrading_rate(surface: Surface, catalogue: Catalogue, system: System) -> float:
    """Return m² abraded in a man-hour: by the system's own step that abrades the surface, or another's, or as usual."""
    for one in (system, *catalogue.systems):
        for step in one.steps:
            rate = step.labour.rate if step.labour is not None else None
            if surface in step.abrades and rate is not None and basis_kind(step.basis) == "area":
                return rate
    return ABRADE_RATE
