from __future__ import annotations

from pathlib import Path

import pytest

from takeoff.actions.letterheads import read_letterhead
from takeoff.errors import InputError
from takeoff.report.letterhead import LARGEST_LOGO, logo_kind

SVG = b'<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"/>'


def test_a_letterhead_is_read_with_its_logo_from_its_own_folder(tmp_path: Path) -> None:
    (tmp_path / "logo.svg").write_bytes(SVG)
    file = tmp_path / "head.toml"
    file.write_text(
        'company = ["Sample Coatings", " 1 Street ", ""]\nlogo = "logo.svg"\nprepared_by = "A. Sample"\n'
        'exclusions = ["Sundays."]\nqualifications = ["Thirty days."]\n',
        encoding="utf-8",
    )
    head = read_letterhead(file)
    assert head.company == ("Sample Coatings", "1 Street")
    assert head.logo == SVG
    assert (head.prepared_by, head.exclusions, head.qualifications) == ("A. Sample", ("Sundays.",), ("Thirty days.",))


def test_an_empty_letterhead_is_allowed(tmp_path: Path) -> None:
    file = tmp_path / "head.toml"
    file.write_text("", encoding="utf-8")
    assert read_letterhead(file).company == ()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("companny = []", 'unknown key "companny"'),
        ('company = "one"', "company is not a list of texts"),
        ("company = [1]", "company is not a list of texts"),
        ("prepared_by = 3", "prepared_by is not a text"),
        ('logo = "none.png"', "there is no logo file"),
        ('logo = "head.toml"', "not a PNG, JPEG or SVG"),
        ("company = [", "not a TOML file"),
    ],
)
def test_what_a_letterhead_cannot_be_is_refused_with_a_remedy(tmp_path: Path, text: str, said: str) -> None:
    file = tmp_path / "head.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=said) as caught:
        read_letterhead(file)
    assert caught.value.remedy


def test_a_missing_letterhead_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="there is no letterhead file"):
        read_letterhead(tmp_path / "none.toml")


def test_the_kind_of_a_logo_is_told_by_its_bytes_not_its_name() -> None:
    assert logo_kind(b"\x89PNG\r\n\x1a\n...") == "png"
    assert logo_kind(b"\xff\xd8\xff\xe0...") == "jpg"
    assert logo_kind(SVG) == "svg"
    for bad in (b"GIF89a", b"%PDF-1.7", b"", b"<html></html>"):
        with pytest.raises(InputError):
            logo_kind(bad)
    with pytest.raises(InputError, match="MB"):
        logo_kind(b"\xff\xd8\xff" + bytes(LARGEST_LOGO))
