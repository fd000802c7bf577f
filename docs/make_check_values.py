"""Write docs/check-values.md: published and derived values beside what the program gives.

``python docs/make_check_values.py``. The stated value is written here by hand from its source; the other column comes
from the program. A value agrees when the program's, rounded to the digits stated, is the stated one.
"""

from __future__ import annotations

import json
import math
import sys
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from takeoff import units
from takeoff.estimate.bill import margin_of_markup, markup_of_margin
from takeoff.estimate.climate import dew_point, scale_time
from takeoff.estimate.labour import burdened_rate
from takeoff.exchange.catalogue_units import read_figure
from takeoff.geometry.cove import cove_girth, cove_section, fillet_section
from takeoff.measure.rules import RULES, RuledFace, RuledOpening
from takeoff.model.plan import KnownDimension
from takeoff.model.systems import Rates
from takeoff.sheet.calibrate import fit_calibration
from takeoff.sheet.scales import parse_scale_note
from takeoff.system.cutting import pack_lengths
from takeoff.system.hanging import drop_count
from takeoff.system.mat import practical_spread, saturation_spread, theoretical_spread, wet_from_dry

ROOT = Path(__file__).parents[1]
PAGE = Path(__file__).parent / "check-values.md"
HANDBOOK = "NIST Handbook 44, Appendix C"
DERIVED = "derived"


@dataclass(frozen=True)
class Value:
    """One value: what it is, as its source states it, the source, and the program's."""

    what: str
    stated: str
    source: str
    program: float

    @property
    def digits(self) -> int:
        """Decimals that the stated value has."""
        return len(self.stated.partition(".")[2])

    @property
    def agrees(self) -> bool:
        """Whether the program's value rounds to the stated one."""
        return abs(self.program - float(self.stated)) <= 0.5 * 10.0**-self.digits * (1 + 1e-9)


def us_spread(film_mil: float, solids: float = 1.0) -> float:
    """Spread in ft²/gal."""
    return theoretical_spread(film_mil * units.MIL, volume_solids=solids) / units.SQUARE_FOOT * units.US_GALLON_LITRES


def unit_values() -> list[Value]:
    """Exact factors."""
    cubic_inch = units.INCH**3 * 1000.0
    return [
        Value("US gallon in cubic inches", "231", f"{HANDBOOK}, capacity", units.US_GALLON_LITRES / cubic_inch),
        Value("US gallon, L", "3.785411784", f"{DERIVED}: 231 × 2.54³ / 1000", units.US_GALLON_LITRES),
        Value(
            "cubic foot in US gallons", "7.480519", f"{DERIVED}: 1728 / 231", 1728 * cubic_inch / units.US_GALLON_LITRES
        ),
        Value("square foot, m²", "0.09290304", f"{DERIVED}: 0.3048²", units.SQUARE_FOOT),
        Value(
            "1 oz/ft², g/m²",
            "305.1517",
            f"{DERIVED}: 28.349523125 / 0.09290304",
            read_figure("mass per area", "1 oz/ft2") * 1000,
        ),
        Value(
            "1 lb/US gal, kg/L",
            "0.11982643",
            f"{DERIVED}: 0.45359237 / 3.785411784",
            read_figure("density", "1 lb/gal"),
        ),
        Value("12'-6 1/2\", m", "3.8227", f"{DERIVED}: 150.5 × 0.0254", units.parse_length("12'-6 1/2\"")),
        Value('1/4" = 1\'-0", m per point', "0.016933", f"{DERIVED}: 0.3048 / 18", parse_scale_note('1/4" = 1\'-0"')),
        Value("1:50, m per point", "0.01763889", f"{DERIVED}: 50 × 0.0254 / 72", parse_scale_note("1:50")),
    ]


def coating_values() -> list[Value]:
    """Spread, films, loss."""
    gallons = 1000 * units.SQUARE_FOOT / practical_spread(theoretical_spread(16 * units.MIL), loss=0.12)
    return [
        Value("spread at 1 mil, 100 % solids, ft²/gal", "1604.1667", f"{DERIVED}: 231 / 0.001 / 144", us_spread(1.0)),
        Value(
            "spread at 5 mil dry, 65 % solids, ft²/gal",
            "208.54",
            f"{DERIVED}: 1604.1667 × 0.65 / 5",
            us_spread(5, 0.65),
        ),
        Value(
            "spread at 125 µm dry, 65 % solids, m²/L",
            "5.2",
            f"{DERIVED}: 1000 × 0.65 / 125",
            theoretical_spread(125e-6, volume_solids=0.65),
        ),
        Value("spread at 8 mil wet, ft²/gal", "200.52", f"{DERIVED}: 1604.1667 / 8", us_spread(8)),
        Value(
            "wet film for 2.8 mil dry at 35 % solids, mil",
            "8.0",
            "MIL-HDBK-1110 (UFC 3-190-06), Procedure 13",
            wet_from_dry(2.8, volume_solids=0.35),
        ),
        Value(
            "spread of 100 after a loss of 30 %",
            "70",
            f"{DERIVED}: 100 × (1 − 0.30)",
            practical_spread(100.0, loss=0.30),
        ),
        Value(
            "1000 ft² at 16 mil, loss 12 %, gal",
            "11.33412",
            f"{DERIVED}: 9.97403 / 0.88",
            gallons / units.US_GALLON_LITRES,
        ),
        Value(
            "resin for 450 g/m² of mat at 2 : 1, 1.15 kg/L, L/m²",
            "0.78261",
            f"{DERIVED}: 0.9 / 1.15",
            1 / saturation_spread(0.45, ratio=2.0, density=1.15),
        ),
        Value(
            "drops round 20 m, roll 1.27 m, lap 0.05 m",
            "17",
            f"{DERIVED}: 20 / 1.22 = 16.39, rounded up",
            drop_count(20.0, width=1.27, lap=0.05, is_closed=True),
        ),
        Value(
            "rolls of 50 m for 17 drops of 8.50 m",
            "4",
            f"{DERIVED}: five drops from a roll",
            len(pack_lengths([8.5] * 17, 50.0).bins),
        ),
    ]


