"""Sheets compared as pictures: known warps of the sample plan at 100 and 200 dpi."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import cv2
import numpy as np
import pytest

from sample_plans.scan import to_image_pt
from takeoff.errors import SheetError
from takeoff.revise.changes import SheetChange
from takeoff.revise.linework_along import Stretch
from takeoff.revise.pictures import InkAcross, Picture, Shades, picture_changes, picture_lines
from takeoff.revise.register_pictures import register_pictures
from takeoff.revise.registration import Aim, Floats, Registration
from takeoff.revise.run_openings import OTHER_BARE, OTHER_FILL, OTHER_SHADE
from takeoff.sheet.files import read_sheets
from takeoff.sheet.render import render_array
from tests.jobs import PLANS
from tests.revise.conftest import Drawing

FOCUS = (150.0, 250.0, 1690.0, 1280.0)
CORNERS = np.array([(150.0, 250.0), (1690.0, 250.0), (1690.0, 1280.0), (150.0, 1280.0)])
M_PER_PT = 48 * 0.0254 / 72


def grey(data: bytes, name: str, dpi: float) -> Picture:
    sheet = read_sheets(data, name)[0][0]
    picture = render_array(data, sheet, dpi=dpi)
    return picture if picture.ndim == 2 else np.asarray(cv2.cvtColor(picture[..., :3], cv2.COLOR_RGB2GRAY), np.uint8)


@pytest.fixture(scope="module")
def plan(drawings: dict[str, Drawing]) -> Picture:
    return grey(drawings["A"].data, "a.pdf", 100.0)


def scanned(picture: Picture, matrix: Floats, shift_px: Floats, seed: int) -> Picture:
    """A scan of a picture: warped in pixel edges, blurred, noisy, with dirt."""
    rng = np.random.default_rng(seed)
    whole = np.column_stack([matrix, shift_px])
    whole[:, 2] += matrix @ np.array([0.5, 0.5]) - 0.5
    corners = np.array([(0, 0), (picture.shape[1], 0), (picture.shape[1], picture.shape[0]), (0, picture.shape[0])])
    size = np.ceil((corners @ matrix.T + shift_px).max(0)).astype(int)
    seen = cv2.warpAffine(picture, whole, (int(size[0]), int(size[1])), flags=cv2.INTER_LINEAR, borderValue=255)
    seen = cv2.GaussianBlur(seen, (0, 0), 0.7).astype(np.float32) + rng.normal(0, 3, seen.shape).astype(np.float32)
    for x, y in rng.integers(0, [size[0] - 3, size[1] - 3], (400, 2)):
        seen[y : y + rng.integers(1, 4), x : x + rng.integers(1, 4)] = 90
    return np.clip(seen, 0, 255).astype(np.uint8)


def worst(made: Registration, matrix: Floats, shift_px: Floats, dpi: float) -> float:
    """Largest error at the corners of the plan in metres on the building."""
    truth = CORNERS @ matrix.T + shift_px * 72 / dpi
    return float(np.hypot(*(made.carry_all(CORNERS) - truth).T).max()) * M_PER_PT / made.scale


@pytest.mark.parametrize(("degrees", "scale", "stretch"), [(5.0, 1.0, 1.003), (-3.0, 1.3, 0.998)])
def test_a_scan_is_registered_to_millimetres(
    plan: Picture, turned: Callable[..., tuple[Floats, Floats]], degrees: float, scale: float, stretch: float
) -> None:
    matrix, shift = turned(degrees, scale, stretch, (120.0, 90.0))
    made = register_pictures(
        plan,
        scanned(plan, matrix, shift, 5),
        old_dpi=100.0,
        new_dpi=100.0,
        focus_pt=FOCUS,
        m_per_pt=M_PER_PT,
        limit=0.02,
    )
    error = worst(made, matrix, shift, 100.0)
    assert error < 0.003
    assert error < 3.0 * made.u


def test_a_registration_is_no_worse_than_correlating_the_pictures_whole(
    plan: Picture, turned: Callable[..., tuple[Floats, Floats]]
) -> None:
    """Against OpenCV's enhanced correlation (ECC), started from our own result."""
    matrix, shift = turned(0.7, 1.0, 1.0, (120.0, 90.0))
    scan = scanned(plan, matrix, shift, 5)
    made = register_pictures(
        plan, scan, old_dpi=100.0, new_dpi=100.0, focus_pt=FOCUS, m_per_pt=M_PER_PT, limit=0.02
    )  # fmt: skip
    a, b, c, d, e, f = made.matrix
    start = np.array([[a, b, c * 100 / 72], [d, e, f * 100 / 72]], np.float32)
    start[:, 2] += start[:, :2] @ np.array([0.5, 0.5], np.float32) - 0.5
    stop = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 15, 1e-4)
    _, found = cv2.findTransformECC(plan, scan, start, cv2.MOTION_AFFINE, stop, None, 5)
    found[:, 2] -= found[:, :2] @ np.array([0.5, 0.5]) - 0.5
    theirs = CORNERS @ found[:, :2].T + found[:, 2] * 72 / 100
    truth = CORNERS @ matrix.T + shift * 72 / 100
    error_ecc = float(np.hypot(*(theirs - truth).T).max()) * M_PER_PT
    assert worst(made, matrix, shift, 100.0) <= error_ecc + 0.001


