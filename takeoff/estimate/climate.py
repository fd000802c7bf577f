"""May it be coated now: dew point, surface against dew point, humidity and temperature, and cure by temperature.

Temperatures in °C, humidity as a fraction, pressure in hPa, times in hours.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from takeoff.errors import InputError
from takeoff.model.systems import Product
from takeoff.units import UnitSystem

MAGNUS = (6.112, 17.62, 243.12)
"""Saturation over water: e_s = 6.112 exp(17.62 t / (243.12 + t)) hPa, −45 to 60 °C.

WMO No. 8, Guide to Instruments and Methods of Observation, Annex 4.B.
"""

ISO_MARGIN = 3.0
"""Kelvins that a surface must be above the dew point: the usual reading of ISO 8502-4."""

US_MARGIN = 5.0 / 1.8
"""The same as 5 °F: MIL-HDBK-1110 section 9.6.6, which also asks that the temperature be rising."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What a coating may be applied in; the data sheet governs.

    ``margin`` is by how many kelvins the surface must be above the dew point. Humidity at most 85 % is common; air and
    surface from 45 to 90 °F is MIL-HDBK-1110 section 7.4.1 for most paints.
    """

    margin: float = ISO_MARGIN
    most_humidity: float = 0.85
    least_humidity: float = 0.0
    least_temperature: float = (45.0 - 32.0) / 1.8
    most_temperature: float = (90.0 - 32.0) / 1.8


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteReading:
    """What was read on site: air and surface temperature in °C, relative humidity as a fraction, and a note."""

    air: float
    surface: float
    humidity: float
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """Whether a reading allows coating, its dew point, how far the surface is above it, and what speaks against.

    ``products`` are those that may not be laid now, by their own limits, each with why; where that is all of those that
    were asked about, it may not be coated.
    """

    may_coat: bool
    dew_point: float
    above_dew_point: float
    against: tuple[str, ...]
    products: tuple[tuple[str, str], ...] = ()


def saturation_pressure(air: float) -> float:
    """Return the pressure of water vapour in saturated air over water, in hPa, by the Magnus formula.

    Examples
    --------
    >>> round(saturation_pressure(20.0), 3)
    23.326
    """
    scale, a, b = MAGNUS
    return scale * math.exp(a * air / (b + air))


def dew_point(air: float, humidity: float) -> float:
    """Return the dew point.

    Parameters
    ----------
    air
        Air temperature in °C, −45 to 60.
    humidity
        Relative humidity as a fraction, above 0 and up to 1.

    Raises
    ------
    InputError
        When the temperature or the humidity is outside that.

    Examples
    --------
    >>> round(dew_point(20.0, 0.5), 4)
    9.2552
    """
    if not -45.0 <= air <= 60.0:
        raise InputError(f"an air temperature of {air:g} °C", remedy="Give −45 to 60 °C.")
    if not 0.0 < humidity <= 1.0:
        raise InputError(
            f"a relative humidity of {humidity * 100:g} %", remedy="Give a humidity above 0 and up to 100 %."
        )
    _, a, b = MAGNUS
    gamma = math.log(humidity) + a * air / (b + air)
    return b * gamma / (a - gamma)


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


def judge(
    reading: SiteReading,
    limits: Limits | None = None,
    *,
    units: UnitSystem = "metric",
    products: Sequence[Product] = (),
) -> Verdict:
    """Say whether a reading allows coating, and every limit that speaks against it, in words of these units.

    ``products`` are those to be laid: each is judged by limits of its own.

    Examples
    --------
    >>> judge(SiteReading(air=16.0, surface=13.0, humidity=0.71)).against
    ('The surface at 13.0 °C is 2.3 K above the dew point of 10.7 °C, at least 3.0 K are needed.',)
    """
    usual = limits or Limits()
    dew = dew_point(reading.air, reading.humidity)
    against = _against(reading, usual, dew, units)
    refused = []
    for product in products:
        own = [said for said in _against(reading, limits_of(product, usual), dew, units) if said not in against]
        if own:
            refused.append((product.name, " ".join(own)))
    return Verdict(
        may_coat=not against and not (products and len(refused) == len(products)),
        dew_point=dew,
        above_dew_point=reading.surface - dew,
        against=tuple(against),
        products=tuple(refused),
    )


def limits_of(product: Product, usual: Limits) -> Limits:
    """Return what a product may be laid in: its own limits, and the usual ones where it says nothing."""
    own = {
        "margin": product.dew_margin,
        "most_humidity": product.most_humidity,
        "least_temperature": product.least_temperature,
        "most_temperature": product.most_temperature,
    }
    return replace(usual, **{name: value for name, value in own.items() if value is not None})


def _against(reading: SiteReading, limits: Limits, dew: float, units: UnitSystem) -> list[str]:
    """Say every limit that a reading does not keep."""
    above = reading.surface - dew
    against = []
    if above < limits.margin - 1e-9:
        against.append(
            f"The surface at {degrees(reading.surface, units)} is {degrees_apart(above, units)} above the dew point of"
            f" {degrees(dew, units)}, at least {degrees_apart(limits.margin, units)} are needed."
        )
    if not limits.least_humidity <= reading.humidity <= limits.most_humidity:
        against.append(
            f"Humidity of {reading.humidity * 100:.0f} % is outside {limits.least_humidity * 100:.0f}"
            f" to {limits.most_humidity * 100:.0f} %."
        )
    for name, value in (("Air", reading.air), ("The surface", reading.surface)):
        if not limits.least_temperature <= value <= limits.most_temperature:
            against.append(
                f"{name} at {degrees(value, units)} is outside {degrees(limits.least_temperature, units)}"
                f" to {degrees(limits.most_temperature, units)}."
            )
    return against


def scale_time(time: float, *, stated_at: float, temperature: float, factor: float = 2.0) -> float:
    """Scale a pot life, a cure or a recoat time from the temperature it is stated at.

    t(T) = t₀ · factor^((T₀ − T) / 10): reaction speed doubles per 10 °C, a rule of thumb with a true factor of about
    1.5 to 2.5. Pot life depends on the mass mixed too. The data sheet's own table replaces this where there is one.

    Parameters
    ----------
    time
        The stated time, in any unit; the result is in the same.
    stated_at, temperature
        The temperature it is stated at, and the one on site, in °C.
    factor
        By how much speed grows in 10 °C.

    Raises
    ------
    InputError
        When the factor is below 1.

    Examples
    --------
    >>> scale_time(30.0, stated_at=25.0, temperature=35.0)
    15.0
    """
    if factor < 1.0:
        raise InputError(f"a factor of {factor:g} per 10 °C", remedy="Give 1 or more; about 2 is usual.")
    return float(time * factor ** ((stated_at - temperature) / 10.0))
