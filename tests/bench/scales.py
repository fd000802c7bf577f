"""Read the scale of every sheet whose scale is known: what is said, whether it is sure, whether it is right.

Usage: python -m tests.bench.scales [NAME ...] [--shuffles N]
The sample plans are always read; the sheets of reference too where TAKEOFF_REFERENCE names their folder. With
--shuffles the lengths of each sheet are shuffled among its dimensions that many times: a scale that is claimed then is
a false one. A sheet is *right* within half a hundredth, *asked* where no scale is given or it carries an open point.
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
from pathlib import Path

from takeoff.model.plan import Sheet
from takeoff.sheet.dxf_plan import drawing_to_pdf
from takeoff.sheet.files import read_sheets
from takeoff.sheet.scales import ratio_of
from takeoff.sheet.text import TextLine, read_lines
from takeoff.trace.drawing.linework import Linework, read_linework
from takeoff.trace.scales.scale_votes import read_scale
from takeoff.trace.scales.scale_weighing import ScaleReading, weigh_votes

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

    def noting(pages: list[plan.MarkedPage], name: str) -> bytes:
        made.append(pages[0].scale)
        return write(pages, name)

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


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("names", nargs="*")
    parser.add_argument("--shuffles", type=int, default=0)
    wanted = parser.parse_args()
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
