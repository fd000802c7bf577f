import json
import math
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import box

from takeoff.errors import CatalogueError
from takeoff.model.cut_lists import Drop, MatLayout, Offcut, Piece
from takeoff.model.figures import Elevation
from takeoff.model.systems import Step
from takeoff.system.cutting import cut_rolls, cut_stock, pack_lengths
from takeoff.system.hanging import hang_mat

CASES = json.loads((Path(__file__).parents[1] / "cases" / "drops.json").read_text())


def make_drop(number, length, width=1.0, *, is_short=False):
    return Drop(
        face="a:left", number=number, x0=0.0, x1=width, z0=0.0, z1=length, length=length, width=width, is_short=is_short
    )


def make_layout(*sizes, offcuts=(), lap=0.0, seam_length=0.0):
    drops = tuple(make_drop(n, length, width) for n, (length, width) in enumerate(sizes, start=1))
    area = sum(d.length * d.width for d in drops)
    return MatLayout(
        roll_width=1.0, drops=drops, offcuts=tuple(offcuts), seam_length=seam_length, lap=lap, net_area=area
    )


def all_labels(plan):
    cut = [d.label for roll in plan.rolls for cut in roll.cuts for d in (cut.drop, *cut.beside)]
    return sorted(cut + [reuse.drop.label for reuse in plan.reused])


def test_seventeen_drops_of_eight_and_a_half_metres_take_four_rolls_of_fifty():
    # Derived: floor(50 / 8.5) = 5 a roll, ceil(17 / 5) = 4, where total length alone says 3.
    plan = cut_rolls([make_layout(*[(8.5, 1.0)] * 17)], roll_length=50.0)
    assert (len(plan.rolls), plan.lower_bound, plan.gap, plan.first_fit) == (4, 4, 0, 4)
    assert plan.waste_area == pytest.approx(200.0 - 144.5)
    assert plan.waste == pytest.approx(55.5 / 200.0)


def test_the_wall_worked_by_hand_in_the_formulas_takes_two_rolls():
    wall = box(0, 0, 20, 3)
    face = Elevation(
        run="a", face="left", room=None, system=None, length=20.0, is_closed=False, top="ceiling", base=0.0, wall=wall,
        net=wall, profile=((0.0, 3.0), (20.0, 3.0)), openings=(), corners=(), line=(),
    )  # fmt: skip
    mat = Step(id="mat", name="Mat", kind="mat", basis="net_area", lap=0.05, trim_top=0.10)
    layout = hang_mat(face, mat, width=1.27)
    plan = cut_rolls([layout], roll_length=45.72)
    assert (len(layout.drops), len(plan.rolls)) == (17, 2)
    assert layout.hung_area == pytest.approx(64.48, abs=0.005)
    assert plan.waste_area == pytest.approx(51.65, abs=0.005)
    assert plan.lap_area == pytest.approx(2.40)


def test_solver_saves_a_roll_over_first_fit_decreasing():
    # By hand: 5+3+2 and 4+3+3 fill two rolls of 10; longest first gives 5+4, 3+3+3 and 2.
    plan = cut_rolls([make_layout(*[(x, 1.0) for x in (5.0, 4.0, 3.0, 3.0, 3.0, 2.0)])], roll_length=10.0)
    assert (len(plan.rolls), plan.first_fit, plan.gap) == (2, 3, 0)
    assert [roll.left for roll in plan.rolls] == pytest.approx([0.0, 0.0])


def test_piece_over_a_door_comes_from_the_door_cut_out_of_a_drop():
    layout = make_layout((3.0, 1.0), (0.9, 0.9), offcuts=[Offcut(source="a:left/1", length=2.1, width=0.9)])
    plan = cut_rolls([layout], roll_length=50.0)
    assert [(r.drop.label, r.source) for r in plan.reused] == [("a:left/2", "a:left/1")]
    assert [cut.drop.label for cut in plan.rolls[0].cuts] == ["a:left/1"]
    assert [(reuse.drop.label, reuse.source) for reuse in plan.reused][-1] == ("a:left/2", "a:left/1")


