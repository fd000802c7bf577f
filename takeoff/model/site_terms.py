"""How the site is worked: when, by how many, when rooms are handed over, how far away it is; kept with the job."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

from takeoff.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class HandOver:
    """A room and the day from which it can be worked in, ISO 8601."""

    room: str
    day: str

    def __post_init__(self) -> None:
        _day(self.day)


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteTerms:
    """What days are planned by, and prices where ``is_priced_by`` says so.

    ``start`` is the first day, empty where nobody gave one; ``crews`` of the size in the rates. Times are hours, the
    temperature °C. ``shift_hours`` left None are the rates'; ``cure_hours`` None are those of each system.
    ``handed_over`` holds the day from which a room can be worked in; a room that is not in it is open from the start.
    ``travel_hours`` and ``travel_km`` are one way from the yard to the site; crews that ``stay`` travel once a phase.
    ``effort`` is how long to look for fewer days, the same for the price. ``humidity`` of the air and ``moisture`` of
    the wall are fractions that products are judged by, None where nobody gave them. Where ``share_area`` is given,
    crews work together on a step in a room that has so many m² of wall for each of them.
    """

    start: str = ""
    crews: int = 1
    shift_start: float = 7.0
    shift_hours: float | None = None
    has_saturdays: bool = False
    holidays: tuple[str, ...] = ()
    temperature: float | None = None
    cure_hours: float | None = None
    ready_by: str = ""
    handed_over: tuple[HandOver, ...] = ()
    travel_hours: float = 0.0
    travel_km: float = 0.0
    stay: bool = False
    effort: float = 0.0
    is_priced_by: bool = True
    humidity: float | None = None
    moisture: float | None = None
    share_area: float | None = None

    def __post_init__(self) -> None:
        for day in (self.start, *self.holidays, self.ready_by):
            if day:
                _day(day)
        if self.crews < 1:
            raise InputError(f"{self.crews} crews", remedy="Give one or more.")
        for name, value in (("travel time", self.travel_hours), ("distance", self.travel_km)):
            if not (math.isfinite(value) and value >= 0.0):
                raise InputError(f"a {name} of {value:g}", remedy="Give 0 or more.")
        for name, part in (("humidity", self.humidity), ("moisture", self.moisture)):
            if part is not None and not 0.0 <= part <= 1.0:
                raise InputError(f"a {name} of {part * 100:g} %", remedy="Give 0 to 100 %.")
        if not (0.0 <= self.shift_start < 24.0 and (self.shift_hours is None or 0.0 < self.shift_hours <= 24.0)):
            raise InputError(
                f"a shift from {self.shift_start:g} o'clock", remedy="Give a start within the day and hours up to 24."
            )
        if self.share_area is not None and not self.share_area > 0.0:
            raise InputError(f"{self.share_area:g} m² for each crew", remedy="Give an area above 0.")
        if self.cure_hours is not None and not self.cure_hours >= 0.0:
            raise InputError(f"a cure of {self.cure_hours:g} h", remedy="Give 0 or more.")

    @property
    def is_dated(self) -> bool:
        """True where they hold a day that a plan is laid from."""
        return bool(self.start or self.handed_over)

    @property
    def workdays(self) -> tuple[int, ...]:
        """Weekdays that are worked, 0 for Monday."""
        return (0, 1, 2, 3, 4, 5) if self.has_saturdays else (0, 1, 2, 3, 4)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise InputError(f'"{text}" is no day', remedy="Write a day as 2026-03-02.") from error
