"""Read the scale of every sheet whose scale is known: what is said, whether it is sure, whether it is right.

Usage: python -m tests.bench.scales [NAME ...] [--shuffles N] [--made COUNT [--seed N]]
The sample plans are always read; the sheets of reference too where TAKEOFF_REFERENCE names their folder. With
--shuffles the lengths of each sheet are shuffled among its dimensions that many times: a scale that is claimed then is
a false one. With --made so many sheets are drawn by chance instead, each with a trouble and exact truth: wrong, missing
and misleading notes, reduced prints, dimensions of details, drawings not to scale.
A sheet is *right* within half a hundredth, *asked* where no scale is given or it carries an open point.
"""

from __future__ import annotations

import argparse
import math
import os
import random
import resource
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise
from pathlib import Path
from typing import Any

from takeoff.actions.scale_basis import words_of
from takeoff.actions.scales import read_scales
from takeoff.errors import CalibrationError
from takeoff.model.plan import Sheet
from takeoff.sheet.dxf_plan import drawing_to_pdf
from takeoff.sheet.files import read_sheets
from takeoff.sheet.scales import ratio_of
from takeoff.sheet.text import TextLine, read_lines
from takeoff.trace.drawing.linework import Linework, read_linework
from takeoff.trace.scales.scale_votes import read_scale
from takeoff.trace.scales.scale_weighing import ScaleReading, weigh_votes
from tests.trace.scales.test_dimensions import Paper

RIGHT = 0.005
"""Half a hundredth: what a scale may be off and be right."""
SAMPLES = Path(__file__).parents[2] / "sample_plans"


@dataclass(frozen=True, slots=True)
class Known:
    """A page whose scale is known: N of its 1:N, or metres in a unit of its drawing; nothing where it has none."""

    name: str
    page: int
    ratio: float | None = None
    unit: float | None = None


REAL = (
    Known("real_sheets/us_house_a101/us_house_a101.pdf", 1, 129.5),
    Known("real_sheets/us_house_a102/us_house_a102.pdf", 1, 129.5),
    Known("real_sheets/us_house_0122/us_house_0122.pdf", 1, 85.9),
    Known("real_sheets/us_garage_a101/us_garage_a101.pdf", 2, 96.0),
    Known("real_sheets/us_garage_p3/us_garage_p3.pdf", 3, 96.0),  # its grid stands as on the page before
    Known("real_sheets/us_garage_new/us_garage_new.pdf", 1, 96.0),
    Known("real_sheets/in_office_ground/in_office_ground.pdf", 1, 294.9),
    Known("real_sheets/in_office_fifth/in_office_fifth.pdf", 1, 294.9),
    Known("real_sheets/us_house_sketch_1st/us_house_sketch_1st.pdf", 1),
    Known("real_sheets/us_house_sketch_2nd/us_house_sketch_2nd.pdf", 1),
    Known("real_sheets/us_house_sketch_base/us_house_sketch_base.pdf", 1),
    Known("real_sheets/es_pavilion_dxf/es_pavilion_dxf.dxf", 1, unit=1.0),
    Known("real_sheets/es_pavilion_r12/es_pavilion_r12.dxf", 1, unit=0.001),
    Known("real_sheets/us_house_bishop/us_house_bishop.dxf", 1, unit=0.0254),
    Known("real_sheets/xx_house_ceco/xx_house_ceco.dxf", 1, unit=1.0),
    *(Known("real_plans/house_rev_2013-07-18.pdf", page, 105.58) for page in range(1, 10)),
    *(Known("real_plans/house_rev_2013-10-12.pdf", page, 48.0) for page in (1, 2, 3, 4, 5, 6, 8, 9)),
    Known("real_plans/facility_wall_quantities.pdf", 1, 192.0),
    Known("ifc_plans/house_ground.pdf", 1, 50.0),
    Known("ifc_plans/duplex_level1.pdf", 1, 48.0),
)
"""Reference sheets; what is printed on each and how its scale is known is told beside them."""
OWN = (
    Known("facility-imperial.pdf", 1, 48.0),
    Known("facility-imperial.pdf", 2, 32.0),
    Known("facility-metric.pdf", 1, 50.0),
    Known("facility-rev-b.pdf", 1, 48.0),
    Known("facility-rev-c.pdf", 1, 48.0),
)


