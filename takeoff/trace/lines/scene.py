"""What the search for walls and openings looks at: a sheet's linework in pieces, each known for what it is not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from takeoff.model.drafting import DraftingStyle
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Flags, Linework, Pieces
from takeoff.trace.drawing.looks import Roles, roles_of
from takeoff.trace.drawing.polygons import Lines
from takeoff.trace.lines.hatches import hatch_rows
from takeoff.trace.lines.not_building import axis_rows, dash_rows, note_rows
from takeoff.trace.lines.swings import Swing, leaf_rows
from takeoff.trace.texts.printed_sizes import PrintedArea, read_printed_areas
from takeoff.trace.texts.room_names import names_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """What the search for walls looks at: pieces of linework with flags per row, and the boxes of words.

    ``is_hatch`` marks the lines of hatches, ``is_symbol`` the chords of door swings and the lines of grids, ``is_leaf``
    the leaves of doors, ``is_note`` dimension lines and what stands on layers for other things, ``is_dashed`` dashes.
    ``words`` are boxes. ``roles`` says for each path what it is part of, ``is_shown`` whether a drafting style says so
    rather than layers. ``names`` are the lines of text that read as names of
    rooms, ``areas`` the floor areas that are printed.
    """

    linework: Linework
    pieces: Pieces
    is_hatch: Flags
    is_symbol: Flags
    is_leaf: Flags
    is_note: Flags
    is_dashed: Flags
    words: tuple[Polygon, ...]
    m_per_pt: float
    sheet_area: float
    roles: Roles
    names: tuple[TextLine, ...]
    areas: tuple[PrintedArea, ...]
    is_shown: bool = False

    @classmethod
    def of(
        cls,
        linework: Linework,
        swings: Sequence[Swing],
        lines: Sequence[TextLine],
        m_per_pt: float,
        size_pt: tuple[float, float],
        style: DraftingStyle | None = None,
    ) -> Scene:
        """Gather it; ``lines`` are the sheet's text, ``size_pt`` its width and height in sheet points."""
        roles = roles_of(linework, style)
        pieces = linework.pieces
        is_symbol = axis_rows(pieces, linework, lines)
        is_symbol[np.isin(pieces.arc, [s.row for s in swings])] = True
        is_note = note_rows(pieces, roles, lines)
        words = tuple(shapely.box(*word.box_pt) for line in lines for word in line.words)
        return cls(
            linework=linework,
            pieces=pieces,
            is_hatch=hatch_rows(pieces, linework, is_note, m_per_pt),
            is_symbol=is_symbol,
            is_leaf=leaf_rows(swings, pieces.segments),
            is_note=is_note,
            is_dashed=dash_rows(pieces, linework, m_per_pt),
            words=words,
            names=names_of(lines),
            areas=read_printed_areas(lines),
            m_per_pt=m_per_pt,
            sheet_area=size_pt[0] * size_pt[1],
            roles=roles,
            is_shown=style is not None,
        )

    @property
    def is_open(self) -> Flags:
        """Which paths may be walls by how they are drawn: all, or where walls are shown or named those left open."""
        is_said = self.is_shown or bool((self.roles == "wall").any())
        flags: Flags = (self.roles == "") if is_said else np.ones(len(self.roles), bool)
        return flags

    @property
    def labels(self) -> Lines:
        """The middles of what stands in rooms, names and printed areas."""
        places = [*(name.middle_pt for name in self.names), *(area.at_pt for area in self.areas)]
        return np.asarray(shapely.points(np.array(places).reshape(-1, 2)))

    def pt(self, metres: float) -> float:
        """Turn metres into sheet points."""
        return metres / self.m_per_pt
