"""Systems and products field by field, in the units of the job, and the arithmetic of a coat."""

import pytest

from takeoff.actions.catalogue_forms import product_texts, step_texts, step_words, with_product, with_step
from takeoff.actions.quantities import lots_of
from takeoff.errors import CatalogueError, InputError
from takeoff.exchange.catalogue_file import default_catalogue

CATALOGUE = default_catalogue()
GLAZE = ("mat-hygienic", "glaze")


def test_fields_are_in_the_units_of_the_job_and_fractions_in_per_cent():
    texts = step_texts(CATALOGUE.system("mat-hygienic").steps[-4], CATALOGUE, "imperial")
    assert (texts["way"], texts["much"], texts["loss"], texts["labour"]) == ("wet_film", "8 mil", "12 %", "130 ft2/h")
    metric = step_texts(CATALOGUE.system("mat-hygienic").steps[-4], CATALOGUE, "metric")
    assert metric["much"] == "203.2 um"
    product = product_texts(CATALOGUE.product("epoxy-glaze"), "imperial")
    assert product["pack1"] == "3 gal kit; 3 gal; 279; 3"
    assert product["least_temperature"] == "60 F"
    laminating = product_texts(CATALOGUE.product("laminating-epoxy"), "imperial")
    assert laminating["density"] == "9.59722 lb/gal"  # 1.15 kg/L × 3.785411784 L ÷ 0.45359237 kg (NIST Handbook 44)


@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_what_is_shown_is_taken_back_unchanged(units):
    for product in CATALOGUE.products:
        texts = product_texts(product, units)
        kept = {key: text for key, text in texts.items() if key not in ("hazards", "assumed")}
        made = with_product(CATALOGUE, product.id, {k: t for k, t in kept.items() if "days" not in k}, units)
        assert product_texts(made.product(product.id), units) == texts
    for system in CATALOGUE.systems:
        for step in system.steps:
            texts = step_texts(step, CATALOGUE, units)
            made = with_step(CATALOGUE, (system.id, step.id), {"coats": texts["coats"], "name": texts["name"]}, units)
            after = next(s for s in made.system(system.id).steps if s.id == step.id)
            assert step_texts(after, made, units) == texts


def test_another_way_of_saying_the_film_keeps_the_film():
    # 8 mil of a coat of 100 % solids: 1604.17 / 8 = 200.5 sf/gal (231 in³ to the gallon, NIST Handbook 44).
    made = with_step(CATALOGUE, GLAZE, {"way": "spread"}, "imperial")
    texts = step_texts(next(s for s in made.system(GLAZE[0]).steps if s.id == GLAZE[1]), made, "imperial")
    assert texts["way"] == "spread"
    assert float(texts["much"].removesuffix(" ft2/gal")) == pytest.approx(1604.1667 / 8, rel=1e-6)


def test_the_arithmetic_says_film_spread_and_packs_of_the_job(job, priced):
    lots = lots_of(job, priced.measured.faces, CATALOGUE)
    lines = step_words(CATALOGUE, GLAZE, lots, "imperial")
    assert lines[0].startswith("Each coat: wet film 8")
    # 1,434 sf of 104 Process and what its cove does not cover, at 200.5 sf/gal × 0.88 and 0.025 gal in tools: 8 gal.
    assert "Spread 200.5 sf/gal" in lines[1]
    assert "176.5 sf/gal" in lines[1]  # × (1 − 0.12)
    assert lines[2].startswith("This job: 8.")
    assert "2 × 1 gal kit + 2 × 3 gal kit" in lines[2]
    example = step_words(CATALOGUE, ("light-duty", "glaze"), lots, "imperial")
    # By hand: 1,000 sf ÷ 176.46 sf/gal = 5.67 gal, and 0.025 gal.
    assert example[2].startswith("1,000.0 sf (no wall of this job takes it): 5.69 gal")


def test_what_does_not_fit_is_refused_with_what_to_write():
    with pytest.raises(CatalogueError, match="film"):
        with_step(CATALOGUE, GLAZE, {"much": "8 miles"}, "imperial")
    with pytest.raises(InputError, match="not a number"):
        with_step(CATALOGUE, GLAZE, {"loss": "some"}, "imperial")
    with pytest.raises(InputError, match="not a pack"):
        with_product(CATALOGUE, "epoxy-glaze", {"pack0": "1 gal kit"}, "imperial")
    with pytest.raises(CatalogueError, match="volume solids"):
        with_product(CATALOGUE, "epoxy-glaze", {"volume_solids": "120 %"}, "imperial")


def test_a_lead_time_that_is_given_is_the_suppliers_word():
    made = with_product(CATALOGUE, "epoxy-glaze", {"lead_days": "21"}, "imperial").product("epoxy-glaze")
    assert (made.lead_days, made.assumed) == (21, ("shelf_life_days",))
