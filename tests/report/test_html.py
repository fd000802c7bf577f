from __future__ import annotations

import base64
import hashlib
import re
import shutil
import subprocess
from dataclasses import dataclass, field, replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from takeoff.report.content import ReportContent
from takeoff.report.files import write_whole
from takeoff.report.html import report_html
from takeoff.report.typesetting import LARGEST_DRAWING

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")


@dataclass
class Element:
    tag: str
    attributes: dict[str, str | None]
    text: str = ""
    inside: list[Element] = field(default_factory=list)


class Page(HTMLParser):
    """All elements of a page, read by Python's own parser."""

    def __init__(self, data: bytes) -> None:
        super().__init__()
        self.elements: list[Element] = []
        self._open: list[Element] = []
        self.feed(data.decode("utf-8"))
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, dict(attrs))
        self.elements.append(element)
        for outer in self._open:
            outer.inside.append(element)
        if tag not in {"meta", "input"}:
            self._open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, dict(attrs))
        self.elements.append(element)
        for outer in self._open:
            outer.inside.append(element)

    def handle_endtag(self, tag: str) -> None:
        while self._open and self._open.pop().tag != tag:
            pass

    def handle_data(self, data: str) -> None:
        for outer in self._open:
            outer.text += data

    def all(self, tag: str) -> list[Element]:
        return [e for e in self.elements if e.tag == tag]

    def by_id(self) -> dict[str, Element]:
        return {e.attributes["id"] or "": e for e in self.elements if "id" in e.attributes}


@pytest.fixture(scope="module")
def page(content: ReportContent) -> Page:
    return Page(report_html(content))


@pytest.fixture(scope="module")
def hostile_page(hostile: ReportContent) -> Page:
    return Page(report_html(hostile))


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


@pytest.mark.parametrize("which", ["page", "hostile_page"])
def test_the_policy_allows_this_files_own_script_and_style_and_nothing_else(which, request):
    page: Page = request.getfixturevalue(which)
    policies = [
        e.attributes["content"] or ""
        for e in page.all("meta")
        if (e.attributes.get("http-equiv") or "").lower() == "content-security-policy"
    ]
    (policy,) = policies
    rules = {name: set(values) for name, *values in (part.split() for part in policy.split(";"))}
    (script,), (style,) = page.all("script"), page.all("style")
    assert rules == {
        "default-src": {"'none'"},
        "script-src": {_hash(script.text)},
        "style-src": {_hash(style.text)},
        "img-src": {"data:"},
        "base-uri": {"'none'"},
        "form-action": {"'none'"},
    }
    # the policy must stand before what it rules
    assert page.elements.index(script) > page.elements.index(style) > page.elements.index(page.all("meta")[1])


@pytest.mark.parametrize("which", ["page", "hostile_page"])
def test_no_address_leaves_the_file_and_no_attribute_carries_code(which, request):
    page: Page = request.getfixturevalue(which)
    known = page.by_id()
    for e in page.elements:
        for name, value in e.attributes.items():
            assert not name.startswith("on"), (e.tag, name)
            assert name not in {"style", "srcdoc", "action", "formaction", "src"}, (e.tag, name)
            if name in {"href", "xlink:href"}:
                assert value
                if e.tag == "image":
                    assert value.startswith(("data:image/svg+xml;base64,", "data:image/jpeg;base64,"))
                else:
                    assert value.startswith("#")
                    assert value[1:] in known, value


def test_texts_of_the_job_are_shown_as_they_are_and_make_no_elements(hostile, page, hostile_page):
    assert {e.tag for e in hostile_page.elements} <= {e.tag for e in page.elements}
    (title,) = [e for e in hostile_page.all("title") if e.text.endswith("takeoff")]
    assert "<script>" in hostile.job
    assert title.text == f"{hostile.job}: wall coating takeoff"
    assert hostile_page.all("h1")[0].text == hostile.job
    assert any(hostile.job in e.text for e in hostile_page.all("th"))


def test_every_id_is_used_once(page, hostile_page):
    for one in (page, hostile_page):
        ids = [e.attributes["id"] for e in one.elements if "id" in e.attributes]
        assert len(ids) == len(set(ids))


def test_every_run_leads_to_its_place_and_every_place_back_to_its_figures(content, page):
    known = page.by_id()
    for i, item in enumerate(content.by_run.items):
        row = known[f"run-{i}"]
        link = next(e for e in row.inside if e.tag == "a")
        assert link.text == item.label
        for mark in (link.attributes["data-marks"] or "").split():
            place = known[f"mark-{mark}"]
            assert place.attributes["href"] == f"#run-{i}"
            assert f"({item.id}, " in (place.attributes["aria-label"] or "")
            assert content.elevations[int(mark)].run == item.id
    marks = [e for e in page.all("a") if (e.attributes.get("id") or "").startswith("mark-")]
    assert len(marks) == len(content.elevations)


