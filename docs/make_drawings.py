"""Draw the measuring rules, the corners, the edges and the cove as SVG: ``python docs/make_drawings.py``.

What a rule deducts is asked of the program, not drawn from memory.
"""

from __future__ import annotations

import math
import sys
from itertools import pairwise
from pathlib import Path
from xml.sax.saxutils import escape

sys.path.insert(0, str(Path(__file__).parents[1]))

from takeoff.measure.rules import RULES, Rule, RuledFace, RuledOpening

DRAWINGS = Path(__file__).parent / "drawings"
BLUE, VERMILION, PAPER, INK = "#0072B2", "#D55E00", "#FFFFFF", "#202020"
"""Blue and vermilion of Okabe and Ito's palette; what is deducted is hatched too."""

GROSS = 60.0
"""m²; a room of 6.00 × 4.00 m and 3.00 m high, unrolled: 20.00 m long."""
WALLS = (4.0, 6.0, 4.0, 6.0)
OPENINGS = (
    ("D", 2.0, 1.0, 2.1, 0.0, 0.78),
    ("W1", 7.0, 2.0, 1.5, 0.7, 1.05),
    ("W2", 12.0, 0.6, 0.8, 1.0, 0.42),
    ("L", 17.0, 2.4, 2.4, 0.0, 1.08),
)
"""Name, station of the centre, width, height, sill, area of the coated reveal; m and m²."""


def opening_of(name: str) -> RuledOpening:
    """Return one opening of the test wall as a rule sees it."""
    _, _, width, height, sill, returns = next(o for o in OPENINGS if o[0] == name)
    return RuledOpening(area=width * height, touches_edge=sill == 0.0, returns=returns)


def whole_wall() -> RuledFace:
    """Return the test wall with all its openings."""
    openings = tuple(opening_of(o[0]) for o in OPENINGS)
    return RuledFace(gross=GROSS, net=GROSS - sum(o.area for o in openings), openings=openings)


def share_deducted(rule: Rule, name: str) -> float:
    """Return which part of an opening a rule deducts, its added reveal left aside."""
    bare = RuledOpening(area=opening_of(name).area, touches_edge=opening_of(name).touches_edge)
    face = RuledFace(gross=GROSS, net=GROSS - bare.area, openings=(bare,))
    return (GROSS - rule.measured_area(face)) / bare.area


def adds_reveal(rule: Rule, name: str) -> bool:
    """Say whether a rule adds an opening's coated reveal to the measured area."""
    whole, bare = opening_of(name), RuledOpening(area=opening_of(name).area, touches_edge=opening_of(name).touches_edge)
    with_it, without = (
        rule.measured_area(RuledFace(gross=GROSS, net=GROSS - o.area, openings=(o,))) for o in (whole, bare)
    )
    return with_it > without + 1e-9


