"""Whose name goes into the journal."""

from __future__ import annotations

import getpass
import json
from pathlib import Path

import pytest

from takeoff.cli.main import run
from takeoff.errors import InputError
from takeoff.signing import LONGEST_NAME, person, set_person


@pytest.fixture(autouse=True)
def settings(tmp_path, monkeypatch):
    monkeypatch.setenv("TAKEOFF_CONFIG", str(tmp_path / "settings"))
    return tmp_path / "settings"


def test_without_a_name_the_login_name_is_taken():
    assert person() == getpass.getuser()


def test_a_name_that_was_set_is_kept_until_it_is_taken_back():
    set_person("  Änne Muster ")
    assert person() == "Änne Muster"
    set_person("")
    assert person() == getpass.getuser()


@pytest.mark.parametrize("name", ["two\nlines", "x" * (LONGEST_NAME + 1), "bell\x07"])
def test_what_is_no_name_is_refused_and_the_old_one_stays(name):
    set_person("Ann")
    with pytest.raises(InputError, match="no name"):
        set_person(name)
    assert person() == "Ann"


def test_a_file_that_is_not_text_is_no_reason_to_stop_work(settings):
    settings.mkdir()
    (settings / "person.txt").write_bytes(b"\xff\xfe\x00")
    assert person() == getpass.getuser()


def test_the_journal_shows_the_name_that_was_set(tmp_path, capsys):
    plan = Path(__file__).parents[1] / "sample_plans" / "facility-scan.png"
    assert run(["person", "Ann Example"]) == 0
    job = str(tmp_path / "a.takeoff")
    assert run(["new", job, "--plan", str(plan)]) == 0
    assert run(["person", "--login"]) == 0
    assert run(["scale", job, "1", "--ratio", "1:50"]) == 0
    capsys.readouterr()
    assert run(["history", job, "--json"]) == 0
    assert [line["who"] for line in json.loads(capsys.readouterr().out)] == ["Ann Example", getpass.getuser()]


def test_a_name_together_with_login_is_refused(capsys):
    assert run(["person", "Ann", "--login"]) == 2
    assert "a name and --login were given" in capsys.readouterr().err
