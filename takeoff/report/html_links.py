"""Which places on the plans a table's row stands for, and the addresses that lead from one to the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.report.content import ReportContent, Shown


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """Numbers that addresses are made of, so that no text of the job is part of one.

    ``marks`` number faces by their key, ``faces`` list the numbers of a run's faces, ``rooms`` number the rooms by id,
    ``figures`` are addresses of the rows that hold a run's figures, ``drawn`` the faces that a marked plan shows.
    """

    marks: dict[str, int]
    faces: dict[str, tuple[int, ...]]
    rooms: dict[str, int]
    figures: dict[str, str]
    drawn: frozenset[int]

    @classmethod
    def of(cls, content: Shown) -> Places:
        """Number what a report shows."""
        faces: dict[str, tuple[int, ...]] = {}
        for i, e in enumerate(content.elevations):
            faces[e.run] = (*faces.get(e.run, ()), i)
        marks = {e.key: i for i, e in enumerate(content.elevations)}
        return cls(
            marks=marks,
            faces=faces,
            rooms={item.id: i for i, item in enumerate(content.by_room.items)},
            figures={item.id: f"run-{i}" for i, item in enumerate(content.by_run.items)},
            drawn=frozenset(marks[mark.label] for picture in content.pictures for mark in picture.marks),
        )

    def drawn_of(self, runs: Sequence[str]) -> tuple[int, ...]:
        """Numbers of those faces of some runs that a marked plan shows."""
        return tuple(i for run in runs for i in self.faces.get(run, ()) if i in self.drawn)


@dataclass(frozen=True, slots=True, kw_only=True)
class RowPlaces:
    """A row's own address (empty for none), the faces it stands for, and further links (address, text)."""

    id: str = ""
    marks: tuple[int, ...] = ()
    links: tuple[tuple[str, str], ...] = ()


def row_places(content: ReportContent, places: Places) -> dict[str, list[RowPlaces]]:
    """List the places of the rows of each table that has any, by the table's id; rows after them have none."""

    def row(runs: Sequence[str], id: str = "", *links: tuple[str, str]) -> RowPlaces:
        return RowPlaces(id=id, marks=places.drawn_of(runs), links=links)

    in_room = {item.id: item.sources for item in content.by_room.items}
    room_of = {e.run: e.room or "" for e in content.elevations}
    e = content.estimate
    return {
        "quantities-by-room": [row(i.sources, f"room-{places.rooms[i.id]}") for i in content.by_room.items],
        "quantities-by-run": [
            row(
                i.sources,
                places.figures[i.id],
                (f"elevation-{places.faces[i.id][0]}", "elevation"),
                (f"room-{places.rooms[room_of[i.id]]}", "room"),
            )
            for i in content.by_run.items
        ],
        "materials": [row(tuple(dict.fromkeys(run for need in m.needs for run in need.runs))) for m in e.materials],
        "labour": [row(in_room.get(line.room, ())) for line in e.labour],
        "price-by-room": [row(in_room.get(room.id, ())) for room in e.rooms],
    }
