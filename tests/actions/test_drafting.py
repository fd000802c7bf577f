"""What a person shows of how an office draws is kept as it was meant."""

from __future__ import annotations

from takeoff.actions.drafting import with_look
from takeoff.model.drafting import DraftingStyle, Look

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
