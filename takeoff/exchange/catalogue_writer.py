"""Catalogues as the TOML text that the reader takes; steps that many systems use are written once.

A file's own list ``steps`` holds them. A system uses one by its id, or by a table with the id in ``step`` and what is
different there; a step of the list may build on an earlier one the same way. A system's step may also be written out
in full, as in files that have no list.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from typing import Any

from takeoff import units
from takeoff.errors import CatalogueError
from takeoff.model.systems import Catalogue, Product, Rates, Step, System, Unit
from takeoff.system.bases import basis_kind
from takeoff.units import UnitSystem

_UNITS: dict[UnitSystem, dict[str, tuple[float, str]]] = {
    "metric": {
        "film": (1e6, "um"), "spread": (1.0, "m2/L"), "narrow": (1000.0, "mm"), "density": (1.0, "kg/L"),
        "mass_per_area": (1.0, "kg/m2"), "section": (1e6, "mm2"), "apart": (1.0, "K"), "extra": (1.0, "L/m2"),
        "L": (1.0, "L"), "kg": (1.0, "kg"), "m2": (1.0, "m2"), "m": (1.0, "m"), "each": (1.0, "each"),
        "area": (1.0, "m2"), "length": (1.0, "m"), "volume": (1.0, "m3"), "count": (1.0, "each"),
        "width": (1.0, "m"),
    },
    "imperial": {
        "film": (1 / units.MIL, "mil"), "spread": (units.US_GALLON_LITRES / units.SQUARE_FOOT, "ft2/gal"),
        "narrow": (1 / units.INCH, "in"), "width": (1 / units.INCH, "in"),
        "density": (units.US_GALLON_LITRES / units.POUND, "lb/gal"),
        "mass_per_area": (units.SQUARE_FOOT / units.OUNCE, "oz/ft2"), "section": (units.INCH**-2, "in2"),
        "apart": (1.8, "F"), "extra": (units.SQUARE_FOOT / units.US_GALLON_LITRES, "gal/ft2"),
        "L": (1 / units.US_GALLON_LITRES, "gal"), "kg": (1 / units.POUND, "lb"),
        "m2": (1 / units.SQUARE_FOOT, "ft2"), "m": (1 / units.FOOT, "ft"), "each": (1.0, "each"),
        "area": (1 / units.SQUARE_FOOT, "ft2"), "length": (1 / units.FOOT, "ft"), "volume": (units.FOOT**-3, "ft3"),
        "count": (1.0, "each"),
    },
}  # fmt: skip
"""Of each kind of figure its factor from the unit used inside, and its unit."""
_TIMES = {"minutes": (60.0, "min"), "hours": (1.0, "h")}
_KINDS = {
    **dict.fromkeys(("wet_film", "dry_film"), "film"),
    **dict.fromkeys(("min_recoat", "max_recoat", "max_between", "cure"), "hours"),
    **dict.fromkeys(("lap", "trim_top", "trim_base"), "narrow"),
    **{name: name for name in ("spread", "density", "mass_per_area", "width")},
    "pot_life": "minutes",
    "stock_length": "m",
    "dew_margin": "apart",
}
"""Kinds of figure of the keys of products, steps and systems."""
_DEGREES = ("temperature", "least_temperature", "most_temperature")


def catalogue_text(catalogue: Catalogue, system: UnitSystem = "metric") -> str:
    """Return a catalogue as TOML text; reading it back gives the same catalogue to 12 significant digits.

    ``catalogue``: the catalogue; every product that a step names must be in it.
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


def _entry(value: Any, system: UnitSystem, *, has_usual: bool = True, **other: Any) -> dict[str, Any]:
    """The fields of a value as a file writes them, figures with their units, without what is not given.

    ``other`` are keys as they are to stand there, last: tables of an entry have to be. Without ``has_usual`` what is as
    it is by itself is left out.
    """
    usual = {field.name: field.default for field in fields(value)}
    out: dict[str, Any] = {}
    for name, held in _plain(value).items():
        if name in other or (held == usual[name] and (name in _KINDS or not has_usual)):
            continue
        kind = _KINDS.get(name)
        if name in _DEGREES:
            held = _degrees(held, system)
        out[name] = _with(held, *(_UNITS[system] | _TIMES)[kind]) if kind else held
    return _given(out | other)


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
    size = _UNITS[system][p.unit]
    packs = [
        _given({**_plain(pack), "size": _with(pack.size, *size), "colours": pack.colours or None}) for pack in p.packs
    ]
    return _entry(p, system, left_in_tools=_with(p.left_in_tools or None, *size), packs=packs)


