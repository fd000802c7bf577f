"""Catalogues as the TOML text that the reader takes; steps that many systems use are written once.

A file's own list ``steps`` holds them. A system uses one by its id, or by a table with the id in ``step`` and what is
different there; a step of the list may build on an earlier one the same way. A system's step may also be written out
in full, as in files that have no list.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from typing import Any

from takeoff.errors import CatalogueError
from takeoff.exchange.catalogue_units import AREAS, COUNTED, DEGREES, FIGURES, KINDS, LENGTHS, SOLD, Factors
from takeoff.model.systems import Catalogue, Product, Rates, Step, System, Unit
from takeoff.system.bases import basis_kind
from takeoff.units import UnitSystem

_KINDS: dict[str, tuple[Factors, str, str]] = {
    key: (LENGTHS if kind == "length" else FIGURES[kind], metric, imperial)
    for key, (kind, metric, imperial) in KINDS.items()
}
"""Figures by their keys: the units of the kind, and which is written."""
_OTHER: dict[str, tuple[Factors, str, str]] = {
    "section": (AREAS, "mm2", "in2"),
    "extra": (FIGURES["volume per area"], "L/m2", "gal/ft2"),
    "L": (SOLD["L"], "L", "gal"),
    "kg": (SOLD["kg"], "kg", "lb"),
    "m2": (SOLD["m2"], "m2", "ft2"),
    "m": (SOLD["m"], "m", "ft"),
    **dict.fromkeys(("each", "count"), (SOLD["each"], "each", "each")),
    "area": (COUNTED["area"], "m2", "ft2"),
    "length": (COUNTED["length"], "m", "ft"),
    "volume": (COUNTED["volume"], "m3", "ft3"),
}
"""The same of beads, what substrates take more, units that products are sold by, and what steps are counted by."""


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


def _unit(of: str, system: UnitSystem) -> tuple[float, str]:
    """Factor to the unit used inside, and the unit, in which a figure is written."""
    factors, *units = (_KINDS | _OTHER)[of]
    unit = units[system == "imperial"]
    return factors[unit], unit


def _with(value: float | None, of: str, system: UnitSystem) -> str | None:
    factor, unit = _unit(of, system)
    return None if value is None else f"{_number(value / factor)} {unit}"


def _degrees(celsius: float | None, system: UnitSystem) -> str | None:
    if celsius is None:
        return None
    return f"{_number(celsius)} C" if system == "metric" else f"{_number(celsius * 1.8 + 32.0)} F"


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
        if name in DEGREES:
            held = _degrees(held, system)
        out[name] = _with(held, name, system) if name in _KINDS else held
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
    sizes = [{"size": _with(pack.size, p.unit, system), "colours": pack.colours or None} for pack in p.packs]
    packs = [_given(_plain(pack) | own) for pack, own in zip(p.packs, sizes, strict=True)]
    return _entry(p, system, left_in_tools=_with(p.left_in_tools or None, p.unit, system), packs=packs)


def _system(s: System, sold: Mapping[str, Unit], system: UnitSystem) -> dict[str, Any]:
    extra = {name: _with(extra, "extra", system) for name, extra in s.substrate_extra}
    return _entry(s, system, substrate_extra=extra, steps=[step_entry(step, sold, system) for step in s.steps])


def step_entry(s: Step, sold: Mapping[str, Unit], system: UnitSystem = "metric") -> dict[str, Any]:
    """Return a step as a file's entry, without what is not given; ``sold`` are the units of products by their ids."""
    factor, basis = _unit(basis_kind(s.basis), system)
    amount = _with(s.amount, "section", system) if s.kind == "sealant" else None
    if s.amount is not None and s.kind != "sealant" and s.product is not None:
        size, unit = _unit(sold[s.product], system)
        amount = f"{_number(s.amount / size * factor)} {unit}/{basis}"
    labour, height_factor = None, None
    if s.labour is not None:
        minutes, rate = s.labour.minutes, s.labour.rate or 0.0
        labour = f"{_number(rate / factor)} {basis}/h" if minutes is None else f"{_number(minutes)} min/each"
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