def test_the_sample_scan_lies_where_the_script_put_it(drawings: dict[str, Drawing]) -> None:
    scan = grey((PLANS / "facility-scan.png").read_bytes(), "scan.png", 200.0)
    old = grey(drawings["A"].data, "a.pdf", 200.0)
    made = register_pictures(
        old, scan, old_dpi=200.0, new_dpi=200.0, focus_pt=FOCUS, m_per_pt=M_PER_PT, limit=0.01
    )  # fmt: skip
    truth = np.array([to_image_pt((x, y)) for x, y in CORNERS])
    off = np.hypot(*(made.carry_all(CORNERS) - truth).T).max() * M_PER_PT
    assert off < 0.001
    assert off <= 3.0 * made.u
    # a pure re-scan: nothing has changed
    found = picture_changes(
        old, scan, made, old_dpi=200.0, new_dpi=200.0, m_per_pt=M_PER_PT / made.scale,
        focus_pt=(95.0, 110.0, 1600.0, 1120.0),
    )  # fmt: skip
    assert found.changes == ()


def test_of_two_pictures_alike_on_a_sheet_the_rest_of_the_sheet_tells_which_is_which(plan: Picture) -> None:
    """Two storeys side by side, a part of the first one gone; with nothing beside them, points are asked for."""
    left, top, right, bottom = (round(v * 100 / 72) for v in FOCUS)
    own = plan[top:bottom, left:right]
    by = own.shape[1] + 200
    aim = Aim(focus_pt=FOCUS, m_per_pt=M_PER_PT, limit=0.02)

    def sheet(*at: int, over: bool = False) -> Picture:
        blank = np.full((bottom + 200, left + 2 * by), 255, np.uint8)
        for x in at:
            blank[top:bottom, left + x : left + x + own.shape[1]] = own
        if over:
            blank[top : top + own.shape[0] // 3, left : left + own.shape[1]] = 255
        return blank

    made = register_pictures(sheet(0, by), sheet(0, by, over=True), old_dpi=100.0, new_dpi=100.0, **aim)
    assert made.carry((500.0, 500.0)) == pytest.approx((500.0, 500.0), abs=0.1)
    for old, new in ((sheet(0, by), sheet(by)), (sheet(0), sheet(0, by))):
        with pytest.raises(SheetError, match=r"fits in more than one place.*--points"):
            register_pictures(old, new, old_dpi=100.0, new_dpi=100.0, **aim)


def test_a_blank_sheet_and_another_drawing_are_refused(plan: Picture) -> None:
    blank = np.full((1500, 2000), 255, np.uint8)
    with pytest.raises(SheetError, match="--points"):
        register_pictures(plan, blank, old_dpi=100, new_dpi=100, focus_pt=FOCUS, m_per_pt=M_PER_PT, limit=0.02)
    rng = np.random.default_rng(1)
    other = blank.copy()
    for x, y, w, h in rng.integers(20, 1400, (60, 4)):
        cv2.rectangle(other, (int(x), int(y)), (int(x + w / 4), int(y + h / 4)), 0, 2)
    with pytest.raises(SheetError, match="--points"):
        register_pictures(plan, other, old_dpi=100, new_dpi=100, focus_pt=FOCUS, m_per_pt=M_PER_PT, limit=0.02)


SHIFTED = Registration(
    matrix=(1, 0, 3.2, 0, 1, -1.7), kind="similarity", method="picture", pairs=200, share=1, rms_pt=0.02, u=0.0004
)  # fmt: skip


def test_precision_and_recall_of_boxes_on_a_scan_at_200_dpi(drawings: dict[str, Drawing]) -> None:
    """Forty outlines of 0.12 m to 1 m, drawn or wiped out along the corridor; the rest is only scanned anew."""
    rng = np.random.default_rng(9)
    to_px = 200 / 72
    clean = grey(drawings["A"].data, "a.pdf", 200.0)[: int(1000 * to_px), : int(1700 * to_px)]
    found = wanted = right = 0
    for round_ in range(4):
        before, after, truth = clean.copy(), clean.copy(), []
        for column in range(10):
            w, h = (int(v) for v in rng.uniform(0.12, 1.0, 2) / M_PER_PT * to_px)
            x, y = int((230.0 + column * 140.0) * to_px), int(rng.uniform(795.0, 860.0) * to_px)
            page, kind = (before, "removed") if rng.random() < 0.5 else (after, "added")
            cv2.rectangle(page, (x, y), (x + w, y + h), 0, 2)
            truth.append((kind, x / to_px + 3.2, y / to_px - 1.7))
        scan = scanned(after, np.eye(2), np.array([3.2, -1.7]) * to_px, round_)
        got = picture_changes(
            before, scan, SHIFTED, old_dpi=200, new_dpi=200, m_per_pt=M_PER_PT, focus_pt=(200.0, 280.0, 1640.0, 990.0)
        ).changes

        def is_found(truth: tuple[str, float, float], got: tuple[SheetChange, ...] = got) -> bool:
            return any(
                c.kind == truth[0] and abs(c.box_pt[0] - truth[1]) < 2 and abs(c.box_pt[1] - truth[2]) < 2 for c in got
            )

        found, wanted, right = found + len(got), wanted + len(truth), right + sum(is_found(t) for t in truth)
    assert right / wanted >= 0.95
    assert right / found >= 0.95


def test_edges_of_a_drawn_line_are_found_to_a_fifth_of_a_pixel() -> None:
    page = np.full((800, 800), 255, np.uint8)
    cv2.rectangle(page, (100, 300), (700, 339), 0, -1)
    lines = picture_lines(page, dpi=72.0, focus_pt=(0, 0, 800, 800))
    level = lines[np.abs(lines[:, 1] - lines[:, 3]) < 1]
    # rows 300 to 339 are ink, so its edges lie at 300 and 340
    assert sorted(np.round(level[:, 1], 1)) == pytest.approx([300.0, 340.0], abs=0.2)


def wall_with_a_window(pens: float, fill: float, *, window: slice = slice(200, 600)) -> Floats:
    """How dark a wall is at 10 mm a pixel: 250 mm deep, filled or two wide pens, and a window of three fine pens."""
    dark = np.zeros((85, 1000), np.float32)
    dark[30:55] = fill
    dark[[30, 31, 53, 54]] = 1.0
    dark[30:55, window] = 0.0
    dark[[30, 42, 54], window] = pens
    return dark


def across(old: Floats, new: Floats) -> tuple[InkAcross, np.ndarray]:
    """Ink across the wall, and which stations lie away from its ends."""
    shades = Shades(old=old.astype(np.float32), new=new.astype(np.float32), pixel=np.array([0.01, 0.01]))
    ink = shades.across(Stretch(a=(0.0, 0.3), b=(10.0, 0.3), hand=-1), 0.25, 0.05)
    within = (ink.stations > 0.3) & (ink.stations < 9.7)
    return ink.with_usual(within), within


def most_off(old: Floats, new: Floats) -> float:
    """By how much the wall differs, away from its ends."""
    ink, within = across(old, new)
    return ink.most_off(within)


@pytest.mark.parametrize("fill", [0.0, 1.0])
@pytest.mark.parametrize("window", [slice(200, 600), slice(100, 900)])
def test_fine_pens_that_a_scan_draws_lighter_are_no_change_and_a_wall_that_was_broken_is(
    fill: float, window: slice
) -> None:
    """Fine pens keep three quarters of their ink in a scan, wide ones all (measured on known scans at 150 dpi)."""
    old = wall_with_a_window(0.6, fill, window=window)
    scan = wall_with_a_window(0.45, fill, window=window)
    assert most_off(old, scan) < OTHER_SHADE
    for left in (0.0, 0.5):
        broken = scan.copy()
        broken[:, 930:] *= left
        assert most_off(old, broken) > OTHER_SHADE
    bricked_up = scan.copy()
    bricked_up[:, 500:600] = wall_with_a_window(0.45, fill, window=slice(0))[:, 500:600]
    assert most_off(old, bricked_up) > OTHER_SHADE


def test_a_window_that_moved_in_a_filled_wall_is_told_where_it_was_though_it_has_as_much_ink_again() -> None:
    old = wall_with_a_window(0.6, 1.0, window=slice(200, 600))
    for now, moved in ((slice(200, 600), False), (slice(240, 640), True)):
        ink, _ = across(old, wall_with_a_window(0.5, 1.0, window=now))
        within = (ink.stations > 2.0) & (ink.stations < 6.0)
        assert (ink.with_usual(within, least=0.2).most_off(within) > OTHER_FILL) == moved


def test_glass_in_a_grey_wall_is_told_by_the_paper_between_its_lines_where_both_have_as_much_ink() -> None:
    old = wall_with_a_window(0.6, 0.25, window=slice(0))
    paler = np.where(old == 0.25, np.float32(0.18), old)
    glazed = old.copy()
    glazed[30:55, 500:620] = 0.0
    glazed[[30, 31, 36, 37, 47, 48, 53, 54], 500:620] = 1.0
    for new, is_other in ((paler, False), (glazed, True)):
        ink, within = across(old, new)
        assert ink.most_off(within) < OTHER_SHADE
        assert (ink.most_bare(within) > OTHER_BARE) == is_other


def test_new_ink_in_colour_is_a_mark_by_hand_and_black_ink_is_not() -> None:
    paper = np.full((600, 600), 235, np.uint8)
    marked, coloured = paper.copy(), np.zeros((600, 600), bool)
    marked[100:110, 100:300] = marked[400:410, 100:300] = 60
    coloured[100:110, 100:300] = True
    here = replace(SHIFTED, matrix=(1, 0, 0, 0, 1, 0))

    def kinds(colours: np.ndarray | None) -> list[str]:
        found = picture_changes(
            paper, marked, here, old_dpi=72, new_dpi=72, m_per_pt=0.01, focus_pt=(0, 0, 600, 600), coloured=colours
        )  # fmt: skip
        return [c.kind for c in found.changes]

    assert kinds(coloured) == ["marked", "added"]
    assert kinds(None) == ["added", "added"]
