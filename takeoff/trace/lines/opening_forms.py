"""What an opening is, by what is drawn in its gap: a door of some form, a window or a passage, with a confidence."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely

from takeoff.model.plan import Point
from takeoff.model.walls import OpeningKind
from takeoff.trace.lines.gap_contents import FRAME, Drawn
from takeoff.trace.lines.gaps import Gap
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.swings import Swing

Form = Literal["swing", "double", "sliding", "pocket", "bi-fold", "roll-up", "cased", "window", "pass-through"]

CASED = 1.35
"""Metres; a bare gap up to this width is taken for a cased opening, a wider one for rooms open to one another."""
SLOT, SLOT_SURE = 0.55, 0.6
"""Metres, and the confidence of a bare gap that is narrower: nobody walks through it (common practice, no source)."""
STUBS = 2.5
"""Metres; between two pilasters a wider gap is taken for the room that they stand in."""
_PILASTER = 0.28
"""Metres; stubs as wide as this are pilasters, between which no bare gap is an opening, and not the nibs of a wall."""
POCKET = 1.7
"""Metres; the widest leaf that runs into a wall (common practice, no source)."""
BARE = 0.93
"""The confidence of a bare gap."""
_FRAMES = 0.17
"""Metres by which the two sides of a frame may narrow a gap while the leaf is drawn over them (measured: 0.152)."""
_AT_FACE, _FRAMED = 0.75, 3
"""Offset from which a line runs at a face, and how many there are the frame of a window set into it (judgement)."""
FACED = "lines run along both faces from jamb to jamb"
"""Why a gap in which no more is drawn is taken for a passage: where a sheet draws its windows so, it is none."""
_WINDOW = 4
"""Lines from jamb to jamb that are a window onto the face of a column too: those of both faces and of the glass (common
practice, no source)."""
_LEAF_OUT = 0.05
"""Metres before a wall's face at which a leaf may hang (common practice, no source)."""
_KIND: dict[Form, OpeningKind] = {"window": "window", "pass-through": "pass-through"}


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundOpening:
    """An opening in a wall: its gap, its form, a confidence in 0..1 and the reason for it.

    ``is_told`` says whether its layer, or how a leaf hangs, tells a window from a door that is drawn shut or slides;
    ``has_sill`` whether lines run along a face of the wall too. ``lines_pt`` are how far what runs from jamb to jamb
    between the wall's faces lies from its middle, in sheet points, ``leaves`` the rows of the scene's pieces that are
    leaves without a swing.
    """

    gap: Gap
    form: Form
    confidence: float
    reason: str
    is_told: bool = False
    has_sill: bool = False
    lines_pt: tuple[float, ...] = ()
    leaves: tuple[int, ...] = ()

    @property
    def kind(self) -> OpeningKind:
        """The kind that the model knows it as."""
        return _KIND.get(self.form, "door")


def fits(swing: Swing, gap: Gap, scene: Scene) -> bool:
    """Tell whether a swing's leaf hangs at one of a gap's jambs and shuts into it."""
    slack = scene.pt(FRAME) + 0.04 * gap.width_pt
    leaves = (swing.radius_pt, 2 * swing.radius_pt)
    widest = _widest(gap, scene)
    if not any(0.8 * gap.width_pt < s < widest for s in leaves) and not 0.3 < swing.radius_pt / gap.width_pt < 0.75:
        return False
    at_jamb = min(_distance(swing.hinge_pt, (gap.left_pt[i], gap.right_pt[i])) for i in (0, 1)) <= slack
    band = gap.band
    return at_jamb and min(band.distance(shapely.Point(end)) for end in swing.shuts_at_pt) <= slack


def stands_in(swing: Swing, gap: Gap, scene: Scene) -> bool:
    """Tell whether the leaf of a swing shuts within a gap, as one does beside a window without a post between."""
    lines = shapely.linestrings([[swing.hinge_pt, end] for end in swing.shuts_at_pt])
    inside = shapely.length(shapely.intersection(lines, gap.band.buffer(scene.pt(_LEAF_OUT), join_style="mitre")))
    return bool(swing.has_leaf and inside.max() > 0.9 * swing.radius_pt)


def _closes_both_faces(drawn: Drawn) -> bool:
    """Tell whether lines from jamb to jamb go on along both faces of the wall, which lines of tiles seldom do."""
    return all((np.abs(drawn.spanning - face) < 0.06).any() for face in (-1.0, 1.0))


def _widest(gap: Gap, scene: Scene) -> float:
    """Return the widest leaf that shuts a gap, in sheet points: drawn over both sides of a frame that narrows it."""
    return max(1.15 * gap.width_pt, gap.width_pt + scene.pt(_FRAMES))


def fills(swings: Sequence[Swing], gap: Gap, scene: Scene) -> bool:
    """Tell whether one leaf or two close a gap."""
    leaves = sum(s.radius_pt for s in swings)
    return len(swings) in (1, 2) and 0.8 * gap.width_pt < leaves < _widest(gap, scene)


def _distance(point: Point, line: tuple[Point, Point]) -> float:
    return float(shapely.LineString(line).distance(shapely.Point(point)))


