"""Marks of a drawing as pages of a vector PDF: layers as optional content, scales as viewports (ISO 32000-1:2008).

Nothing but the marks decides the bytes: no time, no chance, no fonts of the machine.
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from takeoff.sheet.dxf_painter import Mark, Pen

POINTS_PER_MM = 72.0 / 25.4
LEAST_PEN_MM = 0.13
"""Thinnest pen of ISO 128-20 (from memory); a drawing may ask for none."""
LEAST_DASHES_PT = 3.0
"""Dashes and gaps that together are shorter are drawn at this length, so that a dashed line can be told."""
DARK = 0.55
"""Lightest shade, 0 to 1, that lines and texts may have on white paper (common practice, no source)."""

TOLD = "TakenIn"
"""Key of a page for what was assumed or left out when the drawing was taken in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """A scale that a page carries: box in points (left, bottom, right, top), its name, and what it says.

    ``factor`` is units per point with ``unit`` as ISO 32000 writes it, as decimals; ``stated`` is for people.
    ``hearsay`` is the drawing's unit where its header alone tells that.
    """

    box: tuple[float, float, float, float]
    name: str
    unit: str
    factor: str
    stated: str
    hearsay: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedPage:
    """A page: size in points; ``origin`` of the drawing goes to the point ``at``, a unit of it is ``scale`` points."""

    width_pt: float
    height_pt: float
    marks: Sequence[Mark]
    scale: float
    origin: tuple[float, float]
    at: tuple[float, float]
    measures: Sequence[Measure] = ()


def write_marks(pages: Sequence[MarkedPage], title: str, told: Sequence[str] = ()) -> bytes:
    """Write pages as a PDF file; ``told`` says what of the drawing is not on them, and is kept with the first.

    Examples
    --------
    >>> write_marks([MarkedPage(width_pt=72, height_pt=72, marks=(), scale=1, origin=(0, 0), at=(0, 0))], "a")[:8]
    b'%PDF-1.7'
    """
    layers = sorted({mark.pen.layer for page in pages for mark in page.marks})
    numbers = {layer: 5 + i for i, layer in enumerate(layers)}
    first = 5 + len(layers)
    kids = " ".join(f"{first + 2 * i} 0 R" for i in range(len(pages)))
    groups = " ".join(f"{number} 0 R" for number in numbers.values())
    content = f"/OCProperties<</OCGs[{groups}]/D<</Order[{groups}]/ON[{groups}]>>>>" if layers else ""
    objects: list[bytes] = [
        f"<</Type/Catalog/Pages 2 0 R{content}>>".encode(),
        f"<</Type/Pages/Kids[{kids}]/Count {len(pages)}>>".encode(),
        b"<</Type/Font/Subtype/Type1/BaseFont/Helvetica/Encoding/WinAnsiEncoding>>",
        f"<</Title {_text(title)}>>".encode(),
        *(f"<</Type/OCG/Name {_text(layer)}>>".encode() for layer in layers),
    ]
    properties = "".join(f"/L{number} {number} 0 R" for number in numbers.values())
    for i, page in enumerate(pages):
        measures = f"/VP[{''.join(_viewport(measure) for measure in page.measures)}]" if page.measures else ""
        said = f"/{TOLD}[{''.join(map(_text, told))}]" if told and i == 0 else ""
        objects.append(
            (
                f"<</Type/Page/Parent 2 0 R/MediaBox[0 0 {_real(page.width_pt)} {_real(page.height_pt)}]"
                f"/Resources<</Font<</F1 3 0 R>>/Properties<<{properties}>>>>"
                f"/Contents {first + 2 * i + 1} 0 R{measures}{said}>>"
            ).encode()
        )
        packed = zlib.compress(_content(page, numbers), 6)
        objects.append(b"<</Filter/FlateDecode/Length %d>>stream\n" % len(packed) + packed + b"\nendstream")
    return _joined(objects)


def _joined(objects: Sequence[bytes]) -> bytes:
    """Join numbered objects into a file; the first is the catalogue, the fourth the information (§7.5)."""
    parts, places = [b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"], []
    length = len(parts[0])
    for number, body in enumerate(objects, start=1):
        places.append(length)
        parts.append(b"%d 0 obj\n" % number + body + b"\nendobj\n")
        length += len(parts[-1])
    parts.append(b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1))
    parts += [b"%010d 00000 n \n" % place for place in places]
    parts.append(b"trailer<</Size %d/Root 1 0 R/Info 4 0 R>>\nstartxref\n%d\n%%%%EOF\n" % (len(objects) + 1, length))
    return b"".join(parts)


