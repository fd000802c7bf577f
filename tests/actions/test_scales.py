"""Setting a scale: however it is set, it is weighed against what the sheet shows, and what speaks against it stays."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pymupdf
import pytest

from takeoff import actions
from takeoff.actions.scales import read_scales
from takeoff.errors import CalibrationError
from takeoff.job.store import JobStore
from takeoff.model.open_points import basis_of
from takeoff.model.plan import KnownDimension
from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from tests.jobs import job_on
from tests.trace.scales.test_dimensions import FOOT, Paper
from tests.trace.scales.test_grid_lines import draw_grid
from tests.trace.texts.test_drawn_letters import put, teach

NOTE = '1/4" = 1\'-0"'
EIGHTH = 9.0
"""Points to the foot at 1/8" to the foot, which is 1:96."""


def dimensioned(paper: Paper, point_per_foot: float) -> Paper:
    for y, feet in ((100, 20), (150, 31), (200, 42.5)):
        inches = "6" if feet % 1 else "0"
        paper.dimension((100, y), (100 + feet * point_per_foot, y), f"{int(feet)}'-{inches}\"")
    return paper


@pytest.fixture
def store(tmp_path: Path) -> Iterator[JobStore]:
    """Three sheets of one file, all noted 1:48: dimensions that say 1:96, nothing else, and nothing else."""
    document = pymupdf.open()
    for is_dimensioned in (True, False, False):
        paper = Paper()
        if is_dimensioned:
            dimensioned(paper, EIGHTH)
        paper.line((50, 300), (600, 300))
        paper.page.draw_circle((700, 500), 12)
        paper.write(f"SCALE: {NOTE}", (700, 560))
        document.insert_pdf(paper.document)
    with job_on(tmp_path / "a.takeoff", ("a.pdf", document.tobytes())) as store:
        yield store


def test_a_note_that_the_dimensions_contradict_keeps_both_numbers(store):
    made = actions.set_scale_note(store, store.job.sheets[1], NOTE)
    assert made.ratio == pytest.approx(48)
    [told] = made.open_words
    assert told == "the dimensions give 1:96; by 1:48 the line of “42'-6\"” would be 50% as long as that"
    basis = basis_of(made, "mx")
    assert basis is not None
    assert basis.is_open
    assert (basis.low, basis.high) == (made.mx, pytest.approx(2 * made.mx, rel=1e-3))
    assert store.job.calibrations["1"] == made


def test_a_ratio_is_weighed_as_a_note_is(store):
    assert "the dimensions give 1:96" in actions.set_scale_ratio(store, store.job.sheets[1], "1:50").open_words[0]
    borne_out = actions.set_scale_ratio(store, store.job.sheets[1], "1:96")
    assert borne_out.open_words == ()
    basis = basis_of(borne_out, "mx")
    assert basis is not None
    assert not basis.is_open


def test_picked_ends_are_weighed_too(store):
    # the ends of 42'-6" picked at the free ends of its ticks: 3 points wide of the true ends, 0.8 % of every length
    dimension = KnownDimension(start_pt=(97, 203), end_pt=(100 + 42.5 * EIGHTH, 200), length=42.5 * 0.3048)
    made = actions.set_scale_points(store, store.job.sheets[1], [dimension])
    assert [words for words in made.open_words if "the dimensions give 1:96" in words]


def test_a_scale_for_a_part_of_the_sheet_is_weighed_against_what_stands_in_it(store):
    sheet = store.job.sheets[1]
    beside = actions.make_region(store.job, sheet, ((50, 290), (600, 290), (600, 500), (50, 500)), "beside")
    over = actions.make_region(store.job, sheet, ((50, 80), (600, 80), (600, 280), (50, 280)), "over")
    assert actions.set_scale_ratio(store, sheet, "1:20", region=beside).open_words == (
        "no dimension on the sheet confirms it",
    )
    assert "the dimensions give 1:96" in actions.set_scale_ratio(store, sheet, "1:20", region=over).open_words[0]


