"""What a person shows of how an office draws is kept as it was meant."""

from __future__ import annotations

import pymupdf
import pytest

from takeoff.actions.drafting import read_drawn_sheet, with_look
from takeoff.errors import InputError
from takeoff.model.drafting import DraftingStyle, Look
from tests.jobs import job_on

HEAVY, THIN = Look(pen_pt=0.5, ink=(0, 0, 0)), Look(pen_pt=0.18, ink=(0, 0, 0))
OFFICE = DraftingStyle(name="office", walls=(HEAVY,))


def test_a_door_in_the_pen_of_the_walls_leaves_it_the_pen_of_the_walls():
    assert with_look(OFFICE, "door", HEAVY) == OFFICE
    assert with_look(OFFICE, "window", HEAVY) == OFFICE
    assert with_look(OFFICE, "other", HEAVY).walls == ()


def test_doors_and_windows_may_be_drawn_alike():
    both = with_look(with_look(OFFICE, "door", THIN), "window", THIN)
    assert (both.doors, both.windows) == ((THIN,), (THIN,))
    assert with_look(both, "other", THIN) == DraftingStyle(name="office", walls=(HEAVY,), others=(THIN,))


def test_a_click_on_a_sheet_of_pictures_says_that_they_have_no_pens_and_what_to_do(tmp_path):
    page = pymupdf.open().new_page(width=600, height=400)
    pixels = pymupdf.Pixmap(pymupdf.csRGB, pymupdf.IRect(0, 0, 60, 40), False)
    pixels.clear_with(255)
    page.insert_image((100, 0, 460, 400), pixmap=pixels, keep_proportion=False)  # 0.6 of the page
    page.draw_rect((20, 20, 580, 380))
    for n in range(60):  # notes and their lines over the picture: a vector sheet
        page.draw_line((30, 30 + 5 * n), (60, 30 + 5 * n))
        page.insert_text((70, 30 + 5 * n), f"NOTE {n}", fontsize=4)
    data = page.parent.tobytes()
    with job_on(tmp_path / "a.takeoff", ("a.pdf", data)) as store:
        drawn = read_drawn_sheet(store, 1)
        assert drawn.look_shown((20.0, 200.0)).ink == (0, 0, 0)
        with pytest.raises(InputError, match="pictures cover the sheet"):
            drawn.look_shown((300.0, 200.0))
