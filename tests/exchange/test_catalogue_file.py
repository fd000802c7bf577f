import re
from dataclasses import replace

import jsonschema
import pytest

from takeoff.errors import CatalogueError
from takeoff.exchange.catalogue_file import (
    LARGEST_FILE,
    catalogue_schema,
    default_catalogue,
    default_catalogue_text,
    read_catalogue,
)
from takeoff.model.systems import Labour, Rates
from takeoff.system.buildup import coat_spread

SMALL = """
schema = "takeoff.catalogue/1"
name = "Small"
currency = "EUR"
[[products]]
id = "resin"
name = "Resin"
unit = "L"
packs = [{ name = "kit", size = "3 gal", price = 264 }]
[[systems]]
id = "wall"
name = "Wall"
substrate_extra = { block = "0.15 L/m2" }
steps = [
    { id = "prime", name = "Prime", kind = "coat", basis = "net_area", product = "resin", wet_film = "8 mil", labour = "100 ft2/h" },
    { id = "top", name = "Top", kind = "coat", basis = "net_area", product = "resin", spread = "5 m2/L", loss = 0.12, min_recoat = "30 min", max_recoat = "2 d" },
    { id = "corners", name = "Corners", kind = "work", basis = "cove_inside_corners", labour = "15 min/each" },
]
"""  # noqa: E501


def refusal(text):
    with pytest.raises(CatalogueError) as caught:
        read_catalogue(text.encode())
    assert caught.value.remedy
    return caught.value


def test_a_small_catalogue_is_read_into_si_units():
    catalogue = read_catalogue(SMALL.encode())
    prime, top, corners = catalogue.system("wall").steps
    assert prime.wet_film == pytest.approx(203.2e-6)
    assert prime.labour == Labour(rate=pytest.approx(9.290304))
    assert (top.spread, top.loss, top.min_recoat, top.max_recoat) == (5.0, 0.12, 0.5, 48.0)
    assert corners.labour == Labour(minutes=15.0)
    assert catalogue.product("resin").packs[0].size == pytest.approx(11.356235352)
    assert catalogue.system("wall").substrate_extra == (("block", 0.15),)
    assert (catalogue.currency, replace(catalogue.rates, assumed=())) == ("EUR", Rates())
    assert catalogue.rates.not_given == ("wage", "burden", "setup_hours", "contingency", "overhead", "profit")


def test_work_that_height_does_not_slow_is_read_as_such():
    for labour in ("100 ft2/h", "15 min/each"):
        text = SMALL.replace(f'labour = "{labour}"', f'labour = "{labour}", height_factor = false')
        steps = read_catalogue(text.encode()).system("wall").steps
        assert [s.labour.height_factor for s in steps if s.labour] == [labour != "100 ft2/h", labour == "100 ft2/h"]


def test_a_catalogue_is_read_from_a_path_as_from_its_bytes(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(SMALL, encoding="utf-8")
    assert read_catalogue(path) == read_catalogue(SMALL.encode())


@pytest.mark.parametrize(
    ("old", "new", "where", "found"),
    [
        ("loss = 0.12", "lost = 0.12", "systems[0].steps[1] (wall, top)", 'no key "lost": did you mean "loss"?'),
        ('kind = "work"', 'kind = "magic"', "systems[0].steps[2].kind (wall, corners)", "magic"),
        ("price = 264", 'price = "264"', "products[0].packs[0].price (resin, kit)", "expected a number, got a text"),
        ('unit = "L"', 'unit = "barrel"', "products[0].unit (resin)", "barrel"),
        ("{ block = ", "{ jelly = ", "systems[0].substrate_extra (wall)", '"jelly" is not one of block, board'),
        ('basis = "cove_ins', 'direction = "round", basis = "cove_ins', "systems[0].steps[2].direction (wall, corners)",
         '"round" is not one of along, up'),
        ('basis = "cove_inside', 'basis = "acres', "systems[0].steps[2].basis (wall, corners)", "one of base_length"),
        ('currency = "EUR"', "", "", 'the key "currency" is missing'),
        ("takeoff.catalogue/1", "takeoff.catalogue/9", "schema", "takeoff.catalogue/9"),
        ('"8 mil"', '"8 miles"', "system wall, step prime, wet_film", '"8 miles" is not a film'),
        ('"3 gal"', '"3 kg"', 'product resin, pack "kit", size', '"3 kg" is not a size in L'),
        ('"100 ft2/h"', '"100 ft/h"', "system wall, step prime, labour", "is not a rate of area"),
        ('"100 ft2/h"', '"9 min/each"', "system wall, step prime, labour", "counted by net_area"),
        ('"30 min"', '"soon"', "system wall, step top, min_recoat", "is not a time"),
        ('"30 min"', '"3 d"', "system wall, step top", "min_recoat of 72 h is more than max_recoat"),
        ('wet_film = "8 mil"', 'amount = "1 L/m2"', "system wall, step prime", "no film"),
        ('product = "resin", wet', 'product = "x", wet', "system wall, step prime", 'product "x" is not in'),
        ('"0.15 L/m2"', '"some"', "system wall, substrate_extra.block", "is not a volume per area"),
        ('labour = "15 min/each"', 'amount = "1 each/each"', "system wall, step corners, amount", "no product"),
    ],
)  # fmt: skip
def test_faults_are_refused_with_their_place(old, new, where, found):
    assert old in SMALL
    error = refusal(SMALL.replace(old, new, 1))
    assert re.sub(r"^line \d+, ", "", error.where) == where
    assert found in error.message


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("loss = 0.12", "lost = 0.12"),
        ('"8 mil"', '"8 miles"'),
        ('"3 gal"', '"3 kg"'),
        ('"0.15 L/m2"', '"some"'),
        ("wage = 50", "wage = -50"),
        ("wage = 50", 'wage = "much"'),
        ("wage = 50", "wage = "),
    ],
)
def test_a_fault_is_refused_with_the_file_and_the_line(tmp_path, old, new):
    text = SMALL + "[rates]\nwage = 50\n"
    path = tmp_path / "own.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(CatalogueError) as caught:
        read_catalogue(path)
    line = next(n for n, words in enumerate(text.splitlines(), start=1) if old in words)
    assert str(caught.value).startswith(f"{path}")
    assert f"line {line}," in str(caught.value)


