"""A job as JSON: all of it out and in, by the published schema, and each fault refused with its path."""

from __future__ import annotations

import base64
import hashlib
import json
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from threading import Thread

import jsonschema
import pytest

from takeoff.actions.handover import schema_of
from takeoff.errors import InputError, StoreError
from takeoff.exchange.job_json import job_from_json, job_to_json
from takeoff.job.edits import AddSheets, PutRoom, Remove, SetSettings
from takeoff.job.job import Job, JobSettings
from takeoff.job.store import JobStore
from takeoff.model.drafting import DraftingStyle, Look
from takeoff.model.open_points import Basis, Confirmed, Settled
from takeoff.model.plan import Calibration, KnownDimension, ScaleRegion, Sheet, Source
from takeoff.model.site import PackUse, Reading
from takeoff.model.systems import Pack, Product, Step, System
from takeoff.model.walls import Cove, HeightProfile, Opening, Room, Run

WHEN = "2026-03-02T07:00:00"
PLAN = bytes(range(256))
SHA = hashlib.sha256(PLAN).hexdigest()
DONE = {"sign": lambda: ("ann", "2026-01-05T08:00:00Z")}
CONFIRMED = Confirmed(by="ann", at="2026-01-05T08:00:00Z")
ASSUMED = Basis(of="height", taken=2.1, how="assumed", text="none is shown", at_pt=(1.0, 0.1), confirmed=CONFIRMED)
CATALOGUE = Path(__file__).parents[2] / "takeoff" / "exchange" / "catalogue.toml"


@pytest.fixture(scope="module")
def job() -> Job:
    """A job with something of every kind."""
    run = Run(
        id="a",
        sheet=1,
        room="R1",
        points_pt=((0.1 + 0.2, 1e-9), (100.0, 0.0), (100.0, 1.0 / 3.0)),
        bulges=(0.5, 0.0),
        face="both",
        thickness=0.1,
        height=HeightProfile(points=((0.0, 3.0), (1.0, 3.5))),
        cove=Cove(height=0.1, toe=0.1, radius=0.025, thickness=0.006),
        openings=(
            Opening(
                at=1.0, width=0.9, height=2.1, coated=("jamb",), outline=((0, 0), (0.1, 0), (0, 0.1)), basis=(ASSUMED,)
            ),
        ),
    )
    outline = ((400.0, 400.0), (600.0, 400.0), (600.0, 600.0))
    step = Step(id="s1", name="Prime", kind="coat", basis="net_area", product="p", wet_film=1e-4)
    return Job(
        settings=JobSettings(name='Kühlhaus "Süd" ′ = + - @', units="metric", currency="EUR"),
        sources={SHA: Source(sha256=SHA, name="plän.pdf", size=len(PLAN))},
        sheets={i: Sheet(id=i, source=SHA, page=i, width_pt=800.0, height_pt=700.0, dpi=None) for i in (1, 2)},
        regions={"detail": ScaleRegion(id="detail", sheet=1, outline_pt=outline)},
        calibrations={
            "1": Calibration(
                sheet=1,
                mx=0.02,
                my=0.021,
                dimensions=(KnownDimension(start_pt=(0.0, 0.0), end_pt=(1.0, 0.0), length=0.02),),
                residuals=(-1e-17,),
                doubts=("the scale along y differs",),
            ),
            "1/detail": Calibration(sheet=1, region="detail", mx=0.002, my=0.002),
        },
        rooms={"R1": Room(id="R1", name="Process"), "": Room(id="")},
        runs={"z": replace(run, id="z", room=None), "a": run},
        systems={"own": System(id="own", name="Own", summary="Own build-up", steps=(step,), notes=("n",))},
        uses={"u1": PackUse(id="u1", system="own", step="s1", pack="pail", packs=1.5, area=40.0, room="R1", when=WHEN)},
        readings={"s1": Reading(id="s1", air=20.5, surface=18.0, humidity=0.55, note="north wall")},
        styles={"office": DraftingStyle(name="office", walls=(Look(layer="A-WALL", pen_pt=0.57, ink=(0, 0, 0)),))},
        settled={"rates": Settled(key="rates", state="1", words="Rates are ours.", confirmed=CONFIRMED)},
        products={"p": Product(id="p", name="Primer", unit="L", packs=(Pack(name="pail", size=10.0, price=99.5),))},
    )


@pytest.fixture
def store(tmp_path: Path, job: Job) -> Iterator[JobStore]:
    with JobStore.create(tmp_path / "job", job, {SHA: PLAN}, **DONE) as made:
        yield made


@pytest.fixture
def exported(store: JobStore) -> dict:
    return json.loads(job_to_json(store))


