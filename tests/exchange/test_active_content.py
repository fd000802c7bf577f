"""Marked plans carry nothing on that acts: made with one PDF library, looked at with another."""

from __future__ import annotations

import io

import pikepdf
import pymupdf
import pytest
from pikepdf import Array, Dictionary, Name, String

from takeoff import actions
from takeoff.exchange.active_content import take_out_active
from takeoff.job.edits import PutRun
from takeoff.model.walls import HeightProfile, Run
from tests.jobs import job_on

BOX = Array([10, 10, 50, 50])


def action(kind: str, **more: object) -> Dictionary:
    return Dictionary(S=Name(f"/{kind}"), **more)


def script() -> Dictionary:
    return action("JavaScript", JS=String("app.alert(1)"))


def hostile() -> bytes:
    """A plan with one of everything that acts (ISO 32000-2 §12.6, §12.5.6, §12.7.8, §7.11.4)."""
    with pikepdf.new() as pdf:
        page = pdf.add_blank_page(page_size=(200, 200))
        page.Contents = pdf.make_stream(b"0 0 m 100 100 l S")

        def annotation(subtype: str, **more: object) -> object:
            return pdf.make_indirect(Dictionary(Type=Name.Annot, Subtype=Name(f"/{subtype}"), Rect=BOX, **more))

        links = [
            annotation("Link", A=action("URI", URI=String("http://example.com/x"))),
            annotation("Link", A=pdf.make_indirect(action("GoToR", F=String("\\\\host\\share\\x.pdf")))),
            annotation("Link", A=action("Launch", F=String("x.exe"))),
            annotation("Link", A=action("GoTo", D=Array([page.obj, Name.Fit]))),
            annotation("Widget", FT=Name.Btn, T=String("b"), A=action("SubmitForm", F=String("http://example.com"))),
            annotation("RichMedia"),
            annotation("FileAttachment", FS=Dictionary(F=String("a"))),
            annotation("Text", AA=Dictionary(E=script())),
            annotation("Square", Contents=String("a cloud of the architect")),
        ]
        page.Annots = Array(links)
        page.AA = Dictionary(O=script())
        root = pdf.Root
        root.OpenAction = pdf.make_indirect(script())
        root.AA = Dictionary(WC=script())
        root.AcroForm = Dictionary(Fields=Array([links[4]]), XFA=pdf.make_stream(b"<xdp/>"))
        root.Names = Dictionary(JavaScript=Dictionary(Names=Array([String("x"), script()])))
        pdf.attachments["evil.exe"] = b"MZ attached"
        out = io.BytesIO()
        pdf.save(out)
        return out.getvalue()


@pytest.fixture(scope="module")
def cleaned() -> tuple[tuple[str, ...], bytes]:
    with pymupdf.open(stream=hostile(), filetype="pdf") as document:
        taken = take_out_active(document)
        return taken, document.tobytes(garbage=1)


def assert_nothing_acts(data: bytes) -> None:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        texts = [obj.unparse(resolved=True) for obj in pdf.objects]
    for word in (b"/JavaScript", b"/JS", b"/Launch", b"/SubmitForm", b"/GoToR", b"/URI", b"/XFA", b"/RichMedia",
                 b"/FileAttachment", b"/EmbeddedFiles", b"/OpenAction", b"/AA"):  # fmt: skip
        assert [text for text in texts if word in text] == [], word
    assert b"MZ attached" not in data


def test_nothing_that_acts_is_left_in_any_object(cleaned):
    assert_nothing_acts(cleaned[1])


@pytest.mark.parametrize("flattened", [False, True])
def test_a_marked_and_a_flat_plan_carry_nothing_on_and_draw_what_was_drawn(tmp_path, flattened):
    with job_on(tmp_path / "j", ("a.pdf", hostile()), name="Any") as store:
        actions.set_scale_ratio(store, store.job.sheets[1], "1:50")
        wall = Run(id="a", sheet=1, points_pt=((10, 10), (90, 10)), height=HeightProfile.constant(3.0))
        store.do(PutRun(run=wall))
        told: list[str] = []
        data = actions.export_file(store, "marked.pdf", flattened=flattened, tell=told.append)
    assert_nothing_acts(data)
    assert "script" in " ".join(told)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        drawn = pdf.pages[0].Contents
        streams = list(drawn) if isinstance(drawn, Array) else [drawn]
        assert b"0 0 m 100 100 l S" in [stream.read_bytes() for stream in streams]


def test_what_was_taken_out_is_told(cleaned):
    told = ", ".join(cleaned[0])
    for words in (
        "script",
        "start a program",
        "form that sends itself",
        "address outside",
        "another file",
        "XFA",
        "attached",
    ):
        assert words in told, words


def test_pages_marks_and_ways_within_the_file_stay(cleaned):
    before = pikepdf.open(io.BytesIO(hostile()))
    with before, pikepdf.open(io.BytesIO(cleaned[1])) as pdf:
        page = pdf.pages[0]
        assert page.Contents.read_raw_bytes() == before.pages[0].Contents.read_raw_bytes()
        kinds = [str(annotation.Subtype) for annotation in page.Annots]
        assert kinds.count("/Square") == 1
        assert [str(a.A.S) for a in page.Annots if "/A" in a] == ["/GoTo"]


def test_a_plan_that_does_nothing_is_left_alone():
    with pymupdf.open() as document:
        document.new_page()
        assert take_out_active(document) == ()


def test_an_annotation_written_into_its_page_stays_without_what_it_does():
    with pikepdf.new() as pdf:
        page = pdf.add_blank_page(page_size=(200, 200))
        page.Annots = Array([Dictionary(Subtype=Name.Link, Rect=BOX, Contents=String("a >> (b)"), A=script())])
        out = io.BytesIO()
        pdf.save(out)
    with pymupdf.open(stream=out.getvalue(), filetype="pdf") as document:
        assert take_out_active(document) == ("a script",)
        data = document.tobytes(garbage=1)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        (link,) = pdf.pages[0].Annots
        assert (str(link.Contents), "/A" in link) == ("a >> (b)", False)
