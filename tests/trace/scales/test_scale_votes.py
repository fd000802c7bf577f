"""The scale of a sheet from all its readers: who wins, and what is told where they disagree."""

from __future__ import annotations

import io
import itertools
import math
import os
from dataclasses import replace
from pathlib import Path

import pymupdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from takeoff import actions
from takeoff.errors import CalibrationError
from takeoff.model.plan import KnownDimension, Sheet
from takeoff.sheet.files import read_sheets
from takeoff.sheet.scales import ratio_of
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.scales.groups import Reader, ScaleVote
from takeoff.trace.scales.scale_doubts import NOTHING
from takeoff.trace.scales.scale_votes import read_scale, read_scanned_scale
from takeoff.trace.scales.scale_weighing import ScaleReading, weigh_votes
from takeoff.trace.scales.signs import Signs
from tests.bench.scales import claims_when_shuffled
from tests.jobs import PLANS, job_on
from tests.trace.scales.test_dimensions import Paper
from tests.trace.scales.test_scale_bars import draw_bar

FOOT = 0.3048
POINT = 0.0254 / 72


def read(paper: Paper, high: float = 1.0) -> ScaleReading:
    """Read a sheet on which a circle is drawn, ``high`` times as high as wide."""
    paper.page.draw_oval((20, 20, 40, 20 + 20 * high), width=0.5)
    return read_file(paper.data())[0]


def read_file(data: bytes) -> list[ScaleReading]:
    sheets: list[Sheet] = read_sheets(data, "plan.pdf")[0]
    return [read_scale(data, sheet, read_linework(data, sheet), read_lines(data, sheet)) for sheet in sheets]


KAPPA = 4 / 3 * (math.sqrt(2) - 1)
"""Part of the radius that a quarter circle's control points stand off its ends."""
SPANS = (60 * 10 ** (0.618034 * i % 1) for i in itertools.count())
"""Lengths in points of the lines that made-up readings are taken from: every one another, as on a plan."""


def vote(reader: Reader, ratio: float, u: float = 0.001, text: str = "", span: float = 0.0) -> ScaleVote:
    scale = ratio * POINT
    known = None
    if reader in ("dimension", "bar"):
        span = span or next(SPANS)
        known = KnownDimension(start_pt=(0.0, 0.0), end_pt=(span, 0.0), length=span * scale)
    return ScaleVote(
        reader=reader, m_per_pt=scale, u=u, text=text or f"{reader} {ratio:g}", at_pt=(0.0, 0.0), known=known
    )


def ratio(reading: ScaleReading) -> float | None:
    return None if reading.m_per_pt is None else round(ratio_of(reading.m_per_pt), 1)


def test_a_note_that_the_dimensions_bear_out_is_taken_without_a_doubt() -> None:
    reading = weigh_votes([vote("note", 48), vote("dimension", 48.1), vote("dimension", 47.95)])
    assert (ratio(reading), reading.reader, reading.doubts) == (48, "note", ())
    assert all(v.agrees for v in reading.votes)


def test_two_dimensions_that_agree_win_over_a_note_and_both_figures_are_told() -> None:
    reading = weigh_votes([vote("note", 48), vote("dimension", 105.6), vote("dimension", 105.7)])
    assert reading.reader == "dimension"
    assert ratio_of(reading.m_per_pt or 0) == pytest.approx(105.65, abs=0.1)
    assert reading.doubts[0] == "the note says 1:48, the dimensions give 1:105.6"
    assert reading.others == (48 * POINT,)


def test_two_dimensions_tell_less_than_three() -> None:
    told = weigh_votes([vote("dimension", 105.6, text="12'"), vote("dimension", 105.7, text="9'")]).doubts
    assert told == ("2 dimensions alone, “12'” and “9'”, tell the scale: check it with another",)
    assert weigh_votes([vote("dimension", r) for r in (105.6, 105.7, 105.5)]).doubts == ()


@pytest.mark.parametrize(("up", "wide", "is_sure"), [(True, 0.9, True), (True, 0.5, False), (False, 0.9, False)])
def test_two_dimensions_are_enough_where_they_cross_and_the_doors_are_doors(
    up: bool, wide: float, is_sure: bool
) -> None:
    """By a scale that is wrong doors are as wide as doors are one time in five: so they count as a third length."""
    paper = Paper()
    for n, length in enumerate((4.65, 3.2)):
        along, across = length / (50 * POINT), 100 + 40 * n
        is_up = up and n == 1
        end = (across, 120 + along) if is_up else (120 + along, across)
        paper.dimension((across, 120) if is_up else (120, across), end, f"{length:.2f} m")
    door(paper, (200, 300), wide / (50 * POINT))
    assert (read(paper).doubts == ()) is is_sure


def test_lengths_that_agree_no_better_than_chance_tell_no_scale() -> None:
    # ten scales over a factor of thirty, of which chance alone makes two agree within half a hundredth now and then
    scattered = [vote("dimension", 10 * 30 ** (i / 10)) for i in range(10)]
    reading = weigh_votes([*scattered, vote("dimension", 10.01)])
    assert reading.m_per_pt is None
    found = "11 lengths were found on it, and they agree no better than chance would have them"
    assert f"{found}; by 2 of them, such as “dimension 10”, the scale were 1:10" in reading.doubts