def test_the_rows_of_a_room_and_of_a_product_lead_to_the_walls_that_made_them(content, page):
    known = page.by_id()
    for i, item in enumerate(content.by_room.items):
        link = next(e for e in known[f"room-{i}"].inside if e.tag == "a")
        runs = {content.elevations[int(m)].run for m in (link.attributes["data-marks"] or "").split()}
        assert runs == set(item.sources)
    linked = [e for e in page.all("a") if "data-marks" in e.attributes]
    for line in content.estimate.materials:
        assert any(e.text == line.name for e in linked)


def test_the_figures_are_those_of_the_program(content, page):
    shown = [e.text for e in page.all("dd")]
    total = content.by_room.total
    assert f"{content.display.area(total.quantities.net_area)} ± {content.display.area(total.u.net_area)}" in shown
    assert content.display.money(content.estimate.line("price").amount) in shown
    tables = page.all("table")
    for table, drawn in zip(content.tables(), tables, strict=True):
        cells = [e.attributes["data-value"] for e in drawn.inside if "data-value" in e.attributes]
        assert cells == [str(value) for row in table.rows for value in row]


def test_every_system_can_be_hidden_and_every_control_has_a_name(content, page):
    shown = {e.attributes["data-shows"] for e in page.all("input")}
    assert {e.attributes["data-layer"] for e in page.elements if "data-layer" in e.attributes} == shown
    assert all(label.text.strip() for label in page.all("label"))
    assert all(button.text.strip() for button in page.all("button"))
    drawings = [e for e in page.all("svg") if "role" in e.attributes]
    assert drawings
    assert all(e.attributes.get("aria-label") for e in drawings)


def test_a_plan_that_is_a_scan_goes_in_as_a_picture_and_the_file_stays_small(content, tmp_path):
    import pymupdf

    picture = content.pictures[0]
    with pymupdf.open() as document:
        page = document.new_page(width=picture.size_pt[0], height=picture.size_pt[1])
        grey = pymupdf.Pixmap(pymupdf.csRGB, pymupdf.IRect(0, 0, 400, 300))
        grey.clear_with(200)
        page.insert_image(page.rect, pixmap=grey)
        scan = document.tobytes()
    made = report_html(replace(content, pictures=(replace(picture, page_pdf=scan),)))
    image = next(e for e in Page(made).all("image"))
    assert (image.attributes["href"] or "").startswith("data:image/jpeg;base64,")
    assert len(made) < LARGEST_DRAWING


def in_browser(html: bytes, folder: Path, *options: str) -> bytes:
    """What a browser makes of a page."""
    browser = next((b for b in map(shutil.which, BROWSERS) if b), None)
    if browser is None:
        pytest.skip("no Chromium on this machine; install chromium to run the report in a browser")
    path = write_whole(folder / "report.html", html)
    return subprocess.run(
        [browser, "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={folder / 'profile'}",
         "--virtual-time-budget=2000", *options, "--dump-dom", path.as_uri()],
        capture_output=True, timeout=60, check=True,
    ).stdout  # fmt: skip


WIDTHS = b"""<script>addEventListener("load", () => {
const wide = [...document.querySelectorAll(".scroll:has(table)")].filter(e => e.scrollWidth > e.clientWidth);
document.body.textContent = "wide:" + wide.map(e => e.getAttribute("aria-label")).join("|") + ":wide"; });
</script></body>"""


def test_no_table_runs_off_a_window_of_1200_pixels(content, tmp_path):
    html = re.sub(rb'<meta http-equiv="Content-Security-Policy"[^>]*>', b"", report_html(content))
    shown = in_browser(html.replace(b"</body>", WIDTHS), tmp_path, "--window-size=1200,900")
    assert b"wide::wide" in shown


def test_a_browser_runs_the_report_and_nothing_of_the_job(hostile, tmp_path):
    shown = Page(in_browser(report_html(hostile), tmp_path))
    title = shown.all("title")[0].text
    assert title == f"{hostile.job}: wall coating takeoff"
    assert shown.all("html")[0].attributes["class"] == "live"  # the report's own script did run


def test_what_scrolls_can_be_reached_by_keyboard_and_letters_of_corners_are_not_read_out(page):
    scrolling = [e for e in page.elements if "scroll" in (e.attributes.get("class") or "").split()]
    assert len(scrolling) > 10
    assert {e.attributes.get("tabindex") for e in scrolling} == {"0"}
    marks = [e for e in page.all("a") if "mark" in (e.attributes.get("class") or "").split()]
    assert len(marks) > 10
    assert not [text for mark in marks for text in mark.inside if text.tag == "text"]


def test_the_legend_of_a_plan_names_systems_as_the_estimate_does(page, content):
    named = {share.label for share in content.estimate.systems}
    legend = {label.text.strip() for label in page.all("label")}
    assert named <= legend
    assert not legend & {share.id for share in content.estimate.systems}
    words = [m.attributes["aria-label"] or "" for m in page.all("a") if m.attributes.get("class") == "mark"]
    assert words
    assert all(any(name in text for name in named) for text in words)
