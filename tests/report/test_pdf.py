from __future__ import annotations

import io
import re
import struct
import zlib
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pypdf
import pytest

from takeoff.errors import ReportError
from takeoff.estimate.days.works import DayPlan, PlannedWork, RoomReady
from takeoff.exchange.catalogue_file import default_catalogue
from takeoff.model.costs import PriceLine
from takeoff.report.arithmetic import group_arithmetic
from takeoff.report.bill_tables import bill, build_up_tables
from takeoff.report.content import ReportContent
from takeoff.report.files import write_whole
from takeoff.report.html import report_html
from takeoff.report.letterhead import Letterhead, usual_exclusions, usual_qualifications
from takeoff.report.pdf import report_data, report_pdf
from takeoff.report.planning_tables import Planning
from takeoff.report.tables import arithmetic_table
from takeoff.report.workbook import report_workbook
from tests.report.page_texts import page_texts

LOGO_SIZE = (97, 31)
COMPANY = ("Sample Wall Coatings", "1 Example Street, #panic(1) $x$ <a>", "Licence 000000")


def _png(width: int, height: int) -> bytes:
    """A grey picture, by the PNG specification (ISO/IEC 15948)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    rows = b"".join(b"\x00" + b"\x80" * width for _ in range(height))
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")


LETTERHEAD = Letterhead(
    company=COMPANY, logo=_png(*LOGO_SIZE), prepared_by="A. Sample", exclusions=("Work on Sundays.",)
)


def _titles(outline: list[Any], level: int = 0) -> Iterator[tuple[int, str]]:
    for item in outline:
        if isinstance(item, list):
            yield from _titles(item, level + 1)
        else:
            yield level, str(item.title)


def _tagged(node: Any) -> Iterator[Any]:
    """Structure elements below one, in reading order."""
    node = node.get_object()
    if isinstance(node, list):
        for kid in node:
            yield from _tagged(kid)
    elif isinstance(node, dict):
        if "/S" in node:
            yield node
        if "/K" in node:
            yield from _tagged(node["/K"])


def _pictures(resources: Any) -> Iterator[tuple[int, int]]:
    for thing in (resources.get_object().get("/XObject") or {}).values():
        thing = thing.get_object()
        if thing["/Subtype"] == "/Image":
            yield thing["/Width"], thing["/Height"]
        elif "/Resources" in thing:
            yield from _pictures(thing["/Resources"])


@pytest.fixture(scope="module")
def printed(content: ReportContent, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("pdf") / "report.pdf"
    return write_whole(path, report_pdf(replace(content, letterhead=LETTERHEAD)))


@pytest.fixture(scope="module")
def reader(printed: Path) -> pypdf.PdfReader:
    return pypdf.PdfReader(printed)


@pytest.fixture(scope="module")
def texts(printed: Path) -> list[str]:
    return page_texts(printed)


def test_another_reader_finds_the_totals_on_the_first_page(content, texts):
    text = texts[0]
    total = content.by_room.total.quantities
    price = content.estimate.line("price").amount
    for figure in (
        content.display.area(total.net_area),
        content.display.area(total.deducted_area),
        f"{price:,.2f}",
        f"{content.estimate.hours:,.1f} man-hours",
        content.date,
        "A. Sample",
        *content.scales,
    ):
        assert figure in text, figure


def test_the_report_names_every_room_every_caution_and_every_system_on_the_plans(content, texts):
    text = " ".join(texts)
    for item in content.by_room.items:
        assert item.label in text
    for caution in content.estimate.cautions:
        assert " ".join(caution.split()[:4]) in text
    for picture in content.pictures:
        for mark in picture.marks:
            assert content.system_name(mark.system) in text


def test_every_page_carries_its_number_and_the_title_is_the_job(content, reader, texts):
    assert reader.metadata is not None
    assert reader.metadata.title == content.job
    assert reader.metadata.author == COMPANY[0]
    assert reader.metadata.creation_date is not None
    assert reader.metadata.creation_date.date().isoformat() == content.date
    for number, text in enumerate(texts, start=1):
        assert f"Page {number} of {len(texts)}" in text
        if number > 1:
            assert text.startswith(f"{COMPANY[0]} {content.job}")  # the running head


def test_the_logo_and_the_company_are_at_the_head_of_the_first_page(reader, texts):
    assert LOGO_SIZE in set(_pictures(reader.pages[0]["/Resources"]))
    for page in reader.pages[1:]:
        assert LOGO_SIZE not in set(_pictures(page["/Resources"]))
    for line in COMPANY:
        assert line in texts[0]


def test_the_parts_stand_in_order_with_the_arithmetic_last(reader, texts):
    titles = list(_titles(reader.outline))
    parts = [title.split(" ", 1)[1] for level, title in titles if level == 0]
    assert parts == [
        "Summary",
        "What is included",
        "What is not included",
        "Qualifications",
        "Safety",
        "Marked plans",
        "Developed elevations",
        "Bill of quantities",
        "Quantities",
        "Price",
        "Materials",
        "Labour",
        "Appendix: arithmetic",
    ]
    start = next(i for i, text in enumerate(texts) if "Appendix: arithmetic How each" in text)
    assert len(texts) - start <= 4  # of 505 lines
    assert "Contents" in texts[1]


def test_every_room_with_walls_has_its_heading_among_the_elevations(content, reader):
    titles = [title for _, title in _titles(reader.outline)]
    start = next(i for i, t in enumerate(titles) if t.endswith("Developed elevations"))
    end = next(i for i, t in enumerate(titles) if t.endswith("Bill of quantities"))
    assert [t.split(" ", 1)[1] for t in titles[start + 1 : end]] == [i.label for i in content.by_room.items]


def test_the_report_says_that_it_is_accessible_and_its_tags_bear_it_out(content, reader):
    root = reader.trailer["/Root"].get_object()
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert b"pdfuaid:part" in root["/Metadata"].get_object().get_data()  # ISO 14289-1, 5
    kinds: dict[str, list[Any]] = {}
    for node in _tagged(root["/StructTreeRoot"]):
        kinds.setdefault(node["/S"], []).append(node)
    assert {"/H1", "/H2", "/Table", "/TH", "/TR", "/L", "/TOC", "/Figure"} <= kinds.keys()
    described = [str(figure.get("/Alt", "")) for figure in kinds["/Figure"]]
    assert all(described)
    for elevation in content.elevations:
        assert any(f"{elevation.run}, {elevation.face} face" in words for words in described)


def test_paper_is_letter_in_imperial_units_and_a4_where_asked(content, reader, tmp_path):
    def sizes(pages: Any) -> set[tuple[int, int]]:
        return {(round(p.mediabox.width), round(p.mediabox.height)) for p in pages}

    assert sizes(reader.pages) == {(612, 792), (792, 612)}  # 8.5 in × 11 in (ANSI/ASME Y14.1), some across
    asked = report_pdf(replace(content, pictures=(), paper="a4"))
    assert sizes(pypdf.PdfReader(io.BytesIO(asked)).pages) == {(595, 842), (842, 595)}  # 210 mm × 297 mm (ISO 216)


def test_metric_jobs_go_on_a4_with_films_in_micrometres_and_a_metric_scale(content, tmp_path):
    few = tuple(e for e in content.elevations if e.run == "104-walls")
    metric = replace(content, display=replace(content.display, system="metric"), pictures=(), elevations=few)
    printed = report_pdf(metric)
    assert round(pypdf.PdfReader(io.BytesIO(printed)).pages[0].mediabox.height) == 842
    text = " ".join(page_texts(printed))
    assert "(µm)" in text
    assert "all at 1:100 on this paper" in text  # a scale of ISO 5455


def test_the_same_report_is_the_same_file(content, tmp_path):
    few = replace(content, pictures=(), elevations=content.elevations[:1])
    assert report_pdf(few) == report_pdf(few)


def test_texts_that_look_like_markup_or_code_are_printed_as_they_are(hostile, tmp_path):
    one = replace(hostile, job='#panic("x") $a$ *b* @c <d>')
    printed = report_pdf(replace(one, letterhead=LETTERHEAD))
    text = page_texts(printed)[0]
    assert '#panic("x") $a$ *b* @c <d>' in text
    assert COMPANY[1] in text
    assert "/JavaScript" not in printed.decode("latin-1")


def test_a_logo_that_cannot_be_drawn_is_refused_with_a_remedy(content, tmp_path):
    torn = replace(LETTERHEAD, logo=LETTERHEAD.logo[:40])
    with pytest.raises(ReportError, match="Check the logo"):
        report_pdf(replace(content, pictures=(), elevations=(), letterhead=torn))


def test_every_row_of_a_table_has_a_text_for_each_column(content):
    tables = [*report_data(content)["tables"]]
    assert tables
    for table in tables:
        assert all(len(row) == len(table["columns"]) for row in table["rows"])
        assert all(isinstance(cell, str) for row in table["rows"] for cell in row)


def test_the_bill_adds_up_to_the_price_and_its_quantities_to_the_total(content):
    def number(text: str) -> float:
        return float(text.replace(",", ""))

    parts = bill(content)
    assert sum(number(part.amount) for part in parts) == pytest.approx(content.estimate.line("price").amount, abs=0.005)
    total, d = content.by_room.total.quantities, content.display
    for words, figure in (
        ("Cove", d.length_number(total.cove_length)),
        ("Inside corners", d.length_number(total.inside_corner_length)),
        ("Outside corners", d.length_number(total.outside_corner_length)),
        ("Terminations and edges of openings", d.length_number(total.termination_length)),
        ("Openings cut out", total.openings),
    ):
        billed = sum(number(line.quantity) for part in parts for line in part.lines if line.words == words)
        assert billed == pytest.approx(figure, abs=0.05 * len(parts) + 0.01)
    for part in parts:
        first = part.lines[0]
        rounding = 0.005 * number(first.quantity) + 0.05 * number(first.rate) + 0.01
        assert number(first.rate) * number(first.quantity) == pytest.approx(number(part.amount), abs=rounding)


def test_the_build_up_sets_out_steps_in_order_with_films_that_follow_from_the_spread(content):
    catalogue = default_catalogue()
    tables = {t.id: t for t in build_up_tables(content.estimate, catalogue, content.display)}
    assert tables.keys() == {s.id for s in content.estimate.systems}
    table = tables["mat-hygienic"]
    names = [str(row[1]).split(".")[0] for row in table.rows]
    steps = [step.name for step in catalogue.system("mat-hygienic").steps]
    assert names == [name for name in steps if name in names]
    assert names.index("Base coat") < names.index("Glass mat, hung in drops") < names.index("Saturating coat")
    assert names.index("Light sanding") < names.index("Vacuum and tack") < names.index("First glaze coat")
    for row in (row for t in tables.values() for row in t.rows if row[6]):
        # 231 in³ to the US gallon (NIST Handbook 44, Appendix C): 1604.17 sf·mil on a gallon
        assert float(str(row[4])) * float(str(row[6])) == pytest.approx(1604.17, rel=0.02)
    dry = sum(int(str(r[3])) * float(str(r[5])) for r in table.rows if r[5] and "cove" not in str(r[1]))
    assert f"{dry:.0f}"[:2] in table.note


def test_steps_that_the_job_does_not_take_are_not_said_to_be_included(content):
    tables = {t.id: t for t in build_up_tables(content.estimate, default_catalogue(), content.display)}
    assert not any(re.search(r"\bcove\b", str(row[1]).lower()) for row in tables["flake-wall"].rows)  # none in its room


def test_the_grouped_arithmetic_leaves_out_no_line(content):
    groups = group_arithmetic(content.estimate, default_catalogue())
    text = "\n".join(
        f"{lead}: {words}"
        for group in (group for made in groups.values() for group in made)
        for lead, words in group.lines
    )
    rows = arithmetic_table(content.estimate).rows
    assert len(rows) > 400
    for row in rows:
        assert str(row[2]).rstrip(".") in text


def test_what_costs_nothing_is_excluded_and_what_is_priced_is_not(content):
    def with_amount(id: str, amount: float) -> list[str]:
        lines = tuple(replace(p, amount=amount) if p.id == id else p for p in content.estimate.price)
        return list(usual_exclusions(replace(content.estimate, price=lines)))

    for id, word in (("access", "Scaffolds"), ("freight", "Freight"), ("tax", "value added tax")):
        assert any(word in text for text in with_amount(id, 0.0))
        assert not any(word in text for text in with_amount(id, 100.0))

    def of_line(label: str) -> tuple[str, ...]:
        own = PriceLine(id="own:p", label=label, amount=250.0, arithmetic=())
        return usual_exclusions(replace(content.estimate, price=(*bare, own)))

    bare = [replace(p, amount=0.0) if p.id in ("access", "freight", "tax") else p for p in content.estimate.price]
    usual, named = usual_exclusions(replace(content.estimate, price=tuple(bare))), of_line("Building permit")
    assert "Bonds, tests and certificates by others, and work outside normal hours." in named
    for label, word in (("Scaffold hire", "Scaffolds"), ("Freight, two trucks", "Freight"), ("VAT", "value added tax")):
        assert not any(word in text for text in of_line(label))
    # words that only begin or end alike say nothing of them
    assert len(of_line("Bonding coat")) == len(of_line("Latest drawings")) == len(of_line("Accessories")) == len(usual)
    assert "Permits, bonds, tests and certificates by others, and work outside normal hours." in with_amount("tax", 1.0)


def test_a_sample_of_tinted_glaze_is_always_to_be_approved_and_said_once(content):
    for notes in (content.estimate.notes, ()):
        texts = usual_qualifications(replace(content.estimate, notes=notes))
        assert sum("chip" in text and "approved" in text for text in texts) == 1


def _days_of(count: int) -> DayPlan:
    """A plan with a morning's work in each of so many rooms, a room every working day of four weeks in turn."""
    works, rooms = [], []
    for n in range(count):
        start = datetime(2026, 3, 2, 7) + timedelta(days=n % 20 + 2 * (n % 20 // 5))
        end = start + timedelta(hours=4)
        works.append(
            PlannedWork(
                work=f"{n}/prime", room=f"Room {n}", step="prime", name="Prime", kind="work", start=start, end=end,
                bars=((start, end),), crews=("Crew 1",), reason="starts the job", batches=1,
            )
        )  # fmt: skip
        rooms.append(RoomReady(room=f"Room {n}", done=end, ready=end))
    finish = max(room.done for room in rooms)
    return DayPlan(
        works=tuple(works), rooms=tuple(rooms), finish=finish, days=20, hours=80.0, bound=80.0,
        abraded=0, notes=(),
    )  # fmt: skip


@pytest.mark.parametrize("rooms", [5, 22])
def test_every_week_of_the_days_has_its_page_and_the_rooms_stand_before_them(content, rooms):
    bare = replace(content, pictures=(), elevations=())
    printed = report_pdf(replace(bare, planning=Planning(days=_days_of(rooms))))
    texts = page_texts(printed)
    weeks = [(i, monday) for i, text in enumerate(texts) for monday in re.findall(r"Week from Mon (\S+) Mon", text)]
    assert [monday for _, monday in weeks] == ["2026-03-02", "2026-03-09", "2026-03-16", "2026-03-23"][: -(-rooms // 5)]
    ready = next(i for i, text in enumerate(texts) if "Room Done In service" in text)
    assert ready < weeks[0][0]
    assert sum("07:00 Prime" in text for text in texts) == len(weeks)


def test_prices_in_another_currency_than_the_job_say_so_on_the_first_page_and_beside_the_price(content, tmp_path):
    said = "the job is in EUR and the prices are in USD, not converted"
    other = replace(content, job_currency="EUR")
    assert said in page_texts(report_pdf(replace(other, pictures=(), elevations=())))[0]
    assert f"<dt>Currency</dt><dd>{said}</dd>" in report_html(other).decode("utf-8")
    summary = openpyxl.load_workbook(io.BytesIO(report_workbook(other)))["Summary"]
    beside = {row[0]: row[2] for row in summary.iter_rows(max_col=3, values_only=True)}
    assert beside["Price"] == f"USD: {said}"
    assert "Currency" not in [name for name, _ in report_data(content)["headline"]]
