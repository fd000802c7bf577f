"""Working time on the calendar: shifts on working days, and the clock time between them.

Work is counted in slots of working time from the first shift on, waits in slots of clock time. A slot is some minutes;
what is not a whole number of them is rounded up.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

import numpy as np

from takeoff.errors import InputError

MOST_DAYS = 1_000_000
"""Most working days that are laid out: dates end soon after, and memory. No source."""

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def day_words(day: date) -> str:
    """Write a day, the same in every locale.

    Examples
    --------
    >>> day_words(date(2026, 3, 2))
    'Mon 2026-03-02'
    """
    return f"{DAYS[day.weekday()]} {day:%Y-%m-%d}"


def moment_words(moment: datetime) -> str:
    """Write a day and a time of day.

    Examples
    --------
    >>> moment_words(datetime(2026, 3, 2, 7, 0))
    'Mon 2026-03-02 07:00'
    """
    return f"{day_words(moment)} {moment:%H:%M}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Calendar:
    """When crews work: from ``start`` on ``workdays`` (0 is Monday) except ``holidays``, one shift a day.

    ``shift_start`` is the hour of the day and ``shift_hours`` what is worked, breaks left out. A shift of 24 h on all
    seven days never pauses.

    Examples
    --------
    >>> Calendar(start=date(2026, 1, 3)).working_days(2)
    (datetime.date(2026, 1, 5), datetime.date(2026, 1, 6))
    """

    start: date
    shift_start: float = 7.0
    shift_hours: float = 8.0
    workdays: tuple[int, ...] = (0, 1, 2, 3, 4)
    holidays: tuple[date, ...] = ()

    def working_days(self, count: int) -> tuple[date, ...]:
        """Return the first working days."""
        week = [day in self.workdays for day in range(7)]
        days = np.busday_offset(
            np.datetime64(self.start), np.arange(count), "forward", weekmask=week, holidays=list(self.holidays)
        )
        return tuple(days.tolist())


@dataclass(frozen=True, slots=True)
class Grid:
    """Slots of working time laid on the clock.

    ``day_starts`` are the clock slots, counted from midnight of the start date, at which each shift begins.
    """

    calendar: Calendar
    minutes: int
    shift: int
    day_starts: tuple[int, ...] = field(repr=False)

    @property
    def never_pauses(self) -> bool:
        """True where working time is clock time."""
        return self.day_starts[-1] - self.day_starts[0] == self.shift * (len(self.day_starts) - 1)

    def begin(self, slot: int) -> int:
        """Return the clock slot at which a slot of working time begins."""
        return self.day_starts[slot // self.shift] + slot % self.shift

    def end(self, slot: int) -> int:
        """Return the clock slot at which work ends that takes every slot before this one."""
        return self.begin(slot - 1) + 1 if slot > 0 else self.day_starts[0]

    def first_at(self, clock: int) -> int:
        """Return the first slot of working time that begins at a clock slot or later."""
        day = bisect_right(self.day_starts, clock) - 1
        if day >= 0 and clock - self.day_starts[day] < self.shift:
            return day * self.shift + clock - self.day_starts[day]
        return bisect_left(self.day_starts, clock) * self.shift

    def last_by(self, clock: int) -> int:
        """Return the last slot of working time before which all work can end by a clock slot; below zero for none."""
        day = bisect_left(self.day_starts, clock) - 1
        if day < 0:
            return 0 if clock == self.day_starts[0] else -1
        return day * self.shift + min(self.shift, clock - self.day_starts[day])

    def slots(self, hours: float) -> int:
        """Return hours in whole slots, rounded up."""
        return math.ceil(hours * 60.0 / self.minutes - 1e-6)

    def hours(self, slots: float) -> float:
        """Return slots in hours."""
        return slots * self.minutes / 60.0

    def moment(self, clock: int) -> datetime:
        """Return the date and time of a clock slot."""
        return datetime.combine(self.calendar.start, time()) + timedelta(minutes=clock * self.minutes)

    def clock_of(self, moment: datetime, *, is_late: bool) -> int:
        """Return the clock slot of a date and time, rounded up where ``is_late``."""
        passed = (moment - datetime.combine(self.calendar.start, time())) / timedelta(minutes=self.minutes)
        return math.ceil(passed - 1e-6) if is_late else math.floor(passed + 1e-6)


def lay_grid(calendar: Calendar, *, minutes: int, slots: int) -> Grid:
    """Lay so many slots of working time on the clock, and one shift more.

    ``minutes`` of a slot divide an hour. Raises `InputError` beyond `MOST_DAYS`.
    """
    shift = math.floor(calendar.shift_hours * 60.0 / minutes + 1e-6)
    if slots // shift > MOST_DAYS:
        raise InputError(
            f"{slots // shift:,} days of work and waiting",
            remedy="Check the labour of the systems and the hours between their coats.",
        )
    days = calendar.working_days(slots // shift + 2)
    first = math.ceil(calendar.shift_start * 60.0 / minutes - 1e-6)
    starts = tuple((day - calendar.start).days * (24 * 60 // minutes) + first for day in days)
    return Grid(calendar, minutes, shift, starts)
