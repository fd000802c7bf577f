from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import box

from takeoff.errors import CatalogueError, InputError
from takeoff.model.figures import Corner, Elevation, Lot, Quantities, ReturnStrip
from takeoff.model.systems import Catalogue, Pack, Product, Step, System
from takeoff.system.buildup import build_up
from takeoff.system.packs import buy
from tests.system.blank_faces import blank_face

MIL = 25.4e-6
TIN = (Pack(name="tin", size=10.0, price=100.0),)
RESIN = Product(id="resin", name="Resin", unit="L", packs=TIN, density=1.15)
PAINT = Product(id="paint", name="Paint", unit="L", packs=TIN, volume_solids=0.5)
MORTAR = Product(id="mortar", name="Mortar", unit="kg", packs=TIN, density=2.0)
MAT = Product(id="mat", name="Mat", unit="m2", packs=TIN, width=1.27, mass_per_area=0.450)
FLAKE = Product(id="flake", name="Flake", unit="kg", packs=TIN)
STRIP = Product(id="strip", name="Strip", unit="m", packs=TIN)
PANEL = Product(id="panel", name="Panel", unit="m2", packs=TIN)
CLIP = Product(id="clip", name="Clip", unit="each", packs=TIN)


def make_step(kind, basis="coated_area", *, product=None, id="step", **more):
    return Step(id=id, name=id, kind=kind, basis=basis, product=product, **more)


def drops_of(need):
    return [drop.length for layout in need.layouts for drop in layout.drops]


def needs_of(*steps, faces=(), substrate="concrete", extra=(), **quantities):
    catalogue = Catalogue(
        name="test",
        currency="USD",
        systems=(System(id="s", name="System", summary="", steps=steps, substrate_extra=extra),),
        products=(RESIN, PAINT, MORTAR, MAT, FLAKE, STRIP, PANEL, CLIP),
    )
    lot = Lot(
        system="s", room="R1", room_label="Process", quantities=Quantities(**quantities), faces=faces, runs=("a", "b")
    )
    return build_up([lot], catalogue, substrate=substrate)


def test_wet_film_of_16_mil_on_1000_square_feet_with_12_percent_loss_takes_42_9_litres():
    # Derived from 1604.1667 ft2 mil/gal: 9.97403 / 0.88 = 11.33412 gal.
    (need,) = needs_of(make_step("coat", product="resin", wet_film=16 * MIL, loss=0.12), net_area=92.90304)
    assert need.theoretical / 3.785411784 == pytest.approx(9.97403, abs=1e-5)
    assert need.needed == pytest.approx(42.9043, abs=1e-4)
    assert (need.unit, need.basis, need.basis_value, need.runs) == ("L", "coated_area", 92.90304, ("a", "b"))


def test_what_stays_in_tools_comes_on_top_for_each_coat_in_each_room():
    # By hand: 10 m² at 5 m²/L, two coats, are 4 L; at a loss of 20 % 5 L; two coats leave 0.2 L in tools: 5.2 L.
    product = replace(RESIN, left_in_tools=0.1)
    step = make_step("coat", product="resin", spread=5.0, coats=2, loss=0.2)
    system = System(id="s", name="System", summary="", steps=(step,))
    catalogue = Catalogue(name="test", currency="USD", systems=(system,), products=(product,))
    lots = [Lot(system="s", room=room, room_label=room, quantities=Quantities(net_area=10.0)) for room in ("A", "B")]
    needs = build_up(lots, catalogue)
    assert [need.needed for need in needs] == pytest.approx([5.2, 5.2])
    assert needs[0].in_tools == pytest.approx(0.2)
    assert "÷ (1 − 0.2) + 0.20 L" in needs[0].arithmetic[-1]


def test_dry_film_takes_the_volume_solids_of_its_product():
    # 100 µm dry at 50 % is 200 µm wet: 5 m2/L, so 10 m2 take 2 L.
    (need,) = needs_of(make_step("coat", product="paint", dry_film=100e-6), net_area=10.0)
    assert need.needed == pytest.approx(2.0)


def test_coats_repeat_and_returns_count_in_the_coated_area():
    (need,) = needs_of(make_step("coat", product="resin", spread=5.0, coats=2), net_area=9.0, return_area=1.0)
    assert need.needed == pytest.approx(4.0)


def test_saturating_coat_takes_its_resin_from_the_mat_hung_before_it():
    # Derived: 2 x 450 / 1150 = 0.78261 L/m2. Drops of 1.27 m lapped 50 mm: 9 of them on 10 m, so 8 laps of 1 m cover
    # 0.4 m2 twice, and the glass of 10.4 m2 is wetted out.
    steps = (
        make_step("mat", product="mat", id="mat", lap=0.05),
        make_step("coat", product="resin", mat_ratio=2.0, id="saturate"),
    )
    face = blank_face(10.0, 1.0)
    needs = needs_of(*steps, faces=(face,), net_area=10.0)
    assert needs[1].needed == pytest.approx(8.1391, abs=1e-4)


