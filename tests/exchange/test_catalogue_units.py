import pytest

from takeoff.errors import CatalogueError, InputError
from takeoff.exchange import catalogue_units as read
from takeoff.units import Display


@pytest.mark.parametrize(
    ("found", "value"),
    [
        # Factors from the definitions: 1 mil = 25.4 µm, 1 gal = 3.785411784 L, 1 ft = 0.3048 m, 1 lb = 0.45359237 kg
        (read.read_figure("film", "8 mil"), 203.2e-6),
        (read.read_figure("film", "200 um"), 200e-6),
        (read.read_figure("film", "0.5 mm"), 500e-6),
        (read.read_figure("spread", "5 m2/L"), 5.0),
        (read.read_figure("spread", "40.745833 ft2/gal"), 1.0),
        (read.read_size("3 gal", "L"), 11.356235352),
        (read.read_size("128 fl oz", "L"), 3.785411784),
        (read.read_size("4 qt", "L"), 3.785411784),
        (read.read_size("1 ft3", "L"), 28.316846592),
        (read.read_size("600 mL", "L"), 0.6),
        (read.read_size("40 lb", "kg"), 18.1436948),
        (read.read_size("625 ft2", "m2"), 58.0644),
        (read.read_size("150 ft", "m"), 45.72),
        (read.read_size("50 each", "each"), 50.0),
        (read.read_length("50 in"), 1.27),
        (read.read_length("12'-6\""), 3.81),
        (read.read_section("6 mm x 6 mm"), 36e-6),
        (read.read_section('1/4" x 1/4"'), 40.3225e-6),
        (read.read_section("36 mm2"), 36e-6),
        (read.read_figure("time", "30 min"), 0.5),
        (read.read_figure("time", "2 d"), 48.0),
        (read.read_temperature("23 C"), 23.0),
        (read.read_temperature("77 F"), 25.0),
        (read.read_figure("density", "1.15 kg/L"), 1.15),
        (read.read_figure("density", "10 lb/gal"), 1.1982643),
        (read.read_figure("mass per area", "1.5 oz/ft2"), 0.4577276),
        (read.read_figure("mass per area", "450 g/m2"), 0.450),
        (read.read_figure("mass per area", "9 oz/yd2"), 0.3051517),
        (read.read_figure("volume per area", "0.15 L/m2"), 0.15),
        (read.read_amount("0.10 lb/ft2", "kg", "area"), 0.4882428),
        (read.read_amount("1 ft/ft2", "m", "area"), 3.2808399),
        (read.read_amount("2 each/each", "each", "count"), 2.0),
        (read.read_rate("100 ft2/h", "area"), 9.290304),
        (read.read_rate("12 ft/h", "length"), 3.6576),
        (read.read_rate("6 each/h", "count"), 6.0),
        (read.read_rate("10 ft3/h", "volume"), 0.28316847),
        (read.read_figure("time each", "10 min/each"), 10.0),
    ],
)
def test_amounts_are_read_in_the_units_used_inside(found, value):
    assert found == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize(
    "text", ["8", "8 mils or so", "mil", "-8 mil", "8 furlong", "", "1e3 mil", "8,5 mil", "inf mil"]
)
def test_what_is_no_film_is_refused_with_the_units_there_are(text):
    with pytest.raises(CatalogueError, match="is not a film") as caught:
        read.read_figure("film", text)
    assert "mil, um, mm" in caught.value.remedy


def test_units_of_another_kind_are_refused():
    with pytest.raises(CatalogueError, match="size in L"):
        read.read_size("25 kg", "L")
    with pytest.raises(CatalogueError, match="rate of length"):
        read.read_rate("150 ft2/h", "length")
    with pytest.raises(CatalogueError, match="no unit"):
        read.read_length("5")


@pytest.mark.parametrize(
    ("text", "m2"),
    [("46.5 m2", 46.5), ("1,391.5 sf", 129.2746), ("500sf", 46.4515), ("1,000", 1000.0), ("10 yd2", 8.3613)],
)  # 0.3048² m² to a square foot, 9 of these to a square yard
def test_an_area_is_read_with_thousands_parted_by_commas(text, m2):
    assert read.read_area(text, Display(system="metric")) == pytest.approx(m2, rel=1e-5)


@pytest.mark.parametrize("text", ["46,5 m2", "46²", "1,39 sf", "4 m", "", "-3 m2", "1e400 m2"])
def test_what_could_be_another_area_is_refused(text):
    with pytest.raises(InputError, match="not an area"):
        read.read_area(text, Display(system="metric"))