class Drawing:
    """An SVG in metres with y up, on white ground."""

    def __init__(self, width: float, height: float, scale: float, margin: float = 34.0) -> None:
        self.scale, self.margin, self.height = scale, margin, height
        self.size = (width * scale + 2 * margin, height * scale + 2 * margin)
        self.parts: list[str] = []

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Place of a point on the page."""
        return self.margin + x * self.scale, self.margin + (self.height - y) * self.scale

    def shape(self, points: list[tuple[float, float]], fill: str = "none", stroke: str = INK, more: str = "") -> None:
        """Draw a polygon."""
        text = " ".join(f"{px:.1f},{py:.1f}" for px, py in (self.at(*p) for p in points))
        self.parts.append(f'<polygon points="{text}" fill="{fill}" stroke="{stroke}" stroke-width="1.4" {more}/>')

    def box(self, x0: float, y0: float, x1: float, y1: float, fill: str = "none", more: str = "") -> None:
        """Draw a rectangle."""
        self.shape([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], fill, more=more)

    def hatch(self, x0: float, y0: float, x1: float, y1: float) -> None:
        """Draw slanting lines over a rectangle, 0.2 m apart."""
        wide, high = x1 - x0, y1 - y0
        for i in range(1, math.ceil((wide + high) / 0.2)):
            run = 0.2 * i
            start = (x0 + min(run, wide), y0 + max(run - wide, 0.0))
            end = (x0 + max(run - high, 0.0), y0 + min(run, high))
            self.line(start, end, VERMILION, 'stroke-width="2"')

    def line(self, a: tuple[float, float], b: tuple[float, float], stroke: str = INK, more: str = "") -> None:
        """Draw a line."""
        (x0, y0), (x1, y1) = self.at(*a), self.at(*b)
        self.parts.append(f'<path d="M{x0:.1f} {y0:.1f} L{x1:.1f} {y1:.1f}" stroke="{stroke}" fill="none" {more}/>')

    def text(self, x: float, y: float, words: str, more: str = 'text-anchor="middle"', size: int = 13) -> None:
        """Write words."""
        px, py = self.at(x, y)
        self.parts.append(
            f'<text x="{px:.1f}" y="{py:.1f}" font-size="{size}" fill="{INK}" {more}>{escape(words)}</text>'
        )

    def svg(self, title: str) -> str:
        """Return the file's text."""
        w, h = self.size
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w:.0f} {h:.0f}" width="{w:.0f}" height="{h:.0f}" '
            f'font-family="sans-serif" role="img"><title>{escape(title)}</title>'
            f'<rect width="{w:.0f}" height="{h:.0f}" fill="{PAPER}"/>\n' + "\n".join(self.parts) + "\n</svg>\n"
        )


def rule_drawing(rule: Rule) -> Drawing:
    """Draw the test wall unrolled: what is measured in blue, what is deducted hatched."""
    d = Drawing(20.0, 3.0, 38.0)
    d.box(0, 0, 20, 3, "#CFE5F2")
    x = 0.0
    for width in WALLS[:-1]:
        x += width
        d.line((x, 0), (x, 3), BLUE, 'stroke-dasharray="5 4"')
    for name, at, width, height, sill, _ in OPENINGS:
        share = share_deducted(rule, name)
        x0, x1, top = at - width / 2, at + width / 2, sill + height
        d.box(x0, sill, x1, top, "#CFE5F2")
        if share > 1e-9:
            d.box(x0, sill, x0 + width * share, top, PAPER)
            d.hatch(x0, sill, x0 + width * share, top)
            d.box(x0, sill, x1, top)
        if adds_reveal(rule, name):
            d.box(x0 - 0.1, sill, x1 + 0.1, top + 0.1, more=f'stroke-dasharray="3 3" style="stroke:{BLUE}"')
        words = "measured over" if share < 1e-9 else "deducted" if share > 1 - 1e-9 else f"{share:.2f} deducted"
        d.text(at, top + 0.2, f"{name} {width * height:.2f}")
        px, py = d.at(at, -0.28 if sill == 0 else sill - 0.28)
        d.parts.append(
            f'<text x="{px:.1f}" y="{py:.1f}" font-size="12" fill="{INK}" text-anchor="middle">{words}</text>'
        )
    d.text(
        0, 3.2, f"{rule.name}: {rule.measured_area(whole_wall()):.2f} m² of {GROSS:.2f} m²", 'font-weight="bold"', 14
    )
    return d


def cove_drawing() -> Drawing:
    """Draw the section of a cove with its sizes; units are tenths of its leg."""
    d = Drawing(14.0, 12.0, 26.0)
    h = t = 10.0
    r, b = 3.0, 1.2
    d.shape([(-1, -1), (13, -1), (13, 0), (0, 0), (0, 12), (-1, 12)], "#DDDDDD")
    centre = (b + r, b + r)
    arc = [
        (centre[0] - r * math.cos(a), centre[1] - r * math.sin(a)) for a in (math.radians(v) for v in range(0, 91, 5))
    ]
    d.shape([(0, h), (b, h), *arc, (t, b), (t, 0), (0, 0)], "#CFE5F2")
    d.line((b, h), (b, b + r), VERMILION, 'stroke-width="3"')
    d.line((b + r, b), (t, b), VERMILION, 'stroke-width="3"')
    for start, end in pairwise(arc):
        d.line(start, end, VERMILION, 'stroke-width="3"')
    d.text(-0.4, h / 2, "h", 'text-anchor="end" font-style="italic"', 15)
    d.text(t / 2, -0.8, "t", 'font-style="italic"', 15)
    d.text(b / 2, h + 0.3, "b", 'text-anchor="middle" font-style="italic"', 15)
    d.text(centre[0] - 0.4, centre[1] + 0.1, "r", 'font-style="italic"', 15)
    d.text(6.0, 8.0, "girth: the red line", 'text-anchor="start"')
    d.text(6.0, 7.2, "section: the blue area", 'text-anchor="start"')
    return d