def refusal(data):
    with pytest.raises(InputError) as caught:
        job_from_json(data if isinstance(data, str | bytes) else json.dumps(data))
    assert "\n" not in str(caught.value)
    assert caught.value.remedy
    return caught.value


def test_a_job_with_something_of_every_kind_comes_back_equal_and_in_the_same_order(store, job):
    assert all(getattr(job, name) for name in job.__slots__)
    read, plans, history = job_from_json(job_to_json(store))
    assert read == job
    assert [list(getattr(read, n)) for n in job.__slots__[1:]] == [list(getattr(job, n)) for n in job.__slots__[1:]]
    assert plans == {SHA: PLAN}
    assert [line for line, _ in history] == store.history()


def import_to(path, data):
    job, plans, history = job_from_json(data)
    return JobStore.create(path, job, plans, history=history, sign=lambda: ("eva", "2026-02-01T08:00:00Z"))


def test_an_imported_job_exports_the_same_again(store, tmp_path):
    store.do(PutRoom(room=Room(id="R2")))
    store.do(Remove(kind="run", id="a"))
    store.undo()
    first = job_to_json(store)
    with import_to(tmp_path / "copy", first) as copy:
        assert job_to_json(copy) == first
        assert copy.source(SHA) == PLAN
        assert copy.history() == store.history()


def test_an_export_while_another_writes_is_of_one_moment(store, tmp_path):
    def write():
        with JobStore.open(store.path, **DONE) as other:
            for number in range(200):
                if number % 3 == 2:
                    other.undo()
                else:
                    other.do(PutRoom(room=Room(id=f"N{number}")))

    writer = Thread(target=write)
    writer.start()
    lengths = []
    while writer.is_alive() or not lengths:
        with import_to(tmp_path / f"copy-{len(lengths)}", job_to_json(store)) as copy:
            lengths.append(len(copy.history()))
    writer.join()
    with import_to(tmp_path / "last", job_to_json(store)) as copy:
        assert len(copy.history()) == 201
        assert copy.job == store.job
    assert lengths == sorted(lengths)


def test_undo_and_redo_go_on_in_an_imported_job(store, tmp_path, job):
    source = Source(sha256=hashlib.sha256(b"more").hexdigest(), name="more.pdf", size=4)
    sheet = Sheet(id=3, source=source.sha256, page=1, width_pt=9, height_pt=9)
    store.do(PutRoom(room=Room(id="R2")))
    store.do(AddSheets(sources=(source,), sheets=(sheet,)), sources={source.sha256: b"more"})
    latest = store.job
    store.undo()
    with import_to(tmp_path / "copy", job_to_json(store)) as copy:
        copy.redo()
        assert copy.job == latest
        assert copy.source(source.sha256) == b"more"
        copy.undo()
        copy.undo()
        assert copy.job == job
        assert not copy.can_undo


def test_a_job_without_history_is_imported_with_a_first_line(exported, tmp_path, job):
    del exported["history"]
    with import_to(tmp_path / "copy", json.dumps(exported)) as copy:
        assert copy.job == job
        assert [(h.who, h.label) for h in copy.history()] == [("eva", "New job")]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda e: e["rooms"][0].update(name="Other"), "leads to another job"),
        (lambda e: e["history"][0].update(changes=[]), "leads to another job"),
        (lambda e: e["history"].append({**e["history"][0], "verb": "redo"}), "redo of nothing"),
    ],
)
def test_a_history_that_does_not_lead_to_the_job_makes_no_file(exported, tmp_path, change, said):
    change(exported)
    with pytest.raises(StoreError, match=said):
        import_to(tmp_path / "copy", json.dumps(exported))
    assert [p.name for p in tmp_path.iterdir() if p.name.startswith("copy")] == []


def test_the_export_satisfies_the_published_schema(exported):
    jsonschema.Draft202012Validator.check_schema(schema_of("job"))
    validator = jsonschema.Draft202012Validator(schema_of("job"))
    validator.validate(exported)
    exported["runs"][1]["hieght"] = 3
    assert not validator.is_valid(exported)


def test_the_export_is_plain_json_with_plans_in_base64(exported):
    # base64 as in RFC 4648, section 4, decoded by the standard library
    assert base64.b64decode(exported["plans"][SHA], validate=True) == PLAN
    assert exported["schema"] == "takeoff.job/1"
    assert exported["runs"][1]["points_pt"][0] == [0.1 + 0.2, 1e-9]


