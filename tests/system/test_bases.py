from typing import get_args

import pytest

from takeoff.exchange.catalogue_file import default_catalogue
from takeoff.model.figures import Lot, Quantities
from takeoff.model.systems import Basis
from takeoff.system.bases import basis_kind, basis_value, basis_words, wall_areas
from takeoff.system.words import Words


@pytest.mark.parametrize("basis", get_args(Basis))
def test_every_basis_has_a_figure_and_words(basis):
    assert basis_value(Quantities(), basis) == (1.0 if basis == "room" else 0.0)
    assert basis_words(basis, 2.0, Words())


def test_the_basis_of_terminations_adds_free_ends_exposed_tops_and_opening_edges():
    quantities = Quantities(end_length=1.0, top_exposed_length=2.0, jamb_length=3.0, head_length=4.0, sill_length=5.0)
    assert basis_value(quantities, "termination_length") == 15.0


@pytest.mark.parametrize(
    ("basis", "kind"),
    [("coated_area", "area"), ("termination_length", "length"), ("cove_volume", "volume"), ("openings", "count")],
)
def test_bases_know_their_kind(basis, kind):
    assert basis_kind(basis) == kind


def area_of(system, first="metric", **quantities):
    lot = Lot(system=system, room="R1", room_label="104 Process", quantities=Quantities(**quantities))
    (line,) = wall_areas([lot], default_catalogue(), words=Words(first=first))
    return line, " ".join(line.arithmetic)


def test_returns_are_added_and_what_the_cove_covers_is_taken_off_in_sight():
    line, words = area_of("mat-hygienic", net_area=133.0, return_area=1.0, cove_band_area=4.0)
    assert line.coated == pytest.approx(130.0)
    assert words == (
        "Net 133.00 m² (1,431.6 sf) + coated returns 1.00 m² (10.8 sf) − behind the cove 4.00 m² (43.1 sf)"
        " = 130.00 m² (1,399.3 sf)."
    )


def test_a_job_in_feet_reads_square_feet_first():
    assert area_of("mat-hygienic", "imperial", net_area=9.290304)[1] == "Net 100.0 sf (9.29 m²)."


def test_a_room_with_cove_alone_says_that_its_net_area_is_not_priced_by_area():
    line, words = area_of("cove-only", "imperial", net_area=2.47, cove_length=24.384)
    assert (line.is_coated, line.coated) == (False, 0.0)
    assert "has no price by area; it is priced by 80.0 ft (24.38 m) of cove" in words
