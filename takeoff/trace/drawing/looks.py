"""What on a sheet is drawn alike: by layer, pen, colour, dash and fill."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.model.drafting import Colour, DraftingStyle, Look, Part
from takeoff.model.plan import Point
from takeoff.trace.drawing.layer_names import LayerRole, layer_role, own_name
from takeoff.trace.drawing.linework import Flags, Floats, Ints, Keep, Linework

Roles = NDArray[np.str_]
"""For each path what it is part of; empty where nothing tells."""

_ROLE: dict[Part, LayerRole] = {"wall": "wall", "door": "door", "window": "glazing", "other": "other"}
_EITHER: LayerRole = "opening"
"""What is shown as a door and as a window: it is no wall, and how it is drawn tells which of the two it is."""
_SAME_PEN = 0.015
"""Points by which pens of one look differ: widths are kept to a hundredth."""
_SAME_INK = 0.1
"""Of 0 to 1: how much the parts of two colours differ that are taken for one (judgement)."""
_HAIRLINE = 0.1
"""Width of a pen over that of the walls on their layer up to which it draws something else: partitions have more
(judgement)."""
_ON_LINE = 0.3
"""Part of the reach of a pointer within which it is on a line though it lies in a narrow fill (judgement)."""
_REDUCED = (0.3, 3.0)
"""Least and greatest ratio of a sheet's pens to those of its style: prints of half and of double size (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LookOnSheet:
    """A look and what of it is on a sheet: how many paths, their length in sheet points, and some of their lines."""

    look: Look
    paths: int
    length_pt: float
    sample: tuple[tuple[Point, Point], ...]


def looks_of(linework: Linework) -> tuple[list[Look], Ints]:
    """Return the looks of a sheet, and for each path the number of its look."""
    if not linework.path_count:
        return [], np.zeros(0, np.int64)
    plain = [own_name(name) for name in linework.layers]
    names = sorted(set(plain))
    key = np.column_stack(
        [
            np.array([names.index(name) for name in plain])[linework.layer],
            np.where(linework.stroked, np.round(linework.width * 100), -1),
            np.where(linework.stroked[:, None], np.round(linework.colour * 255), -1),
            np.where(linework.filled[:, None], np.round(linework.fill * 255), -1),
            linework.dashed,
        ]
    ).astype(np.int64)
    kinds, number = np.unique(key, axis=0, return_inverse=True)
    looks = [
        Look(
            layer=names[k[0]],
            pen_pt=k[1] / 100 if k[1] >= 0 else None,
            ink=(k[2], k[3], k[4]) if k[1] >= 0 else None,
            fill=(k[5], k[6], k[7]) if k[5] >= 0 else None,
            dashed=bool(k[8]),
        )
        for k in kinds.tolist()
    ]
    return looks, number.ravel().astype(np.int64)


def roles_of(linework: Linework, style: DraftingStyle | None = None) -> Roles:
    """Return for each path what it is part of: by a drafting style, else by what its layer's name says.

    Where a style is given, nothing is a wall that it does not show as one; columns are what their layers say.
    """
    named = np.array([layer_role(name) or "" for name in linework.layers], dtype="U8")[linework.layer]
    if style is None or not linework.path_count:
        is_wall = named == "wall"
        return np.where(is_wall & _in_another_pen(linework), _EITHER, named) if is_wall.any() else named
    looks, number = looks_of(linework)
    fitted = fitted_to(style, looks) or replace(style, walls=(), doors=(), windows=(), others=())
    either = set(fitted.doors) & set(fitted.windows)
    own = [_EITHER if look in either else _ROLE[part] if (part := fitted.part_of(look)) else "" for look in looks]
    shown = np.array(own, "U8")[number]
    return np.where(shown != "", shown, np.where(np.isin(named, ("wall", "pattern")), "", named))


