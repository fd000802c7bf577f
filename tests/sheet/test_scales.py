"""Scale notes and embedded measurements against published figures.

US scales: n inches to the foot is 1:(12/n), 72 n points to the foot (derived). Metric: N × 0.0254 / 72 (derived).
Embedded measurement: ISO 32000-1:2008 §12.9.
"""

from __future__ import annotations

import pytest

from takeoff.errors import CalibrationError
from takeoff.sheet.calibrate import calibration_from_embedded
from takeoff.sheet.embedded import embedded_scale
from takeoff.sheet.files import read_sheets
from takeoff.sheet.scales import parse_scale, parse_scale_note, ratio_of, ratio_text

POINTS_PER_FOOT = {
    '1/16" = 1\'-0"': 4.5,
    '3/32" = 1\'-0"': 6.75,
    '1/8" = 1\'-0"': 9,
    '3/16" = 1\'-0"': 13.5,
    '1/4" = 1\'-0"': 18,
    '3/8" = 1\'-0"': 27,
    '1/2" = 1\'-0"': 36,
    '3/4" = 1\'-0"': 54,
    '1" = 1\'-0"': 72,
    '1-1/2" = 1\'-0"': 108,
    '3" = 1\'-0"': 216,
}


@pytest.mark.parametrize(("note", "points"), POINTS_PER_FOOT.items())
def test_each_usual_foot_scale_has_its_points_per_foot(note, points):
    assert 0.3048 / parse_scale_note(note) == pytest.approx(points, rel=1e-12)


@pytest.mark.parametrize(
    ("note", "ratio"),
    [
        ("1/4\" = 1'", 48),
        ('1/4"=1\'-0"', 48),
        ("1/4” = 1’–0”", 48),
        ("1/4'' = 1'-0''", 48),
        ('1 1/2" = 1\'-0"', 8),
        ('SCALE: 1/8" = 1\'-0"', 96),
        ('SCALE: 1/8"', 96),
        ("1/8 inch scale", 96),
        ("1/4 inch = 1 foot", 48),
        ("1/4 in. = 1 ft.", 48),
        ("1\" = 10'", 120),
        ('1" = 10\'-0"', 120),
        ("1 in = 20 ft", 240),
        ('FLOOR PLAN  1/4" = 1\'-0"', 48),
        ('1/4" = 1\'-0" (1:48)', 48),
        ("1:50", 50),
        ("1 : 50", 50),
        ("SCALE 1:100", 100),
        ("M 1:20", 20),
        ("M1:20", 20),
        ("1:1250", 1250),
        ("1:1 250", 1250),
        ("1:10,000", 10000),
        ("1:50 @ A1", 50),
        ("1 cm = 1 m", 100),
        ("1cm = 0.5m", 50),
        ("10 mm = 1 m", 100),
        ("2:1", 0.5),
        ('6" = 1\'-0"', 2),
        ("ESC 1/150", 150),
        ("SCALE:1/50", 50),
        ("Échelle : 1/100", 100),
        ("SCALE:1:50", 50),
    ],
)
def test_notes_are_read_in_every_usual_form(note, ratio):
    assert ratio_of(parse_scale_note(note)) == pytest.approx(ratio, rel=1e-12)


@pytest.mark.parametrize("note", ["NTS", "N.T.S.", "SCALE: NTS", "NOT TO SCALE", "SCALE: AS NOTED", "No scale"])
def test_note_that_there_is_no_scale_is_refused_with_that_reason(note):
    with pytest.raises(CalibrationError, match="states no scale of its own"):
        parse_scale_note(note)


@pytest.mark.parametrize(
    "note",
    [
        "",
        "PLAN",
        "12'-6\"",
        "1/4 = 1",
        "0:50",
        "1:0",
        '1/0" = 1\'-0"',
        "8:30:15",
        '0" = 1\'-0"',
        "1:99999999",
        "1000000:1",
        "1/50",
        "SCALE 1/16",
        "Scale: 1/20/2026",
    ],
)
def test_text_that_gives_no_possible_scale_is_refused(note):
    with pytest.raises(CalibrationError):
        parse_scale_note(note)


def test_note_with_two_scales_that_differ_is_refused_with_both():
    with pytest.raises(CalibrationError, match="1:48 and 1:50"):
        parse_scale_note('1/4" = 1\'-0" / 1:50')


