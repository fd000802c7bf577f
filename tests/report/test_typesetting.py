"""Every name that a plan can hold prints: letters as letters, what cannot be seen as a box."""

from __future__ import annotations

import io
from dataclasses import replace

import openpyxl
import pytest

from takeoff.report.content import ReportContent
from takeoff.report.html import report_html
from takeoff.report.pdf import report_pdf
from takeoff.report.typesetting import BOX, SCRIPTS, _font, seen
from takeoff.report.workbook import report_workbook
from tests.report.page_texts import page_texts

LETTERS = "Wash \u0e2b\u0e49\u0e2d\u0e07 \u6f22\u5b57 \ud55c\uad6d \u304b\u306a \u03a9 \u0414\u043e\u043c"
"""Latin, Thai, Han, Hangul, Kana, Greek and Cyrillic (code charts of the Unicode Standard)."""


def printed(content: ReportContent, job: str) -> str:
    few = replace(content, job=job, pictures=(), elevations=content.elevations[:1])
    return page_texts(report_pdf(few))[0]


def test_letters_of_many_scripts_are_printed_as_they_are(content):
    text = printed(content, LETTERS)
    assert [word for word in LETTERS.split() if word not in text] == []


@pytest.mark.parametrize(
    "strange",
    ["\x1b[2J \x07 a\u2028b \ufffe \ue000", "\u202egnp \U0001f9f1 \u0627\u0644 \u05d0\u05d1 \u0939\u093f"],
    ids=["of no shape", "of other scripts"],
)
def test_no_character_stops_a_report(content, strange):
    job = f"Hall {strange} end"
    text = printed(content, job)
    assert "Hall" in text
    assert "end" in text
    assert "\x1b" not in text
    named = replace(content, job=job)
    assert b"Hall" in report_html(named)
    assert openpyxl.load_workbook(io.BytesIO(report_workbook(named)))["Summary"]["A1"].value.startswith("Hall")


def test_what_has_no_shape_becomes_a_box_and_breaks_of_lines_a_space():
    assert seen("a\x00b\ufffec\u2029d") == f"a{BOX}b{BOX}c d"


def test_every_script_has_its_font():
    assert [script for script in SCRIPTS if not _font(script)[1]] == []
