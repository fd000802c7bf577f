"""Records from site in a job: kept, undone, judged."""

from __future__ import annotations

import math
import time
from dataclasses import replace
from datetime import datetime

import pytest

from takeoff import actions
from takeoff.actions.reports import report_content
from takeoff.errors import EditError, InputError
from takeoff.job.edits import Remove
from takeoff.model.site import PackUse, Reading, SiteTerms
from takeoff.units import SQUARE_FOOT

NOW = "2026-03-04T15:00:00+00:00"


@pytest.fixture(autouse=True)
def signed(store):
    sign_at(store, NOW)


def sign_at(store, now):
    """Have it be another time."""
    store.sign = lambda: ("test", now)


def progress(store):
    return actions.progress(actions.make_estimate(store.job), store.job.uses.values())


def read_clocks(store, **more):
    return actions.recoat_clocks(actions.make_estimate(store.job), store.job, **more)


def coat(coats, step, system="mat-hygienic"):
    return next(c for c in coats if (c.system, c.step) == (system, step))


def test_packs_on_an_area_give_the_film_less_the_loss(store):
    # By hand: a kit of 3 gal is 11.356 L; 12 % are lost, and 0.025 gal of the whole coat stay in tools; on 600 ft2 =
    # 55.742 m2 it lays 179 µm, 203 µm are specified.
    use = actions.record_use(store, step="glaze", packs=1.0, area=600 * SQUARE_FOOT, room="R104")
    assert (use.id, use.system, use.pack) == ("u1", "mat-hygienic", "3 gal kit")
    found = coat(progress(store), "glaze")
    on_wall = found.target.area * 8 * 25.4e-3  # litres: m² and mm
    loss = 1 - on_wall / (on_wall / 0.88 + 0.025 * 3.785411784)
    assert found.target.loss == pytest.approx(loss)
    assert found.state.film * 1e6 == pytest.approx(11.3562 * (1 - loss) / 55.7418 * 1e3, abs=0.1)
    assert found.state.verdict == "thin"
    assert found.target.wet_film == pytest.approx(8 * 25.4e-6)


def test_records_add_up_whatever_pack_they_name(store):
    # Three kits of 1 gal are one of 3 gal.
    for pack, packs, area in (("1 gal kit", 3.0, 20.0), ("3 gal kit", 1.0, 20.0)):
        actions.record_use(store, step="glaze", packs=packs, area=area, pack=pack, system="mat-hygienic")
    found = coat(progress(store), "glaze")
    assert found.state.used == pytest.approx(2 * 3 * 3.785411784)
    assert found.state.area_done == 40.0


def test_a_record_is_one_edit_that_can_be_undone_and_done_again(store):
    actions.record_use(store, step="glaze", packs=1.0, area=50.0, system="mat-hygienic")
    actions.undo(store)
    assert not store.job.uses
    actions.redo(store)
    assert [use.area for use in store.job.uses.values()] == [50.0]


def test_a_coat_that_two_systems_have_needs_its_system_or_a_room(store):
    with pytest.raises(InputError, match="more than one system") as caught:
        actions.record_use(store, step="glaze", packs=1.0, area=5.0)
    assert "--system: " in caught.value.remedy
    assert "mat-hygienic" in caught.value.remedy
    assert not store.job.uses


@pytest.mark.parametrize(
    ("changes", "found"),
    [
        ({"step": "gold"}, "no system in use"),
        ({"pack": "barrel"}, "no pack"),
        ({"area": 1e5}, "are recorded as done"),
        ({"packs": -1.0}, "-1 packs"),
        ({"area": 0.0}, "no area is done"),
    ],
)
def test_records_that_cannot_be_are_refused_and_nothing_is_kept(store, changes, found):
    given = {"step": "glaze", "system": "mat-hygienic", "packs": 1.0, "area": 50.0, **changes}
    with pytest.raises(InputError, match=found):
        actions.record_use(store, **given)
    assert not store.job.uses


def test_a_record_in_a_room_that_is_not_there_is_refused(store):
    with pytest.raises(EditError, match='no room "R999"'):
        actions.record_use(store, step="glaze", packs=1.0, area=5.0, system="mat-hygienic", room="R999")


