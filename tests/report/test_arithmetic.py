"""The working of a face, followed by hand on the sample job: lengths and heights are those drawn on its plan."""

from __future__ import annotations

import re

import pytest

from takeoff import actions
from takeoff.measure.faces import MeasuredFace
from takeoff.report.arithmetic import face_arithmetic
from takeoff.units import Display
from tests.jobs import sample_on

SHOW = Display(system="imperial", precision=16, currency="USD")


@pytest.fixture(scope="module")
def faces(tmp_path_factory: pytest.TempPathFactory) -> dict[str, MeasuredFace]:
    with sample_on(tmp_path_factory.mktemp("working") / "job.takeoff", name="Sample dairy") as store:
        return {face.elevation.key: face for face in actions.measure_ready(store.job)[0].faces}


def test_a_sloping_top_is_worked_piece_by_piece(faces):
    said = face_arithmetic(faces["107-walls:right"], SHOW)
    # 47/3 ft × (12 + 9) / 2 = 164.5; 22 × 9 = 198; 164.5; 22 × 12 = 264; together 791 (trapezoids)
    assert said[0] == "from 0'-0\": 15'-8\" × (12'-0\" + 9'-0\") / 2 = 164.5 sf"
    assert [line.rpartition(" = ")[2] for line in said[:4]] == ["164.5 sf", "198.0 sf", "164.5 sf", "264.0 sf"]
    assert said[4] == "gross: the 4 pieces together = 791.0 sf"


def test_returns_cove_and_base_have_their_working(faces):
    said = face_arithmetic(faces["103-splash-wall:left"], SHOW)
    assert said.count("return, end of the wall: 6'-0\" × 1'-0\" deep = 6.0 sf") == 2
    # a square-leg cove of 4 in by 4 in with a radius of 1 in: girth 3 + 3 + π/2 in = 7.57 in (docs/formulas.md);
    # 10 ft of it stand before 10 × 4/12 = 3.3 sf
    (cove,) = (line for line in said if line.startswith("cove: "))
    assert "behind it 3.3 sf, 0'-4\" high" in cove
    assert "coated: 48.0 sf + 12.0 sf of coated returns − 3.3 sf behind the cove = 56.7 sf" in said
    gowning = face_arithmetic(faces["102-walls:right"], SHOW)
    assert "base: 67'-4\" − 3'-0\" where openings reach the floor = 64'-4\"" in gowning


def test_the_parts_of_the_terminations_add_up_to_what_is_measured(faces):
    for face in faces.values():
        for line in face_arithmetic(face, SHOW):
            if line.startswith("terminations: ") and " = " in line:
                *parts, whole = (int(f) * 12 + int(i) for f, i in re.findall(r"(\d+)'-(\d+)", line))
                assert sum(parts) == pytest.approx(whole, abs=len(parts))  # inches, their fractions left out
                assert SHOW.length(face.quantities.termination_length) in line