def _in_another_pen(linework: Linework) -> Flags:
    """Tell which paths are hairlines beside the pen that draws most on their layer, or thinner and of another colour.

    Who draws furniture or windows on the layer of the walls gives them a pen of their own.
    """
    kinds, pen = linework.pens
    lengths = np.hypot(*(linework.lines[:, 2:] - linework.lines[:, :2]).T)
    drawn = np.bincount(pen[linework.line_path], lengths, minlength=len(kinds))
    order = np.lexsort((-drawn, kinds[:, 0]))
    layers, first = np.unique(kinds[order, 0], return_index=True)
    main = kinds[order[first]][np.searchsorted(layers, kinds[:, 0])]
    is_coloured = np.abs(kinds[:, 2:] - main[:, 2:]).max(axis=1) > _SAME_INK
    is_other = kinds[:, 1] < np.where(is_coloured, 1.0, _HAIRLINE) * main[:, 1]
    return np.asarray(is_other[pen])


def fitted_to(style: DraftingStyle, looks: Sequence[Look]) -> DraftingStyle | None:
    """Return a style with its pens as they are on a sheet, which may be a reduced print; nothing where it has no walls.

    ``looks`` are those of the sheet.
    """
    wanted = (*style.walls, *style.doors, *style.windows)
    ratios = {1.0} | {
        round(on.pen_pt / here.pen_pt, 3)
        for here in wanted
        for on in looks
        if here.pen_pt and on.pen_pt and replace(on, pen_pt=here.pen_pt) == here
    }
    fits = [
        (sum(bool(_on_sheet(w, looks, ratio)) for w in wanted), ratio == 1.0, ratio)
        for ratio in ratios
        if _REDUCED[0] <= ratio <= _REDUCED[1] and any(_on_sheet(w, looks, ratio) for w in style.walls)
    ]
    if not fits:
        return None
    there: dict[str, Any] = {
        part: tuple(found for look in getattr(style, part) for found in _on_sheet(look, looks, max(fits)[2]))
        for part in ("walls", "doors", "windows", "others")
    }
    return replace(style, **there)


def keeper(looks: Sequence[Look]) -> Keep:
    """Return what tells whether a drawing of the PDF engine has one of some looks, in a pen of whatever width."""
    wanted = {(look.layer, look.ink, look.fill, look.dashed) for look in looks}

    def keep(drawing: dict[str, Any]) -> bool:
        ink, fill = (
            tuple(int(np.round(c * 255)) for c in drawing.get(key) or (0.0, 0.0, 0.0))
            if sign in drawing["type"]
            else None
            for sign, key in (("s", "color"), ("f", "fill"))
        )
        dashed = not (drawing.get("dashes") or "[]").startswith(("[]", "[ ]"))
        return (own_name(drawing.get("layer") or ""), ink, fill, dashed) in wanted

    return keep


def near(at: Point, reach_pt: float) -> Keep:
    """Return what tells whether a drawing of the PDF engine comes near a sheet point."""

    def keep(drawing: dict[str, Any]) -> bool:
        x0, y0, x1, y1 = drawing["rect"]
        return bool(x0 - reach_pt <= at[0] <= x1 + reach_pt and y0 - reach_pt <= at[1] <= y1 + reach_pt)

    return keep


def _on_sheet(look: Look, looks: Sequence[Look], ratio: float) -> list[Look]:
    """Return the looks of a sheet that are one of a style's, its pens drawn ``ratio`` times as wide."""
    if look.pen_pt is None:
        return [look] if look in looks else []
    pen = look.pen_pt * ratio
    slack = _SAME_PEN + 0.01 * pen
    return [
        there
        for there in looks
        if there.pen_pt is not None and abs(there.pen_pt - pen) <= slack and replace(there, pen_pt=look.pen_pt) == look
    ]


def looks_on_sheet(linework: Linework, *, samples: int = 12) -> list[LookOnSheet]:
    """Return what looks a sheet has, the longest drawn first, each with some of its longest lines."""
    looks, number = looks_of(linework)
    pieces = linework.pieces
    lengths = np.hypot(*(pieces.segments[:, 2:] - pieces.segments[:, :2]).T)
    owner = number[pieces.path] if len(pieces.path) else np.zeros(0, np.int64)
    total = np.bincount(owner, lengths, minlength=len(looks))
    count = np.bincount(number, minlength=len(looks))
    found = []
    for i in np.argsort(-total).tolist():
        rows = np.flatnonzero(owner == i)
        longest = rows[np.argsort(-lengths[rows])[:samples]]
        lines = tuple(((x0, y0), (x1, y1)) for x0, y0, x1, y1 in pieces.segments[longest].tolist())
        found.append(LookOnSheet(look=looks[i], paths=int(count[i]), length_pt=float(total[i]), sample=lines))
    return found