@dataclass(frozen=True, slots=True)
class Opened:
    """A page taken in: the file as pages, the sheet, its linework, its text, and its true scale in metres per point."""

    data: bytes
    sheet: Sheet
    linework: Linework
    lines: list[TextLine]
    m_per_pt: float | None


def opened(known: Known, folder: Path) -> Opened:
    """Read a page as the program does."""
    data = (folder / known.name).read_bytes()
    true = known.ratio * 0.0254 / 72 if known.ratio else None
    if known.name.endswith(".dxf"):
        assert known.unit is not None
        data, true = _page_of_drawing(data, known)
    sheet = read_sheets(data, Path(known.name).name)[0][known.page - 1]
    return Opened(data, sheet, read_linework(data, sheet), read_lines(data, sheet), true)


def _page_of_drawing(data: bytes, known: Known) -> tuple[bytes, float]:
    """Turn a drawing into a page, and find how many metres a point of it truly is."""
    import takeoff.sheet.dxf_plan as plan

    made: list[float] = []
    write: Callable[..., bytes] = plan.write_marks

    def noting(pages: list[plan.MarkedPage], *given: Any) -> bytes:
        made.append(pages[0].scale)
        return write(pages, *given)

    plan.write_marks = noting  # type: ignore[assignment]
    try:
        pdf, _ = drawing_to_pdf(data, known.name)
    finally:
        plan.write_marks = write  # type: ignore[assignment]
    return pdf, (known.unit or 1.0) / made[0]


def verdict(reading: ScaleReading, true: float | None) -> str:
    """Say in a word how a reading came out."""
    said = reading.m_per_pt
    is_right = said is not None and true is not None and abs(math.log(said / true)) <= RIGHT
    if said is None:
        return "asked"
    if reading.doubts:
        return "right, asked" if is_right else "wrong, asked"
    return "right" if is_right else "WRONG AND SURE"


def claims_when_shuffled(reading: ScaleReading, count: int) -> tuple[int, int]:
    """Shuffle the lengths among the dimensions; return how often a false scale is claimed, and how often surely.

    Notes, bars and measurements in the file are left out. With few dimensions a shuffle may leave most in their places,
    and the scale that is read then is the true one.
    """
    drawn = [vote for vote in reading.votes if vote.reader == "dimension" and vote.known is not None]
    order = random.Random(0)
    claimed = sure = 0
    for _ in range(count):
        texts = order.sample(drawn, len(drawn))
        votes = [
            replace(
                vote,
                m_per_pt=other.known.length / vote.span_pt,
                known=replace(vote.known, length=other.known.length),
                text=other.text,
                is_bare=other.is_bare,
                step=other.step,
            )
            for vote, other in zip(drawn, texts, strict=True)
            if vote.known is not None and other.known is not None
        ]
        shuffled = weigh_votes(votes, reading.signs)
        said, true = shuffled.m_per_pt, reading.m_per_pt
        if said is None or (true is not None and abs(math.log(said / true)) <= RIGHT):
            continue
        claimed += 1
        sure += not shuffled.doubts
    return claimed, sure


def pages(names: list[str]) -> Iterator[tuple[Known, Path]]:
    """Yield the pages that are to be read with their folders."""
    reference = os.environ.get("TAKEOFF_REFERENCE", "")
    listed = [(known, SAMPLES) for known in OWN]
    if reference:
        listed += [(known, Path(reference)) for known in REAL]
    yield from ((k, folder) for k, folder in listed if not names or any(name in k.name for name in names))


