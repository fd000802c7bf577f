"""Made revisions with exact truth, carried and judged: ``python -m tests.revise.made_cases [GROUP …]`` prints a table;
``--drawn SEED COUNT`` draws others by chance.

Every case is a job of one made sheet with each room traced to a third of a point, and a new sheet of which one thing
changed. A wall is *untouched* where its outline, its openings and what governs it stay; *changed* otherwise; *asked*
where its room was parted or joined; *beyond* where the new sheet does not show it.
"""

from __future__ import annotations

import random
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import shapely
from shapely import Polygon

from takeoff.actions.comparing import compare_revision
from takeoff.actions.revising import Revision
from takeoff.actions.schedule_revisions import UNREAD
from takeoff.errors import SheetError
from takeoff.job.edits import Batch, PutRoom, PutRun, SetCalibration
from takeoff.job.store import JobStore
from takeoff.model.plan import Calibration
from takeoff.model.walls import HeightProfile, Opening, Room, Run
from takeoff.revise.carry import CarriedRun
from tests.jobs import job_on
from tests.revise import made_issues as made
from tests.revise.made_issues import WAYS, Issue, Made, Paper

JITTER_PT = 0.15
LEFT = ("look at it", "not on this sheet")
AS_IT_IS = Paper(m_per_pt=50 * 0.0254 / 72, note="1:50", revision="1")
MOVED = replace(AS_IT_IS, revision="2", off=(168.0, 139.5))
Changed = Callable[[Issue, random.Random], Issue | None]


@dataclass(frozen=True, kw_only=True)
class Case:
    """One made revision: a first issue, its change and both papers; ``is_wrong`` sheets are to be refused or asked."""

    group: str
    seed: int
    change: Changed | None = None
    old: Paper = AS_IT_IS
    new: Paper = MOVED
    is_wrong: bool = False
    has_texts: bool = True
    cut: float | None = None
    """Part of the width of the building that the new sheet shows."""
    way: str = ""
    """How walls are drawn; by the seed where empty."""

    @property
    def label(self) -> str:
        return f"{self.group} {self.seed}"


@dataclass(kw_only=True)
class Result:
    """What became of the walls of a case, by kind and outcome; false lines of change; what was wrong, in words."""

    found: Revision | None = None
    runs: Counter[tuple[str, str]] = field(default_factory=Counter)
    false_lines: int = 0
    sheet: str = "taken"
    remarks: list[str] = field(default_factory=list)


