"""The build-up says what film stands on the wall, and not what lies in its pores."""

from __future__ import annotations

from takeoff.estimate.price import estimate
from takeoff.exchange.catalogue_file import default_catalogue
from takeoff.model.figures import Lot, Quantities
from takeoff.report.bill_tables import build_up_tables
from takeoff.units import Display


def test_the_dry_film_of_filled_block_is_that_of_its_coats_without_the_filler():
    lot = Lot(system="block-filled", room="R", room_label="R", quantities=Quantities(net_area=100.0))
    catalogue = default_catalogue()
    result = estimate([lot], catalogue, catalogue.rates)
    (table,) = build_up_tables(result, catalogue, Display(system="imperial"))
    rows = {str(row[1]).split(",")[0].split(".")[0]: row for row in table.rows}
    # two glaze coats of 8 mil wet without solvent; the filler goes on at 75 sf/gal, 21.4 mil wet, into the pores
    wet, dry = table.columns[4:6]
    assert (wet.text(rows["Block filler"][4]), dry.text(rows["Block filler"][5])) == ("21.4", "")
    assert wet.is_number
    assert "together: 16.0 mils, besides what fills the pores." in table.note