POINT = 0.0254 / 72
WAYS: dict[str, Callable[[float], str]] = {
    "mm": lambda m: f"{m * 1000:.0f}",
    "cm": lambda m: f"{m * 100:.0f}",
    "m": lambda m: f"{m:.2f}",
    "m,": lambda m: f"{m:.2f}".replace(".", ","),
    "m with unit": lambda m: f"{m:.2f} m",
    "ft": lambda m: f"{int(m / 0.3048 + 1e-6)}'-{round(m / 0.0254) % 12}\"",
}
"""How lengths are written on made sheets."""
TROUBLES = (
    "none", "no note", "wrong note", "reduced", "reduced, no dimensions", "no dimensions", "wrong note, no dimensions",
    "fit to paper, no dimensions", "detail alone dimensioned", "detail dimensioned, no note", "site plan dimensioned",
    "reduced, site plan dimensioned", "mixed units", "not to scale", "a third edited", "stretched", "two plans",
    "wrong bar", "bar", "sizes in rooms", "wrong note, sizes in rooms", "fit to paper, sizes in rooms",
    "two dimensions", "two wrong dimensions", "numbers in rooms", "dimensions of another plan",
    "second view dimensioned, no note", "thousands in centimetres, no note", "stretched, a third edited",
)  # fmt: skip


@dataclass(slots=True)
class Drawn:
    """A made sheet that is being drawn: how lengths are written on it, ends of dimensions, size of letters."""

    paper: Paper
    way: str
    ends: str
    letters: float
    chance: random.Random

    def plan(
        self,
        x: float,
        y: float,
        pt: float,
        columns: list[float],
        rows: list[float],
        stretch: float = 1.0,
        has_doors: bool = True,
    ) -> None:
        """Draw rooms of some widths and depths in metres from a corner, each with a door or none."""
        for j, top in enumerate(accumulate([0.0, *rows[:-1]], lambda a, b: a + b + 0.2)):
            for i, left in enumerate(accumulate([0.0, *columns[:-1]], lambda a, b: a + b + 0.2)):
                x0, y0 = x + left * pt * stretch, y + top * pt
                x1, y1, leaf = x0 + columns[i] * pt * stretch, y0 + rows[j] * pt, 0.9 * pt
                self.paper.page.draw_rect((x0, y0, x1, y1), width=0.7)
                if not has_doors:
                    continue
                self.paper.line((x0 + leaf, y0), (x0 + leaf, y0 + leaf))
                self.paper.page.draw_sector((x0 + leaf, y0), (x0, y0), 90, fullSector=False, width=0.25)

    def chain(
        self,
        x: float,
        y: float,
        pt: float,
        lengths: list[float],
        along: int,
        said: Callable[[float], str],
        gap: float = 0.2,
    ) -> None:
        """Dimension a chain of lengths in metres from a place, along the sheet (0) or up it (1)."""
        at = x if along == 0 else y
        for length in lengths:
            a, b = ((at, y), (at + length * pt, y)) if along == 0 else ((x, at), (x, at + length * pt))
            self.paper.dimension(a, b, said(length), ends=self.ends)
            at += (length + gap) * pt


def made_sheet(trouble: str, seed: int) -> tuple[bytes, tuple[float, ...]]:
    """Draw a sheet by chance; return it with the N of the 1:N that its plans are drawn at, none where it has none."""
    chance = random.Random(f"{trouble} {seed}")
    way = "cm" if trouble.startswith("thousands") else chance.choice(list(WAYS))
    usual = [48.0, 96.0, 64.0] if way == "ft" else [50.0, 100.0, 75.0, 200.0]
    ratio = chance.choice(usual)
    shrink = 1.0
    if trouble.startswith("reduced"):
        shrink = chance.choice([0.5, 0.64, 0.707])
    elif trouble.startswith("fit"):
        shrink = chance.choice([0.94, 0.96, 0.97])
    true, step = ratio / shrink, 0.3048 if way == "ft" else 0.05
    columns = [step * round(chance.uniform(2.2, 6.5) / step) for _ in range(chance.choice([3, 4]))]
    rows = [step * round(chance.uniform(2.2, 6.5) / step) for _ in range(chance.choice([2, 3]))]
    pt = 1.0 / (true * POINT)
    width, height = (sum(columns) + 1) * pt, (sum(rows) + 1) * pt
    paper = Paper((2 * width + 500, height + 500))
    sheet = Drawn(paper, way, chance.choice(["tick", "arrow", "filled arrow", "dot"]), 7.0 * shrink, chance)
    stretch = chance.choice([0.9, 1.12]) if trouble.startswith("stretched") else 1.0
    sheet.plan(150, 150, pt, columns, rows, stretch)
    _write_on(sheet, trouble, ratio, pt, (columns, rows), stretch)
    truths = {"stretched": (), "stretched, a third edited": (), "not to scale": (), "two plans": (true, 2 * true)}
    return paper.data(), truths.get(trouble, (true,))


