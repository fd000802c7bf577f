"""The name printed in a room, for one that is traced by hand."""

from __future__ import annotations

from takeoff import actions
from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines


def test_a_hand_traced_outline_is_called_as_the_plan_prints_it():
    """Room 104 of the sample plan stands between (210, 330) and (858, 726), as docs/edits-file.md has it traced."""
    plan = actions.sample_plans() / "facility-imperial.pdf"
    data = plan.read_bytes()
    sheet = read_sheets(data, plan.name)[0][0]
    lines = read_lines(data, sheet)
    outline = ((210.0, 330.0), (858.0, 330.0), (858.0, 726.0), (210.0, 726.0))
    assert tuple(t.title() for t in actions.printed_name(lines, outline)) == ("Process", "104")
    assert actions.printed_name(lines, ((1.0, 1.0), (9.0, 1.0), (9.0, 9.0))) == ("", "")