def test_two_pieces_come_from_one_cut_out_where_it_is_long_enough():
    offcut = Offcut(source="a:left/1", length=2.1, width=0.9)
    plan = cut_rolls([make_layout((3.0, 1.0), (1.0, 0.9), (1.0, 0.9), (1.0, 0.9), offcuts=[offcut])], roll_length=50.0)
    assert len(plan.reused) == 2


@pytest.mark.parametrize(("length", "width"), [(2.2, 0.9), (0.9, 0.95)])
def test_cut_out_that_is_too_short_or_too_narrow_is_not_used(length, width):
    layout = make_layout((3.0, 1.0), (length, width), offcuts=[Offcut(source="a:left/1", length=2.1, width=0.9)])
    assert cut_rolls([layout], roll_length=50.0).reused == ()


def test_narrow_pieces_lie_beside_each_other_and_behind_each_other():
    # A drop 0.4 m wide leaves 3.0 x 0.6 m: three pieces 1.0 x 0.6 lie behind each other in it.
    plan = cut_rolls([make_layout((3.0, 0.4), (1.0, 0.6), (1.0, 0.6), (1.0, 0.6))], roll_length=50.0)
    (cut,) = plan.rolls[0].cuts
    assert (cut.length, len(cut.beside)) == (3.0, 3)


def test_cuts_are_numbered_through_and_printed_per_roll():
    plan = cut_rolls([make_layout((6.0, 1.0), (6.0, 1.0), (4.0, 1.0))], roll_length=10.0)
    assert [cut.number for roll in plan.rolls for cut in roll.cuts] == [1, 2, 3]
    roll = plan.rolls[0]
    assert (roll.number, len(roll.cuts), roll.left) == (1, 2, pytest.approx(0.0, abs=1e-9))
    assert (roll.cuts[0].number, roll.cuts[0].length, roll.cuts[0].drop.face) == (1, 6.0, "a:left")


def test_lap_length_is_the_joints_of_lapped_mat_and_none_of_butted_mat():
    lapped, butted = (
        cut_rolls([make_layout((3.0, 1.0), lap=lap, seam_length=12.0)], roll_length=10.0) for lap in (0.05, 0.0)
    )
    assert (lapped.lap_length, lapped.lap_area) == (12.0, pytest.approx(0.6))
    assert (butted.lap_length, butted.seam_length) == (0.0, 12.0)


def test_waste_is_what_does_not_hang_openings_cut_out_included():
    # By hand: 10 m2 bought; 3 m2 drop with 1.89 m2 cut out, 0.81 m2 of that hung elsewhere: 1.92 m2 hang.
    layout = make_layout((3.0, 1.0), (0.9, 0.9), offcuts=[Offcut(source="a:left/1", length=2.1, width=0.9)])
    plan = cut_rolls([layout], roll_length=10.0)
    assert plan.waste_area == pytest.approx(10.0 - 1.92)


def test_drop_longer_than_a_roll_is_refused():
    with pytest.raises(CatalogueError, match=r"longer than the 10\.000 m it is cut from"):
        cut_rolls([make_layout((12.0, 1.0))], roll_length=10.0)


sizes = st.lists(st.tuples(st.floats(0.2, 6.0), st.floats(0.1, 1.0)), max_size=25)
offcuts = st.lists(
    st.builds(Offcut, source=st.just("a:left/1"), length=st.floats(0.1, 3.0), width=st.floats(0.1, 1.0)), max_size=4
)


