"""Time and memory of opening a sheet of 50,000 paths against the PDF engine alone: python tests/bench/sheet.py."""

from __future__ import annotations

import random
import statistics
import sys
import tempfile
from functools import partial
from pathlib import Path

from table import peak_of_child, print_table, say_peak, timed

PATHS = 50_000
WIDTH, HEIGHT = 48 * 72, 36 * 72
"""ARCH E, 36 in × 48 in, in points."""

FIT = 1333
"""Pixels across the sheet as first shown."""

LIMIT = 1.2


SHEETS: dict[str, tuple[str, ...]] = {
    "square": ("across", "up", "across", "up", "across", "up", "box", "block", "zigzag", "curve"),
    "hatched": ("across", "up", "across", "hatch", "hatch", "hatch", "box", "zigzag", "curve", "curve"),
}
"""Kinds of paths that follow one another on each sheet; the engines differ in which of them they draw quickly."""


def path_of(kind: str, x: float, y: float, luck: random.Random) -> str:
    """Drawing instructions of one path at a place in points."""
    if kind == "across":
        return f"{x:.2f} {y:.2f} m {x + luck.uniform(-90, 90):.2f} {y:.2f} l S"
    if kind == "up":
        return f"{x:.2f} {y:.2f} m {x:.2f} {y + luck.uniform(-90, 90):.2f} l S"
    if kind == "hatch":
        along = luck.uniform(4, 40)
        return f"{x:.2f} {y:.2f} m {x + along:.2f} {y + along:.2f} l S"
    if kind == "box":
        return f"{x:.2f} {y:.2f} {luck.uniform(4, 40):.2f} {luck.uniform(4, 40):.2f} re S"
    if kind == "block":
        return f"{x:.2f} {y:.2f} {luck.uniform(2, 8):.2f} {luck.uniform(2, 8):.2f} re f"
    if kind == "zigzag":
        return f"{x:.2f} {y:.2f} m " + " ".join(f"{x + 6 * k:.2f} {y + 6 * (k % 2):.2f} l" for k in range(1, 8)) + " S"
    # a quarter circle of 36 points
    return f"{x:.2f} {y:.2f} m {x:.2f} {y + 20:.2f} {x + 16:.2f} {y + 36:.2f} {x + 36:.2f} {y + 36:.2f} c S"


def write_sheet(path: Path) -> None:
    """Write the sheet that the file's name says, with a title block and room names."""
    import pymupdf

    luck = random.Random(1)
    kinds = SHEETS[path.stem]
    parts = ["1 J"]
    for n in range(PATHS):
        if n % 50 == 0:
            parts.append(f"{luck.choice([0.25, 0.5, 1.0, 2.0])} w")
        place = luck.uniform(60, WIDTH - 400), luck.uniform(60, HEIGHT - 60)
        parts.append(path_of(kinds[n % len(kinds)], *place, luck))
    with pymupdf.open() as document:
        page = document.new_page(width=WIDTH, height=HEIGHT)
        for n in range(300):
            at = (luck.uniform(60, WIDTH - 400), luck.uniform(60, HEIGHT - 60))
            page.insert_text(at, f"ROOM {100 + n}", fontsize=9)
        for line, (text, size) in enumerate(
            [("FLOOR PLAN - LEVEL 1", 20), ('SCALE: 1/4" = 1\'-0"', 12), ("SHEET", 8), ("A-101", 36)]
        ):
            page.insert_text((WIDTH - 300, HEIGHT - 220 + 50 * line), text, fontsize=size)
        page.clean_contents()  # one stream, as a plotter writes it
        xref = page.get_contents()[0]
        document.update_stream(xref, document.xref_stream(xref) + "\n".join(["", "q", *parts, "Q", ""]).encode())
        document.save(path, deflate=True)


def bare(path: Path) -> object:
    """Open and draw with the PDF engine, no more."""
    import pymupdf

    with pymupdf.open(path) as document:
        page = document[0]
        zoom = FIT / page.rect.width
        return page.get_pixmap(matrix=pymupdf.Matrix(zoom, zoom), alpha=False).samples


def ours(path: Path) -> object:
    """Take the file in, read the register of its sheets, and draw the first one."""
    from takeoff.sheet.files import read_sheets
    from takeoff.sheet.render import render_array

    data = path.read_bytes()
    sheets, doubts = read_sheets(data, path.name)
    assert sheets[0].number == "A-101"
    assert (sheets[0].paths or 0) >= PATHS
    assert not doubts
    return render_array(data, sheets[0], dpi=FIT / sheets[0].width_pt * 72)


def register(path: Path) -> object:
    """Read the register alone."""
    from takeoff.sheet.files import read_sheets

    return read_sheets(path.read_bytes(), path.name)


CASES = {"engine alone: open, draw": bare, "register, draw": ours, "register alone": register}
WRITE = "write the sheet"


def main() -> None:
    """Print the tables."""
    with tempfile.TemporaryDirectory() as folder:
        paths = [Path(folder) / f"{sheet}.pdf" for sheet in SHEETS]
        for path in paths:
            peak_of_child(__file__, WRITE, str(path))
        # children first: a child's peak is at least what its parent held when it started
        peaks = [{name: peak_of_child(__file__, name, str(path)) for name in CASES} for path in paths]
        for path, peak in zip(paths, peaks, strict=True):
            cases = {name: partial(case, path) for name, case in CASES.items()}
            timed(cases, rounds=1)  # loading of libraries is not what is measured
            print_sheet(path, timed(cases, rounds=9), peak)


def print_sheet(path: Path, seconds: dict[str, list[float]], peaks: dict[str, float]) -> None:
    """Print the table of one sheet."""
    names = list(CASES)
    rows = []
    for name in names:
        median = statistics.median(seconds[name])
        ratio = statistics.median(s / b for s, b in zip(seconds[name], seconds[names[0]], strict=True))
        limit = f"{LIMIT:.2f}" if name == names[1] else ""
        rows.append(
            [
                name,
                f"{median * 1e3:.0f}",
                f"{min(seconds[name]) * 1e3:.0f}",
                f"{ratio:.2f}",
                limit,
                f"{peaks[name]:.0f}",
                f"{peaks[name] / peaks[names[0]]:.2f}",
            ]
        )
    head = ["case", "median ms", "best ms", "ratio", "limit", "peak MiB", "ratio"]
    size = f"{PATHS:,} paths, {path.stat().st_size / 2**20:.1f} MiB, drawn {FIT} px across"
    print_table(f"ARCH E sheet, {path.stem}, {size}; processor time", head, rows)


if __name__ == "__main__":
    if len(sys.argv) == 3:
        {**CASES, WRITE: write_sheet}[sys.argv[1]](Path(sys.argv[2]))
        say_peak()
    else:
        main()
