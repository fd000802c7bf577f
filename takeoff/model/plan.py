"""Sheets, calibrations and scale regions.

Sheet points (suffix ``_pt``) are 1/72 inch on the page as it would be printed (a PDF's UserUnit is already applied),
in the unrotated page, measured from the top left corner of its visible (cropped) box, x to the right and y down.
A raster has the same frame, made from its dots per inch.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from takeoff.errors import CalibrationError
from takeoff.model.open_points import Basis, basis_of

Point = tuple[float, float]
SheetKind = Literal["vector", "scan", "image"]
ScaleSource = Literal["dimensions", "ratio", "note", "embedded"]

EDGE_PT = 1.0
"""Points by which something picked or traced may lie off its sheet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A plan file that was taken into the job: its name, and the SHA-256 of its bytes in hex."""

    sha256: str
    name: str
    size: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something that a reader found on a sheet and that is in no value of the job: each is an open point.

    ``about`` is a "room" that was found and not taken, which is settled once a wall goes round ``at_pt``, or that none
    was found; a "mark" of a schedule that fits nothing; the "file" as it was read; a "draft" that could not read it;
    a line of a "finish" schedule that no room took; a "stamp", such as PRELIMINARY; what is "written" and was not
    compared with the older revision; a note on the "extent" of wall coatings, one that leaves rooms out of the
    "scope", or one on how many "times" a plan is built; what an addendum "said" in words. ``text`` is a clause;
    ``length`` metres of wall; ``name`` the room's number and name as printed, its number alone for a line of a
    schedule.
    """

    about: Literal["room", "mark", "file", "draft", "finish", "stamp", "written", "extent", "scope", "times", "said"]
    text: str
    at_pt: Point | None = None
    length: float = 0.0
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One page of a plan file, as the register lists it.

    ``id`` counts from 1 in the register; ``page`` counts from 1 in the file. ``rotation`` is clockwise degrees from the
    unrotated page to the page as displayed. ``dpi`` is set for images and for scans. ``paths`` is the number of vector
    paths found, ``None`` for images. ``findings`` are what readers found on it and nothing took.
    ``replaced_by`` is the id of the sheet that was taken in as its newer revision.
    """

    id: int
    source: str
    page: int
    width_pt: float
    height_pt: float
    rotation: int = 0
    kind: SheetKind = "vector"
    dpi: float | None = None
    paths: int | None = None
    number: str = ""
    title: str = ""
    scale_note: str = ""
    revision: str = ""
    date: str = ""
    findings: tuple[Finding, ...] = ()
    replaced_by: int | None = None

    @property
    def called(self) -> str:
        """What people call it: by its number, else by its place in the register."""
        return f"sheet {self.number or self.id}"

    def holds(self, pt: Point) -> bool:
        """Return whether a sheet point lies on the sheet, or no more than `EDGE_PT` beside it."""
        x, y = pt
        return -EDGE_PT <= x <= self.width_pt + EDGE_PT and -EDGE_PT <= y <= self.height_pt + EDGE_PT


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownDimension:
    """Two picked points and the true length between them in metres."""

    start_pt: Point
    end_pt: Point
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleRegion:
    """A polygon on a sheet that holds a detail at a scale of its own."""

    id: str
    sheet: int
    outline_pt: tuple[Point, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """Metres per sheet point along the unrotated page's x and y, with the standard uncertainty of the scale.

    ``u_scale`` is relative (0.002 is 0.2 %) and is shared by every length measured with this calibration.
    ``pick`` is the standard uncertainty of one picked coordinate in points.
    ``residuals`` are fitted minus stated lengths in metres, one per dimension. ``region`` is ``None`` for the sheet.
    ``doubts`` are sentences about what does not agree, each an open point of its own. ``basis`` says of "mx" how it was
    got, ``low`` and ``high`` in metres per point along x (the ratio of both directions is kept); a scale without one is
    a person's.
    """

    sheet: int
    region: str | None = None
    mx: float
    my: float
    u_scale: float = 0.0
    pick: float = 0.5
    source: ScaleSource = "dimensions"
    stated: str = ""
    dimensions: tuple[KnownDimension, ...] = ()
    residuals: tuple[float, ...] = ()
    doubts: tuple[str, ...] = ()
    basis: tuple[Basis, ...] = ()

    def __post_init__(self) -> None:
        for name in ("mx", "my"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0):
                raise CalibrationError(
                    f"{name} is {value!r} metres per point; it must be a positive number",
                    remedy="Calibrate the sheet again with a dimension that is longer than zero.",
                )

    @property
    def origin(self) -> str:
        """What the scale was got from, in words that follow "from"."""
        return {"embedded": "the file", "ratio": "a ratio", "note": "the note"}.get(self.source, self.source)

    @property
    def anisotropy(self) -> float:
        """Relative difference of the scale along y to that along x, (my − mx) / mx."""
        return self.my / self.mx - 1.0

    @property
    def ratio(self) -> float:
        """The N of 1:N, from the geometric mean of both directions."""
        return math.sqrt(self.mx * self.my) * 72.0 / 0.0254

    @property
    def open_words(self) -> tuple[str, ...]:
        """Everything about it that nobody has confirmed, a sentence each: its doubts, and why its basis is open."""
        basis = basis_of(self, "mx")
        return (*self.doubts, *([basis.unsure] if basis is not None and basis.is_open and basis.unsure else []))

    @property
    def join_tolerance(self) -> float:
        """Distance in metres within which two picked ends are one: 4 × pick (k = 2 on their difference)."""
        return 4.0 * self.pick * math.sqrt(self.mx * self.my)

    def to_metres(self, point_pt: Point) -> Point:
        """Turn a sheet point into building metres, still y down."""
        return (point_pt[0] * self.mx, point_pt[1] * self.my)
