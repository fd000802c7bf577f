"""How the plan and what stands round it share the window."""

from __future__ import annotations

import pytest

from takeoff.gui.layout import BOUNDS, SCREEN_BARS, USUAL, layout_of, on_screen, sizes_within, usual_place
from takeoff.gui.preferences import Place, Sizes


def layout(width, height, **more):
    return layout_of(width, height, **{"wishes": {}, "is_wanted": False, "is_tall": False, "sizes": USUAL, **more})


@pytest.mark.parametrize(("width", "height"), [(1366, 768), (1440, 900), (1024, 660), (1920, 1200)])
def test_with_nothing_selected_the_plan_has_sixty_percent_of_the_screen(width, height):
    """Of the screen with a title bar, a menu and a task bar: 30, 30 and 32 pixels."""
    shown = layout(width, height - 92)
    bars = 48 + 38 + 36 + 22  # tools, prompt, names of the pages, line at the bottom
    across = width - 2 * 10 - (USUAL.sheets + 18) * shown.shows_sheets - (USUAL.side + 18) * shown.shows_side
    down = height - 92 - bars - shown.table
    if (width, height) != (1920, 1200):  # a large screen has room for the panel and the tables too
        assert across * down >= 0.6 * width * height
    else:
        assert shown.shows_side
        assert shown.table > 0


def test_the_panel_comes_with_a_selection_and_what_a_person_folded_stays_so():
    assert layout(1366, 700, is_wanted=True).shows_side
    assert not layout(1366, 700, is_wanted=True, wishes={"side": False}).shows_side
    assert layout(1366, 700, wishes={"side": True}).shows_side
    assert layout(1366, 700, wishes={"figures": True}).table == USUAL.table
    assert layout(1920, 1100, wishes={"figures": False}).table == 0


def test_in_a_tiny_window_nothing_but_the_plan_is_shown_until_it_is_asked_for():
    tiny = layout(640, 400, is_wanted=True)
    assert (tiny.shows_sheets, tiny.shows_side, tiny.table) == (False, False, 0)


def test_sizes_are_kept_within_bounds_and_nothing_is_the_usual():
    assert sizes_within(Sizes()) == USUAL
    assert sizes_within(Sizes(sheets=9999, side=1, table=300)) == Sizes(sheets=340, side=BOUNDS["side"][0], table=300)


@pytest.mark.parametrize("screen", [(1366, 768), (1024, 660), (2560, 1440)])
def test_the_window_stands_whole_on_the_screen_with_its_menu_and_the_bars(screen):
    for place in (
        usual_place(*screen, 32),
        on_screen(Place(left=-400, top=5000, width=3000, height=2000), *screen, 32),
        on_screen(Place(left=900, top=500, width=800, height=400), *screen, 32),
    ):
        assert place.left >= 0
        assert place.left + place.width <= screen[0]
        assert place.top >= 0
        assert place.top + place.height + 32 + SCREEN_BARS <= screen[1]
