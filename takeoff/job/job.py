"""The job value: everything that is known of one bid, as one frozen value."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Literal

from takeoff.errors import CalibrationError, InputError, TakeoffError
from takeoff.model.drafting import DraftingStyle
from takeoff.model.open_points import Basis, Settled
from takeoff.model.plan import Calibration, ScaleRegion, Sheet, Source
from takeoff.model.site import PackUse, Reading, SiteTerms
from takeoff.model.systems import Product, Rates, System
from takeoff.model.walls import Room, Run
from takeoff.units import Display


@dataclass(frozen=True, slots=True, kw_only=True)
class JobSettings:
    """Name, units in which lengths are read and shown, and what measuring and pricing depend on.

    ``precision`` is the fraction of an inch shown, ``corner_threshold`` radians, ``height_u`` the standard uncertainty
    of a height in metres. ``rates`` left ``None`` are the catalogue's. ``catalogue_notes`` are the sentences of the
    catalogue that was taken into the job, ``None`` where none was. ``site`` is how the site is worked, which days are
    planned and prices made by; ``None`` where nobody said it: then prices are made by hours alone. ``finish_codes`` are
    codes of finish schedules with the systems that they stand for, as a person named them. ``basis`` says of the units
    how they were told, where no person gave them.
    """

    name: str
    units: Literal["imperial", "metric"] = "imperial"
    precision: int = 16
    currency: str = "USD"
    rule: str = "exact-net"
    corner_threshold: float = math.radians(10.0)
    height_u: float = 0.01
    rates: Rates | None = None
    catalogue_notes: tuple[str, ...] | None = None
    site: SiteTerms | None = None
    finish_codes: tuple[tuple[str, str], ...] = ()
    basis: tuple[Basis, ...] = ()

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise InputError("the job has no name", remedy="Give it one.")

    @property
    def display(self) -> Display:
        """How figures are shown."""
        return Display(system=self.units, precision=self.precision, currency=self.currency)


def _empty() -> Mapping[Any, Any]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One bid. Mappings are by id and never changed in place; plan bytes live in the store, by SHA-256.

    ``styles`` are the drafting styles that were shown, by name, the last one shown last. ``settled`` are
    the open points that a person confirmed which are in no single value, by their keys.
    """

    settings: JobSettings
    sources: Mapping[str, Source] = field(default_factory=_empty)
    sheets: Mapping[int, Sheet] = field(default_factory=_empty)
    regions: Mapping[str, ScaleRegion] = field(default_factory=_empty)
    calibrations: Mapping[str, Calibration] = field(default_factory=_empty)
    rooms: Mapping[str, Room] = field(default_factory=_empty)
    runs: Mapping[str, Run] = field(default_factory=_empty)
    systems: Mapping[str, System] = field(default_factory=_empty)
    products: Mapping[str, Product] = field(default_factory=_empty)
    uses: Mapping[str, PackUse] = field(default_factory=_empty)
    readings: Mapping[str, Reading] = field(default_factory=_empty)
    styles: Mapping[str, DraftingStyle] = field(default_factory=_empty)
    settled: Mapping[str, Settled] = field(default_factory=_empty)

    def calibration_for(self, run: Run) -> Calibration:
        """Return the calibration that a run is measured with."""
        return self.calibration_of(run.sheet, self.region_for(run))

    def scale_for(self, run: Run) -> Calibration | None:
        """Return the calibration that a run is measured with; ``None`` where `calibration_for` would refuse."""
        try:
            return self.calibration_for(run)
        except TakeoffError:
            return None

    def region_for(self, run: Run) -> str | None:
        """Return the id of the scale region that holds all of a run; ``None`` where it lies outside all of them."""
        regions = [r for r in self.regions.values() if r.sheet == run.sheet]
        if not regions:
            return None
        import shapely

        line = shapely.LineString(run.path_pt.flattened(0.5))
        inside: str | None = None
        for region in regions:
            outline = shapely.Polygon(region.outline_pt)
            if shapely.covers(outline, line):
                inside = region.id
            elif shapely.length(shapely.intersection(outline, line)) > 0:
                raise CalibrationError(
                    f'it crosses the edge of the scale region "{region.id}"',
                    remedy="Split the wall there, or move the region's outline.",
                    where=f"wall {run.id}",
                )
        return inside

    def calibration_of(self, sheet: int, region: str | None = None) -> Calibration:
        """Return the calibration of a sheet or of one of its scale regions.

        Raises `CalibrationError` if it has no scale yet; the message names the command that sets it.
        """
        key = calibration_key(sheet, region)
        if key not in self.calibrations:
            named = self.sheets[sheet].called if sheet in self.sheets else f"sheet {sheet}"
            place = named + (f', scale region "{region}"' if region else "")
            raise CalibrationError(
                f"{place} has no scale",
                remedy=f"Set it: takeoff scale JOB {sheet} --points X1,Y1 X2,Y2 --length 12'-6\" "
                f"(or --read, --note, --ratio 1:50).",
            )
        return self.calibrations[key]


def calibration_key(sheet: int, region: str | None = None) -> str:
    """Key of a calibration in a job.

    Examples
    --------
    >>> calibration_key(1), calibration_key(2, "detail")
    ('1', '2/detail')
    """
    return f"{sheet}/{region}" if region else str(sheet)
