import pytest

from takeoff.estimate.cautions import usual_cautions


@pytest.mark.parametrize(
    "subject",
    ["check dimensions", "data sheet", "codes and authorities", "dew-point", "lead", "height", "confined", "licensed"],
)
def test_the_general_cautions_are_always_there(subject):
    assert any(subject in sentence for sentence in usual_cautions([]))


@pytest.mark.parametrize(
    ("hazard", "word"), [("isocyanate", "asthma"), ("epoxy", "allergy"), ("silica", "silica"), ("solvent", "vapour")]
)
def test_each_hazard_brings_its_own_caution_once(hazard, word):
    assert not any(word in sentence for sentence in usual_cautions([]))
    assert sum(word in sentence for sentence in usual_cautions([hazard, hazard])) == 1


def test_the_last_word_is_that_an_estimate_guarantees_nothing():
    assert usual_cautions(["epoxy"])[-1] == "This report is an estimate, not a guarantee."
