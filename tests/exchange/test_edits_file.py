"""The edits file: what it means, and that each fault is refused with its JSON path and nothing is applied."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest

from takeoff.actions.handover import schema_of
from takeoff.errors import EditError
from takeoff.exchange.edits_file import read_edits
from takeoff.job.changes import apply_change
from takeoff.job.job import Job, JobSettings
from takeoff.job.store import JobStore
from takeoff.model.open_points import Basis, basis_of
from takeoff.model.plan import Calibration, ScaleRegion, Sheet, Source
from takeoff.model.walls import Cove, HeightProfile, Opening, Room, Run

SAMPLES = sorted((Path(__file__).parents[2] / "sample_plans").glob("*edits.json"))
SYSTEMS = frozenset({"mat-hygienic", "cove-only"})
NO_ID = {"points": [[0, 0], [100, 0]], "height": 3.0, "sheet": 1}
COVE = {"height": 0.1, "toe": 0.1, "radius": 0.025, "thickness": 0.006}
DOOR = {"at": 1.0, "width": 0.9, "height": 2.1}


@pytest.fixture(scope="module")
def job() -> Job:
    """One sheet where 100 points are 2 m, with a detail at a tenth of that, one without a scale, and a room."""
    source = Source(sha256="ab" * 32, name="plan.pdf", size=1)
    outline = ((400.0, 400.0), (600.0, 400.0), (600.0, 600.0), (400.0, 600.0))
    return Job(
        settings=JobSettings(name="Cold store", units="metric"),
        sources={source.sha256: source},
        sheets={i: Sheet(id=i, source=source.sha256, page=i, width_pt=800.0, height_pt=700.0) for i in (1, 2)},
        regions={"detail": ScaleRegion(id="detail", sheet=1, outline_pt=outline)},
        calibrations={
            "1": Calibration(sheet=1, mx=0.02, my=0.02),
            "1/detail": Calibration(sheet=1, region="detail", mx=0.002, my=0.002),
        },
        rooms={"R1": Room(id="R1", height=HeightProfile.constant(3.0))},
    )


def text(*runs, rooms=(), **more):
    return json.dumps({"schema": "takeoff.edits/1", "rooms": list(rooms), "runs": list(runs), **more})


def run(**changes):
    """A run of 2 m in the calibrated part of the sheet, with changes to it."""
    return {"id": "a", **NO_ID, **changes}


def read(job, data):
    return apply_change(job, read_edits(data, job, known_systems=SYSTEMS).apply(job))


def refusal(job, data):
    with pytest.raises(EditError) as caught:
        read_edits(data, job, known_systems=SYSTEMS)
    error = caught.value
    assert error.message
    assert error.remedy
    assert "\n" not in str(error)
    return error


# What a file means


def test_everything_that_a_file_may_say_ends_in_the_job(job):
    room = {"id": "R2", "name": "Wash", "number": "103", "height": [[0, 3.0], ["1 m", "350 cm"]], "system": "cove-only"}
    full = run(
        room="R2",
        points=[[0, 0], [100, 0], [100, 100]],
        bulges=[-0.3, 0, 0],
        closed=True,
        face="both",
        line="centre",
        thickness="100 mm",
        height="3810 mm",
        base="10 cm",
        system="mat-hygienic",
        cove=COVE,
        top="exposed",
        ends=["return", "abut"],
        openings=[
            {
                **DOOR,
                "sill": 0.1,
                "count": 2,
                "spacing": "1.5 m",
                "kind": "window",
                "reveal": "10 cm",
                "coated": ["jamb", "head", "jamb"],
                "outline": [[-0.45, 0], [0.45, 0], ["0 m", "2.1 m"]],
                "mark": "W1",
            }
        ],
    )
    read_job = read(job, text(full, rooms=[room]))
    profile = HeightProfile(points=((0.0, 3.0), (1.0, 3.5)))
    assert read_job.rooms["R2"] == Room(id="R2", name="Wash", number="103", height=profile, system="cove-only")
    assert read_job.runs["a"] == Run(
        id="a",
        sheet=1,
        room="R2",
        points_pt=((0.0, 0.0), (100.0, 0.0), (100.0, 100.0)),
        bulges=(-0.3, 0.0, 0.0),
        closed=True,
        face="both",
        line="centre",
        thickness=0.1,
        height=HeightProfile.constant(3.81),
        base=0.1,
        system="mat-hygienic",
        cove=Cove(**COVE),
        top="exposed",
        ends=("return", "abut"),
        openings=(
            Opening(
                at=1.0,
                width=0.9,
                height=2.1,
                sill=0.1,
                count=2,
                spacing=1.5,
                kind="window",
                reveal=0.1,
                coated=("jamb", "head"),
                outline=((-0.45, 0.0), (0.45, 0.0), (0.0, 2.1)),
                mark="W1",
            ),
        ),
    )


@pytest.mark.parametrize(("cove", "no_cove"), [({}, False), ({"cove": None}, True), ({"cove": COVE}, False)])
def test_a_cove_left_out_is_the_rooms_and_null_is_none(job, cove, no_cove):
    made = read(job, text(run(**cove))).runs["a"]
    assert made.no_cove is no_cove
    assert (made.cove is not None) == bool(cove.get("cove"))


def test_a_height_of_feet_and_inches_is_read_in_metres(job):
    # 1 ft = 0.3048 m exactly (international foot, NIST SP 811)
    assert read(job, text(run(height="10'-0\""))).runs["a"].height.points == ((0.0, pytest.approx(3.048)),)


def test_runs_may_name_rooms_of_the_same_file_and_of_the_job(job):
    made = read(job, text(run(room="R1"), run(id="b", room="new"), rooms=[{"id": "new"}]))
    assert [made.runs[id].room for id in "ab"] == ["R1", "new"]


def test_a_run_without_a_height_takes_the_rooms(job):
    assert read(job, text({**run(room="R1"), "height": None})).runs["a"].height is None


def test_a_file_is_one_step_to_undo(job, tmp_path):
    edit = read_edits(text(run(), run(id="b"), rooms=[{"id": "R2"}]), job, known_systems=SYSTEMS)
    assert edit.label == "Apply 1 room and 2 walls"
    plain = Job(settings=job.settings, sheets={}, rooms=job.rooms)
    with JobStore.create(tmp_path / "job", plain, {}, sign=lambda: ("w", "t")) as store:
        store.do(read_edits(text(rooms=[{"id": "R2"}]), plain, known_systems=SYSTEMS))
        assert store.undo().label == "Apply 1 room and 0 walls"
        assert store.job == plain


def test_a_file_with_a_byte_order_mark_is_read(job):
    assert "a" in read(job, b"\xef\xbb\xbf" + text(run()).encode()).runs


def test_openings_are_not_placed_where_the_sheet_has_no_scale_yet(job):
    far = run(sheet=2, openings=[{**DOOR, "at": 50.0}])
    assert read(job, text(far)).runs["a"].openings[0].at == 50.0


def test_a_run_in_a_scale_region_is_checked_at_its_scale(job):
    # 100 points are 0.2 m in the detail: the door of 0.9 m does not fit
    inside = run(points=[[450, 450], [550, 450]], openings=[DOOR])
    assert refusal(job, text(inside)).where == "$.runs[0].openings[0].width"


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.name)
def test_the_sample_edits_satisfy_the_published_schema(path):
    jsonschema.validate(json.loads(path.read_text(encoding="utf-8")), schema_of("edits"))


def test_there_are_sample_edits():
    assert len(SAMPLES) >= 3


# Refusals


RUN_FAULTS = {
    "a typo in a key": (run(hieght=3.0), "$.runs[0]"),
    "no id": (NO_ID, "$.runs[0]"),
    "an empty id": (run(id=""), "$.runs[0].id"),
    "a number as id": (run(id=7), "$.runs[0].id"),
    "no such sheet": (run(sheet=9), "$.runs[0].sheet"),
    "a sheet by name": (run(sheet="A-101"), "$.runs[0].sheet"),
    "no such room": (run(room="R9"), "$.runs[0].room"),
    "no such system": (run(system="gold-leaf"), "$.runs[0].system"),
    "a point off the sheet": (run(points=[[0, 0], [801.5, 0]]), "$.runs[0].points[1]"),
    "a point of three numbers": (run(points=[[0, 0], [1, 1, 1]]), "$.runs[0].points[1]"),
    "a text in a point": (run(points=[[0, 0], ["1", 1]]), "$.runs[0].points[1][0]"),
    "no points": (run(points=[]), "$.runs[0].points"),
    "one point": (run(points=[[0, 0]]), "$.runs[0].points"),
    "a closed run of two points": (run(closed=True), "$.runs[0].points"),
    "no length": (run(points=[[5, 5], [5, 5]]), "$.runs[0].points"),
    "a point twice": (run(points=[[0, 0], [5, 5], [5, 5], [9, 5]]), "$.runs[0].points"),
    "a closed run ending at its start": (run(points=[[0, 0], [9, 0], [9, 9], [0, 0]], closed=True), "$.runs[0].points"),
    "a line crossing itself": (run(points=[[0, 0], [50, 50], [50, 0], [0, 50]]), "$.runs[0].points"),
    "a closed line crossing itself": (
        run(points=[[0, 0], [50, 50], [50, 0], [0, 40]], closed=True),
        "$.runs[0].points",
    ),
    "a line back over itself": (run(points=[[0, 0], [50, 0], [20, 0]]), "$.runs[0].points"),
    "a closed line without area": (run(points=[[0, 0], [50, 0], [90, 0]], closed=True), "$.runs[0].points"),
    "a line across the edge of a scale region": (run(points=[[350, 450], [450, 450]]), "$.runs[0].points"),
    "too few bulges": (run(bulges=[0, 0, 0]), "$.runs[0].bulges"),
    "an absurd bulge": (run(bulges=[5000]), "$.runs[0].bulges"),
    "no such face": (run(face="front"), "$.runs[0].face"),
    "both faces of a line": (run(face="both"), "$.runs[0].face"),
    "a centreline of no thickness": (run(line="centre"), "$.runs[0].line"),
    "a returned end of no thickness": (run(ends=["return", "free"]), "$.runs[0].ends"),
    "one end": (run(ends=["free"]), "$.runs[0].ends"),
    "a negative thickness": (run(thickness=-0.1), "$.runs[0].thickness"),
    "an absurd thickness": (run(thickness="11 m"), "$.runs[0].thickness"),
    "a height that is no length": (run(height="ten"), "$.runs[0].height"),
    "a negative height": (run(height=-3.0), "$.runs[0].height"),
    "no height at all": ({**run(), "height": None}, "$.runs[0].height"),
    "a height of zero": (run(height=0), "$.runs[0].height"),
    "an absurd height": (run(height=3000), "$.runs[0].height"),
    "an empty height profile": (run(height=[]), "$.runs[0].height"),
    "a height profile out of order": (run(height=[[2, 3.0], [1, 3.0]]), "$.runs[0].height"),
    "a bad text in a height profile": (run(height=[[0, 3.0], [1, "tall"]]), "$.runs[0].height[1][1]"),
    "a base over the top": (run(height=1.0, base=1.5), "$.runs[0].height"),
    "a base over the room's top": ({**run(room="R1", base=3.5), "height": None}, "$.runs[0]"),
    "a negative base": (run(base=-0.5), "$.runs[0].base"),
    "a bad text as base": (run(base="low"), "$.runs[0].base"),
    "no such top": (run(top="roof"), "$.runs[0].top"),
    "a cove without a toe": (run(cove={**COVE, "toe": 0}), "$.runs[0].cove.toe"),
    "a cove radius over its legs": (run(cove={**COVE, "radius": 0.2}), "$.runs[0].cove.radius"),
    "a cove lap over its height": (run(cove={**COVE, "lap": 0.2}), "$.runs[0].cove.lap"),
    "a bad text in a cove": (run(cove={**COVE, "thickness": "thin"}), "$.runs[0].cove.thickness"),
    "half a cove": (run(cove={"height": 0.1}), "$.runs[0].cove"),
}


@pytest.mark.parametrize("fault", RUN_FAULTS)
def test_a_fault_of_a_run_is_refused_with_its_path(job, fault):
    entry, path = RUN_FAULTS[fault]
    assert refusal(job, text(entry)).where == path


def test_the_path_names_the_run_at_fault_among_others(job):
    assert refusal(job, text(run(), run(id="b"), run(id="c", base=-1))).where == "$.runs[2].base"


OPENING_FAULTS = {
    "at": [-0.1, 0.4, 1.7, "there", "-1 m"],
    "width": [0, -0.9, 2.5, "wide"],
    "height": [0, -2.1, 250, "tall"],
    "sill": [-0.1, 101, "low"],
    "count": [0, -1, 10_001, 1.5, "two"],
    "spacing": [0, -1.0, "far"],
    "kind": ["gate", 3],
    "reveal": [-0.1, 11, "deep"],
    "outline": [[[0, 0], [0.1, 0]], [[0, 0], [5, 0], [0, 1]], [[0, 0], [0.4, 0], [0, 2.2]]],
    "mark": [7],
}


@pytest.mark.parametrize(("field", "value"), [(f, v) for f, values in OPENING_FAULTS.items() for v in values])
def test_a_fault_of_an_opening_is_refused_with_its_path(job, field, value):
    entry = run(openings=[DOOR, {**DOOR, field: value}])
    assert refusal(job, text(entry)).where == f"$.runs[0].openings[1].{field}"


@pytest.mark.parametrize(
    ("changes", "path"),
    [
        ({"coated": ["top"]}, "coated[0]"),
        ({"outline": [[0, 0], [0.1, 0], ["up", 1]]}, "outline[2][0]"),
        ({"count": 3}, "at"),
        ({"count": 2, "spacing": 3.0}, "at"),
    ],
)
def test_a_fault_inside_an_openings_fields_is_refused_with_its_path(job, changes, path):
    entry = run(openings=[{**DOOR, **changes}])
    assert refusal(job, text(entry)).where == f"$.runs[0].openings[0].{path}"


@pytest.mark.parametrize(
    ("file", "says"),
    [
        (text(runs=[run(hieght=3.0)]), 'there is no key "hieght": did you mean "height"?'),
        (text(runs=[run(openings=[{"at": 1.0, "widht": 0.9}])]), 'there is no key "widht": did you mean "width"?'),
        (text(walls=[]), 'there is no key "walls": keys: schema, length_unit, page, settings, rooms, runs, changes'),
    ],
)
def test_a_typo_in_a_key_leads_to_the_key_that_was_meant(job, file, says):
    assert refusal(job, file).message == says


def test_a_typo_in_an_opening_is_refused_with_its_path(job):
    assert refusal(job, text(run(openings=[{**DOOR, "widht": 1}]))).where == "$.runs[0].openings[0]"
    assert refusal(job, text(run(openings=[{"at": 1.0, "width": 0.9}]))).where == "$.runs[0].openings[0]"


@pytest.mark.parametrize("id", ["opening 9", "run 1, opening x", "a - at `$.rooms[7]`", "opening"])
def test_ids_that_look_like_places_do_not_lead_the_path_astray(job, id):
    entry = run(id=id, openings=[DOOR, {**DOOR, "at": 9.0}])
    assert refusal(job, text(entry)).where == "$.runs[0].openings[1].at"
    assert refusal(job, text(run(id=id, room=id))).where == "$.runs[0].room"


@pytest.mark.parametrize(
    ("room", "path"),
    [
        ({"id": ""}, "$.rooms[0].id"),
        ({"name": "Wash"}, "$.rooms[0]"),
        ({"id": "R2", "nmae": "Wash"}, "$.rooms[0]"),
        ({"id": "R2", "height": "ten"}, "$.rooms[0].height"),
        ({"id": "R2", "height": -1}, "$.rooms[0].height"),
        ({"id": "R2", "system": "gold-leaf"}, "$.rooms[0].system"),
        ({"id": "R2", "cove": {**COVE, "height": -1}}, "$.rooms[0].cove.height"),
        ({"id": "R2", "cove": {**COVE, "depth": 1}}, "$.rooms[0].cove"),
    ],
)
def test_a_fault_of_a_room_is_refused_with_its_path(job, room, path):
    assert refusal(job, text(rooms=[room])).where == path


@pytest.mark.parametrize(
    ("data", "path"),
    [
        (text(romms=[]), "$"),
        (text(run(), run()), "$.runs[1].id"),
        (text(rooms=[{"id": "R2"}, {"id": "R3"}, {"id": "R2"}]), "$.rooms[2].id"),
        ('{"runs": []}', "$"),
        ('{"schema": "takeoff.edits/2"}', "$.schema"),
        ('{"schema": "takeoff.edits/1", "runs": {}}', "$.runs"),
        ("[]", "$"),
        ("", "$"),
        ("{", "$"),
        (text() + "x", "$"),
        (b"\xff\xfe\x00{", "$"),
        (text(run(height=3.0)).replace("3.0", "NaN"), "$"),
        (text(run(height=3.0)).replace("3.0", "Infinity"), "$"),
        ('{"schema": "takeoff.edits/1", "rooms": [{"id": "\ud800"}]}', "$"),
        ('{"schema": "takeoff.edits/1", "rooms": [{"id": "\\ud800"}]}', "$"),
    ],
)
def test_a_file_of_another_form_is_refused_with_its_path(job, data, path):
    assert refusal(job, data).where == path


@pytest.mark.parametrize("number", ["1e999", "-1e999"])
def test_a_number_beyond_all_numbers_is_refused(job, number):
    assert refusal(job, text(run(height=12345.5)).replace("12345.5", number)).where.startswith("$")


def test_a_known_system_or_room_is_named_in_the_remedy(job):
    assert refusal(job, text(run(system="gold-leaf"))).remedy == "Known systems: cove-only, mat-hygienic."
    assert "R1" in refusal(job, text(run(room="R9"))).remedy


def test_one_fault_at_the_end_keeps_everything_before_it_out_of_the_job_file(job, tmp_path):
    plain = Job(settings=job.settings, rooms=job.rooms)
    with JobStore.create(tmp_path / "job", plain, {}, sign=lambda: ("w", "t")) as store:
        data = text(rooms=[{"id": f"R{i}"} for i in range(2, 9)] + [{"id": "R9", "height": math.pi * 100}])
        assert refusal(store.job, data).where == "$.rooms[7].height"
        assert store.job == plain
        assert len(store.history()) == 1


# Bare numbers, and what is left out


@pytest.fixture
def in_feet(job):
    return replace(job, settings=replace(job.settings, units="imperial"))


def test_a_bare_number_in_a_job_that_shows_feet_is_refused_with_both_readings(in_feet):
    error = refusal(in_feet, text(run(height=10)))
    assert error.where == "$.runs[0].height"
    assert error.message == "10 has no unit: it could be 10'-0\" or 10 m, which is 32'-9 11/16\""  # 10 m / 0.3048
    assert '"10 ft" or "10 m"' in error.remedy
    assert '"length_unit"' in error.remedy


def test_every_length_of_a_file_is_in_the_unit_that_it_says(in_feet):
    door = {"at": 3, "width": 3, "height": 7}
    cove = {"height": 0.5, "toe": 0.5, "radius": 0.1, "thickness": 0.02, "jamb_return": 0}
    made = read(in_feet, text(run(height=10, base=0.5, openings=[door], cove=cove), length_unit="ft")).runs["a"]
    foot = 0.3048  # international foot, exact
    assert made.height == HeightProfile.constant(10 * foot)
    assert (made.base, made.cove.height) == pytest.approx((0.5 * foot, 0.5 * foot))
    assert (made.openings[0].at, made.openings[0].height) == pytest.approx((3 * foot, 7 * foot))
    assert read(in_feet, text(run(height=3), length_unit="m")).runs["a"].height == HeightProfile.constant(3.0)


def test_nought_needs_no_unit_and_a_text_has_its_own(in_feet):
    made = read(in_feet, text(run(height="10'-0\"", base=0), length_unit="m")).runs["a"]
    assert made.height == HeightProfile.constant(10 * 0.3048)
    assert read(in_feet, text(run(height="3 m", base=0))).runs["a"].base == 0.0


def test_what_is_left_out_of_a_room_stays_and_null_clears_it(job):
    room = Room(id="R1", name="Wash", number="103", height=HeightProfile.constant(3.0), cove=Cove(**COVE))
    there = replace(job, rooms={"R1": room})
    changed = read(there, text(rooms=[{"id": "R1", "system": "cove-only"}])).rooms["R1"]
    assert changed == replace(room, system="cove-only")
    cleared = read(there, text(rooms=[{"id": "R1", "name": None, "number": None, "height": None, "cove": None}]))
    assert cleared.rooms["R1"] == Room(id="R1")


def test_what_is_left_out_of_a_run_stays_and_null_clears_it(job):
    full = read(job, text(run(room="R1", base=0.5, openings=[DOOR], cove=COVE, top="exposed", ends=["abut", "free"])))
    there = full.runs["a"]
    assert read(full, text({"id": "a", "system": "cove-only"})).runs["a"] == replace(there, system="cove-only")
    moved = read(full, text({"id": "a", "points": [[0, 0], [200, 0]]})).runs["a"]
    assert moved == replace(there, points_pt=((0.0, 0.0), (200.0, 0.0)))
    nulls = dict.fromkeys(("base", "openings", "top", "ends", "height"))
    cleared = read(full, text({"id": "a", **nulls})).runs["a"]
    assert (cleared.base, cleared.openings, cleared.top, cleared.ends) == (0.0, (), "ceiling", ("free", "free"))
    assert cleared.room == "R1"


def test_the_cove_of_a_run_is_its_own_none_or_the_rooms_again(job):
    own = read(job, text(run(cove=COVE)))
    none = read(own, text({"id": "a", "cove": None}))
    again = read(none, text({"id": "a", "cove": "room"}))
    runs = [made.runs["a"] for made in (own, none, again)]
    assert [(r.cove is not None, r.no_cove) for r in runs] == [(True, False), (False, True), (False, False)]


def test_where_sizes_of_an_opening_came_from_is_kept_only_while_they_stay(job):
    sill = Basis(of="sill", taken=0.9, how="assumed")
    window = Opening(at=1.0, width=0.9, height=1.2, sill=0.9, kind="window", basis=(sill,))
    there = replace(job, runs={"a": replace(read(job, text(run())).runs["a"], openings=(window,))})
    entry = {"at": 1.0, "width": 0.9, "height": 1.2, "sill": 0.9, "kind": "window"}
    same = read(there, text({"id": "a", "openings": [entry]})).runs["a"].openings[0]
    other = read(there, text({"id": "a", "openings": [{**entry, "sill": 1.0}]})).runs["a"].openings[0]
    assert basis_of(same, "sill") == sill
    assert basis_of(other, "sill") is None


@pytest.mark.parametrize(
    ("entry", "where"),
    [
        (run(height=1e-12), "$.runs[0].height"),
        (run(openings=[{**DOOR, "height": "70'-0\""}]), "$.runs[0].openings[0].height"),
        (run(openings=[{**DOOR, "width": 1e-9}]), "$.runs[0].openings[0].width"),
    ],
)
def test_sizes_that_no_wall_has_are_refused(job, entry, where):
    assert refusal(job, text(entry)).where == where


def test_a_door_may_be_higher_than_the_coating(job):
    # doors of 7 ft in a wainscot of 4 ft, a dock door of 14 ft in a wall coated to 10 ft: common practice, no source
    for top, head in (("4'-0\"", "7'-0\""), ("10'-0\"", "14'-0\"")):
        made = read(job, text(run(height=top, openings=[{**DOOR, "height": head}])))
        assert len(made.runs["a"].openings) == 1


def test_files_and_runs_beyond_any_building_are_refused_before_they_are_worked_on(job):
    many = [[100 + n / 1000, 100 + n % 2] for n in range(5_001)]
    assert refusal(job, text(run(points=many))).where == "$.runs[0].points"
    assert "MB" in refusal(job, b" " * 20_000_001).message


@pytest.mark.parametrize("id", ["x" * 201, "a\x00b"])
def test_ids_that_other_programs_cannot_hold_are_refused(job, id):
    for data, path in ((text(run(id=id)), r"\$\.runs\[0\]\.id"), (text(rooms=[{"id": id}]), r"\$\.rooms\[0\]\.id")):
        with pytest.raises(EditError, match=path):
            read(job, data)
    assert "x" * 200 in read(job, text(run(id="x" * 200))).runs


def test_a_key_that_stands_twice_is_refused(job):
    """Readers of JSON keep the last of them alone (RFC 8259, section 4): the first would be lost."""
    data = text(run(id="a"))[:-1] + ', "runs": []}'
    with pytest.raises(EditError, match='the key "runs" stands twice'):
        read(job, data)
