"""Plant a fault or a gap in a job and see whether the program tells it: python tests/bench/silence.py.

Each case begins with a job of which nothing is open. It counts as told where the program refuses, or where an open
point about the fault comes up. Exit code 1 where one is silent.
"""

from __future__ import annotations

import io
import json
import re
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

from takeoff import actions
from takeoff.actions.given import opening_of
from takeoff.actions.jobs import use_catalogue
from takeoff.errors import TakeoffError
from takeoff.exchange.catalogue_file import default_catalogue, default_catalogue_text, read_catalogue
from takeoff.job.edits import PutFindings, PutRegion, PutRoom, PutRun, SetCalibration, SetSettings
from takeoff.job.job import JobSettings
from takeoff.job.schema import MIGRATIONS, migrate
from takeoff.job.store import JobStore
from takeoff.model.open_points import Basis, Confirmed, Settled
from takeoff.model.plan import Calibration, Finding, KnownDimension, ScaleRegion
from takeoff.model.systems import Rates
from takeoff.model.walls import Cove, HeightProfile, Opening, OpeningKind, Room, Run
from takeoff.trace.lines.opening_forms import Form
from takeoff.trace.lines.traced_rooms import TracedOpening

PLANS = Path(__file__).parents[2] / "sample_plans"
WHO = {"sign": lambda: ("bench", "2026-01-05T08:00:00Z")}
COVE = Cove(height=0.1, toe=0.025, radius=0.02, thickness=0.005)
WALL = ((300.0, 300.0), (900.0, 300.0))
CASES: list[tuple[str, str, Callable[[JobStore], object]]] = []


def case(name: str, told: str) -> Callable[[Callable[[JobStore], object]], Callable[[JobStore], object]]:
    """Enter a case: what is planted, and what an open point or a refusal about it says (a regular expression)."""

    def enter(plant: Callable[[JobStore], object]) -> Callable[[JobStore], object]:
        CASES.append((name, told, plant))
        return plant

    return enter


def sound_job(folder: Path) -> JobStore:
    """Make a job with one wall on the sample sheet of which nothing is open: rates and scale are confirmed."""
    plan = PLANS / "facility-imperial.pdf"
    store, _ = actions.new_job(
        folder / "job.takeoff", [(plan.name, plan.read_bytes())], JobSettings(name="Plant"), **WHO
    )
    actions.set_scale_read(store, store.job.sheets[1])
    store.do(
        PutRoom(room=Room(id="R1", number="1", height=HeightProfile.constant(3.0), system="mat-hygienic", cove=COVE))
    )
    store.do(PutRun(run=Run(id="a", sheet=1, room="R1", points_pt=WALL)))
    register = actions.open_points(store.job)
    actions.confirm_points(store, register.open)
    return store


def put(store: JobStore, **fields: object) -> None:
    """Change the wall."""
    store.do(PutRun(run=replace(store.job.runs["a"], **fields)))  # type: ignore[arg-type]


def second(store: JobStore, **fields: object) -> None:
    """Add a wall."""
    store.do(PutRun(run=replace(store.job.runs["a"], **{"id": "b", **fields})))  # type: ignore[arg-type]


def edits(store: JobStore, **run: object) -> None:
    """Apply an edits file with one run."""
    entry = {"id": "e", "sheet": 1, "room": "R1", "points": [[300, 500], [900, 500]], **run}
    actions.apply_edits(store, json.dumps({"schema": "takeoff.edits/1", "runs": [entry]}).encode())


def traced(store: JobStore, at: tuple[float, float] = (300.0, 400.0)) -> None:
    """Trace the room at a point, with a system."""
    actions.trace_sheet(store, 1, at=[at], system="mat-hygienic", cove=COVE)


# -- scales ----------------------------------------------------------------------------------------------------------


@case("a ratio that the sheet's dimensions contradict", "scale|1:96")
def _(store: JobStore) -> None:
    actions.set_scale_ratio(store, store.job.sheets[1], "1:96")


@case("a note that the sheet's dimensions contradict", "scale|1:96")
def _(store: JobStore) -> None:
    actions.set_scale_note(store, store.job.sheets[1], '1/8" = 1\'-0"')


for text in ("1:10O", "1:4 8", '-1/4" = 1\'-0"', "1:1e9"):

    @case(f"a scale written {text}", "scale|ratio|read")
    def _(store: JobStore, text: str = text) -> None:
        actions.set_scale_ratio(store, store.job.sheets[1], text)


@case("a ratio on a sheet that shows no dimension", "confirms it")
def _(store: JobStore) -> None:
    actions.set_scale_ratio(store, store.job.sheets[3], "1:50")
    second(store, sheet=3)


