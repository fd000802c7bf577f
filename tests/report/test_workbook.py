from __future__ import annotations

import io
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from takeoff import actions
from takeoff.actions.quantities import lots_of
from takeoff.actions.reports import report_content
from takeoff.estimate.price import estimate
from takeoff.exchange.catalogue_file import default_catalogue_text, read_catalogue
from takeoff.job.edits import Batch, PutRoom, PutRun
from takeoff.job.store import JobStore
from takeoff.model.costs import Estimate, PriceLine
from takeoff.model.walls import HeightProfile
from takeoff.report.content import ReportContent
from takeoff.report.files import write_whole
from takeoff.report.workbook import report_workbook
from tests.conftest import MadeOnce
from tests.jobs import AT, sample_on

VARIANTS: dict[str, dict[str, Any]] = {
    "wages, taxes, freight, access": {
        "wage": 61.37, "burden": 0.41, "material_tax": 0.0825, "price_tax": 0.06, "freight": 812.5,
        "access_per_day": 145.0,
    },
    "margin, small crew": {
        "profit": 0.18, "profit_basis": "margin", "overhead": 0.155, "crew": 2, "shift_hours": 7.5,
        "access_per_day": 99.9, "setup_hours": 11.0,
    },
    "minimum": {"minimum_charge": 250_000.0, "contingency": 0.0},
}  # fmt: skip
"""Rates that are changed in the workbook; as it was estimated, the one with odd names is worked out again."""


