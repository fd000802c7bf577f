"""Writing a catalogue as the TOML text that the catalogue reader takes, in metric units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from takeoff.exchange.catalogue_steps import take_out
from takeoff.model.systems import Catalogue, Product, Rates, Step, System
from takeoff.system.bases import basis_kind

_UNIT_OF_BASIS = {"area": "m2", "length": "m", "volume": "m3", "count": "each"}


def catalogue_text(catalogue: Catalogue) -> str:
    """Return a catalogue as TOML text; reading it back gives the same catalogue to 12 significant digits.

    Parameters
    ----------
    catalogue
        The catalogue; every product that a step names must be in it.
    """
    import tomli_w

    units = {product.id: product.unit for product in catalogue.products}
    steps, systems = take_out([_system(s, units) for s in catalogue.systems])
    return tomli_w.dumps(
        {
            "schema": catalogue.schema,
            "name": catalogue.name,
            "currency": catalogue.currency,
            "notes": list(catalogue.notes),
            "rates": _rates(catalogue.rates),
            "products": [_product(p) for p in catalogue.products],
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


def _given(entries: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in entries.items() if value is not None and value not in ("", [], {})}


def _rates(rates: Rates) -> dict[str, Any]:
    out: dict[str, Any] = {f.name: getattr(rates, f.name) for f in fields(rates)}
    out["height_factors"] = [[f"{_number(height)} m", factor] for height, factor in rates.height_factors]
    out["travel_per_distance"] = f"{_number(out.pop('travel_per_km'))}/km"
    out["people"] = [_given({f.name: getattr(p, f.name) for f in fields(p)}) for p in rates.people]
    per = {"area": "m2", "length": "m"}
    out["lines"] = [
        _given({f.name: getattr(line, f.name) for f in fields(line)} | {"per": per.get(line.per, line.per)})
        for line in rates.lines
    ]
    return _given(out)


def _product(p: Product) -> dict[str, Any]:
    return _given(
        {
            "id": p.id,
            "name": p.name,
            "unit": p.unit,
            "volume_solids": p.volume_solids,
            "density": _with(p.density, 1.0, "kg/L"),
            "mix": p.mix,
            "colour_pack": p.colour_pack,
            "pot_life": _with(p.pot_life, 60.0, "min"),
            "temperature": _with(p.temperature, 1.0, "C"),
            "width": _with(p.width, 1.0, "m"),
            "mass_per_area": _with(p.mass_per_area, 1.0, "kg/m2"),
            "stock_length": _with(p.stock_length, 1.0, "m"),
            "hazards": list(p.hazards),
            "least_temperature": _with(p.least_temperature, 1.0, "C"),
            "most_temperature": _with(p.most_temperature, 1.0, "C"),
            "most_humidity": p.most_humidity,
            "dew_margin": _with(p.dew_margin, 1.0, "K"),
            "most_moisture": p.most_moisture,
            "substrate_moisture": p.substrate_moisture,
            "code": p.code,
            "lead_days": p.lead_days,
            "shelf_life_days": p.shelf_life_days,
            "assumed": list(p.assumed),
            "packs": [
                _given(
                    {
                        "name": pack.name,
                        "size": f"{_number(pack.size)} {p.unit}",
                        "price": pack.price,
                        "colours": pack.colours or None,
                    }
                )
                for pack in p.packs
            ],
        }
    )


def _system(s: System, units: Mapping[str, str]) -> dict[str, Any]:
    return _given(
        {
            "id": s.id,
            "name": s.name,
            "summary": s.summary,
            "version": s.version,
            "cure": _with(s.cure or None, 1.0, "h"),
            "notes": list(s.notes),
            "substrate_extra": {name: f"{_number(extra)} L/m2" for name, extra in s.substrate_extra},
            "steps": [_step(step, units) for step in s.steps],
        }
    )


def _step(s: Step, units: Mapping[str, str]) -> dict[str, Any]:
    per = _UNIT_OF_BASIS[basis_kind(s.basis)]
    amount = None
    if s.amount is not None:
        if s.kind == "sealant":
            amount = f"{_number(s.amount * 1e6)} mm2"
        elif s.product is not None:
            amount = f"{_number(s.amount)} {units[s.product]}/{per}"
    labour, height_factor = None, None
    if s.labour is not None:
        minutes, rate = s.labour.minutes, s.labour.rate
        labour = f"{_number(minutes)} min/each" if minutes is not None else _with(rate, 1.0, f"{per}/h")
        height_factor = None if s.labour.height_factor else False
    return _given(
        {
            "id": s.id,
            "name": s.name,
            "kind": s.kind,
            "basis": s.basis,
            "product": s.product,
            "wet_film": _with(s.wet_film, 1e6, "um"),
            "dry_film": _with(s.dry_film, 1e6, "um"),
            "spread": _with(s.spread, 1.0, "m2/L"),
            "mat_ratio": s.mat_ratio,
            "amount": amount,
            "on": list(s.on),
            "coats": s.coats if s.coats != 1 else None,
            "loss": s.loss or None,
            "lap": _with(s.lap or None, 1000.0, "mm"),
            "trim_top": _with(s.trim_top or None, 1000.0, "mm"),
            "trim_base": _with(s.trim_base or None, 1000.0, "mm"),
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