@case("two known dimensions that disagree", "disagree")
def _(store: JobStore) -> None:
    known = [KnownDimension(start_pt=(0, 0), end_pt=(600, 0), length=10.0)]
    known.append(KnownDimension(start_pt=(0, 50), end_pt=(600, 50), length=11.0))
    actions.set_scale_points(store, store.job.sheets[1], known)


@case("a known dimension typed in feet that is in metres", "note says|scale")
def _(store: JobStore) -> None:
    length = 600 * 48 * 0.0254 / 72 * 0.3048
    known = [KnownDimension(start_pt=(0, 0), end_pt=(600, 0), length=length)]
    actions.set_scale_points(store, store.job.sheets[1], known)


@case("walls on a sheet without a scale", "no scale")
def _(store: JobStore) -> None:
    second(store, sheet=2)


@case("a wall across the edge of a scale region", "crosses the edge")
def _(store: JobStore) -> None:
    outline = ((250.0, 250.0), (600.0, 250.0), (600.0, 350.0), (250.0, 350.0))
    store.do(PutRegion(region=ScaleRegion(id="d", sheet=1, outline_pt=outline)))
    store.do(SetCalibration(calibration=Calibration(sheet=1, region="d", mx=0.01, my=0.01)))


@case("a confirmed scale that is set anew", "confirms|Scale")
def _(store: JobStore) -> None:
    actions.set_scale_ratio(store, store.job.sheets[1], "1:50")
    register = actions.open_points(store.job)
    actions.confirm_points(store, [p for p in register.open if p.kind == "scale"])
    actions.set_scale_ratio(store, store.job.sheets[1], "1:60")


@case("a picture that does not say its dots per inch", "dpi|dots per inch|resolution")
def _(store: JobStore) -> None:
    from PIL import Image

    bytes_ = io.BytesIO()
    Image.new("RGB", (1700, 1100), "white").save(bytes_, "PNG")
    with tempfile.TemporaryDirectory() as name:
        other, _ = actions.new_job(
            Path(name) / "p.takeoff", [("p.png", bytes_.getvalue())], JobSettings(name="P"), **WHO
        )
        with other:
            raise_points(other)


# -- units and values ------------------------------------------------------------------------------------------------


@case("a bare number in the edits file of a job in feet", "unit|metres|feet")
def _(store: JobStore) -> None:
    edits(store, height=10)


@case("a height of 1e-12", "height")
def _(store: JobStore) -> None:
    edits(store, height="1e-12 m")


@case("a door of 70 feet in a wall of 10", "opening|above|taller|higher|head")
def _(store: JobStore) -> None:
    edits(store, height="10'", openings=[{"at": "6'", "width": "3'", "height": "70'"}])


@case("a wall of 100 feet", "check the height|above the floor|height")
def _(store: JobStore) -> None:
    put(store, height=HeightProfile.constant(30.48))


@case("an opening wholly above the wall", "wholly above")
def _(store: JobStore) -> None:
    put(store, openings=(Opening(at=2.0, width=1.0, height=1.0, sill=5.0),))


@case("a pack price of nothing", "price")
def _(store: JobStore) -> None:
    priced(store, 0.0)


@case("a pack price of 1e300", "price")
def _(store: JobStore) -> None:
    priced(store, 1e300)


@case("an overhead of 1,200 %", "overhead")
def _(store: JobStore) -> None:
    store.do(SetSettings(settings=replace(store.job.settings, rates=Rates(overhead=12.0))))
    actions.make_estimate(store.job)


def priced(store: JobStore, price: float) -> None:
    """Take the example catalogue in with one pack at another price."""
    text = re.sub(r"price = [0-9.]+", f"price = {price}", default_catalogue_text(), count=1)
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "own.toml"
        path.write_text(text, encoding="utf-8")
        use_catalogue(store, read_catalogue(path))


# -- rooms and walls ---------------------------------------------------------------------------------------------------


@case("walls left on a sheet that a newer revision replaces", "newer revision")
def _(store: JobStore) -> None:
    plan = PLANS / "facility-rev-b.pdf"
    found = actions.compare_revision(store, store.job.sheets[1], plan.name, plan.read_bytes())
    actions.accept_revision(store, found, ())


@case("two rooms with one number on a sheet", "one number|same number")
def _(store: JobStore) -> None:
    store.do(PutRoom(room=replace(store.job.rooms["R1"], id="R2")))
    second(store, room="R2", points_pt=((300.0, 600.0), (900.0, 600.0)))


@case("a room that two sheets show", "Both sheets show")
def _(store: JobStore) -> None:
    sheet = store.job.sheets[2]
    scale = replace(store.job.calibrations["1"], sheet=sheet.id)
    store.do(SetCalibration(calibration=scale))
    store.do(PutRoom(room=replace(store.job.rooms["R1"], id="R2")))
    second(store, room="R2", sheet=sheet.id)


@case("a wall that is traced twice", "counted twice")
def _(store: JobStore) -> None:
    second(store)


