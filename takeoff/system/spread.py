"""How far a litre goes: theoretical and practical spread, wet and dry film, resin for mat.

Films in metres, spread in m²/L, losses and volume solids as fractions, mass per area kg/m², density kg/L.
"""

from __future__ import annotations

import math

from takeoff.errors import CatalogueError


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