def cove_values() -> list[Value]:
    """Girth and sections of coves."""
    inch = units.INCH
    return [
        Value("fillet section, r = 1 in, mm²", "138.4525", f"{DERIVED}: (1 − π/4) × 25.4²", fillet_section(inch) * 1e6),
        Value(
            "100 ft of that fillet, US gal",
            "1.114815",
            f"{DERIVED}: 0.214602 × 1200 / 231",
            fillet_section(inch) * 30.48 * 1000 / units.US_GALLON_LITRES,
        ),
        Value(
            "girth, h = t = 4 in, r = 1 in, in",
            "7.570796",
            f"{DERIVED}: 3 + 3 + π/2",
            cove_girth(4 * inch, 4 * inch, inch) / inch,
        ),
        Value(
            "section, h = t = 100 mm, r = 25 mm, b = 6 mm, L/m",
            "1.298126",
            f"{DERIVED}: 1.164 + 0.134126",
            cove_section(0.1, 0.1, 0.025, 0.006) * 1000,
        ),
    ]


def climate_values() -> list[Value]:
    """Dew point and time by temperature."""
    return [
        Value("dew point, 20 °C and 50 %, °C", "9.2552", f"{DERIVED} from WMO No. 8, Annex 4.B", dew_point(20.0, 0.5)),
        Value("dew point, 25 °C and 60 %, °C", "16.6931", f"{DERIVED} from WMO No. 8, Annex 4.B", dew_point(25.0, 0.6)),
        Value("dew point, 30 °C and 80 %, °C", "26.1688", f"{DERIVED} from WMO No. 8, Annex 4.B", dew_point(30.0, 0.8)),
        Value(
            "30 min at 25 °C, at 15 °C, min",
            "60.0",
            f"{DERIVED}: doubles per 10 °C",
            scale_time(30.0, stated_at=25.0, temperature=15.0),
        ),
        Value(
            "30 min at 25 °C, at 30 °C, min",
            "21.2132",
            f"{DERIVED}: 30 / √2",
            scale_time(30.0, stated_at=25.0, temperature=30.0),
        ),
    ]


def price_values() -> list[Value]:
    """Rates, markup, margin, scale uncertainty."""
    forty_feet = KnownDimension(start_pt=(0, 0), end_pt=(360, 0), length=40 * units.FOOT)
    return [
        Value(
            "45.00 an hour with a burden of 35 %",
            "60.75",
            f"{DERIVED}: 45 × 1.35",
            burdened_rate(Rates(wage=45.0, burden=0.35)),
        ),
        Value("margin of a markup of 25 %", "0.2", "definition: m / (1 + m)", margin_of_markup(0.25)),
        Value("markup of a margin of 20 %", "0.25", "definition: g / (1 − g)", markup_of_margin(0.2)),
        Value(
            "uncertainty of a scale from 360 points, picks ± 0.5, %",
            "0.19641855",
            "JCGM 100:2008, 5.1.2 equation (10): √2 × 0.5 / 360",
            fit_calibration(1, [forty_feet]).u_scale * 100,
        ),
    ]


def rule_values() -> list[Value]:
    """Every rule on the test wall, as tests/cases/rules.json states it."""
    cases = json.loads((ROOT / "tests" / "cases" / "rules.json").read_text(encoding="utf-8"))
    names = {"D": 0.78, "W1": 1.05, "W2": 0.42, "L": 1.08}
    openings = tuple(
        RuledOpening(area=o["width"] * o["height"], touches_edge="sill" not in o, returns=names[name])
        for name, o in cases["openings"].items()
    )
    face = RuledFace(gross=60.0, net=60.0 - math.fsum(o.area for o in openings), openings=openings)
    return [
        Value(
            f"`{case['rule']}` on the test wall, m²",
            f"{case['area']:.2f}",
            f"{case['source']}: {case['working']}".replace("m2", "m²"),
            RULES[case["rule"]].measured_area(face),
        )
        for case in cases["on_the_test_wall"]
    ]


GROUPS = (
    ("Units and scales", unit_values),
    ("Spread, films, loss, mat", coating_values),
    ("Cove", cove_values),
    ("Climate", climate_values),
    ("Scale uncertainty and price", price_values),
    ("Measuring rules", rule_values),
)

HEAD = """# Check values

This page is made by `docs/make_check_values.py`. The stated value was written by hand from its source, or derived from
a definition with the arithmetic shown; the third column is what the program gives. A test makes the page again,
compares it, and fails where a value does not agree to the digits stated. Where a limit is quoted from memory, the
source says so.
"""


def all_values() -> list[Value]:
    """Return every value of the page."""
    return [value for _, values in GROUPS for value in values()]


def page() -> str:
    """Return the page's text."""
    parts = [HEAD]
    for title, values in GROUPS:
        parts.append(f"\n## {title}\n\n| what | stated | program | source |\n| --- | --- | --- | --- |")
        parts += [
            f"| {v.what} | {v.stated} | {v.program:.{v.digits}f}{'' if v.agrees else ' DIFFERS'} | {v.source} |"
            for v in values()
        ]
    return "\n".join(parts) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
