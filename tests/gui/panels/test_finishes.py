"""Colour and substrate of a room and of a single wall, given beside the plan."""

import pytest

from takeoff import actions
from takeoff.gui.session import Selection


@pytest.fixture
def session(hand, opened):
    return hand.window.session


def packs_of(session, product):
    lines = actions.make_estimate(session.job).estimate.materials
    return {line.colour: line.colour_packs for line in lines if line.product == product}


def test_a_colour_typed_for_a_room_is_counted_by_itself_and_undo_takes_it_back(hand, session):
    session.select(Selection(runs=("104-walls",)))
    hand.settle()
    before = packs_of(session, "epoxy-glaze")
    hand.type(hand.window.details.room["colour"].entry, "cream")
    hand.settle()
    assert session.job.rooms["R104"].colour == "cream"
    after = packs_of(session, "epoxy-glaze")
    assert set(after) == {*before, "cream"}
    assert after["cream"] > 0
    session.undo()
    assert packs_of(session, "epoxy-glaze") == before
    assert hand.window.details.room["colour"].entry.get() == ""


def test_a_substrate_chosen_for_one_wall_changes_its_steps_and_not_the_rooms(hand, session):
    session.select(Selection(runs=("104-walls",)))
    hand.settle()
    hand.window.details.wall["substrate"]._chosen("metal")
    hand.settle()
    assert (session.job.runs["104-walls"].substrate, session.job.rooms["R104"].substrate) == ("metal", None)
    steps = {line.step for line in actions.make_estimate(session.job).estimate.labour if line.room == "R104"}
    assert {"prime-metal", "prime"} <= steps  # metal for the walls, concrete for the pillars
    hand.window.details.wall["substrate"]._chosen("the room's")
    hand.settle()
    assert session.job.runs["104-walls"].substrate is None


def test_several_rooms_take_one_substrate_and_differing_colours_are_told(hand, session):
    session.select(Selection(runs=("104-walls", "106-walls")))
    hand.settle()
    hand.window.details.room["substrate"]._chosen("concrete block")
    hand.settle()
    assert {session.job.rooms[id].substrate for id in ("R104", "R106")} == {"block"}
    session.select(Selection(runs=("104-walls",)))
    hand.settle()
    hand.type(hand.window.details.room["colour"].entry, "cream")
    session.select(Selection(runs=("104-walls", "106-walls")))
    hand.settle()
    assert hand.window.details.room["colour"].entry.get() == "(differ)"
