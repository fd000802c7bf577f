"""TOML files that ask too much are refused before the reader gives in."""

from __future__ import annotations

import pytest

from takeoff.errors import InputError
from takeoff.exchange.form_faults import read_toml


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"a" + b".a" * 200_000 + b" = 1", "a key of 200,001 parts"),
        (b"a = " + b"[" * 50_000, "nested too deep"),
        (b"a = " + b"9" * 1_000_000, "more than 30 digits"),
        (b"\xff", "not UTF-8"),
        (b"a = ", "not TOML"),
    ],
)
def test_what_no_person_writes_is_refused(data, said):
    with pytest.raises(InputError, match=said):
        read_toml(data)


def test_a_file_with_a_mark_of_its_order_of_bytes_is_read():
    assert read_toml(b"\xef\xbb\xbfa.b = '1.2.3'") == {"a": {"b": "1.2.3"}}
