"""Writing a catalogue as the TOML text that the catalogue reader takes, in the units of one system."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from takeoff import units
from takeoff.exchange.catalogue_steps import take_out
from takeoff.model.systems import Catalogue, Product, Rates, Step, System, Unit
from takeoff.system.bases import basis_kind
from takeoff.units import UnitSystem

_UNITS: dict[UnitSystem, dict[str, tuple[float, str]]] = {
    "metric": {
        "film": (1e6, "um"), "spread": (1.0, "m2/L"), "narrow": (1000.0, "mm"), "density": (1.0, "kg/L"),
        "mass_per_area": (1.0, "kg/m2"), "section": (1e6, "mm2"), "apart": (1.0, "K"), "extra": (1.0, "L/m2"),
        "L": (1.0, "L"), "kg": (1.0, "kg"), "m2": (1.0, "m2"), "m": (1.0, "m"), "each": (1.0, "each"),
        "area": (1.0, "m2"), "length": (1.0, "m"), "volume": (1.0, "m3"), "count": (1.0, "each"),
    },
    "imperial": {
        "film": (1 / units.MIL, "mil"), "spread": (units.US_GALLON_LITRES / units.SQUARE_FOOT, "ft2/gal"),
        "narrow": (1 / units.INCH, "in"), "density": (units.US_GALLON_LITRES / units.POUND, "lb/gal"),
        "mass_per_area": (units.SQUARE_FOOT / units.OUNCE, "oz/ft2"), "section": (units.INCH**-2, "in2"),
        "apart": (1.8, "F"), "extra": (units.SQUARE_FOOT / units.US_GALLON_LITRES, "gal/ft2"),
        "L": (1 / units.US_GALLON_LITRES, "gal"), "kg": (1 / units.POUND, "lb"),
        "m2": (1 / units.SQUARE_FOOT, "ft2"), "m": (1 / units.FOOT, "ft"), "each": (1.0, "each"),
        "area": (1 / units.SQUARE_FOOT, "ft2"), "length": (1 / units.FOOT, "ft"), "volume": (units.FOOT**-3, "ft3"),
        "count": (1.0, "each"),
    },
}  # fmt: skip
"""Of each kind of figure its factor from the unit used inside, and its unit."""
_DEGREES = ("temperature", "least_temperature", "most_temperature")


def catalogue_text(catalogue: Catalogue, system: UnitSystem = "metric") -> str:
    """Return a catalogue as TOML text; reading it back gives the same catalogue to 12 significant digits.

    Parameters
    ----------
    catalogue
        The catalogue; every product that a step names must be in it.
    system
        What figures are written in.
    """
    import tomli_w

    sold = {product.id: product.unit for product in catalogue.products}
    steps, systems = take_out([_system(s, sold, system) for s in catalogue.systems])
    return tomli_w.dumps(
        {
            "schema": catalogue.schema,
            "name": catalogue.name,
            "currency": catalogue.currency,
            "notes": list(catalogue.notes),
            "rates": _rates(catalogue.rates),
            "products": [product_entry(p, system) for p in catalogue.products],
            **({"steps": steps} if steps else {}),
            "systems": systems,
        }
    )


def _number(value: float) -> str:
    """A number as short as 12 significant digits allow, never with an exponent."""
    text = f"{value:.12g}"
    return f"{value:.18f}".rstrip("0").rstrip(".") if "e" in text else text


def _with(value: float | None, factor: float, unit: str) -> str | None:
    return None if value is None else f"{_number(value * factor)} {unit}"


def _degrees(celsius: float | None, system: UnitSystem) -> str | None:
    is_metric = celsius is None or system == "metric"
    return _with(celsius, 1.0, "C") if is_metric else f"{_number(celsius * 1.8 + 32.0)} F"  # type: ignore[operator]


def _given(entries: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in entries.items() if value is not None and value not in ("", [], {})}


def _plain(value: Any) -> dict[str, Any]:
    """The fields of a value, with lists for what a file holds as such."""
    held = {field.name: getattr(value, field.name) for field in fields(value)}
    return {name: list(one) if isinstance(one, tuple) else one for name, one in held.items()}


def _rates(rates: Rates) -> dict[str, Any]:
    out = _plain(rates)
    out["height_factors"] = [[f"{_number(height)} m", factor] for height, factor in rates.height_factors]
    out["travel_per_distance"] = f"{_number(out.pop('travel_per_km'))}/km"
    out["people"] = [_given(_plain(person)) for person in rates.people]
    per = {"area": "m2", "length": "m"}
    out["lines"] = [_given(_plain(line) | {"per": per.get(line.per, line.per)}) for line in rates.lines]
    return _given(out)


def product_entry(p: Product, system: UnitSystem = "metric") -> dict[str, Any]:
    """Return a product as a file's entry, without what is not given."""
    per = _UNITS[system]
    written = {
        "density": _with(p.density, *per["density"]),
        "pot_life": _with(p.pot_life, 60.0, "min"),
        "width": _with(p.width, *per["narrow" if system == "imperial" else "m"]),
        "mass_per_area": _with(p.mass_per_area, *per["mass_per_area"]),
        "stock_length": _with(p.stock_length, *per["m"]),
        "left_in_tools": _with(p.left_in_tools or None, *per[p.unit]),
        "dew_margin": _with(p.dew_margin, *per["apart"]),
        **{name: _degrees(getattr(p, name), system) for name in _DEGREES},
    }
    packs = [
        _given({**_plain(pack), "size": _with(pack.size, *per[p.unit]), "colours": pack.colours or None})
        for pack in p.packs
    ]
    plain = _plain(p)
    del plain["packs"]  # the tables of an entry come last
    return _given({**plain, **written, "packs": packs})