USUAL_SCALES = (
    ('3" = 1\'-0"', 4.0),
    ('1-1/2" = 1\'-0"', 8.0),
    ('1" = 1\'-0"', 12.0),
    ('3/4" = 1\'-0"', 16.0),
    ('1/2" = 1\'-0"', 24.0),
    ('3/8" = 1\'-0"', 32.0),
    ('1/4" = 1\'-0"', 48.0),
    ('3/16" = 1\'-0"', 64.0),
    ('1/8" = 1\'-0"', 96.0),
    ('3/32" = 1\'-0"', 128.0),
    ('1/16" = 1\'-0"', 192.0),
    ("1\" = 10'", 120.0),
    ("1\" = 20'", 240.0),
    ("1\" = 30'", 360.0),
    ("1\" = 40'", 480.0),
    ("1:5", 5.0),
    ("1:10", 10.0),
    ("1:20", 20.0),
    ("1:25", 25.0),
    ("1:50", 50.0),
    ("1:75", 75.0),
    ("1:100", 100.0),
    ("1:125", 125.0),
    ("1:200", 200.0),
    ("1:250", 250.0),
    ("1:500", 500.0),
    ("1:1000", 1000.0),
)
"""Scales in use and their N of 1:N: metric ones after ISO 5455 clause 5, with 1:25, 1:75, 1:125 and 1:250."""


@pytest.mark.parametrize(("note", "ratio"), USUAL_SCALES)
def test_usual_scales_say_what_their_notes_say(note, ratio):
    assert ratio_of(parse_scale_note(note)) == pytest.approx(ratio, rel=1e-12)


def test_ratios_are_written_to_a_tenth():
    assert [ratio_text(n * 0.0254 / 72) for n in (48, 105.58, 0.5)] == ["1:48", "1:105.6", "2:1"]


def viewport(box, x, *, name="Plan", ratio="1:50", more=""):
    measure = f"<</Type/Measure/Subtype/RL/R({ratio})/X{x}/D{x}/A{x}{more}>>"
    return f"<</Type/Viewport/BBox[{box}]/Name({name})/Measure{measure}>>"


def number_format(unit, factor):
    return f"[<</Type/NumberFormat/U({unit})/C {factor}/D 1000>>]"


def read(make_pdf, *viewports, **page):
    data = make_pdf("", page=f"/VP[{' '.join(viewports)}]", **page)
    return embedded_scale(data, read_sheets(data, "plan.pdf")[0][0])


def test_ninety_point_square_at_an_eighth_is_a_hundred_square_feet(make_pdf):
    # 1/8" = 1'-0": C is 1/9 ft per unit (derived from ISO 32000-1 §12.9)
    found = read(make_pdf, viewport("0 0 600 400", number_format("ft", 0.1111111), ratio="1/8in = 1ft"))
    area_ft2 = (90 * found[0].mx) * (90 * found[0].my) / 0.3048**2
    assert area_ft2 == pytest.approx(100, rel=1e-6)
    assert ratio_of(found[0].mx) == pytest.approx(96, rel=1e-6)


def test_one_to_fifty_in_metres_and_in_millimetres(make_pdf):
    for unit, factor in (("m", 0.01763889), ("mm", 17.63889)):
        found = read(make_pdf, viewport("0 0 600 400", number_format(unit, factor)))
        assert ratio_text(found[0].mx) == "1:50"
        assert found[0].doubts == ()


@pytest.mark.parametrize("rotate", [0, 90])
def test_user_unit_scales_the_points_and_not_the_building(make_pdf, rotate):
    # with a UserUnit of 2 a unit of user space is 2 points, so C is twice that of 1:50
    found = read(make_pdf, viewport("100 50 300 250", number_format("m", 0.03527778)), user_unit=2, rotate=rotate)
    assert ratio_of(found[0].mx) == pytest.approx(50, rel=1e-6)
    xs, ys = zip(*found[0].outline_pt, strict=True)
    assert (min(xs), min(ys), max(xs), max(ys)) == pytest.approx((200, 300, 600, 700), abs=1e-2)


