"""The register after revisions: what replaces what, where walls stand, and that a job on two revisions says so."""

from __future__ import annotations

import shutil
from collections.abc import Iterable
from pathlib import Path

import openpyxl
import pymupdf
import pytest
from typer.testing import CliRunner

from takeoff.actions import find_sheet
from takeoff.actions.addendum import standing_sheets
from takeoff.actions.comparing import compare_revision
from takeoff.actions.points.deriving import open_points
from takeoff.actions.revising import accept_revision
from takeoff.cli.tree import app
from takeoff.job.store import JobStore
from takeoff.model.plan import Sheet
from takeoff.report.kinds import KINDS
from tests.jobs import PLANS
from tests.revise.conftest import compared, job_of


def take_in(store: JobStore, sheet: Sheet, plan: str, accept: str = "all") -> None:
    accept_revision(store, compared(store, plan, sheet), accept)  # type: ignore[arg-type]


def test_a_chain_of_revisions_and_one_gone_back_leave_a_true_register(tmp_path: Path) -> None:
    with job_of(tmp_path, "A") as store:
        first = find_sheet(store.job, "A-101").id
        take_in(store, find_sheet(store.job, "A-101"), "facility-rev-b.pdf")
        second = find_sheet(store.job, "A-101").id
        take_in(store, find_sheet(store.job, "A-101"), "facility-rev-c.pdf")
        third = find_sheet(store.job, "A-101").id
        assert [store.job.sheets[i].replaced_by for i in (first, second, third)] == [second, third, None]
        take_in(store, store.job.sheets[third], "facility-rev-b.pdf")
        assert [store.job.sheets[i].replaced_by for i in (first, second, third)] == [second, None, second]
        assert find_sheet(store.job, "A-101").id == second
        assert find_sheet(store.job, "A-101 (C)").id == third
        assert [s.id for s in standing_sheets(store.job) if "A-101" in s.number] == [second]
        # nothing is asked of the walls that stand on the sheet that was gone back to
        points = [(p.where.sheet, p.why) for p in open_points(store.job).open if p.kind == "sheet"]
        assert second not in {sheet for sheet, why in points if "is a newer revision of it" in why}
        assert any(sheet == second and "in place of one that is revision C" in why for sheet, why in points)


def test_a_sheet_that_was_renumbered_is_the_successor_of_the_one_that_it_replaces(tmp_path: Path) -> None:
    with pymupdf.open(PLANS / "facility-rev-b.pdf") as plan:
        page = plan[0]
        spot = page.search_for("A-101")[-1]
        page.add_redact_annot(spot, text="A-111", fontsize=14)
        page.apply_redactions(graphics=0)
        data = plan.tobytes()
    with job_of(tmp_path, "A") as store:
        old = find_sheet(store.job, "A-101")
        found = compare_revision(store, old, "new.pdf", data)
        assert found.sheet.number == "A-111"
        assert "the new sheet is numbered A-111, the old one A-101" in found.doubts
        accept_revision(store, found, "sure")
        assert store.job.sheets[old.id].replaced_by == found.sheet.id
        assert any("A-111" in p.why for p in open_points(store.job).open if p.where.sheet == old.id)


@pytest.fixture(scope="module")
def on_two_made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("on_two")
    with job_of(folder, "A") as store:
        take_in(store, find_sheet(store.job, "A-101"), "facility-rev-b.pdf", "sure")
    return folder / "A.takeoff"


@pytest.fixture
def on_two(tmp_path: Path, on_two_made: Path) -> Path:
    """A job of which three walls still stand on the sheet that was replaced."""
    return Path(shutil.copy(on_two_made, tmp_path))


def test_a_job_that_stands_partly_on_a_replaced_sheet_says_so_wherever_figures_are_read(on_two: Path) -> None:
    def said(*words: str) -> str:
        done = CliRunner().invoke(app, [str(w) for w in words])
        assert done.exit_code in (0, 1), done.output
        return " ".join(done.output.split())

    register = said("sheets", on_two)
    assert "3 walls, replaced by" in register
    assert "A-101 (A)" in said("points", on_two)
    assert "A-101 (A)" in said("estimate", on_two)
    assert "A-101 (A)" in said("measure", on_two)


def words_in(files: Iterable[Path]) -> str:
    """All that stands in files, as other libraries read them."""
    out = []
    for file in files:
        if file.suffix == ".pdf":
            with pymupdf.open(file) as pages:
                out += [page.get_text() for page in pages]
        elif file.suffix == ".xlsx":
            book = openpyxl.load_workbook(file)
            out += [str(c.value) for sheet in book for row in sheet for c in row if c.value is not None]
        else:
            out.append(file.read_text(encoding="utf-8-sig", errors="replace"))
    return " ".join(" ".join(out).split())


@pytest.mark.parametrize(("kind", "edition"), [(k.name, e) for k in KINDS for e in k.files if k.name != "dxf"])
def test_every_kind_of_report_says_that_walls_stand_on_a_replaced_sheet(on_two: Path, kind: str, edition: str) -> None:
    """A DXF holds each sheet's walls apart and no figures."""
    out = on_two.with_name("out")
    done = CliRunner().invoke(
        app, ["report", str(on_two), "--out", str(out), f"--{kind}", "--edition", edition, "--allow-open"]
    )  # fmt: skip
    assert done.exit_code in (0, 1), done.output
    assert "A-101 (A)" in words_in(out.iterdir())