def cases() -> Iterator[Case]:
    """All made cases, the same every time."""
    kinds = [("swing", "filled"), ("window", "filled"), ("swing", "window"), ("window", "swing"), ("swing", "double"),
             ("double", "swing"), ("cased", "swing"), ("swing", "cased"), ("sliding", "filled"), ("window", "cased"),
             ("window", "double"), ("cased", "filled")]  # fmt: skip
    seed = 0

    def some(group: str, count: int, change: Changed | None = None, **more: object) -> Iterator[Case]:
        nonlocal seed
        for _ in range(count):
            seed += 1
            yield Case(group=group, seed=seed, change=change, **more)  # type: ignore[arg-type]

    for a, b in kinds:
        yield from some("kind of opening", 2, lambda i, r, a=a, b=b: made.kind_changed(i, r, a, b))
    for by in (0.15, 0.3, 0.45, 0.6, 0.9, 1.2):
        yield from some("opening moved", 1, lambda i, r, by=by: made.opening_moved(i, r, by))
    for more in (0.15, 0.3, 0.3, 0.6):
        yield from some("opening wider", 1, lambda i, r, more=more: made.opening_moved(i, r, 0.0, more))
    yield from some("opening added", 3, lambda i, r: made.opening_added(i, r, "door"))
    yield from some("opening added", 3, lambda i, r: made.opening_added(i, r, "window"))
    yield from some("opening removed", 6, made.opening_removed)
    for by in (0.1, 0.2, 0.3, 0.5, 0.8, 1.07, 1.07, 1.3):
        yield from some("wall moved", 1, lambda i, r, by=by: made.wall_moved(i, r, by))
    yield from some("room parted", 5, made.room_parted)
    yield from some("wall that stops", 3, lambda i, r: made.room_parted(i, r, 0.6))
    yield from some("rooms joined", 5, made.rooms_joined)
    for what, count in (("ceiling", 4), ("schedule", 4), ("finish", 3), ("name", 3), ("number", 2)):
        yield from some(f"print: {what}", count, lambda i, r, what=what: made.print_changed(i, r, what))
    for cut in (0.4, 0.5, 0.6, 0.7):
        yield from some("issued in part", 1, cut=cut)
    yield from some("issued in part", 2, lambda i, r: made.opening_moved(i, r, 0.4), cut=0.6)
    floors = (
        ("A-101", "FIRST FLOOR PLAN", True), ("", "", True), ("A-102", "SECOND FLOOR PLAN", True),
        ("", "FLOOR PLAN", False),
    )  # fmt: skip
    for number, title, texts in floors:
        paper = replace(AS_IT_IS, revision="2", number=number, title=title)
        yield from some("wrong floor", 2, lambda i, r: made.other_floor(i, r.randrange(10**6)), new=paper,
                        is_wrong=True, has_texts=texts)  # fmt: skip
    yield from some("wrong building", 2, lambda i, r: made.first_issue(r.randrange(10**6) + 5000), is_wrong=True)
    half, less = (replace(AS_IT_IS, revision="2", printed_at=k) for k in (0.5, 0.97))
    anew = [replace(AS_IT_IS, revision="2", m_per_pt=k * 0.0254 / 72, note=f"1:{k}") for k in (100, 64, 48)]
    turned = [replace(AS_IT_IS, revision="2", rotate=90, more=(200.0, 120.0), off=(240.0, 190.0))]
    for group, papers in (("half size", [half]), ("97 %", [less]), ("another scale", anew), ("other paper", turned)):
        for paper in papers:
            yield from some(group, 4 // len(papers), new=paper)
        yield from some(group, 1, lambda i, r: made.opening_moved(i, r, 0.5), new=papers[0])
    for turn in (0.6, -0.9, 1.3):
        scan = replace(AS_IT_IS, revision="2", scan=turn)
        pair = {"old": replace(AS_IT_IS, scan=-0.4), "new": scan}
        yield from some("turned scan", 2, **pair)
        yield from some("turned scan", 1, lambda i, r: made.opening_moved(i, r, 0.5), **pair)
        yield from some("turned scan", 1, lambda i, r: made.wall_moved(i, r, 0.6), **pair)
        old = {"old": replace(AS_IT_IS, scan=turn)}
        yield from some("picture, then drawing", 1, lambda i, r: made.opening_moved(i, r, 0.5), **old)
        yield from some("picture, then drawing", 1, lambda i, r: made.wall_moved(i, r, 0.6), **old)
    yield from some("nothing changed", 4)
    pair = {"old": replace(AS_IT_IS, scan=-0.4), "new": replace(AS_IT_IS, revision="2", scan=0.6)}
    for a, b in (("swing", "filled"), ("window", "swing"), ("swing", "cased")):
        yield from some("scan: kind of opening", 1, lambda i, r, a=a, b=b: made.kind_changed(i, r, a, b), **pair)
    yield from some("scan: room parted", 2, made.room_parted, **pair)
    yield from some("scan: wall that stops", 1, lambda i, r: made.room_parted(i, r, 0.6), **pair)
    yield from some("scan: rooms joined", 1, made.rooms_joined, **pair)
    yield from some("scan: opening removed", 1, made.opening_removed, **pair)
    yield from some("scan: opening added", 1, lambda i, r: made.opening_added(i, r, "door"), **pair)
    for before, after in ((0, 90), (90, 0), (270, 180)):
        papers = {"old": replace(AS_IT_IS, scan=-0.4, rotate=before), "new": replace(MOVED, rotate=after)}
        yield from some("picture, then turned page", 1, lambda i, r: made.opening_moved(i, r, 0.5), **papers)


OTHER_KINDS = [("swing", "filled"), ("window", "filled"), ("swing", "window"), ("window", "swing"),
               ("swing", "double"), ("swing", "cased"), ("swing", "sliding"), ("window", "cased")]  # fmt: skip
CHANGES: dict[str, Changed] = {
    "opening moved": lambda i, r: made.opening_moved(i, r, r.choice([0.2, 0.4, 0.7, 1.0])),
    "opening wider": lambda i, r: made.opening_moved(i, r, 0.0, r.choice([0.2, 0.4])),
    "opening added": lambda i, r: made.opening_added(i, r, r.choice(["door", "window"])),
    "opening removed": made.opening_removed,
    "other opening": lambda i, r: made.kind_changed(i, r, *r.choice(OTHER_KINDS)),
    "wall moved": lambda i, r: made.wall_moved(i, r, r.choice([0.15, 0.3, 0.6, 1.1, 1.6])),
    "room parted": made.room_parted,
    "rooms joined": made.rooms_joined,
    "print": lambda i, r: made.print_changed(i, r, r.choice(["ceiling", "schedule", "finish", "name", "number"])),
    "other furniture": lambda i, r: i,
    "two changes": lambda i, r: _two(i, r),
    "other floor": lambda i, r: made.other_floor(i, r.randrange(10**6)),
}


def _two(issue: Issue, rng: random.Random) -> Issue | None:
    """Two changes at once, as a revision has them."""
    first, second = rng.sample(["opening moved", "opening added", "opening removed", "wall moved", "print"], 2)
    made_once = CHANGES[first](issue, rng)
    return None if made_once is None else CHANGES[second](made_once, rng)


def drawn_cases(draw: int, count: int) -> Iterator[Case]:
    """Cases drawn by chance: offices with pens, hatching and units of their own, on paper of all sorts."""
    rng = random.Random(f"drawn {draw}")
    kinds = list(CHANGES)
    for k in range(count):
        kind, office = kinds[k % len(kinds)], rng.randrange(1, 400)
        ratio = rng.choice([48, 50, 64, 75, 96, 100])
        old = Paper(m_per_pt=ratio * 0.0254 / 72, note=f"1:{ratio}", office=office, rotate=rng.choice([0, 0, 90, 270]))
        new = replace(old, revision="2", off=(rng.uniform(110, 190), rng.uniform(110, 190)))
        sort = rng.choice(["drawing", "drawing", "drawing", "another scale", "half size", "scans", "scans", "mixed"])
        if sort == "another scale":
            other = rng.choice([r for r in (48, 50, 64, 75, 96, 100) if r != ratio])
            new = replace(new, m_per_pt=other * 0.0254 / 72, note=f"1:{other}")
        elif sort == "half size":
            new = replace(new, printed_at=rng.choice([0.5, 0.707, 0.96]))
        elif sort in ("scans", "mixed"):
            dpi = rng.choice([150.0, 150.0, 200.0])
            old = replace(old, scan=rng.uniform(-1.2, 1.2), dpi=dpi)
            new = replace(new, scan=rng.uniform(-1.2, 1.2), dpi=rng.choice([150.0, dpi])) if sort == "scans" else new
        if rng.random() < 0.2:
            new = replace(new, rotate=rng.choice([90, 180]))
        if kind == "other furniture":
            new = replace(new, furniture=f"other {k}")
        is_wrong = kind == "other floor"
        if is_wrong:
            number, title = rng.choice([("A-101", "FLOOR PLAN"), ("", ""), ("A-102", "SECOND FLOOR PLAN")])
            new = replace(new, number=number, title=title)
        cut = rng.choice([0.5, 0.7]) if sort == "drawing" and kind == "opening moved" and rng.random() < 0.5 else None
        yield Case(
            group=f"{kind}, {sort}", seed=20000 + 1000 * draw + k, change=CHANGES[kind], old=old, new=new, cut=cut,
            is_wrong=is_wrong, way=rng.choice(WAYS),
        )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Pair:
    """Both issues of a case and their sheets."""

    first: Issue
    second: Issue
    old: Made
    new: Made
    edge: float | None
    paper: Paper


def pair_of(case: Case) -> Pair:
    """Draw both issues of a case; a building on which the change cannot be made is passed over for another."""
    way = case.way or WAYS[case.seed % len(WAYS)]
    for attempt in range(40):
        rng = random.Random(f"case {case.seed} {attempt}")
        first = made.first_issue(case.seed + 1000 * attempt)
        first.has_texts = case.has_texts
        second = first.copy() if case.change is None else case.change(first.copy(), rng)
        if second is not None:
            break
    else:
        raise ValueError(f"no building takes the change of {case.label}")
    second.has_texts = case.has_texts
    x0, _, x1, _ = first.building.area.bounds
    edge = None if case.cut is None else x0 + case.cut * (x1 - x0)
    base = second if case.is_wrong else first
    has_schedule = not (case.group.startswith(("opening", "kind")) and case.seed % 2)
    old_paper, new_paper = (replace(paper, has_schedule=has_schedule) for paper in (case.old, case.new))
    return Pair(
        first=first, second=second, edge=edge, paper=new_paper, old=made.draw(first, first, old_paper, way),
        new=made.draw(second, base, replace(new_paper, keeps_left_of=edge), way),
    )  # fmt: skip


def traced(issue: Issue, sheet: Made, rng: np.random.Generator) -> tuple[list[Room], list[Run]]:
    """Rooms and their walls as somebody traces them on a sheet."""
    b = issue.building
    rooms, runs = [], []
    for k, (outline, one) in enumerate(zip(b.rooms, issue.printed, strict=True)):
        points = corners(outline)
        openings = []
        for i, _, at, _ in openings_of(issue, outline):
            hole, mark = b.holes[i], issue.marks[i]
            openings.append(
                Opening(
                    at=at, width=hole.width, height=issue.heights[mark], sill=0.9 if hole.kind == "window" else 0.0,
                    kind=hole.kind, mark=mark,
                )  # type: ignore[arg-type]
            )  # fmt: skip
        picked = [np.array(sheet.at(p)) + rng.normal(0.0, JITTER_PT, 2) for p in points]
        rooms.append(
            Room(id=f"R{k}", name=one.name, number=one.number, height=HeightProfile.constant(one.ceiling))
        )  # fmt: skip
        runs.append(
            Run(
                id=f"R{k}-walls", sheet=1, room=f"R{k}", closed=True, face="right",
                points_pt=tuple((float(x), float(y)) for x, y in picked), openings=tuple(openings),
            )
        )  # fmt: skip
    return rooms, runs


def corners(outline: Polygon) -> list[tuple[float, float]]:
    """Corners of a room, clockwise as displayed."""
    ring = shapely.get_exterior_ring(shapely.simplify(outline, 1e-6)).coords[:-1]
    points = [(float(x), float(y)) for x, y in ring]
    # y runs down, so a positive area is clockwise as displayed
    return points if shapely.LinearRing(points).is_ccw else points[::-1]


def openings_of(issue: Issue, outline: Polygon) -> list[tuple[int, tuple[float, float], float, float]]:
    """Openings on a room's face: index, middle, station and width."""
    points = corners(outline)
    ring = shapely.LineString([*points, points[0]])
    edge = outline.exterior.buffer(0.004)
    out = []
    for i, hole in enumerate(issue.building.holes):
        for sign in (1, -1):
            line = hole.side_line(sign)
            if edge.contains(line) and hole.form != "filled":
                middle = line.interpolate(0.5, normalized=True)
                out.append((i, (middle.x, middle.y), float(ring.project(middle)), hole.width))
    return sorted(out, key=lambda o: o[2])


def judge(case: Case, folder: Path) -> Result:
    """Carry the walls of a case and hold each against the truth."""
    pair = pair_of(case)
    result = Result()
    with job_of(pair, folder / f"{case.seed}.takeoff", case.seed) as store:
        try:
            found = compare_revision(store, store.job.sheets[1], pair.new.name, pair.new.data)
        except SheetError as error:
            result.sheet = "refused"
            if not case.is_wrong:
                result.remarks.append(f"refused: {error}")
                result.runs["untouched", "refused"] += len(store.job.runs)
            return result
    result.found = found
    if case.is_wrong:
        sure = [one.before.id for one in found.runs if one.sure]
        result.sheet = "silent" if sure or not set(found.doubts) - {UNREAD} else "asked"
        result.remarks.extend(f"{id} sure on a wrong sheet" for id in sure)
        return result
    is_scan = case.old.scan is not None or case.new.scan is not None
    for one in found.runs:
        kind, outcome = _outcome(pair, int(one.before.id[1:].split("-")[0]), one, found, is_scan=is_scan)
        result.runs[kind, outcome] += 1
        if outcome in ("wrong", "look", "flagged"):
            said = f"{one.verdict}{', sure' * one.sure}, {'; '.join(one.notes)}"
            result.remarks.append(f"{one.before.id} {kind} {outcome}: {said}")
    if case.change is None and case.cut is None:
        lines = [c.words() for c in found.changes if c.on_plan]
        lines += [c.words for c in found.schedule_changes] + [w.words() for w in found.new_walls]
        result.false_lines = len(lines)
        result.remarks.extend(f"false line: {line}" for line in lines[:4])
    return result


def job_of(pair: Pair, path: Path, seed: int) -> JobStore:
    """The job of the first issue, traced."""
    store = job_on(path, (pair.old.name, pair.old.data))
    rooms, runs = traced(pair.first, pair.old, np.random.default_rng(seed))
    scale = Calibration(sheet=1, mx=pair.old.m_per_pt, my=pair.old.m_per_pt, pick=0.5)
    edits = [SetCalibration(calibration=scale), *(PutRoom(room=r) for r in rooms), *(PutRun(run=r) for r in runs)]
    store.do(Batch(title="Trace", edits=tuple(edits)))
    return store


def _outcome(pair: Pair, k: int, one: CarriedRun, found: Revision, *, is_scan: bool) -> tuple[str, str]:
    outline = pair.first.building.rooms[k]
    if pair.edge is not None and outline.bounds[2] > pair.edge:
        shows = outline.bounds[0] < pair.edge
        if one.verdict == "not on this sheet":
            return "beyond", "right"
        return ("cut through" if shows else "beyond"), ("flagged" if one.verdict in LEFT else "wrong")
    near = 0.012 * max(1.0, pair.old.m_per_pt / AS_IT_IS.m_per_pt) + (0.03 if is_scan else 0.0)
    new = _same_room(pair, outline)
    if new is None:
        if one.verdict not in LEFT:
            return "asked", "wrong"
        return "asked", "right" if _are_drawn(pair, one, found) else "flagged"
    is_right = _is_right(pair, new, one.after, near)
    said = _printed_anew(pair, k, new)
    is_touched = not _is_right(pair, new, None, 1e-4, before=k) or _has_other_leaves(pair, k, new)
    if not is_touched and not said:
        if one.sure and is_right:
            return "untouched", "carried"
        return "untouched", "look" if is_right or one.verdict in LEFT else "wrong"
    if said and not is_touched:
        offered = is_right and _has_values(pair, new, one)
        if one.sure:
            return "changed", "flagged" if is_right and UNREAD in found.doubts else "wrong"
        if one.verdict in LEFT:
            return "changed", "right" if any(text in note for note in one.notes for text in said) else "flagged"
        return "changed", "right" if offered else "wrong"
    if one.verdict in LEFT:
        return "changed", "right" if is_right or _are_drawn(pair, one, found) else "flagged"
    if _has_other_leaves(pair, k, new):
        return "changed", "wrong" if one.sure else "right"
    return "changed", "right" if is_right else "wrong"


def _are_drawn(pair: Pair, one: CarriedRun, found: Revision) -> bool:
    """Whether the rooms that are proposed in place of a wall are those that the new issue has there."""
    place = next((p for p in found.rooms_anew if one.before.id in p.runs), None)
    outline = pair.first.building.rooms[int(one.before.id[1:].split("-")[0])]
    b = pair.second.building
    wanted = [k for k, room in enumerate(b.rooms) if room.intersection(outline).area > 0.05 * outline.area]
    walls = [] if place is None else [wall for _, own in place.rooms for wall in own if len(wall.points_pt) > 2]
    return all(any(_is_right(pair, k, wall, 0.03) for wall in walls) for k in wanted)


def _same_room(pair: Pair, outline: Polygon) -> int | None:
    """The room of the new issue that is this one; ``None`` where it was parted or joined."""
    for k, room in enumerate(pair.second.building.rooms):
        both = room.intersection(outline).area
        if both > 0.6 * room.area and both > 0.6 * outline.area:
            return k
    return None


def _is_right(pair: Pair, new: int, run: Run | None, near: float, *, before: int | None = None) -> bool:
    """Whether a run, or the room as it was before, has the outline and the openings of a room of the new issue."""
    truth = pair.second.building.rooms[new]
    wanted = openings_of(pair.second, truth)
    if before is not None:
        was = pair.first.building.rooms[before]
        holes = pair.first.building.holes
        got = [(middle, width, holes[i].kind) for i, middle, _, width in openings_of(pair.first, was)]
        outline = was
    elif run is None:
        return False
    else:
        a, b, c, d, e, f = pair.new.matrix
        back = np.linalg.inv(np.array([[a, b, c], [d, e, f], [0, 0, 1]]))
        points = [tuple((back @ (x, y, 1.0))[:2]) for x, y in run.points_pt]
        outline = Polygon(points)
        ring = shapely.LineString([*points, points[0]])
        got = [((p.x, p.y), o.width, o.kind) for o in run.openings if (p := ring.interpolate(o.at % ring.length))]
    # faces some millimetres apart cross one another in what a hand traced: areas tell whether it is the room
    if shapely.symmetric_difference(shapely.make_valid(outline), truth).area > near * truth.length:
        return False
    if len(got) != len(wanted):
        return False
    left = list(got)
    for i, middle, _, width in wanted:
        kind = pair.second.building.holes[i].kind
        hit = [g for g in left if np.hypot(g[0][0] - middle[0], g[0][1] - middle[1]) < 4.0 * near + 1e-6
               and abs(g[1] - width) < max(2.5 * near, 1e-6) and g[2] == kind]  # fmt: skip
        if not hit:
            return False
        left.remove(hit[0])
    return True


def _has_other_leaves(pair: Pair, old: int, new: int) -> bool:
    """Whether an opening that stays where it is has another form."""
    forms = []
    for issue, k in ((pair.first, old), (pair.second, new)):
        b = issue.building
        forms.append({issue.marks[i]: b.holes[i].form for i, *_ in openings_of(issue, b.rooms[k])})
    return any(forms[1].get(mark, form) != form for mark, form in forms[0].items())


def _printed_anew(pair: Pair, old: int, new: int) -> list[str]:
    """What is printed otherwise and governs the room."""
    a, b = pair.first.printed[old], pair.second.printed[new]
    said = []
    if a.ceiling != b.ceiling:
        said.append(made.ceiling_words(b.ceiling, pair.paper))
    said += [y for x, y in ((a.name, b.name), (a.number, b.number), (a.finish, b.finish)) if x != y]
    marks = {pair.second.marks[i] for i, *_ in openings_of(pair.second, pair.second.building.rooms[new])}
    said += [f"{mark} is now" for mark in marks if mark in pair.second.scheduled]
    return said


def _has_values(pair: Pair, new: int, one: CarriedRun) -> bool:
    """Whether heights that are printed anew are those of the proposal."""
    b = pair.second.printed[new]
    if one.after is None:
        return False
    if b.ceiling != pair.first.printed[new].ceiling:
        height = one.after.height
        return height is not None and abs(height.points[0][1] - b.ceiling) < 0.002
    return all(
        abs(o.height - pair.second.scheduled.get(o.mark, o.height)) < 0.002 for o in one.after.openings
    )  # fmt: skip


def table_of(results: list[tuple[Case, Result]]) -> str:
    """Counts by group and in all."""
    columns = [("untouched", "carried"), ("untouched", "look"), ("untouched", "wrong"), ("untouched", "refused"),
               ("changed", "right"), ("changed", "flagged"), ("changed", "wrong"),
               ("asked", "right"), ("asked", "flagged"), ("asked", "wrong"),
               ("beyond", "right"), ("cut through", "flagged"), ("beyond", "wrong")]  # fmt: skip
    groups: dict[str, list[tuple[Case, Result]]] = {}
    for case, result in results:
        groups.setdefault(case.group, []).append((case, result))
    head = f"{'group':24}{'cases':>6}" + "".join(f"{a[:5]}.{b[:5]:6}".rjust(13) for a, b in columns)
    lines = [head + "   wrong sheet    false lines"]
    for name, part in [*groups.items(), ("all", results)]:
        counts: Counter[tuple[str, str]] = Counter()
        for _, result in part:
            counts.update(result.runs)
        sheets = Counter(result.sheet for case, result in part if case.is_wrong)
        said = ", ".join(f"{n} {word}" for word, n in sheets.items())
        numbers = "".join(f"{counts[c] or '·':>13}" for c in columns)
        lines.append(f"{name:24}{len(part):>6}{numbers}   {said:14} {sum(r.false_lines for _, r in part)}")
    return "\n".join(lines)


if __name__ == "__main__":
    words = sys.argv[1:]
    if words[:1] == ["--drawn"]:
        chosen = list(drawn_cases(int(words[1]), int(words[2])))
    else:
        chosen = [c for c in cases() if not words or any(c.label.startswith(word) for word in words)]
    results = []
    with tempfile.TemporaryDirectory() as name:
        for case in chosen:
            results.append((case, judge(case, Path(name))))
            for remark in results[-1][1].remarks:
                way = case.way or WAYS[case.seed % len(WAYS)]
                sys.stdout.write(f"{case.label} ({way}): {remark}\n")
            sys.stdout.flush()
    sys.stdout.write(table_of(results) + "\n")