def _system(s: System, sold: Mapping[str, Unit], system: UnitSystem) -> dict[str, Any]:
    per = _UNITS[system]["extra"]
    return _given(
        {
            "id": s.id,
            "name": s.name,
            "summary": s.summary,
            "version": s.version,
            "cure": _with(s.cure or None, 1.0, "h"),
            "notes": list(s.notes),
            "substrate_extra": {name: _with(extra, *per) for name, extra in s.substrate_extra},
            "steps": [step_entry(step, sold, system) for step in s.steps],
        }
    )


def step_entry(s: Step, sold: Mapping[str, Unit], system: UnitSystem = "metric") -> dict[str, Any]:
    """Return a step as a file's entry, without what is not given; ``sold`` are the units of products by their ids."""
    per = _UNITS[system]
    factor, basis = per[basis_kind(s.basis)]
    amount = None
    if s.amount is not None:
        if s.kind == "sealant":
            amount = _with(s.amount, *per["section"])
        elif s.product is not None:
            times, unit = per[sold[s.product]]
            amount = f"{_number(s.amount * times / factor)} {unit}/{basis}"
    labour, height_factor = None, None
    if s.labour is not None:
        minutes, rate = s.labour.minutes, s.labour.rate
        labour = f"{_number(minutes)} min/each" if minutes is not None else _with(rate, factor, f"{basis}/h")
        height_factor = None if s.labour.height_factor else False
    return _given(
        {
            "id": s.id,
            "name": s.name,
            "kind": s.kind,
            "basis": s.basis,
            "product": s.product,
            "wet_film": _with(s.wet_film, *per["film"]),
            "dry_film": _with(s.dry_film, *per["film"]),
            "spread": _with(s.spread, *per["spread"]),
            "mat_ratio": s.mat_ratio,
            "amount": amount,
            "on": list(s.on),
            "coats": s.coats if s.coats != 1 else None,
            "loss": s.loss or None,
            "lap": _with(s.lap or None, *per["narrow"]),
            "trim_top": _with(s.trim_top or None, *per["narrow"]),
            "trim_base": _with(s.trim_base or None, *per["narrow"]),
            "wraps_corners": None if s.wraps_corners else False,
            "direction": None if s.direction == "up" else s.direction,
            "at_openings": None if s.at_openings == "cut_out" else s.at_openings,
            "min_recoat": _with(s.min_recoat, 1.0, "h"),
            "max_recoat": _with(s.max_recoat, 1.0, "h"),
            "max_between": _with(s.max_between, 1.0, "h"),
            "surface": s.surface,
            "abrades": list(s.abrades),
            "wet_edge": s.wet_edge or None,
            "into_wet": s.into_wet or None,
            "fills_pores": s.fills_pores or None,
            "labour": labour,
            "height_factor": height_factor,
            "day": s.day,
            "note": s.note,
        }
    )