@pytest.mark.parametrize("order", [(1, 2), (2, 1)])
def test_sheets_printed_alike_warn_one_another_in_either_order(store, order):
    for id in order:
        if id == 1:
            actions.set_scale_read(store, store.job.sheets[1])
        else:
            actions.set_scale_note(store, store.job.sheets[2], NOTE)
    [told] = store.job.calibrations["2"].open_words
    assert told.endswith(
        'on sheet 1, printed alike, the dimensions give 1:96 and its note says 1/4" = 1\'-0": by that this one is 1:96'
    )


@pytest.mark.parametrize(("beside", "is_told"), [("1:50", True), ("1:100", False)])
def test_a_scale_that_a_person_states_for_a_sheet_with_another_written_on_it_is_asked(tmp_path, beside, is_told):
    paper = Paper()
    paper.line((50, 300), (600, 300))
    paper.write("PLAN 1:100", (60, 400))
    paper.write(f"DETAIL {beside}", (500, 400))
    with job_on(tmp_path / "a.takeoff", ("a.pdf", paper.data())) as store:
        line = KnownDimension(start_pt=(50.0, 300.0), end_pt=(600.0, 300.0), length=550 * 100 * 0.0254 / 72)
        by_hand = actions.set_scale_points(store, store.job.sheets[1], [line])
        stated = actions.set_scale_ratio(store, store.job.sheets[1], "1:100")
    for scale in (by_hand, stated):
        assert any(f"other scales are written on it too: DETAIL {beside}" in w for w in scale.open_words) is is_told


def test_a_sheet_printed_alike_whose_dimensions_bear_its_note_out_speaks_for_the_others(tmp_path):
    document = pymupdf.open()
    for is_dimensioned in (True, False):
        paper = dimensioned(Paper(), 18.0) if is_dimensioned else Paper()
        paper.line((50, 300), (600, 300))
        paper.page.draw_circle((700, 500), 12)
        paper.write(f"SCALE: {NOTE}", (700, 560))
        document.insert_pdf(paper.document)
    with job_on(tmp_path / "a.takeoff", ("a.pdf", document.tobytes())) as store:
        [alone] = actions.set_scale_read(store, store.job.sheets[2])
        assert alone.open_words == ("no dimension on the sheet confirms it",)
        [first] = actions.set_scale_read(store, store.job.sheets[1])
        assert (first.ratio, first.open_words) == (pytest.approx(48), ())
        assert store.job.calibrations["2"].open_words == ()


@pytest.mark.parametrize(("ratio", "is_settled"), [(74.06, True), (24.0, False)])
def test_sheets_whose_few_dimensions_are_as_much_off_their_notes_settle_one_another(tmp_path, ratio, is_settled):
    """Nobody draws at 1:74.06, so both were reduced; at 1:24 both may be details of sheets at 1:48."""
    document, foot = pymupdf.open(), 12 * 72 / ratio
    for lengths in ((21, 13), (17, 30)):
        paper = Paper((1300, 700))
        for y, feet in zip((100, 200), lengths, strict=True):
            paper.dimension((60, y), (60 + feet * foot, y), f"{feet}'-0\"")
        paper.page.draw_circle((1200, 600), 12)
        paper.write(f"SCALE: {NOTE}", (700, 560))
        document.insert_pdf(paper.document)
    with job_on(tmp_path / "a.takeoff", ("a.pdf", document.tobytes())) as store:
        [alone] = actions.set_scale_read(store, store.job.sheets[1])
        assert alone.ratio == pytest.approx(ratio, rel=0.005)
        assert "2 dimensions alone" in alone.open_words[0]
        [second] = actions.set_scale_read(store, store.job.sheets[2])
        assert (not second.open_words) == is_settled
        assert (not store.job.calibrations["1"].open_words) == is_settled
        actions.set_scale_ratio(store, store.job.sheets[2], "1:48")
        assert "dimensions alone" in store.job.calibrations["1"].open_words[0]


