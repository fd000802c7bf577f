"""From measured quantities to what each step takes: coats, mat, broadcast, sealant, strips, cove mortar, panels.

Every need carries its arithmetic. Rounding to whole packs comes later, once for the whole job (`takeoff.system.packs`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from takeoff.errors import CatalogueError
from takeoff.model.costs import MaterialNeed
from takeoff.model.cut_lists import MatLayout, Piece
from takeoff.model.figures import Elevation, Lot
from takeoff.model.systems import Basis, Catalogue, Product, Step, Substrate, System, Unit
from takeoff.system.bases import basis_kind, basis_value, basis_words, steps_on
from takeoff.system.mat import (
    Hang,
    hang_lot,
    mat_lines,
    practical_spread,
    saturation_spread,
    spare_count,
    theoretical_spread,
    wet_from_dry,
)
from takeoff.system.words import METRIC_FIRST, Words, percent

CLOSE = 1e-6
"""Relative difference up to which pieces are those that were measured."""


def build_up(
    lots: Sequence[Lot],
    catalogue: Catalogue,
    *,
    substrate: Substrate = "concrete",
    words: Words = METRIC_FIRST,
    hang: Hang = hang_lot,
) -> list[MaterialNeed]:
    """Work out what every step of every lot takes, in lot and step order.

    Steps without a product, and steps whose basis measured nothing, take nothing and leave no line. ``substrate`` is
    what the coating goes onto where a lot does not say it; steps of other substrates are left out, and the first coat
    takes that substrate's extra. Another ``hang`` than `hang_lot` must hang mat as that does.
    """
    return [need for lot in lots for need in _BuildUp(lot, catalogue, lot.substrate or substrate, words, hang).needs()]


class _BuildUp:
    """What one lot takes, step by step; ``lapped`` is how much of each mat hangs twice, m²."""

    def __init__(self, lot: Lot, catalogue: Catalogue, substrate: Substrate, words: Words, hang: Hang) -> None:
        self.lot, self.catalogue, self.substrate, self.words, self.hang = lot, catalogue, substrate, words, hang
        self.system = catalogue.system(lot.system)
        self.lapped: dict[str, float] = {}

    def needs(self) -> Iterator[MaterialNeed]:
        steps = steps_on(self.system, self.substrate)
        first = next((step.id for step in steps if step.kind == "coat"), None)
        for step in steps:
            if step.product is None:
                continue
            need = self.need(step, self.catalogue.product(step.product), is_first=step.id == first)
            if need is not None:
                yield need
                if step.kind == "mat":
                    self.lapped[need.product] = math.fsum(layout.lap_area for layout in need.layouts)

    def need(self, step: Step, product: Product, *, is_first: bool) -> MaterialNeed | None:
        lot, words = self.lot, self.words
        basis: Basis = "cove_volume" if step.kind == "cove" else step.basis
        value = basis_value(lot.quantities, basis, lot.times)
        if value <= 0.0:
            return None
        layouts: tuple[MatLayout, ...] = ()
        pieces: tuple[Piece, ...] = ()
        in_tools = step.coats * product.left_in_tools * lot.times if step.kind == "coat" else 0.0
        if step.kind == "mat":
            layouts = self.hang(lot, step, product, words)
            theoretical, lines = value, mat_lines(layouts, step, words)
            needed = math.fsum(layout.hung_area for layout in layouts)
        else:
            if step.kind == "coat":
                theoretical, lines = self.coat(step, product, value, is_first=is_first)
            else:
                theoretical, lines = _counted(step, product, basis, value, words)
            needed = theoretical / practical_spread(1.0, loss=step.loss) + in_tools
            if product.stock_length is not None:
                pieces = _strip_pieces(lot, step, theoretical)
                needed = math.fsum(piece.length for piece in pieces)
                lines.append(_piece_words(pieces, words))
            loss, left = (0.0, 0.0) if pieces else (step.loss, in_tools)
            lines.append(_amount_words(theoretical, loss, left, needed, product.unit, words))
        return MaterialNeed(
            system=self.system.id,
            step=step.id,
            room=lot.room,
            product=product.id,
            unit=product.unit,
            basis=basis,
            basis_value=value,
            theoretical=theoretical,
            loss=step.loss,
            needed=needed,
            in_tools=in_tools,
            arithmetic=tuple(lines),
            layouts=layouts,
            pieces=pieces,
            runs=lot.runs,
            done=basis_value(lot.quantities, step.basis, lot.times),
            colour=lot.colour if product.colour_pack is not None else "",
        )

    def coat(self, step: Step, product: Product, area: float, *, is_first: bool) -> tuple[float, list[str]]:
        words, mat = self.words, mat_before(self.system, step, self.catalogue)
        extra = dict(self.system.substrate_extra).get(self.substrate, 0.0) if is_first else 0.0
        laps = self.lapped.get(mat.id, 0.0) if mat is not None and step.mat_ratio is not None else 0.0
        spread = coat_spread(step, product, mat=mat)
        litres = area * (step.coats / spread + extra) + laps * step.coats / spread
        if step.wet_film is not None:
            how = f"Wet film {words.film(step.wet_film)}"
        elif step.dry_film is not None:
            wet = wet_from_dry(step.dry_film, volume_solids=product.volume_solids)
            solids = percent(product.volume_solids)
            how = f"Dry film {words.film(step.dry_film)} at {solids} volume solids, wet film {words.film(wet)}"
        elif step.spread is not None:
            how = "Stated spread"
        else:
            mass = mat.mass_per_area if mat is not None else None
            how = f"{step.mat_ratio:g} parts of resin by mass to {(mass or 0.0) * 1000:.0f} g/m² of mat"
        coats = "1 coat" if step.coats == 1 else f"{step.coats} coats"
        taken = words.area(area) if not laps else f"({words.area(area)} + {words.area(laps)} lapped twice)"
        more = ", and the substrate's extra" if extra else ""
        lines = [f"{how}: {words.spread(spread)}.", f"{taken} × {coats} at that spread{more} = {words.volume(litres)}"]
        if extra:
            lines.append(f"The {self.substrate} takes {words.rate(extra, 'L', 'area')} more.")
        return _of_product(litres, product), lines


def _amount_words(bare: float, loss: float, in_tools: float, needed: float, unit: Unit, words: Words) -> str:
    lost = f" ÷ (1 − {loss:g})" if loss else ""
    tools = f" + {words.amount(in_tools, unit)} left in tools" if in_tools else ""
    whole = words.amount(needed, unit)
    return f"{words.amount(bare, unit)}{lost}{tools} = {whole}" if lost or tools else whole


def _counted(step: Step, product: Product, basis: Basis, value: float, words: Words) -> tuple[float, list[str]]:
    """What a step that is neither coat nor mat takes without loss, and how it came about."""
    if step.kind == "cove":
        lines = [f"Cove section × length: {words.volume(value * 1000.0)} of mortar."]
        return _of_product(value * 1000.0, product), lines
    if step.kind == "sealant":
        return _sealant(step, product, value, words)
    rate = 1.0 if step.amount is None else step.amount
    is_itself = rate == 1.0 and product.unit in ("m2", "m", "each")
    per = "" if is_itself else f" at {words.rate(rate, product.unit, basis_kind(basis))}"
    return value * rate, [f"{basis_words(basis, value, words)}{per}."]


def coat_spread(step: Step, product: Product, *, mat: Product | None = None) -> float:
    """Return the theoretical spread of one coat in m²/L, from its film, its stated spread or the mat it wets out."""
    ways = [w for w in (step.wet_film, step.dry_film, step.spread, step.mat_ratio) if w is not None]
    if len(ways) != 1:
        raise CatalogueError(
            f"the coat says {len(ways)} of wet_film, dry_film, spread and mat_ratio",
            remedy="Give exactly one.",
            where=f"step {step.id}",
        )
    if step.wet_film is not None:
        return theoretical_spread(step.wet_film)
    if step.dry_film is not None:
        return theoretical_spread(step.dry_film, volume_solids=product.volume_solids)
    if step.spread is not None:
        return step.spread
    if mat is None or mat.mass_per_area is None or product.density is None:
        raise CatalogueError(
            "mat_ratio needs a mat step before it, the mat's mass_per_area and the resin's density",
            remedy="Add what is missing, or give the coat a wet film.",
            where=f"step {step.id}",
        )
    return saturation_spread(mat.mass_per_area, ratio=step.mat_ratio or 0.0, density=product.density)


def coat_films(step: Step, product: Product | None, mat: Product | None) -> tuple[float, float, float]:
    """Wet and dry film in m and spread in m²/L of a coat, no dry film in pores; zeros for any other step."""
    if step.kind != "coat" or product is None:
        return (0.0, 0.0, 0.0)
    spread = coat_spread(step, product, mat=mat)
    wet = step.wet_film or 0.001 / spread
    dry = 0.0 if step.fills_pores else step.dry_film or wet * product.volume_solids
    return (wet, dry, spread)


def _sealant(step: Step, product: Product, length: float, words: Words) -> tuple[float, list[str]]:
    if step.amount is None:
        raise CatalogueError("the sealant has no bead", remedy='Give amount = "6 mm x 6 mm".', where=f"step {step.id}")
    litres = step.amount * length * 1000.0
    line = f"Bead of {words.section(step.amount)} × {words.length(length)} = {words.volume(litres)}"
    return _of_product(litres, product), [line]


def _piece_words(pieces: Sequence[Piece], words: Words) -> str:
    if len(pieces) == 1:
        return f"{words.length(pieces[0].length)} joined end to end from whole lengths."
    spare = sum(piece.label == "spare" for piece in pieces)
    more = f", {spare} of them spare" if spare else ""
    return f"{len(pieces)} pieces as measured{more}, the longest {words.length(max(p.length for p in pieces))}."


def _strip_pieces(lot: Lot, step: Step, length: float) -> tuple[Piece, ...]:
    """Return the pieces of a strip of so many metres in one room, spare ones for the step's loss last.

    Corners and edges of openings are pieces of their own where a face's elevation gives them and they add up to what
    was measured; an ``amount`` of two metres a metre is two pieces for each. Any other length, its loss added, is one
    piece a room, joined end to end from whole lengths and a rest.
    """
    rate = 1.0 if step.amount is None else step.amount
    measured = [piece for face in lot.faces for piece in _measured(face, step.basis)]
    repeats = max(1, round(rate))
    total = math.fsum(piece.length for piece in measured) * repeats
    if math.isclose(rate, repeats, rel_tol=CLOSE) and math.isclose(total, length, rel_tol=CLOSE):
        pieces = [piece for piece in measured for _ in range(repeats)]
    else:
        return (Piece(label=lot.room_label or lot.room, length=length / practical_spread(1.0, loss=step.loss)),)
    longest = max(pieces, key=lambda piece: piece.length)
    spare = spare_count(len(pieces), step.loss)
    return (*pieces, *(Piece(label="spare", length=longest.length) for _ in range(spare)))


def _measured(elevation: Elevation, basis: str) -> list[Piece]:
    """Return what a basis measured on a face, piece by piece; none where it does not go by pieces."""
    pieces: list[Piece] = []
    if basis in ("inside_corner_length", "outside_corner_length", "corner_length"):
        for corner in elevation.corners:
            kind = "inside" if corner.is_inside else "outside"
            if basis in (f"{kind}_corner_length", "corner_length"):
                label = f"{kind} corner"
                pieces.append(Piece(label=label, length=corner.length, face=elevation.key, at=corner.station))
    elif basis == "opening_edge_length":
        for opening in elevation.openings:
            high, wide = opening.z1 - opening.z0, opening.x1 - opening.x0
            sides = (("jamb", high), ("jamb", high), ("head", wide), *((("sill", wide),) if opening.z0 > 0.0 else ()))
            name = opening.source.mark or opening.source.kind
            pieces += [
                Piece(label=f"{name}, {side}", length=size, face=elevation.key, at=opening.x0) for side, size in sides
            ]
    return [piece for piece in pieces if piece.length > 0.0]


def _of_product(litres: float, product: Product) -> float:
    if product.unit == "L":
        return litres
    if product.unit == "kg" and product.density is not None:
        return litres * product.density
    raise CatalogueError(
        f'product "{product.id}" is sold by {product.unit} and used by volume',
        remedy="Sell it by L, or by kg with a density.",
    )


def mat_before(system: System, step: Step, catalogue: Catalogue) -> Product | None:
    """Return the mat hung last before a step, or None."""
    mat = None
    for other in system.steps:
        if other.id == step.id:
            break
        if other.kind == "mat" and other.product is not None:
            mat = catalogue.product(other.product)
    return mat