def test_the_export_has_the_history(store):
    store.sign = lambda: ("ben", "2026-01-05T09:00:00Z")
    store.do(PutRoom(room=Room(id="R2")))
    store.sign = lambda: ("eva", "2026-01-05T10:00:00Z")
    store.undo()
    history = json.loads(job_to_json(store))["history"]
    assert [(line["who"], line["verb"], line["label"]) for line in history] == [
        ("ann", "do", "New job"),
        ("ben", "do", "Set room R2"),
        ("eva", "undo", "Set room R2"),
    ]
    assert history[2]["at"] == "2026-01-05T10:00:00Z"


def test_the_export_is_of_the_job_as_it_is_now(store):
    store.do(Remove(kind="run", id="a"))
    store.do(SetSettings(settings=replace(store.job.settings, name="Renamed")))
    read, _, _ = job_from_json(job_to_json(store))
    assert (list(read.runs), read.settings.name) == (["z"], "Renamed")


@pytest.mark.parametrize("name", ["edits", "job", "system", "catalogue"])
def test_each_published_schema_is_a_json_schema(name):
    jsonschema.Draft202012Validator.check_schema(schema_of(name))


def test_the_system_schema_takes_every_shipped_system_and_refuses_a_typo():
    systems = tomllib.loads(CATALOGUE.read_text(encoding="utf-8"))["systems"]
    assert len(systems) >= 8
    validator = jsonschema.Draft202012Validator(schema_of("system"))
    for system in systems:
        validator.validate(system)
        assert not validator.is_valid({**system, "stepps": []})
        assert not validator.is_valid({key: value for key, value in system.items() if key != "id"})


@pytest.mark.parametrize(
    ("change", "path"),
    [
        (lambda e: e.update(schema="takeoff.job/2"), "$.schema"),
        (lambda e: e.pop("settings"), "$"),
        (lambda e: e.update(rums=[]), "$"),
        (lambda e: e["settings"].update(units="cubits"), "$.settings.units"),
        (lambda e: e["settings"].update(name=" "), "$.settings"),
        (lambda e: e["runs"][1].update(sheet="1"), "$.runs[1].sheet"),
        (lambda e: e["runs"][1].update(hieght=3), "$.runs[1]"),
        (lambda e: e["runs"][1].update(base=-1), "$.runs[1]"),
        (lambda e: e["runs"][1]["openings"][0].update(width=0), "$.runs[1].openings[0]"),
        (lambda e: e["calibrations"]["1"].update(mx=0), "$.calibrations[...]"),
        (lambda e: e["runs"][1]["openings"][0].update(widht=1), "$.runs[1].openings[0]"),
        (lambda e: e["plans"].update({SHA: "not base64"}), "$.plans[...]"),
        (lambda e: e["history"][0].update(verb="guess"), "$.history[0].verb"),
    ],
)
def test_a_fault_of_form_is_refused_with_its_path(exported, change, path):
    change(exported)
    assert refusal(exported).where == path
    assert "not an exported job" in refusal(exported).message


@pytest.mark.parametrize(
    ("change", "path"),
    [
        (lambda e: e["plans"].clear(), "$.sources[0]"),
        (lambda e: e["plans"].update({SHA: ""}), f"$.plans.{SHA}"),
        (lambda e: e["sheets"][1].update(source="ab"), "$.sheets[1].source"),
        (lambda e: e["regions"][0].update(sheet=9), "$.regions[0].sheet"),
        (lambda e: e["calibrations"]["1"].update(sheet=9), "$.calibrations.1.sheet"),
        (lambda e: e["calibrations"]["1"].update(sheet=2), "$.calibrations.1"),
        (lambda e: e["calibrations"]["1/detail"].update(region="other"), "$.calibrations.1/detail.region"),
        (lambda e: e["runs"][1].update(sheet=9), "$.runs[1].sheet"),
        (lambda e: e["runs"][1].update(room="R9"), "$.runs[1].room"),
        (lambda e: e["runs"][1].update(id="z"), "$.runs[1]"),
        (lambda e: e["rooms"].append(e["rooms"][0]), "$.rooms[2]"),
        (lambda e: e["sheets"].append(e["sheets"][0]), "$.sheets[2]"),
        (lambda e: e["history"][0]["changes"].append(["ghost", "a", None, {}]), "$.history[0].changes"),
        (lambda e: e["history"][0]["changes"].append(["room", "a", None, {"nmae": 1}]), "$.history[0].changes"),
    ],
)
def test_a_fault_of_reference_is_refused_with_its_path(exported, change, path):
    change(exported)
    assert refusal(exported).where == path


@pytest.mark.parametrize("data", ["", "{", "null", "[]", b"\xff\xfe", '{"settings": {"name": "\ud800"}}', "NaN"])
def test_a_text_that_is_no_export_is_refused(data):
    assert "not an exported job" in refusal(data).message
