"""A room that is built several times is worth what as many rooms traced one by one are.

Copies are traced on plans of their own, one sheet of one scale each, so that nothing joins; the sums of independent
tracing errors are worked by hand.
"""

import math
from dataclasses import replace

import pytest

from takeoff import actions
from takeoff.actions.quantities import lots_of, make_estimate, measure_ready
from takeoff.audit.stated import StatedArea
from takeoff.errors import GeometryError, InputError
from takeoff.job.edits import PutRoom
from takeoff.job.job import Job
from takeoff.measure.totals import room_label
from takeoff.model.open_points import Basis
from takeoff.model.walls import Room, Run
from tests.revise.conftest import job_of

TIMES = 4
ADDED = ("gross_area", "net_area", "deducted_area", "base_length", "jamb_length", "corner_length", "cove_length",
         "cove_inside_corners", "termination_length", "openings", "coated_area")  # fmt: skip


@pytest.fixture(scope="module")
def once(tmp_path_factory: pytest.TempPathFactory) -> Job:
    """The sample plan with its priced rooms, one of which is to be built several times."""
    with job_of(tmp_path_factory.mktemp("often"), "A") as store:
        return store.job


def often(job: Job) -> tuple[Job, Room]:
    room = next(room for room in job.rooms.values() if room.cove is not None and room.system)
    made = replace(room, count=TIMES)
    return replace(job, rooms={**job.rooms, room.id: made}), made


def copied(job: Job, of: str) -> Job:
    """The job with that many copies of a room, each on a sheet of its own."""
    runs, rooms, sheets, scales = dict(job.runs), dict(job.rooms), dict(job.sheets), dict(job.calibrations)
    for n in range(1, TIMES):
        rooms[f"{of}-{n}"] = replace(job.rooms[of], id=f"{of}-{n}", number=f"{job.rooms[of].number}-{n}")
        for run in job.runs.values():
            if run.room == of:
                sheet = 1000 * n + run.sheet
                sheets[sheet] = replace(job.sheets[run.sheet], id=sheet)
                scales[str(sheet)] = replace(job.calibration_of(run.sheet), sheet=sheet)
                runs[f"{run.id}-{n}"] = replace(run, id=f"{run.id}-{n}", sheet=sheet, room=f"{of}-{n}")
    return replace(job, runs=runs, rooms=rooms, sheets=sheets, calibrations=scales)


def test_every_figure_is_that_of_as_many_copies(once):
    many, room = often(once)
    both = [measure_ready(job)[0].measurement.total.quantities for job in (many, copied(once, room.id))]
    for name in ADDED:
        assert getattr(both[0], name) == pytest.approx(getattr(both[1], name), rel=1e-12), name


def test_its_uncertainty_grows_by_the_count_as_one_line_measures_all(once):
    many, room = often(once)
    items = [
        {item.id: item.u.net_area for item in measure_ready(job)[0].measurement.items}[room.id] for job in (once, many)
    ]
    assert items[1] == pytest.approx(TIMES * items[0])
    copies = measure_ready(copied(once, room.id))[0].measurement
    apart = math.hypot(*(item.u.net_area for item in copies.items if item.id.startswith(room.id)))
    assert items[1] > apart  # errors of copies traced one by one are partly independent


def test_material_hours_and_price_are_those_of_as_many_copies(once):
    many, room = often(once)
    first, second = (make_estimate(job).estimate for job in (many, copied(once, room.id)))
    assert sum(line.hours for line in first.labour) == pytest.approx(sum(line.hours for line in second.labour))
    needed = [{line.product: line.needed for line in made.materials} for made in (first, second)]
    assert needed[0].keys() == needed[1].keys()
    for product, amount in needed[0].items():  # spare pieces are rounded up once for all copies
        assert amount == pytest.approx(needed[1][product], rel=0.01), product
        assert amount <= needed[1][product] * (1 + 1e-9)
    assert first.line("price").amount == pytest.approx(second.line("price").amount, rel=0.002)