@case("a wall that ends inside another", "inside wall")
def _(store: JobStore) -> None:
    put(store, line="centre", face="both", thickness=0.2)
    second(store, points_pt=((600.0, 300.0), (600.0, 700.0)), line="centre", face="both", thickness=0.2)


@case("one wall of a room that is traced backwards", "other way|Coated side")
def _(store: JobStore) -> None:
    put(store, points_pt=((300.0, 300.0), (900.0, 300.0)), face="right")
    second(store, points_pt=((900.0, 600.0), (900.0, 300.0)), face="right")
    second(store, id="c", points_pt=((900.0, 600.0), (300.0, 600.0)), face="right")


@case("a room without a height", "no height|Height of")
def _(store: JobStore) -> None:
    store.do(PutRoom(room=replace(store.job.rooms["R1"], height=None)))


@case("a room without a system", "no system")
def _(store: JobStore) -> None:
    store.do(PutRoom(room=replace(store.job.rooms["R1"], system=None)))


@case("a wall in no room without a system", "no system")
def _(store: JobStore) -> None:
    second(store, room=None, height=HeightProfile.constant(3.0), points_pt=((300.0, 600.0), (900.0, 600.0)))


@case("a system that makes a cove, and no cove given", "makes a cove")
def _(store: JobStore) -> None:
    store.do(PutRoom(room=replace(store.job.rooms["R1"], cove=None)))


@case("a cove given, and a system that makes none", "no step that makes it")
def _(store: JobStore) -> None:
    catalogue = default_catalogue()
    system = catalogue.system("mat-hygienic")
    bare = replace(system, id="bare", steps=tuple(s for s in system.steps if s.kind != "cove"))
    use_catalogue(store, replace(catalogue, systems=(*catalogue.systems, bare)))
    store.do(PutRoom(room=replace(store.job.rooms["R1"], system="bare")))


@case("a height profile that goes on beyond its wall", "beyond")
def _(store: JobStore) -> None:
    put(store, height=HeightProfile(points=((0.0, 3.0), (500.0, 4.0))))


@case("a reveal deeper than the wall is thick", "reveal")
def _(store: JobStore) -> None:
    opening = Opening(at=3.0, width=1.0, height=2.0, reveal=0.5, coated=("jamb",))
    put(store, line="centre", face="both", thickness=0.2, openings=(opening,))


@case("a wall shorter than picks can tell", "long")
def _(store: JobStore) -> None:
    second(store, points_pt=((300.0, 600.0), (300.1, 600.0)))


# -- what was read -----------------------------------------------------------------------------------------------------


def drawn(store: JobStore, kind: OpeningKind) -> None:
    """Put an opening into the wall as tracing does where no schedule knows it."""
    form: Form = "window" if kind == "window" else "swing"
    traced = TracedOpening(at=3.0, width=1.0, form=form, kind=kind, confidence=1.0, reason="drawn")
    put(store, openings=(opening_of(traced, 1, store.job.settings.units),))


@case("the height of a door that the drawings do not show", "Height of door")
def _(store: JobStore) -> None:
    drawn(store, "door")


@case("the sill of a window that the drawings do not show", "sill")
def _(store: JobStore) -> None:
    drawn(store, "window")


@case("a room with two ceiling heights printed in it", "not one ceiling height")
def _(store: JobStore) -> None:
    at = next(r for r in actions.read_sheet_trace(store, 1).rooms() if r.number == "107")
    x = sum(p[0] for p in at.points_pt) / len(at.points_pt)
    y = sum(p[1] for p in at.points_pt) / len(at.points_pt)
    traced(store, (x, y))


@case("a room that was found and not taken", "not taken")
def _(store: JobStore) -> None:
    read = actions.read_sheet_trace(store, 1)
    ((region, scale, plan),) = read.parts
    rooms = tuple(replace(r, sure=False, outline_sure=False) if r.number == "104" else r for r in plan.rooms)
    read = replace(read, parts=((region, scale, replace(plan, rooms=rooms)),))
    actions.trace_sheet(store, 1, all=True, read=read)


@case("an outline that was read with a doubt", "swing")
def _(store: JobStore) -> None:
    run = store.job.runs["a"]
    basis = Basis(of="outline", taken=run.outline, how="measured", unsure="a door swing fits no opening")
    put(store, basis=(basis,))


@case("an opening that may not be there", "sure")
def _(store: JobStore) -> None:
    basis = Basis(of="kind", taken="door", how="measured", unsure="only 70% sure: a bare gap")
    put(store, openings=(Opening(at=2.0, width=1.0, height=2.0, basis=(basis,)),))


@case("a mark of the schedule that fits no opening", "mark")
def _(store: JobStore) -> None:
    finding = Finding(about="mark", text="door marks that stand at no traced door: 7")
    store.do(PutFindings(sheet=1, about=("mark",), findings=(finding,)))


