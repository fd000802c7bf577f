"""Systems and products are edited in fields, the arithmetic of the step beside them."""

import pytest

from takeoff import actions
from takeoff.gui.dialogs.system_forms import SystemForms


@pytest.fixture
def forms(hand, opened):
    hand.wait(lambda: hand.window.priced is not None)
    dialog = SystemForms(hand.window)
    hand.settle()
    dialog.systems._chosen("Reinforced hygienic wall, epoxy glaze")
    dialog.steps._chosen("First glaze coat")
    hand.settle()
    return dialog


def said(forms):
    return forms.arithmetic.cget("text")


def test_a_film_typed_changes_spread_and_packs_at_once_and_the_job_when_it_is_used(hand, forms):
    session = hand.window.session
    assert "Spread 200.5 sf/gal" in said(forms)  # 1604.17 / 8
    before = session.job
    hand.type(forms.step["much"].entry, "16 mil")
    assert "Spread 100.3 sf/gal" in said(forms)  # 1604.17 / 16
    assert session.job is before
    hand.type(forms.product["pack1"].entry, "3 gal kit; 3 gal; 300; 3")
    forms.take()
    assert not forms.winfo_exists()
    step = next(s for s in session.job.systems["mat-hygienic"].steps if s.id == "glaze")
    assert step.wet_film == pytest.approx(16 * 25.4e-6)
    assert session.job.products["epoxy-glaze"].packs[1].price == 300.0
    hand.chord("Control-z")
    assert not session.job.systems


def test_what_does_not_fit_is_refused_at_its_field_and_nothing_else_is_lost(hand, forms):
    before = forms.catalogue
    hand.type(forms.step["loss"].entry, "a little")
    assert forms.step["loss"]._is_wrong
    assert "not a number" in forms.said.cget("text")
    assert forms.catalogue == before
    hand.type(forms.step["loss"].entry, "20 %")
    assert not forms.step["loss"]._is_wrong
    assert "160.4 sf/gal" in said(forms)  # 200.5 × 0.8


def test_the_same_film_is_said_in_another_way(hand, forms):
    forms.step["way"]._chosen("dry film")
    hand.settle()
    assert forms.step["much"].entry.get() == "8 mil"  # 100 % solids
    assert "Spread 200.5 sf/gal" in said(forms)


def test_a_system_of_ones_own_is_a_copy_with_steps_moved_added_and_removed(hand, forms):
    forms._copy_system()
    hand.type(forms.system["name"].entry, "Wall of our own")
    names = [step.name for step in forms._system.steps]
    forms._copy_step()
    hand.type(forms.step["name"].entry, "Third glaze coat")
    forms._move(-1)
    assert forms._system.steps[names.index("First glaze coat")].name == "Third glaze coat"
    forms._remove_step()
    assert [step.name for step in forms._system.steps] == names
    forms.take()
    job = hand.window.session.job
    assert job.systems["mat-hygienic-2"].name == "Wall of our own"
    assert actions.catalogue_of(job).system("mat-hygienic").name == "Reinforced hygienic wall, epoxy glaze"


def test_what_is_not_in_the_job_yet_is_not_dropped_by_one_close(hand, forms):
    hand.type(forms.step["coats"].entry, "2")
    forms.close()
    assert forms.winfo_exists()
    assert "not in the job yet" in forms.said.cget("text")
    forms.close()
    assert not forms.winfo_exists()