def test_the_recoat_clock_of_a_room_runs_from_its_last_record(store):
    # The glaze is open from 12 to 48 h after it: 2026-03-05 03:00 to 2026-03-06 15:00.
    actions.record_use(store, step="glaze", packs=1.0, area=50.0, room="R104")
    said = []
    for moment in ("2026-03-04T20:00", "2026-03-05T07:00", "2026-03-07T07:00"):
        (clock,) = read_clocks(store, now=datetime.fromisoformat(moment))
        said.append(clock.clock.state)
    assert (said, clock.label) == (["wait", "open", "missed"], "104 Process")


@pytest.fixture
def chicago(monkeypatch):
    """A machine that is six hours behind the times that are kept."""
    monkeypatch.setenv("TZ", "America/Chicago")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


def test_the_recoat_clock_is_read_and_told_by_the_clock_on_the_wall(store, chicago):
    # 15:00 UTC is 09:00 in Chicago, where it opens at 21:00 and closes two days later at 09:00.
    actions.record_use(store, step="glaze", packs=1.0, area=50.0, room="R104")
    said = [read_clocks(store, now=datetime(2026, 3, 4, hour))[0].clock.words for hour in (20, 22)]
    assert said == ["wait until 2026-03-04 21:00", "open until 2026-03-06 09:00"]


def test_a_report_of_the_evening_has_the_day_of_the_clock_on_the_wall(store, chicago):
    content = report_content(store, actions.make_estimate(store.job), at="2026-03-05T02:00:00+00:00")
    assert content.date == "2026-03-04"


@pytest.mark.parametrize("when", ["tomorrow", "0001-01-01T00:00"])
def test_a_record_of_no_time_or_of_another_age_is_refused(when):
    with pytest.raises(InputError):
        PackUse(id="u1", system="s", step="t", pack="", packs=0.0, area=1.0, when=when)
    with pytest.raises(InputError):
        Reading(id="r1", air=20.0, surface=20.0, humidity=0.5, when=when)


def test_progress_is_shown_where_a_wall_was_taken_out_after_it_was_coated(store):
    coats = progress(store)
    whole = coat(coats, "glaze").target.area
    actions.record_use(store, step="glaze", packs=1.0, area=whole, system="mat-hygienic")
    store.do(Remove(kind="run", id="104-walls"))
    found = coat(progress(store), "glaze")
    assert found.state.complete == 1.0
    assert "are recorded as done and there are" in found.state.words


def test_a_record_from_later_than_now_is_named(store):
    actions.record_use(store, step="glaze", packs=1.0, area=50.0, room="R104")
    with pytest.raises(InputError, match="room 104 Process, record u1") as caught:
        read_clocks(store, now=datetime(2026, 3, 4, 12))
    assert "later than now" in str(caught.value)


def test_the_clock_of_a_coat_that_takes_flake_is_that_of_the_flake(store):
    # The glaze itself states no window; the flake in it is open from 12 to 48 h.
    actions.record_use(store, step="glaze", packs=1.0, area=20.0, system="flake-wall", room="R101")
    (clock,) = read_clocks(store, now=datetime(2026, 3, 4, 20))
    assert (clock.clock.state, clock.clock.opens.hour) == ("wait", 3)


def test_what_the_substrate_takes_is_in_the_packs_to_finish(store):
    # Plaster takes 0.05 L/m2 more primer than concrete: the catalogue's own figure for the system.
    plain = coat(progress(store), "prime").target
    rates = replace(actions.catalogue_of(store.job).rates, substrate="plaster")
    plaster = coat(actions.progress(actions.make_estimate(store.job, catalogue=replace(
        actions.catalogue_of(store.job), rates=rates)), ()), "prime").target  # fmt: skip
    assert plaster.wet_film - plain.wet_film == pytest.approx(0.05e-3)