def look_at(linework: Linework, at: Point, reach_pt: float) -> Look | None:
    """Return the look of what a person means who points at a place: the nearest line, else the fill that shows there.

    Between the edges of a narrow fill, as of a wall, it is the fill. ``at`` is a sheet point, ``reach_pt`` how far a
    line may lie from it, in sheet points.
    """
    looks, number = looks_of(linework)
    pieces = linework.pieces
    point = shapely.Point(at)
    rows = np.flatnonzero(linework.stroked[pieces.path]) if len(pieces.path) else np.zeros(0, np.int64)
    off = shapely.distance(shapely.linestrings(pieces.segments[rows].reshape(-1, 2, 2)), point)
    fill = _fill_at(linework, point)
    is_off = off.min(initial=np.inf) > _ON_LINE * reach_pt
    is_between = is_off and fill is not None and _is_narrow(fill[1], point, reach_pt)
    if len(rows) and off.min() <= reach_pt and not is_between:
        near = rows[off <= off.min() + 0.1 * reach_pt]
        widest = near[np.argmax(linework.width[pieces.path[near]])]  # of lines that lie on one another the heaviest
        line = looks[int(number[pieces.path[widest]])]
        if fill is None or line.ink != looks[int(number[fill[0]])].fill:  # else the line is the fill's own edge
            return line
    return None if fill is None else looks[int(number[fill[0]])]


def _fill_at(linework: Linework, point: shapely.Point) -> tuple[int, shapely.Polygon] | None:
    """Return the path and the ring of the fill that shows at a place."""
    at = (point.x, point.y)
    for ring in range(len(linework.ring_path) - 1, -1, -1):
        corners = linework.ring(ring)
        if (corners.min(0) <= at).all() and (corners.max(0) >= at).all():
            shape = shapely.Polygon(corners)
            if shape.contains(point):
                return int(linework.ring_path[ring]), shape
    return None


def _is_narrow(shape: shapely.Polygon, point: shapely.Point, reach: float) -> bool:
    """Tell whether no circle twice ``reach`` wide fits into a shape round a place."""
    return not shapely.buffer(shapely.buffer(shape, -reach), 1.02 * reach).contains(point)


def lines_alike(linework: Linework, look: Look) -> Floats:
    """Return the straight pieces, x0, y0, x1, y1 in sheet points, of everything on a sheet that has a look."""
    looks, number = looks_of(linework)
    if look not in looks:
        return np.zeros((0, 4))
    pieces = linework.pieces
    alike: Floats = pieces.segments[number[pieces.path] == looks.index(look)]
    return alike


def in_words(look: Look) -> str:
    """Describe a look for a person.

    Examples
    --------
    >>> in_words(Look(layer="A-WALL", pen_pt=0.5, ink=(0, 0, 0)))
    'layer A-WALL, black pen of 0.5 pt'
    >>> in_words(Look(fill=(128, 128, 128))), in_words(Look(pen_pt=0.25, ink=(255, 0, 0), dashed=True))
    ('grey fill', 'red dashed pen of 0.25 pt')
    """
    words = [f"layer {look.layer}"] if look.layer else []
    if look.pen_pt is not None and look.ink is not None:
        words.append(f"{_colour(look.ink)}{' dashed' if look.dashed else ''} pen of {look.pen_pt:g} pt")
    if look.fill is not None:
        words.append(f"{_colour(look.fill)} fill")
    return ", ".join(words)


def _colour(colour: Colour) -> str:
    """Name a colour roughly: by its lightness where it has no hue, else by the nearest of six hues."""
    high, low = max(colour), min(colour)
    if high - low < 40:
        return "black" if high < 50 else "white" if low > 235 else "grey"
    channels = (colour[0] > (high + low) / 2, colour[1] > (high + low) / 2, colour[2] > (high + low) / 2)
    return {
        (True, False, False): "red", (False, True, False): "green", (False, False, True): "blue",
        (True, True, False): "yellow", (True, False, True): "magenta", (False, True, True): "cyan",
    }[channels]  # fmt: skip
