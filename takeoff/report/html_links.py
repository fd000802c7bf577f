"""Which places on the plans a table's row stands for, and the addresses that lead from one to the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.report.content import ReportContent, Shown


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """Numbers that addresses are made of, so that no text of the job is part of one.

    ``marks`` number faces by their key, ``faces`` list the numbers of a run's faces, ``rooms`` number the rooms by id,
    ``figures`` are addresses of the rows that hold a run's figures.
    """

    marks: dict[str, int]
    faces: dict[str, tuple[int, ...]]
    rooms: dict[str, int]
    figures: dict[str, str]

    @classmethod
    def of(cls, content: Shown) -> Places:
        """Number what a report shows."""
        faces: dict[str, tuple[int, ...]] = {}
        for i, e in enumerate(content.elevations):
            faces[e.run] = (*faces.get(e.run, ()), i)
        return cls(
            marks={e.key: i for i, e in enumerate(content.elevations)},
            faces=faces,
            rooms={item.id: i for i, item in enumerate(content.by_room.items)},
            figures={item.id: f"run-{i}" for i, item in enumerate(content.by_run.items)},
        )

    def of_runs(self, runs: Sequence[str]) -> list[int]:
        """Numbers of all faces of some runs."""
        return [i for run in runs for i in self.faces.get(run, ())]


@dataclass(frozen=True, slots=True, kw_only=True)
class RowPlaces:
    """A row's own address (empty for none), the faces it stands for, and further links (address, text)."""

    id: str = ""
    marks: tuple[int, ...] = ()
    links: tuple[tuple[str, str], ...] = ()


def row_places(table: str, content: ReportContent, places: Places) -> list[RowPlaces]:
    """List the places of each row of the table with this id."""

    def marks(runs: Sequence[str]) -> tuple[int, ...]:
        return drawn_marks(runs, content, places)

    in_room = {item.id: item.sources for item in content.by_room.items}
    room_of = {e.run: e.room or "" for e in content.elevations}
    e = content.estimate
    match table:
        case "quantities-by-room":
            return [
                *(
                    RowPlaces(id=f"room-{places.rooms[item.id]}", marks=marks(item.sources))
                    for item in content.by_room.items
                ),
                *(RowPlaces() for _ in content.by_room.left_out),
            ]
        case "quantities-by-run":
            return [
                *(
                    RowPlaces(
                        id=places.figures[item.id],
                        marks=marks(item.sources),
                        links=(
                            (f"elevation-{places.faces[item.id][0]}", "elevation"),
                            (f"room-{places.rooms[room_of[item.id]]}", "room"),
                        ),
                    )
                    for item in content.by_run.items
                ),
                *(RowPlaces() for _ in content.by_run.left_out),
            ]
        case "materials":
            return [
                RowPlaces(marks=marks(list(dict.fromkeys(run for need in m.needs for run in need.runs))))
                for m in e.materials
            ]
        case "labour":
            return [RowPlaces(marks=marks(in_room.get(line.room, ()))) for line in e.labour]
        case "price-by-room":
            return [RowPlaces(marks=marks(in_room.get(room.id, ()))) for room in e.rooms]
        case _:
            rows = next(len(t.rows) for t in content.tables() if t.id == table)
            return [RowPlaces()] * rows


def drawn_marks(runs: Sequence[str], content: Shown, places: Places) -> tuple[int, ...]:
    """Numbers of those faces of some runs that a marked plan shows."""
    drawn = {places.marks[mark.label] for picture in content.pictures for mark in picture.marks}
    return tuple(i for i in places.of_runs(runs) if i in drawn)
