"""The strip with the title block is told from the plan beside it."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from takeoff.trace.lines.not_building import title_strips

SIZE = (1000.0, 700.0)
FRAME = [(20, 20, 980, 20), (980, 20, 980, 680), (980, 680, 20, 680), (20, 680, 20, 20)]
"""The frame of a sheet in points."""
WORDS = [shapely.box(880, 100 + 30 * i, 920, 110 + 30 * i) for i in range(12)]
"""Words one under another near the right edge."""


def test_a_strip_of_the_frame_with_words_is_the_title_block():
    strips = title_strips(np.array([*FRAME, (850, 20, 850, 680)], float), WORDS, SIZE)
    assert strips.bounds == pytest.approx((850, 0, 1000, 700))


def test_the_line_of_a_grid_parts_no_title_block():
    """It stands where the strip's line would, but ends short of the frame."""
    assert title_strips(np.array([*FRAME, (850, 60, 850, 640)], float), WORDS, SIZE).is_empty


def test_a_strip_without_words_is_a_margin():
    assert title_strips(np.array([*FRAME, (850, 20, 850, 680)], float), WORDS[:3], SIZE).is_empty