@pytest.mark.parametrize("rotate", [0, 90, 180, 270])
def test_outline_is_in_sheet_points_of_the_cropped_page(make_pdf, rotate):
    found = read(
        make_pdf,
        viewport("300 250 150 100", number_format("m", 0.01763889)),  # corners in any order
        crop=(100, 50, 500, 350),
        rotate=rotate,
    )
    xs, ys = zip(*found[0].outline_pt, strict=True)
    assert (min(xs), min(ys), max(xs), max(ys)) == pytest.approx((50, 100, 200, 250), abs=1e-3)


def test_viewports_come_from_last_to_first(make_pdf):
    found = read(
        make_pdf,
        viewport("0 0 600 400", number_format("m", 0.01763889), name="Plan"),
        viewport("400 0 600 100", number_format("m", 0.003527778), name="Detail", ratio="1:10"),
    )
    assert [(scale.name, ratio_text(scale.mx)) for scale in found] == [("Detail", "1:10"), ("Plan", "1:50")]


def test_scale_along_y_is_its_own_with_or_without_a_common_unit(make_pdf):
    # y in feet per unit; CYX turns the largest y unit (ft) into the largest x unit (m): 0.3048
    x, y = number_format("m", 0.01763889), number_format("ft", 0.115741)
    for more in (f"/Y{y}", f"/Y{y}/CYX 0.3048"):
        found = read(make_pdf, viewport("0 0 600 400", x, more=more))
        assert found[0].my == pytest.approx(0.115741 * 0.3048, rel=1e-6)
        assert found[0].mx == pytest.approx(0.01763889, rel=1e-6)


def test_written_ratio_that_contradicts_the_numbers_is_doubted(make_pdf):
    found = read(make_pdf, viewport("0 0 600 400", number_format("m", 0.01763889), ratio="1:100"))
    assert found[0].doubts == ("the file's measurement is written as 1:100 and its numbers give 1:50",)
    fitted = calibration_from_embedded(1, found[0])
    assert (fitted.source, fitted.stated, fitted.doubts) == ("embedded", "1:100", found[0].doubts)
    assert (fitted.mx, fitted.my) == (found[0].mx, found[0].my)
    assert 0 < fitted.u_scale < 0.01


@pytest.mark.parametrize(
    "bad",
    [
        "<</Type/Viewport/BBox[0 0 600 400]>>",
        viewport("0 0 600 400", number_format("furlong", 1)),
        viewport("0 0 600", number_format("m", 0.01763889)),
        viewport("0 0 600 400", number_format("m", 0)),
        viewport("0 0 600 400", number_format("m", -1)),
        viewport("0 0 600 400", "[]"),
        viewport("0 0 600 400", number_format("m", 1e9)),
        "<</BBox[0 0 9 9]/Measure<</Subtype/GEO>>>>",
        "null",
        "7",
    ],
)
def test_viewport_without_a_usable_measurement_is_left_out(make_pdf, bad):
    good = viewport("0 0 600 400", number_format("m", 0.01763889))
    assert [scale.name for scale in read(make_pdf, good, bad)] == ["Plan"]


def test_page_without_viewports_and_picture_carry_no_scale(make_pdf, make_picture):
    for data in (make_pdf(""), make_picture("PNG", dpi=(100, 100))):
        assert embedded_scale(data, read_sheets(data, "plan")[0][0]) == []


@pytest.mark.parametrize(
    "typed",
    [
        "1:10O",
        "1:4 8",
        "1:1.000",
        "1:1e9",
        '-1/4" = 1\'-0"',
        "1:50x",
        '1/4" = 1\'-0" or so',
        "-1:50",
        "1:50 1:100",
        "50",
    ],
)
def test_a_scale_that_is_typed_is_read_whole_or_refused(typed: str) -> None:
    with pytest.raises(CalibrationError):
        parse_scale(typed)


@pytest.mark.parametrize(
    ("typed", "ratio"),
    [
        ("1:50", 50), ("Scale: 1/8\" = 1'-0\"", 96), ("1/4\" = 1'-0\" (1:48)", 48), ("M 1:20", 20), ("1:1 250", 1250),
        ("SCALE 1:100 @ A1", 100), ("1 : 2.5", 2.5), ("SCALE: 1/8\"", 96), ("A3 1:50", 50), ("1\" = 10'", 120),
    ],
)  # fmt: skip
def test_scales_as_people_type_them(typed: str, ratio: float) -> None:
    assert parse_scale(typed) == pytest.approx(ratio * 0.0254 / 72)