def _viewport(measure: Measure) -> str:
    """Write a viewport with a rectilinear measurement (§12.9)."""
    length = f"[<</Type/NumberFormat/U({measure.unit})/C {measure.factor}/F/D/D 1000>>]"
    single = f"[<</Type/NumberFormat/U({measure.unit})/C 1/F/D/D 1000>>]"
    area = f"[<</Type/NumberFormat/U(sq {measure.unit})/C 1/F/D/D 1000>>]"
    box = " ".join(_real(value) for value in measure.box)
    hearsay = f"/HeaderUnit{_text(measure.hearsay)}" if measure.hearsay else ""
    return (
        f"<</Type/Viewport/BBox[{box}]/Name {_text(measure.name)}/Measure<</Type/Measure/Subtype/RL"
        f"/R {_text(measure.stated)}/X{length}/D{single}/A{area}{hearsay}>>>>"
    )


def _content(page: MarkedPage, numbers: dict[str, int]) -> bytes:
    """Write the drawing instructions of a page (§8, §9.4), layer by layer where marks of one follow one another."""
    out = ["1 J 1 j"]
    for pen, marks in groupby(page.marks, key=lambda mark: mark.pen):
        out.append(f"/OC/L{numbers[pen.layer]} BDC q {_style(pen, page.scale)}")
        for mark in marks:
            if mark.text:
                a, b, c, d, e, f = mark.matrix
                x, y = ((v - o) * page.scale + to for v, o, to in zip((e, f), page.origin, page.at, strict=True))
                turned = " ".join(_real(value * page.scale) for value in (a, b, c, d))
                letters = mark.text.encode("cp1252").hex()
                line = f"{_colour(pen.colour, 'rg')} BT/F1 1 Tf {turned} {_real(x)} {_real(y)} Tm<{letters}>Tj ET"
                says = mark.says.encode("utf-16-be", "replace").hex()  # §14.9.4, read in place of what is shown
                out.append(f"/Span<</ActualText<FEFF{says}>>>BDC {line} EMC" if says else line)
            elif mark.is_filled:
                out.append(f"{_colour(pen.colour, 'rg', lightest=1.0)} {_path(mark, page)} f*")
            else:
                out.append(f"{_path(mark, page)} S")
        out.append("Q EMC")
    return "\n".join(out).encode("ascii")


def _style(pen: Pen, scale: float) -> str:
    """Write colour, width and dashes of lines."""
    style = f"{_colour(pen.colour, 'RG')} {_real(max(pen.width_mm, LEAST_PEN_MM) * POINTS_PER_MM)} w"
    if not pen.dashes or sum(pen.dashes) <= 0.0:
        return style
    lengths = [length * scale for length in pen.dashes]
    grow = max(1.0, LEAST_DASHES_PT / sum(lengths))
    return f"{style} [{' '.join(_real(length * grow) for length in lengths)}] 0 d"


def _colour(colour: str, operator: str, lightest: float = DARK) -> str:
    """Write a colour; one too light to be seen on white is darkened, and white, a drawing's ink on black, is black."""
    parts = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    shade = 0.30 * parts[0] + 0.59 * parts[1] + 0.11 * parts[2]
    if shade > lightest and colour == "#ffffff":
        parts = [0.0, 0.0, 0.0]
    elif shade > lightest:
        parts = [part * lightest / shade for part in parts]
    return f"{' '.join(f'{part:.4g}' for part in parts)} {operator}"


def _path(mark: Mark, page: MarkedPage) -> str:
    """Write the path of a mark (§8.5.2); an outline that ends where it began is closed."""
    (x0, y0), (ax, ay) = page.origin, page.at
    points = (mark.points - (x0, y0)) * page.scale + (ax, ay)
    texts = [f"{x:.7f} {y:.7f}" for x, y in points.tolist()]
    out: list[str] = []
    i = begin = 0
    for step in mark.steps:
        if step == "m" and i - begin > 2 and texts[i - 1] == texts[begin]:
            out.append("h")
        if step == "m":
            begin = i
        count = 3 if step == "c" else 1
        out.append(f"{' '.join(texts[i : i + count])} {step}")
        i += count
    if i - begin > 2 and texts[i - 1] == texts[begin]:
        out.append("h")
    return " ".join(out)


def _real(value: float) -> str:
    """Write a real number without an exponent (§7.3.3)."""
    return f"{value:.9f}".rstrip("0").rstrip(".") or "0"


def _text(text: str) -> str:
    """Write a text string as UTF-16 in hex (§7.9.2.2)."""
    return f"<{(chr(0xFEFF) + text).encode('utf-16-be', 'replace').hex()}>"
