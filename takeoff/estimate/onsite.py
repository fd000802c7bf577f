"""On site: packs used against what is done with them. Film laid, percent complete, packs to open, the recoat clock.

Films in metres, areas m², volumes litres, times hours.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from takeoff.errors import InputError
from takeoff.model.systems import Unit
from takeoff.system.words import METRIC_FIRST, BasisKind, Words
from takeoff.units import Display

FilmVerdict = Literal["not started", "within", "thin", "thick"]
ClockState = Literal["wait", "open", "missed", "wet"]


def counted_words(value: float, counted: BasisKind, show: Display | Words) -> str:
    """Write m², m or a count."""
    if counted == "area":
        return show.area(value)
    return show.length(value) if counted == "length" else f"{value:g}"


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatTarget:
    """What a coat should be: the area to do, the wet film, the loss and the litres that one pack holds.

    Mat, mortar, flake and the like are counted the same way: ``area`` is then in m², m or pieces as ``counted`` says,
    packs hold ``unit``, and ``wet_film`` is a thousandth of what one m², m or piece takes of it. ``tolerance`` is the
    fraction by which the average may be off before it is flagged.
    """

    step: str
    name: str
    area: float
    wet_film: float
    pack_size: float
    loss: float = 0.0
    tolerance: float = 0.10
    unit: Unit = "L"
    counted: BasisKind = "area"

    def amount(self, value: float, show: Display) -> str:
        """Write how much is done, or to do."""
        return counted_words(value, self.counted, show)

    def laid(self, film: float | None, show: Display) -> str:
        """Write a film, or what is taken for each m², m or piece; nothing where nothing is laid."""
        if film is None:
            return ""
        if self.is_film:
            return show.film(film)
        return Words(first=show.system).short_rate(film * 1000.0, self.unit, self.counted)

    @property
    def is_film(self) -> bool:
        """True where what is laid is a film."""
        return self.unit == "L" and self.counted == "area"

    def __post_init__(self) -> None:
        if self.area <= 0.0 or self.wet_film <= 0.0 or self.pack_size <= 0.0:
            raise InputError(f"{self.name}: area, wet film and pack must be above zero", where=f"step {self.step}")
        if not 0.0 <= self.loss < 1.0:
            raise InputError(f"{self.name}: a loss of {self.loss:g}", remedy="Give 0 up to below 1.")


Used = tuple[float, float]
"""What was used of a coat: packs opened less what is left in them, and what was done with them in m², m or pieces."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatState:
    """Where a coat stands.

    ``film`` is the average wet film on the wall, loss taken off, and None before anything is done; ``ratio`` is it over
    the specified film. ``packs_to_finish`` are whole packs for the rest at the film laid so far, ``packs_specified`` at
    the specified film, which both are at until use is recorded. ``complete`` is 1 at the most; where more is recorded
    as done than there is, the words say so.
    """

    area_done: float
    complete: float
    used: float
    film: float | None
    ratio: float | None
    verdict: FilmVerdict
    packs_to_finish: int
    packs_specified: int
    words: str


def coat_state(target: CoatTarget, records: Sequence[Used], *, words: Words = METRIC_FIRST) -> CoatState:
    """Work out where a coat stands from what was used for what was done.

    Film = litres used × (1 − loss) / area done. ``records``: each day's or each room's use; they add up. Raises
    `InputError` when a record is below zero, or material is used and no area done.

    Examples
    --------
    200 µm specified at no loss: 10 packs of 4 L on 200 m² laid 200 µm, half of 400 m² is done, 10 packs to go:

    >>> target = CoatTarget(step="glaze", name="Glaze", area=400.0, wet_film=200e-6, pack_size=4.0)
    >>> state = coat_state(target, [(10.0, 200.0)])
    >>> round(state.film * 1e6), state.complete, state.verdict, state.packs_to_finish
    (200, 0.5, 'within', 10)
    """
    packs, area = _added_up(target, records)
    used = packs * target.pack_size
    rest = max(0.0, target.area - area)
    specified = rest * target.wet_film * 1000.0 / (1.0 - target.loss)
    at_film = rest * used / area if used > 0.0 else specified
    film = used * (1.0 - target.loss) / area / 1000.0 if area > 0.0 else None
    ratio = film / target.wet_film if film is not None else None
    verdict: FilmVerdict = "not started"
    if ratio is not None:
        verdict = "within"
        if abs(ratio - 1.0) > target.tolerance + 1e-9:
            verdict = "thin" if ratio < 1.0 else "thick"
    return CoatState(
        area_done=area,
        complete=min(1.0, area / target.area),
        used=used,
        film=film,
        ratio=ratio,
        verdict=verdict,
        packs_to_finish=_packs(at_film, target.pack_size),
        packs_specified=_packs(specified, target.pack_size),
        words=f"{target.name}: {_said(target, area, used, film, verdict, words)}",
    )


