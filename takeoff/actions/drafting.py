"""Drafting styles: showing how walls, doors and windows are drawn, and reading a set by that."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, get_args

from takeoff.apart import apart
from takeoff.errors import InputError
from takeoff.job.store import JobStore
from takeoff.model.drafting import DraftingStyle, Look, Part
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.render import cover_of_pictures
from takeoff.trace.drawing.crowded import is_crowded
from takeoff.trace.drawing.linework import Floats, Linework, read_linework
from takeoff.trace.drawing.looks import (
    LookOnSheet,
    fitted_to,
    in_words,
    lines_alike,
    look_at,
    looks_of,
    looks_on_sheet,
    near,
)
from takeoff.trace.lines.plan_rooms import TracedPlan
from takeoff.trace.sheet_reading import MOSAIC

AS_WALLS = "It is drawn as the walls are and stays theirs: doors and windows are found by how they are drawn"
SOME = 2_000
"""Paths of each look by which the looks of a sheet with very many are told (judgement)."""
REACH_PT = 6.0
"""Sheet points by which a line may lie from where a person points (2 mm of paper, our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnSheet:
    """A vector sheet that was read once to ask what on it is drawn alike.

    Of a sheet of very many lines ``linework`` has `SOME` paths of each look, and ``data`` is its file, to look again
    where somebody points. ``has_pictures`` says that pictures cover so much of it that they may be the plan.
    """

    sheet: Sheet
    linework: Linework
    data: bytes | None = None
    has_pictures: bool = False

    def looks(self) -> list[LookOnSheet]:
        """Return the looks of the sheet, the longest drawn first, each with its count, length and samples."""
        return looks_on_sheet(self.linework)

    def look_at(self, at: Point, reach_pt: float = REACH_PT) -> Look | None:
        """Return the look of what is drawn at a sheet point; nothing where nothing is."""
        if self.data is None:
            return look_at(self.linework, at, reach_pt)
        return look_at(read_linework(self.data, self.sheet, near(at, reach_pt)), at, reach_pt)

    def look_shown(self, at: Point, reach_pt: float = REACH_PT) -> Look:
        """Return the look of what is drawn at a sheet point."""
        look = self.look_at(at, reach_pt)
        if look is None and self.has_pictures:
            raise InputError(
                "no line is drawn there, but pictures cover the sheet: they have no pens, layers and fills to show",
                remedy="Trace it as it is (takeoff trace): rooms are read from its pictures too.",
                where=self.sheet.called,
            )
        if look is None:
            raise InputError(
                f"nothing is drawn at {at[0]:g},{at[1]:g}", remedy="Point at a line of it, or at its fill.",
                where=self.sheet.called,
            )  # fmt: skip
        return look

    def alike(self, look: Look) -> Floats:
        """Return everything of a look as straight pieces, rows x0, y0, x1, y1 in sheet points, to light it up."""
        return lines_alike(self.linework, look)

    def fits(self, style: DraftingStyle) -> bool:
        """Return whether the walls of a style are on the sheet."""
        return fitted_to(style, looks_of(self.linework)[0]) is not None


def read_drawn_sheet(store: JobStore, sheet_id: int) -> DrawnSheet:
    """Read a vector sheet to show styles on it.

    Raises `InputError` when there is no such sheet, or it is a picture.
    """
    sheet = store.job.sheets.get(sheet_id)
    if sheet is None:
        raise InputError(f"there is no sheet {sheet_id}", remedy="Choose one of the register.", where="sheet")
    if sheet.kind != "vector":
        raise InputError(
            "it is a picture: it has no pens, layers and fills to show", remedy="Trace it as it is.",
            where=sheet.called,
        )  # fmt: skip
    data = store.source(sheet.source)
    is_large = is_crowded(sheet)
    return DrawnSheet(
        sheet=sheet,
        linework=_linework(data, sheet, is_large),
        data=data if is_large else None,
        has_pictures=cover_of_pictures(data, sheet) >= MOSAIC,
    )


@apart
def _linework(data: bytes, sheet: Sheet, is_large: bool) -> Linework:
    if not is_large:
        return read_linework(data, sheet)
    counts: Counter[tuple[object, ...]] = Counter()

    def keep(drawing: dict[str, Any]) -> bool:
        key = tuple(drawing.get(name) for name in ("type", "layer", "width", "color", "fill", "dashes"))
        counts[key] += 1
        return counts[key] <= SOME

    return read_linework(data, sheet, keep)


def with_look(style: DraftingStyle, part: Part | None, look: Look) -> DraftingStyle:
    """Return a style in which a look is part of something, and of nothing else but for doors and windows in one pen.

    Doors and windows in the pen of the walls leave that theirs: they are told by how they are drawn. Of ``None`` it is
    no part any more.
    """
    if part in ("door", "window") and look in style.walls:
        return style
    beside = {"door": "window", "window": "door"}.get(part or "")
    kept: dict[str, Any] = {}
    for of in get_args(Part):
        others = tuple(one for one in getattr(style, f"{of}s") if one != look or of == beside)
        kept[f"{of}s"] = (*others, look) if of == part else others
    return replace(style, **kept)


def style_for(styles: Sequence[DraftingStyle], linework: Linework) -> DraftingStyle | None:
    """Return the last style whose walls are on a sheet; nothing where none fits."""
    if not styles:
        return None
    looks = looks_of(linework)[0]
    return next((style for style in reversed(styles) if fitted_to(style, looks) is not None), None)


def style_words(style: DraftingStyle) -> list[str]:
    """Describe a style for a person, a line for each part."""
    parts = {"walls": style.walls, "doors": style.doors, "windows": style.windows, "none of these": style.others}
    return [f"{part}: {'; '.join(map(in_words, looks))}" for part, looks in parts.items() if looks]


def proposed_style(plans: Sequence[TracedPlan], name: str) -> tuple[DraftingStyle, float] | None:
    """Return the style by which a sheet was read without help, and how sure it is: the share of outlines that are sure.

    ``plans``: the sheet as it was read, at each of its scales. Gives nothing where no walls were found on its lines.
    """
    walls = tuple(dict.fromkeys(look for plan in plans for look in plan.looks))
    rooms = [room for plan in plans for room in plan.rooms]
    if not walls or not rooms:
        return None
    return DraftingStyle(name=name, walls=walls), sum(room.outline_sure for room in rooms) / len(rooms)
