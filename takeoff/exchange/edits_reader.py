"""Entries of an edits file turned into rooms and runs; a refusal names the JSON path of the fault."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from typing import Any, TypeVar

from msgspec import UNSET, UnsetType

from takeoff.errors import EditError, TakeoffError
from takeoff.exchange.edits_entries import (
    CoveEntry,
    HeightText,
    Length,
    LengthUnit,
    OpeningEntry,
    RoomEntry,
    RunEntry,
    kept,
)
from takeoff.job.changes import fitting
from takeoff.job.job import Job, calibration_key
from takeoff.model.walls import Cove, HeightProfile, Opening, Room, Run, check_opening_height
from takeoff.units import FOOT, UnitSystem, format_length, parse_height, parse_length

Sized = TypeVar("Sized", Cove, Opening, Run)

MOST_POINTS = 5_000
"""Points of one run; the longest wall traced on a real sheet has under 200."""
LONGEST_ID = 200
"""Characters of an id; those of other programs have 36 at most (RFC 9562)."""


class EditsReader:
    """Reads the entries of a file for a job.

    Parameters
    ----------
    units
        How the job shows lengths once the file is applied.
    length_unit
        The unit of bare numbers; where there is none they are metres, and refused in a job that shows feet.
    """

    def __init__(
        self, job: Job, known_systems: frozenset[str], *, units: UnitSystem, length_unit: LengthUnit | None
    ) -> None:
        self.job = job
        self.known_systems = known_systems | frozenset(job.systems)
        self.units = units
        self.length_unit = length_unit

    def length(self, value: Length, path: str, read: Callable[..., float] = parse_length) -> float:
        """Read a length in metres; nought is nought in every unit."""
        if not isinstance(value, str):
            if self.length_unit == "ft":
                return value * FOOT
            if self.length_unit is None and self.units == "imperial" and value != 0.0:
                raise _two_readings(value, path)
            return float(value)
        try:
            return read(value, system=self.units)
        except TakeoffError as error:
            raise EditError(error.message, remedy=error.remedy, where=path) from error

    def height(self, value: HeightText | None, path: str) -> HeightProfile | None:
        """Read a height: one for the whole line, or pairs of station and height."""
        if value is None:
            return None
        if isinstance(value, list):
            pairs = tuple(
                (self.length(s, f"{path}[{i}][0]"), self.length(h, f"{path}[{i}][1]", parse_height))
                for i, (s, h) in enumerate(value)
            )
            return fitting(path, lambda: HeightProfile(points=pairs))
        top = self.length(value, path, parse_height)
        return fitting(path, lambda: HeightProfile.constant(top))

    def cove(self, entry: CoveEntry | None, path: str) -> Cove | None:
        """Read a cove."""
        if entry is None:
            return None
        sizes = {f: self.length(getattr(entry, f), f"{path}.{f}") for f in entry.__struct_fields__}
        return _set_in_turn(_PLAIN_COVE, path, sizes)

    def system(self, id: str | None, path: str) -> str | None:
        """Read the id of a system that there is."""
        if id is not None and id not in self.known_systems:
            known = ", ".join(sorted(self.known_systems))
            raise EditError(f'there is no system "{id}"', where=path, remedy=f"Known systems: {known}.")
        return id

    def room(self, entry: RoomEntry, path: str) -> Room:
        """Read a room; what its entry leaves out stays as the job has it."""
        _check_id(entry.id, path, "room")
        room = self.job.rooms.get(entry.id, Room(id=entry.id))
        plain = ("name", "number", "colour", "substrate", "count")
        room = replace(room, **{f: kept(getattr(entry, f), getattr(room, f), getattr(_PLAIN_ROOM, f)) for f in plain})
        if entry.height is not UNSET:
            room = replace(room, height=self.height(entry.height, f"{path}.height"))
        if entry.system is not UNSET:
            room = replace(room, system=self.system(entry.system, f"{path}.system"))
        if entry.cove is not UNSET:
            room = replace(room, cove=self.cove(entry.cove, f"{path}.cove"))
        return room

    def opening(self, entry: OpeningEntry, path: str) -> Opening:
        """Read an opening."""
        tall = {f: self.length(getattr(entry, f), f"{path}.{f}", parse_height) for f in ("width", "height")}
        sizes = tall | {f: self.length(getattr(entry, f), f"{path}.{f}") for f in ("at", "sill", "reveal")}
        spacing = None if entry.spacing is None else self.length(entry.spacing, f"{path}.spacing")
        outline = None
        if entry.outline is not None:
            outline = tuple(
                (self.length(u, f"{path}.outline[{i}][0]"), self.length(v, f"{path}.outline[{i}][1]"))
                for i, (u, v) in enumerate(entry.outline)
            )
        plain = replace(_PLAIN_OPENING, kind=entry.kind, coated=tuple(dict.fromkeys(entry.coated)), mark=entry.mark)
        return _set_in_turn(plain, path, {**sizes, "count": entry.count, "spacing": spacing, "outline": outline})

    def run(self, entry: RunEntry, path: str, rooms: Mapping[str, Room]) -> Run:
        """Read a run, which must stand on its sheet with all its openings; what is left out stays as it is."""
        _check_id(entry.id, path, "run")
        old = self.job.runs.get(entry.id)
        self._check_place(entry, path, rooms, is_new=old is None)
        line = self._line(entry, path, old)
        run = _set_in_turn(line, path, self._details(entry, path, line if old is None else old))
        _check_line(run, path)
        room = rooms.get(run.room or "")
        for i, opening in enumerate(run.openings):
            top = run.height or (room.height if room else None)
            fitting(f"{path}.openings[{i}].height", partial(check_opening_height, opening, top))
        self._check_on_wall(run, path, room)
        return run

    def _check_place(self, entry: RunEntry, path: str, rooms: Mapping[str, Room], *, is_new: bool) -> None:
        """Refuse a new run without sheet or points, and references to nothing."""
        for key in ("sheet", "points"):
            if is_new and getattr(entry, key) is UNSET:
                raise EditError(
                    f'the key "{key}" is missing', where=path, remedy="A run that is new needs its sheet and points."
                )
        if not isinstance(entry.sheet, UnsetType) and entry.sheet not in self.job.sheets:
            known = ", ".join(str(s) for s in self.job.sheets) or "none"
            raise EditError(f"there is no sheet {entry.sheet}", where=f"{path}.sheet", remedy=f"Sheets: {known}.")
        if entry.room and entry.room not in rooms:
            known = ", ".join(rooms) or "none"
            raise EditError(f'there is no room "{entry.room}"', where=f"{path}.room", remedy=f"Rooms: {known}.")

    def _line(self, entry: RunEntry, path: str, old: Run | None) -> Run:
        """Read where a run is and what is on it, its bulges still to come."""
        points = tuple(kept(entry.points, list(old.points_pt) if old else [], []))
        if len(points) > MOST_POINTS:
            raise EditError(
                f"a wall of {len(points):,} points",
                where=f"{path}.points",
                remedy=f"Give at most {MOST_POINTS:,}, or part it.",
            )
        bulges = kept(entry.bulges, list(old.bulges) if old else [], [])
        sheet = self.job.sheets[kept(entry.sheet, old.sheet if old else 0, 0)]
        for i, (x, y) in enumerate(points):
            if not sheet.holds((x, y)):
                raise EditError(
                    f"({x:g}, {y:g}) lies off the sheet of {sheet.width_pt:g} × {sheet.height_pt:g} points",
                    where=f"{path}.points[{i}]",
                    remedy="Points are 1/72 inch from the unrotated page's top left corner, y down.",
                )
        closed = kept(entry.closed, old.closed if old else False, False)
        place = {"sheet": sheet.id, "points_pt": points, "closed": closed}
        place["bulges"] = (1.0,) * len(points) if any(bulges) else ()
        blank: Callable[..., Run] = partial(Run, id=entry.id) if old is None else partial(replace, old)
        line = fitting(f"{path}.points", lambda: blank(**place))
        return _set_in_turn(line, path, {"bulges": tuple(bulges)})

    def _details(self, entry: RunEntry, path: str, old: Run) -> dict[str, Any]:
        """Read what else a run has, in the order in which faults are looked for."""
        sizes = ("thickness", "base")
        details: dict[str, Any] = {
            name: self._size(getattr(entry, name), getattr(old, name), f"{path}.{name}")
            if name in sizes
            else kept(getattr(entry, name), getattr(old, name), blank)
            for name, blank in _BLANKS.items()
        }
        if not isinstance(entry.height, UnsetType):
            details["height"] = self.height(entry.height, f"{path}.height")
        if not isinstance(entry.system, UnsetType):
            details["system"] = self.system(entry.system, f"{path}.system")
        if not isinstance(entry.cove, UnsetType):
            own = entry.cove if isinstance(entry.cove, CoveEntry) else None
            details |= {"cove": self.cove(own, f"{path}.cove"), "no_cove": entry.cove is None}
        if not isinstance(entry.openings, UnsetType):
            openings = [self.opening(o, f"{path}.openings[{i}]") for i, o in enumerate(entry.openings or [])]
            details["openings"] = tuple(_with_basis(opening, old.openings) for opening in openings)
        return details

    def _size(self, given: Length | UnsetType | None, old: float, path: str) -> float:
        if isinstance(given, UnsetType):
            return old
        return 0.0 if given is None else self.length(given, path)

    def _check_on_wall(self, run: Run, path: str, room: Room | None) -> None:
        """Develop the run where its sheet has a scale, so that openings off it are refused here and not later."""
        from takeoff.measure.develop import develop, traced_path

        region = fitting(f"{path}.points", partial(self.job.region_for, run))
        if run.height is None and (room is None or room.height is None):
            raise EditError(
                "the wall has no height, and its room has none",
                where=f"{path}.height",
                remedy="Give one of them a height.",
            )
        scale = self.job.calibrations.get(calibration_key(run.sheet, region))
        if scale is None:
            return
        developed = partial(develop, room=room, scale=scale, corner_threshold=self.job.settings.corner_threshold)
        try:
            developed(run)
        except TakeoffError as error:
            fitting(path, partial(developed, replace(run, openings=())))
            length = traced_path(run, scale).stations()[-1]
            for i, opening in enumerate(run.openings):
                field = "width" if opening.width > length else "at"
                fitting(f"{path}.openings[{i}].{field}", partial(developed, replace(run, openings=(opening,))))
            raise EditError(error.message, remedy=error.remedy, where=path) from error


_PLAIN_ROOM = Room(id="")
_BLANKS: dict[str, Any] = {
    "room": None, "thickness": 0.0, "face": "left", "line": "face", "ends": ("free", "free"), "top": "ceiling",
    "base": 0.0, "colour": "", "substrate": None,
}  # fmt: skip
"""What null makes of the keys of a run, in the order in which faults are looked for."""
_PLAIN_COVE = Cove(height=2.0, toe=2.0, radius=0.0, thickness=0.0)
_PLAIN_OPENING = Opening(at=0.0, width=1.0, height=1.0)


def _two_readings(value: float, path: str) -> EditError:
    """Refuse a bare number that could be feet or metres, with both written out."""
    feet, metres = (format_length(size) for size in (value * FOOT, value))
    return EditError(
        f"{value:g} has no unit: it could be {feet} or {value:g} m, which is {metres}",
        where=path,
        remedy=f'Write it as a text such as "{value:g} ft" or "{value:g} m", or say of the whole file "length_unit": '
        '"ft" or "m". Nothing was applied.',
    )


def _with_basis(opening: Opening, old: tuple[Opening, ...]) -> Opening:
    """Keep where the values of an opening at the same place came from; of changed ones the basis is void by itself."""
    return next((replace(opening, basis=other.basis) for other in old if other.at == opening.at), opening)


def _set_in_turn(value: Sized, path: str, fields: Mapping[str, Any]) -> Sized:
    """Set fields one after another, so that the path of a refusal ends in the field at fault."""
    for name, content in fields.items():
        value = fitting(f"{path}.{name}", partial(replace, value, **{name: content}))
    return value


def _check_line(run: Run, path: str) -> None:
    """Refuse lines that cross themselves: which side is coated would change on the way."""
    import shapely

    points = run.path_pt.flattened(0.05)
    if run.closed and (len(points) < 4 or shapely.Polygon(points).area <= 1e-9):
        raise EditError("the closed wall has no area", where=f"{path}.points", remedy="Check the order of its points.")
    if not shapely.LineString(points).is_simple:
        raise EditError(
            "the wall crosses or touches itself", where=f"{path}.points", remedy="Check the order of its points."
        )


def _check_id(id: str, path: str, noun: str) -> None:
    found = "the id is empty" if not id else f"an id of {len(id):,} characters" if len(id) > LONGEST_ID else ""
    if "\0" in id:
        found = "the id holds a zero character, at which other programs end it"
    if found:
        raise EditError(found, where=f"{path}.id", remedy=f"Give each {noun} a short id of its own.")