def test_warmth_shortens_the_clock_as_read_in_the_room_before_as_planned(store):
    # Stated at 23 °C; at 33 °C everything takes half as long, at 13 °C twice (12 h from 15:00).
    actions.record_use(store, step="glaze", packs=1.0, area=50.0, room="R104")
    opens = [read_clocks(store, now=datetime(2026, 3, 4, 22))[0]]
    actions.keep_terms(store, SiteTerms(start="2026-03-02", temperature=13.0))
    opens += read_clocks(store, now=datetime(2026, 3, 4, 22))
    for room, surface, when in (
        ("R104", 33.0, "2026-03-04T16:00:00+00:00"),
        ("R105", 3.0, "2026-03-04T17:00:00+00:00"),
        ("R104", 43.0, "2026-03-04T23:30:00+00:00"),
    ):
        sign_at(store, when)
        actions.record_reading(store, air=20.0, surface=surface, humidity=0.5, room=room)
    opens += read_clocks(store, now=datetime(2026, 3, 4, 22))
    assert [(c.clock.opens.strftime("%d %H"), c.temperature) for c in opens] == [
        ("05 03", None), ("05 15", 13.0), ("04 21", 33.0),
    ]  # fmt: skip


def test_a_reading_is_judged_and_kept(store):
    # ISO 8502-4's table as usually read: 16 °C at 71 % has its dew point near 10.7 °C.
    verdict = actions.record_reading(store, air=16.0, surface=13.0, humidity=0.71, room="R104")
    assert not verdict.may_coat
    assert verdict.dew_point == pytest.approx(10.7, abs=0.1)
    (reading,) = store.job.readings.values()
    assert (reading.id, reading.room, reading.when) == ("s1", "R104", NOW)


def test_records_go_out_and_come_back_with_the_job(store):
    from takeoff.exchange.job_json import job_from_json, job_to_json

    actions.record_use(store, step="glaze", packs=1.0, area=50.0, room="R104")
    actions.record_reading(store, air=20.0, surface=20.0, humidity=0.5)
    job, _, _ = job_from_json(job_to_json(store))
    assert job == store.job


def clocks(store, moment):
    return {clock.surface: clock.clock for clock in read_clocks(store, now=datetime.fromisoformat(moment))}


def test_sealing_the_cove_leaves_the_clock_of_the_wall_as_it_was(store):
    # First glaze coat done at 15:00, at least 12 h; the cove sealed at 17:00, without a window.
    actions.record_use(store, step="glaze", packs=1.0, area=50.0, room="R104", when="2026-03-04T15:00")
    sign_at(store, "2026-03-04T17:00:00+00:00")
    actions.record_use(store, step="cove-seal", packs=0.1, area=1.0, room="R104")
    found = clocks(store, "2026-03-04T20:00")
    assert (found["wall"].state, found["wall"].opens.day, found["wall"].opens.hour) == ("wait", 5, 3)
    assert found["cove"].state == "open"


def test_mat_goes_into_the_base_coat_now_within_its_pot_life_and_the_window_of_all_runs_after_it(store):
    # Laminating epoxy: 35 min of pot life; the saturating coat closes the wet work, at least 12 h; sanding follows it.
    actions.record_use(store, step="base", packs=1.0, area=20.0, room="R104", when="2026-03-04T10:00")
    wet = clocks(store, "2026-03-04T10:20")["wall"]
    assert wet.words == "now, wet into wet, until 10:35: Corner reinforcement strips"
    dry = clocks(store, "2026-03-04T10:40")["wall"]
    assert (dry.state, dry.opens.hour, dry.closes) == ("wait", 22, None)


def test_the_second_coat_of_a_step_has_its_own_most(store):
    # Clear polyaspartic in two coats: the second within 24 h of the first, and nothing after it.
    where = {"system": "flake-wall", "room": "R101"}
    whole = coat(progress(store), "clear", "flake-wall").target.area / 2.0
    actions.record_use(store, step="clear", packs=1.0, area=whole, when="2026-03-03T15:00", **where)
    assert clocks(store, "2026-03-04T16:00")["wall"].state == "missed"
    actions.record_use(store, step="clear", packs=1.0, area=whole, when="2026-03-04T15:00", **where)
    assert clocks(store, "2026-03-06T16:00")["wall"].state == "open"


def test_a_reading_names_the_products_that_may_not_be_laid(store):
    # 50 °F: the shipped glaze asks for 60 °F, the primer for 50 °F (both common practice, no source).
    verdict = actions.record_reading(store, air=10.0, surface=10.0, humidity=0.5, room="R104")
    names = " ".join(name for name, _ in verdict.products)
    assert "Epoxy glaze" in names
    assert "Epoxy primer" not in names
    assert not verdict.may_coat
    assert any("Epoxy primer" in name for name in verdict.allowed)


