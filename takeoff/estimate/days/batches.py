"""What a crew can lay of a mixed pack before its pot life is over."""

from __future__ import annotations

import math
from dataclasses import dataclass

from takeoff.estimate.climate import scale_time
from takeoff.model.costs import Estimate
from takeoff.model.systems import Catalogue, Rates


@dataclass(frozen=True, slots=True, kw_only=True)
class LatePack:
    """A pack that takes a crew longer to lay than its pot life: both in hours."""

    step: str
    name: str
    pack: str
    hours: float
    pot_life: float


def late_packs(
    estimate: Estimate, catalogue: Catalogue, rates: Rates, *, temperature: float | None = None
) -> tuple[LatePack, ...]:
    """Return the steps whose smallest pack cannot be laid within its pot life by a crew at its rate, each once.

    Hours to lay a pack = its size / what the step needs per man-hour, loss with it / people of a crew. ``temperature``:
    on site in °C, that pot lives are scaled to; as stated where ``None``.
    """
    found: dict[tuple[str, str], LatePack] = {}
    for line in estimate.materials:
        product = catalogue.product(line.product)
        if product.pot_life is None or not product.packs:
            continue
        pot_life = product.pot_life
        if temperature is not None:
            pot_life = scale_time(pot_life, stated_at=product.temperature, temperature=temperature)
        pack = min(product.packs, key=lambda pack: pack.size)
        for system, step in dict.fromkeys((need.system, need.step) for need in line.needs):
            labour = [row for row in estimate.labour if (row.system, row.step) == (system, step)]
            needed = math.fsum(need.needed for need in line.needs if (need.system, need.step) == (system, step))
            hours = math.fsum(row.hours for row in labour)
            if not labour or needed <= 0.0:
                continue
            lay = pack.size * hours / needed / rates.crew
            key = (labour[0].name, pack.name)
            if lay > max(pot_life * (1.0 + 1e-9), found[key].hours if key in found else 0.0):
                found[key] = LatePack(step=step, name=key[0], pack=key[1], hours=lay, pot_life=pot_life)
    return tuple(found.values())


def late_words(late: tuple[LatePack, ...]) -> str:
    """Say which packs are to be mixed in parts.

    Examples
    --------
    >>> late_words((LatePack(step="top", name="Top coat", pack="2 gal kit", hours=0.7, pot_life=1 / 3),))
    'Mix in parts, or send more people: Top coat (2 gal kit: 42 min to lay, pot life 20 min).'
    """
    rows = [f"{p.name} ({p.pack}: {p.hours * 60:.0f} min to lay, pot life {p.pot_life * 60:.0f} min)" for p in late]
    return f"Mix in parts, or send more people: {'; '.join(rows)}." if rows else ""