def test_saturating_coat_without_a_mat_before_it_is_refused():
    with pytest.raises(CatalogueError, match="mat step before it"):
        needs_of(make_step("coat", product="resin", mat_ratio=2.0), net_area=10.0)


def test_coat_without_a_film_is_refused():
    with pytest.raises(CatalogueError, match="says 0 of"):
        needs_of(make_step("coat", product="resin"), net_area=10.0)


def test_only_the_first_coat_takes_the_substrates_extra():
    steps = [make_step("coat", product="resin", spread=5.0, loss=0.2, id=id) for id in ("prime", "top")]
    needs = needs_of(*steps, substrate="block", extra=(("block", 0.15),), net_area=10.0)
    # (2 + 1.5) / 0.8 and 2 / 0.8
    assert [need.needed for need in needs] == pytest.approx([4.375, 2.5])
    needs = needs_of(*steps, substrate="concrete", extra=(("block", 0.15),), net_area=10.0)
    assert [need.needed for need in needs] == pytest.approx([2.5, 2.5])


def test_the_substrates_extra_soaks_in_once_however_many_coats():
    step = make_step("coat", product="resin", spread=5.0, coats=3)
    (need,) = needs_of(step, substrate="block", extra=(("block", 0.15),), net_area=10.0)
    assert need.needed == pytest.approx(6.0 + 1.5)


def test_mat_on_a_closed_face_takes_17_drops_and_64_635_square_metres():
    # Derived: ceil(20 / 1.22) = 17 drops of 3.10 m, 16 of 1.27 m and one of 20.05 - 16 x 1.22 = 0.53 m.
    face = blank_face(20.0, 3.0, is_closed=True, inside=4)
    step = make_step("mat", product="mat", lap=0.05, trim_top=0.1)
    (need,) = needs_of(step, faces=(face,), net_area=60.0)
    assert drops_of(need) == pytest.approx((3.1,) * 17)
    assert need.needed == pytest.approx(3.1 * (16 * 1.27 + 0.53))
    assert need.theoretical == 60.0


def test_mat_cut_at_corners_takes_a_lap_more_at_each():
    # 24.4 m are 20 drops of 1.22 m; four laps of 0.05 m make it 24.6 m and 21.
    face = blank_face(24.4, 3.0, is_closed=True, inside=3, outside=1)
    step = {"product": "mat", "lap": 0.05}
    assert len(drops_of(needs_of(make_step("mat", **step), faces=(face,), net_area=60.0)[0])) == 20
    (cut,) = needs_of(make_step("mat", **step, wraps_corners=False), faces=(face,), net_area=60.0)
    assert len(drops_of(cut)) == 21


def test_spoiled_drops_are_added_at_the_longest_length():
    faces = (blank_face(9 * 1.22 + 0.05, 2.0), blank_face(9 * 1.22 + 0.05, 3.0, run="b"))
    (need,) = needs_of(make_step("mat", product="mat", lap=0.05, loss=0.1), faces=faces, net_area=50.0)
    assert sorted(drops_of(need)) == [2.0] * 9 + [3.0] * 11


def make_elevation(length=10.0, height=3.0, *, door=None, corners=()):
    wall = box(0.0, 0.0, length, height)
    net = wall if door is None else wall.difference(box(door[0], 0.0, door[1], 2.1))
    return Elevation(
        run="a", face="left", room="R1", system="s", length=length, is_closed=False, top="ceiling", base=0.0, wall=wall,
        net=net, profile=((0.0, height), (length, height)), openings=(), corners=corners,
        line=(),
    )  # fmt: skip


def test_openings_are_cut_out_of_drops_or_hung_around_as_the_step_says():
    # By hand: butted mat 1 m wide on 10 m; a door 1 m wide fills the drop from 4 to 5 m but for 0.9 m above it.
    # Hung around from 4.5 to 5.5 m: 4.5 m in 5 drops, 4.5 m in 5 drops, a short one above.
    mat = Product(id="mat", name="Mat", unit="m2", packs=TIN, width=1.0)
    for door, how, count, hung in (((4.0, 5.0), "cut_out", 10, 27.9), ((4.5, 5.5), "hung_around", 11, 27.9)):
        step = make_step("mat", product="mat", at_openings=how)
        (need,) = build_up([lot_of(make_elevation(door=door))], catalogue_of(mat, step))
        assert (len(drops_of(need)), need.needed) == (count, pytest.approx(hung))
        assert sorted(drops_of(need))[0] == pytest.approx(0.9)


