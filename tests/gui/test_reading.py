"""The process that reads drawings and plans beside the window."""

from __future__ import annotations

import os

from takeoff.gui.reading import PATIENCE, ReadingProcess


def test_the_reading_process_comes_after_the_window_where_both_want_the_processor():
    process = ReadingProcess()
    try:
        assert process.submit(os.nice, 0).result(timeout=60) == min(os.nice(0) + PATIENCE, 19)
    finally:
        process.close()
