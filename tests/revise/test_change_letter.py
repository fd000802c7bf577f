"""The change order that a client is sent: its sums, what it never says, and the files that other programs read."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pypdf
import pytest
import shapely

from takeoff.actions import make_estimate, open_job, send_change
from takeoff.actions.change_letters import SentChange
from takeoff.actions.deltas import revision_delta
from takeoff.actions.revising import accept_revision
from takeoff.cli.main import run
from takeoff.errors import ReportError
from takeoff.job.store import JobStore
from takeoff.report.change_letter import ChangeTerms, letter_kind
from takeoff.report.change_order import LABEL, ClipSide, label_places
from takeoff.report.letterhead import Letterhead
from takeoff.revise.delta import Delta, amounts_by_cost, amounts_by_unit_price
from takeoff.units import Display
from tests.jobs import DONE, PLANS
from tests.report.page_texts import page_texts
from tests.revise.conftest import compared, job_of

HEAD = Letterhead(company=("Clean Wall Works", "1 Kiln Lane"), qualifications=("Work is done on weekdays.",))
TERMS = ChangeTerms(number="07", to="The general contractor", reason="Addendum 2", letterhead=HEAD)
MONEY = re.compile(r"-?[\d,]+\.\d\d")


@pytest.fixture(scope="module")
def sent_by(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[..., tuple[SentChange, Delta, JobStore]]]:
    """The sample's revision B taken in whole, or C with the wall that is to be looked at, and sent."""
    made: dict[str, Any] = {}

    def make(issue: str, ending: str, terms: ChangeTerms = TERMS) -> tuple[SentChange, Delta, JobStore]:
        if issue not in made:
            folder = tmp_path_factory.mktemp(issue)
            old, plan = {"B": ("A", "facility-rev-b.pdf"), "C": ("B", "facility-rev-c.pdf")}[issue]
            store = job_of(folder, old)
            before = store.job
            found = compared(store, plan)
            taken = [r.before.id for r in found.runs if r.verdict != "not on this sheet"]
            accept_revision(store, found, taken)
            made[issue] = (folder, store, before, found, taken, revision_delta(before, store.job, found))
        folder, store, before, found, taken, delta = made[issue]
        path = folder / f"change-{terms.by}.{ending}"
        old_data = store.source(found.old.source)
        sent = send_change(
            before, store.job, found, delta, path, terms, taken=taken, at=DONE["sign"]()[1], old_data=old_data
        )  # fmt: skip
        assert sent is not None
        return sent, delta, store

    yield make
    for _, store, *_ in made.values():
        store.close()


def words_of(pdf: Path) -> str:
    """The text as another library reads it."""
    return " ".join(page_texts(pdf))


@pytest.mark.parametrize("issue", ["B", "C"])
def test_the_lines_by_cost_sum_to_the_change_of_the_price_to_the_cent(sent_by, issue: str) -> None:
    sent, delta, _ = sent_by(issue, "csv")
    with sent.path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.reader(file))
    added, deducted = rows[0].index("Added (USD)"), rows[0].index("Deducted (USD)")
    sums = [sum(Decimal(row[c]) for row in rows[1:-1] if row[c]) for c in (added, deducted)]
    assert [Decimal(rows[-1][c]).quantize(Decimal("0.01")) for c in (added, deducted)] == sums
    assert sums[0] - sums[1] == Decimal(f"{delta.price.change:.2f}")
    assert len(rows) > 3


def test_by_unit_price_each_amount_is_found_again_from_the_printed_figures(sent_by) -> None:
    terms = ChangeTerms(number="08", by="unit-price")
    sent, delta, _ = sent_by("B", "csv", terms)
    unit = Decimal(MONEY.findall(sent.letter.basis)[-1])
    assert unit > 0
    rows = {row.room: row for row in sent.letter.lines}
    # by hand, in square feet: 102 gets its window of 4 × 3 back; 106 loses 2 ft of wall 9 ft high
    assert rows["102 Gowning"].amount == float(12 * unit)
    assert rows["106 Cold room"].amount == float(-18 * unit)
    # 104 has a door moved, which changes what the work costs but no area
    assert "no coated area changes in 104 Process" in "".join(sent.notes)
    assert "104 Process" not in rows
    assert sent.letter.change != delta.price.change
    assert Display(system="imperial", currency="USD").money(delta.price.change) in "".join(sent.notes)


@pytest.mark.parametrize("issue", ["B", "C"])
def test_the_page_never_says_what_is_the_contractors_own_affair(sent_by, issue: str) -> None:
    sent, _, store = sent_by(issue, "pdf")
    text = words_of(sent.path)
    products = [line.name for line in make_estimate(store.job).estimate.materials]
    assert products
    assert store.job.runs
    for word in ("man-hour", "left over", "left-over", "packs", "registered", *products, *store.job.runs):
        assert word.lower() not in text.lower(), word


def test_the_page_has_head_reason_lines_sums_terms_and_signatures(sent_by) -> None:
    sent, delta, _ = sent_by("B", "pdf")
    text = words_of(sent.path)
    for words in (
        "Clean Wall Works", "Change order 07", "The general contractor", "Addendum 2", "A-101",
        "102 Gowning", "Area before", "Area after", "Total added", "Total deducted", "Change of price",
        "It holds for 30 days", "Work is done on weekdays.", "For the contractor",
        "For the owner or general contractor",
        "Test old coatings for lead and asbestos",
    ):  # fmt: skip
        assert words in text, words
    assert f"{abs(delta.price.change):,.2f}" in text
    root = pypdf.PdfReader(sent.path).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert b"pdfuaid:part" in sent.path.read_bytes()  # ISO 14289-1


def test_a_wall_taken_although_it_was_to_be_looked_at_is_marked(sent_by) -> None:
    sent, _, _ = sent_by("C", "pdf")
    judged = [line.room for line in sent.letter.lines if line.is_judged]
    assert judged
    text = words_of(sent.path)
    assert all(f"{room} *" in text for room in judged)
    assert "A line marked * rests on walls" in text


def test_the_sender_is_told_where_amount_and_area_go_opposite_ways(sent_by) -> None:
    sent, _, _ = sent_by("B", "csv")
    # 102 loses a window: 12 sf more wall, but no coated edges of it any more; 103 loses 1 sf, but gains a wall's work
    (gowning,) = [line for line in sent.letter.lines if line.room == "102 Gowning"]
    assert gowning.after - gowning.before == pytest.approx(12.0, abs=0.05)
    assert gowning.amount < 0.0
    assert "in 102 Gowning, 103 Wash the amount goes the other way" in "".join(sent.notes)


def test_the_page_says_why_more_area_may_cost_less(sent_by) -> None:
    sent, _, _ = sent_by("B", "pdf")
    (line,) = [one for one in sent.letter.lines if one.after > one.before and one.amount < 0.0]
    assert line.room in words_of(sent.path).split("Edges round openings are priced too;")[1]


def test_the_workbook_adds_up_its_own_lines(sent_by) -> None:
    sent, delta, _ = sent_by("B", "xlsx")
    formulas = openpyxl.load_workbook(sent.path)["Lines"]
    values = openpyxl.load_workbook(sent.path, data_only=True)["Lines"]
    last = max(row for row in range(1, values.max_row + 1) if values.cell(row, 1).value == "Total")
    assert str(formulas.cell(last, 5).value).startswith("=SUM(E2:")
    each_way = [sum(values.cell(r, c).value or 0 for r in range(2, last)) for c in (5, 6)]
    assert [values.cell(last, c).value for c in (5, 6)] == pytest.approx(each_way, abs=1e-9)
    assert each_way[0] - each_way[1] == pytest.approx(delta.price.change, abs=1e-9)


def test_another_ending_is_refused_with_those_that_are_known() -> None:
    with pytest.raises(ReportError, match=r"letter\.docx"):
        letter_kind(Path("letter.docx"))


@pytest.mark.parametrize(
    ("changes", "total", "amounts"),
    [
        # by hand: the rest of 0.01 goes to the larger change, of -0.02 to both
        ([2.0, 1.0], 3.01, (2.01, 1.0)),
        ([1.0, -1.0], -0.02, (0.99, -1.01)),
        # no room changes the price: the whole goes by area, 3 to 1
        ([0.0, 0.0], 8.0, (6.0, 2.0)),
        ([], 0.0, ()),
    ],
)
def test_what_rooms_leave_of_a_change_is_spread_over_them(changes, total, amounts) -> None:
    areas = [3.0, -1.0][: len(changes)]
    assert amounts_by_cost(changes, total, areas=areas, currency="USD") == amounts


def test_a_half_cent_is_rounded_away_from_nothing() -> None:
    # 0.5 × 12.25 = 6.125
    assert amounts_by_unit_price(["1.0", "1.5"], ["1.5", "1.0"], "12.25", "USD") == (6.13, -6.13)


@pytest.mark.parametrize(
    ("words", "said"),
    [(["--letter", "order.docx"], ".pdf, .html, .xlsx or .csv"), (["--number", "7"], "Add --letter FILE.")],
)
def test_what_cannot_be_written_is_refused_before_anything_is_taken_in(tmp_path, capsys, words, said) -> None:
    store = job_of(tmp_path, "A")
    sheets = dict(store.job.sheets)
    store.close()
    plan, job = PLANS / "facility-rev-b.pdf", str(tmp_path / "A.takeoff")
    code = run(["revise", job, "--sheet", "A-101", "--plan", str(plan), "--accept", "all", *words])
    assert code != 0
    assert said in capsys.readouterr().err
    with open_job(Path(job)) as again:
        assert dict(again.job.sheets) == sheets


def test_each_room_with_a_line_is_shown_before_and_after_with_only_the_building_marked(sent_by) -> None:
    sent, _, _ = sent_by("B", "html")
    page = sent.path.read_text(encoding="utf-8")
    clips = {clip.room: clip for clip in sent.letter.clips}
    assert list(clips) == [line.room for line in sent.letter.lines]
    assert page.count("data:image/png") == 2 * len(clips)
    gone = clips["102 Gowning"]
    # a window that is taken out is drawn on the old revision alone, and the title block that moved is not marked
    assert gone.words == ("window C 4'-0\" wide is taken out",)
    assert gone.before.lines
    assert gone.before.places
    assert not gone.after.places
    for side in (side for clip in clips.values() for side in (clip.before, clip.after)):
        x0, y0, x1, y1 = side.box
        assert all(x0 <= x <= x1 and y0 <= y <= y1 for _, (x, y) in side.places)
    pictures = pypdf.PdfReader(sent_by("B", "pdf")[0].path)
    assert sum(len(p.images) for p in pictures.pages) >= 2 * len(clips)


def test_labels_of_a_clip_cover_neither_one_another_nor_a_printed_word() -> None:
    places = tuple((i, (100.0 + 6.0 * i, 100.0)) for i in range(1, 9))
    side = ClipSide(page_pdf=b"", box=(0.0, 0.0, 340.0, 260.0), lines=(), places=places, is_new=True)
    radius = LABEL * 340.0
    word = (110.0, 70.0, 140.0, 80.0)
    found = label_places(side, [word])
    assert min(math.dist(p, q) for i, p in enumerate(found) for q in found[:i]) >= 2.0 * radius
    assert all(shapely.box(*word).distance(shapely.Point(p)) >= radius for p in found)
