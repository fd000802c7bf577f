"""Calibration: known scales recovered, stated uncertainty kept, contradictions told."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.errors import CalibrationError
from takeoff.model.plan import KnownDimension
from takeoff.sheet.calibrate import calibration_from_note, calibration_from_ratio, fit_calibration

POINT = 0.0254 / 72


def known(dx, dy, length, start=(100.0, 100.0)):
    return KnownDimension(start_pt=start, end_pt=(start[0] + dx, start[1] + dy), length=length)


def exact(dx, dy, mx, my=None):
    return known(dx, dy, math.hypot(dx * mx, dy * (mx if my is None else my)))


def test_forty_feet_on_360_points_has_the_uncertainty_of_its_two_picks():
    # JCGM 100:2008 5.1.2 eq. (10): u_s/s = √2 × 0.5 / 360 = 0.19641855 % (derived)
    fitted = fit_calibration(1, [known(360, 0, 40 * 0.3048)], pick=0.5)
    assert fitted.ratio == pytest.approx(96, rel=1e-12)
    assert fitted.u_scale * 100 == pytest.approx(0.19641855, abs=5e-9)
    # a run of 900 pt = 100 ft: scale part 0.196419 ft, its own picks 0.078567 ft, together 0.211549 ft (derived)
    own = math.sqrt(2) * fitted.pick * fitted.mx
    u = math.hypot(900 * fitted.mx * fitted.u_scale, own) / 0.3048
    assert u == pytest.approx(0.211549, abs=5e-7)


def test_uncertainty_of_the_stated_length_adds_in_quadrature():
    # (u_s/s)² = (u_L/L)² + (u_d/d)²: 0.01 / 10 = 0.1 %, √2 × 0.5 / 500 = 0.141421 %, together 0.173205 %
    fitted = fit_calibration(1, [known(0, 500, 10.0)], pick=0.5, length_u=0.01)
    assert fitted.u_scale * 100 == pytest.approx(math.sqrt(0.03), rel=1e-9)


def test_one_dimension_in_any_direction_gives_one_scale_for_both():
    fitted = fit_calibration(3, [exact(300, -400, 48 * POINT)], region="detail")
    assert (fitted.mx, fitted.my) == pytest.approx((48 * POINT, 48 * POINT), rel=1e-12)
    assert (fitted.sheet, fitted.region, fitted.source, fitted.doubts) == (3, "detail", "dimensions", ())
    assert fitted.residuals == pytest.approx((0,), abs=1e-12)


def test_two_equal_dimensions_lessen_the_uncertainty_by_the_root_of_two():
    # equal weights: u² = 2 pick² / Σ d²
    fitted = fit_calibration(1, [exact(360, 0, 96 * POINT), exact(360, 0, 96 * POINT)])
    assert fitted.u_scale * 100 == pytest.approx(0.19641855 / math.sqrt(2), rel=1e-6)


def test_dimensions_in_two_directions_give_two_scales_and_tell_the_difference():
    # a scanner that stretches: x 0.9968, y 1.0036
    mx, my = 50 * POINT / 0.9968, 50 * POINT / 1.0036
    fitted = fit_calibration(1, [exact(900, 0, mx, my), exact(0, 700, mx, my)])
    assert (fitted.mx, fitted.my) == pytest.approx((mx, my), rel=1e-10)
    assert fitted.anisotropy == pytest.approx(0.9968 / 1.0036 - 1, rel=1e-9)
    assert "along y differs from that along x by -0.68%" in fitted.doubts[0]
    assert "misread" not in fitted.doubts[0]
    # the shorter dimension decides the worse direction: √2 × 0.5 / 700
    assert fitted.u_scale == pytest.approx(math.sqrt(0.5) / 700, rel=1e-6)


def test_difference_within_its_uncertainty_is_not_doubted():
    fitted = fit_calibration(1, [exact(300, 0, 50 * POINT), exact(0, 300, 50.1 * POINT)])
    assert fitted.anisotropy == pytest.approx(0.002, abs=1e-6)
    assert fitted.doubts == ()


def test_dimensions_in_nearly_one_direction_are_not_asked_for_two_scales():
    fitted = fit_calibration(1, [exact(900, 0, 50 * POINT), exact(800, 150, 50 * POINT, 52 * POINT)])
    assert fitted.mx == fitted.my


@given(
    ratio=st.floats(1, 1000),
    stretch=st.floats(0.97, 1.03),
    extra=st.lists(st.tuples(st.floats(-2000, 2000), st.floats(-2000, 2000)), max_size=5),
    x=st.floats(100, 2000),
    y=st.floats(100, 2000),
)
def test_exact_dimensions_give_back_both_scales(ratio, stretch, extra, x, y):
    mx, my = ratio * POINT, ratio * stretch * POINT
    moves = [(x, 0.0), (0.0, y), *(move for move in extra if math.hypot(*move) > 50)]
    fitted = fit_calibration(1, [exact(dx, dy, mx, my) for dx, dy in moves])
    assert (fitted.mx, fitted.my) == pytest.approx((mx, my), rel=1e-9)
    assert fitted.residuals == pytest.approx([0] * len(moves), abs=1e-8 * ratio)


@given(scale=st.floats(2, 500), k=st.floats(0.1, 10))
def test_scale_goes_with_the_stated_lengths(scale, k):
    moves = [(300, 20), (10, 400), (250, 250)]
    once = fit_calibration(1, [known(dx, dy, math.hypot(dx, dy) * scale * POINT * 1.001) for dx, dy in moves])
    scaled = fit_calibration(1, [known(dx, dy, math.hypot(dx, dy) * scale * POINT * 1.001 * k) for dx, dy in moves])
    assert scaled.mx == pytest.approx(once.mx * k, rel=1e-9)
    assert scaled.u_scale == pytest.approx(once.u_scale, rel=1e-6)


@pytest.mark.parametrize(
    ("moves", "low", "high"),
    [
        ([(360, 0)], 0.93, 0.97),
        ([(200, 150)], 0.93, 0.97),
        ([(360, 0), (250, 0), (500, 40)], 0.93, 0.985),
        ([(360, 0), (0, 300)], 0.93, 0.97),
        ([(360, 0), (0, 300), (400, 10), (30, 350), (250, 250)], 0.93, 0.985),
    ],
)
def test_twice_the_stated_uncertainty_holds_the_truth_about_95_times_in_100(moves, low, high):
    """Picks that err by a normal 0.5 points; the Birge ratio only ever enlarges, so several may hold it more often."""
    random = np.random.default_rng(20240318)
    mx = my = 96 * POINT
    trials, held = 1500, 0
    for _ in range(trials):
        picks = random.normal(0, 0.5, (len(moves), 4))
        dimensions = [
            KnownDimension(
                start_pt=(100 + e[0], 200 + e[1]),
                end_pt=(100 + dx + e[2], 200 + dy + e[3]),
                length=math.hypot(dx * mx, dy * my),
            )
            for (dx, dy), e in zip(moves, picks, strict=True)
        ]
        fitted = fit_calibration(1, dimensions, pick=0.5)
        # fitted apart, y has the shorter dimensions here: it is the worse direction, whose uncertainty is stated
        held += abs(fitted.my / my - 1) <= 2 * fitted.u_scale
    assert low <= held / trials <= high


def test_scatter_beyond_the_picks_enlarges_the_uncertainty():
    close = [exact(400, 0, 50 * POINT), exact(500, 0, 50 * POINT), exact(600, 0, 50 * POINT)]
    apart = [exact(400, 0, 50 * POINT), exact(500, 0, 51 * POINT), exact(600, 0, 50 * POINT)]
    assert fit_calibration(1, apart).u_scale > 3 * fit_calibration(1, close).u_scale


def test_dimensions_that_disagree_are_told_with_both_ratios():
    fitted = fit_calibration(1, [exact(400, 0, 48 * POINT), exact(410, 5, 49.5 * POINT)])
    assert fitted.doubts == ("the dimensions disagree by 3.1%: dimension 1 gives 1:48, dimension 2 gives 1:49.5",)


def test_dimensions_across_each_other_that_disagree_are_told_as_more_than_stretch():
    fitted = fit_calibration(1, [exact(400, 0, 48 * POINT), exact(0, 410, 49.5 * POINT)])
    assert "1:48 along x, 1:49.5 along y" in fitted.doubts[0]
    assert "a dimension may be misread" in fitted.doubts[0]


def test_short_dimension_is_doubted_for_its_uncertainty():
    assert "use a longer dimension" in fit_calibration(1, [exact(20, 0, 48 * POINT)]).doubts[0]


def test_note_that_the_dimensions_contradict_is_told_with_both_ratios():
    fitted = fit_calibration(1, [exact(160, 0, 105.6 * POINT)], note_m_per_pt=48 * POINT)
    assert fitted.doubts == ("the note says 1:48, the dimensions give 1:105.6",)
    assert fit_calibration(1, [exact(500, 0, 48.05 * POINT)], note_m_per_pt=48 * POINT).doubts == ()


@pytest.mark.parametrize(
    ("dimensions", "found"),
    [
        ([], "no dimension"),
        ([known(0, 0, 1.0)], "the same"),
        ([known(10, 0, 0.0)], "more than zero"),
        ([known(10, 0, -1.0)], "more than zero"),
        ([known(10, 0, math.nan)], "more than zero"),
        ([known(10, 0, math.inf)], "more than zero"),
        ([known(math.nan, 0, 1.0)], "not on the sheet"),
        ([known(math.inf, 0, 1.0)], "not on the sheet"),
        ([known(100, 0, 1e6)], "which no plan has"),
        ([known(1000, 0, 1e-3)], "which no plan has"),
    ],
)
def test_dimensions_that_give_no_scale_are_refused(dimensions, found):
    with pytest.raises(CalibrationError, match=found) as refusal:
        fit_calibration(1, dimensions)
    assert refusal.value.remedy


def test_refusal_names_the_dimension_that_is_at_fault():
    with pytest.raises(CalibrationError) as refusal:
        fit_calibration(1, [exact(100, 0, 48 * POINT), known(0, 0, 1.0)])
    assert refusal.value.where == "dimension 2"


def test_stated_scales_carry_their_own_uncertainty_and_words():
    ratio = calibration_from_ratio(2, 50, region="detail")
    note = calibration_from_note(2, ' 1/8" = 1\'-0" ')
    assert ratio.mx == ratio.my == pytest.approx(0.01763889, abs=5e-9)  # 50 × 0.0254 / 72
    assert (ratio.source, ratio.stated, ratio.region, ratio.u_scale) == ("ratio", "1:50", "detail", 0.002)
    assert 0.3048 / note.my == pytest.approx(9)
    assert (note.source, note.stated, note.u_scale) == ("note", '1/8" = 1\'-0"', 0.002)


@pytest.mark.parametrize("ratio", [0, -50, math.nan, math.inf, 1e7])
def test_ratio_that_no_plan_has_is_refused(ratio):
    with pytest.raises(CalibrationError, match="no plan has"):
        calibration_from_ratio(1, ratio)


def test_note_without_a_scale_is_refused():
    with pytest.raises(CalibrationError, match="states no scale"):
        calibration_from_note(1, "NTS")