def _system(s: System, sold: Mapping[str, Unit], system: UnitSystem) -> dict[str, Any]:
    extra = {name: _with(extra, *_UNITS[system]["extra"]) for name, extra in s.substrate_extra}
    return _entry(s, system, substrate_extra=extra, steps=[step_entry(step, sold, system) for step in s.steps])


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
    return _entry(s, system, has_usual=False, amount=amount, labour=labour, height_factor=height_factor)


Entry = dict[str, Any]


def put_in(raw: Entry) -> Entry:
    """Return a file's tables with every step written out in full where it is used.

    What is not of the form that steps have is left as it is, for the reader to refuse. Raises `CatalogueError` when two
    steps of the list have one id, or one is used that is not there.

    Examples
    --------
    >>> full = put_in({"steps": [{"id": "tack", "labour": "350 ft2/h", "day": 3}],
    ...                "systems": [{"id": "wall", "steps": ["tack", {"step": "tack", "id": "again", "day": 4}]}]})
    >>> full["systems"][0]["steps"]
    [{'id': 'tack', 'labour': '350 ft2/h', 'day': 3}, {'id': 'again', 'labour': '350 ft2/h', 'day': 4}]
    """
    known: dict[str, Entry] = {}
    listed = []
    for entry in _list(raw.get("steps")):
        full = _full(entry, known, "steps") if isinstance(entry, dict) else entry
        listed.append(full)
        if isinstance(full, dict) and isinstance(id := full.get("id"), str):
            if id in known:
                raise CatalogueError(
                    "two steps have the same id", remedy="Give each an id of its own.", where=f"step {id}"
                )
            known[id] = full
    out = {"steps": listed, **{key: value for key, value in raw.items() if key != "steps"}} if listed else dict(raw)
    if isinstance(raw.get("systems"), list):
        out["systems"] = [_system_full(system, known) for system in raw["systems"]]
    return out


def take_out(systems: Sequence[Entry]) -> tuple[list[Entry], list[Entry]]:
    """Return a list of the steps that several systems use, and the systems using them; days stay with the systems.

    Examples
    --------
    >>> tack = {"id": "tack", "labour": "33 m2/h"}
    >>> take_out([{"id": "a", "steps": [{**tack, "day": 3}]}, {"id": "b", "steps": [tack]}])
    ([{'id': 'tack', 'labour': '33 m2/h'}], [{'id': 'a', 'steps': [{'step': 'tack', 'day': 3}]}, {'id': 'b', 'steps': ['tack']}])
    """  # noqa: E501
    bare = [[_without_day(step) for step in system["steps"]] for system in systems]
    every = [step for row in bare for step in row]
    listed: list[Entry] = []
    for step in every:
        if every.count(step) > 1 and not any(_is_same(step, other) for other in listed):
            ids = {other["id"] for other in listed}
            id = next(i for n in range(len(every)) if (i := step["id"] + (f"-{n + 1}" if n else "")) not in ids)
            listed.append({**step, "id": id, "own id": step["id"]})
    using = []
    for system, row in zip(systems, bare, strict=True):
        steps: list[Entry | str] = []
        for full, step in zip(system["steps"], row, strict=True):
            shared = next((other for other in listed if _is_same(step, other)), None)
            if shared is None:
                steps.append(full)
                continue
            more = {key: full[key] for key in ("day",) if key in full}
            if shared["id"] != step["id"]:
                more["id"] = step["id"]
            steps.append({"step": shared["id"], **more} if more else shared["id"])
        using.append({**system, "steps": steps})
    return [{key: value for key, value in entry.items() if key != "own id"} for entry in listed], using


def _system_full(system: Any, known: dict[str, Entry]) -> Any:
    if not isinstance(system, dict) or not isinstance(system.get("steps"), list):
        return system
    where = f"system {system.get('id', '')}"
    return {**system, "steps": [_full(step, known, where) for step in system["steps"]]}


def _full(entry: Any, known: dict[str, Entry], where: str) -> Any:
    """Write a step out in full: what it builds on, and over it what it says itself."""
    own = {"step": entry} if isinstance(entry, str) else entry
    if not isinstance(own, dict) or "step" not in own:
        return entry
    name = own["step"]
    if not isinstance(name, str) or name not in known:
        raise CatalogueError(
            f'there is no step "{name}" in the list of steps',
            remedy=f"Write it there, or use one of: {', '.join(known) or 'none'}.",
            where=where,
        )
    return {**known[name], **{key: value for key, value in own.items() if key != "step"}}


def _without_day(step: Entry) -> Entry:
    return {key: value for key, value in step.items() if key != "day"}


def _is_same(step: Entry, listed: Entry) -> bool:
    return step == {**{key: value for key, value in listed.items() if key != "own id"}, "id": listed["own id"]}


def _list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []
