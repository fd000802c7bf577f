"""Open points that measuring and pricing tell: walls that are not measured or counted twice, what has no price."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from takeoff.actions.points.finding import (
    AS_IT_IS,
    Found,
    Variant,
    Words,
    place_of,
    point_found,
    sentence,
    told_found,
    usual_length,
)
from takeoff.actions.points.site import site_points
from takeoff.actions.quantities import Pending, Priced, makes_cove, without_cove
from takeoff.estimate.simulate import parts_of, simulate_price, usual_spreads
from takeoff.job.job import Job
from takeoff.job.reshape import OTHER_HAND
from takeoff.measure.faces import MeasuredFace
from takeoff.measure.overlaps import WrongFace, doubled_stretches, ends_inside, near_misses, wrong_faces
from takeoff.model.open_points import Stake, Where
from takeoff.model.plan import Calibration
from takeoff.model.systems import Catalogue
from takeoff.model.walls import Run
from takeoff.report.letterhead import other_currency

DRAWS = 2000
"""Draws for the range that unconfirmed rates give a price: enough for two figures."""
NEARLY_WHOLE = 0.9
"""Part of a wall's length counted twice above which taking the wall out is what is at stake (judgement, no source)."""


def pending_points(job: Job, pending: Sequence[Pending]) -> Iterator[Found]:
    """Find walls that cannot be measured; those that only lack the height of their room are told with the room."""
    words = Words(job)
    for one in pending:
        run = job.runs[one.run]
        room = job.rooms.get(run.room or "")
        if run.height is None and room is not None and room.height is None:
            continue
        yield told_found(
            "unmeasured",
            f"unmeasured:{run.id}",
            f"not in the figures: {one.message}",
            _where(job, run),
            group=f"Walls not in the figures: {one.message}",
            what=sentence(words.wall(run))[:-1],
            settle=one.remedy,
            assumes="",
        )


def face_points(job: Job, faces: Sequence[MeasuredFace], calibrations: Mapping[str, Calibration]) -> Iterator[Found]:
    """Find what is odd about measured walls, walls counted twice, and walls that end inside others."""
    words = Words(job)
    yield from _odd_faces(words, faces)
    yield from _doubled(words, faces, calibrations)
    for end in ends_inside(job.runs.values(), calibrations):
        cut = f", and take the {words.show.length(end.covered)} of it that it covers out of wall {end.other}"
        yield told_found(
            "overlap",
            f"inside:{end.run}:{end.other}",
            f"wall {end.run} ends {words.show.length(end.inside)} inside wall {end.other}, which is counted",
            _where(job, job.runs[end.run]),
            what=f"End of wall {end.run}",
            settle=f"End it at the face of wall {end.other}{cut if end.covered else ''}, or confirm it.",
            stake=Stake(money=0.0, area=0.0, length=end.inside),
        )
    for miss in near_misses(faces, job.runs, calibrations):
        yield told_found(
            "outline",
            f"gap:{miss.run}:{miss.other}",
            f"wall {miss.run} ends {words.show.length(miss.gap)} from wall {miss.other}: no corner is counted there",
            _where(job, job.runs[miss.run]),
            what=f"Gap between wall {miss.run} and wall {miss.other}",
            settle="Drag the end onto the other wall, or confirm that there is a gap.",
            stake=Stake(money=0.0, area=0.0, length=miss.gap),
        )
    for wrong in wrong_faces(faces, calibrations):
        run = job.runs[wrong.run]
        yield told_found(
            "outline",
            f"facing:{wrong.run}",
            _facing_words(wrong),
            _where(job, run),
            what=f"Coated side of wall {wrong.run}",
            settle="Flip it, or confirm that it is coated on that side.",
            variants=(AS_IT_IS, Variant(runs={run.id: replace(run, face=OTHER_HAND[run.face])})),
        )


def _where(job: Job, run: Run) -> Where:
    return Where(sheet=run.sheet, at_pt=place_of(job, run), room=run.room, run=run.id)


def _odd_faces(words: Words, faces: Sequence[MeasuredFace]) -> Iterator[Found]:
    """Tell what measuring says of walls, each sentence once."""
    told: set[str] = set()
    for face in faces:
        run = words.job.runs[face.elevation.run]
        for doubt in face.doubts:
            if doubt not in told:
                told.add(doubt)
                what = sentence(words.wall(run))[:-1]
                yield told_found("outline", f"wall:{run.id}", doubt, _where(words.job, run), what=what)


def _doubled(words: Words, faces: Sequence[MeasuredFace], calibrations: Mapping[str, Calibration]) -> Iterator[Found]:
    """Find stretches of wall that are counted twice; a wall that lies on others nearly whole might go."""
    longest: dict[str, float] = {}
    for face in faces:
        longest[face.elevation.run] = max(face.elevation.length, longest.get(face.elevation.run, 0.0))
    for a, b, length in doubled_stretches(faces, calibrations):
        yield told_found(
            "overlap",
            f"overlap:{a}:{b}",
            f"wall {a} and wall {b} lie on one another for {words.show.length(length)}: that wall is counted twice",
            _where(words.job, words.job.runs[b]),
            what=f"Wall {a} and wall {b}",
            settle="Remove or shorten one of them, or confirm that both are coated.",
            variants=(AS_IT_IS, Variant(runs={b: None})) if length > NEARLY_WHOLE * longest[b] else (),
            stake=Stake(money=0.0, area=0.0, length=length),
        )