def _write_on(
    sheet: Drawn, trouble: str, ratio: float, pt: float, rooms: tuple[list[float], list[float]], stretch: float
) -> None:
    """Write the note, the dimensions and the rest of a made sheet with its trouble."""
    paper, chance, say = sheet.paper, sheet.chance, WAYS[sheet.way]
    columns, rows = rooms
    width, height = paper.page.rect.width, paper.page.rect.height

    def odd(length: float) -> str:
        share = chance.choice([0.7, 0.8, 0.9, 1.15, 1.25, 1.4]) * chance.uniform(0.97, 1.03)
        is_edited = "a third edited" not in trouble or chance.random() < 0.33
        return say(length * share) if is_edited else say(length)

    other = chance.choice([r for r in (20.0, 50.0, 100.0, 200.0, 48.0, 96.0) if abs(r / ratio - 1) > 0.1])
    note = other if trouble.startswith("wrong note") or trouble == "two wrong dimensions" else ratio
    if not trouble.startswith(("bar", "stretched", "not to scale", "two plans")) and "no note" not in trouble:
        paper.write(f"SCALE 1:{note:g}", (width / 2, height - 40), size=sheet.letters)
    for number in range(12):
        paper.write(f"GENERAL REMARK {chance.choice('ABCDEFG')}", (width - 120, 60 + 14 * number), size=sheet.letters)
    said = odd if trouble == "not to scale" or "a third edited" in trouble else say
    if trouble.startswith("thousands"):
        said = lambda m: f"{round(100 * m):,}"  # noqa: E731
        columns = [columns[0], *(3 * length for length in columns[1:])]
    if trouble == "mixed units":
        ways = chance.sample(list(WAYS), 2)
        said = lambda m: WAYS[chance.choice(ways)](m)  # noqa: E731
    is_bare = any(
        word in trouble for word in ("no dimensions", "detail", "site plan", "sizes", "bar", "another plan", "view")
    )
    if trouble == "two dimensions" or trouble == "two wrong dimensions":
        sheet.chain(150, 110, pt, columns[:2], 0, say)
    elif not is_bare:
        sheet.chain(150, 110, pt * stretch, columns, 0, said, 0.2)
        sheet.chain(110, 150, pt, rows, 1, said)
    beside = 150 + (sum(columns) + 1) * pt + 80
    if "detail" in trouble:
        big = pt * ratio / chance.choice([5.0, 10.0, 20.0])
        for place, length in enumerate((0.15, 0.35, 0.6, 0.9, 0.45)):
            sheet.chain(beside, 150 + 50 * place, big, [length * 0.5], 0, say)
    if "site plan" in trouble:
        small = pt * ratio / chance.choice([200.0, 500.0]) if ratio < 100 else pt / 4
        sheet.chain(beside, 150, small, [9.5, 14.0, 21.5, 12.3], 0, say, 0.0)
        sheet.chain(beside - 20, 170, small, [11.0, 16.5, 7.4, 18.1], 1, say, 0.0)
    if trouble in ("two plans", "dimensions of another plan"):
        half = pt / 2
        sheet.plan(beside, 150, half, columns, rows)
        sheet.chain(beside, 110, half, columns, 0, say)
        sheet.chain(beside - 40, 150, half, rows, 1, say)
    if "view" in trouble:
        other = pt * chance.choice([0.5, 2 / 3, 0.75, 4 / 3, 1.5, 2.0])
        sheet.plan(beside, 150, other, columns[:2], rows[:2], has_doors=chance.random() < 0.5)
        sheet.chain(beside, 110, other, columns[:2], 0, say)
        sheet.chain(beside - 40, 150, other, rows[:2], 1, say)
    if trouble == "two plans":
        for x, n in ((150 + sum(columns) * pt / 2, ratio), (beside + sum(columns) * pt / 4, 2 * ratio)):
            paper.write(f"PLAN 1:{n:g}", (x, 150 + (sum(rows) + 1) * pt + 40), size=sheet.letters)
    if "bar" in trouble.split() or trouble == "wrong bar":
        unit = pt / 2 if trouble == "wrong bar" else pt
        places = [150 + n * unit for n in (0, 1, 2, 5)]
        for index, (a, b) in enumerate(pairwise(places)):
            paper.page.draw_rect((a, height - 90, b, height - 85), width=0.4, fill=(index % 2,) * 3)
        for place, label in zip(places, ("0", "1", "2", "5 m"), strict=True):
            paper.write(label, (place, height - 97), size=sheet.letters)
    if "sizes" in trouble or trouble == "numbers in rooms":
        for j, top in enumerate(accumulate([0.0, *rows[:-1]], lambda a, b: a + b + 0.2)):
            for i, left in enumerate(accumulate([0.0, *columns[:-1]], lambda a, b: a + b + 0.2)):
                text = f"{say(columns[i])} x {say(rows[j])}" if "sizes" in trouble else str(100 * (j + 1) + i)
                paper.write(
                    text, (150 + (left + columns[i] / 2) * pt, 150 + (top + rows[j] / 2) * pt), size=sheet.letters
                )


