"""What a mat step takes in one room, the drops of every face in words, and how far a litre of a product goes.

Films in metres, spread in m²/L, losses and volume solids as fractions, mass per area kg/m², density kg/L.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable
from dataclasses import replace

from takeoff.errors import CatalogueError, InputError
from takeoff.model.cut_lists import Drop, MatLayout
from takeoff.model.figures import Elevation, Lot
from takeoff.model.systems import Product, Step
from takeoff.system.hanging import SLACK, hang_mat
from takeoff.system.words import METRIC_FIRST, Words, percent


def theoretical_spread(film: float, *, volume_solids: float = 1.0) -> float:
    """Return the spread in m²/L of a film, 1000 V / t(µm).

    With V = 1 the film is the wet film; with the volume solids it is the dry film. The same law in US units is
    1604.1667 V / t(mil) ft²/gal, from 231 in³ to the gallon (NIST Handbook 44, Appendix C).

    Examples
    --------
    >>> round(theoretical_spread(125e-6, volume_solids=0.65), 6)
    5.2
    """
    _check_positive(film, "film")
    _check_solids(volume_solids)
    return volume_solids * 0.001 / film


def wet_from_dry(dry_film: float, *, volume_solids: float) -> float:
    """Return the wet film in m that dries to ``dry_film``, DFT / V.

    DFT = WFT × volume solids is Procedure 13 of MIL-HDBK-1110 (UFC 3-190-06, 1996).

    Examples
    --------
    >>> round(wet_from_dry(2.8, volume_solids=0.35), 6)
    8.0
    """
    _check_positive(dry_film, "dry film")
    _check_solids(volume_solids)
    return dry_film / volume_solids


def practical_spread(spread: float, *, loss: float) -> float:
    """Return the spread left after ``loss``, TSR × (1 − L), in the unit of ``spread``: loss divides what is needed.

    Examples
    --------
    >>> round(practical_spread(100.0, loss=0.30), 6)
    70.0
    """
    if not 0.0 <= loss < 1.0:
        raise CatalogueError(f"a loss of {loss:g}", remedy="Give a fraction from 0 to less than 1, such as 0.12.")
    return spread * (1.0 - loss)


def saturation_spread(mass_per_area: float, *, ratio: float, density: float) -> float:
    """Return the spread in m²/L of the resin that wets out a mat.

    ``ratio``: mass of resin per mass of mat; 2 to 2.5 for chopped strand mat laid by hand (common practice).

    Examples
    --------
    A mat of 450 g/m² at two parts resin to one of glass takes 0.783 L/m²:

    >>> round(1 / saturation_spread(0.450, ratio=2.0, density=1.15), 5)
    0.78261
    """
    _check_positive(mass_per_area, "mat mass per area")
    _check_positive(ratio, "resin to mat ratio")
    _check_positive(density, "resin density")
    return density / (mass_per_area * ratio)


def _check_positive(value: float, name: str) -> None:
    if not (math.isfinite(value) and value > 0.0):
        raise CatalogueError(f"a {name} of {value:g}", remedy="Give a number above zero.")


def _check_solids(volume_solids: float) -> None:
    if not 0.0 < volume_solids <= 1.0:
        raise CatalogueError(
            f"volume solids of {volume_solids:g}", remedy="Give a fraction above 0 and up to 1, such as 0.65."
        )


Hang = Callable[[Lot, Step, Product, Words], tuple[MatLayout, ...]]
SPARE = "spare"
"""What spare drops have for a face."""


def hang_lot(lot: Lot, step: Step, product: Product, words: Words = METRIC_FIRST) -> tuple[MatLayout, ...]:
    """Hang a mat step's drops on every face of a lot; spare drops for the step's loss come last, in a layout of theirs.

    ``step`` and ``product``: the mat step and the roll it is hung from. Mat run along is joined where a band is longer
    than the longest roll. Raises `InputError` when the lot has no faces, or mat run along is to be hung around
    openings.
    """
    if product.width is None:
        raise CatalogueError("a mat needs the width of its roll", remedy='Give width = "50 in".', where=product.id)
    if not lot.faces:
        raise InputError(
            f"room {lot.room_label or lot.room} has {words.area(lot.quantities.coated_area)} for mat and no faces to"
            " hang it on",
            remedy="Measure the room again.",
        )
    longest = max((pack.size / product.width for pack in product.packs), default=math.inf)
    layouts = []
    for elevation in lot.faces:
        if elevation.net.is_empty:
            continue
        layout = hang_mat(elevation, step, width=product.width, longest=longest)
        layouts.append(_with_returns(layout, elevation, longest) if step.basis == "coated_area" else layout)
    drops = [drop for layout in layouts for drop in layout.pieces]
    spare = spare_count(len(drops), step.loss)
    if spare:
        layouts.append(_spare(spare, max(drop.length for drop in drops), product.width))
    return tuple(layouts)


def _with_returns(layout: MatLayout, elevation: Elevation, longest: float) -> MatLayout:
    """Add the pieces for a face's coated returns, joined with a lap where one is longer than ``longest`` m.

    Each laps onto the mat of the face, whose layout tells roll width and lap (common practice, no source).
    """
    lap = layout.lap
    pieces: list[Drop] = []
    seams = 0.0
    starts = {o.index: o.x0 for o in reversed(elevation.openings)}
    for strip in elevation.returns:
        at = 0.0 if strip.opening is None else starts.get(strip.opening, 0.0)
        across = max(1, math.ceil(strip.depth / (layout.roll_width - lap) - SLACK))
        along = 1 if strip.length <= longest else math.ceil(strip.length / (longest - lap) - SLACK)
        width = strip.depth / across + lap
        length = strip.length / along + (lap if along > 1 else 0.0)
        seams += strip.length * across + strip.depth * (along - 1)
        pieces += [
            Drop(
                face=elevation.key,
                number=len(layout.drops) + len(pieces) + n + 1,
                x0=at,
                x1=at + width,
                z0=strip.low,
                z1=strip.low + length,
                length=length,
                width=width,
                is_short=True,
            )
            for n in range(across * along)
        ]
    return replace(
        layout,
        returns=tuple(pieces),
        seam_length=layout.seam_length + seams,
        net_area=layout.net_area + math.fsum(strip.area for strip in elevation.returns),
    )


def spare_count(count: int, loss: float) -> int:
    """Return how many pieces more are cut so that ``count`` are left where a fraction is spoiled.

    Examples
    --------
    >>> spare_count(18, 0.1), spare_count(18, 0.0)
    (2, 0)
    """
    return math.ceil(count / practical_spread(1.0, loss=loss) * (1 - 1e-9)) - count if count else 0


def mat_lines(layouts: tuple[MatLayout, ...], step: Step, words: Words) -> list[str]:
    """Write how the drops of a room came about, a line a face."""
    lines = []
    for layout in layouts:
        face = layout.drops[0].face if layout.drops else ""
        if face == SPARE:
            longest = words.length(layout.drops[0].length)
            lines.append(f"A loss of {percent(step.loss)}: {len(layout.drops)} more at the longest, {longest}.")
        elif face:
            lines.append(f"Face {face}: {_face_words(layout, step, words)}")
    hung = math.fsum(layout.hung_area for layout in layouts)
    net = math.fsum(layout.net_area for layout in layouts)
    count = sum(len(layout.drops) for layout in layouts)
    backs = sum(len(layout.returns) for layout in layouts)
    pieces = f" and {backs} piece{'s' * (backs != 1)} for coated returns" if backs else ""
    hangs = f"{words.area(hung)} of mat, laps and trims included, for {words.area(net)}"
    lines.append(f"{count} {_noun(count)}{pieces}: {hangs}.")
    return lines


def _face_words(layout: MatLayout, step: Step, words: Words) -> str:
    lengths = Counter(round(drop.length, 3) for drop in layout.drops)
    most = ", ".join(f"{n} of {words.length(length)}" for length, n in lengths.most_common(3))
    rest = sum(lengths.values()) - sum(n for _, n in lengths.most_common(3))
    count = len(layout.drops)
    said = [f"{count} {_noun(count)}{' run along' if step.direction == 'along' else ''}: {most}"]
    if rest:
        said[0] += f", {rest} of other lengths"
    short = sum(drop.is_short for drop in layout.drops)
    if short:
        said.append(f"{short} of them short, over or under openings")
    if layout.offcuts:
        pieces = "1 piece comes" if len(layout.offcuts) == 1 else f"{len(layout.offcuts)} pieces come"
        said.append(f"{pieces} free at openings")
    said.append(f"{words.length(layout.seam_length)} of joints lapped {words.width(layout.lap)}")
    return "; ".join(said)


def _noun(count: int) -> str:
    return "drop" if count == 1 else "drops"


def _spare(count: int, length: float, width: float) -> MatLayout:
    drops = tuple(
        Drop(face=SPARE, number=n, x0=0.0, x1=width, z0=0.0, z1=length, length=length, width=width)
        for n in range(1, count + 1)
    )
    return MatLayout(roll_width=width, drops=drops, offcuts=(), seam_length=0.0, lap=0.0, net_area=0.0)
