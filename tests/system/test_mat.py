import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.errors import CatalogueError
from takeoff.system.mat import practical_spread, saturation_spread, theoretical_spread, wet_from_dry

MIL = 25.4e-6
FT2_PER_GAL = 40.745833  # 1 m2/L in ft2/gal: 10.7639104 x 3.785411784
CASES = json.loads((Path(__file__).parents[1] / "cases" / "spread.json").read_text())["cases"]


def needed_volume(area, spread, *, loss):
    return area / practical_spread(spread, loss=loss)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["source"][:40])
def test_theoretical_spread_agrees_with_published_figures(case):
    spread = theoretical_spread(case["mil"] * MIL, volume_solids=case["volume_solids"]) * FT2_PER_GAL
    assert spread == pytest.approx(case["ft2_per_gal"], abs=case["within"])


def test_metric_spread_of_125_micrometres_at_65_percent_is_5_2():
    # Published spreading-rate note: 10 x 65 / 125.
    assert theoretical_spread(125e-6, volume_solids=0.65) == pytest.approx(5.2)


def test_wet_film_for_2_8_mil_dry_at_35_percent_is_8_mil():
    # Published worked example; the law is MIL-HDBK-1110 (1996), Procedure 13.
    assert wet_from_dry(2.8 * MIL, volume_solids=0.35) == pytest.approx(8.0 * MIL)


def test_loss_of_30_percent_leaves_70_of_a_spread_of_100():
    # Published definition of practical coverage.
    assert practical_spread(100.0, loss=0.30) == pytest.approx(70.0)


def test_thousand_square_feet_at_16_mil_with_12_percent_loss_take_11_334_gallons():
    # Derived: 1000 x 16 / 1604.1667 = 9.97403; / 0.88 = 11.33412 gal = 42.9043 L.
    litres = needed_volume(92.90304, theoretical_spread(16 * MIL), loss=0.12)
    assert litres == pytest.approx(42.9043, abs=1e-4)
    assert litres / 3.785411784 == pytest.approx(11.33412, abs=1e-5)


def test_consumption_factor_of_30_percent_loss_is_1_428571():
    # Published factor 1 / (1 - L), not 1 + L.
    assert needed_volume(1.0, 1.0, loss=0.30) == pytest.approx(1.428571, abs=1e-6)


@pytest.mark.parametrize(("mass", "litres"), [(0.450, 0.78261), (0.225, 0.391304)])
def test_mat_takes_twice_its_mass_of_resin(mass, litres):
    # Derived from a published 2 : 1 ratio and a density of 1.15 kg/L: 2 x 450 / 1150; 52.064 ft2/gal.
    assert 1 / saturation_spread(mass, ratio=2.0, density=1.15) == pytest.approx(litres, abs=1e-5)


def test_mat_of_450_grams_spreads_52_square_feet_a_gallon():
    assert saturation_spread(0.450, ratio=2.0, density=1.15) * FT2_PER_GAL == pytest.approx(52.064, abs=1e-3)


@given(st.floats(1e-6, 0.02), st.floats(0.05, 1.0))
def test_dry_film_spreads_as_far_as_the_wet_film_it_comes_from(dry, solids):
    wet = wet_from_dry(dry, volume_solids=solids)
    assert theoretical_spread(wet) == pytest.approx(theoretical_spread(dry, volume_solids=solids))


@given(st.floats(0, 1e5), st.floats(0.1, 50), st.floats(0, 0.9))
def test_what_is_needed_less_its_loss_covers_the_area(area, spread, loss):
    assert needed_volume(area, spread, loss=loss) * (1 - loss) * spread == pytest.approx(area)


@pytest.mark.parametrize("film", [0.0, -1e-4, float("nan"), float("inf")])
def test_impossible_films_are_refused(film):
    with pytest.raises(CatalogueError, match="film"):
        theoretical_spread(film)
    with pytest.raises(CatalogueError, match="dry film"):
        wet_from_dry(film, volume_solids=0.5)


@pytest.mark.parametrize("solids", [0.0, 1.01, -0.5, 65.0])
def test_volume_solids_outside_their_range_are_refused(solids):
    with pytest.raises(CatalogueError, match="volume solids"):
        theoretical_spread(1e-4, volume_solids=solids)


@pytest.mark.parametrize("loss", [1.0, -0.1, 12.0])
def test_losses_outside_their_range_are_refused(loss):
    with pytest.raises(CatalogueError, match="loss"):
        needed_volume(1.0, 1.0, loss=loss)