def print_made(count: int, seed: int) -> None:
    """Draw so many sheets, the troubles in turn, read each as the program does, and print how they came out."""
    table: dict[str, dict[str, int]] = {}
    for number in range(count):
        trouble = TROUBLES[number % len(TROUBLES)]
        data, true = made_sheet(trouble, seed + number)
        sheet = read_sheets(data, "made.pdf")[0][0]
        try:
            made = read_scales(data, sheet, read_linework(data, sheet), read_lines(data, sheet))
        except CalibrationError:
            word = "asked"
        else:
            said = made[0][1].ratio
            is_right = any(abs(math.log(said / one)) <= RIGHT for one in true) and len(made) >= len(true)
            is_sure = not words_of(made[0][1])[0]
            word = (
                ("right" if is_right else "WRONG AND SURE")
                if is_sure
                else "right, asked"
                if is_right
                else "wrong, asked"
            )
            if is_sure and not is_right:
                print(f"{trouble} {seed + number}: said 1:{said:.2f}, is {true}")
        table.setdefault(trouble, {}).setdefault(word, 0)
        table[trouble][word] += 1
    for trouble, words in table.items():
        print(f"{trouble:34s} {'; '.join(f'{word} {n}' for word, n in sorted(words.items()))}")
    every = sorted({word for words in table.values() for word in words})
    print("; ".join(f"{word}: {sum(words.get(word, 0) for words in table.values())}" for word in every))


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("names", nargs="*")
    parser.add_argument("--shuffles", type=int, default=0)
    parser.add_argument("--made", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    wanted = parser.parse_args()
    if wanted.made:
        return print_made(wanted.made, wanted.seed)
    counts: dict[str, int] = {}
    print(f"{'sheet':36s} {'true':>8s} {'said':>8s} {'± (k=2)':>8s} {'from':10s} {'agree':>8s}  s    verdict")
    for known, folder in pages(wanted.names):
        start = time.process_time()
        page = opened(known, folder)
        reading = read_scale(page.data, page.sheet, page.linework, page.lines)
        seconds = time.process_time() - start
        word = verdict(reading, page.m_per_pt)
        counts[word] = counts.get(word, 0) + 1
        said = f"{ratio_of(reading.m_per_pt):8.2f}" if reading.m_per_pt else f"{'-':>8s}"
        true = f"{ratio_of(page.m_per_pt):8.2f}" if page.m_per_pt else f"{'none':>8s}"
        drawn = sum(vote.known is not None for vote in reading.votes)
        label = f"{Path(known.name).stem} {known.page}"
        line = f"{label:36s} {true} {said} {2 * reading.u:8.2%} {reading.reader or '-':10s}"
        print(f"{line} {len(reading.agreeing):3d}/{drawn:<4d} {seconds:5.1f}  {word}", flush=True)
        for doubt in reading.doubts:
            print(f"    {doubt}")
        if wanted.shuffles and drawn > 1:
            claimed, sure = claims_when_shuffled(reading, wanted.shuffles)
            print(f"    shuffled {wanted.shuffles} times: {claimed} false claims, {sure} of them without a word")
    print("; ".join(f"{word}: {count}" for word, count in sorted(counts.items())))
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB")


if __name__ == "__main__":
    main()