def edges_drawing() -> Drawing:
    """Draw a developed elevation with the class of each edge."""
    d = Drawing(12.0, 4.2, 50.0)
    d.shape([(0, 0), (12, 0), (12, 4), (7, 3), (0, 3)], "#CFE5F2")
    d.box(2, 0, 3, 2.1, PAPER)
    d.box(8.2, 1, 10.2, 2.2, PAPER)
    d.line((5, 0), (5, 3), BLUE, 'stroke-dasharray="5 4"')
    for x, y, words in (
        (1.0, -0.3, "base"), (4.0, -0.3, "base"), (8.5, -0.3, "base"), (3.0, 3.1, "top"), (10.0, 3.75, "top (sloped)"),
        (2.5, 2.15, "head"), (1.6, 1.0, "jamb"), (3.4, 1.0, "jamb"), (9.2, 2.25, "head"), (9.2, 0.72, "sill"),
        (7.75, 1.5, "jamb"), (10.65, 1.5, "jamb"), (5.6, 1.5, "corner"), (0.55, 2.5, "end"), (11.5, 2.5, "end"),
    ):  # fmt: skip
        d.text(x, y, words)
    return d


def corners_drawing() -> Drawing:
    """Draw inside and outside corners of a room with a pier, in plan."""
    d = Drawing(8.0, 5.2, 50.0)
    plan = [(0.5, 0.4), (7.5, 0.4), (7.5, 4.6), (4.5, 4.6), (4.5, 3.6), (3.5, 3.6), (3.5, 4.6), (0.5, 4.6)]
    d.shape(plan, "#F4F4F4", more=f'style="stroke:{BLUE};stroke-width:3"')
    for i, (x, y) in enumerate(plan):
        before, after = plan[i - 1], plan[(i + 1) % len(plan)]
        turn = (x - before[0]) * (after[1] - y) - (y - before[1]) * (after[0] - x)
        px, py = d.at(x, y)
        if turn > 0:
            d.parts.append(f'<circle cx="{px:.1f}" cy="{py:.1f}" r="10" fill="{PAPER}" stroke="{INK}"/>')
        else:
            d.parts.append(
                f'<rect x="{px - 9:.1f}" y="{py - 9:.1f}" width="18" height="18" fill="{PAPER}" stroke="{INK}"/>'
            )
        d.parts.append(
            f'<text x="{px:.1f}" y="{py + 5:.1f}" font-size="13" text-anchor="middle">{"I" if turn > 0 else "O"}</text>'
        )
    d.text(4.0, 2.0, "coated side inside: six inside corners (I), two outside (O)")
    return d


def all_drawings() -> dict[str, str]:
    """Return every drawing's text by its name."""
    drawn = {f"rule-{rule.name}": (rule_drawing(rule), f"The test wall by {rule.name}") for rule in RULES.values()}
    drawn["cove"] = (cove_drawing(), "Section of a cove: height h, toe t, radius r, thickness b")
    drawn["edges"] = (edges_drawing(), "A developed elevation and the class of each of its edges")
    drawn["corners"] = (corners_drawing(), "Inside and outside corners of a room with a pier")
    return {name: drawing.svg(title) for name, (drawing, title) in drawn.items()}


if __name__ == "__main__":
    DRAWINGS.mkdir(exist_ok=True)
    for name, svg in all_drawings().items():
        (DRAWINGS / f"{name}.svg").write_text(svg, encoding="utf-8")