def test_two_plans_at_two_scales_become_a_scale_and_a_region(tmp_path):
    paper = dimensioned(Paper((800, 900)), EIGHTH)
    for y, feet in ((600, 3), (650, 4.5), (700, 7)):
        inches = "6" if feet % 1 else "0"
        paper.dimension((500, y), (500 + feet * 36, y), f"{int(feet)}'-{inches}\"")
    paper.dimension((60, 100), (60, 100 + 24 * EIGHTH), "24'-0\"")
    with job_on(tmp_path / "a.takeoff", ("a.pdf", paper.data())) as store:
        whole, part = actions.set_scale_read(store, store.job.sheets[1])
        assert (whole.ratio, whole.region, whole.open_words) == (pytest.approx(96, rel=1e-3), None, ())
        assert part.ratio == pytest.approx(24, rel=1e-3)  # 36 points to the foot
        assert part.region in store.job.regions
        assert "check that it holds all of it" in part.open_words[0]


def test_what_is_no_scale_is_refused(store):
    with pytest.raises(CalibrationError, match="is no part of one"):
        actions.set_scale_note(store, store.job.sheets[1], "1:50 or 1:5O")


def with_letters_as_lines(paper: Paper) -> pymupdf.Document:
    drawn = paper.page.get_svg_image(text_as_path=True).encode()
    return pymupdf.open("pdf", pymupdf.open("svg", drawn).convert_to_pdf())


def in_millimetres(count: int = 4) -> Paper:
    """Draw bare millimetres at 1:50, at which 50 mm of building are 1 mm of paper, 2.8346 points."""
    paper = Paper((842, 595))
    for y, length in ((100, 4250), (200, 6120), (300, 3375), (400, 7480))[:count]:
        paper.dimension((100, y), (100 + length / 50 * 72 / 25.4, y), str(length))
    return paper


@pytest.mark.parametrize("count", [2, 4])
def test_a_drawing_whose_letters_are_lines_is_recognised_by_itself(tmp_path, count):
    """Four figures that agree were not misread; two are asked."""
    pytest.importorskip("rapidocr", reason="the OCR library of the extra [scan] is not installed")
    outlined = with_letters_as_lines(in_millimetres(count)).tobytes()
    with job_on(tmp_path / "a.takeoff", ("a.pdf", outlined)) as store:
        assert read_lines(outlined, store.job.sheets[1]) == []
        (scale,) = actions.set_scale_read(store, store.job.sheets[1])
    assert scale.ratio == pytest.approx(50, rel=0.005)
    assert any("recognised" in word for word in scale.open_words) == (count == 2)


def test_where_much_is_written_letters_that_are_lines_are_recognised_only_when_asked_for(tmp_path):
    """The figures of four lengths are outlines beside twenty words of true text: recognising takes up to a minute."""
    pytest.importorskip("rapidocr", reason="the OCR library of the extra [scan] is not installed")
    outlined = with_letters_as_lines(in_millimetres())
    for i in range(20):
        outlined[0].insert_text((600, 100 + 20 * i), "PAINTED")
    with job_on(tmp_path / "a.takeoff", ("a.pdf", outlined.tobytes())) as store:
        with pytest.raises(CalibrationError, match=r"takeoff scale JOB 1 --scanned"):
            actions.set_scale_read(store, store.job.sheets[1])
        (scale,) = actions.set_scale_scanned(store, store.job.sheets[1])
    assert scale.ratio == pytest.approx(50, rel=0.005)


def test_dimensions_whose_letters_are_strokes_tell_the_scale_where_the_file_says_other_texts_in_words():
    # ISO 32000-1:2008 12.5.6.8: the words stand in square annotations over their strokes; 1/4" to the foot is 18 points
    document = pymupdf.open()
    page = document.new_page(width=600, height=400)
    for line in teach(page):
        note = page.add_rect_annot(pymupdf.Rect(line.box_pt))
        note.set_info(content=line.text)
        note.set_border(width=0)
        note.set_flags(64)
        note.update()
        for key in ("AP", "C"):  # the engine draws a frame; drawing programs give it no colour
            document.xref_set_key(note.xref, key, "null")
    for y, feet in ((150, 12), (190, 17), (230, 15), (270, 18)):
        start, end = 200, 200 + 18 * feet
        page.draw_line((start, y), (end, y))
        for x in (start, end):
            page.draw_line((x, y - 8), (x, y + 8))
            page.draw_line((x - 3, y + 3), (x + 3, y - 3), width=0.8)
        put(page, f"{feet}'-0\"", (start + end) / 2 - 20, y - 4, 8)
    data = document.tobytes()
    sheet = read_sheets(data, "plan.pdf")[0][0]
    ((_, scale),) = read_scales(data, sheet, read_linework(data, sheet), read_lines(data, sheet))
    assert scale.mx == pytest.approx(FOOT / 18, rel=1e-3)


