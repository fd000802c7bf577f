"""A revision from end to end: compared, accepted in part, undone, measured as it was, and in figures."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pymupdf
import pytest
import typer
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from takeoff.actions import find_sheet, measure_ready, undo
from takeoff.actions.comparing import compare_revision
from takeoff.actions.deltas import revision_delta
from takeoff.actions.points.deriving import open_points
from takeoff.actions.quantities import catalogue_of, lots_of
from takeoff.actions.revising import Revision, accept_revision, told_of_issue
from takeoff.cli.revise import revise as revise_command
from takeoff.errors import CalibrationError, EditError, InputError, SheetError
from takeoff.estimate.alternates import AsUsedPrices
from takeoff.job.edits import Batch, PutRegion, PutRoom, PutRun, SetCalibration
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.model.plan import ScaleRegion, Sheet
from takeoff.model.walls import HeightProfile, Run
from tests.jobs import PLANS
from tests.revise import conftest
from tests.revise.conftest import FILES

Store = Callable[[str], JobStore]
M2 = 0.3048**2


def compared(store: JobStore, issue: str, **more: object) -> Revision:
    plan = PLANS / f"{FILES[issue]}.pdf"
    if not more:
        return conftest.compared(store, plan.name)
    return compare_revision(store, find_sheet(store.job, "A-101"), plan.name, plan.read_bytes(), **more)  # type: ignore[arg-type]


def net(job: Job) -> float:
    return measure_ready(job)[0].measurement.total.quantities.net_area


def test_comparing_changes_nothing_in_the_job(store: Store) -> None:
    with store("A") as opened:
        before = opened.job
        compared(opened, "B")
        assert opened.job is before


def test_what_a_person_has_to_look_at_is_left_by_all_and_named(store: Store) -> None:
    with store("A") as opened:
        found = compared(opened, "B")
        assert found.left("all") == ["107-walls"]
        assert found.left(["107-walls"]) == []


def test_a_sheet_with_another_title_says_so() -> None:
    """A plan of what stands before the work in place of the floor plan has the same lines."""
    old = Sheet(id=1, source="", page=1, width_pt=1.0, height_pt=1.0, title="FLOOR PLAN")
    assert told_of_issue(old, replace(old, title="Floor  plan")) == ()
    assert told_of_issue(old, replace(old, title="")) == ()
    (told,) = told_of_issue(old, replace(old, title="DEMOLITION PLAN"))
    assert "called “DEMOLITION PLAN” and was called “FLOOR PLAN”" in told


def test_all_accepted_gives_the_areas_of_the_new_issue_traced_exactly(store: Store, traced: dict[str, Job]) -> None:
    with store("A") as opened:
        for issue in ("B", "C"):
            accept_revision(opened, compared(opened, issue), "all")
            want, got = (measure_ready(j)[0].measurement for j in (traced[issue], opened.job))
            assert got.total.quantities.net_area == pytest.approx(want.total.quantities.net_area, abs=1e-3)
            assert got.total.quantities.base_length == pytest.approx(want.total.quantities.base_length, abs=1e-3)
            for a, b in zip(want.items, got.items, strict=True):
                assert b.quantities.net_area == pytest.approx(a.quantities.net_area, abs=1e-3), a.label


def test_a_scale_carried_against_the_note_of_the_new_sheet_is_an_open_point(store: Store) -> None:
    with store("A") as opened:
        held = opened.job.calibration_of(find_sheet(opened.job, "A-101").id)
        opened.do(SetCalibration(calibration=replace(held, mx=1.02 * held.mx, my=1.02 * held.my, basis=())))
        accept_revision(opened, compared(opened, "B", smallest=0.1), "sure")
        new = find_sheet(opened.job, "A-101")
        told = [p.why for p in open_points(opened.job, has_stakes=False).open if p.where.sheet == new.id]
        assert any("new sheet's note says 1:48" in why for why in told)


def test_only_what_is_sure_is_carried_and_the_rest_stays_on_the_old_sheet(store: Store) -> None:
    with store("A") as opened:
        accept_revision(opened, compared(opened, "B"), "sure")
        new = find_sheet(opened.job, "A-101")
        assert new.revision == "B"
        left = sorted(r.id for r in opened.job.runs.values() if r.sheet != new.id)
        # a window is gone, a door is new, and a room got another name
        assert left == ["102-walls", "103-walls", "107-walls"]
        # the rest can be accepted later, by name
        old = find_sheet(opened.job, "A-101 (A)")
        plan = PLANS / "facility-rev-b.pdf"
        again = compare_revision(opened, old, plan.name, plan.read_bytes())
        assert sorted(r.before.id for r in again.runs) == left
        accept_revision(opened, again, ["102-walls"])
        assert opened.job.runs["102-walls"].sheet == new.id
        assert len(opened.job.sheets) == 4


def test_a_revision_is_one_step_to_undo(store: Store) -> None:
    with store("A") as opened:
        before = opened.job
        accept_revision(opened, compared(opened, "B"), "all")
        assert opened.job != before
        undo(opened)
        assert opened.job == before


def test_the_delta_of_revision_c_is_what_arithmetic_gives(store: Store) -> None:
    with store("B") as opened:
        before = opened.job
        found = compared(opened, "C")
        accept_revision(opened, found, "all")
        delta = revision_delta(before, opened.job, found)
    # the splash wall: 8 ft × 6 ft on both faces is gone; the roll-up door stands before 4 in of base: 2 ft × 4 in
    assert delta.deducted("net_area") == pytest.approx((2 * 8 * 6 + 2 * 4 / 12) * M2, abs=1e-3)
    assert delta.added("net_area") == pytest.approx(0.0, abs=1e-6)
    assert sorted(r.id for r in delta.runs if r.is_changed) == ["103-splash-wall", "108-walls"]
    assert delta.money_deducted > 0.0
    assert delta.price.change < 0.0
    rooms = sum(round(100 * r.price_change) for r in delta.rooms)
    assert rooms == sum(round(100 * r.price_change) for r in delta.runs)
    assert delta.other == 0.0
    assert rooms + round(100 * delta.whole_packs) == round(100 * delta.price.change)
    assert min(delta.left_over.before, delta.left_over.after) > 0.0


def test_a_wall_that_cannot_be_measured_stops_no_revision(store: Store) -> None:
    with store("A") as opened:
        opened.do(PutRoom(room=replace(opened.job.rooms["R102"], height=None)))
        before, revision = opened.job, compared(opened, "B")
        accept_revision(opened, revision, "sure")
        delta = revision_delta(before, opened.job, revision)
        assert "R102" not in {r.id for r in delta.rooms}
        assert delta.total["net_area"].change < 0.0


@settings(max_examples=20)
@given(data=st.data())
def test_each_run_s_part_of_a_change_is_that_of_pricing_every_state_anew(
    traced: dict[str, Job], data: st.DataObject
) -> None:
    """The parts are differences of prices of whole jobs, one run changed after the other; here each is priced alone."""
    before = traced["A"]
    runs = dict(before.runs)
    for id in data.draw(st.lists(st.sampled_from(sorted(runs)), unique=True, max_size=4)):
        kind = data.draw(st.sampled_from(["higher", "no opening", "gone", "no system", "renamed"]))
        run = runs.pop(id)
        if kind != "gone":
            room = before.rooms[run.room or ""]
            height = (run.height or room.height).points[0][1] if (run.height or room.height) else 3.0
            runs[id] = {
                "higher": replace(run, height=HeightProfile.constant(height + 0.3)),
                "no opening": replace(run, openings=run.openings[1:]),
                "no system": replace(run, room=None, system=None, height=HeightProfile.constant(height)),
                "renamed": replace(run, openings=tuple(replace(o, mark="X") for o in run.openings)),
            }[kind]
    after = replace(before, runs=runs)
    delta = revision_delta(before, after)

    def alone(of: dict[str, Run]) -> float:
        job = replace(before, runs=of)
        catalogue = catalogue_of(job)
        return AsUsedPrices().price(lots_of(job, measure_ready(job)[0].faces, catalogue), catalogue, catalogue.rates)

    state, parts = dict(before.runs), {}
    price = alone(state)
    for id in dict.fromkeys((*before.runs, *runs)):
        if before.runs.get(id) != runs.get(id):
            state = {k: v for k, v in {**state, id: runs.get(id)}.items() if v is not None}
            parts[id] = alone(state) - price
            price += parts[id]
    assert {r.id: r.price_change for r in delta.runs if r.price_change} == {
        id: pytest.approx(part, abs=1e-9) for id, part in parts.items() if abs(part) > 0.004
    }
    assert delta.used.after == alone(runs)


def test_a_metric_scale_is_carried_to_the_new_sheet(store: Store) -> None:
    with store("A") as opened:
        plan = PLANS / "facility-metric.pdf"
        found = compare_revision(opened, find_sheet(opened.job, "A-101"), plan.name, plan.read_bytes())
        assert found.scales[0].ratio == pytest.approx(50.0, abs=1e-3)
        assert all(r.verdict == "unchanged" and r.sure for r in found.runs)
        accept_revision(opened, found, "sure")
        assert net(opened.job) == pytest.approx(531.6, abs=0.1)


def test_point_pairs_by_hand_register_where_nothing_else_does(store: Store) -> None:
    pairs = [
        ((x, y), (x + 18.0, y - 10.5)) for x, y in ((200.0, 320.0), (1630.0, 320.0), (1630.0, 1250.0), (200.0, 1250.0))
    ]
    with store("A") as opened:
        found = compared(opened, "B", points=pairs)
        assert found.registration.method == "points"
        assert found.registration.carry((500.0, 500.0)) == pytest.approx((518.0, 489.5))
        assert found.registration.share > 0.9
        assert sum(r.sure for r in found.runs) >= 7


def test_points_picked_the_wrong_way_round_make_nothing_sure(store: Store) -> None:
    pairs = [((x + 18.0, y - 10.5), (x, y)) for x, y in ((200.0, 320.0), (1630.0, 1250.0))]
    with store("A") as opened:
        found = compared(opened, "B", points=pairs)
    assert found.registration.share < 0.1
    assert any("check the points, nothing is taken for sure" in doubt for doubt in found.doubts)
    assert found.chosen("sure") == ()


def test_points_that_contradict_one_another_are_refused_with_what_to_do(store: Store) -> None:
    pairs = [((x, y), (x + 18.0, y - 10.5)) for x, y in ((200.0, 320.0), (1630.0, 320.0), (200.0, 1250.0))]
    pairs.append(((1630.0, 1250.0), (1684.0, 1239.5)))
    with store("A") as opened, pytest.raises(SheetError, match="Check each pair, the point of the old sheet first"):
        compared(opened, "B", points=pairs)


def laid_out_anew(data: bytes) -> bytes:
    """A larger sheet on which the plan lies elsewhere than its title block; the page stands on its side."""
    with pymupdf.open(stream=data) as source, pymupdf.open() as target:
        across, down = source[0].rect.width, source[0].rect.height
        page = target.new_page(width=1.25 * across, height=1.2 * down)
        plan, block = pymupdf.Rect(0, 0, 0.86 * across, down), pymupdf.Rect(0.86 * across, 0, across, down)
        page.show_pdf_page(plan + pymupdf.Rect(150, 200, 150, 200), source, 0, clip=plan)
        shown = pymupdf.Rect(page.rect.width - block.width, page.rect.height - down, *page.rect[2:])
        page.show_pdf_page(shown, source, 0, clip=block)
        page.set_rotation(90)
        return bytes(target.tobytes(deflate=True))


def scanned(data: bytes, degrees: float, dpi: int = 150) -> bytes:
    """A sheet as an office scans it: grey, turned, squeezed as JPEG."""
    with pymupdf.open(stream=data) as source, pymupdf.open() as target:
        seen = source[0].get_pixmap(dpi=dpi, colorspace="gray")
        paper = Image.frombytes("L", (seen.width, seen.height), seen.samples)
        turned = paper.rotate(degrees, expand=True, fillcolor=255, resample=Image.Resampling.BICUBIC)
        picture = io.BytesIO()
        turned.save(picture, "JPEG", quality=60)
        page = target.new_page(width=turned.width * 72 / dpi, height=turned.height * 72 / dpi)
        page.insert_image(page.rect, stream=picture.getvalue())
        return bytes(target.tobytes())


def test_a_new_issue_on_other_paper_gives_the_areas_of_it_traced_exactly(store: Store, traced: dict[str, Job]) -> None:
    data = laid_out_anew((PLANS / f"{FILES['B']}.pdf").read_bytes())
    with store("A") as opened:
        found = compare_revision(opened, find_sheet(opened.job, "A-101"), "new.pdf", data)
        assert {r.before.id: r.verdict for r in found.runs if r.verdict != "unchanged"} == {
            "101-walls": "openings changed",
            "102-walls": "openings changed",
            "103-walls": "length changed",
            "104-walls": "openings changed",
            "107-walls": "look at it",  # its name is another now
            "106-walls": "length changed",
        }
        accept_revision(opened, found, "all")
        assert net(opened.job) == pytest.approx(net(traced["B"]), abs=1e-3)


@pytest.mark.long
def test_a_chain_of_issues_may_go_from_drawing_to_a_scan_on_its_side_and_back(
    store: Store, traced: dict[str, Job]
) -> None:
    with store("A") as opened:
        scan = scanned((PLANS / f"{FILES['B']}.pdf").read_bytes(), 90.4)
        sheet = find_sheet(opened.job, "A-101")
        first = compare_revision(opened, sheet, "b.pdf", scan)
        accept_revision(opened, first, "all")
        second = compare_revision(
            opened,
            opened.job.sheets[first.sheet.id],
            "c.pdf",
            laid_out_anew((PLANS / f"{FILES['C']}.pdf").read_bytes()),
        )
        accept_revision(opened, second, "all")
        assert {run.sheet for run in opened.job.runs.values()} == {second.sheet.id}
        assert net(opened.job) == pytest.approx(net(traced["C"]), rel=1e-3)


def test_what_cannot_be_compared_is_refused_with_its_remedy(store: Store) -> None:
    same, plan = PLANS / "facility-imperial.pdf", PLANS / "facility-rev-b.pdf"
    with store("A") as opened:
        sheet = find_sheet(opened.job, "A-101")
        with pytest.raises(InputError, match="is the file that the sheet is from"):
            compare_revision(opened, sheet, same.name, same.read_bytes())
        with pytest.raises(InputError, match="has no page 7"):
            compare_revision(opened, sheet, plan.name, plan.read_bytes(), page=7)
        with pytest.raises(SheetError, match="1 pair of points"):
            compare_revision(opened, sheet, plan.name, plan.read_bytes(), points=[((0, 0), (1, 1))])
        with pytest.raises(CalibrationError, match="no scale"):
            compare_revision(opened, find_sheet(opened.job, "A-201"), plan.name, plan.read_bytes())


def test_a_scale_region_goes_with_its_runs(store: Store) -> None:
    with store("A") as opened:
        sheet = find_sheet(opened.job, "A-101")
        # round the store 107, twice the scale of the sheet
        left, top, right, bottom = 1340.0, 325.0, 1630.0, 730.0
        outline = ((left, top), (right, top), (right, bottom), (left, bottom))
        region = ScaleRegion(id="store", sheet=sheet.id, outline_pt=outline)
        scale = replace(opened.job.calibration_of(sheet.id), region="store", mx=0.034, my=0.034)
        moves = (PutRegion(region=region), SetCalibration(calibration=scale))
        tall = opened.job.runs["107-walls"]
        runs = (PutRun(run=replace(tall, height=HeightProfile.constant(3.0), openings=())),)
        opened.do(Batch(title="Mark a detail", edits=(*moves, *runs)))
        before = measure_ready(opened.job, by="run")[0].measurement.items
        found = compared(opened, "B")
        accept_revision(opened, found, ["107-walls"])
        after = measure_ready(opened.job, by="run")[0].measurement.items
        new = opened.job.runs["107-walls"]
        assert opened.job.region_for(new) == f"store@{new.sheet}"
        for a, b in zip(before, after, strict=True):
            assert b.quantities.net_area == pytest.approx(a.quantities.net_area, abs=1e-3)
        assert any("scale regions" in d for d in found.doubts)


def test_a_run_that_was_edited_meanwhile_is_not_overwritten(store: Store) -> None:
    with store("A") as opened:
        found = compared(opened, "B")
        run = opened.job.runs["105-walls"]
        opened.do(PutRun(run=replace(run, openings=())))
        with pytest.raises(EditError, match="105-walls has changed since"):
            accept_revision(opened, found, "all")
        with pytest.raises(InputError, match="Known"):
            accept_revision(opened, found, ["nothing"])


def test_a_scan_of_the_old_issue_is_carried_like_a_vector_sheet(store: Store, traced: dict[str, Job]) -> None:
    scan = PLANS / "facility-scan.png"
    with store("B") as opened:
        found = compare_revision(opened, find_sheet(opened.job, "A-101"), scan.name, scan.read_bytes())
        verdicts = {r.before.id: (r.verdict, r.sure) for r in found.runs}
        unchanged = [id for id, v in verdicts.items() if v == ("unchanged", True)]
        assert len(unchanged) >= 5
        assert verdicts["106-walls"] == ("length changed", True)
        accept_revision(opened, found, "all")
        want = measure_ready(traced["A"])[0].measurement.total
        got = measure_ready(opened.job)[0].measurement.total
        assert got.quantities.net_area == pytest.approx(want.quantities.net_area, rel=0.005)


def test_the_command_prints_proposals_and_takes_in_what_is_accepted(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store("A").close()
    job = str(tmp_path / "A.takeoff")
    app = typer.Typer()
    app.command("revise")(revise_command)
    command = typer.main.get_command(app)

    def run(*words: str) -> str:
        capsys.readouterr()
        command.main(args=[job, "--sheet", "A-101", "--plan", str(PLANS / "facility-rev-b.pdf"), *words],
                     prog_name="takeoff", standalone_mode=False)  # fmt: skip
        return capsys.readouterr().out

    text = run()
    assert "door 104A moved by 2'-0\" along the wall" in text
    assert 'text "STORE" is now "DRY STORE"' in text
    with JobStore.open(Path(job)) as opened:
        assert len(opened.job.sheets) == 3
    value = json.loads(run("--accept", "all", "--json"))
    # the room with another name is taken by a person alone
    assert [r["id"] for r in value["runs"] if not r["taken"]] == ["107-walls"]
    assert value["registration"]["u"] < 0.001
    assert value["delta"]["net_area_added"] == pytest.approx((12 + 2 * 10 - 21) * M2, abs=20 * M2)
    with JobStore.open(Path(job)) as opened:
        assert find_sheet(opened.job, "A-101").revision == "B"


def test_a_change_of_what_is_written_stays_open_when_the_wall_is_taken(store: Store) -> None:
    """Taking a wall says where it stands; another finish code in its room is still to be set by a person."""
    note = 'text "W2" is now "W3" in this room'
    with store("A") as job:
        found = compared(job, "B")
        first, *others = (run for run in found.runs if run.sure)
        changed = replace(found, runs=(replace(first, sure=False, written=(note,)), *others))
        accept_revision(job, changed, [first.before.id])
        [point] = [p for p in open_points(job.job, has_stakes=False).open if note in p.why]
        assert point.where.sheet == job.job.runs[first.before.id].sheet
