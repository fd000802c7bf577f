"""The process that reads drawings and plans beside the window."""

from __future__ import annotations

import os
import time
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import active_children

import pytest

from takeoff.gui.reading_process import PATIENCE, ReadingProcess


def test_the_reading_process_comes_after_the_window_where_both_want_the_processor():
    process = ReadingProcess()
    try:
        assert process.submit(os.nice, 0).result(timeout=60) == min(os.nice(0) + PATIENCE, 19)
    finally:
        process.close()


@pytest.mark.parametrize("is_begun", [True, False])
def test_closing_does_not_wait_for_what_is_being_read(is_begun):
    process = ReadingProcess()
    if is_begun:
        process.submit(os.getpid).result(timeout=60)
    asked = [process.submit(time.sleep, 100_000), process.submit(os.getpid)]
    process.close()
    assert all(future.cancelled() or isinstance(future.exception(timeout=60), BrokenProcessPool) for future in asked)
    assert active_children() == []


def test_a_closed_process_begins_anew_when_something_is_asked_of_it():
    process = ReadingProcess()
    first = process.submit(os.getpid).result(timeout=60)
    process.close()
    assert process.submit(os.getpid).result(timeout=60) != first
    process.close()
    process.close()


def test_a_process_that_ended_of_itself_is_begun_anew_when_something_is_asked_of_it():
    process = ReadingProcess()
    try:
        with pytest.raises(BrokenProcessPool):
            process.submit(os._exit, 1).result(timeout=60)
        assert process.submit(os.getpid).result(timeout=60) > 0
    finally:
        process.close()