def test_coated_returns_are_hung_with_mat_and_buy_more_of_it():
    # By hand: butted mat 1 m wide on 10 m x 3 m is 10 drops of 3 m. Each reveal of 2 m x 0.25 m takes a strip of that
    # size; four lie side by side in one length of roll. Drops alone: 3, 3, 3 and 1 to a roll of 10 m. With 5 lengths
    # of 2 m: 40 m, but 3, 3, 2, 2 fills only two rolls where 3, 3, 3 fills the others. With 11: 52 m, six rolls.
    mat = Product(id="mat", name="Mat", unit="m2", packs=(Pack(name="roll", size=10.0, price=1.0),), width=1.0)
    step = make_step("mat", product="mat")
    for count, rolls in ((0, 4), (20, 5), (44, 6)):
        strips = (ReturnStrip(edge="jamb", length=2.0, depth=0.25, low=0.0, opening=0),) * count
        face = replace(make_elevation(), returns=strips)
        quantities = Quantities(net_area=30.0, return_area=0.5 * count)
        (need,) = build_up([lot_of(face, quantities)], catalogue_of(mat, step))
        assert need.needed == pytest.approx(30.0 + 0.5 * count)
        (line,) = buy([need], catalogue_of(mat, step))
        assert sum(pack.count for pack in line.packs) == rolls


def test_a_return_laps_onto_the_mat_of_its_face_and_wide_or_long_ones_are_joined():
    mat = Product(id="mat", name="Mat", unit="m2", packs=(Pack(name="roll", size=10.0, price=1.0),), width=1.0)
    step = make_step("mat", product="mat", lap=0.05)
    strips = (
        ReturnStrip(edge="head", length=2.0, depth=0.2, low=2.0, opening=0),
        ReturnStrip(edge="end", length=3.0, depth=1.2, low=0.0),
        ReturnStrip(edge="top", length=12.0, depth=0.1, low=3.0),
    )
    (need,) = build_up([lot_of(replace(make_elevation(), returns=strips))], catalogue_of(mat, step))
    (layout,) = need.layouts
    # 0.2 + 0.05; 1.2 in two of 0.6 + 0.05; 12 m from a roll of 10 m in two of 6 + 0.05
    assert [(round(d.length, 3), round(d.width, 3)) for d in layout.returns] == [
        (2.0, 0.25), (3.0, 0.65), (3.0, 0.65), (6.05, 0.15), (6.05, 0.15),
    ]  # fmt: skip
    # joints: 2 m; twice 3 m; 12 m along the wall and 0.1 m between the two
    without = build_up([lot_of(make_elevation())], catalogue_of(mat, step))[0].layouts[0]
    assert layout.seam_length - without.seam_length == pytest.approx(2.0 + 6.0 + 12.1)
    assert layout.net_area - without.net_area == pytest.approx(0.4 + 3.6 + 1.2)


def test_mat_by_the_net_area_leaves_returns_bare():
    mat = Product(id="mat", name="Mat", unit="m2", packs=(Pack(name="roll", size=10.0, price=1.0),), width=1.0)
    strips = (ReturnStrip(edge="jamb", length=2.0, depth=0.25, low=0.0, opening=0),)
    face = replace(make_elevation(), returns=strips)
    (need,) = build_up([lot_of(face)], catalogue_of(mat, make_step("mat", "net_area", product="mat")))
    assert need.needed == pytest.approx(30.0)


def test_mat_run_along_goes_in_bands_joined_where_the_roll_ends():
    # By hand: 3 m high in bands of 1 m, butted, 10 m long from rolls of 6 m: two pieces of 5 m in each of three bands.
    mat = Product(id="mat", name="Mat", unit="m2", packs=(Pack(name="roll", size=6.0, price=1.0),), width=1.0)
    step = make_step("mat", product="mat", direction="along")
    (need,) = build_up([lot_of(make_elevation())], catalogue_of(mat, step))
    assert drops_of(need) == pytest.approx((5.0,) * 6)
    assert any("run along" in line for line in need.arithmetic)


