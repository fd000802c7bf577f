"""How far a traced room is to be trusted, and why: what speaks against it, each with its weight."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from shapely import Polygon

from takeoff.trace.lines.printed_parts import BY_AREA
from takeoff.trace.lines.room_evidence import PURE, Evidence
from takeoff.trace.lines.traced_rooms import TracedOpening, TracedRoom
from takeoff.trace.lines.wall_groups import Style
from takeoff.trace.texts.printed_sizes import AGREES, PrintedArea, areas_inside

SURE = 0.9
"""A room at or above this confidence is called sure."""

_BY_STYLE: dict[Style, float] = {
    "shown": 0.98, "layer": 0.995, "poché": 0.99, "outline": 0.97, "heavy line": 0.93,
    "line": 0.6,
}  # fmt: skip


_IMPURE = 0.15
"""Share of confidence that is lost where the pen of the walls draws other things too."""
_SEVERAL, _NAMELESS, _SHUT, _LOOSE = 0.4, 0.06, 0.2, 0.15
"""Shares of confidence that are lost where several names stand in a room, none does, no opening leads into it (or,
without a name, none but bare gaps, as into shafts), or a door swings at its walls that fits no opening."""
_STRAY_M, _STRAY = 0.5, 0.12
"""Metres of lines like walls that may stand in a room, and the share of confidence that more of them cost."""
_JAGGED, _JAGGED_MOST = 0.02, 0.3
"""Shares of confidence that each side shorter than 40 mm costs, and all of them at the most."""
_SMALL_M2, _SMALL = 1.5, 0.08
"""Square metres below which the second share of confidence is lost."""
_CLOSED_M2 = 4.0
"""Square metres up to which a closed shape with a name and no opening may be a bed or a table (judgement)."""
_FRONTED, _PARTED = 0.12, 0.1
"""Shares of confidence that a front of glass costs that closes it, and a partition in another pen than the walls."""
_FAINT_M, _UNTOLD_M, _UNTOLD, _NECK = 0.6, 0.3, 0.2, 0.1
"""Metres of a side in a thinner pen, and of lines on layers for doors or glass in walls, that tell of an opening
(judgement), the share of confidence that either costs, and that of a room which goes on between two ends of walls."""
_NAMES_LOST = 0.7
"""The confidence at the most of a room without a name on a sheet most of whose names stand in no room, or whose letters
were recognised (judgement)."""
_AGREED, _DISAGREES = 0.96, 0.4
_FITTED, _BURIED_M = 0.85, 0.3
"""What an outline is trusted at least whose area is printed in it, and the share that another printed area costs; what
one is trusted at the most that was parted so that its area agrees, or agrees with the floor in its doorways; and how
many metres of an outline run within walls where things along them were filled in.

These shares were fitted by hand to made plans and are checked by the reliability table (tests/bench/reliability.py).
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """How far a room is to be trusted: its outline, and whether its openings are complete, are two questions.

    ``confidence`` is the chance in 0..1 that both are right, ``outline`` that the outline is. ``reasons`` are sentences
    on both, what the walls were read from first; ``unread`` those of them that speak against the openings, ``taken``
    those that say what was taken where the drawing may mean otherwise.
    """

    confidence: float
    outline: float
    reasons: tuple[str, ...]
    unread: tuple[str, ...]
    taken: tuple[str, ...] = ()

    @property
    def sure(self) -> bool:
        """Whether the room may be taken without a look."""
        return self.confidence >= SURE

    @property
    def outline_sure(self) -> bool:
        """Whether its outline may be, whatever is said of its openings."""
        return self.outline >= SURE


def judge(evidence: Evidence, openings: Sequence[TracedOpening]) -> Verdict:
    """Weigh the evidence."""
    found = [
        (weight, sentence)
        for is_so, weight, sentence in (
            (evidence.purity < PURE and evidence.inner > 0, _IMPURE, f"{1 - evidence.purity:.0%} of what is drawn in "
             "the pen of the walls is something else."),
            (evidence.names > 1, _SEVERAL, f"{evidence.names} names stand in it: it may be several rooms that are open "
             "to one another."),
            (evidence.names == 0, _NAMELESS, "No name stands in it."),
            (evidence.names == 0 and {one.form for one in openings} <= {"cased"}, _SHUT, "Neither a name nor a door or "
             "window tells that it is a room."),
            (evidence.has_necks, _NECK, "It goes on between two ends of walls: it may be two rooms."),
            (evidence.stray > _STRAY_M, _STRAY, f"{evidence.stray:.1f} m of lines drawn like walls stand in it and are "
             "in no wall."),
            (evidence.short_edges > 0, _jagged(evidence), f"{evidence.short_edges} sides are shorter than 40 mm."),
            (evidence.is_fronted, _FRONTED, "Only two thin lines close it in places: a front of glass, or none."),
            (evidence.is_parted, _PARTED, "A partition closes it that is drawn otherwise than the walls."),
            (evidence.area < _SMALL_M2, _SMALL, f"It is only {evidence.area:.1f} m² large."),
            (evidence.names > 0 and not openings and evidence.area < _CLOSED_M2, _SHUT, "No opening leads into it, and "
             "it is no larger than what stands in a room."),
            (_overlap(openings), _STRAY, "Two of its openings stand in one place."),
        )
        if is_so
    ]  # fmt: skip
    outline = _BY_STYLE[evidence.style] * math.prod(1.0 - weight for weight, _ in found)
    reasons = [sentence for _, sentence in found]
    outline, by_area = _by_area(outline, evidence)
    reasons += by_area
    if any(opening.reason == BY_AREA for opening in openings) or evidence.buried > _BURIED_M:
        outline = min(outline, _FITTED)
    if evidence.buried > _BURIED_M:
        reasons.append("Things along its walls that are drawn as walls were taken for furniture, by the printed area.")
    against = (
        (not openings and evidence.names > 0, _SHUT, "No opening leads into it."),
        (evidence.loose_swings > 0, _LOOSE, f"Door swings at its walls that fit no opening: {evidence.loose_swings}."),
        (evidence.faint > _FAINT_M, _UNTOLD, f"{evidence.faint:.1f} m of a side are drawn in a thinner pen than its "
         "walls: a door or a front."),
        (evidence.untold > _UNTOLD_M, _UNTOLD, f"{evidence.untold:.1f} m of lines on a layer for doors or windows "
         "stand in its walls, in no opening."),
    )  # fmt: skip
    whole = math.prod(1.0 - weight for is_so, weight, _ in against if is_so)
    unread = [sentence for is_so, _, sentence in against if is_so]
    doubtful = [opening for opening in openings if opening.confidence < SURE]
    whole *= math.prod(opening.confidence for opening in doubtful)
    for reason, count in Counter(opening.reason for opening in doubtful).items():
        told = "An opening is doubtful" if count == 1 else f"{count} openings are doubtful"
        unread.append(f"{told}: {reason}.")
    taken = (_PULLED_DOWN,) if evidence.has_removed else ()
    return Verdict(
        confidence=round(outline * whole, 3),
        outline=round(outline, 3),
        reasons=(f"The walls were read from {_WORDS[evidence.style]}.", *reasons, *unread, *taken),
        unread=tuple(unread),
        taken=taken,
    )