def test_drops_of_mat_are_cut_for_each(once):
    many, room = often(once)
    counts = []
    for job in (once, many):
        priced = make_estimate(job)
        lots = lots_of(job, priced.measured.faces, priced.catalogue)
        counts.append(sum(len(lot.faces) for lot in lots if lot.room == room.id))
    assert counts[1] == TIMES * counts[0] > 0


def test_it_is_named_wherever_the_room_is(once):
    many, room = often(once)
    label = room_label(room)
    assert label.endswith(f" × {TIMES}")
    assert label in [item.label for item in measure_ready(many)[0].measurement.items]
    assert label in [line.room_label for line in make_estimate(many).estimate.areas]


def test_a_stated_area_is_one_room(once):
    many, room = often(once)
    one = {item.id: item.quantities.net_area for item in measure_ready(once)[0].measurement.items}[room.id]
    stated = [StatedArea(number=room.number, value=one, unit="m2", decimals=2, where="row 2")]
    [line] = actions.check_areas(many, stated).lines
    assert (line.verdict, line.measured) == ("agrees", pytest.approx(one))


def test_words_that_say_so_are_open_until_a_count_is_given(tmp_path):
    with job_of(tmp_path, "A") as store:
        room = next(room for room in store.job.rooms.values() if room.system)
        said = Basis(of="times", taken=room.times, how="stated", text="TYP. OF 4", unsure="its walls are counted once")
        store.do(PutRoom(room=replace(room, basis=(*room.basis, said))))
        key = f"times:{room.id}"
        [point] = [p for p in actions.open_points(store.job).open if p.key == key]
        before, area = make_estimate(store.job).estimate.line("price").amount, point.stake.area
        actions.give_value(store, [point], "4")
        assert store.job.rooms[room.id].count == 4
        assert key not in [p.key for p in actions.open_points(store.job).points]
        assert make_estimate(store.job).estimate.line("price").amount > before
        one = measure_ready(store.job)[0].measurement
        assert {item.id: item.quantities.net_area for item in one.items}[room.id] == pytest.approx(4.0 * area)
        actions.set_finish(store, rooms=[room.id], times=1)
        assert key in [p.key for p in actions.open_points(store.job).open]  # its value is what the words doubted again


def test_a_plan_of_several_floors_is_open_until_all_of_its_rooms_have_a_count(tmp_path):
    with job_of(tmp_path, "A") as store:
        sheet = next(iter(store.job.sheets.values()))
        job = replace(store.job, sheets={**store.job.sheets, sheet.id: replace(sheet, title="LEVELS 2-5 FLOOR PLAN")})

        def asked(job: Job) -> list[str]:
            return [p.key for p in actions.open_points(job, has_stakes=False).open if p.key.startswith("several:")]

        assert asked(job) == [f"several:{sheet.id}"]
        first, *others = job.rooms
        some = replace(job, rooms={**job.rooms, **{id: replace(job.rooms[id], count=4) for id in others}})
        assert asked(some) == [f"several:{sheet.id}"]
        assert asked(replace(some, rooms={**some.rooms, first: replace(job.rooms[first], count=4)})) == []


def test_it_is_kept_in_the_job_file_and_refused_where_it_is_none(tmp_path):
    with job_of(tmp_path, "A") as store:
        id = next(iter(store.job.rooms))
        actions.set_finish(store, rooms=[id], times=3)
        path = store.path
    with actions.open_job(path) as store:
        assert store.job.rooms[id].count == 3
        with pytest.raises(InputError, match="as often as its room"):
            actions.set_finish(store, runs=[next(iter(store.job.runs))], times=3)
    with pytest.raises(GeometryError, match="0 times"):
        Room(id="R", count=0)


def test_the_edits_file_gives_it(tmp_path):
    with job_of(tmp_path, "A") as store:
        id = next(iter(store.job.rooms))
        actions.apply_edits(store, f'{{"schema": "takeoff.edits/1", "rooms": [{{"id": "{id}", "count": 6}}]}}'.encode())
        assert store.job.rooms[id].count == 6
        assert isinstance(next(iter(store.job.runs.values())), Run)