def test_one_length_written_and_drawn_alike_many_times_is_one_reading() -> None:
    bays = [vote("dimension", 50, text="6.00 m", span=120.0) for _ in range(8)]
    reading = weigh_votes([*bays, vote("dimension", 90), vote("dimension", 140), vote("dimension", 33)])
    assert reading.m_per_pt is None


def test_one_dimension_alone_does_not_outweigh_a_note_but_is_told() -> None:
    reading = weigh_votes([vote("note", 48), vote("dimension", 96, text="12'-6\"")])
    assert (ratio(reading), reading.reader) == (48, "note")
    assert reading.doubts[0] == "the note says 1:48, the one dimension “12'-6\"” gives 1:96"
    assert "no dimension on the sheet confirms it" in reading.doubts[1]


def test_a_scale_bar_alone_outweighs_a_note_as_its_labels_confirm_each_other() -> None:
    reading = weigh_votes([vote("note", 48), vote("bar", 96)])
    assert (ratio(reading), reading.reader) == (96, "bar")
    assert "1:48" in reading.doubts[0]
    assert "1:96" in reading.doubts[0]


def test_dimensions_that_disagree_are_never_averaged() -> None:
    reading = weigh_votes([vote("dimension", r) for r in (50, 50, 50, 50, 100, 100, 100)])
    assert ratio(reading) == 50
    assert [told for told in reading.doubts if "1:100" in told and "3 of 7 lengths" in told]


def test_of_two_parts_with_scales_of_their_own_the_one_that_the_note_confirms_is_taken() -> None:
    votes = [vote("dimension", r) for r in (50, 50, 50, 20, 20)]
    assert ratio(weigh_votes([vote("note", 20), *votes])) == 20
    assert ratio(weigh_votes(votes)) == 50


def test_several_notes_are_told_apart_by_the_dimensions() -> None:
    notes = [vote("note", 48), vote("note", 16)]
    assert weigh_votes(notes).m_per_pt is None
    assert "several scales are written" in weigh_votes(notes).doubts[0]
    reading = weigh_votes([*notes, vote("dimension", 16), vote("dimension", 16)])
    assert (ratio(reading), reading.reader) == (16, "note")


def test_an_embedded_measurement_stands_against_two_dimensions_and_falls_to_three() -> None:
    two = [vote("embedded", 50), vote("note", 100), vote("dimension", 100), vote("dimension", 100)]
    told = ["the embedded measurement gives 1:50, the dimensions give 1:100",
            "the note says 1:100, the embedded measurement gives 1:50"]  # fmt: skip
    reading = weigh_votes(two)
    assert (ratio(reading), reading.reader, list(reading.doubts)) == (50, "embedded", told)
    reading = weigh_votes([*two, vote("dimension", 100)])
    assert (ratio(reading), reading.reader, list(reading.doubts)) == (100, "dimension", told)


def test_lengths_that_agree_more_closely_than_marks_usually_stand_make_the_scale_as_certain() -> None:
    close = [vote("dimension", 50 * (1 + e), u=0.01) for e in (0.0004, -0.0004, 0.0002, -0.0002, 0.0)]
    assert weigh_votes(close).u < 0.0025
    assert weigh_votes(close[:4]).u > 0.004  # four may do so by chance


@pytest.mark.parametrize(("note", "taken"), [(50, 50.2), (50.13, 50.1)])
def test_a_print_that_was_made_to_fit_its_paper_is_read_from_many_dimensions(note: float, taken: float) -> None:
    votes = [vote("note", note), *(vote("dimension", 50.19, u=0.001) for _ in range(8))]
    reading = weigh_votes(votes)
    assert (ratio(reading), reading.doubts) == (taken, ())
    assert ratio(weigh_votes(votes[:4])) == round(note, 1)  # three may be set loosely


@pytest.mark.parametrize(("door", "is_refuted"), [(0.8, True), (20.0, False)])
def test_the_unit_in_a_drawings_header_falls_to_dimensions_and_doors(door: float, is_refuted: bool) -> None:
    inches = replace(vote("embedded", 2540), is_bare=True, text="in")  # inches for what is drawn in millimetres
    drawn = [vote("dimension", 100) for _ in range(8)]
    signs = Signs(doors=((0.0, 0.0, door / (100 * POINT)),), drawn_pt=(0.0, -1.0, 100.0, 1.0))
    reading = weigh_votes([inches, *drawn], signs)
    assert (ratio(reading), reading.refuted) == (100, ("unit: in",) if is_refuted else ())
    assert bool(reading.doubts) != is_refuted


def test_a_note_of_an_inset_beside_the_one_that_the_dimensions_confirm_is_told_once() -> None:
    reading = weigh_votes([vote("note", 1000), vote("note", 50), *(vote("dimension", 50) for _ in range(5))])
    assert ratio(reading) == 50
    assert [doubt.split(";")[0] for doubt in reading.doubts] == ["other scales are written on it too: note 1000"]


