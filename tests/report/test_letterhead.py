from __future__ import annotations

import base64
import zipfile
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest

from takeoff.actions.files import read_letterhead
from takeoff.errors import InputError
from takeoff.report.files import write_whole
from takeoff.report.html import report_html
from takeoff.report.letterhead import LARGEST_LOGO, LOGO_HEIGHT, Letterhead, logo_kind, logo_png
from takeoff.report.workbook import report_workbook

SVG = b'<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"/>'


def test_a_letterhead_is_read_with_its_logo_from_its_own_folder(tmp_path):
    (tmp_path / "logo.svg").write_bytes(SVG)
    file = tmp_path / "head.toml"
    file.write_text(
        'company = ["Sample Coatings", " 1 Street ", ""]\nlogo = "logo.svg"\nprepared_by = "A. Sample"\n'
        'exclusions = ["Sundays."]\nqualifications = ["Thirty days."]\nto = ["Example Builders"]\nsite = ["2 Lane"]\n'
        'number = "B-14"\naddenda = ["Addendum 1"]\npayment = ["In 21 days."]\nvalid_days = 45\n',
        encoding="utf-8",
    )
    head = read_letterhead(file)
    assert head.company == ("Sample Coatings", "1 Street")
    assert head.logo == SVG
    assert (head.prepared_by, head.exclusions, head.qualifications) == ("A. Sample", ("Sundays.",), ("Thirty days.",))
    assert (head.to, head.site, head.number) == (("Example Builders",), ("2 Lane",), "B-14")
    assert (head.addenda, head.payment, head.valid_days) == (("Addendum 1",), ("In 21 days.",), 45)


def test_an_empty_letterhead_is_allowed(tmp_path):
    file = tmp_path / "head.toml"
    file.write_text("", encoding="utf-8")
    assert read_letterhead(file).company == ()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("companny = []", 'unknown key "companny"'),
        ('company = "one"', "company is not a list of texts"),
        ("company = [1]", "company is not a list of texts"),
        ("valid_days = 0", "valid_days is not a number of days"),
        ("valid_days = 99999999", "valid_days is not a number of days"),
        ("prepared_by = 3", "prepared_by is not a text"),
        ('logo = "none.png"', "there is no logo file"),
        ('logo = "head.toml"', "not a PNG, JPEG or SVG"),
        ("company = [", "not a TOML file"),
    ],
)
def test_what_a_letterhead_cannot_be_is_refused_with_a_remedy(tmp_path, text, said):
    file = tmp_path / "head.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=said) as caught:
        read_letterhead(file)
    assert caught.value.remedy


def test_a_missing_letterhead_is_refused(tmp_path):
    with pytest.raises(InputError, match="there is no letterhead file"):
        read_letterhead(tmp_path / "none.toml")


def test_the_kind_of_a_logo_is_told_by_its_bytes_not_its_name():
    assert logo_kind(b"\x89PNG\r\n\x1a\n...") == "png"
    assert logo_kind(b"\xff\xd8\xff\xe0...") == "jpg"
    assert logo_kind(SVG) == "svg"
    for bad in (b"GIF89a", b"%PDF-1.7", b"", b"<html></html>"):
        with pytest.raises(InputError):
            logo_kind(bad)
    with pytest.raises(InputError, match="MB"):
        logo_kind(b"\xff\xd8\xff" + bytes(LARGEST_LOGO))


HEAD = Letterhead(
    company=("Sample Coatings", "=1+1", "<script>document.title='owned'</script>"),
    logo=SVG,
    prepared_by="A. Sample",
    exclusions=("Sundays.",),
    qualifications=("Thirty days.",),
)


def test_the_page_of_the_full_report_carries_the_letterhead_and_ones_own_terms(content):
    page = report_html(replace(content, letterhead=HEAD)).decode("utf-8")
    head = page[page.index("<header>") : page.index("<h1>")]
    assert "<strong>Sample Coatings</strong>" in head
    assert "&lt;script&gt;document.title" in head
    assert f"data:image/svg+xml;base64,{base64.b64encode(SVG).decode()}" in head
    assert "prepared by A. Sample" in page
    assert page.index("What is not included") < page.index("Sundays.") < page.index("Thirty days.")


def test_a_page_without_a_letterhead_has_none(content):
    assert 'class="letterhead"' not in report_html(content).decode("utf-8")


def test_the_page_shows_what_was_planned_besides(planned):
    assert "Cut list" in report_html(planned).decode("utf-8")


def test_the_workbook_carries_letterhead_logo_and_ones_own_terms(content, tmp_path):
    path = write_whole(tmp_path / "report.xlsx", report_workbook(replace(content, letterhead=HEAD)))
    book = openpyxl.load_workbook(path)
    summary = book["Summary"]
    assert [summary.cell(row, 1).value for row in (1, 2, 3)] == list(HEAD.company)
    assert summary.cell(2, 1).data_type == "s"
    texts = [(row[0], row[1]) for row in summary.iter_rows(max_col=2, values_only=True)]
    assert ("Not included", "Sundays.") in texts
    assert ("Qualification", "Thirty days.") in texts
    assert any("prepared by A. Sample" in str(first) for first, _ in texts)
    assert (book.properties.creator, book.properties.title) == ("A. Sample", content.job)
    with zipfile.ZipFile(path) as parts:
        picture = next(name for name in parts.namelist() if name.startswith("xl/media/"))
        assert parts.read(picture).startswith(b"\x89PNG\r\n\x1a\n")


def test_figures_of_the_workbook_follow_the_other_sheets_below_a_letterhead_too(content, tmp_path):
    plain = write_whole(tmp_path / "plain.xlsx", report_workbook(content))
    headed = write_whole(tmp_path / "headed.xlsx", report_workbook(replace(content, letterhead=HEAD)))

    def figures(path: Path) -> dict[str, str]:
        rows = openpyxl.load_workbook(path)["Summary"].iter_rows(max_col=2, values_only=True)
        return {str(name): str(value) for name, value in rows if str(value).startswith("=") and name}

    assert figures(headed) == figures(plain)
    assert "Price" in figures(plain)


@pytest.mark.parametrize(("width", "height"), [(120, 40), (10, 300), (2000, 10)])
def test_a_logo_of_any_shape_is_drawn_as_a_png_of_one_height(width, height):
    """Width and height stand in the header of a PNG, big-endian at byte 16: W3C PNG, 11.2.2."""
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}"/>'.encode()
    high = int.from_bytes(logo_png(svg)[20:24], "big")
    assert high == 2 * LOGO_HEIGHT