def test_a_fault_in_a_table_written_out_is_refused_with_its_own_line():
    text = (
        SMALL.partition("[[systems]]")[0]
        + """[[systems]]
id = "wall"
name = "Wall"
[[systems.steps]]
id = "prime"
name = "Prime"
kind = "work"
basis = "net_area"
[[systems.steps]]
id = "top"
name = "Top"
kind = "coat"
basis = "net_area"
product = "resin"
wet_film = "8 miles"
"""
    )
    line = text.splitlines().index('wet_film = "8 miles"') + 1
    assert refusal(text).where == f"line {line}, system wall, step top, wet_film"


def test_what_is_no_toml_or_no_text_is_refused():
    assert "not TOML" in refusal("schema = ").message
    with pytest.raises(CatalogueError, match="not UTF-8"):
        read_catalogue(b"\xff\xfe\x00")


def test_a_file_that_is_missing_or_far_too_large_is_refused(tmp_path):
    with pytest.raises(CatalogueError, match=r"none\.toml.*cannot be read"):
        read_catalogue(tmp_path / "none.toml")
    with pytest.raises(CatalogueError, match="bytes long"):
        read_catalogue(b"#" * (LARGEST_FILE + 1))


def test_rates_are_taken_from_the_file_where_it_gives_them():
    text = SMALL + '[rates]\nwage = 50\nprofit_basis = "margin"\nheight_factors = [["0 ft", 1.0], ["10 ft", 1.2]]\n'
    rates = read_catalogue(text.encode()).rates
    assert (rates.wage, rates.profit_basis, rates.crew) == (50.0, "margin", Rates().crew)
    assert rates.height_factors == ((0.0, 1.0), (pytest.approx(3.048), 1.2))


def test_the_shipped_catalogue_holds_the_usual_systems_and_says_that_its_prices_are_examples():
    catalogue = default_catalogue()
    assert {
        "mat-hygienic", "mat-urethane", "mat-polyaspartic", "thin-film", "flake-wall", "block-filled", "cove-only",
        "sheet-panel",
    } <= {system.id for system in catalogue.systems}  # fmt: skip
    assert any("example" in note for note in catalogue.notes)


def test_shipped_glaze_goes_on_at_about_200_square_feet_a_gallon():
    # Common practice for a glaze of 100 % solids: 8 mil, 1604 / 8.
    catalogue = default_catalogue()
    step = next(s for s in catalogue.system("mat-hygienic").steps if s.id == "glaze")
    assert coat_spread(step, catalogue.product("epoxy-glaze")) * 40.745833 == pytest.approx(200, rel=0.01)


def test_shipped_reinforced_systems_follow_the_usual_days():
    # Common practice: prime; base coat, mat and saturating coat; sand and top coat.
    for id in ("mat-hygienic", "mat-urethane", "mat-polyaspartic"):
        days = {step.id: step.day for step in default_catalogue().system(id).steps}
        assert (days["prime"], days["base"], days["mat"], days["saturate"], days["sand"]) == (1, 2, 2, 2, 3)
        assert all(step.day for step in default_catalogue().system(id).steps)


def test_every_shipped_product_is_used_and_hazards_are_named():
    catalogue = default_catalogue()
    used = {step.product for system in catalogue.systems for step in system.steps if step.product}
    assert {product.id for product in catalogue.products} == used
    for product in catalogue.products:
        name = product.name.lower()
        assert ("isocyanate" in product.hazards) == ("urethane" in name or "polyaspartic" in name)
        assert ("epoxy" in product.hazards) == ("epoxy" in name)


def test_the_schema_accepts_the_shipped_catalogue_and_refuses_unknown_keys():
    import tomllib

    raw = tomllib.loads(default_catalogue_text())
    jsonschema.validate(raw, catalogue_schema())
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**raw, "colour": "blue"}, catalogue_schema())