@pytest.mark.parametrize(("beside", "drawn", "is_told"), [(1000, 100.0, False), (300, 100.0, True), (1000, 9e3, True)])
def test_a_map_beside_a_plan_that_is_dimensioned_throughout_asks_nothing(beside, drawn, is_told) -> None:
    signs = Signs(drawn_pt=(0.0, -1.0, drawn, 1.0))
    reading = weigh_votes([vote("note", beside), vote("note", 50), *(vote("dimension", 50) for _ in range(5))], signs)
    assert (ratio(reading), bool(reading.doubts)) == (50, is_told)


def test_a_short_scale_bar_shrank_with_its_print_and_is_asked() -> None:
    gives = "the scale bar “bar 296” gives about 1:296: check it with a dimension"
    reading = weigh_votes([vote("note", 192), vote("bar", 296, u=0.012)])
    assert (ratio(reading), reading.reader, reading.doubts) == (296, "bar", (f"the note says 1:192, but {gives}",))
    assert weigh_votes([vote("bar", 296, u=0.012)]).doubts == (gives,)


def test_one_dimension_and_nothing_else_gives_a_scale_and_a_doubt() -> None:
    reading = weigh_votes([vote("dimension", 50, text="3.81 m")])
    assert ratio(reading) == 50
    assert reading.doubts == ("one dimension alone, “3.81 m”, tells the scale: check it with another",)


def test_one_number_without_a_unit_gives_no_scale_and_says_what_it_would_give_in_each_unit() -> None:
    reading = weigh_votes([replace(vote("dimension", 10, text="650"), is_bare=True)])
    assert reading.m_per_pt is None
    assert "by it the scale were 1:100" in reading.doubts[-1]
    assert "millimetres, 1:10" in reading.doubts[0]


@pytest.mark.parametrize(("is_part", "taken", "other"), [(False, 25, "inches"), (True, 2.5, "centimetres, 1:25")])
def test_on_the_drawing_of_a_part_whole_numbers_are_millimetres_first(is_part: bool, taken: float, other: str) -> None:
    lengths = (0.380, 0.483, 0.058, 0.388, 0.038)  # read as millimetres; as centimetres they are of a small house
    bare = [vote("dimension", 2.5, text=f"{1000 * one:.0f}", span=one / (2.5 * POINT)) for one in lengths]
    reading = weigh_votes([replace(one, is_bare=True) for one in bare], Signs(is_part=is_part))
    assert ratio(reading) == taken
    assert other in reading.doubts[0]


@pytest.mark.parametrize("lengths", [(0.38, 0.05), (0.38, 0.05, 0.443), (0.38, 0.05, 0.443, 0.515, 0.2, 0.25)])
def test_without_doors_no_count_of_whole_numbers_makes_centimetres_sure(lengths: tuple[float, ...]) -> None:
    """A swing of 0.5 m in millimetres looks like a house of 5 m in centimetres."""
    bare = [vote("dimension", 2.0, text=f"{1000 * one:.0f}", span=one / (2.0 * POINT)) for one in lengths]
    reading = weigh_votes([replace(one, is_bare=True) for one in bare], Signs())
    assert any("they could be inches, 1:50.8 or millimetres, 1:2" in doubt for doubt in reading.doubts)


def test_decimals_on_the_drawing_of_a_part_may_be_millimetres() -> None:
    bare = [vote("dimension", 1000, text=f"{one:.2f}", span=one / (1000 * POINT)) for one in (33.96, 30.0, 15.8, 8.2)]
    reading = weigh_votes([replace(one, is_bare=True) for one in bare], Signs(is_part=True))
    assert "millimetres, 1:1" in reading.doubts[0]


def test_nothing_to_read_gives_no_scale() -> None:
    assert weigh_votes([]).m_per_pt is None


@settings(deadline=None, max_examples=60)
@given(
    true=st.floats(10, 500),
    errors=st.lists(st.floats(-0.001, 0.001), min_size=5, max_size=12),
    wrong=st.lists(st.floats(1.2, 15), max_size=3, unique_by=lambda value: round(math.log(value), 1)),
)
def test_lone_wrong_readings_do_not_move_the_scale(true: float, errors: list[float], wrong: list[float]) -> None:
    right = [vote("dimension", true * (1 + error)) for error in errors]
    reading = weigh_votes([*right, *(vote("dimension", true * factor) for factor in wrong)])
    assert reading.m_per_pt == pytest.approx(true * POINT, rel=0.0011)
    assert len(reading.agreeing) == len(right)


@settings(deadline=None, max_examples=30)
@given(st.permutations([("note", 48.0), ("bar", 96.0), ("dimension", 96.2), ("dimension", 95.9), ("dimension", 20.0)]))
def test_the_order_of_the_votes_is_of_no_account(votes: list[tuple[Reader, float]]) -> None:
    reading = weigh_votes([vote(reader, value) for reader, value in votes])
    assert ratio(reading) == 96.0


