"""Output where the terminal or the pipe does not take every character; run as programs are, with their own streams."""

from __future__ import annotations

import io
import json
import os
import signal
import subprocess
import sys

import pytest

from takeoff.cli.main import run
from takeoff.exchange.catalogue_file import read_catalogue


def ran(encoding: str, *words: object) -> subprocess.CompletedProcess[bytes]:
    environment = {**os.environ, "PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"}
    return subprocess.run(
        [sys.executable, "-m", "takeoff.cli.main", *map(str, words)], capture_output=True, env=environment, check=False
    )


@pytest.mark.parametrize("encoding", ["ascii", "cp437", "latin-1"])
def test_a_terminal_without_every_character_still_shows_every_figure(encoding, traced, monkeypatch):
    out = io.TextIOWrapper(io.BytesIO(), encoding=encoding)
    monkeypatch.setattr(sys, "stdout", out)
    assert run(["measure", str(traced)]) == 0
    out.flush()
    shown = out.buffer.getvalue().decode(encoding)
    assert "1,434.4 sf" in shown
    assert "+/- 10.8 sf" in shown or "± 10.8 sf" in shown


def test_a_refusal_is_read_without_codes_for_characters(traced):
    line = ran("ascii", "scale", traced, "A-101", "--points", "1,2 3,4", "--length", "zz").stderr.decode("ascii")
    assert line.startswith('error: "zz" has no number in it.')


def test_json_is_utf_8_whatever_the_locale(job, done):
    """RFC 8259, 8.1: JSON between systems is UTF-8."""
    plain = done("sheets", job, "--json").json
    assert json.loads(ran("latin-1", "sheets", job, "--json").stdout.decode("utf-8")) == plain


def test_the_printed_catalogue_is_a_file_that_can_be_read_whatever_the_locale():
    assert read_catalogue(ran("cp1252", "catalogue").stdout).system("mat-hygienic")


@pytest.mark.parametrize(
    "words",
    [("--help",), ("catalogue",), ("estimate", "JOB"), ("estimate", "JOB", "--json"), ("sheets", "JOB")],
    ids=" ".join,
)
def test_output_that_nobody_reads_any_more_ends_the_program_quietly(traced, words):
    """128 and the number of the signal is what shells give for a program that SIGPIPE ended; from memory."""
    reading, writing = os.pipe()
    os.close(reading)
    command = [sys.executable, "-m", "takeoff.cli.main", *(str(traced) if w == "JOB" else w for w in words)]
    try:
        done = subprocess.run(command, stdout=writing, stderr=subprocess.PIPE, text=True, check=False)
    finally:
        os.close(writing)
    assert done.returncode == 128 + signal.SIGPIPE
    assert [line for line in done.stderr.splitlines() if not line.startswith("note: ")] == []


def test_a_name_that_would_steer_a_terminal_is_shown_and_not_sent(traced, done, takeoff, tmp_path):
    name = "Wash\x1b[2J\x07\u202egpj\x9b"
    (tmp_path / "e.json").write_text(json.dumps({"schema": "takeoff.edits/1", "rooms": [{"id": "R104", "name": name}]}))
    done("apply", traced, tmp_path / "e.json")
    shown = (
        *(("measure",), ("estimate",), ("cut",), ("order",), ("points",), ("sheets",)),
        *(("days", "--start", "2026-03-02", "--limit", "0"), ("measure", "--json"), ("points", "--json")),
    )
    for words in shown:
        outcome = takeoff(words[0], traced, *words[1:])
        assert "Wash" in outcome.out or words[0] in ("order", "sheets")
        assert not set("\x1b\x07\u202e\x9b") & set(outcome.out + outcome.err)
