"""What a person reads names systems and products as the catalogue does; its ids stand in JSON and in files alone."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pymupdf
import pytest

from takeoff.cli.main import run
from takeoff.exchange.catalogue_file import default_catalogue

IDS = {entry.id: entry.name for entries in (default_catalogue().systems, default_catalogue().products)
       for entry in entries if "-" in entry.id}  # fmt: skip
"""Ids that are no words of the language, with the names they stand for."""
WORDS = (
    ("measure", "--by", "system"), ("measure", "--explain"), ("estimate", "--explain"),
    ("estimate", "--range", "--draws", "500"), ("estimate", "--against", "mat-urethane"), ("points", "--all"),
    ("days", "--limit", "0"), ("cut",), ("order",), ("log",), ("hours",), ("progress",), ("history",), ("room",),
)  # fmt: skip


def ids_in(text: str) -> list[str]:
    return [
        line.strip() for line in text.splitlines() if any(re.search(rf"(?<![\w-]){id}(?![\w-])", line) for id in IDS)
    ]


@pytest.fixture(scope="session")
def recorded_made(jobs_made):
    job = jobs_made / "recorded.takeoff"
    shutil.copy(jobs_made / "traced.takeoff", job)
    words = ["glaze", "--packs", "1", "--area", "600 sf", "--system", "mat-hygienic", "--hours", "3"]
    assert run(["use", str(job), *words]) == 0
    return job


@pytest.fixture
def recorded(recorded_made, tmp_path):
    return Path(shutil.copy(recorded_made, tmp_path / "sample.takeoff"))


@pytest.mark.parametrize("words", WORDS, ids=" ".join)
def test_a_command_prints_names_and_no_ids(recorded, done, words):
    page = done(words[0], recorded, *words[1:])
    assert ids_in(page.out + page.err) == []


def test_a_draft_and_its_open_points_name_systems(tmp_path, done, plans):
    job = tmp_path / "set.takeoff"
    page = done("draft", job, "--plan", plans / "facility-imperial.pdf", "--sources", "--processes", "1")
    assert ids_in(page.out + page.err) == []
    assert "Reinforced hygienic wall, epoxy glaze" in page.out
    assert ids_in(done("points", job, "--all").out) == []
    assert ids_in(done("finishes", job, "A-601").out) == []


def test_reports_name_systems(recorded, takeoff, tmp_path):
    for edition in ("full", "bid", "foreman"):
        takeoff("report", recorded, "--out", tmp_path / edition, "--pdf", "--edition", edition, "--allow-open")
        (path,) = (tmp_path / edition).glob("*.pdf")
        with pymupdf.open(path) as document:
            assert ids_in("\n".join(page.get_text() for page in document)) == []
