import pytest

from takeoff.gui.dialogs.site_dialogs import TermsDialog


@pytest.fixture
def dialog(hand, opened):
    found = TermsDialog(hand.window)
    hand.settle()
    return found


def test_terms_are_kept_with_the_job_and_the_price_is_made_from_the_plan(hand, dialog):
    session = hand.window.session
    dialog.form["start"].show("2026-03-02")
    dialog.form["crews"].show("2")
    dialog.form["travel"].show("35")
    dialog.form["humidity"].show("60")
    dialog.form["moisture"].show("3.5")
    dialog.form["share_area"].show("300 sf")
    dialog.form["room:R104"].show("2026-03-09")
    dialog.run()
    hand.settle()
    kept = session.job.settings.site
    assert (kept.start, kept.crews, kept.is_priced_by) == ("2026-03-02", 2, True)
    assert (kept.humidity, kept.moisture) == (pytest.approx(0.6), pytest.approx(0.035))
    assert kept.share_area == pytest.approx(300 * 0.09290304)
    assert kept.travel_km == pytest.approx(35 * 1.609344)
    assert [(found.room, found.day) for found in kept.handed_over] == [("R104", "2026-03-09")]
    assert hand.window.priced.estimate.site.crews == 2


def test_what_does_not_fit_is_said_and_nothing_is_kept(hand, dialog):
    dialog.form["start"].show("soon")
    dialog.run()
    assert "soon" in dialog.said.cget("text")
    assert hand.window.session.job.settings.site is None


def test_forgetting_the_terms_makes_the_price_by_hours_again(hand, dialog):
    dialog.run()
    again = TermsDialog(hand.window)
    hand.settle()
    again.forget()
    hand.settle()
    assert hand.window.session.job.settings.site is None
    assert hand.window.priced.estimate.site is None
