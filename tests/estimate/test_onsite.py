from datetime import datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.errors import InputError
from takeoff.estimate.onsite import CoatTarget, coat_state, recoat_clock

MIL = 25.4e-6
SQUARE_FOOT = 0.09290304
GALLON = 3.785411784


def make_target(**more):
    settings = {"step": "glaze", "name": "Glaze", "area": 400.0, "wet_film": 200e-6, "pack_size": 4.0} | more
    return CoatTarget(**settings)


def test_a_gallon_on_two_hundred_square_feet_is_about_eight_mils():
    # Common practice, no source: 200 ft2 per gallon is a glaze of about 8 mils; exactly 1604.1667 / 200 = 8.0208.
    target = make_target(area=1000 * SQUARE_FOOT, wet_film=8 * MIL, pack_size=GALLON)
    state = coat_state(target, [(1.0, 200 * SQUARE_FOOT)])
    assert state.film / MIL == pytest.approx(1604.1667 / 200, rel=1e-6)
    assert (state.verdict, state.complete) == ("within", pytest.approx(0.2))
    # 800 ft2 left at 200.52 ft2/gal specified: 3.99 gallons; at the film laid exactly 4.
    assert (state.packs_specified, state.packs_to_finish) == (4, 4)


@pytest.mark.parametrize(
    ("packs", "verdict", "words"),
    [
        (9.0, "within", "180 µm (7.1 mils) laid for 200 µm (7.9 mils) specified, -10 %, within tolerance"),
        (8.9, "thin", "outside the tolerance of 10 %: too thin"),
        (11.0, "within", "+10 %"),
        (11.1, "thick", "too thick"),
    ],
)
def test_film_outside_tolerance_is_flagged(packs, verdict, words):
    state = coat_state(make_target(), [(packs, 200.0)])
    assert state.verdict == verdict
    assert words in state.words


def test_loss_is_taken_off_what_is_used():
    # 12.5 packs of 4 L at 20 % loss put 40 L on 200 m2: 200 um.
    state = coat_state(make_target(loss=0.2), [(12.5, 200.0)])
    assert state.film == pytest.approx(200e-6)
    assert state.packs_to_finish == state.packs_specified == 13  # 200 m2 x 0.2 L / 0.8 = 50 L


def test_records_add_up():
    state = coat_state(make_target(), [(4.0, 100.0), (6.0, 100.0)])
    assert (state.area_done, state.used, state.film) == (200.0, 40.0, pytest.approx(200e-6))


def test_coat_not_started_needs_the_specified_packs():
    state = coat_state(make_target(), [])
    assert (state.verdict, state.film, state.complete) == ("not started", None, 0.0)
    assert state.packs_to_finish == state.packs_specified == 20


def test_finished_coat_needs_no_packs():
    state = coat_state(make_target(), [(20.0, 400.0)])
    assert (state.complete, state.packs_to_finish) == (1.0, 0)


@pytest.mark.parametrize(("records", "message"), [([(1.0, 0.0)], "no area is done"), ([(-1.0, 5.0)], "-1 packs")])
def test_records_that_cannot_be_are_refused(records, message):
    with pytest.raises(InputError, match=message):
        coat_state(make_target(), records)


def test_area_without_use_is_thin_and_the_rest_is_forecast_at_the_specified_film():
    # 200 m2 left at 0.2 L/m2 are 40 L: 10 packs, not none.
    state = coat_state(make_target(), [(0.0, 200.0)])
    assert (state.film, state.verdict, state.packs_to_finish, state.packs_specified) == (0.0, "thin", 10, 10)
    assert "nothing used is recorded for 200.00 m²" in state.words


def test_more_done_than_there_is_is_said_and_the_film_is_that_of_what_was_done():
    # 440 m2 with 22 packs of 4 L: 200 um, and nothing is left to do.
    state = coat_state(make_target(), [(22.0, 440.0)])
    assert (state.complete, state.packs_to_finish, state.film) == (1.0, 0, pytest.approx(200e-6))
    assert "440.00 m² (4,736.1 sf) are recorded as done and there are 400.00 m²" in state.words


@pytest.mark.parametrize("wrong", [{"area": 0.0}, {"wet_film": 0.0}, {"pack_size": 0.0}, {"loss": 1.0}])
def test_targets_that_no_coat_can_be_are_refused(wrong):
    with pytest.raises(InputError, match="Glaze"):
        make_target(**wrong)


@settings(deadline=None, max_examples=60)
@given(st.floats(1.0, 400.0), st.floats(0.5, 1.5), st.floats(0.0, 0.4))
def test_going_on_at_the_same_film_uses_what_is_forecast(area, ratio, loss):
    target = make_target(loss=loss)
    packs = area * 200e-6 * 1000 * ratio / (1 - loss) / 4.0
    state = coat_state(target, [(packs, area)])
    assert state.ratio == pytest.approx(ratio)
    whole = 400.0 * 200e-6 * 1000 * ratio / (1 - loss) / 4.0
    assert whole <= packs + state.packs_to_finish + 1e-6 < whole + 1.0 + 1e-5


@pytest.mark.parametrize(
    ("now", "state", "words"),
    [
        (datetime(2026, 3, 2, 20, 0), "wait", "wait until 2026-03-03 03:00"),
        (datetime(2026, 3, 3, 3, 0), "open", "open until 2026-03-04 15:00"),
        (datetime(2026, 3, 4, 15, 1), "missed", "missed since 2026-03-04 15:00: abrade before the next coat"),
    ],
)
def test_recoat_clock_waits_opens_and_is_missed(now, state, words):
    clock = recoat_clock(datetime(2026, 3, 2, 15, 0), now, min_recoat=12.0, max_recoat=48.0)
    assert (clock.state, clock.words) == (state, words)


def test_recoat_clock_without_a_most_stays_open():
    clock = recoat_clock(datetime(2026, 3, 2, 15, 0), datetime(2026, 4, 2, 15, 0), min_recoat=12.0)
    assert (clock.state, clock.closes, clock.words) == ("open", None, "open")


def test_recoat_clock_refuses_times_and_windows_that_cannot_be():
    ended = datetime(2026, 3, 2, 15, 0)
    with pytest.raises(InputError, match="later than now"):
        recoat_clock(ended, datetime(2026, 3, 2, 14, 0), min_recoat=1.0)
    with pytest.raises(InputError, match="from 12 to 8 h"):
        recoat_clock(ended, ended, min_recoat=12.0, max_recoat=8.0)
