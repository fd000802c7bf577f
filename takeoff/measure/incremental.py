"""Measure again after an edit: only what the edit touches, with the very figures of measuring all anew."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, chain, compress
from operator import attrgetter, is_not

from takeoff.errors import InputError
from takeoff.measure.develop import Face, develop
from takeoff.measure.faces import MeasuredFace, measure_developed
from takeoff.measure.joins import join_reach
from takeoff.measure.kept_joins import FaceKey, KeptJoins
from takeoff.measure.kept_totals import KeptTotals
from takeoff.measure.mitres import Mitres
from takeoff.measure.rules import rule_named
from takeoff.measure.settings import MeasureSettings
from takeoff.measure.sweeping import no_sweeps
from takeoff.measure.uncertainty import scale_key
from takeoff.model.figures import Measurement
from takeoff.model.plan import Calibration
from takeoff.model.walls import Room, Run

_id = attrgetter("id")


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """Measured faces and their totals three ways; ``changed`` are ids of the runs that were measured again or went."""

    faces: tuple[MeasuredFace, ...]
    by_room: Measurement
    by_run: Measurement
    by_system: Measurement
    changed: frozenset[str]


class Measurer:
    """Keeps what it measured, so that the next `update` measures only what differs.

    Values are compared by identity, then by equality: pass the same runs, rooms and calibrations again where they did
    not change. A failed update leaves the next one right, if slower.

    Examples
    --------
    >>> from takeoff.model.walls import HeightProfile
    >>> run = Run(id="a", sheet=1, points_pt=((0.0, 0.0), (100.0, 0.0)), height=HeightProfile.constant(3.0))
    >>> measurer = Measurer()
    >>> scale = {"a": Calibration(sheet=1, mx=0.05, my=0.05)}
    >>> measurer.update([run], {}, scale, settings=MeasureSettings()).by_run.total.quantities.net_area
    15.0
    """

    def __init__(self) -> None:
        """Start without anything measured."""
        self._kept: _Kept | None = None

    def update(
        self,
        runs: Sequence[Run],
        rooms: Mapping[str, Room],
        calibrations: Mapping[str, Calibration],
        *,
        settings: MeasureSettings,
    ) -> Figures:
        """Measure runs, taking over what is as it was at the last update.

        Parameters
        ----------
        runs, rooms, calibrations, settings
            As for `measure_faces`; ids of runs are unique.

        Returns
        -------
        Figures
            Equal to `measure_faces` and `summarise` of the same values, to the last bit.

        Raises
        ------
        GeometryError
            Naming the run, where one cannot be developed.
        InputError
            For an unknown measuring rule, or two runs of one id.
        """
        rule_named(settings.rule)
        table = dict(zip(map(_id, runs), runs, strict=True))
        if len(table) != len(runs):
            twice = next(id for id, n in Counter(run.id for run in runs).items() if n > 1)
            raise InputError(f'two runs have the id "{twice}"', remedy="Give each run an id of its own.")
        kept = self._kept
        if kept is None or kept.settings != settings or not kept.expect(table):
            kept = _Kept(settings)
            kept.expect(table)
        with no_sweeps():
            self._kept = None  # a failure from here on must not leave half a state behind
            developed = {
                run.id: develop(
                    run,
                    rooms.get(run.room or ""),
                    calibrations[run.id],
                    corner_threshold=settings.corner_threshold,
                    ends=kept.mitres.of(run.id),
                )
                for run in kept.touched(table, rooms, calibrations)
            }
            figures = kept.advance(table, rooms, calibrations, developed)
        self._kept = kept
        return figures


class _Kept:
    """What is known after an update."""

    def __init__(self, settings: MeasureSettings) -> None:
        self.settings = settings
        self._runs: dict[str, Run] = {}
        self._rooms: dict[str, Room] = {}
        self._scales: dict[str, Calibration] = {}
        self._order: dict[str, int] = {}
        self._faces: dict[str, tuple[Face, ...]] = {}
        self._measured: dict[str, tuple[MeasuredFace, ...]] = {}
        self._joins: dict[str, KeptJoins] = {}
        self.mitres = Mitres()
        self._flat: list[MeasuredFace] = []
        self._starts: dict[str, int] = {}
        self._totals = KeptTotals()
        self._is_same = False

    def expect(self, table: Mapping[str, Run]) -> bool:
        """Look at the runs that come next; False where those that stay do not follow one another as before."""
        self._is_same = list(self._runs) == list(table)
        return self._is_same or [i for i in self._runs if i in table] == [i for i in table if i in self._runs]

    def touched(
        self, table: Mapping[str, Run], rooms: Mapping[str, Room], calibrations: Mapping[str, Calibration]
    ) -> list[Run]:
        """Runs that differ, and those whose faces end elsewhere because of them."""
        differing = self._differing(table, rooms, calibrations)
        lost = [] if self._is_same else [i for i in self._runs if i not in table]
        met = self.mitres.update(lost, {run.id: (run, calibrations[run.id]) for run in differing})
        if met <= {run.id for run in differing}:
            return differing
        met.update(run.id for run in differing)
        return [run for i, run in table.items() if i in met]

    def _differing(
        self, table: Mapping[str, Run], rooms: Mapping[str, Room], calibrations: Mapping[str, Calibration]
    ) -> list[Run]:
        """Runs that are new, or that differ themselves or in their room or scale."""
        other: set[str] = set()
        if self._rooms != rooms:
            other = {k for k in {*self._rooms, *rooms} if self._rooms.get(k) != rooms.get(k)}
        runs: Iterable[Run | None] = self._runs.values()
        scales: Iterable[Calibration | None] = self._scales.values()
        if not self._is_same:
            runs, scales = [self._runs.get(i) for i in table], [self._scales.get(i) for i in table]
        now = map(calibrations.__getitem__, table)
        # almost all are the very same objects, and these find the others without a step of ours for each
        replaced = compress(table, map(is_not, table.values(), runs))
        rescaled = compress(table, map(is_not, now, scales))
        changed = {i for i in replaced if table[i] != self._runs.get(i)}
        changed.update(i for i in rescaled if calibrations[i] != self._scales.get(i))
        if other:
            changed.update(i for i, run in table.items() if (run.room or "") in other)
        return [run for i, run in table.items() if i in changed]

    def advance(
        self,
        table: dict[str, Run],
        rooms: Mapping[str, Room],
        calibrations: Mapping[str, Calibration],
        developed: Mapping[str, tuple[Face, ...]],
    ) -> Figures:
        """Take over the developed runs and measure what they touch."""
        lost = [] if self._is_same else [i for i in self._runs if i not in table]
        if not self._is_same:
            self._order = {i: n for n, i in enumerate(table)}
        again = {(i, k) for i, faces in developed.items() for k in range(len(faces))}
        again |= self._rejoin(lost, developed, calibrations)
        gone = [face for i in lost for face in self._measured.pop(i)]
        for i in lost:
            del self._faces[i]
        self._faces.update(developed)
        self._runs = table
        if self._rooms != rooms:
            self._rooms = dict(rooms)
        if self._is_same:
            self._scales.update({i: calibrations[i] for i in developed})
        else:
            self._scales = {i: calibrations[i] for i in table}
        counts = {i: len(self._measured.get(i, ())) for i, _ in again}
        come = self._measure(again, developed, gone)
        faces = self._all_faces(counts)
        totals = self._totals.update(gone, come, faces, rooms=rooms, rule=self.settings.rule)
        return Figures(
            faces=faces,
            by_room=totals["room"],
            by_run=totals["run"],
            by_system=totals["system"],
            changed=frozenset((*lost, *(i for i, _ in again))),
        )

    def _all_faces(self, counts: Mapping[str, int]) -> tuple[MeasuredFace, ...]:
        """List all faces; ``counts`` are how many faces the changed runs had before."""
        if self._is_same and all(len(self._measured[i]) == counts[i] for i in counts):
            for i in counts:
                self._flat[self._starts[i] : self._starts[i] + counts[i]] = self._measured[i]
        else:
            parts = [self._measured[i] for i in self._runs]
            self._flat = list(chain.from_iterable(parts))
            self._starts = dict(zip(self._runs, accumulate(map(len, parts), initial=0), strict=False))
        return tuple(self._flat)

    def _rejoin(
        self,
        lost: Sequence[str],
        developed: Mapping[str, tuple[Face, ...]],
        calibrations: Mapping[str, Calibration],
    ) -> set[FaceKey]:
        """Bring the joins up to date; return the faces whose joins changed."""
        gone: dict[str, list[FaceKey]] = {}
        put: dict[str, dict[FaceKey, tuple[Face, float]]] = {}
        for i, faces in developed.items():
            scale = calibrations[i]
            part = put.setdefault(scale_key(scale), {})
            part.update({(i, k): (face, join_reach(scale)) for k, face in enumerate(faces)})
        for i in (*lost, *(i for i in developed if i in self._faces)):
            key = scale_key(self._scales[i])
            stay = put.get(key, {})
            gone.setdefault(key, []).extend((i, k) for k in range(len(self._faces[i])) if (i, k) not in stay)
        changed: set[FaceKey] = set()
        for key in {**gone, **put}:
            changed |= self._joins.setdefault(key, KeptJoins()).update(
                gone.get(key, ()),
                put.get(key, {}),
                order=self._order,
                corner_threshold=self.settings.corner_threshold,
            )
        return changed

    def _measure(
        self, again: set[FaceKey], developed: Mapping[str, tuple[Face, ...]], gone: list[MeasuredFace]
    ) -> list[MeasuredFace]:
        """Measure faces, put them in their places, and add those that they replace to ``gone``."""
        keys = sorted(again, key=lambda k: (self._order[k[0]], k[1]))
        scales = [self._scales[i] for i, _ in keys]
        come = measure_developed(
            [self._faces[i][k] for i, k in keys],
            scales,
            [self._joins[scale_key(s)].joins_of(key) for key, s in zip(keys, scales, strict=True)],
            settings=self.settings,
        )
        new = dict(zip(keys, come, strict=True))
        for i in dict.fromkeys(i for i, _ in keys):
            before = self._measured.get(i, ())
            gone.extend(f for k, f in enumerate(before) if i in developed or (i, k) in new)
            self._measured[i] = tuple(new[i, k] if (i, k) in new else before[k] for k in range(len(self._faces[i])))
        return list(come)