def test_a_shrunk_print_is_read_from_its_dimensions() -> None:
    paper = Paper()
    shrunk = 18 * 0.4547  # points to the foot: the print of a sheet at 1/4" = 1'-0" on smaller paper
    paper.dimension((100, 100), (100 + 19.875 * shrunk, 100), "19'-10 1/2\"")
    paper.dimension((100, 200), (100 + 21.5 * shrunk, 200), "21'-6\"")
    paper.dimension((80, 100), (80, 100 + 24.25 * shrunk), "24'-3\"")
    paper.write('SCALE: 1/4" = 1\'-0"', (400, 500))
    reading = read(paper)
    assert reading.m_per_pt == pytest.approx(FOOT / shrunk, rel=2e-3)
    assert reading.doubts == ("the note says 1:48, the dimensions give 1:105.6",)


@pytest.mark.parametrize("unit", [0.01, 0.001])
def test_numbers_without_a_unit_are_read_in_the_one_that_the_note_bears_out(unit: float) -> None:
    paper = Paper()
    for y, length in ((100, 4.2), (200, 6.35), (300, 8.05)):
        paper.dimension((100, y), (100 + length / (50 * POINT), y), f"{length / unit:.0f}")
    paper.write("SCALE 1:50", (400, 500))
    reading = read(paper)
    assert (ratio(reading), reading.reader) == (50, "note")
    assert (len(reading.agreeing), reading.doubts) == (3, ())


def test_a_sign_for_thousands_is_no_decimal_where_shorter_numbers_are_centimetres() -> None:
    paper = Paper((1200, 900))
    for y, length in ((100, 4.2), (150, 6.35), (200, 8.05), (250, 10.9), (300, 14.64), (350, 11.5), (400, 12.2)):
        paper.dimension((100, y), (100 + length / (50 * POINT), y), f"{100 * length:,.0f}")
    door(paper, (300, 600), 0.9 / (50 * POINT))
    reading = read(paper)
    assert (ratio(reading), len(reading.agreeing), reading.doubts) == (50, 7, ())


def test_a_length_that_agrees_with_a_note_by_chance_does_not_confirm_it() -> None:
    lengths = [vote("dimension", 50 * 1.1**n, u=0.01) for n in range(-13, 13)]
    told = "1 of 26 lengths confirm the note, as chance would have it"
    assert told in weigh_votes([vote("note", 50), *lengths]).doubts[0]
    assert "1 of 1 lengths" in weigh_votes([vote("note", 50), lengths[13]]).doubts[0]  # it is known too badly
    assert weigh_votes([vote("note", 50), vote("dimension", 50)]).doubts == ()


@pytest.mark.parametrize(
    ("ratio_beside", "leaf", "note", "told"),
    [
        (50, 0.9, "", False),
        (75, 0.9, "", True),
        (75, 0.0, "", True),
        (75, 0.9, "SCALE 1:75", True),
        (75, 0.0, "SCALE 1:75", False),
        (65, 0.9, "SCALE 1:65", False),
    ],
)
def test_doors_beside_what_is_dimensioned_tell_that_it_may_have_a_scale_of_its_own(
    ratio_beside: float, leaf: float, note: str, told: bool
) -> None:
    """The plan at 1:50 has no dimensions; what stands beside it has some, doors of its own or none, a note or none."""
    paper = Paper((1200, 900))
    for n in range(4):
        door(paper, (100 + 90 * n, 300), 0.9 / (50 * POINT))
    for y, length in ((300, 4.2), (400, 6.35), (500, 8.05)):
        paper.dimension((600, y), (600 + length / (ratio_beside * POINT), y), f"{length:.2f} m")
        if leaf:
            door(paper, (650, y + 50), leaf / (ratio_beside * POINT))
    paper.write(note, (600, 800))
    reading = read(paper)
    assert ratio(reading) == ratio_beside
    assert ["doors stand beside" in doubt for doubt in reading.doubts] == [True] * told


def test_many_lengths_and_the_doors_show_that_a_note_is_of_another_print() -> None:
    """A sheet of 1:100 that was blown up: by its note the doors would be 1.7 m wide, by its dimensions 0.9 m."""
    paper = Paper((800, 800))
    paper.page.draw_rect((95, 95, 705, 705), width=0.5)
    for n, length in enumerate((4.2, 6.35, 8.05, 5.1, 7.3, 10.9)):
        paper.dimension((100, 100 + 110 * n), (100 + length / (52.6 * POINT), 100 + 110 * n), f"{length:.2f} m")
    paper.write("SCALE 1:100", (400, 780))
    door(paper, (300, 600), 0.9 / (52.6 * POINT))
    reading = read(paper)
    assert (ratio(reading), reading.doubts, reading.refuted) == (pytest.approx(52.6, rel=1e-3), (), ("1:100",))


def test_a_note_at_which_doors_are_none_falls_to_many_lengths_of_a_part_whose_doors_are() -> None:
    """A sheet of several views at 1:500; the note is that of a detail, and by it the door would be 0.09 m wide."""
    paper = Paper((800, 800))
    paper.page.draw_rect((5, 5, 795, 795), width=0.5)
    for n, length in enumerate((14.2, 16.35, 18.05, 15.1, 17.3)):
        at, end = 100 + 30 * n, 100 + length / (500 * POINT)
        paper.dimension((100, at), (end, at), f"{length:.2f} m")
    paper.dimension((90, 100), (90, 100 + 20 / (500 * POINT)), "20.00 m")
    paper.write("SCALE 1:48", (400, 780))
    door(paper, (120, 180), 0.9 / (500 * POINT))
    reading = read(paper)
    assert (ratio(reading), reading.doubts, reading.refuted) == (pytest.approx(500, rel=1e-3), (), ("1:48",))