def _facing_words(found: WrongFace) -> str:
    """Say that a run is coated on the side on which its room is not."""
    if not found.others:
        return f"wall {found.run} is coated on its outside and alone in its room: flip it if it encloses the room"
    others = " and ".join(f"wall {id}" for id in found.others)
    return f"wall {found.run} meets {others} with its coated side the other way: flip it if it is one room"


def loose_points(job: Job) -> Iterator[Found]:
    """Find walls without a system that are in no room, and rooms without a wall."""
    words = Words(job)
    walled = {run.room for run in job.runs.values()}
    bare = [room for room in job.rooms.values() if room.id not in walled] if job.runs else []
    usual = usual_length(job) if bare else 0.0
    for room in bare:
        yield told_found(
            "outline",
            f"bare:{room.id}",
            f"{words.room(room.id)} has no wall, so nothing of it is in the figures",
            Where(room=room.id),
            group="Rooms without a wall",
            what=f"Walls of {words.room(room.id)}",
            settle="Trace its walls, remove it, or confirm that it is not coated.",
            assumes=f"{words.room(room.id)} is not coated.",
            wall_length=usual,
        )
    for run in job.runs.values():
        if run.system is None and run.room is None:
            where = Where(sheet=run.sheet, at_pt=place_of(job, run), run=run.id)
            yield point_found(
                key=f"system:run:{run.id}",
                kind="system",
                group="Walls without a system",
                where=where,
                what=f"System of {words.wall(run)}",
                taken="",
                why="No system is known, so it is not priced.",
                settle="Choose its system, or remove it if it is not coated.",
                question="Which wall coating system does this wall take?",
                field="system",
            )


def price_points(job: Job, priced: Priced, *, has_stakes: bool) -> Iterator[Found]:
    """Find what the price rests on: nobody's rates, the example catalogue, another currency, hours without a plan."""
    estimate = priced.estimate
    if job.runs and estimate.has_price:
        yield from _rates(job, priced, has_stakes=has_stakes)
    if job.systems:
        shipped = sorted(line.label for line in estimate.systems if line.id not in job.systems)
        if shipped:
            yield told_found(
                "product",
                "shipped",
                f"priced by the example catalogue, as the job's own does not have it: {', '.join(shipped)}",
                what="Systems of the example catalogue",
                settle="Take a catalogue in that has them, or confirm the example's prices.",
            )
    for doubt in estimate.doubts:
        if estimate.rooms:
            yield told_found("product", "price", doubt)
    if found := other_currency(job.settings.currency, estimate.currency):
        yield told_found("job", "currency", found, what="Currency", settle="Take in a catalogue in the job's currency.")
    yield from _without_cove(job, priced)
    if job.runs and estimate.labour:
        yield from site_points(job, priced, has_stakes=has_stakes)


def _rates(job: Job, priced: Priced, *, has_stakes: bool) -> Iterator[Found]:
    """Tell rates and prices of the shipped example, which are nobody's, with what the price's range says of them."""
    own = job.settings.rates is not None
    if left_out := ", ".join(name.replace("_", " ") for name in priced.rates.not_given):
        yield told_found(
            "rates",
            "rates-left-out",
            f"the catalogue does not give {left_out}: usual ones are taken, in the price as its table shows them",
            what="Rates that the catalogue leaves out",
            settle="Put them into the rates, or confirm those that were taken.",
        )
    if own and job.products:
        return
    what = "Rates and prices" if not own else "Prices of products"
    stake = None
    if has_stakes:
        parts = parts_of(priced.estimate)
        spread = simulate_price(parts, usual_spreads(parts), priced.rates, draws=DRAWS)
        stake = Stake(money=max(0.0, spread.p90 - spread.p10), area=0.0, length=0.0)
    yield point_found(
        key="rates",
        kind="rates",
        what=what,
        taken="the example catalogue",
        why="The price is made with the example catalogue. Its rates and prices are invented: put in your own.",
        settle="Take your own catalogue into the job, or confirm the example's rates and prices.",
        state=_state_of(priced.catalogue),
        stake=stake,
    )


def _state_of(catalogue: Catalogue) -> str:
    """Return a short text that is another one as soon as rates or prices are."""
    priced = repr((catalogue.rates, [(p.id, p.packs) for p in catalogue.products]))
    return hashlib.sha256(priced.encode()).hexdigest()[:12]


def _without_cove(job: Job, priced: Priced) -> Iterator[Found]:
    """Tell rooms whose system makes a cove although none was given: at stake is the one that most other rooms have."""
    words = Words(job)
    usual = next(iter(Counter(room.cove for room in job.rooms.values() if room.cove).most_common(1)), None)
    makes = {s.id for s in priced.catalogue.systems if makes_cove(s)}
    systems = {id: room.system for id, room in job.rooms.items()}
    coved = [run for run in job.runs.values() if (run.system or systems.get(run.room or "")) in makes]
    for id, runs in without_cove(job, coved).items():
        room = job.rooms[id]
        yield point_found(
            key=f"no-cove:{id}",
            kind="cove",
            group="Rooms without the cove that their system makes",
            where=Where(sheet=runs[0].sheet, at_pt=place_of(job, runs[0]), room=id),
            what=f"Cove of {words.room(id)}",
            taken="no cove",
            why=f"{words.system(runs[0].system or room.system)} makes a cove, and none was given: none is priced.",
            settle="Give the cove, or confirm that there is none.",
            question="Does this room have an integral cove base, and of which size?",
            assumes=f"{words.room(id)} has no integral cove base.",
            state="none",
            variants=(AS_IT_IS, Variant(rooms={id: replace(room, cove=usual[0])})) if usual else (),
        )
