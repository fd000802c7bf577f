from __future__ import annotations

import csv
import io

import pytest

from takeoff.report.files import csv_files, safe_text, table_csv

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet takes for a formula's first character (OWASP, "CSV Injection")."""


def _read(data: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))


def test_every_table_becomes_a_file_that_csv_readers_read_with_its_rows_and_units(content):
    files = csv_files(content.tables())
    assert list(files) == [f"{t.id}.csv" for t in content.tables()]
    for data, table in zip(files.values(), content.tables(), strict=True):
        rows = _read(data)
        assert len(rows) == 1 + len(table.rows) + (table.total is not None)
        assert {len(row) for row in rows} == {len(table.columns)}
        assert rows[0] == [c.heading for c in table.columns]
    assert "Net (sf)" in _read(next(iter(files.values())))[0]


def test_numbers_are_rounded_as_they_are_printed_without_signs_between_thousands(content):
    for table in content.tables():
        for row, values in zip(_read(table_csv(table))[1:], table.rows, strict=False):
            for column, cell, value in zip(table.columns, row, values, strict=True):
                if not isinstance(value, str):
                    assert cell == column.text(value).replace(",", "")


def test_no_text_of_the_job_starts_like_a_formula(hostile):
    seen = 0
    for table in hostile.tables():
        texts = [i for i, c in enumerate(table.columns) if c.kind == "text"]
        for row in _read(table_csv(table))[1:]:
            for i in texts:
                assert not row[i].startswith(_FORMULA_STARTS), row[i]
                seen += row[i].startswith("'")
    assert seen > 10


@pytest.mark.parametrize("line", ["\r\n", "\n"])
def test_a_text_with_line_breaks_and_quotes_comes_back_whole(content, line):
    from dataclasses import replace

    table = content.tables()[0]
    text = f'Wash "room"{line}second; line, end'
    changed = replace(table, rows=((text, *table.rows[0][1:]),), total=None)
    assert _read(table_csv(changed))[1][0] == text


@pytest.mark.parametrize("text", ["|=1", "\uff1d1+1", "\uff0b1", "\uff0d1", "\uff20SUM(A1)", "  =1+1", "\n=1"])
def test_signs_that_other_locales_take_for_a_formula_are_quoted_too(text):
    assert safe_text(text) == f"'{text}"
