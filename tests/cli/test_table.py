"""Tables on terminals of any width, by what rich writes on a console of that width."""

from __future__ import annotations

import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.console import Console

from takeoff.cli.table import table

HEADINGS = ("", "Gross", "Net (k = 2)", "Base (k = 2)", "Packs")
ROWS = [
    ("104 Process", "1,539.4 sf", "1,434.4 sf ± 10.8 sf", "122'-3 3/8\" ± 0'-6 11/16\"",
     "2 × 1 gal kit + 19 × 3 gal kit"),
    ("Total", "6,153.4 sf", "5,721.8 sf ± 31.6 sf", "730'-6 3/8\" ± 3'-2 15/16\"", "5 × 3 gal kit"),
]  # fmt: skip
FIGURES = [
    "1,539.4 sf",
    "1,434.4 sf",
    "± 10.8 sf",
    "122'-3 3/8\"",
    "± 0'-6 11/16\"",
    "2 × 1 gal kit",
    "+ 19 × 3 gal kit",
]


def printed(width: int, rows=ROWS, headings=HEADINGS) -> str:
    out = io.StringIO()
    table("Quantities", headings, rows, to=Console(file=out, width=width, highlight=False))
    return out.getvalue()


@pytest.mark.parametrize("width", [40, 60, 80, 100, 120, 160])
def test_every_figure_stands_whole_on_one_line_at_any_width(width):
    lines = printed(width).splitlines()
    for figure in FIGURES:
        assert any(figure in line for line in lines), (width, figure)
    assert "…" not in "".join(lines)


def test_where_a_row_does_not_fit_each_figure_stands_beside_its_heading():
    assert "    Gross         1,539.4 sf" in printed(60).splitlines()


def test_where_a_row_fits_it_is_one_line():
    assert any("104 Process" in line and "2 × 1 gal kit + 19 × 3 gal kit" in line for line in printed(160).splitlines())


def test_long_texts_wrap_beside_the_figures():
    rows = [("a name of a product that is long and goes on", "USD 1,155.00")]
    lines = printed(40, rows, ("Product", "Cost")).splitlines()
    assert any("USD 1,155.00" in line for line in lines)
    assert max(len(line) for line in lines) <= 40


def test_a_table_without_rows_has_its_headings():
    assert "Gross" in printed(80, rows=[])


cells = st.text("0123456789,.'\"/ sf±+×", min_size=1, max_size=20).map(str.strip)


@settings(max_examples=40)
@given(rows=st.lists(st.tuples(st.just("room"), cells, cells), min_size=1, max_size=4), width=st.integers(20, 120))
def test_no_figure_is_ever_cut(rows, width):
    shown = printed(width, rows, ("", "One", "Two"))
    together = "".join(shown.split())
    for row in rows:
        for cell in row[1:]:
            for word in cell.split():
                assert word in shown, (word, shown)
    assert "…" not in together
