"""Time a whole new set against a job: ``python -m tests.bench.addendum [SHEETS]``.

Forty made sheets, a fifth of them plans with every room traced; three plans changed. Prints wall and processor time of
comparing, what each sheet was found to be, and what taking it in adds to the register.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pymupdf

from takeoff.actions import new_job
from takeoff.actions.addendum import accept_set, compare_set
from takeoff.job.edits import Batch, PutRoom, PutRun, SetCalibration
from takeoff.job.job import JobSettings
from takeoff.model.plan import Calibration
from tests.jobs import DONE
from tests.revise import made_issues as made
from tests.revise.made_cases import AS_IT_IS, MOVED, traced

CHANGED = 3
LIMIT_S = 60.0
"""What a set of forty sheets may take on two cores."""


def gathered(pages: list[bytes]) -> bytes:
    with pymupdf.open() as out:
        for data in pages:
            with pymupdf.open(stream=data) as page:
                out.insert_pdf(page)
        return bytes(out.tobytes(deflate=True))


def detail(number: str, lines: int) -> bytes:
    """A sheet of details: many lines, a title block, nothing traced."""
    rng = random.Random(number)
    with pymupdf.open() as out:
        page = out.new_page(width=2592, height=1728)
        shape = page.new_shape()
        for _ in range(lines):
            x, y = rng.uniform(60, 2200), rng.uniform(60, 1600)
            shape.draw_line((x, y), (x + rng.uniform(-40, 40), y + rng.uniform(-40, 40)))
        shape.finish(width=0.4)
        shape.commit()
        page.insert_text((2350, 1600), f"DETAILS {number}", fontsize=12)
        page.insert_text((2350, 1660), number, fontsize=24)
        return bytes(out.tobytes(deflate=True))


def main(count: int) -> None:
    plans = count // 5
    issues = [made.first_issue(8000 + i) for i in range(plans)]
    papers = [replace(AS_IT_IS, number=f"A-1{i:02d}", title=f"FLOOR PLAN {i}") for i in range(plans)]
    old = [made.draw(issue, issue, paper, "outline") for issue, paper in zip(issues, papers, strict=True)]
    details = [detail(f"A-5{i:02d}", 3000) for i in range(count - plans)]
    new = list(old)
    for i in range(CHANGED):
        changed = made.opening_moved(issues[i].copy(), random.Random(i), 0.5) or issues[i]
        paper = replace(papers[i], revision="2", off=MOVED.off)
        new[i] = made.draw(changed, issues[i], paper, "outline")
    with tempfile.TemporaryDirectory() as name:
        store, _ = new_job(
            Path(name) / "set.takeoff", [("set.pdf", gathered([*(s.data for s in old), *details]))],
            JobSettings(name="Set"), **DONE,
        )  # fmt: skip
        with store:
            edits: list[object] = []
            for i, (issue, sheet) in enumerate(zip(issues, old, strict=True), start=1):
                rooms, runs = traced(issue, sheet, np.random.default_rng(i))
                edits.append(SetCalibration(calibration=Calibration(sheet=i, mx=sheet.m_per_pt, my=sheet.m_per_pt)))
                edits += [PutRoom(room=replace(r, id=f"{i}-{r.id}")) for r in rooms]
                edits += [PutRun(run=replace(r, id=f"{i}-{r.id}", room=f"{i}-{r.room}", sheet=i)) for r in runs]
            store.do(Batch(title="Trace", edits=tuple(edits)))  # type: ignore[arg-type]
            data = gathered([*(s.data for s in new), *details])
            start, cpu = time.perf_counter(), time.process_time()
            sheets = compare_set(store, "new.pdf", data)
            wall, busy = time.perf_counter() - start, time.process_time() - cpu
            before = len(store.job.sheets)
            taken = accept_set(store, sheets, "all")
            states = Counter(s.state for s in sheets)
            sys.stdout.write(
                f"{count} sheets: {dict(states)}; compared in {wall:.1f} s (processor {busy:.1f} s, limit "
                f"{LIMIT_S:.0f} s on two cores); {len(taken)} taken in, register {before} to {len(store.job.sheets)}\n"
            )


if __name__ == "__main__":
    main(int(sys.argv[1]) if sys.argv[1:] else 40)