@settings(deadline=None, max_examples=60)
@given(sizes, offcuts)
def test_every_drop_is_cut_once_from_rolls_that_hold_it_and_never_from_more_than_first_fit(sizes, offcuts):
    layout = make_layout(*sizes, offcuts=offcuts)
    plan = cut_rolls([layout], roll_length=10.0, effort=1.0)
    assert all_labels(plan) == sorted(d.label for d in layout.drops)
    assert len(plan.rolls) <= pack_lengths([d.length for d in layout.drops], 10.0, effort=0.0).first_fit
    for roll in plan.rolls:
        assert sum(cut.length for cut in roll.cuts) <= 10.0 + 1e-6
        for cut in roll.cuts:
            inside = [cut.drop, *cut.beside]
            assert sum(d.length * d.width for d in inside) <= cut.length * 1.0 + 1e-6
            assert all(d.length <= cut.length + 1e-6 for d in inside)
    assert 0 <= plan.lower_bound <= len(plan.rolls)
    reused = sum(reuse.drop.length * reuse.drop.width for reuse in plan.reused)
    assert plan.bought_area + reused >= plan.mat_area - 1e-6


def test_known_triplets_of_strips_fill_every_stock_length():
    # Built with the optimum known: each triple makes 3 m exactly.
    triples = [(1.47, 0.78, 0.75), (1.30, 0.90, 0.80), (1.21, 0.97, 0.82), (1.40, 0.85, 0.75)]
    pieces = [Piece(label=f"{x:.2f}", length=x) for triple in triples for x in triple]
    plan = cut_stock(pieces, stock_length=3.0)
    assert (len(plan.stock), plan.lower_bound) == (4, 4)
    assert plan.waste_length == pytest.approx(0.0, abs=1e-9)


def test_two_halves_are_cut_from_one_length():
    assert len(cut_stock([Piece(label="a", length=1.5)] * 2, stock_length=3.0).stock) == 1


def test_strip_longer_than_the_stock_is_joined_from_whole_lengths_and_a_rest():
    plan = cut_stock([Piece(label="base", length=7.0), Piece(label="jamb", length=2.0)], stock_length=3.0)
    assert (len(plan.stock), plan.joints) == (3, 2)
    assert sorted(p.length for s in plan.stock for p in s.pieces) == pytest.approx([1.0, 2.0, 3.0, 3.0])


@settings(deadline=None, max_examples=60)
@given(st.lists(st.floats(0.05, 8.0), max_size=20))
def test_stock_holds_every_metre_that_is_asked_for(lengths):
    plan = cut_stock([Piece(label=str(i), length=x) for i, x in enumerate(lengths)], stock_length=3.0, effort=1.0)
    got = {}
    for stock in plan.stock:
        assert sum(piece.length for piece in stock.pieces) <= 3.0 + 1e-6
        for piece in stock.pieces:
            got[piece.label] = got.get(piece.label, 0.0) + piece.length
    assert got == pytest.approx({str(i): x for i, x in enumerate(lengths)})
    assert plan.lower_bound <= len(plan.stock) <= plan.first_fit


@pytest.mark.parametrize("case", CASES["rolls"], ids=lambda case: case["working"])
def test_rolls_agree_with_hand_working(case):
    assert pack_lengths(case["drops"] * case["times"], case["roll"]).first_fit == case["rolls"]


def test_no_drops_take_no_roll():
    assert pack_lengths([], 50.0).bins == ()


def test_length_longer_than_what_it_is_cut_from_is_refused():
    with pytest.raises(CatalogueError, match=r"8\.600 m is longer than the 8\.500 m"):
        pack_lengths([8.6], 8.5)


@given(st.lists(st.floats(0.5, 10), max_size=40), st.floats(10, 50))
def test_every_length_is_cut_once_and_no_roll_is_overdrawn(drops, roll_length):
    rolls = [[drops[i] for i in row] for row in pack_lengths(drops, roll_length, effort=0.0).bins]
    grains = 1e-4 * len(drops)  # each is counted in tenths of a millimetre, rounded up
    assert sorted(drop for roll in rolls for drop in roll) == sorted(drops)
    assert all(math.fsum(roll) <= roll_length * (1 + 1e-6) for roll in rolls)
    # First fit: what lies in a roll did not fit into the one before it.
    assert all(math.fsum(a) + b[-1] > roll_length * (1 - 1e-6) - grains for a, b in pairwise(rolls))
    assert len(rolls) >= math.ceil(math.fsum(drops) / roll_length * (1 - 1e-6))
