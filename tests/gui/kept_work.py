"""What the window's processes read, draw and work out, kept for all tests: the same work on the same values once.

Only work that makes nothing but a value of what it is given is kept. Whoever asks gets a copy of his own, at once. A
test about waiting, or about the processes themselves, takes the fixture ``works_anew``; plans and prices that a person
asks for are worked out anew each time, for their pages say that they wait.
"""

from __future__ import annotations

import hashlib
import io
import os
import pickle
import time
from collections.abc import Callable
from concurrent.futures import Future
from functools import partial
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest

from takeoff import actions
from takeoff.apart import Apart
from takeoff.errors import TakeoffError
from takeoff.gui.canvas.pixels import Picture
from takeoff.gui.canvas.renderer import Wish, _close, _Lane
from takeoff.gui.reading_process import with_job, with_store
from takeoff.gui.review import compare

OF_A_JOB = (actions.read_sheet_trace, compare, actions.RevisionPrices)
"""What takes a job file and makes a value of the job in it and of its plans alone."""
MOST = 150_000_000
"""Bytes of pictures that are kept in a worker."""


def key_of(work: Callable[..., Any], given: tuple[Any, ...]) -> str | None:
    """Name work by what it does and what it is given; nothing where it may do more than make a value."""
    if work in (with_job, with_store):
        path, inner, *rest = given
        if inner not in OF_A_JOB:
            return None
        try:
            with actions.open_job(path) as store:
                given = (inner, store.job, *rest)
        except TakeoffError:
            return None
    elif not hasattr(work.func if isinstance(work, partial) else work, "__wrapped__"):  # marked `apart`
        return None
    return named((work, given))


class _Pickler(pickle.Pickler):
    """Takes a mapping that cannot be changed for its entries: a job has such."""

    def reducer_override(self, value: object) -> Any:
        return (dict, (dict(value),)) if isinstance(value, MappingProxyType) else NotImplemented


def named(value: object) -> str:
    """A name that equal values have, and others have not."""
    out = io.BytesIO()
    _Pickler(out).dump(value)
    return hashlib.sha256(out.getvalue()).hexdigest()


class Kept:
    """Keeps in a folder that all workers share what processes made; pictures in this worker."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._folder.mkdir(exist_ok=True)
        self._pictures: dict[str, list[Any]] = {}

    def put_in(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """Have the window's processes asked only for what is not there yet."""
        monkeypatch.setattr(Apart, "submit", self.submitted(Apart.submit))
        monkeypatch.setattr(_Lane, "begin", self.drawn(_Lane.begin))

    def submitted(self, submit: Callable[..., Future[Any]]) -> Callable[..., Future[Any]]:
        """Have work done in a process only where nobody has had it done yet."""

        def kept(process: Apart, work: Callable[..., Any], *given: Any) -> Future[Any]:
            key = key_of(work, given)
            if key is None:
                return submit(process, work, *given)
            file = self._folder / key
            if file.exists():
                done: Future[Any] = Future()
                done.set_result(pickle.loads(file.read_bytes()))
                return done
            future = submit(process, work, *given)
            future.add_done_callback(lambda made: self._keep(file, made))
            return future

        return kept

    def _keep(self, file: Path, made: Future[Any]) -> None:
        if not made.cancelled() and made.exception() is None:
            half = file.with_suffix(f".{os.getpid()}")
            half.write_bytes(pickle.dumps(made.result()))
            half.rename(file)

    def drawn(self, begin: Callable[..., None]) -> Callable[..., None]:
        """Have a picture drawn only where it was not drawn in this worker yet."""

        def kept(lane: _Lane, wish: Wish, before: Picture | None) -> None:
            source, boxes = wish.source, (wish.box, before and before.box)
            key = named((source.data, source.sheet, source.look, wish.whole, boxes))
            if key not in self._pictures:
                begin(lane, wish, before)
                lane._drawing.add_done_callback(lambda made: self._keep_picture(key, made))
                return
            if lane.source is not None and lane.source != source:
                lane._process.submit(_close)  # the process says that this one is not open, and is given it then
            lane.wish, lane._kept, lane.source = wish, before, source
            lane.begun, lane._unwanted = time.monotonic(), 0.0
            lane._drawing = Future()
            lane._drawing.set_result([np.copy(part) for part in self._pictures[key]])

        return kept

    def _keep_picture(self, key: str, made: Future[Any]) -> None:
        if made.cancelled() or made.exception() is not None or made.result() is None:
            return
        self._pictures[key] = [np.copy(part) for part in made.result()]
        while sum(part.nbytes for parts in self._pictures.values() for part in parts) > MOST:
            del self._pictures[next(iter(self._pictures))]
