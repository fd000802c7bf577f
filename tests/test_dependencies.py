"""What the program is installed with, without a network: nothing missing or untested, licences that fit."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
from importlib.metadata import Distribution, distribution
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]


def installed() -> dict[str, Distribution]:
    """Every library that the program runs with, by name, with the extras of its users."""
    found: dict[str, Distribution] = {}
    waiting = [Requirement(text) for text in PROJECT["dependencies"]]
    extras = PROJECT["optional-dependencies"]
    waiting += [Requirement(text) for extra in ("gis", "ifc", "scan") for text in extras[extra]]
    seen: set[tuple[str, str]] = set()
    while waiting:
        wanted = waiting.pop()
        name = canonicalize_name(wanted.name)
        for extra in ("", *wanted.extras):
            if (name, extra) in seen or (wanted.marker and not wanted.marker.evaluate({"extra": ""})):
                continue
            seen.add((name, extra))
            found[name] = distribution(name)
            for text in found[name].requires or ():
                needed = Requirement(text)
                if needed.marker is None or needed.marker.evaluate({"extra": extra}):
                    waiting.append(Requirement(re.sub(r";.*", "", text)))
    return found


def test_every_library_is_there_in_the_version_that_the_tests_passed_with():
    lines = (ROOT / "tests" / "constraints.txt").read_text().splitlines()
    pinned = {canonicalize_name(n): v for n, _, v in (line.partition("==") for line in lines if "==" in line)}
    found = installed()
    assert len(found) > 25
    assert {n: d.version for n, d in found.items() if pinned.get(n) != d.version} == {}


def test_every_requirement_of_the_project_is_met_by_what_is_installed():
    for text in PROJECT["dependencies"]:
        wanted = Requirement(text)
        assert wanted.specifier.contains(distribution(wanted.name).version), text


def test_no_library_has_a_licence_that_forbids_to_hand_the_program_on():
    for name, library in installed().items():
        said = " ".join(
            [library.metadata.get("License-Expression") or "", library.metadata.get("License") or ""]
            + [line for line in library.metadata.get_all("Classifier") or () if line.startswith("License ::")]
        ).casefold()
        assert not re.search(r"proprietary|non-?commercial", said), name


def test_the_list_of_versions_names_nothing_twice():
    lines = [line.partition("==")[0] for line in (ROOT / "tests" / "constraints.txt").read_text().splitlines()]
    names = [canonicalize_name(line) for line in lines if line and not line.startswith("#")]
    assert len(names) == len(set(names))


@pytest.mark.parametrize(
    "load",
    [
        "from takeoff.trace.scans.wall_network import _network; _network()",
        "import numpy; from takeoff.sheet.ocr import Reader; Reader().read(numpy.full((200, 400), 255, numpy.uint8))",
    ],
)
def test_no_library_keeps_what_it_would_send_about_the_work(load: str, tmp_path: Path):
    """ONNX Runtime sends from 1.29 on (its release notes); first it keeps a number of the machine and a file of events.

    It sends nothing where CI is set, which hides this from tests that run there.
    """
    home = {name: str(tmp_path) for name in ("HOME", "USERPROFILE", "LOCALAPPDATA", "XDG_CACHE_HOME")}
    hiding = ("CI", "ORT_", "GITHUB_", "TF_BUILD")
    plain = {name: value for name, value in os.environ.items() if not name.startswith(hiding)}
    subprocess.run([sys.executable, "-c", load], env={**plain, **home}, check=True, timeout=120)
    assert [str(file) for file in tmp_path.rglob("*") if file.is_file()] == []