@pytest.fixture
def grids(tmp_path: Path) -> Iterator[JobStore]:
    """Two sheets with one grid: on the first its dimensions say 1:96, on the second a scale bar would say 1:47."""
    document = pymupdf.open()
    for is_dimensioned in (False, True):
        paper = draw_grid(Paper())
        if is_dimensioned:
            dimensioned(paper, EIGHTH)
        else:
            paper.dimension((150, 560), (150 + 148.2, 560), "8'-0\"")
        document.insert_pdf(paper.document, start_at=0)
    with job_on(tmp_path / "g.takeoff", ("g.pdf", document.tobytes())) as store:
        yield store


def test_grid_lines_carry_a_sure_scale_to_another_sheet_of_the_set(grids):
    [bar] = actions.set_scale_read(grids, grids.job.sheets[2])
    assert bar.ratio == pytest.approx(46.7, rel=0.01)
    assert bar.open_words == ("one dimension alone, “8'-0\"”, tells the scale: check it with another",)
    actions.set_scale_read(grids, grids.job.sheets[1])
    [made] = actions.set_scale_read(grids, grids.job.sheets[2])
    assert (made.ratio, made.open_words) == (pytest.approx(96, rel=1e-3), ())
    assert basis_of(made, "mx").text == "“1 to 3 on sheet 1”, “A to B on sheet 1”, “1 to 2 on sheet 1” and 1 more"


def test_a_scale_that_a_person_states_is_weighed_against_the_grid_of_another_sheet(grids):
    actions.set_scale_read(grids, grids.job.sheets[1])
    assert actions.set_scale_ratio(grids, grids.job.sheets[2], "1:96").open_words == ()
    [told] = actions.set_scale_ratio(grids, grids.job.sheets[2], "1:48").open_words
    assert told.startswith("the grid lines give 1:96")


def test_a_draft_reads_a_sheet_again_whose_scale_the_grid_of_a_later_sheet_tells(grids):
    document = pymupdf.open("pdf", grids.source(grids.job.sheets[1].source))
    document.move_page(1, 0)
    with job_on(Path(grids.path).with_name("turned.takeoff"), ("t.pdf", document.tobytes())) as store:
        actions.make_draft(store)
        scales = {c.sheet: (round(c.ratio), c.open_words) for c in store.job.calibrations.values()}
        assert scales == {1: (96, ()), 2: (96, ())}


def test_a_draft_recognises_letters_that_are_lines_for_what_a_sheet_is_and_for_its_scale(tmp_path):
    pytest.importorskip("rapidocr", reason="the OCR library of the extra [scan] is not installed")
    paper = in_millimetres()
    paper.write("GROUND FLOOR PLAN", (300, 520), size=16)
    with job_on(tmp_path / "d.takeoff", ("d.pdf", with_letters_as_lines(paper).tobytes())) as store:
        [sheet] = actions.make_draft(store).sheets
        assert (sheet.use, sheet.why) == ("floor plan", "its heading says GROUND FLOOR PLAN")
        [scale] = store.job.calibrations.values()
        assert scale.ratio == pytest.approx(50, rel=0.005)


def test_a_picture_whose_scale_was_not_recognised_yet_says_how_it_is(tmp_path):
    paper = in_millimetres()
    picture = paper.page.get_pixmap(dpi=100).tobytes("png")
    with (
        job_on(tmp_path / "p.takeoff", ("p.png", picture)) as store,
        pytest.raises(CalibrationError, match="takeoff scale JOB 1 --scanned, which recognises letters"),
    ):
        actions.set_scale_read(store, store.job.sheets[1])
