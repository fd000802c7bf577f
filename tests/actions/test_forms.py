"""Every file that a job is handed over as, opened by a reader that did not write it."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from datetime import datetime
from xml.etree import ElementTree

import icalendar
import jsonschema
import openpyxl
import pypdf
import pytest

from takeoff import actions
from takeoff.actions.handover import DIALECT
from takeoff.errors import InputError, ReportError
from takeoff.exchange.file_kinds import ENDINGS, FORMS
from takeoff.job.edits import PutRun
from tests.jobs import job_on

XFDF = "{http://ns.adobe.com/xfdf/}"
XCAL = "{urn:ietf:params:xml:ns:icalendar-2.0}"


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.ending)
def test_every_listed_ending_gives_a_file_and_capitals_are_the_same(form, store):
    assert len(actions.export_file(store, f"Wing {form.ending.upper()}")) > 500


def test_an_unknown_ending_is_refused_with_all_that_there_are(store):
    with pytest.raises(InputError) as refused:
        actions.export_file(store, "job.docx")
    assert all(ending in str(refused.value.remedy) for ending in ENDINGS)


@pytest.mark.parametrize("ending", [e for e in ENDINGS if e != ".json"])
def test_a_job_without_walls_is_refused_in_every_form_but_json(ending, tmp_path, store):
    source = next(iter(store.job.sources))
    empty = job_on(tmp_path / "empty.takeoff", ("plan.pdf", store.source(source)), name="Empty")
    with empty, pytest.raises(ReportError):
        actions.export_file(empty, f"job{ending}")


def test_a_wall_without_a_height_is_left_out_of_every_file_and_told(store):
    run = next(iter(store.job.runs.values()))
    bare = replace(run, height=None, room=None)
    store.do(PutRun(run=bare))
    for form in FORMS:
        said: list[str] = []
        assert actions.export_file(store, f"wing{form.ending}", tell=said.append)
        words = [text for text in said if f"{run.id}: 1 wall not measured" in text]
        assert len(words) == (form.ending != ".json"), form.ending
    rows = list(csv.reader(io.StringIO(actions.export_file(store, "costs.csv").decode("utf-8-sig"))))
    unpriced = [row[2] for row in rows if row[0] == "Not in the price"]
    assert unpriced[0] == f"{run.id}: 1 wall not measured"
    assert "open point" in unpriced[1]


def test_marks_alone_lie_where_another_reader_finds_them_in_the_marked_plans(store):
    """XFDF (ISO 19444-1) has annotations by the names and in the user space of the PDF (ISO 32000-2, 12.5)."""
    root = ElementTree.fromstring(actions.export_file(store, "marks.xfdf"))
    assert root.tag == f"{XFDF}xfdf"
    marks = {
        mark.attrib["name"]: (int(mark.attrib["page"]), mark.tag.removeprefix(XFDF), mark)
        for mark in root.iterfind(f"{XFDF}annots/*")
    }
    reader = pypdf.PdfReader(io.BytesIO(actions.export_file(store, "marked.pdf")))
    found = 0
    for number, page in enumerate(reader.pages):
        for entry in page.get("/Annots", ()):
            annotation = entry.get_object()
            if (name := str(annotation.get("/NM", ""))) not in marks:
                continue
            where, kind, mark = marks[name]
            assert (where, kind) == (number, str(annotation["/Subtype"]).removeprefix("/").lower())
            points = mark.findtext(f"{XFDF}vertices") or f"{mark.attrib['start']};{mark.attrib['end']}"
            mine = [float(n) for pair in points.split(";") for n in pair.split(",")]
            theirs = [float(n) for n in annotation.get("/Vertices", annotation.get("/L"))]
            assert mine == pytest.approx(theirs, abs=0.01)
            found += 1
    assert found == len(marks) > 10


def test_cost_lines_add_up_to_the_price_and_packs_to_their_material(store):
    rows = list(csv.DictReader(io.StringIO(actions.export_file(store, "costs.csv").decode("utf-8-sig"))))
    *lines, total = rows
    estimate = actions.make_estimate(store.job).estimate
    amount, price = f"Amount ({estimate.currency})", f"Unit price ({estimate.currency})"
    assert float(total[amount]) == pytest.approx(estimate.line("price").amount, abs=0.005)
    # every line is rounded to the cent by itself
    assert sum(float(line[amount]) for line in lines) == pytest.approx(float(total[amount]), abs=0.005 * len(lines))
    packs = [line for line in lines if line["Kind"] == "Material"]
    for line in packs:
        assert float(line["Count"]) * float(line[price]) == pytest.approx(float(line[amount]), abs=0.01)
        assert line["Pack"]
        assert float(line["Pack size"]) > 0
    assert len(packs) >= len([m for m in estimate.materials if m.bought])


def test_a_calendar_reader_finds_every_stretch_of_work_and_xml_says_the_same(store):
    """RFC 5545 as the reader of a registry's library has it, and its form in XML (RFC 6321, section 3)."""
    said: list[str] = []
    text = actions.export_file(store, "days.ics", tell=said.append)
    assert "Monday 2026-03-09" in " ".join(said)
    assert all(len(line) <= 75 for line in text.split(b"\r\n"))
    calendar = icalendar.Calendar.from_ical(text)
    events = calendar.walk("VEVENT")
    plan = actions.plan_job(actions.make_estimate(store.job), start=datetime(2026, 3, 9).date())
    bars = sorted((begin, end) for work in plan.works for begin, end in work.bars)
    assert sorted((e.decoded("dtstart"), e.decoded("dtend")) for e in events) == bars
    assert len({str(e["uid"]) for e in events}) == len(events) > 20
    root = ElementTree.fromstring(actions.export_file(store, "days.xml"))
    shown = {
        entry.findtext(f"{XCAL}properties/{XCAL}uid/{XCAL}text"): (
            entry.findtext(f"{XCAL}properties/{XCAL}dtstart/{XCAL}date-time"),
            entry.findtext(f"{XCAL}properties/{XCAL}summary/{XCAL}text"),
        )
        for entry in root.iter(f"{XCAL}vevent")
    }
    assert shown == {str(e["uid"]): (e.decoded("dtstart").isoformat(), str(e["summary"])) for e in events}


def test_the_workbook_and_the_page_open_and_hold_the_price(store):
    price = actions.make_estimate(store.job).estimate.line("price").amount
    book = openpyxl.load_workbook(io.BytesIO(actions.export_file(store, "wing.xlsx")))
    assert len(book.sheetnames) > 3
    assert f"{price:,.2f}" in actions.export_file(store, "wing.html").decode()


def test_an_exported_job_names_the_schema_that_it_follows(store):
    found = json.loads(actions.export_file(store, "job.json"))
    schema = actions.schema_of("job")
    assert (schema["$schema"], schema["$id"]) == (DIALECT, found["$schema"])
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(found, schema)