def _added_up(target: CoatTarget, records: Sequence[Used]) -> tuple[float, float]:
    for packs, area in records:
        if not (packs >= 0.0 and area >= 0.0):
            raise InputError(f"{target.name}: {packs:g} packs on {area:g} m²", remedy="Give no less than 0.")
    packs, area = (math.fsum(record[i] for record in records) for i in (0, 1))
    if packs > 0.0 and area <= 0.0:
        raise InputError(f"{target.name}: {packs:g} packs are used and no area is done", remedy="Record the area.")
    return packs, area


def _said(target: CoatTarget, area: float, used: float, film: float | None, verdict: FilmVerdict, words: Words) -> str:

    def amount(value: float) -> str:
        return counted_words(value, target.counted, words)

    def taken(film: float) -> str:
        return words.film(film) if target.is_film else words.rate(film * 1000.0, target.unit, target.counted)

    said = "not started"
    if film is not None:
        off = film / target.wet_film - 1.0
        much = verdict if target.is_film else {"thin": "little", "thick": "much"}.get(verdict, "")
        side = "tolerance" if verdict == "within" else f"tolerance of {target.tolerance * 100:g} %: too {much}"
        said = (
            f"{taken(film)} laid for {taken(target.wet_film)} specified, {off * 100:+.0f} %,"
            f" {'within' if verdict == 'within' else 'outside the'} {side}"
        )
        if used <= 0.0:
            said = f"nothing used is recorded for {amount(area)} that are done"
    if is_over(target.area, area):
        said += f"; {amount(area)} are recorded as done and there are {amount(target.area)}: correct a record"
    return said


ROUNDED = 0.006
"""m², m or pieces that a shown figure may be above the true one: half of 0.1 sf or of 0.01 m² or m, a little more."""


def is_over(whole: float, done: float, records: int = 1) -> bool:
    """Tell whether more is done than there is; each record may have been rounded as figures are shown."""
    return done > whole * (1.0 + 1e-6) + ROUNDED * max(1, records)


@dataclass(frozen=True, slots=True, kw_only=True)
class RecoatClock:
    """Where a surface stands between coats, since when and until when.

    ``state`` is "wait", "open" or "missed"; or "wet", where what comes next goes in now, wet into wet.
    """

    state: ClockState
    opens: datetime
    closes: datetime | None
    words: str


def recoat_clock(ended: datetime, now: datetime, *, min_recoat: float, max_recoat: float | None = None) -> RecoatClock:
    """Read the recoat clock of a surface.

    ``min_recoat`` and ``max_recoat``: least and most hours to the next coat, at the temperature on site
    (`takeoff.estimate.climate.scale_time`). Raises `InputError` when the coat ends after now, or the most is under the
    least.

    Examples
    --------
    >>> ended = datetime(2026, 3, 2, 15, 0)
    >>> recoat_clock(ended, datetime(2026, 3, 3, 7, 0), min_recoat=12.0, max_recoat=48.0).words
    'open until 2026-03-04 15:00'
    """
    if now < ended:
        raise InputError("the coat is finished later than now", remedy="Correct the time.")
    if max_recoat is not None and max_recoat < min_recoat:
        raise InputError(
            f"a recoat window from {min_recoat:g} to {max_recoat:g} h", remedy="The most must not be under the least."
        )
    opens = ended + timedelta(hours=min_recoat)
    closes = None if max_recoat is None else ended + timedelta(hours=max_recoat)
    state: ClockState = "open"
    words = "open" if closes is None else f"open until {closes:%Y-%m-%d %H:%M}"
    if now < opens:
        state, words = "wait", f"wait until {opens:%Y-%m-%d %H:%M}"
    elif closes is not None and now > closes:
        state, words = "missed", f"missed since {closes:%Y-%m-%d %H:%M}: abrade before the next coat"
    return RecoatClock(state=state, opens=opens, closes=closes, words=words)


def wet_clock(ended: datetime, now: datetime, *, pot_life: float, into: str) -> RecoatClock | None:
    """Say that what comes next goes in now, wet into wet, up to the pot life in hours; None when that is over.

    Examples
    --------
    >>> ended = datetime(2026, 3, 2, 15, 0)
    >>> wet_clock(ended, datetime(2026, 3, 2, 15, 10), pot_life=0.5, into="Glass mat").words
    'now, wet into wet, until 15:30: Glass mat'
    """
    closes = ended + timedelta(hours=pot_life)
    if not ended <= now <= closes:
        return None
    words = f"now, wet into wet, until {closes:%H:%M}: {into}"
    return RecoatClock(state="wet", opens=ended, closes=closes, words=words)


def _packs(litres: float, size: float) -> int:
    return math.ceil(litres / size * (1.0 - 1e-9))
