"""What a drawing shows from above, as marks in its own units: lines and curves, filled shapes, texts.

`Painter` stands where ezdxf's drawing add-on expects a render pipeline: the add-on takes blocks, dimensions, hatches
and the rules for layers, colours and pens apart, and hands over plain shapes. Curves stay Béziers; a view of a layout
cuts off what lies outside it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from takeoff.errors import SheetError

Floats = NDArray[np.float64]
Matrix = tuple[float, float, float, float, float, float]

CAP_HEIGHT = 0.718
"""Height of capitals in the type that texts are set in, per unit of its size (Adobe's metrics of it, from memory)."""
MOST_MARKS = 500_000
"""Most marks, and most objects taken out of blocks, that one drawing may have."""
_SPARE_LETTERS = str.maketrans({"⌀": "Ø", "′": "'", "″": '"', "−": "-", "≤": "<", "≥": ">", "▯": "?"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """How a mark is drawn: layer, colour as #rrggbb, width in mm on paper, and dashes and gaps in drawing units."""

    layer: str
    colour: str
    width_mm: float
    dashes: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A shape or a text in drawing units, y up.

    ``steps`` has a letter per step, m for move, l for line and c for a cubic curve with three points, and ``points``
    their points one after another. A text has its foot line in ``points`` instead, and ``matrix`` leads from a type of
    size 1 to the drawing; ``says`` is what it says where some of its letters can only be shown as question marks.
    """

    pen: Pen
    steps: str
    points: Floats
    is_filled: bool = False
    text: str = ""
    says: str = ""
    matrix: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


class _Type:
    """Widths and heights of the one type that texts are set in, whatever fonts the machine has."""

    def get_text_line_width(self, text: str, font_face: Any, cap_height: float = 1.0) -> float:
        import pymupdf

        return float(pymupdf.get_text_length(written(text), fontname="helv", fontsize=cap_height / CAP_HEIGHT))

    def get_font_measurements(self, font_face: Any, cap_height: float = 1.0) -> Any:
        from ezdxf.fonts.fonts import FontMeasurements

        return FontMeasurements(
            baseline=0.0, cap_height=cap_height, x_height=0.73 * cap_height, descender_height=0.29 * cap_height
        )


def written(text: str) -> str:
    """Return a text in the letters that can be written, a question mark for each other one.

    Examples
    --------
    >>> written("⌀ 12 ± 1″"), written("室")
    ('Ø 12 ± 1"', '?')
    """
    return text.translate(_SPARE_LETTERS).encode("cp1252", "replace").decode("cp1252")


class Painter:
    """Gathers the marks of one layout; takes the place of the render pipeline of ezdxf's drawing add-on."""

    def __init__(self) -> None:
        from ezdxf.npshapes import NumpyPath2d
        from ezdxf.tools.clipping_portal import ClippingPortal

        self.marks: list[Mark] = []
        self.views: list[tuple[tuple[float, float], tuple[float, float], float]] = []
        """Corners of the views of the model in the layout, and its units per unit of the model."""
        self.lost_letters = self.placeless = 0
        self.text_engine = _Type()
        self.default_font_face: Any = None
        self._clip = ClippingPortal()
        self._path = NumpyPath2d
        self._draw_entities: Callable[[Any, Iterable[Any]], None]
        self._sagitta = 0.01

    def set_draw_entities_callback(self, callback: Callable[[Any, Iterable[Any]], None]) -> None:
        """Take the function that draws the objects of the model."""
        self._draw_entities = callback

    def set_config(self, config: Any) -> None:
        """Take the settings."""
        self._sagitta = config.max_flattening_distance

    def _pass_over(self, *_: Any) -> None:
        """Pass over where objects begin and end, the ground, points, and pictures, which are files of their own."""

    set_current_entity_handle = set_background = enter_entity = exit_entity = _pass_over
    draw_point = draw_image = finalize = _pass_over

    def push_clipping_shape(self, shape: Any, transform: Any) -> None:
        """Cut off what comes next at a shape."""
        self._clip.push(shape, transform)

    def pop_clipping_shape(self) -> None:
        """Cut off at the last shape no longer."""
        self._clip.pop()

    def draw_viewport(self, vp: Any, layout_ctx: Any, bbox_cache: Any = None) -> None:
        """Draw the model as a view of a layout shows it."""
        from ezdxf.path import make_path
        from ezdxf.tools.clipping_portal import find_best_clipping_shape

        scale = vp.get_scale()
        edge = np.array([(p.x, p.y) for p in make_path(vp).flattening(0.1)])
        if vp.doc is None or len(edge) < 3 or scale <= 0.0:
            return
        before = len(self.marks)
        matrix = vp.get_transformation_matrix()
        self._clip.push(find_best_clipping_shape([tuple(p) for p in edge.tolist()]), matrix)
        self._draw_entities(layout_ctx.from_viewport(vp), vp.doc.modelspace())
        self._clip.pop()
        if len(self.marks) > before:
            (x0, y0), (x1, y1) = edge.min(axis=0).tolist(), edge.max(axis=0).tolist()
            self.views.append(((x0, y0), (x1, y1), scale))

    def draw_line(self, start: Any, end: Any, properties: Any) -> None:
        """Draw a straight line."""
        self.draw_solid_lines([(start, end)], properties, dashes=_dashes(properties))

    def draw_solid_lines(
        self, lines: Iterable[tuple[Any, Any]], properties: Any, dashes: tuple[float, ...] = ()
    ) -> None:
        """Draw straight lines as one mark."""
        from ezdxf.math import Vec2

        pairs = [(Vec2(a), Vec2(b)) for a, b in lines]
        if self._clip.is_active:
            pairs = [piece for a, b in pairs for piece in self._clip.clip_line(a, b)]
        points = np.array([(p.x, p.y) for pair in pairs for p in pair])
        self._add(Mark(pen=_pen(properties, dashes), steps="ml" * len(pairs), points=points))

    def draw_path(self, path: Any, properties: Any) -> None:
        """Draw lines and curves that follow one another."""
        shapes = [self._path(path)]
        if self._clip.is_active:
            shapes = self._clip.clip_paths(shapes, self._sagitta)
        for shape in shapes:
            steps, points = _steps(shape)
            self._add(Mark(pen=_pen(properties, _dashes(properties)), steps=steps, points=points))

    def draw_filled_paths(self, paths: Iterable[Any], properties: Any) -> None:
        """Fill what lies between outlines, by the even-odd rule."""
        shapes = [self._path(path) for path in paths]
        if self._clip.is_active:
            shapes = list(self._clip.clip_filled_paths(shapes, self._sagitta))
        parts = [_steps(shape) for shape in shapes if len(shape) > 1]
        if parts:
            points = np.concatenate([part for _, part in parts])
            self._add(Mark(pen=_pen(properties), steps="".join(s for s, _ in parts), points=points, is_filled=True))

    def draw_filled_polygon(self, points: Iterable[Any], properties: Any) -> None:
        """Fill a polygon."""
        from ezdxf.path import from_vertices

        self.draw_filled_paths([from_vertices(points, close=True)], properties)

    def draw_text(self, text: str, transform: Any, properties: Any, cap_height: float, dxftype: str = "TEXT") -> None:
        """Write a line of text; one whose beginning lies outside a view is left out."""
        from ezdxf.math import Vec2

        text = " ".join(text.split())
        if not text:
            return
        matrix = transform
        if self._clip.is_active:
            if self._clip.clip_point(Vec2(transform.transform((0.0, 0.0, 0.0)))) is None:
                return
            matrix = self._clip.transform_matrix(transform)
        size = cap_height / CAP_HEIGHT
        width = self.text_engine.get_text_line_width(text, None, cap_height)
        o, x, y, far = (matrix.transform(p) for p in ((0.0, 0.0), (size, 0.0), (0.0, size), (width, 0.0)))
        shown = written(text)
        lost = max(0, shown.count("?") - text.count("?"))
        self.lost_letters += lost
        self._add(
            Mark(
                pen=_pen(properties),
                steps="",
                points=np.array([(o.x, o.y), (far.x, far.y)]),
                text=shown,
                says=text if lost else "",
                matrix=(x.x - o.x, x.y - o.y, y.x - o.x, y.y - o.y, o.x, o.y),
            )
        )

    def _add(self, mark: Mark) -> None:
        """Keep a mark that has a place."""
        if len(mark.points) < 2 or not np.isfinite(mark.points).all():
            self.placeless += len(mark.points) > 1
            return
        if len(self.marks) >= MOST_MARKS:
            raise SheetError(
                f"more than {MOST_MARKS:,} things are drawn in it", remedy="Save the plan alone, without hatches."
            )
        self.marks.append(mark)


def _dashes(properties: Any) -> tuple[float, ...]:
    """Return dashes and gaps in drawing units; none for a line without gaps."""
    pattern: Sequence[float] = properties.linetype_pattern
    if len(pattern) < 2:
        return ()
    return tuple(float(length) * float(properties.linetype_scale) for length in pattern[: len(pattern) // 2 * 2])


def _pen(properties: Any, dashes: tuple[float, ...] = ()) -> Pen:
    return Pen(
        layer=str(properties.layer), colour=properties.color[:7], width_mm=float(properties.lineweight), dashes=dashes
    )


def _steps(shape: Any) -> tuple[str, Floats]:
    """Return the steps and points of one of the add-on's paths; curves of the second degree become cubic ones."""
    given: list[list[float]] = shape.np_vertices().tolist()
    if not given or not len(shape):
        return "", np.zeros((0, 2))
    steps, points, i = ["m"], [given[0]], 1
    for code in shape.command_codes():
        last = given[i - 1]
        match int(code):
            case 1:
                steps.append("l")
                points.append(given[i])
                i += 1
            case 2:
                control, end = given[i], given[i + 1]
                steps.append("c")
                points += [
                    [(p + 2.0 * q) / 3.0 for p, q in zip(side, control, strict=True)] for side in (last, end)
                ] + [end]
                i += 2
            case 3:
                steps.append("c")
                points += given[i : i + 3]
                i += 3
            case _:
                steps.append("m")
                points.append(given[i])
                i += 1
    return "".join(steps), np.array(points, np.float64)


def extent(marks: Sequence[Mark]) -> tuple[float, float, float, float]:
    """Return the least box about marks: left, bottom, right and top in drawing units.

    Examples
    --------
    >>> pen = Pen(layer="0", colour="#000000", width_mm=0.25)
    >>> extent([Mark(pen=pen, steps="ml", points=np.array([(1.0, 2.0), (5.0, 4.0)]))])
    (1.0, 2.0, 5.0, 4.0)
    """
    points = np.concatenate([mark.points for mark in marks])
    low, high = points.min(axis=0), points.max(axis=0)
    return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
