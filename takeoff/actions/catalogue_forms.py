"""Systems and products as texts that a person edits field by field, and what a step takes with them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from takeoff.errors import InputError
from takeoff.exchange.catalogue_file import read_product, read_step
from takeoff.exchange.catalogue_units import read_figure
from takeoff.exchange.catalogue_writer import product_entry, step_entry
from takeoff.model.figures import Lot, Quantities
from takeoff.model.systems import Catalogue, Product, Step, System
from takeoff.system.buildup import build_up, coat_films, mat_before
from takeoff.system.catalogue_check import check_catalogue
from takeoff.system.mat import practical_spread
from takeoff.system.packs import cheapest_packs
from takeoff.system.words import Words
from takeoff.units import UnitSystem

PARTS = ("volume_solids", "most_humidity", "most_moisture", "loss")
"""Fractions, which people write as per cent."""
WHOLE, NUMBERS = ("coats", "day", "lead_days", "shelf_life_days"), ("colour_pack", "mat_ratio")
WAYS = ("wet_film", "dry_film", "spread", "mat_ratio")
"""What says how much a coat takes: one of these."""
TICKS = ("wet_edge", "into_wet", "fills_pores")
MOST_PACKS = 4
LONG = re.compile(r"(?!0\.000)\d+\.\d{5,}")
"""A figure with more digits than anybody types, small ones left as they are."""
EXAMPLE_AREA = {"metric": 100.0, "imperial": 92.90304}
"""m² of wall that stand for the job where none takes a step: 100 m² or 1,000 sf."""


def product_texts(product: Product, system: UnitSystem) -> dict[str, str]:
    """Return the fields of a product as people write them; packs as ``name; size; price; colour packs``."""
    entry = product_entry(product, system)
    packs = [
        "; ".join(_text(pack[key]) for key in ("name", "size", "price", "colours") if key in pack)
        for pack in entry.pop("packs")
    ]
    return _texts(entry) | {f"pack{n}": packs[n] if n < len(packs) else "" for n in range(MOST_PACKS)}


def step_texts(step: Step, catalogue: Catalogue, system: UnitSystem) -> dict[str, str]:
    """Return the fields of a step as people write them; ``way`` says which of `WAYS` its ``much`` is."""
    entry = step_entry(step, _sold(catalogue), system)
    way = next((way for way in WAYS if way in entry), "")
    return {"coats": "1"} | _texts(entry) | {"way": way, "much": _short(str(entry.get(way, "")))}


def with_product(catalogue: Catalogue, id: str, changed: Mapping[str, str], system: UnitSystem) -> Catalogue:
    """Return a catalogue with fields of a product changed, as they are in `product_texts`.

    A lead time or shelf life that is given is no longer assumed.
    """
    before = catalogue.product(id)
    raw = product_entry(before, system)
    packs = dict(enumerate(raw["packs"]))
    packs |= {n: _pack(changed[f"pack{n}"]) for n in range(MOST_PACKS) if f"pack{n}" in changed}
    raw |= {
        "packs": [pack for _, pack in sorted(packs.items()) if pack],
        "assumed": [name for name in before.assumed if name not in changed],
    }
    made = read_product(_put(raw, {key: text for key, text in changed.items() if not key.startswith("pack")}))
    products = tuple(made if product.id == id else product for product in catalogue.products)
    return _checked(replace(catalogue, products=products))


def with_step(catalogue: Catalogue, at: tuple[str, str], changed: Mapping[str, str], system: UnitSystem) -> Catalogue:
    """Return a catalogue with fields of a step of a system changed, as they are in `step_texts`; errors as above.

    Another way of saying how much a coat takes keeps the film that it had.
    """
    of = catalogue.system(at[0])
    before = next(step for step in of.steps if step.id == at[1])
    if changed.get("way"):
        before = _in_way(before, of, catalogue, changed["way"])
    raw = step_entry(before, _sold(catalogue), system)
    way = next((way for way in WAYS if way in raw), "wet_film")
    fields = {way if key == "much" else key: text for key, text in changed.items() if key != "way"}
    made = read_step(_put(raw, fields), _sold(catalogue))
    return with_steps(catalogue, at[0], [made if step.id == at[1] else step for step in of.steps])


def with_steps(catalogue: Catalogue, id: str, steps: Sequence[Step], **fields: Any) -> Catalogue:
    """Return a catalogue with other steps, or other ``fields``, of a system; errors as above."""
    systems = [replace(s, steps=tuple(steps), **fields) if s.id == id else s for s in catalogue.systems]
    return _checked(replace(catalogue, systems=tuple(systems)))


def step_words(catalogue: Catalogue, at: tuple[str, str], lots: Sequence[Lot], system: UnitSystem) -> tuple[str, ...]:
    """Say what a step takes: film and spread of a coat, then the need of the job and its packs.

    Parameters
    ----------
    catalogue, at
        The catalogue, and system and step by their ids.
    lots
        What of the job each system coats; where none takes the step, an example area stands for it.
    """
    of, words = catalogue.system(at[0]), Words(first=system)
    step = next(step for step in of.steps if step.id == at[1])
    if step.product is None:
        return ("This step takes no material.",)
    product = catalogue.product(step.product)
    wet, dry, spread = coat_films(step, product, mat_before(of, step, catalogue))
    lines = []
    if spread:
        dries = f", dry film {words.film(dry)}" if dry else ", all of it in the pores"
        lines.append(f"Each coat: wet film {words.film(wet)}{dries}.")
        lines.append(
            f"Spread {words.spread(spread)}; {words.spread(practical_spread(spread, loss=step.loss))} with the loss."
        )
    taken = [lot for lot in lots if lot.system == of.id]
    needs = [need for need in build_up(taken, catalogue, words=words) if need.step == step.id]
    where = "This job"
    if not needs:
        example = Quantities(net_area=EXAMPLE_AREA[system])
        lot = Lot(system=of.id, room="", room_label="", quantities=example, substrate=step.on[0] if step.on else None)
        alone = replace(catalogue, systems=(replace(of, steps=(step,)),))
        is_coat = step.kind == "coat" and step.mat_ratio is None
        needs = build_up([lot], alone, words=words) if is_coat else []
        where = f"{words.short_area(EXAMPLE_AREA[system])} (no wall of this job takes it)"
    if needs:
        whole = sum(need.needed for need in needs)
        packs = cheapest_packs(whole, product.packs, colour_pack=product.colour_pack or 0.0)
        counts = " + ".join(f"{pack.count} × {pack.pack}" for pack in packs)
        lines.append(f"{where}: {words.amount(whole, product.unit)} → {counts}, for this step alone.")
    return tuple(lines)


def hours(text: str) -> float:
    """Read a time such as ``72 h``; nothing is 0."""
    return read_figure("time", text) if text.strip() else 0.0


def _texts(entry: Mapping[str, Any]) -> dict[str, str]:
    """Write the values of an entry for fields: per cent for fractions, lists with commas."""
    made = {}
    for key, value in entry.items():
        if key in PARTS:
            made[key] = f"{value * 100:.10g} %"
        elif key in TICKS:
            made[key] = "yes" if value else ""
        else:
            made[key] = ", ".join(value) if isinstance(value, list) else _short(_text(value))
    return made


def _text(value: object) -> str:
    return f"{value:.12g}" if isinstance(value, float) else str(value)


def _short(text: str) -> str:
    """Write a figure with a unit as people do, to six digits; what is not typed over keeps all of its own."""
    figure, space, unit = text.partition(" ")
    return f"{float(figure):.6g}{space}{unit}" if LONG.fullmatch(figure) else text


def _put(raw: dict[str, Any], changed: Mapping[str, str]) -> dict[str, Any]:
    """Put texts into an entry; an empty one takes its key out."""
    for key, text in changed.items():
        text = text.strip()
        if not text:
            raw.pop(key, None)
        elif key in PARTS:
            raw[key] = _number(text.removesuffix("%")) / 100.0
        elif key in NUMBERS:
            raw[key] = _number(text)
        elif key in WHOLE:
            raw[key] = round(_number(text))
        elif key in TICKS:
            raw[key] = True
        elif key == "on":
            raw[key] = [part.strip() for part in text.split(",")]
        else:
            raw[key] = text
    return raw


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError as error:
        raise InputError(f'"{text}" is not a number', remedy="Write a number such as 12.5.") from error


def _pack(text: str) -> dict[str, Any]:
    """Read a pack as ``3 gal kit; 3 gal; 279; 3``; the colour packs may be left out. Nothing is no pack."""
    if not text.strip():
        return {}
    parts = [part.strip() for part in text.split(";")]
    if len(parts) not in (3, 4):
        raise InputError(
            f'"{text}" is not a pack', remedy="Write name; size; price; colour packs, such as 3 gal kit; 3 gal; 279; 3."
        )
    colours = {"colours": round(_number(parts[3]))} if len(parts) == 4 else {}
    return {"name": parts[0], "size": parts[1], "price": _number(parts[2])} | colours


def _in_way(step: Step, system: System, catalogue: Catalogue, way: str) -> Step:
    """Say how much a coat takes in another way, at the same film."""
    product = catalogue.product(step.product or "")
    wet, _, spread = coat_films(step, product, mat_before(system, step, catalogue))
    same: dict[str, Any] = {
        "wet_film": wet,
        "dry_film": wet * product.volume_solids,
        "spread": spread,
        "mat_ratio": 2.0,
    }
    ways: dict[str, Any] = {other: same[way] if other == way else None for other in WAYS}
    return replace(step, **ways)


def _sold(catalogue: Catalogue) -> dict[str, Any]:
    return {product.id: product.unit for product in catalogue.products}


def _checked(catalogue: Catalogue) -> Catalogue:
    check_catalogue(catalogue)
    return catalogue
