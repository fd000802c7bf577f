"""What is planned into days: steps by room with the waits between them, and the plan.

Hours are clock hours for waits, and for work the hours that the crews it takes are at it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

WHOLE_JOB = "Whole job"
"""What set-up and clean-up have for a room."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Follow:
    """Comes after the work ``work``: at least ``wait`` hours after its end and at most ``within`` hours.

    Where ``within`` is missed, ``abrade_hours`` of abrading by the same crews come first.
    """

    work: str
    wait: float = 0.0
    within: float | None = None
    abrade_hours: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """One step in one room; ``step`` names several with + between, where they are worked together.

    ``hours`` is how long it takes the ``crews`` that it needs at once. Work pauses between shifts unless
    ``is_whole``. ``mixes`` are the hours and the pot life in hours of what is mixed in it: no batch is left over a
    pause, and the plan says how many are mixed. ``part`` says which coat or part of a step it is, if there are more.
    """

    id: str
    room: str
    step: str
    name: str
    hours: float
    crews: int = 1
    follows: tuple[Follow, ...] = ()
    is_whole: bool = False
    mixes: tuple[tuple[float, float], ...] = ()
    part: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomTerms:
    """When a room can be entered, what it cures after its last step in hours, and when it must be in service."""

    room: str
    open_from: datetime | None = None
    cure: float = 0.0
    ready_by: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedWork:
    """Work with its time: start and end, its bars shift by shift, who does it, and why it starts no earlier.

    ``kind`` is "abrade" for the abrading that a missed recoat window costs. ``batches`` is 0 where nothing is mixed.
    """

    work: str
    room: str
    step: str
    name: str
    kind: Literal["work", "abrade"]
    start: datetime
    end: datetime
    bars: tuple[tuple[datetime, datetime], ...]
    crews: tuple[str, ...]
    reason: str
    batches: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomReady:
    """When the last step of a room is done, and when it is cured for service."""

    room: str
    done: datetime
    ready: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class DayPlan:
    """Steps by room over shifts.

    ``hours`` is the working time from the first shift to the end of the last work, ``bound`` what no plan can be
    shorter than. ``abraded`` counts recoat windows that are missed. ``asked_hours`` are the hours of all crews at work
    as given, set-up and clean-up with them, ``abrading_hours`` those of crews that abrade. All are rounded to
    hundredths. ``dates`` are the working days.
    """

    works: tuple[PlannedWork, ...]
    rooms: tuple[RoomReady, ...]
    finish: datetime | None
    days: int
    hours: float
    bound: float
    abraded: int
    asked_hours: float = 0.0
    abrading_hours: float = 0.0
    notes: tuple[str, ...] = ()
    dates: tuple[date, ...] = ()

    @property
    def days_on_site(self) -> int:
        """Days on which anybody is at work."""
        return len({begin.date() for work in self.works for begin, _ in work.bars})

    @property
    def is_proven(self) -> bool:
        """True where no plan can be shorter."""
        return self.hours <= self.bound + 1e-9
