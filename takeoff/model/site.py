"""The site: how it is worked and when, and what is recorded there of packs, air and wall; kept with the job."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from takeoff.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class PackUse:
    """Work on a step: packs opened less what is left in them, what was done, and the hours it took.

    ``step`` is a step of ``system`` and ``pack`` the name of a pack of its product, empty where it takes none. ``area``
    is what was done in m², m or pieces as ``counted`` says, a second coat counted again. ``hours`` are man-hours, of
    ``person`` where one is named. ``when`` is when it was finished, ISO 8601.
    """

    id: str
    system: str
    step: str
    pack: str
    packs: float
    area: float
    room: str | None = None
    when: str = ""
    note: str = ""
    hours: float = 0.0
    person: str = ""
    counted: Literal["area", "length", "volume", "count"] = "area"

    def __post_init__(self) -> None:
        for name, value in (("packs", self.packs), ("of area", self.area), ("hours", self.hours)):
            if not (math.isfinite(value) and value >= 0.0):
                raise InputError(f"{value:g} {name}", remedy="Give no less than 0.")
        if self.when:
            read_moment(self.when)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """Air and surface in °C and relative humidity as a fraction, read at a place and a time.

    ``moisture`` of the wall is a fraction of its mass; None where it was not read.
    """

    id: str
    air: float
    surface: float
    humidity: float
    room: str | None = None
    when: str = ""
    note: str = ""
    moisture: float | None = None

    def __post_init__(self) -> None:
        if self.when:
            read_moment(self.when)
        if self.moisture is not None and not 0.0 <= self.moisture < 1.0:
            raise InputError(f"a moisture of {self.moisture * 100:g} %", remedy="Give 0 up to below 100 %.")
        if not all(math.isfinite(value) for value in (self.air, self.surface, self.humidity)):
            raise InputError("a reading is no number", remedy="Read again.")
        if not 0.0 < self.humidity <= 1.0:
            raise InputError(
                f"a relative humidity of {self.humidity * 100:g} %", remedy="Give a humidity above 0 and up to 100 %."
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class HandOver:
    """A room and the day from which it can be worked in, ISO 8601."""

    room: str
    day: str

    def __post_init__(self) -> None:
        read_day(self.day)


_LIMITS: tuple[tuple[str, str, float, float], ...] = (
    ("crews", "{:g} crews", 1, 1000),
    ("travel_hours", "a travel time of {:g} h", 0, 1000),
    ("travel_km", "a distance of {:g} km", 0, 100_000),
    ("share_area", "{:g} m² for each crew", 0.01, 1e9),
    ("shift_hours", "a shift of {:g} hours", 1, 24),
    ("cure_hours", "a cure of {:g} h", 0, 8760),
    ("temperature", "a temperature of {:g} °C on site", -45, 60),
    ("effort", "an effort of {:g}", 0, 10_000),
)
"""Terms in words, and between what they lie: beyond it is a slip, or work for the program without an end."""


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
                read_day(day)
        for name, words, least, most in _LIMITS:
            if (value := getattr(self, name)) is not None and not least <= value <= most:
                raise InputError(words.format(value), remedy=f"Give {least:g} to {most:g}.")
        for name, part in (("humidity", self.humidity), ("moisture", self.moisture)):
            if part is not None and not 0.0 <= part <= 1.0:
                raise InputError(f"a {name} of {part * 100:g} %", remedy="Give 0 to 100 %.")
        if not 0.0 <= self.shift_start < 24.0:
            raise InputError(f"a shift from {self.shift_start:g} o'clock", remedy="Give a start within the day.")

    @property
    def is_dated(self) -> bool:
        """True where they hold a day that a plan is laid from."""
        return bool(self.start or self.handed_over)

    @property
    def workdays(self) -> tuple[int, ...]:
        """Weekdays that are worked, 0 for Monday."""
        return (0, 1, 2, 3, 4, 5) if self.has_saturdays else (0, 1, 2, 3, 4)


def read_day(text: str) -> date:
    """Read a day such as 2026-03-02.

    Examples
    --------
    >>> read_day("2026-03-02")
    datetime.date(2026, 3, 2)
    """
    try:
        day = date.fromisoformat(text.strip())
    except ValueError as error:
        raise InputError(f'"{text.strip()}" is not a date', remedy="Write year, month and day: 2026-03-02.") from error
    _check_year(day)
    return day


def read_moment(text: str) -> datetime:
    """Read a time such as 2026-03-02T07:00 by the clock on the wall where this runs, which it is of without a zone.

    Examples
    --------
    >>> read_moment("2026-03-02T07:00").hour
    7
    """
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise InputError(f'"{text}" is not a time', remedy="Write 2026-03-02T07:00.") from error
    _check_year(moment)
    return moment.astimezone()


def day_of(text: str) -> date:
    """Return the day of a time, as `read_moment` reads it."""
    return read_moment(text).date()


def _check_year(day: date) -> None:
    if not 2000 <= day.year <= 2200:
        raise InputError(f"no work is planned in the year {day.year}", remedy="Write a year from 2000 to 2200.")