def test_mortar_mat_and_flake_are_recorded_as_they_are_counted(store):
    # By hand: a 3 gal kit is 11.356 L, two kits on 40 ft (12.192 m) less 10 % loss lay 1.677 L on each metre.
    actions.record_use(store, step="cove", system="mat-hygienic", packs=2.0, area=12.192, counted="length")
    cove = coat(progress(store), "cove", "mat-hygienic")
    assert cove.state.film * 1e3 == pytest.approx(2 * 11.3562 * 0.9 / 12.192, rel=1e-4)
    assert "too much" in cove.state.words
    # A roll of 625 ft2 on 500 ft2 of wall is 1.25 m2 a m2, laps and trims with it.
    actions.record_use(store, step="mat", system="mat-hygienic", packs=1.0, area=500 * 0.09290304)
    assert coat(progress(store), "mat", "mat-hygienic").state.film * 1e3 == pytest.approx(1.25)
    # A 40 lb box on 200 ft2 less 30 % loss is 0.14 lb/ft2, 0.6836 kg/m2.
    actions.record_use(store, step="flake", packs=1.0, area=200 * 0.09290304)
    flake = coat(progress(store), "flake", "flake-wall")
    assert flake.state.film * 1e3 == pytest.approx(0.7 * 40 * 0.45359237 / (200 * 0.09290304))


def test_a_length_is_no_area_of_a_step_that_goes_by_area(store):
    with pytest.raises(InputError, match="counted by area, not by length"):
        actions.record_use(store, step="glaze", system="mat-hygienic", area=3.0, counted="length")
    with pytest.raises(InputError, match="takes no packs"):
        actions.record_use(store, step="prepare", system="mat-hygienic", packs=1.0, area=3.0)
    with pytest.raises(InputError, match="nothing is recorded"):
        actions.record_use(store, step="prepare", system="mat-hygienic")


@pytest.mark.parametrize("unit", [0.09290304 / 10.0, 0.01])
def test_a_figure_rounded_up_as_it_is_shown_is_taken(store, unit):
    # Areas are shown to 0.1 sf or 0.01 m2.
    whole = coat(progress(store), "glaze", "mat-hygienic").target.area
    shown = math.ceil(whole / unit) * unit
    if shown - whole <= unit / 2:
        actions.record_use(store, step="glaze", system="mat-hygienic", packs=1.0, area=shown)
    with pytest.raises(InputError, match="are recorded as done"):
        actions.record_use(store, step="glaze", system="mat-hygienic", packs=1.0, area=whole + 0.1)


def test_the_minute_that_is_shown_of_a_record_is_not_before_it(store):
    actions.record_use(
        store, step="glaze", system="mat-hygienic", packs=1.0, area=5.0, room="R104", when="2026-03-02T15:00:40"
    )
    assert clocks(store, "2026-03-02T15:00")["wall"].state == "wait"


def test_mat_goes_into_the_base_coat_and_the_saturating_coat_into_both_within_the_pot_life_of_the_base(store):
    where = {"system": "mat-hygienic", "room": "R104"}
    actions.record_use(store, step="base", packs=1.0, area=5.0, when="2026-03-02T10:00", **where)
    actions.record_use(store, step="mat", packs=0.1, area=5.0, when="2026-03-02T10:15", **where)
    # The shipped laminating epoxy works for 35 min.
    assert clocks(store, "2026-03-02T10:34")["wall"].state == "wet"
    assert clocks(store, "2026-03-02T10:36")["wall"].state == "wait"


def test_sanding_ends_the_window_and_hours_alone_start_none(store):
    where = {"room": "R104", "system": "mat-hygienic"}
    actions.record_use(store, step="saturate", packs=1.0, area=5.0, when="2026-03-02T15:00", **where)
    actions.record_use(store, step="glaze", hours=1.0, when="2026-03-03T15:00", **where)
    actions.record_use(store, step="sand", area=5.0, hours=1.0, when="2026-03-04T08:00", **where)
    clock = clocks(store, "2026-03-09T08:00")["wall"]
    assert (clock.state, clock.closes) == ("open", None)
