from __future__ import annotations

from pathlib import Path

import pytest

STARTS = {
    ".json": b"{",
    ".pdf": b"%PDF-",
    ".dxf": b"  0\nSECTION",
    ".ifc": b"ISO-10303-21;",
    ".geojson": b"{",
    ".gpkg": b"SQLite format 3\x00",
}


@pytest.mark.parametrize("ending", STARTS)
def test_the_ending_says_what_is_written(ending, traced, tmp_path, done):
    path = tmp_path / f"out{ending.upper()}"
    done("export", traced, path)
    assert path.read_bytes().startswith(STARTS[ending])


def test_a_flat_pdf_has_no_annotations(traced, tmp_path, done):
    import pikepdf

    done("export", traced, tmp_path / "marked.pdf")
    done("export", traced, tmp_path / "flat.pdf", "--flat")
    with pikepdf.open(tmp_path / "marked.pdf") as marked, pikepdf.open(tmp_path / "flat.pdf") as flat:
        assert len(marked.pages[0].Annots) > 11
        assert len(flat.pages[0].get("/Annots", [])) == 0


@pytest.mark.parametrize("ending", [".pdf", ".dxf"])
def test_runs_taken_out_and_in_measure_the_same(ending, traced, tmp_path, plans, done):
    done("export", traced, tmp_path / f"runs{ending}")
    again = tmp_path / "again.takeoff"
    done("new", again, "--plan", plans / "facility-imperial.pdf")
    done("scale", again, "A-101", "--note", '1/4" = 1\'-0"')
    where = () if ending == ".pdf" else ("--sheet", "A-101")
    outcome = done("import", tmp_path / f"runs{ending}", again, *where)
    assert "took in 11 walls" in outcome.err
    first, second = (done("measure", job, "--json").json["total"] for job in (traced, again))
    assert second == first


def test_a_drawing_of_another_program_needs_its_sheet(traced, tmp_path, done, refused):
    done("export", traced, tmp_path / "runs.dxf")
    assert "--sheet" in refused("import", tmp_path / "runs.dxf", traced)


def test_an_unknown_ending_is_refused_with_those_there_are(traced, tmp_path, refused):
    assert ".geojson" in refused("export", traced, tmp_path / "out.docx")
    assert ".pdf" in refused("export", traced, tmp_path / "out.dxf", "--flat")
    assert not list(tmp_path.glob("out.*"))


def test_reports_are_written_in_every_form_that_is_named(traced, tmp_path, done):
    outcome = done("report", traced, "--out", tmp_path / "reports", "--html", "--dxf")
    names = [Path(line).name for line in outcome.out.splitlines()]
    assert names == ["report.html", "runs.dxf"]
    assert {p.name for p in (tmp_path / "reports").iterdir()} == set(names)