def test_numbers_without_a_unit_and_without_a_note_are_millimetres_where_nothing_else_makes_a_building() -> None:
    paper = Paper()
    for y, length in ((100, 4.2), (200, 6.35), (300, 8.05)):
        paper.dimension((100, y), (100 + length / (50 * POINT), y), f"{length * 1000:.0f}")
    reading = read(paper)
    assert (ratio(reading), reading.doubts) == (50, ())  # in centimetres it would be 80 m long, in inches 204 m


def test_numbers_that_may_be_centimetres_are_told_unless_the_doors_decide() -> None:
    paper = Paper()
    for y, length in ((100, 4.2), (200, 6.35), (300, 8.05)):
        paper.dimension((100, y), (100 + length / (50 * POINT), y), f"{length * 100:.0f}")
    reading = read(paper)
    assert ratio(reading) == 50
    [told] = reading.doubts
    assert "taken for centimetres, 1:50" in told
    assert "millimetres, 1:5" in told
    door(paper, (400, 400), 0.9 / (50 * POINT))
    assert read(paper).doubts == ()


@pytest.mark.parametrize(("drawn", "is_sure"), [(100.1, True), (91.0, False)])
def test_decimals_are_metres_without_a_word_where_people_draw_at_their_scale(drawn: float, is_sure: bool) -> None:
    """As feet the small rooms of a flat would be at 1:30.5 or 1:27.7, at which nobody draws (common practice)."""
    lengths = (3.02, 2.44, 1.38, 1.46, 3.61, 2.16, 6.77, 2.94, 4.83)
    bare = [vote("dimension", drawn, text=f"{one:.2f}", span=one / (drawn * POINT)) for one in lengths]
    reading = weigh_votes([replace(one, is_bare=True) for one in bare])
    assert ratio(reading) == drawn
    assert any("could be feet" in doubt for doubt in reading.doubts) is not is_sure


def test_lengths_that_run_one_way_say_nothing_of_a_note_that_they_do_not_bear_out() -> None:
    scattered = [vote("dimension", 10 * 30 ** (i / 10)) for i in range(10)]  # two of eleven agree by chance
    reading = weigh_votes([vote("note", 50), *scattered, vote("dimension", 10.01)], Signs(stretch=None))
    assert (reading.reader, len(reading.main.votes if reading.main else ())) == ("note", 2)
    assert not any("stretched" in doubt for doubt in reading.doubts)


def test_doors_that_would_be_too_narrow_speak_against_a_lone_note() -> None:
    paper = Paper()
    paper.write('1/4" = 1\'-0"', (400, 500))
    door(paper, (200, 300), 0.9 / (129.5 * POINT))  # the print was reduced: by the note its door is 0.33 m wide
    reading = read(paper)
    assert reading.m_per_pt is None
    assert reading.doubts == ("the note says 1:48, but the doors would be 0.33 m wide",)


@pytest.mark.parametrize("note", ["SCALE 1:50 @ A1", "1:50 (A1)", "A1 1:50, A0 1:25"])
def test_a_note_for_a_larger_paper_is_turned_into_the_scale_on_this_one_and_told(note: str) -> None:
    """An A3 page is half as wide as the A1 that the note is for (ISO 216), so 1:50 there is 1:100 here."""
    paper = Paper((1190.55, 841.89))
    paper.line((60, 100), (420, 100))
    paper.write(note, (400, 250))
    reading = read(paper)
    assert reading.m_per_pt == pytest.approx(100 * POINT, rel=0.005)
    assert "on paper of this size is 1:100" in reading.stated


def test_of_several_scales_the_one_for_the_paper_that_it_stands_on_is_taken() -> None:
    paper = Paper((1190.55, 841.89))
    paper.line((60, 100), (420, 100))
    paper.write("1:50 @ A1 / 1:100 @ A3", (400, 250))
    reading = read(paper)
    assert reading.m_per_pt == pytest.approx(100 * POINT)
    assert reading.doubts == (NOTHING,)


@pytest.mark.parametrize("text", ["RAIN WATER PIPE AT 1:50 SLOPE", "LAID TO MIN FALL 1:60", "GEFÄLLE 1:100", "MIX 1:4"])
def test_a_slope_or_a_mix_is_no_scale(text: str) -> None:
    paper = Paper()
    paper.write(text, (400, 500))
    assert read(paper).m_per_pt is None


@pytest.mark.parametrize("words", ["DO NOT SCALE", "HALF SIZE"])
def test_words_that_warn_of_measuring_stand_beside_a_note_that_nothing_confirms(words: str) -> None:
    paper = Paper()
    paper.write("SCALE 1:50", (400, 500))
    paper.write(words, (400, 450))
    assert f"the sheet says “{words}”" in read(paper).doubts[0]


