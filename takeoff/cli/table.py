"""Tables on a terminal: figures are never cut; where the terminal is too narrow for a row, its cells stand below it."""

from __future__ import annotations

import codecs
import re
import sys
from collections.abc import Collection, Iterable, Sequence
from typing import TYPE_CHECKING, Any, TextIO

if TYPE_CHECKING:
    from rich.console import Console

SHORT = 12
"""Characters that a column of texts keeps at least, where it has as many."""


WIDE = 160
"""Columns where stdout is no terminal."""


def console() -> Console:
    """The console of stdout: it shows, and never sends, what would steer a terminal."""
    from rich.console import Console, ConsoleOptions, RenderableType
    from rich.segment import Segment

    class VisibleConsole(Console):
        def render(self, renderable: RenderableType, options: ConsoleOptions | None = None) -> Iterable[Segment]:
            for part in super().render(renderable, options):
                yield part if part.control else Segment(visible(part.text), part.style)

    return VisibleConsole(highlight=False, width=None if sys.stdout.isatty() else WIDE)


def table(
    title: str,
    headings: Sequence[str],
    rows: Iterable[Sequence[str]],
    *,
    text_columns: int = 1,
    more_text: Collection[int] = (),
    to: Console | None = None,
) -> None:
    """Print a table; all but the first ``text_columns`` columns and ``more_text`` are figures, set to the right.

    A column of figures is as wide as its widest figure, so that none is cut: a cell breaks before ± and + alone. Texts
    wrap. Where that does not fit, each row is written as a block: its first cell, and below it a line for each other
    cell with its heading.
    """
    to, kept = to or console(), [tuple(row) for row in rows]
    texts = {*range(text_columns), *more_text}
    widths = [_least(i in texts, heading, [row[i] for row in kept]) for i, heading in enumerate(headings)]
    if sum(widths) + 3 * len(widths) + 1 > to.width:
        _print_blocks(to, title, headings, kept)
        return
    from rich import box
    from rich.table import Table
    from rich.text import Text

    whole = [max(_wide(heading), *(_wide(row[i]) for row in kept), 0) for i, heading in enumerate(headings)]
    is_roomy = sum(whole) + 3 * len(whole) + 1 <= to.width
    made = Table(title=title, title_justify="left", box=box.SIMPLE_HEAD)
    for i, heading in enumerate(headings):
        is_fixed = i not in texts and not is_roomy
        made.add_column(
            heading, justify="left" if i in texts else "right", width=widths[i] if is_fixed else None, overflow="fold"
        )
    for row in kept:
        cells = (cell if is_roomy or i in texts else "\n".join(_pieces(cell)) for i, cell in enumerate(row))
        made.add_row(*(Text(cell, overflow="fold") for cell in cells))
    to.print(made)


def _print_blocks(console: Console, title: str, headings: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    from rich.text import Text

    console.print(Text(title, style="italic"))
    lead = max((_wide(heading) for heading in headings[1:]), default=0)
    for row in rows:
        console.print(Text(f"  {row[0]}", style="bold"), soft_wrap=True)
        for heading, cell in zip(headings[1:], row[1:], strict=True):
            if cell:
                console.print(Text(f"    {heading}{' ' * (lead - _wide(heading))}  {cell}"), soft_wrap=True)
    console.print()


def _least(is_text: bool, heading: str, cells: Sequence[str]) -> int:
    """Characters that a column needs: its figures whole, or the words of its texts up to `SHORT`."""
    words = [word for text in (heading, *(cells if is_text else ())) for word in text.split()]
    longest = max((_wide(word) for word in words), default=0)
    if is_text:
        return max(min(longest, SHORT), min(max((_wide(c) for c in cells), default=0), SHORT))
    return max(longest, *(_wide(piece) for cell in cells for piece in _pieces(cell)), 0)


def _pieces(cell: str) -> list[str]:
    """Parts of a cell of figures that may stand below one another.

    Examples
    --------
    >>> _pieces("557.3 sf ± 11.7 sf")
    ['557.3 sf', '± 11.7 sf']
    """
    return re.split(r" (?=[±+] )", cell)


def _wide(text: str) -> int:
    from rich.cells import cell_len

    return cell_len(text)


PLAIN = "takeoff.plain"
"""Name of the error handler that writes a look-alike for a character that an encoding lacks."""

_ALIKE = {
    "±": "+/-", "×": "x", "÷": "/", "−": "-", "–": "-", "—": "-", "“": '"', "”": '"', "‘": "'", "’": "'", "…": "...",
    "·": ".", "•": "*", "²": "2", "³": "3", "µ": "u", "°": " deg ", "½": "1/2", "¼": "1/4", "¾": "3/4", "█": "#",
    "─": "-", "━": "-", "→": "->", "≤": "<=", "≥": ">=", "\u00a0": " ", "\u202f": " ",
}  # fmt: skip


UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ufff9-\uffff]")
"""Characters that steer a terminal or turn the order of what it shows: control characters of ISO 6429, and the marks of
writing direction of Unicode Standard Annex 9."""


def visible(text: str) -> str:
    r"""Write the code of every character that would steer a terminal in its place; lines and tabs stay.

    Examples
    --------
    >>> visible("Wash\x1b[2J \u202etxt")
    'Wash<U+001B>[2J <U+202E>txt'
    """
    return UNSEEN.sub(lambda found: f"<U+{ord(found[0]):04X}>", text)


def one_line(text: str) -> str:
    """Write a text on one line, and let none of it steer a terminal."""
    return visible(" ".join(text.split()))


def look_alike(error: UnicodeError) -> tuple[str, int]:
    """Give the look-alike of what cannot be encoded, ``?`` where there is none, and where to go on.

    Examples
    --------
    >>> register(); "12 m² ± 0.5 m² Ω".encode("ascii", PLAIN)
    b'12 m2 +/- 0.5 m2 ?'
    """
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(_ALIKE.get(c, "?") for c in error.object[error.start : error.end]), error.end


def register() -> None:
    """Make the handler known under its name."""
    codecs.register_error(PLAIN, look_alike)


def takes_all(stream: TextIO) -> bool:
    """Tell whether a stream takes every character."""
    return (stream.encoding or "utf-8").lower().replace("_", "-") in ("utf-8", "utf8")


def soften() -> None:
    """Let stdout and stderr write look-alikes where their encoding lacks a character."""
    register()
    for stream in (sys.stdout, sys.stderr):
        reconfigure: Any = getattr(stream, "reconfigure", None)
        if reconfigure is not None and not takes_all(stream):
            reconfigure(errors=PLAIN)