@pytest.fixture(scope="module")
def book(planned: ReportContent, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_whole(tmp_path_factory.mktemp("book") / "report.xlsx", report_workbook(planned))


FACTORS = (0.93, 1.12)
"""What the heights of two rooms are multiplied by in the workbook."""
RESIZED = {"104", "106"}


def _save_changed(book: bytes, folder: Path) -> None:
    """Save the workbook with the rates of every variant, under its name."""
    changed = openpyxl.load_workbook(io.BytesIO(book))  # formulas without written values
    cells = {rate: _cell(changed, rate) for rates in VARIANTS.values() for rate in rates}
    usual = {rate: cell.value for rate, cell in cells.items()}
    for name, rates in VARIANTS.items():
        for rate, cell in cells.items():
            cell.value = rates.get(rate, usual[rate])
        changed.save(folder / f"{name}.xlsx")


def _save_resized(store: JobStore, folder: Path) -> None:
    """Save the workbook of a job with rooms of other heights, under the factor."""
    before = report_content(store, actions.make_estimate(store.job), at=AT)
    resized = openpyxl.load_workbook(io.BytesIO(report_workbook(before)))
    walls = resized["Walls"].iter_rows(min_row=2, max_row=1 + len(before.elevations))
    heights = [(row[4], row[4].value) for row in walls if str(row[1].value).split()[0] in RESIZED]
    for factor in FACTORS:
        for cell, height in heights:
            cell.value = height * factor
        resized.save(folder / f"{factor}.xlsx")


ODD_NAMES = ("*", "Wash a", "Wash A", ">5", "=x", "~?", "A" * 300)
"""Names of rooms that formulas could take for patterns, for comparisons, for one another, or not at all."""


def _save_odd_names(store: JobStore, folder: Path) -> None:
    """Save the workbook of a job whose rooms have odd names, and whose products one, as written and without values."""
    rooms = list(store.job.rooms.values())
    edits = [PutRoom(room=replace(r, number="", name=n)) for r, n in zip(rooms, ODD_NAMES, strict=False)]
    own = actions.catalogue_of(store.job)
    store.do(Batch(title="odd", edits=tuple(edits)))
    same = replace(own, products=tuple(replace(product, name="Resin") for product in own.products))
    written = report_workbook(report_content(store, actions.make_estimate(store.job, catalogue=same), at=AT))
    store.undo()
    (folder / "written").mkdir()
    (folder / "written" / "odd names.xlsx").write_bytes(written)
    openpyxl.load_workbook(io.BytesIO(written)).save(folder / "odd names.xlsx")


@pytest.fixture(scope="module")
def in_libreoffice(book: Path, thin: JobStore, made_once: MadeOnce) -> dict[str, Any]:
    """All changed workbooks with the values that LibreOffice works out, in one start of it for all workers."""
    office = shutil.which("soffice") or shutil.which("libreoffice")
    if office is None:
        pytest.skip("no LibreOffice on this machine; install libreoffice-calc to recalculate the workbook")

    names = (*VARIANTS, *map(str, FACTORS), "odd names")

    def fill(folder: Path) -> None:
        _save_changed(book.read_bytes(), folder)
        _save_resized(thin, folder)
        _save_odd_names(thin, folder)
        subprocess.run(
            [office, "--headless", f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--convert-to", "xlsx",
             "--outdir", str(folder / "out"), *(str(folder / f"{name}.xlsx") for name in names)],
            capture_output=True, timeout=240, check=True,
        )  # fmt: skip

    done = made_once("workbooks", fill)
    books = {name: io.BytesIO((done / "out" / f"{name}.xlsx").read_bytes()) for name in names}
    books["written"] = io.BytesIO((done / "written" / "odd names.xlsx").read_bytes())
    # read only: each sheet is read when it is asked for, and most are not
    return {name: openpyxl.load_workbook(data, data_only=True, read_only=True) for name, data in books.items()}


@pytest.fixture(scope="module")
def recalculated(content: ReportContent, in_libreoffice: dict[str, Any]) -> dict[str, dict[str, float]]:
    """The price lines of every variant, by id, as LibreOffice works them out from the changed rates alone."""
    out = {}
    for name in VARIANTS:
        done = in_libreoffice[name]
        lines = [row[1] for row in done["Price"].iter_rows(min_row=2, max_col=2, values_only=True)]
        out[name] = dict(zip([p.id for p in content.estimate.price], lines, strict=False))
        out[name]["hours"] = _cell(done, "labour_hours").value
        out[name]["crew_days"] = _cell(done, "crew_days").value
        rooms = list(done["Price by room"].iter_rows(min_row=2, values_only=True))
        out[name]["rooms"] = next(row[3] for row in rooms if row[0] == "Total")
    return out


def _cell(book: Any, name: str) -> Any:
    ((sheet, place),) = book.defined_names[name].destinations
    return book[sheet][place.replace("$", "")]


@pytest.fixture(scope="module")
def estimates(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Estimate]:
    """What the program makes of every variant by hours: a workbook cannot plan days anew."""
    with sample_on(tmp_path_factory.mktemp("variants") / "job.takeoff", name="Sample dairy") as store:
        catalogue = actions.catalogue_of(store.job)
        lots = lots_of(store.job, actions.measure_ready(store.job)[0].faces, catalogue)
        return {
            name: estimate(lots, catalogue, replace(catalogue.rates, **rates), units=store.job.settings.units)
            for name, rates in VARIANTS.items()
        }


@pytest.mark.long
@pytest.mark.parametrize("variant", VARIANTS)
def test_libreoffice_works_out_the_same_price_lines_as_the_program(variant, recalculated, estimates):
    expected, found = estimates[variant], recalculated[variant]
    for line in expected.price:
        assert found[line.id] == pytest.approx(line.amount, abs=0.001), line.label
    assert found["hours"] == pytest.approx(expected.hours, rel=1e-9)
    assert found["crew_days"] == pytest.approx(expected.crew_days, rel=1e-9)
    assert found["rooms"] == pytest.approx(expected.line("price").amount, abs=0.01 * len(expected.rooms))


def test_the_changed_rates_do_change_the_price(recalculated):
    prices = [lines["price"] for lines in recalculated.values()]
    assert len({round(p, 2) for p in prices}) == len(VARIANTS)


def test_values_written_with_the_formulas_are_those_of_the_program(content, book):
    shown = openpyxl.load_workbook(book, data_only=True)
    assert _cell(shown, "price_total").value == content.estimate.line("price").amount
    rows = list(shown["Price"].iter_rows(min_row=2, max_col=2, values_only=True))
    assert rows[: len(content.estimate.price)] == [(p.label, p.amount) for p in content.estimate.price]
    rooms = shown["Quantities by room"]
    head = [cell.value for cell in rooms[1]]
    total = {name: cell.value for name, cell in zip(head, rooms[rooms.max_row - 2], strict=True)}
    assert total["Net (sf)"] == pytest.approx(content.display.area_number(content.by_room.total.quantities.net_area))


@pytest.fixture(scope="module")
def thin(tmp_path_factory: pytest.TempPathFactory) -> Iterator[JobStore]:
    """The sample job with every wall under a system without a cut list."""
    with sample_on(tmp_path_factory.mktemp("thin") / "job.takeoff", name="Thin") as store:
        for room in list(store.job.rooms.values()):
            store.do(PutRoom(room=replace(room, system="thin-film")))
        for run in list(store.job.runs.values()):
            store.do(PutRun(run=replace(run, system=None)))
        yield store


def test_odd_names_of_rooms_and_products_of_one_name_recalculate_to_what_is_written(in_libreoffice):
    written, done = in_libreoffice["written"], in_libreoffice["odd names"]
    figures = 0
    for sheet in written.sheetnames:
        rows = (written[sheet].iter_rows(values_only=True), done[sheet].iter_rows(values_only=True))
        for before, after in zip(*rows, strict=False):
            for said, worked_out in zip(before, after, strict=False):
                if isinstance(said, int | float):
                    figures += 1
                    assert worked_out == pytest.approx(said, rel=1e-6, abs=1e-6), (sheet, before[0])
    assert figures > 500


@pytest.mark.parametrize("factor", FACTORS)
def test_after_heights_were_changed_libreoffice_comes_to_packs_labour_and_price_of_the_program(
    factor, thin, in_libreoffice
):
    done = in_libreoffice[str(factor)]
    job = thin.job
    rooms = {
        id: replace(room, height=HeightProfile.constant(room.height.points[0][1] * factor))
        if room.number in RESIZED and room.height
        else room
        for id, room in job.rooms.items()
    }
    after = actions.make_estimate(replace(job, rooms=rooms)).estimate
    found = {(row[0], row[1]): row[2] for row in done["Packs"].iter_rows(min_row=2, values_only=True) if row[1]}
    assert {key: count for key, count in found.items() if count and key[1] != "Colour pack"} == {
        (m.name, pack.pack): pack.count for m in after.materials for pack in m.packs
    }
    assert _cell(done, "labour_hours").value == pytest.approx(after.hours, rel=1e-9)
    assert _cell(done, "price_total").value == pytest.approx(after.line("price").amount, abs=0.001)


def test_no_word_of_a_heading_is_broken_and_its_row_is_high_enough(book):
    for sheet in openpyxl.load_workbook(book):
        if sheet.freeze_panes is None:
            continue
        for cell in sheet[1]:
            if not cell.value:
                continue
            wide = sheet.column_dimensions[cell.column_letter].width
            assert max(len(word) for word in str(cell.value).split()) < wide, (sheet.title, cell.value)
            high = sheet.row_dimensions[1].height or 15.0
            # seven eighths of a letter to a character of width is more than any heading's average
            assert len(str(cell.value)) * 0.875 <= wide * high / 15.0, (sheet.title, cell.value)


def test_every_table_has_frozen_headers_filters_and_prints_one_page_wide(book):
    shown = openpyxl.load_workbook(book)
    assert shown.sheetnames == [
        "Summary", "Rates", "Openings", "Walls", "Areas", "Quantities by room", "Quantities by wall", "Needs",
        "Materials", "Packs", "Labour", "Price", "Price by room", "Arithmetic", "Cut list",
    ]  # fmt: skip
    for sheet in shown:
        assert sheet.page_setup.orientation == "landscape"
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert (sheet.page_setup.fitToWidth or 1, sheet.page_setup.fitToHeight) == (1, 0)  # 1 is what is not written
        assert "Page" in sheet.oddFooter.right.text
        if sheet.title in {"Summary", "Rates"}:
            continue
        assert sheet.freeze_panes == "B2"
        assert sheet.auto_filter.ref
        assert sheet.print_title_rows == "$1:$1"
        assert sheet.print_area


def test_cells_are_typed_and_units_stand_in_the_headers(content, book):
    shown = openpyxl.load_workbook(book)
    sheet = shown["Quantities by wall"]
    heads = [cell.value for cell in sheet[1]]
    assert {"Net (sf)", "Base (ft)", "Cove (ft)"} <= set(heads)
    for row in sheet.iter_rows(min_row=2, max_row=1 + len(content.by_run.items)):
        assert [cell.data_type for cell in row] == ["s"] + ["n"] * (len(heads) - 1)
    assert "Cost (USD)" in [cell.value for cell in shown["Labour"][1]]


def test_there_are_charts_and_named_rates(book):
    shown = openpyxl.load_workbook(book)
    assert len(shown["Summary"]._charts) == 2
    rates = shown["Rates"]
    assert {"wage", "burden", "overhead", "profit", "price_tax", "price_total", "net_area"} - set(
        shown.defined_names
    ) == {"net_area"}
    assert rates["B2"].value == 38.0
    assert len(rates.data_validations.dataValidation) >= 2


def test_no_text_of_the_job_becomes_a_formula(hostile, tmp_path):
    job = '=1+1&"&P'
    shown = openpyxl.load_workbook(io.BytesIO(report_workbook(replace(hostile, job=job))))
    labels = {item.label for item in hostile.by_room.items} | {item.label for item in hostile.by_run.items}
    seen = set()
    for sheet in shown:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    assert not any(label in str(cell.value) for label in labels)
                elif isinstance(cell.value, str) and cell.value.startswith(("=", "+", "-", "@")):
                    seen.add(cell.value)
                    assert cell.data_type == "s"
                assert cell.hyperlink is None
    assert {job, "=1+1", "-1+1"} <= seen
    assert shown["Summary"].oddFooter.left.text == job.replace("&", "&&")


def test_metric_jobs_print_on_a4(content, tmp_path):
    metric = replace(content, display=replace(content.display, system="metric"))
    shown = openpyxl.load_workbook(io.BytesIO(report_workbook(metric)))
    assert {sheet.page_setup.paperSize for sheet in shown} == {9}  # A4 (ECMA-376 §18.3.1.63)
    assert "Net (m²)" in [cell.value for cell in shown["Quantities by room"][1]]


def test_a_job_without_a_system_gives_a_workbook_of_zeros(tmp_path, content):
    from takeoff.estimate.price import estimate

    catalogue = read_catalogue(default_catalogue_text().encode())
    empty = replace(content, estimate=estimate([], catalogue, catalogue.rates), catalogue=catalogue)
    shown = openpyxl.load_workbook(io.BytesIO(report_workbook(empty)), data_only=True)
    assert _cell(shown, "price_total").value == 0


def test_days_range_and_alternates_have_sheets_where_they_were_planned(content, tmp_path):
    from datetime import date

    with sample_on(tmp_path / "job.takeoff", name="Sample dairy") as store:
        planning = actions.planning_of(
            store.job, actions.make_estimate(store.job), start=date(2026, 3, 2), alternates=["sheet-panel"],
        )  # fmt: skip
    shown = openpyxl.load_workbook(io.BytesIO(report_workbook(replace(content, planning=planning))))
    assert shown.sheetnames[-6:] == ["Cut list", "Days", "Rooms ready", "Range", "Drivers", "Alternates"]
    days = [row[:2] for row in shown["Days"].iter_rows(min_row=2, values_only=True)]
    assert {room.label for room in content.estimate.rooms} <= {room for room, _ in days}
    names = [row[0].value for row in shown["Range"].iter_rows(min_row=2)]
    assert [name[:3] for name in names if str(name).startswith("P")] == ["P10", "P50", "P80", "P90"]
    assert "All labour" in [row[0].value for row in shown["Drivers"].iter_rows(min_row=2)]
    price = next(row for row in shown["Alternates"].iter_rows(min_row=2, values_only=True) if row[0] == "Price")
    assert price[2] == content.estimate.line("price").amount
    assert price[4] == pytest.approx(price[3] - price[2])


def test_lines_of_the_price_without_a_formula_are_named(thin):
    # a line of one's own, travel or nights away stand as numbers: whoever changes the wage has to know
    made = report_content(thin, actions.make_estimate(thin.job), at="2026-03-02T10:00:00+00:00")
    own = PriceLine(id="own:bond", label="Bond", amount=100.0, arithmetic=())
    at = [line.id for line in made.estimate.price].index("net_price")
    price = (*made.estimate.price[:at], own, *made.estimate.price[at:])
    for content, told in ((made, False), (replace(made, estimate=replace(made.estimate, price=price)), True)):
        sheet = openpyxl.load_workbook(io.BytesIO(report_workbook(content)))["Price"]
        texts = [cell.value for row in sheet.iter_rows() for cell in row if isinstance(cell.value, str)]
        assert ("As estimated; these lines do not recalculate: Bond." in texts) == told
