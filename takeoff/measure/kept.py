"""Values kept by what they were made from, so that measuring again after an edit makes only what differs."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from typing import Any, Generic, TypeVar

from takeoff.measure.rules import MeasureSettings

Value = TypeVar("Value")


class Memo(Generic[Value]):
    """Values by key, each with the row of things that it was made from the last time."""

    def __init__(self) -> None:
        self._keys: list[Hashable] = []
        self._rows: list[Sequence[object]] = []
        self._values: list[Value] = []

    def renew(
        self,
        keys: Sequence[Hashable],
        rows: Sequence[Sequence[object]],
        make: Callable[[Sequence[int]], Sequence[Value]],
    ) -> list[Value]:
        """Return a value for each key; those whose rows equal the last ones are the last ones.

        Parameters
        ----------
        keys
            Keys in any order; what is no longer among them is forgotten.
        rows
            What each value is made from, nothing left out. Things that are the same objects as before compare fast.
        make
            Makes the values of some keys, told by their indices, all in one call.
        """
        keys, rows = list(keys), list(rows)
        place = {key: i for i, key in enumerate(self._keys)}
        values: list[Any] = [None] * len(keys)
        fresh = []
        for i, key in enumerate(keys):
            at = place.get(key)
            if at is None or self._rows[at] != rows[i]:
                fresh.append(i)
            else:
                values[i] = self._values[at]
        if fresh:
            for i, value in zip(fresh, make(fresh), strict=True):
                values[i] = value
        self._keys, self._rows, self._values = keys, rows, values
        return list(values)


class Kept:
    """What measuring made. Keep one as long as a job is open, and pass it each time: the figures are the same."""

    def __init__(self) -> None:
        self._memos: dict[str, Memo[Any]] = {}
        self._settings: MeasureSettings | None = None

    def measure_with(self, settings: MeasureSettings) -> None:
        """Forget everything that was measured with other settings."""
        if settings != self._settings:
            self._memos = {}
        self._settings = settings

    def memo(self, name: str) -> Memo[Any]:
        """Return the values that are kept under a name."""
        return self._memos.setdefault(name, Memo())
