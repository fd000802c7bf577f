"""Words of two pictures, drawn with the letters that OpenCV has."""

from __future__ import annotations

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.revise.changes import Differences
from takeoff.revise.same_floor import words_kept

ROOM = shapely.box(10.0, 10.0, 240.0, 140.0)


def picture(*words: str, off: tuple[int, int] = (0, 0)) -> NDArray[np.float32]:
    """A room of 500 by 300 pixels with words under one another, 0 for paper and 1 for ink."""
    shade = np.zeros((300, 500), np.uint8)
    for k, word in enumerate(words):
        cv2.putText(shade, word, (60 + off[0], 80 + 60 * k + off[1]), cv2.FONT_HERSHEY_SIMPLEX, 0.6, 255, 1)
    return (shade / 255.0).astype(np.float32)


def kept(old: NDArray[np.float32], new: NDArray[np.float32]) -> tuple[int, int]:
    nothing = np.zeros((0, 4))
    found = Differences(
        removed=nothing, added=nothing, changes=(), tolerance_pt=1.0, shades=(old, new), pixel_pt=0.5
    )  # fmt: skip
    return words_kept(found, [ROOM])


def test_words_that_stand_where_they_were_are_kept() -> None:
    assert kept(picture("PACKING", "104"), picture("PACKING", "104")) == (2, 2)


def test_a_label_that_moved_within_its_room_is_the_same() -> None:
    assert kept(picture("PACKING", "104"), picture("PACKING", "104", off=(120, 40))) == (2, 2)


def test_another_name_is_not() -> None:
    assert kept(picture("PACKING", "104"), picture("LOCKERS", "104")) == (1, 2)


def test_what_stands_outside_the_room_is_no_word_of_it() -> None:
    assert kept(picture("PACKING", off=(500, 0)), picture()) == (0, 0)
