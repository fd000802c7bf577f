"""May it be coated now: dew point, surface against dew point, humidity and temperature, and cure by temperature.

Temperatures in °C, humidity as a fraction, pressure in hPa, times in hours.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from takeoff.errors import InputError
from takeoff.model.systems import Product
from takeoff.units import UnitSystem

MAGNUS = (17.62, 243.12)
"""Saturation over water: e_s = 6.112 exp(17.62 t / (243.12 + t)) hPa, −45 to 60 °C.

WMO No. 8, Guide to Instruments and Methods of Observation, Annex 4.B.
"""

NO_DEW = -273.15
"""What stands for the dew point where no humidity is known: nothing is near it."""

ISO_MARGIN = 3.0
"""Kelvins that a surface must be above the dew point: the usual reading of ISO 8502-4."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What a coating may be applied in; the data sheet governs.

    ``margin`` is by how many kelvins the surface must be above the dew point; 5 °F, with the temperature rising, is
    MIL-HDBK-1110 section 9.6.6. Humidity at most 85 % is common; air and surface from 45 to 90 °F is its section 7.4.1
    for most paints. ``most_moisture`` of the wall is a fraction of its mass, None where nothing limits it.
    """

    margin: float = ISO_MARGIN
    most_humidity: float = 0.85
    least_temperature: float = (45.0 - 32.0) / 1.8
    most_temperature: float = (90.0 - 32.0) / 1.8
    most_moisture: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteReading:
    """What was read on site, or is reckoned with: air and surface in °C, relative humidity as a fraction.

    ``moisture`` of the wall is a fraction of its mass. What is None was not read, and nothing is judged by it.
    """

    air: float
    surface: float
    humidity: float | None
    moisture: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """Whether a reading allows coating, its dew point, how far the surface is above it, and what speaks against.

    ``against`` speaks against every product; ``products`` are those that may not be laid for a limit of their own,
    each with why, and ``allowed`` those that may. ``unsure`` says what was not read, or is limited by nothing of the
    product's own. It may be coated where nothing speaks against any product.
    """

    may_coat: bool
    dew_point: float
    above_dew_point: float
    against: tuple[str, ...]
    products: tuple[tuple[str, str], ...] = ()
    allowed: tuple[str, ...] = ()
    unsure: tuple[str, ...] = ()

    @property
    def lines(self) -> tuple[str, ...]:
        """Say it in sentences, the answer first."""
        said = "It may be coated." if self.may_coat else "It may not be coated now."
        if self.products and not self.against and self.allowed:
            said = f"Only these may be laid now: {'; '.join(self.allowed)}."
        by_why: dict[str, list[str]] = {}
        for name, why in self.products:
            by_why.setdefault(why, []).append(name)
        refused = (f"Not {'; '.join(names)}: {why}" for why, names in by_why.items())
        return (said, *self.against, *refused, *self.unsure)


def dew_point(air: float, humidity: float) -> float:
    """Return the dew point for ``air`` from −45 to 60 °C and a relative ``humidity`` above 0 and up to 1.

    Raises `InputError` when the temperature or the humidity is outside that.

    Examples
    --------
    >>> round(dew_point(20.0, 0.5), 4)
    9.2552
    """
    _check_temperature(air, "an air temperature")
    if not 0.0 < humidity <= 1.0:
        raise InputError(
            f"a relative humidity of {humidity * 100:g} %", remedy="Give a humidity above 0 and up to 100 %."
        )
    a, b = MAGNUS
    gamma = math.log(humidity) + a * air / (b + air)
    return b * gamma / (a - gamma)


def _check_temperature(celsius: float, what: str) -> None:
    if not -45.0 <= celsius <= 60.0:
        raise InputError(f"{what} of {celsius:g} °C", remedy="Give −45 to 60 °C.")


def degrees(celsius: float, units: UnitSystem) -> str:
    """Write a temperature in °F or °C.

    Examples
    --------
    >>> degrees(20.0, "imperial"), degrees(20.0, "metric")
    ('68.0 °F', '20.0 °C')
    """
    return f"{celsius * 1.8 + 32.0:.1f} °F" if units == "imperial" else f"{celsius:.1f} °C"


def degrees_apart(kelvin: float, units: UnitSystem) -> str:
    """Write a difference of temperatures in °F or K.

    Examples
    --------
    >>> degrees_apart(3.0, "imperial"), degrees_apart(3.0, "metric")
    ('5.4 °F', '3.0 K')
    """
    return f"{kelvin * 1.8:.1f} °F" if units == "imperial" else f"{kelvin:.1f} K"


def judge(reading: SiteReading, *, units: UnitSystem = "metric", products: Sequence[Product] = ()) -> Verdict:
    """Say whether a reading allows coating, and every limit that speaks against it, in words of these units.

    ``products`` are those to be laid: each is judged by limits of its own. Without a humidity the dew point is −273 °C.

    Examples
    --------
    >>> judge(SiteReading(air=16.0, surface=13.0, humidity=0.71)).against
    ('The surface at 13.0 °C is 2.3 K above the dew point of 10.7 °C, at least 3.0 K are needed.',)
    """
    dew = NO_DEW if reading.humidity is None else dew_point(reading.air, reading.humidity)
    said = [(product.name, _against(reading, limits_of(product), dew, units)) for product in products]
    rows = [row for _, row in said] or [_against(reading, Limits(), dew, units)]
    against = tuple(line for line in rows[0] if all(line in row for row in rows))
    own = [(name, [line for line in row if line not in against]) for name, row in said]
    return Verdict(
        may_coat=not any(rows),
        dew_point=dew,
        above_dew_point=reading.surface - dew,
        against=against,
        products=tuple((name, " ".join(row)) for name, row in own if row),
        allowed=tuple(name for name, row in said if not row),
        unsure=tuple(_unsure(reading, products)),
    )


def _unsure(reading: SiteReading, products: Sequence[Product]) -> Iterator[str]:
    if not products:
        yield "No system is known here: judged by the usual limits."
    if usual_only := [p.name for p in products if not limits_known(p)]:
        yield f"Judged by the usual limits, as the catalogue gives none: {'; '.join(usual_only)}."
    dry = [p.name for p in products if p.most_moisture is not None or p.substrate_moisture]
    if dry and reading.moisture is None:
        yield f"The moisture of the wall was not read, and these have a limit of it: {'; '.join(dry)}."
    for product in products:
        if product.substrate_moisture and product.most_moisture is None:
            yield f"Moisture of the wall under {product.name}: {product.substrate_moisture}"


def limits_known(product: Product) -> bool:
    """Tell whether a product says itself at which temperature and humidity it may be laid."""
    return None not in (product.least_temperature, product.most_temperature, product.most_humidity, product.dew_margin)


def limits_of(product: Product) -> Limits:
    """Return what a product may be laid in: its own limits, and the usual ones where it says nothing."""
    own = {
        "margin": product.dew_margin,
        "most_humidity": product.most_humidity,
        "least_temperature": product.least_temperature,
        "most_temperature": product.most_temperature,
        "most_moisture": product.most_moisture,
    }
    return Limits(**{name: value for name, value in own.items() if value is not None})


def _against(reading: SiteReading, limits: Limits, dew: float, units: UnitSystem) -> list[str]:
    above = reading.surface - dew
    against = []
    if above < limits.margin - 1e-9:
        against.append(
            f"The surface at {degrees(reading.surface, units)} is {degrees_apart(above, units)} above the dew point of"
            f" {degrees(dew, units)}, at least {degrees_apart(limits.margin, units)} are needed."
        )
    if reading.humidity is not None and reading.humidity > limits.most_humidity:
        against.append(f"Humidity of {reading.humidity * 100:.0f} % is above {limits.most_humidity * 100:.0f} %.")
    for name, value in (("Air", reading.air), ("The surface", reading.surface)):
        if not limits.least_temperature <= value <= limits.most_temperature:
            against.append(
                f"{name} at {degrees(value, units)} is outside {degrees(limits.least_temperature, units)}"
                f" to {degrees(limits.most_temperature, units)}."
            )
    if reading.moisture is not None and reading.moisture > (limits.most_moisture or math.inf):
        most = (limits.most_moisture or 0.0) * 100
        against.append(f"The wall holds {reading.moisture * 100:.3g} % of moisture, at most {most:.3g} % are allowed.")
    return against


def scale_time(time: float, *, stated_at: float, temperature: float) -> float:
    """Scale a pot life, a cure or a recoat time from the temperature it is stated at.

    t(T) = t₀ · 2^((T₀ − T) / 10): reaction speed doubles per 10 °C, a rule of thumb with a true factor of about
    1.5 to 2.5. Pot life depends on the mass mixed too. The data sheet's own table replaces this where there is one.
    ``time`` in any unit is stated at ``stated_at``; the result, in the same, is at ``temperature`` on site; both in °C.
    Raises `InputError` where that is not from −45 to 60 °C.

    Examples
    --------
    >>> scale_time(30.0, stated_at=25.0, temperature=35.0)
    15.0
    """
    _check_temperature(temperature, "a temperature on site")
    return float(time * 2.0 ** ((stated_at - temperature) / 10.0))
