from typing import get_args

import pytest

from takeoff.model.figures import Quantities
from takeoff.model.systems import Basis
from takeoff.system.bases import basis_kind, basis_value, basis_words
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
