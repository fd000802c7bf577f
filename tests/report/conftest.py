"""What the reports show in these tests: the sample job, and the same walls with names that mean harm."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from takeoff import actions
from takeoff.actions.reports import report_content
from takeoff.report.content import ReportContent
from takeoff.report.planning_tables import UNPLANNED, Planning
from tests.jobs import AT, sample_on

SCRIPT = "</title></style></script><script>document.title='owned'</script><img src=x onerror=document.title='owned'>"
HOSTILE = ("=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1+1", '"><svg onload=alert(1)>', SCRIPT, "]]><x/>&amp;")


@pytest.fixture(scope="session")
def planned(tmp_path_factory: pytest.TempPathFactory) -> ReportContent:
    """The report of the sample job with its cut lists."""
    with sample_on(tmp_path_factory.mktemp("sample") / "job.takeoff", name="Sample dairy") as store:
        made = report_content(store, actions.make_estimate(store.job), at=AT)
        return replace(made, planning=Planning(cuts=made.planning.cuts))


@pytest.fixture(scope="session")
def content(planned: ReportContent) -> ReportContent:
    """The report of the sample job, with nothing planned besides the estimate."""
    return replace(planned, planning=UNPLANNED)


@pytest.fixture(scope="session")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> ReportContent:
    """The report of a job whose every free text tries to be a formula, markup or a script."""
    rooms, runs = [], []
    for i, text in enumerate(HOSTILE):
        id = text.replace("\t", " ")  # an id with what nobody can see is refused
        rooms.append({"id": f"{id}{i}", "name": text, "number": text, "height": 3.0, "system": "mat-hygienic"})
        door = {"at": 2.0, "width": 0.9, "height": 2.1, "kind": "door", "mark": text}
        x = 200.0 + 150.0 * i
        points = [[x, 300.0], [x + 100.0, 300.0], [x + 100.0, 420.0]]
        runs.append({"id": id, "sheet": 1, "room": f"{id}{i}", "points": points, "openings": [door]})
    edits = {"schema": "takeoff.edits/1", "length_unit": "m", "rooms": rooms, "runs": runs}
    with sample_on(tmp_path_factory.mktemp("hostile") / "job.takeoff", is_traced=False) as store:
        actions.apply_edits(store, json.dumps(edits).encode())
        made = report_content(store, actions.make_estimate(store.job), at=AT)
    return replace(made, job=SCRIPT, planning=UNPLANNED)
