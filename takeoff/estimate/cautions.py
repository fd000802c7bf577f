"""What an estimate warns of, in whole sentences: always the general cautions, and those of the products in use."""

from __future__ import annotations

from collections.abc import Iterable

from takeoff.model.systems import Hazard

_GENERAL = (
    "These quantities come from drawings, not from the site: check dimensions, substrates and openings before "
    "ordering.",
    "Follow the safety data sheet and the written instructions of each product in use, and the codes and authorities "
    "in force where the work is; where they differ from this report, they govern.",
    "Apply only within the stated temperature, humidity, moisture and dew-point limits.",
    "Test old coatings for lead and asbestos before they are sanded or ground.",
    "Work at height needs proper access and fall protection.",
    "Treat tanks, pits and closed rooms as possible confined spaces.",
)
_BY_HAZARD: tuple[tuple[Hazard, str], ...] = (
    (
        "silica",
        "Sanding or grinding concrete, block, plaster or filled coatings can release crystalline silica: use dust "
        "controls and respirators as the law requires.",
    ),
    (
        "epoxy",
        "Uncured epoxies and their amine hardeners can cause lasting skin allergy: keep them off skin, ventilate, and "
        "wear the protection that the data sheet names.",
    ),
    (
        "isocyanate",
        "Isocyanates can cause asthma, serious and lasting: ventilate, use the respirator that the data sheet names, "
        "cover skin, and keep sensitised people away.",
    ),
    (
        "solvent",
        "Solvent vapour burns and harms: ventilate, keep ignition away, and use the protection that the data sheet "
        "names.",
    ),
)
ESTIMATE_ONLY = "This report is an estimate, not a guarantee."
"""What a report says of itself, and a bid does not."""
_CLOSING = ("Structural, fire, hygiene and electrical questions belong to licensed people.", ESTIMATE_ONLY)


def usual_cautions(hazards: Iterable[Hazard]) -> tuple[str, ...]:
    """Return the cautions for work with products of these hazards; the general ones are always among them.

    Examples
    --------
    >>> any("Isocyanates" in sentence for sentence in usual_cautions(["isocyanate"]))
    True
    >>> any("Isocyanates" in sentence for sentence in usual_cautions([]))
    False
    """
    present = set(hazards)
    return (*_GENERAL, *(text for hazard, text in _BY_HAZARD if hazard in present), *_CLOSING)