def test_trim_in_stock_lengths_is_cut_corner_by_corner():
    corners = tuple(Corner(station=x, turn=1.0, length=3.0, vertex=n) for n, x in enumerate((2.0, 6.0), start=1))
    trim = Product(id="trim", name="Trim", unit="m", packs=(Pack(name="8 ft", size=2.4, price=1.0),), stock_length=2.4)
    step = make_step("linear", "inside_corner_length", product="trim", amount=1.0)
    quantities = Quantities(net_area=30.0, inside_corner_length=6.0)
    (need,) = build_up([lot_of(make_elevation(corners=corners), quantities)], catalogue_of(trim, step))
    assert [piece.length for piece in need.pieces] == [3.0, 3.0]
    # what was measured and what the corners add up to differ: one piece, joined end to end
    other = Quantities(net_area=30.0, inside_corner_length=7.0)
    (need,) = build_up([lot_of(make_elevation(corners=corners), other)], catalogue_of(trim, step))
    assert [(piece.label, piece.length) for piece in need.pieces] == [("Process", 7.0)]


def lot_of(face, quantities=None):
    chosen = quantities or Quantities(net_area=27.9)
    return Lot(system="s", room="R1", room_label="Process", quantities=chosen, faces=(face,))


def catalogue_of(product, step):
    systems = (System(id="s", name="System", summary="", steps=(step,)),)
    return Catalogue(name="test", currency="USD", systems=systems, products=(product,))


def test_mat_without_a_face_to_hang_on_is_refused():
    with pytest.raises(InputError, match="Process"):
        needs_of(make_step("mat", product="mat", lap=0.05), net_area=10.0)


def test_flake_is_mass_per_area_and_what_falls_is_bought_too():
    (need,) = needs_of(make_step("broadcast", product="flake", amount=0.5, loss=0.2), net_area=10.0)
    assert (need.theoretical, need.needed) == pytest.approx((5.0, 6.25))


def test_sealant_is_the_bead_times_its_length():
    # 6 mm x 6 mm x 100 m = 3.6 L.
    step = make_step("sealant", "termination_length", product="resin", amount=36e-6)
    (need,) = needs_of(step, end_length=40.0, jamb_length=60.0)
    assert need.needed == pytest.approx(3.6)


def test_cove_mortar_is_the_coves_volume_whatever_labour_is_counted_by():
    # Derived: 13.41261 L per 100 m of a fillet of 25 mm, at 2 kg/L.
    step = make_step("cove", "cove_length", product="mortar")
    (need,) = needs_of(step, cove_length=100.0, cove_volume=0.01341261)
    assert (need.unit, need.needed) == ("kg", pytest.approx(26.82522))
    assert need.basis == "cove_volume"


def test_strips_panels_and_pieces_follow_their_basis():
    steps = (
        make_step("linear", "corner_length", product="strip", loss=0.2, id="strip"),
        make_step("panel", "net_area", product="panel", loss=0.1, id="panel"),
        make_step("each", "openings", product="clip", amount=4.0, id="clip"),
        make_step("work", "net_area", product="clip", amount=0.5, id="sand"),
    )
    needs = needs_of(*steps, net_area=9.0, inside_corner_length=6.0, outside_corner_length=2.0, openings=3)
    assert [need.needed for need in needs] == pytest.approx([10.0, 10.0, 12.0, 4.5])


def test_work_without_a_product_and_bases_that_measured_nothing_leave_no_line():
    steps = (make_step("work", id="tack"), make_step("cove", "cove_length", product="mortar", id="cove"))
    assert needs_of(*steps, net_area=10.0) == []


def test_the_arithmetic_says_every_number_in_both_unit_systems():
    (need,) = needs_of(make_step("coat", product="resin", wet_film=8 * MIL, loss=0.12), net_area=35.2)
    text = "\n".join(need.arithmetic)
    # 35.2 m2 = 378.9 ft2; 8 mil = 203 µm; 1604.1667 / 8 = 200.5; 35.2 / 4.9213 / 0.88 = 8.13 L = 2.15 gal
    for part in (
        "35.20 m²",
        "378.9 sf",
        "203 µm",
        "8.0 mils",
        "4.92 m²/L",
        "200.5 sf/gal",
        "0.12",
        "8.13 L",
        "2.15 gal",
    ):
        assert part in text


def test_lot_of_an_unknown_system_is_refused_with_the_known_ones():
    catalogue = Catalogue(
        name="test", currency="USD", systems=(System(id="s", name="S", summary="", steps=()),), products=()
    )
    with pytest.raises(CatalogueError, match=r'no system "x"\. Known systems: s\.'):
        build_up([Lot(system="x", room="R1", room_label="", quantities=Quantities())], catalogue)


@given(st.floats(0.1, 1e4), st.floats(0.1, 1e4), st.floats(0, 0.6))
def test_coats_of_two_rooms_take_what_one_room_of_both_areas_takes(a, b, loss):
    step = make_step("coat", product="resin", wet_film=8 * MIL, loss=loss)
    apart = needs_of(step, net_area=a)[0].needed + needs_of(step, net_area=b)[0].needed
    assert needs_of(step, net_area=a + b)[0].needed == pytest.approx(apart)