def decide(gap: Gap, drawn: Drawn, swings: Sequence[Swing], scene: Scene) -> FoundOpening | None:
    """Decide what a gap is by what is drawn in it and by the swings that hang at it; nothing where it is no opening."""
    width = gap.width_pt * scene.m_per_pt
    is_named = bool(drawn.roles & {"glazing", "door"})
    inner = drawn.spanning[np.abs(drawn.spanning) < 0.8]

    def found(form: Form, confidence: float, reason: str, *, is_told: bool = is_named) -> FoundOpening:
        if gap.between_stubs and not swings:
            confidence, reason = min(confidence, 0.75), f"{reason}, but it lies between what may be pilasters"
        return FoundOpening(
            gap=gap,
            form=form,
            confidence=confidence,
            reason=reason,
            is_told=is_told,
            has_sill=drawn.sill,
            lines_pt=tuple((inner * gap.thickness_pt / 2).tolist()),
        )

    hung = _hung(found, gap, drawn, swings, scene, is_glazed=len(inner) > 0)
    if hung is not None:
        return hung
    if gap.loose > 2 and not drawn.roles & {"door", "glazing"}:
        return None
    is_pilaster = gap.between_stubs and gap.thickness_pt > scene.pt(_PILASTER)
    if gap.between_stubs and (width > STUBS or (is_pilaster and not gap.is_capped)):
        return None
    if drawn.folds:
        return found("bi-fold", 0.95, "pairs of leaves that fold stand at its jambs")
    if drawn.pockets and width < POCKET:
        return found("pocket", 0.93, "a leaf as wide as the gap runs into the wall")
    if drawn.hangs and not len(inner):
        return found("sliding", 0.9, "a leaf hangs beside the wall in front of it", is_told=True)
    is_whole = _closes_both_faces(drawn) or len(drawn.spanning) >= _WINDOW
    if gap.loose >= 2 and not gap.is_capped and not is_whole:
        return None
    if sorted(drawn.hoods) in ([0, 1], [0, 2]) and len(drawn.spanning) <= 1 and width > 1.5:
        return found("roll-up", 0.92, "dashed lines of a hood stand on one side of the gap")
    is_door = "door" in drawn.roles
    is_framed = gap.is_capped or width < 3.0 or _closes_both_faces(drawn)
    if len(inner) and not is_door and is_framed:
        return found("window", 0.98 if len(drawn.spanning) > 1 else 0.93, "lines of glass run from jamb to jamb")
    if "glazing" in drawn.roles and (len(drawn.spanning) or len(drawn.partial)):
        return found("window", 0.95, "its lines are on a layer for glazing")
    at_face = max((drawn.spanning > _AT_FACE).sum(), (drawn.spanning < -_AT_FACE).sum())
    if at_face >= _FRAMED and not is_door:
        return found("window", 0.93, "the lines of a frame run from jamb to jamb at one face")
    if len(drawn.partial) >= 2 and drawn.reaches and width < 6.0 and gap.is_capped:
        return found("sliding", 0.9, "leaves lie side by side in the gap")
    if len(inner) and is_door:
        return found("sliding", 0.9, "its lines are on a layer for doors")
    if len(drawn.dashed):
        return found("roll-up" if width > 1.8 else "cased", 0.92, "dashed lines run from jamb to jamb")
    if len(drawn.spanning):
        is_faced = _closes_both_faces(drawn) and not len(inner)
        return found("pass-through", 0.85, FACED if is_faced else "lines run along a face from jamb to jamb")
    bare = None if is_pilaster else _bare(gap, width)
    return found("cased", *bare) if bare else None


def _bare(gap: Gap, width: float) -> tuple[float, str] | None:
    """Return how sure a bare gap is, so many metres wide, and why; nothing where rooms are rather open there."""
    if gap.loose >= 2 or not gap.is_capped or width > CASED:
        return None
    if width < SLOT:
        return SLOT_SURE, "a bare gap narrower than a door"
    if gap.loose:
        return 0.75, "a bare gap as wide as a door, but it lies beside what may be a column"
    return BARE, "a bare gap as wide as a door"


def _hung(
    found: Callable[[Form, float, str], FoundOpening],
    gap: Gap,
    drawn: Drawn,
    swings: Sequence[Swing],
    scene: Scene,
    *,
    is_glazed: bool,
) -> FoundOpening | None:
    """Decide by swings and by leaves that stand open; nothing where neither tells."""
    if len(swings) == 1 and fills(swings, gap, scene):
        return found("swing", 0.99 if swings[0].has_leaf else 0.95, "a door swing fits the gap")
    if len(swings) == 2 and fills(swings, gap, scene):
        return found("double", 0.99, "two door swings fit the gap")
    if swings and gap.loose < 2:
        return found("swing" if len(swings) == 1 else "double", 0.8, "a door swing stands in a gap of another width")
    if drawn.leaves and gap.loose < 3 and not is_glazed:
        form: Form = "swing" if len(drawn.leaves) == 1 else "double"
        rows = tuple(np.concatenate(drawn.leaves).tolist())
        return replace(found(form, 0.95, "a leaf as wide as the gap stands open in it"), leaves=rows)
    return None
