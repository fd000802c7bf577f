"""Tracing rooms from what is drawn: a press inside a room takes it; all rooms at once, the doubtful ones to look at."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from takeoff import actions
from takeoff.errors import InputError, TakeoffError
from takeoff.geometry.paths import Path
from takeoff.gui.canvas.view import Shape, box_round, plate
from takeoff.gui.job_shapes import SAG_PT
from takeoff.gui.reading_process import TraceReader
from takeoff.gui.session import Selection, Session
from takeoff.gui.tools.tool import PREVIEW, Asked, Pick, Tool, idle_prompt, in_places, shown_place
from takeoff.gui.wording import begun
from takeoff.job.job import Job
from takeoff.model.open_points import OpenPoint
from takeoff.model.plan import Point
from takeoff.trace.lines.traced_rooms import TracedRoom
from takeoff.units import in_units

OPEN = "#CC79A7"
"""Colour of where no wall closes a room (Okabe and Ito's palette)."""
READY, WAITING = "hand2", "watch"
"""Shapes of the pointer."""
AROUND, LEAST_SEEN_PT = 0.6, 72.0
"""What is seen round a room that is looked at, as a share of its size and of so many points at the least."""


MOST_NAMED = 3
"""Rooms that are named in the line that says what was traced."""


class RoomTool(Tool):
    """Press inside a room to trace it from the drawing's own lines; what is pressed while they are read waits.

    ``see`` is called with points that the plan should show: round a doubtful room that is to be looked at.
    """

    id = "room"
    cursor = READY
    snaps = False

    def __init__(self, session: Session, reader: TraceReader, see: Callable[[tuple[Point, ...]], None]) -> None:
        super().__init__(session)
        self._reader, self._see = reader, see
        self.queue: list[TracedRoom] = []
        self.fault = ""
        self.is_editing = False
        self.held: list[Point] = []
        self.holds_all = False
        self._is_traced: tuple[Job, dict[int, bool]] = (session.job, {})

    @property
    def is_waiting(self) -> bool:
        """Whether the drawing is being read still."""
        return self._read() is None and not self.fault

    @property
    def is_holding(self) -> bool:
        """Whether something that was pressed waits for the drawing to be read."""
        return self.holds_all or bool(self.held)

    def _read(self) -> actions.SheetTrace | None:
        try:
            read = self._reader.trace_of(self.session.sheet)
        except TakeoffError as error:
            self.fault = f"{error.message}. {error.remedy}"
            return None
        self.fault = ""
        return read

    def _hold(self) -> None:
        """Say that what was pressed is done when the drawing has been read; refuse it where that cannot be."""
        if self.fault:
            self._let_go()
            raise InputError(self.fault)
        self.cursor = WAITING
        self.session.tell(f"{self._held_words()} as soon as the drawing has been read; Escape stops it.")

    def _held_words(self) -> str:
        if self.holds_all:
            return "Every room is traced"
        return "The room that you clicked is traced" if len(self.held) == 1 else f"{len(self.held)} rooms are traced"

    def _let_go(self) -> None:
        self.held, self.holds_all, self.cursor = [], False, READY

    def catch_up(self) -> None:
        """Do what was pressed while the drawing was read; refuse it where that could not be."""
        held, holds_all, is_holding = self.held, self.holds_all, self.is_holding
        self._let_go()
        read = self._read()
        if not is_holding:
            return
        if read is None:
            raise InputError(self.fault)
        if holds_all:
            self.finish()
            return
        inside = [pt for pt in held if read.room_at(pt) is not None]
        self._take(lambda: self._trace(read, at=inside or held))
        if 0 < len(inside) < len(held):
            missed = len(held) - len(inside)
            others = f"{missed} other click{'s' * (missed > 1)}"
            self.session.tell(f"{self.session.message} No closed room was found at {others}.")

    def prompt(self) -> str:
        if self.is_editing:
            return f"Change the room in the panel · Enter: the next of {_rooms(len(self.queue))} to look at"
        if self.queue:
            return f"{_rooms(len(self.queue))} to look at, one by one: answer in the panel, or press Y, E, C or N."
        if self.fault:
            return self.fault
        if self.is_waiting:
            if self.is_holding:
                return f"Reading the drawing … {self._held_words()} then · Escape: stop it"
            return "Reading the drawing … Click inside a room already: it is traced when that is done"
        begin = "click inside a room to trace it with its openings · Enter: every room of the sheet"
        return idle_prompt(self.session, begin)

    def _under(self) -> TracedRoom | None:
        read = self._read()
        room = read.room_at(self.at.raw_pt) if read is not None and self.at is not None else None
        return None if room is None or self._is_known(room) else room

    def _is_known(self, room: TracedRoom) -> bool:
        """Tell whether a room is in the job; looked up once for each state of the job."""
        if self._is_traced[0] is not self.session.job:
            self._is_traced = (self.session.job, {})
        job, known = self._is_traced
        if id(room) not in known:
            known[id(room)] = actions.is_traced(job, self.session.sheet_id, room)
        return known[id(room)]

    def press(self, pick: Pick) -> None:
        """Trace the room under the pointer."""
        self.at = pick
        read = self._read()
        if read is None:
            self.held.append(pick.raw_pt)
            self._hold()
            return
        if self.queue:
            raise InputError("rooms are waiting to be looked at", remedy="Press Y, N or E; Escape drops them all.")
        if read.room_at(pick.raw_pt) is None:
            raise InputError(
                f"no closed room was found{self._place(pick.raw_pt)}: {read.why_none_at(pick.raw_pt)}",
                remedy="Click in the middle of a room, show one of its walls, or trace it by hand (T).",
            )
        self._take(lambda: self._trace(read, at=[pick.raw_pt]))

    def _place(self, pt: Point) -> str:
        scale = self.session.scale
        if scale is None:
            return ""
        x, y = shown_place(self.session.sheet, scale, pt)
        return f" round {self.session.display.length(x)}, {self.session.display.length(y)}"

    def finish(self) -> None:
        """Trace every room of the sheet that is not traced yet; the doubtful ones wait to be looked at."""
        read = self._read()
        if read is None:
            self.holds_all = True
            self._hold()
            return
        if self.queue:
            self.is_editing = False
            self._look()
            self.session.tell("")
            return
        self._take(lambda: self._trace(read))

    def _trace(self, read: actions.SheetTrace, at: Sequence[Point] = ()) -> actions.Traced:
        store, given = self.session.store, {"ceilings": read.ceilings, "read": read, **self._given()}
        return actions.trace_sheet(store, self.session.sheet_id, at=at, all=not at, **given)

    def _given(self) -> dict[str, Any]:
        like = self.session.next_room
        level = like.height.points[0][1] if like.height is not None and like.height.is_constant else None
        return {"height": level, "system": like.system, "cove": like.cove, "basis": like.basis}

    def _look(self) -> None:
        if self.queue:
            x0, y0, x1, y1 = box_round(self.queue[0].points_pt)
            margin = AROUND * max(x1 - x0, y1 - y0, LEAST_SEEN_PT)
            self._see(((x0 - margin, y0 - margin), (x1 + margin, y1 + margin)))

    def _take(self, work: Callable[[], actions.Traced], *, is_seen: bool = False) -> None:
        """Put rooms into the job; those that a person has just looked at are not named once more."""
        done: list[actions.Traced] = []

        def traced() -> object:
            done.append(work())
            return done[0].change

        if not self.session.attempt(traced, "Traced"):
            return
        (result,) = done
        self.queue = [room for room in result.doubtful if all(room is not put for _, put in result.put)]
        ids = {id for id, _ in result.put}
        runs = tuple(run.id for run in self.session.job.runs.values() if run.room in ids)
        if runs:
            self.session.select(Selection(runs=runs))
        told = [f"{_rooms(len(ids))} traced."] if ids or not self.queue else ["No room is sure: look at each."]
        doubted = [_label(room) for _, room in result.put if not (room.sure or is_seen)]
        if doubted:
            more = f" and {len(doubted) - MOST_NAMED} more" if len(doubted) > MOST_NAMED else ""
            whose = "their" if len(doubted) > 1 else "its"
            told.append(f"Look at {', '.join(doubted[:MOST_NAMED])}{more}: {whose} open points say why (F12).")
        notes = (f"{begun(in_places(note, self.session, self.session.sheet))}." for note in result.notes)
        self.session.tell(" ".join((*told, *notes)))
        self._look()

    def key(self, key: str) -> bool:
        if not self.queue or key not in ("y", "n", "e", "c"):
            return False
        if self.is_editing:
            return True  # it has no other meaning until Enter, or the rooms that wait would be lost
        (room, *rest), read = self.queue, self._read()
        if key == "n":
            self.queue = rest
            self.session.tell(f"{begun(_label(room))} stays an open point")
        elif key == "c":
            self.queue = rest
            told = f"{begun(_label(room))} is not coated"
            self.session.act(told, actions.confirm_points, self._open_points_in(room))
        elif read is None:
            return False
        else:
            self._take(lambda: actions.accept_traced(self.session.store, read, [room], **self._given()), is_seen=True)
            self.queue, self.is_editing = rest, key == "e" and bool(rest)
        if not self.is_editing:
            self._look()
        return True

    def _open_points_in(self, room: TracedRoom) -> list[OpenPoint]:
        """Return the open points that tell of a room which was found and not taken."""
        import shapely

        inside, sheet = shapely.Polygon(room.points_pt), self.session.sheet_id
        found = [
            point
            for point in actions.open_points(self.session.job, has_stakes=False).open
            if point.key.startswith(f"room:{sheet}") and point.where.at_pt is not None
        ]
        return [point for point in found if inside.contains(shapely.Point(point.where.at_pt))]

    def cancel(self) -> bool:
        """Drop the rooms that wait, and what was pressed while the drawing was read."""
        had, self.queue, self.is_editing = bool(self.queue) or self.is_holding, [], False
        if self.is_holding:
            self._let_go()
            self.session.tell("What you clicked is dropped; nothing will be traced.")
        return had

    def _shown(self) -> TracedRoom | None:
        if self.is_editing:
            return None
        return self.queue[0] if self.queue else self._under()

    def readout(self) -> str:
        room = self._under() if not self.queue else None
        if room is None:
            return ""
        return f"{_label(room)}  floor {self.session.display.area(room.area)}  {room.confidence:.0%} sure"

    def asked(self) -> Asked | None:
        if not self.queue or self.is_editing:
            return None
        room, show = self.queue[0], self.session.display
        return Asked(
            title=f"Is this a room? {room.label}".strip(),
            words=(
                f"Floor {show.area(room.area)}, {room.confidence:.0%} sure. {_rooms(len(self.queue))} to look at.",
                *(in_places(in_units(reason, show), self.session, self.session.sheet) for reason in room.reasons),
            ),
            answers=(("y", "Take it"), ("e", "Take and edit it"), ("c", "It is not coated"), ("n", "Leave it open")),
        )

    def preview(self) -> tuple[Shape, ...]:
        if self.held:
            return tuple(plate(pt, " waits … ", back="#FFF4C2", size=12) for pt in self.held)
        room = self._shown()
        if room is None:
            return ()
        shapes = [_outline(room.points_pt, room.bulges, is_sure=room.sure)]
        shapes.extend(_outline(c.points_pt, c.bulges, is_sure=room.sure) for c in room.columns)
        shapes.extend(Shape("line", leak, OPEN, 7) for leak in room.leaks_pt)
        return tuple(shapes)


def _outline(points: Sequence[Point], bulges: Sequence[float], *, is_sure: bool) -> Shape:
    line = Path(tuple(points), tuple(bulges) or (0.0,) * len(points), True).flattened(SAG_PT)
    return Shape("line", tuple(line), PREVIEW, 4, () if is_sure else (8, 5))


def _rooms(count: int) -> str:
    return f"{count} room{'s' * (count != 1)}"


def _label(room: TracedRoom) -> str:
    return room.label or "a room without a name"