def _overlap(openings: Sequence[TracedOpening]) -> bool:
    """Tell whether two openings of a room lie over one another along its outline."""
    along = sorted(openings, key=lambda opening: opening.at)
    return any(b.at - a.at < (a.width + b.width) / 2 - 0.5 * min(a.width, b.width) for a, b in pairwise(along))


def _by_area(outline: float, evidence: Evidence) -> tuple[float, list[str]]:
    """Weigh an outline by the areas that are printed in it; return its trust, and what is told of them."""
    if not evidence.printed:
        return outline, []
    each = [(area,) for area in evidence.printed]  # or all together: those of rooms that are open to one another
    nearest = min([*each, evidence.printed], key=lambda own: abs(sum(own) / evidence.area - 1.0))
    told = " + ".join(f"{area:.1f}" for area in nearest)
    if abs(sum(nearest) / evidence.area - 1.0) <= AGREES:
        if len(nearest) == 1:  # what parts several, such as glass, may be drawn otherwise than the walls
            outline = max(outline, _AGREED * (1.0 - _jagged(evidence)))  # spurs of no area are long all the same
        return outline, [f"The {told} m² printed in it agree with its outline."]
    if abs(sum(nearest) / (evidence.area + evidence.doorways) - 1.0) <= AGREES:
        words = f"The {told} m² printed in it agree with its outline and the floor in its doorways."
        return min(outline, _FITTED), [words]
    words = f"{told} m² are printed in it, its outline holds {evidence.area:.1f} m²."
    return outline * (1.0 - _DISAGREES), [words]


def _jagged(evidence: Evidence) -> float:
    """Return the share of confidence that short sides cost."""
    return min(_JAGGED_MOST, _JAGGED * evidence.short_edges)


_PULLED_DOWN = "Walls in it are to be pulled down, by their yellow fill or their layer: it was taken as one room."


_WORDS: dict[Style, str] = {
    "shown": "what was shown as a wall",
    "layer": "layers named for walls",
    "poché": "filled shapes",
    "outline": "pairs of lines",
    "heavy line": "single heavy lines",
    "line": "single lines, and how thick they are is not drawn",
}


def trusted(
    rooms: list[tuple[TracedRoom, Polygon]], lost: int, printed: Sequence[PrintedArea]
) -> list[tuple[TracedRoom, Polygon]]:
    """Return the rooms; those without a name or an area in them as doubtful where most labels are lost.

    Shafts close where rooms do not. Where no opening leads into any, tables and title blocks do.
    """
    with_area = {shape.wkb for _, shape in rooms if areas_inside(shape, printed)}
    is_shut = not any(room.openings for room, _ in rooms)
    if not is_shut and lost <= sum(bool(room.name) or shape.wkb in with_area for room, shape in rooms):
        return rooms
    told = "Most names of the sheet stand in no room that was read."
    if is_shut:
        told = "No opening leads into any room of the sheet: it may be no plan."

    def stays(room: TracedRoom, shape: Polygon) -> bool:
        return shape.wkb in with_area or (not is_shut and bool(room.name or room.number))

    return [(room if stays(room, shape) else doubted(room, told), shape) for room, shape in rooms]


def unwritten_doubted(rooms: Sequence[TracedRoom]) -> tuple[TracedRoom, ...]:
    """Return the rooms of a sheet whose letters were recognised: as doubtful those in which no name was."""
    told = "The letters of the sheet were recognised, and no name in it: what is written there may be of more rooms."
    return tuple(room if room.name or room.number else doubted(room, told) for room in rooms)


def doubted(room: TracedRoom, told: str, most: float = _NAMES_LOST) -> TracedRoom:
    """Return a room that is not to be taken without a look, trusted for so much at the ``most``, and why."""
    reasons, confidence = (*room.reasons, told), min(room.confidence, most)
    return replace(room, sure=False, outline_sure=False, confidence=confidence, reasons=reasons)
