"""Colour and substrate of rooms and walls: packs by colour, and what goes onto which substrate."""

from dataclasses import replace

import pytest

from takeoff import actions
from takeoff.errors import EditError
from takeoff.exchange.job_json import job_from_json, job_to_json

GLAZE = "epoxy-glaze"


def glaze_lines(store):
    return {line.colour: line for line in actions.make_estimate(store.job).estimate.materials if line.product == GLAZE}


def test_packs_are_whole_for_each_colour_and_need_is_what_it_was(store):
    before = glaze_lines(store)[""]
    actions.set_finish(store, rooms=["R104"], colour="light grey")
    after = glaze_lines(store)
    assert set(after) == {"", "light grey"}
    assert sum(line.needed for line in after.values()) == pytest.approx(before.needed)
    for line in after.values():
        assert line.bought >= line.needed
        # Each gallon of the shipped glaze takes one colour pack.
        assert line.colour_packs == round(sum(p.count * p.size for p in line.packs) / 3.785411784)
    assert after["light grey"].name.endswith("light grey")


def test_one_wall_may_have_a_colour_of_its_own_and_the_room_is_planned_as_before(store):
    run = next(run for run in store.job.runs.values() if run.room == "R104")
    plan = actions.plan_job(actions.make_estimate(store.job), effort=0.0)
    actions.set_finish(store, runs=[run.id], colour="blue")
    assert "blue" in glaze_lines(store)
    after = actions.plan_job(actions.make_estimate(store.job), effort=0.0)
    assert [(w.work, w.start, w.end) for w in after.works] == [(w.work, w.start, w.end) for w in plan.works]


def steps_of(store, room):
    return {line.step for line in actions.make_estimate(store.job).estimate.labour if line.room == room}


@pytest.mark.parametrize(
    ("substrate", "more", "less"),
    [
        # What goes onto which: common practice, no source.
        ("block", {"fill-pores"}, set()),
        ("brick", {"fill-pores"}, set()),
        ("metal", {"prepare-metal", "prime-metal"}, {"prime"}),
        ("existing", {"prepare-existing"}, set()),
        ("board", {"prepare-board"}, set()),
        ("plaster", set(), set()),
    ],
)
def test_a_substrate_changes_primer_filler_and_preparation_of_its_room_alone(store, substrate, more, less):
    concrete, other = steps_of(store, "R104"), steps_of(store, "R103")
    actions.set_finish(store, rooms=["R104"], substrate=substrate)
    assert steps_of(store, "R104") == (concrete | more) - less
    assert steps_of(store, "R103") == other


def test_substrate_and_colour_are_open_points_until_they_are_given(store):
    def keys():
        return {point.key for point in actions.open_points(store.job, has_stakes=False).open}

    assert {"substrate", "colour"} <= keys()
    actions.set_finish(store, rooms=store.job.rooms, colour="white", substrate="concrete")
    assert not {"substrate", "colour"} & keys()


def test_they_go_out_and_come_back_with_the_job_and_by_an_edits_file(store):
    actions.set_finish(store, rooms=["R104"], colour="white", substrate="block")
    job, _, _ = job_from_json(job_to_json(store))
    assert job.rooms["R104"] == store.job.rooms["R104"]
    text = b'{"schema": "takeoff.edits/1", "rooms": [{"id": "R104", "colour": "blue", "substrate": null}]}'
    actions.apply_edits(store, text)
    assert store.job.rooms["R104"] == replace(job.rooms["R104"], colour="blue", substrate=None)
    with pytest.raises(EditError):
        actions.set_finish(store, rooms=["R999"], colour="white")


def test_rollers_trays_and_blades_are_lines_of_the_catalogue(store):
    bought = {line.product for line in actions.make_estimate(store.job).estimate.materials}
    assert {"roller-cover", "tray", "blade", "masking-tape", "abrasive-discs"} <= bought