def test_a_note_on_its_own_paper_is_doubted_where_the_sheet_calls_itself_reduced() -> None:
    paper = Paper((1190.55, 841.89))
    paper.write("SCALE 1:50 @ A3", (400, 250))
    paper.write("HALF-SIZE PRINT", (400, 300))
    assert "HALF-SIZE" in read(paper).doubts[0]


def test_a_note_that_names_the_paper_it_stands_on_is_doubted_too() -> None:
    """A print that was made to fit the paper is on that paper, and smaller."""
    a3 = (420 * 72 / 25.4, 297 * 72 / 25.4)
    for part in (1.0, 0.7):
        paper = Paper((part * a3[0], part * a3[1]))
        paper.line((60, 100), (420, 100))
        paper.write("SCALE 1:50 @ A3", (400, 250))
        reading = read(paper)
        assert ratio(reading) == pytest.approx(50 / part, rel=0.001)
        assert [doubt.startswith(NOTHING) for doubt in reading.doubts] == [True]


@pytest.mark.parametrize(
    ("high", "up", "told"),
    [(1.0, 0, ""), (1.03, 0, "circles are 103.0% as high"), (1.5, 0, "nothing shows"), (1.03, 3, ""), (1, -3, "5.60")],
)
def test_lengths_that_run_one_way_are_asked_where_nothing_round_shows_that_the_other_way_is_the_same(high, up, told):
    """Five lengths along a sheet at 1:50; of those up it some, less than nought where they are drawn a part longer."""
    paper = Paper((700, 700))
    for n, length in enumerate((4.2, 6.35, 8.05, 5.1, 7.3)):
        paper.dimension((100, 60 + 25 * n), (100 + length / (50 * POINT), 60 + 25 * n), f"{length:.2f} m")
    for n, length in enumerate((5.6, 3.3, 4.4)[: abs(up)]):
        long = length / (50 * POINT) * (1.03 if up < 0 else 1.0)
        paper.dimension((100 + 60 * n, 200), (100 + 60 * n, 200 + long), f"{length:.2f} m")
    paper.write("SCALE 1:50", (500, 680))
    reading = read(paper, high)
    assert (ratio(reading), reading.reader) == (50, "note")
    assert [told in doubt for doubt in reading.doubts] == [True] * (len(reading.doubts) if told else 0)
    assert bool(reading.doubts) is bool(told)


def door(paper: Paper, hinge: tuple[float, float], leaf: float) -> None:
    """Draw a door that stands open: the leaf, and the quarter circle that it sweeps."""
    x, y = hinge
    paper.line((x, y), (x, y - leaf))
    paper.page.draw_bezier((x, y - leaf), (x + KAPPA * leaf, y - leaf), (x + leaf, y - KAPPA * leaf), (x + leaf, y))


def test_a_scale_bar_and_a_dimension_vote_together() -> None:
    paper = Paper()
    draw_bar(paper, [0, 4, 8, 16], ["0", "4", "8", "16 ft"], 18.0)
    paper.dimension((100, 100), (460, 100), "20'-0\"")
    reading = read(paper)
    assert {v.reader for v in reading.agreeing} == {"bar", "dimension"}
    assert ratio(reading) == 48