@case("a page whose drawing ends early", "incomplete|damaged")
def _(store: JobStore) -> None:
    data = (PLANS / "facility-imperial.pdf").read_bytes()
    with tempfile.TemporaryDirectory() as name:
        other, _ = actions.new_job(
            Path(name) / "d.takeoff", [("d.pdf", data[: int(len(data) * 0.6)])], JobSettings(name="D"), **WHO
        )
        with other:
            raise_points(other)


@case("sizes assumed by a program that kept no word of it", "older version")
def _(store: JobStore) -> None:
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "old.takeoff"
        run = {"id": "a", "sheet": 1, "points_pt": [[0, 0], [500, 0]], "openings": []}
        run["openings"] = [{"at": 1.0, "width": 0.9, "height": 2.1336}]
        with closing(sqlite3.connect(path, isolation_level=None)) as old:
            migrate(old, MIGRATIONS[:3])
            sheet = {"id": 1, "source": "x", "page": 1, "width_pt": 612, "height_pt": 792}
            items = {("settings", ""): {"name": "Old"}, ("run", "a"): run, ("sheet", "1"): sheet}
            for (kind, id), body in items.items():
                old.execute("INSERT INTO item VALUES (?, ?, ?)", (kind, id, json.dumps(body)))
            changes = json.dumps([["run", "a", None, run]])
            old.execute("INSERT INTO journal VALUES (1, 't', 'ann', 'do', 'Trace 1 room on sheet 1', ?)", (changes,))
        with JobStore.open(path, **WHO) as other:
            raise_points(other)


@case("a confirmed size that is read anew as another", "Height of door")
def _(store: JobStore) -> None:
    basis = Basis(of="height", taken=2.1, how="assumed")
    door = Opening(at=2.0, width=1.0, height=2.1, basis=(basis,))
    put(store, openings=(replace(door, basis=(replace(basis, confirmed=Confirmed(by="a", at="t")),)),))
    put(store, openings=(replace(door, height=2.4, basis=(replace(basis, taken=2.4),)),))


# -- the price ---------------------------------------------------------------------------------------------------------


@case("rates and prices of the example", "example")
def _(store: JobStore) -> None:
    raise_found(actions.open_points(replace(store.job, settled={})).open)


@case("confirmed rates, and another price list since", "example|Rates|Prices")
def _(store: JobStore) -> None:
    old = Settled(key="rates", state="another list", words="", confirmed=Confirmed(by="a", at="t"))
    job = replace(store.job, settled={**store.job.settled, "rates": old})
    raise_found(actions.open_points(job).open)


@case("prices in another currency than the job's", "not converted")
def _(store: JobStore) -> None:
    store.do(SetSettings(settings=replace(store.job.settings, currency="EUR")))


@case("a system that one's own catalogue lacks", "example catalogue")
def _(store: JobStore) -> None:
    catalogue = default_catalogue()
    own = tuple(s for s in catalogue.systems if s.id != "mat-hygienic")
    use_catalogue(store, replace(catalogue, systems=own))


class Told(Exception):
    """Open points of a job that a case made for itself."""


def raise_points(store: JobStore) -> None:
    """Hand on what is open in a job of the case's own."""
    raise_found(actions.open_points(store.job).open)


def raise_found(points: tuple[object, ...]) -> None:
    """Hand on open points."""
    raise Told("\n".join(f"{p.what} {p.group} {p.why}" for p in points))  # type: ignore[attr-defined]


def told_by(plant: Callable[[JobStore], object], pattern: str) -> str:
    """Plant a fault in a sound job; say how it was told, or nothing."""
    with tempfile.TemporaryDirectory() as name, sound_job(Path(name)) as store:
        known = {point.key for point in actions.open_points(store.job).open}
        if known:
            return f"not sound: {', '.join(sorted(known))}"
        try:
            plant(store)
            points = actions.open_points(store.job).open
        except TakeoffError as error:
            return f"refused: {error.message}"
        except Told as told:
            return "open point" if re.search(pattern, str(told), re.IGNORECASE) else ""
        new = [p for p in points if re.search(pattern, f"{p.what} {p.group} {p.why}", re.IGNORECASE)]
        return f"open point: {new[0].why}" if new else ""


def main() -> int:
    """Run every case and print how each was told."""
    start, silent = time.perf_counter(), 0
    for name, pattern, plant in CASES:
        said = told_by(plant, pattern)
        is_told = said.startswith(("refused", "open point"))
        silent += not is_told
        print(f"{'told  ' if is_told else 'SILENT'}  {name}: {said}"[:150])
    print(f"{len(CASES) - silent} of {len(CASES)} told, in {time.perf_counter() - start:.0f} s")
    return int(silent > 0)


if __name__ == "__main__":
    sys.exit(main())
