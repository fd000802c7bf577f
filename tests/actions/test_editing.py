"""Settings changed, walls and rooms removed, and rooms found by what people call them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from takeoff import actions
from takeoff.errors import EditError, InputError
from takeoff.exchange.catalogue_file import default_catalogue
from takeoff.job.edits import PutRoom, PutRun
from takeoff.model.walls import Room, Run
from tests.jobs import job_on


@pytest.fixture
def store(tmp_path):
    plan = actions.sample_plans() / "facility-metric.pdf"
    with job_on(tmp_path / "a.takeoff", plan, name="Wing") as store:
        for id, number, name in (("R1", "104", "Wash"), ("R2", "105", "Store"), ("R3", "106", "Store")):
            store.do(PutRoom(room=Room(id=id, number=number, name=name)))
            store.do(PutRun(run=Run(id=f"w{id}", sheet=1, room=id, points_pt=((9.0, 9.0), (99.0, 9.0)))))
        yield store


def test_settings_that_are_named_change(store):
    actions.change_settings(store, rule="nrm2", units="metric")
    assert (store.job.settings.rule, store.job.settings.units, store.job.settings.name) == ("nrm2", "metric", "Wing")
    with pytest.raises(InputError):
        actions.change_settings(store, rule="nothing")


@pytest.mark.parametrize("text", ["R1", "104", "wash", "104 Wash"])
def test_a_room_is_found_by_id_number_or_name(store, text):
    assert actions.room_named(store, text).id == "R1"


def test_a_name_of_two_rooms_or_of_none_is_refused_with_the_ids(store):
    with pytest.raises(EditError) as twice:
        actions.room_named(store, "Store")
    assert "R2, R3" in twice.value.remedy
    with pytest.raises(EditError) as none:
        actions.room_named(store, "")
    assert "R1 (104)" in none.value.remedy


def test_walls_and_rooms_are_removed_in_one_step(store):
    actions.remove_from_job(store, runs=["wR1", "wR2"], rooms=["104"])
    assert (list(store.job.runs), list(store.job.rooms)) == (["wR3"], ["R3"])
    actions.undo(store)
    assert len(store.job.runs) == 3


def test_a_catalogue_in_another_currency_leaves_no_prices_of_the_old_one_behind(store):
    shipped = default_catalogue()
    actions.use_catalogue(store, shipped)
    euros = replace(shipped, currency="EUR", systems=shipped.systems[1:])
    with pytest.raises(InputError, match=f"{shipped.systems[0].id} would stay with prices in USD"):
        actions.use_catalogue(store, euros)
    actions.use_catalogue(store, replace(euros, systems=shipped.systems))
    assert store.job.settings.currency == "EUR"