@pytest.mark.parametrize(
    ("name", "page", "true", "drawn"),
    [
        ("facility-imperial.pdf", 0, 48, 30),  # the scales of the sample set's README
        ("facility-imperial.pdf", 1, 32, 15),
        ("facility-metric.pdf", 0, 50, 30),
        ("facility-rev-b.pdf", 0, 48, 30),
        ("facility-rev-c.pdf", 0, 48, 30),
    ],
)
def test_the_sample_plans_read_their_scale_and_their_dimensions_confirm_it(
    name: str, page: int, true: float, drawn: int
) -> None:
    reading = read_file((PLANS / name).read_bytes())[page]
    assert (ratio(reading), reading.doubts) == (true, ())
    assert len(reading.agreeing) > drawn
    of_drawn = [v.m_per_pt for v in reading.agreeing]
    assert sorted(of_drawn)[len(of_drawn) // 2] == pytest.approx(true * POINT, rel=5e-4)


def shrunk(name: str, page: int, factor: float) -> bytes:
    """Plot a page smaller, as a printer does that fits it to its paper: what is written on it stays as it was."""
    document = pymupdf.open(PLANS / name)
    size = document[page].rect
    made = pymupdf.open()
    paper = made.new_page(width=factor * size.width, height=factor * size.height)
    paper.show_pdf_page(paper.rect, document, page)
    return bytes(made.tobytes())


@pytest.mark.parametrize("factor", [0.37, 0.5, 0.647])
@pytest.mark.parametrize(("name", "page", "true"), [("facility-imperial.pdf", 0, 48), ("facility-imperial.pdf", 1, 32),
                                                    ("facility-metric.pdf", 0, 50)])  # fmt: skip
def test_a_print_that_was_reduced_is_read_from_its_dimensions_and_its_note_is_told(
    name: str, page: int, true: float, factor: float
) -> None:
    [reading] = read_file(shrunk(name, page, factor))
    assert reading.reader == "dimension"
    assert ratio_of(reading.m_per_pt or 0) == pytest.approx(true / factor, rel=0.002)
    told = f"the note says 1:{true}, the dimensions give 1:"
    assert reading.refuted or any(doubt.startswith(told) for doubt in reading.doubts)


@pytest.mark.parametrize(("upright", "is_asked"), [(3, False), (0, True)])
def test_a_note_gives_way_to_many_lengths_that_cross_most_of_what_is_drawn(upright: int, is_asked: bool) -> None:
    paper = Paper()
    lengths = (3.1, 4.35, 5.2, 6.75, 2.4, 7.15)  # 1:50 printed at half its size
    for place, length in enumerate(lengths):
        across = (100 + length / (100 * POINT), 80 + 70 * place)
        paper.dimension((100, 80 + 70 * place), across, f"{length:.2f} m")
        if place < upright:
            paper.dimension((400 + 90 * place, 80), (400 + 90 * place, 80 + length / (100 * POINT)), f"{length:.2f} m")
    paper.write("SCALE 1:50", (400, 560))
    reading = read(paper)
    assert ratio_of(reading.m_per_pt or 0) == pytest.approx(100, rel=1e-3)
    assert (bool(reading.doubts), reading.refuted) == (is_asked, () if is_asked else ("1:50",))


@pytest.mark.parametrize(("x", "is_asked"), [(1.0, False), (0.9, True)])
def test_a_drawing_that_was_stretched_one_way_is_asked(x: float, is_asked: bool) -> None:
    paper = Paper()
    for place, length in enumerate((3.1, 4.35, 5.2, 6.75)):
        end = 200 + x * length / (50 * POINT)
        paper.dimension((200, 80 + 40 * place), (end, 80 + 40 * place), f"{length:.2f} m")
    for place, length in enumerate((3.4, 4.1)):
        paper.dimension((60 + 60 * place, 250), (60 + 60 * place, 250 + length / (50 * POINT)), f"{length:.2f} m")
    assert any("stretched" in doubt for doubt in read(paper).doubts) == is_asked


@pytest.mark.parametrize("factor", [0.37, 0.5, 0.647])
def test_a_reduced_print_without_dimensions_is_never_sure(factor: float) -> None:
    paper = Paper()
    paper.write("SCALE 1:50", (400, 500))
    for x in (100, 250, 400):
        door(paper, (x, 300), factor * 0.85 / (50 * POINT))
    reading = read(paper)
    assert reading.doubts
    assert (reading.m_per_pt is None) == (factor < 0.56)  # by the note the doors are 0.31, 0.42 and 0.55 m wide


def test_lengths_shuffled_among_the_dimensions_make_a_scale_in_at_most_five_of_a_hundred() -> None:
    reading = read_file((PLANS / "facility-imperial.pdf").read_bytes())[0]
    claimed, sure = claims_when_shuffled(reading, 100)
    assert claimed <= 5
    assert sure == 0


def test_setting_the_scale_takes_dimensions_that_contradict_the_note(tmp_path: Path) -> None:
    paper = Paper()
    paper.dimension((100, 100), (280, 100), "20'-0\"")
    paper.dimension((100, 200), (370, 200), "30'-0\"")
    paper.dimension((80, 100), (80, 325), "25'-0\"")
    paper.write('1/4" = 1\'-0"', (400, 500))
    with job_on(tmp_path / "a.takeoff", ("a.pdf", paper.data())) as store:
        [calibration] = actions.set_scale_read(store, store.job.sheets[1])
        assert store.job.calibrations["1"] == calibration
    assert calibration.source == "dimensions"
    assert calibration.ratio == pytest.approx(96, rel=1e-3)  # 9 points to the foot
    assert len(calibration.dimensions) == 3
    assert calibration.pick == 0.5
    assert calibration.open_words == ("the note says 1:48, the dimensions give 1:96",)


def test_a_note_without_dimensions_is_doubted_where_another_sheet_contradicts_it(tmp_path: Path) -> None:
    paper, bare = Paper(), Paper()
    paper.dimension((100, 100), (280, 100), "20'-0\"")
    paper.dimension((100, 200), (370, 200), "30'-0\"")
    for each in (paper, bare):
        each.write('1/4" = 1\'-0"', (400, 500))
    paper.document.insert_pdf(bare.document)
    with job_on(tmp_path / "a.takeoff", ("a.pdf", paper.data())) as store:
        actions.set_scale_read(store, store.job.sheets[1])
        [calibration] = actions.set_scale_read(store, store.job.sheets[2])
    assert calibration.source == "note"
    [told] = calibration.open_words
    assert told == (
        "no dimension on the sheet confirms it; on sheet 1, printed alike, the dimensions give 1:96 and its note says "
        '1/4" = 1\'-0": by that this one is 1:96'
    )
    [basis] = calibration.basis
    assert (basis.low, basis.high) == pytest.approx((48 * POINT, 96 * POINT), rel=1e-3)


@pytest.mark.parametrize(
    ("note", "why"), [("NOTES", "neither an embedded measurement nor a written"), ("", "no text on it can be read")]
)
def test_a_sheet_that_tells_no_scale_is_refused(tmp_path: Path, note: str, why: str) -> None:
    paper = Paper()
    paper.line((100, 200), (200, 200))
    if note:
        paper.write(note, (100, 100))
    store = job_on(tmp_path / "a.takeoff", ("a.pdf", paper.data()))
    with store, pytest.raises(CalibrationError, match=why):
        actions.set_scale_read(store, store.job.sheets[1])


def scanned(paper: Paper, dpi: int | None = 200) -> ScaleReading:
    """Take a picture of a page and read it with the page's own text, as if every letter had been recognised."""
    pixels = paper.page.get_pixmap(dpi=200)
    out = io.BytesIO()
    Image.frombytes("RGB", (pixels.width, pixels.height), pixels.samples).save(
        out, "PNG", **({"dpi": (dpi, dpi)} if dpi else {})
    )
    [sheet] = read_sheets(out.getvalue(), "scan.png")[0]
    return read_scanned_scale(out.getvalue(), sheet, read_lines(paper.data(), paper.sheet), 200.0)


def test_dimensions_of_a_scan_that_confirm_each_other_are_taken_over_its_note() -> None:
    paper = Paper((500, 300))
    paper.dimension((60, 100), (240, 100), "20'-0\"")
    paper.dimension((60, 150), (330, 150), "30'-0\"")
    paper.write('1/4" = 1\'-0"', (400, 250))
    reading = scanned(paper)
    assert reading.reader == "dimension"
    assert ratio_of(reading.m_per_pt or 0) == pytest.approx(96, rel=3e-3)


def test_a_drawing_whose_letters_were_recognised_is_measured_by_its_own_lines() -> None:
    paper = Paper((500, 300))
    for row, feet in enumerate((20, 30, 25)):
        paper.dimension((60, 60 + 60 * row), (60 + 9 * feet, 60 + 60 * row), f"{feet}'-0\"")
    paper.page.draw_circle((250, 270), 12, width=0.5)
    reading = read_scanned_scale(paper.data(), paper.sheet, read_lines(paper.data(), paper.sheet), 200.0)
    assert ratio_of(reading.m_per_pt or 0) == pytest.approx(96, rel=1e-4)
    assert not reading.doubts


def test_a_lone_dimension_of_a_scan_counts_for_nothing() -> None:
    paper = Paper((500, 300))
    paper.dimension((60, 100), (240, 100), "20'-0\"")
    reading = scanned(paper)
    assert reading.m_per_pt is None
    assert "nothing confirms it" in reading.doubts[0]


def test_a_lone_dimension_of_a_scan_counts_where_the_note_confirms_it() -> None:
    paper = Paper((500, 300))
    paper.dimension((60, 100), (420, 100), "20'-0\"")
    paper.write('1/4" = 1\'-0"', (400, 250))
    reading = scanned(paper)
    assert (ratio(reading), reading.reader) == (48, "note")
    assert ["nothing shows that it is not stretched" in doubt for doubt in reading.doubts] == [True]


def test_a_lone_note_of_a_scan_is_doubted() -> None:
    paper = Paper((500, 300))
    paper.line((60, 100), (420, 100))
    paper.write("SCALE 1:50", (400, 250))
    reading = scanned(paper)
    assert ratio(reading) == 50
    assert "no dimension on the sheet confirms it" in reading.doubts[0]


def test_a_note_tells_nothing_on_a_picture_whose_size_on_paper_nobody_knows() -> None:
    paper = Paper((500, 300))
    paper.line((60, 100), (420, 100))
    paper.write("SCALE 1:50", (400, 250))
    reading = scanned(paper, dpi=None)
    assert reading.m_per_pt is None
    assert "nobody knows how large this picture was on paper" in reading.doubts[0]


def _reference(name: str) -> bytes:
    folder = os.environ.get("TAKEOFF_REFERENCE", "")
    if not folder:
        pytest.skip("TAKEOFF_REFERENCE names no folder of reference plans")
    return (Path(folder) / name).read_bytes()


def test_the_shrunk_house_print_is_read_from_its_dimensions_and_its_note_is_told() -> None:
    # reference README: 19'-10 5/8" = 162.72 pt and 19'-5 5/8" = 159.36 pt, about 1:105.6, under a note of 1/4" = 1'-0"
    reading = read_file(_reference("real_plans/house_rev_2013-07-18.pdf"))[0]
    assert reading.reader == "dimension"
    assert ratio_of(reading.m_per_pt or 0) == pytest.approx(105.6, rel=1e-3)
    assert reading.refuted or reading.doubts == ("the note says 1:48, the dimensions give 1:105.6",)


@pytest.mark.parametrize(
    ("name", "true", "drawn"),
    [
        ("real_plans/house_rev_2013-10-12.pdf", 48, 20),  # reference README: true 1/4" = 1'-0", 18 pt/ft
        ("ifc_plans/house_ground.pdf", 50, 5),
        ("ifc_plans/duplex_level1.pdf", 48, 5),
    ],
)
def test_reference_plans_with_true_notes_are_read_without_a_doubt(name: str, true: float, drawn: int) -> None:
    reading = read_file(_reference(name))[0]
    assert (ratio(reading), reading.doubts) == (true, ())
    assert len(reading.agreeing) >= drawn
    assert all(abs(v.m_per_pt / (true * POINT) - 1) < 0.005 for v in reading.agreeing if v.u < 0.003)
