"""The revision as pages for the person who agrees to its cost, and the sample revisions as their script draws them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pymupdf
import pytest

from sample_plans.revisions import revision_files
from takeoff.actions.deltas import revision_delta, write_change_order
from takeoff.actions.revising import accept_revision
from takeoff.job.store import JobStore
from takeoff.report.change_order import delta_tables
from takeoff.units import Display
from tests.jobs import DONE, PLANS
from tests.revise.conftest import compared


def test_the_sample_revisions_on_disk_are_what_the_script_makes() -> None:
    for name, content in revision_files().items():
        assert (PLANS / name).read_bytes() == content, name


@pytest.fixture
def pages(store: Callable[[str], JobStore], tmp_path: Path) -> Path:
    with store("B") as opened:
        before = opened.job
        found = compared(opened, "facility-rev-c.pdf")
        taken = [r.before.id for r in found.runs if r.before.id != "108-walls"]
        accept_revision(opened, found, taken)
        delta = revision_delta(before, opened.job, found)
        return write_change_order(opened, found, delta, tmp_path / "change.pdf", taken=taken, at=DONE["sign"]()[1])


def test_the_pages_tell_what_changed_what_it_costs_and_what_waits(pages: Path) -> None:
    assert b"pdfuaid:part" in pages.read_bytes()  # ISO 14289-1
    with pymupdf.open(pages) as document:
        text = " ".join(" ".join(page.get_text() for page in document).split())
        drawn = document[-1].get_drawings()
    assert "Change of A-101: B 2026-03-16 to C 2026-04-02" in text
    assert "103-splash-wall: not sure, taken by hand: wall gone" in text
    # the splash wall: 8 ft × 6 ft on both faces
    assert "Net area deducted 96.0 sf" in text
    assert "Not taken in, measured as on the old revision • 108-walls" in text
    assert 'text "12\'-0"" is now "14\'-0""' in text
    colours = {tuple(round(c, 2) for c in d["color"]) for d in drawn if d.get("color")}
    # vermilion for what is gone, blue for what is new
    assert {(0.84, 0.37, 0.0), (0.0, 0.45, 0.7)} <= colours


def test_the_tables_keep_added_and_deducted_apart(store: Callable[[str], JobStore]) -> None:
    with store("A") as opened:
        before = opened.job
        found = compared(opened, "facility-rev-b.pdf")
        accept_revision(opened, found, "all")
        delta = revision_delta(before, opened.job, found)
    rooms, runs, _, material = delta_tables(delta, Display(system="imperial"))
    rows = {str(row[0]): row[3:5] for row in rooms.rows}
    # by hand, in square feet: 102 gets its window of 4 × 3 back; 103 gains 2 ft of wall 10 ft high less a door of 21;
    # 106 loses 2 ft of wall 9 ft high
    assert rows["102 Gowning"] == pytest.approx((12.0, 0.0), abs=0.01)
    assert rows["103 Wash"] == pytest.approx((0.0, 1.0), abs=0.01)
    assert rows["106 Cold room"] == pytest.approx((0.0, 18.0), abs=0.01)
    # below the lines: what whole packs make of it, then the change of the price
    for table in (rooms, runs):
        assert "Packs are whole" in str(table.rows[-1][0])
        assert table.total is not None
        assert sum(round(100 * float(row[-1])) for row in table.rows) == round(100 * float(table.total[-1]))
    assert rooms.total is not None
    assert round(100 * float(rooms.total[-1])) == round(100 * delta.price.change)
    assert [str(row[0]) for row in runs.rows[:-1]] == [
        "102 Gowning: 102-walls", "103 Wash: 103-walls", "104 Process: 104-walls",
        "106 Cold room: 106-walls",
    ]  # fmt: skip
    # adhesive of the panels, a product in litres, in the units of the job
    assert [(row[0], row[3]) for row in material.rows] == [("Panel adhesive, trowelled", "gal")]
