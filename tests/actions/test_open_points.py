"""The register of open points: what it lists, what is at stake, and how points are settled and come back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from takeoff import actions
from takeoff.errors import InputError
from takeoff.job.edits import AddSheets, PutRegion, PutRoom, PutRun, PutSystem, Remove, SetCalibration
from takeoff.job.store import JobStore
from takeoff.model.open_points import Basis, basis_of
from takeoff.model.plan import Calibration, Finding, ScaleRegion
from takeoff.model.point_register import grouped
from takeoff.model.walls import Cove, HeightProfile, Opening, Room, Run
from tests.jobs import DONE, PLANS, job_on

ASSUMED = Basis(of="height", taken=2.0, how="assumed", text="a usual size, as the plan shows none", low=2.0, high=2.5)
OF_THE_PRICE = ("rates", "site:by-hours", "substrate", "colour", "reveals")
"""Points of every job that is priced with the example catalogue, without terms of its site, with openings as read."""
COVE = Cove(height=0.1, toe=0.025, radius=0.02, thickness=0.005)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[JobStore]:
    """A room of one wall of 10 × 3 m with a door of 1 m, whose height of 2 m is assumed; 1 point is 0.1 m."""
    plan = PLANS / "facility-metric.pdf"
    made = job_on(tmp_path / "job.takeoff", plan, units="metric")
    door = Opening(at=2.0, width=1.0, height=2.0, basis=(ASSUMED,))
    room = Room(id="R1", number="104", height=HeightProfile.constant(3.0), system="mat-hygienic", cove=COVE)
    with made:
        made.do(SetCalibration(calibration=Calibration(sheet=1, mx=0.1, my=0.1)))
        made.do(PutRoom(room=room))
        run = Run(id="a", sheet=1, room="R1", points_pt=((100.0, 100.0), (200.0, 100.0)), openings=(door,))
        made.do(PutRun(run=run))
        yield made


def keys(store: JobStore) -> list[str]:
    return [point.key for point in actions.open_points(store.job).open if point.key not in OF_THE_PRICE]


def point(store: JobStore, key: str):
    return next(p for p in actions.open_points(store.job).points if p.key == key)


def test_an_assumed_height_is_open_with_the_area_between_its_low_and_its_high_at_stake(store):
    found = point(store, "height:a:1")
    assert (found.what, found.taken, found.where.run, found.where.opening) == ("Height of door", "2.000 m", "a", 0)
    assert found.where.at_pt == pytest.approx((120.0, 100.0))
    assert found.stake.area == pytest.approx(1.0 * (2.5 - 2.0))  # width × what the height could differ by
    assert found.stake.money > 0.0


def test_an_opening_is_shown_where_it_is_though_only_a_part_of_the_sheet_has_a_scale(store):
    outline = ((90.0, 90.0), (210.0, 90.0), (210.0, 110.0), (90.0, 110.0))
    store.do(PutRegion(region=ScaleRegion(id="detail", sheet=1, outline_pt=outline)))
    store.do(SetCalibration(calibration=Calibration(sheet=1, region="detail", mx=0.05, my=0.05)))
    store.do(Remove(kind="calibration", id="1"))
    assert point(store, "height:a:1").where.at_pt == pytest.approx((120.0, 100.0))  # a scale takes it along


def test_the_money_at_stake_is_what_the_price_moves_by_apart_from_whole_packs(store):
    def price(height: float) -> float:
        run = store.job.runs["a"]
        other = replace(run.openings[0], height=height)
        job = replace(store.job, runs={"a": replace(run, openings=(other,))})
        return actions.make_estimate(job).estimate.line("labour").amount

    found = point(store, "height:a:1")
    # labour has no packs: it moves the price by itself, marked up by contingency, overhead and profit
    rates = actions.make_estimate(store.job).rates
    up = (1 + rates.contingency) * (1 + rates.overhead) * (1 + rates.profit)
    assert found.stake.money > (price(2.0) - price(2.5)) * up > 0.0


def test_reveals_of_openings_that_were_read_are_open_until_someone_says_so(store):
    found = point(store, "reveals")
    assert found.stake.money > 0.0  # two jambs and a head, 0.1 m deep
    actions.confirm_points(store, [found])
    assert point(store, "reveals").confirmed is not None
    run = store.job.runs["a"]
    deep = replace(run.openings[0], reveal=0.2, coated=("jamb",))
    store.do(PutRun(run=replace(run, openings=(deep,))))
    assert "reveals" not in {p.key for p in actions.open_points(store.job).points}


def test_rooms_that_two_sheets_show_are_open_until_one_goes_or_both_are_confirmed(store):
    other = 2
    store.do(AddSheets(sources=(), sheets=(replace(store.job.sheets[1], id=other, number="A-401"),)))
    store.do(SetCalibration(calibration=replace(store.job.calibrations["1"], sheet=other)))
    store.do(PutRoom(room=replace(store.job.rooms["R1"], id="R2")))
    store.do(PutRun(run=replace(store.job.runs["a"], id="b", room="R2", sheet=other)))
    found = point(store, f"twice:1:{other}")
    assert found.stake.area > 20.0  # 10 × 3 m less the door and the cove
    actions.confirm_points(store, [found])
    assert f"twice:1:{other}" not in keys(store)
    store.do(PutRun(run=replace(store.job.runs["b"], room="R1")))
    assert f"twice:1:{other}" not in {p.key for p in actions.open_points(store.job).points}


@pytest.mark.parametrize(("width", "is_told"), [(60.0, True), (60.5, True), (61.5, False)])
def test_rooms_without_a_name_of_one_size_on_two_sheets_are_open_too(store, width, is_told):
    """6 × 4 m, and by hand: 6.05 × 4 m is 0.8 % more floor, 6.15 × 4 m 2.5 %."""
    store.do(AddSheets(sources=(), sheets=(replace(store.job.sheets[1], id=2, number="A-401"),)))
    store.do(SetCalibration(calibration=replace(store.job.calibrations["1"], sheet=2)))
    for sheet, wide in ((1, 60.0), (2, width)):
        store.do(PutRoom(room=replace(store.job.rooms["R1"], id=f"bare{sheet}", number="", name="")))
        ring = ((300.0, 300.0), (300.0, 340.0), (300.0 + wide, 340.0), (300.0 + wide, 300.0))
        store.do(PutRun(run=Run(id=f"w{sheet}", sheet=sheet, room=f"bare{sheet}", points_pt=ring, closed=True)))
    assert ("twice:1:2" in keys(store)) is is_told


def test_the_most_money_comes_first(store):
    run = store.job.runs["a"]
    wide = replace(run.openings[0], at=8.0, width=3.0)
    store.do(PutRun(run=replace(run, openings=(*run.openings, wide))))
    assert keys(store) == ["height:a:2", "height:a:1"]


def test_a_confirmed_point_is_settled_with_who_and_when_and_undo_opens_it_again(store):
    actions.confirm_points(store, [point(store, "height:a:1")])
    assert keys(store) == []
    confirmed = point(store, "height:a:1")
    assert (confirmed.confirmed.by, confirmed.confirmed.at) == DONE["sign"]()
    assert confirmed.assumes == "Door heights are taken at 2.000 m; the drawings show none."
    store.undo()
    assert keys(store) == ["height:a:1"]


def test_a_given_value_takes_the_point_off_the_list(store):
    actions.give_value(store, [point(store, "height:a:1")], "2.13 m")
    assert store.job.runs["a"].openings[0].height == 2.13
    assert keys(store) == []
    assert basis_of(store.job.runs["a"].openings[0], "height").how == "person"


def test_a_confirmed_height_stays_confirmed_while_the_opening_is_moved_and_falls_with_another_reading(store):
    actions.confirm_points(store, [point(store, "height:a:1")])
    run = store.job.runs["a"]
    store.do(PutRun(run=replace(run, openings=(replace(run.openings[0], at=3.0),))))
    assert keys(store) == []
    read = replace(run.openings[0], height=2.2, basis=(replace(ASSUMED, taken=2.2),))
    store.do(PutRun(run=replace(run, openings=(read,))))
    assert keys(store) == ["height:a:1"]


def test_a_scale_that_nothing_confirms_is_open_until_confirmed_and_again_once_it_is_another(store):
    def say(ratio: float) -> None:
        scale = Calibration(sheet=1, mx=ratio * 0.0254 / 72, my=ratio * 0.0254 / 72, source="ratio")
        store.do(SetCalibration(calibration=scale))

    say(150.0)
    assert "scale:1" in keys(store)
    actions.confirm_points(store, [point(store, "scale:1")])
    assert "scale:1" not in keys(store)
    say(200.0)
    assert "scale:1" in keys(store)


def test_an_unconfirmed_scale_has_a_print_at_half_size_at_stake(store):
    m_per_pt = 100 * 0.0254 / 72
    stated = Calibration(sheet=1, mx=m_per_pt, my=m_per_pt, source="ratio", stated="1:100")
    store.do(SetCalibration(calibration=stated))
    found = point(store, "scale:1")
    # 100 points at 1:100 are 3.528 m; at half size they are twice that, and the wall is 3 m high
    assert found.stake.length == pytest.approx(100 * 0.0254 / 72 * 100, rel=1e-6)
    assert found.stake.area == pytest.approx(3.0 * 3.5278, rel=1e-3)


def test_rooms_without_height_or_system_are_open_and_cannot_be_confirmed(store):
    store.do(PutRoom(room=Room(id="R1", number="104")))
    assert set(keys(store)) >= {"height:R1", "system:R1"}
    with pytest.raises(InputError, match="nothing to confirm"):
        actions.confirm_points(store, [point(store, "height:R1")])
    actions.give_value(store, [point(store, "height:R1")], "3.2 m")
    actions.give_value(store, [point(store, "system:R1")], "mat-hygienic")
    assert store.job.rooms["R1"].height == HeightProfile.constant(3.2)
    assert not {"height:R1", "system:R1"} & set(keys(store))


def test_a_missing_system_has_what_the_job_s_other_system_costs_at_stake(store):
    run = store.job.runs["a"]
    store.do(PutRoom(room=Room(id="R2", height=HeightProfile.constant(3.0))))
    apart = tuple((x, y + 200.0) for x, y in run.points_pt)
    store.do(PutRun(run=replace(run, id="b", room="R2", points_pt=apart)))
    assert point(store, "system:R2").stake.money > 500.0
    store.do(PutRoom(room=replace(store.job.rooms["R2"], system="mat-hygienic")))
    assert "system:R2" not in keys(store)


def test_a_system_that_makes_a_cove_is_asked_about_where_a_room_has_none(store):
    store.do(PutRoom(room=replace(store.job.rooms["R1"], cove=None)))
    assert "no-cove:R1" in keys(store)
    store.do(PutRun(run=replace(store.job.runs["a"], no_cove=True)))
    assert "no-cove:R1" not in keys(store)


def test_walls_without_a_scale_are_told_as_walls_that_are_not_in_the_figures(store):
    store.do(Remove(kind="calibration", id="1"))
    (key,) = [k for k in keys(store) if k.startswith("unmeasured:a")]
    assert "has no scale" in point(store, key).why


def test_walls_on_one_another_are_open_with_the_wall_that_is_counted_twice_at_stake(store):
    run = store.job.runs["a"]
    store.do(PutRun(run=replace(run, id="b")))
    (key,) = [k for k in keys(store) if k.startswith("overlap:a:b")]
    assert point(store, key).stake.area == pytest.approx(10 * 3 - 1 * 2)


def test_the_example_s_rates_are_open_until_the_firm_takes_them_as_its_own(store):
    register = actions.open_points(store.job)
    assert "rates" in [p.key for p in register.open]
    actions.confirm_points(store, actions.find_points(register, ["rates"]))
    assert "rates" not in [p.key for p in actions.open_points(store.job).open]


def test_rates_that_a_catalogue_leaves_out_are_open(store):
    catalogue = actions.catalogue_of(store.job)
    actions.use_catalogue(store, replace(catalogue, rates=replace(catalogue.rates, assumed=("profit",))))
    (left_out,) = [p for p in actions.open_points(store.job).open if p.key.startswith("rates-left-out")]
    assert "does not give profit" in left_out.why


def test_points_of_one_group_are_confirmed_by_its_key_and_the_register_says_what_share_of_the_price_is_open(store):
    run = store.job.runs["a"]
    store.do(PutRun(run=replace(run, openings=(*run.openings, replace(run.openings[0], at=8.0)))))
    settled = [point(store, key) for key in OF_THE_PRICE if key != "rates"]
    actions.confirm_points(store, settled)
    register = actions.open_points(store.job)
    group = next(g for g in grouped(register.open) if len(g.points) == 2)
    assert group.label == "2 × Door heights taken at 2.000 m"
    assert register.share == pytest.approx(register.money / register.price)
    assert register.words().startswith("3 open points; they could move the price by ")
    actions.confirm_points(store, actions.find_points(register, [group.key, "rates"]))
    assert actions.open_points(store.job).words() == "No open points."


def test_the_sample_job_traced_lists_the_openings_heights_and_is_empty_once_all_is_settled(tmp_path):
    with job_on(tmp_path / "s.takeoff", PLANS / "facility-imperial.pdf") as store:
        actions.set_scale_read(store, store.job.sheets[1])
        actions.trace_sheet(store, 1, all=True, system="mat-hygienic")
        groups = {g.points[0].group: len(g.points) for g in grouped(actions.open_points(store.job).open)}
        # heights and sills of all 25 openings are in the schedule on the sheet
        assert not [group for group in groups if "heights taken" in group or "sills taken" in group]
        assert groups["Rooms without a height"] == 1
        actions.give_value(store, [point(store, "height:R107")], "10'-6\"")
        actions.confirm_points(store, actions.open_points(store.job).open)
        assert actions.open_points(store.job).words() == "No open points."


def test_a_room_that_nothing_is_known_of_stands_first_and_is_not_said_to_move_nothing(store):
    run = store.job.runs["a"]
    store.do(PutRoom(room=Room(id="R2", number="105")))
    store.do(PutRun(run=replace(run, id="b", room="R2", points_pt=((100.0, 400.0), (200.0, 400.0)))))
    groups = grouped(actions.open_points(store.job).open)
    first, second = groups[0].points[0], groups[1].points[0]
    assert {first.key, second.key} == {"height:R2", "system:R2"}
    assert (first.stake, second.stake) == (None, None)


@pytest.mark.parametrize(("of", "text", "taken"), [("scope", "N.I.C.", "in the price"), ("times", "TYP. OF 6", "once")])
def test_a_room_with_a_note_that_takes_it_out_or_repeats_it_is_open_with_its_walls_at_stake(store, of, text, taken):
    note = Basis(of=of, taken=taken, how="stated", text=text, sheet=1, unsure="it is priced as drawn")
    store.do(PutRoom(room=replace(store.job.rooms["R1"], basis=(note,))))
    found = point(store, f"{of}:R1")
    assert text in found.why
    assert found.stake.area == pytest.approx(10.0 * 3.0 - 1.0 * 2.0)
    actions.confirm_points(store, [found])
    assert point(store, f"{of}:R1").confirmed.by == "test"
    assert f"{of}:R1" not in keys(store)


def test_a_plan_of_several_floors_is_open_with_what_one_more_is_worth_at_stake(store):
    sheet = replace(store.job.sheets[1], title="TYPICAL FLOOR PLAN")
    job = replace(store.job, sheets=store.job.sheets | {1: sheet})
    found = next(p for p in actions.open_points(job).open if p.key == "several:1")
    assert found.taken == "once"
    assert found.stake.area == pytest.approx(10.0 * 3.0 - 1.0 * 2.0)


@pytest.mark.parametrize(
    ("title", "number", "key"),
    [
        ("WEST ELEVATION", "", "use:1"),
        ("SITE PLAN", "", "use:1"),
        ("", "E-102", "use:1"),
        ("GROUND FLOOR PLAN, EXISTING", "", "before:1"),
        ("GROUND FLOOR PLAN", "A-101", None),
    ],
)
def test_walls_on_a_sheet_that_says_that_it_is_no_plan_of_the_work_are_open(store, title, number, key):
    job = replace(store.job, sheets=store.job.sheets | {1: replace(store.job.sheets[1], title=title, number=number)})
    found = [p for p in actions.open_points(job).open if p.key in ("use:1", "before:1")]
    assert [p.key for p in found] == ([key] if key else [])
    assert all(p.stake.area == pytest.approx(10.0 * 3.0 - 1.0 * 2.0) for p in found)


def test_rooms_of_one_name_that_were_not_taken_are_one_group_whatever_the_reasons(store):
    reasons = ("no wall closes it at 1,1", "no wall closes it at 7,3", "it is open to the outside")
    found = tuple(
        Finding(about="room", name=name, text=f"{name} is written here: {reason}", at_pt=(900.0 + 9 * i, 40.0))
        for i, (name, reason) in enumerate((*(("CLOSET", reason) for reason in reasons), ("PANTRY", reasons[0])))
    )
    job = replace(store.job, sheets=store.job.sheets | {1: replace(store.job.sheets[1], findings=found)})
    groups = grouped([p for p in actions.open_points(job).open if p.what.startswith("Room not taken")])
    assert [(group.points[0].what, len(group.points)) for group in groups] == [
        ("Room not taken: CLOSET", 3),
        ("Room not taken: PANTRY", 1),
    ]


@pytest.mark.parametrize(
    ("finding", "area"),
    [
        (Finding(about="room", name="CLOSET", text="CLOSET is written here", at_pt=(900.0, 40.0)), 28.0),
        (Finding(about="room", text="a field", at_pt=(900.0, 40.0), length=5.0), 14.0),
        (Finding(about="finish", name="107", text="its finish schedule has 107 with glaze"), 28.0),
        (Finding(about="scope", text="room 104 is N.I.C."), 28.0),
        (Finding(about="times", text="TYPICAL OF 6"), 28.0),
        (Finding(about="room", text="no room was found on it"), None),
        (Finding(about="said", text="paint changes"), None),
    ],
    ids=["a room of the usual size", "its length is known", "a line of a schedule", "out of the scope", "built often",
         "of no size", "words alone"],
)  # fmt: skip
def test_what_readers_found_has_the_walls_at_stake_that_are_in_question(store, finding, area):
    sheet = replace(store.job.sheets[1], findings=(finding,))
    job = replace(store.job, sheets=store.job.sheets | {1: sheet})
    found = next(p for p in actions.open_points(job).open if p.key.startswith(f"{finding.about}:1:"))
    # the job's one room has 10 m of wall and 10 × 3 − 1 × 2 = 28 m² of it
    assert (found.stake and found.stake.area) == (None if area is None else pytest.approx(area))
    assert found.stake is None or found.stake.money > 0.0


def test_what_is_at_stake_is_not_nothing_but_unknown_where_no_wall_is_measured_or_priced(store):
    """A room without a height has no walls in the figures: a room that is missing beside it has no usual price."""
    finding = Finding(about="room", name="CLOSET", text="CLOSET is written here", at_pt=(900.0, 40.0))
    sheet = replace(store.job.sheets[1], findings=(finding,))
    bare = replace(store.job.rooms["R1"], height=None)
    job = replace(store.job, sheets=store.job.sheets | {1: sheet}, rooms=store.job.rooms | {"R1": bare})
    found = next(p for p in actions.open_points(job).open if p.key.startswith("room:1:"))
    assert found.stake is None


def test_a_room_without_a_wall_is_open_with_a_room_of_the_usual_size_at_stake(store):
    store.do(PutRoom(room=Room(id="R2", number="105", system="mat-hygienic")))
    found = next(p for p in actions.open_points(store.job).open if p.key.startswith("bare:R2"))
    assert found.why == "105 has no wall, so nothing of it is in the figures."
    assert found.stake.area == pytest.approx(10.0 * 3.0 - 1.0 * 2.0)
    actions.confirm_points(store, [found])
    assert not any(key.startswith("bare:") for key in keys(store))


def test_a_scale_that_is_changed_asks_about_widths_that_a_person_gave_and_not_about_reveals(store):
    run = store.job.runs["a"]
    store.do(PutRun(run=replace(run, openings=(replace(run.openings[0], basis=()),))))
    store.do(SetCalibration(calibration=replace(store.job.calibrations["1"], mx=0.05, my=0.05)))
    found = point(store, "width:a:1")
    assert "the scale of its sheet was changed after it was given" in found.why
    assert "reveals" not in keys(store)


def test_a_room_without_the_cove_of_its_system_has_that_of_the_other_rooms_at_stake(store):
    store.do(PutRoom(room=replace(store.job.rooms["R1"], id="R2", number="105", cove=None)))
    run = replace(store.job.runs["a"], id="b", room="R2", points_pt=((100.0, 300.0), (180.0, 300.0)), openings=())
    store.do(PutRun(run=run))
    with_cove = replace(store.job, rooms=store.job.rooms | {"R2": replace(store.job.rooms["R2"], cove=COVE)})
    prices = [actions.make_estimate(job).estimate.line("price").amount for job in (store.job, with_cove)]
    assert point(store, "no-cove:R2").stake.money == pytest.approx(prices[1] - prices[0], rel=0.3)  # whole packs apart


def test_two_rooms_of_one_number_have_the_walls_of_the_second_at_stake(store):
    store.do(PutRoom(room=replace(store.job.rooms["R1"], id="R2")))
    run = replace(store.job.runs["a"], id="b", room="R2", points_pt=((100.0, 300.0), (180.0, 300.0)), openings=())
    store.do(PutRun(run=run))
    found = next(p for p in actions.open_points(store.job).open if p.key.startswith("number:1:R1"))
    assert found.stake.area == pytest.approx(8.0 * 3.0)


def test_a_stamp_on_a_sheet_is_open_only_where_walls_stand_on_it(store):
    stamp = Finding(about="stamp", text="it is marked “PRELIMINARY”")
    sheets = {
        1: replace(store.job.sheets[1], findings=(stamp,)),
        9: replace(store.job.sheets[1], id=9, findings=(stamp,)),
    }
    job = replace(store.job, sheets=sheets)
    assert [p.where.sheet for p in actions.open_points(job).open if "PRELIMINARY" in p.why] == [1]


def test_walls_on_a_plan_of_what_stands_before_the_work_are_open_with_all_of_them_at_stake(store):
    sheet = replace(store.job.sheets[1], title="EXISTING FIRST FLOOR PLAN")
    job = replace(store.job, sheets=store.job.sheets | {1: sheet})
    found = next(p for p in actions.open_points(job).open if p.key == "before:1")
    assert "pulled down" in found.why
    assert found.stake.area == pytest.approx(10.0 * 3.0 - 1.0 * 2.0)


def test_what_a_reader_says_in_metric_units_is_said_in_the_units_of_the_job_but_not_what_it_quotes(store):
    # 1 sf is 0.09290304 m², so 12 m² are 129.2 sf; 0.3048 m is 1'-0", 2.4384 m 8'-0"
    text = "a field of 12 m², 0.3048 to 2.4384 m wide, under “CLG 2.4 m”"
    sheet = replace(store.job.sheets[1], findings=(Finding(about="draft", text=text),))
    metric = replace(store.job, sheets=store.job.sheets | {1: sheet})
    imperial = replace(metric, settings=replace(metric.settings, units="imperial"))
    whys = [p.why for job in (metric, imperial) for p in actions.open_points(job).open if "a field of" in p.why]
    assert text in whys[0]
    assert "a field of 129.2 sf, 1'-0\" to 8'-0\" wide, under “CLG 2.4 m”" in whys[1]


def test_a_price_of_labour_alone_rests_on_nobody_s_rates_too(store):
    whole = actions.catalogue_of(store.job)
    system = whole.system("mat-hygienic")
    bare = replace(system, steps=tuple(step for step in system.steps if step.product is None and step.labour))
    labour = replace(whole, systems=tuple(bare if s.id == bare.id else s for s in whole.systems))
    register = actions.open_points(store.job, catalogue=labour)
    assert register.price > 0.0
    assert "rates" in [found.key for found in register.open]


def test_a_system_that_two_have_the_name_of_is_asked_for_by_its_id(store):
    store.do(PutRoom(room=Room(id="R1", number="104")))
    twin = replace(actions.catalogue_of(store.job).system("mat-hygienic"), id="twin")
    store.do(PutSystem(system=twin))
    with pytest.raises(InputError, match="is the name of 2 systems"):
        actions.give_value(store, [point(store, "system:R1")], twin.name)
    actions.give_value(store, [point(store, "system:R1")], "twin")
    assert store.job.rooms["R1"].system == "twin"
