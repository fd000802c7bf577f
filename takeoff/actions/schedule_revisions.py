"""A new revision of a sheet without walls: what its schedules and texts say of walls, whatever sheet these are on."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from contextlib import suppress
from dataclasses import replace

import numpy as np
import shapely

from takeoff.actions.revising import Revision, told_of_issue, with_findings
from takeoff.actions.scale_basis import note_scale
from takeoff.errors import InputError, SheetError
from takeoff.job.job import Job
from takeoff.measure.develop import traced_path
from takeoff.model.plan import Calibration, Source
from takeoff.model.walls import Run
from takeoff.revise.carry import CarriedRun
from takeoff.revise.changes import SheetChange
from takeoff.revise.governing import ScheduleChange, ScheduleRows, rows_about, with_values
from takeoff.revise.linework_along import Length
from takeoff.revise.registration import Registration
from takeoff.revise.same_floor import STILL, WALLS, likeness, words_kept
from takeoff.revise.sheet_pair import SheetPair
from takeoff.revise.sheet_texts import SheetTexts, shows_schedule
from takeoff.revise.text_changes import text_changes
from takeoff.sheet.scales import ratio_text
from takeoff.sheet.text import TextLine
from takeoff.sheet.uses import is_of_another_trade
from takeoff.units import parse_length

UNMOVED = Registration(
    matrix=(1.0, 0.0, 0.0, 0.0, 1.0, 0.0), kind="similarity", method="points", pairs=0, share=1.0, rms_pt=0.0, u=0.0
)
"""How a sheet without a plan lies on its older revision."""

MOST_TOLD = 3
"""Changed texts that are told of a sheet whose plan is the same."""


def read_rows(texts: SheetTexts, lines: Sequence[Sequence[TextLine]], length: Length) -> ScheduleRows:
    """Compare what two revisions of a sheet, whose ``lines`` of text are given, write; ``length`` writes metres."""
    rows = texts.schedules(length) if shows_schedule(lines[0]) else ScheduleRows()
    changes = changes_of_texts(*lines)
    own = [change for change in changes if not _is_told(change, texts, (*rows.openings, *rows.finishes), length)]
    more = (told_of(own),) if own and not is_of_another_trade(texts.new.number) else ()
    return replace(rows, unread=(*told_of_issue(texts.old, texts.new), *rows.unread, *more), changes=changes)


def _is_told(change: SheetChange, texts: SheetTexts, rows: Sequence[ScheduleChange], length: Length) -> bool:
    """Tell whether a changed text is one of a changed row, or the sheet's revision or date."""
    both = f"{change.before} {change.after}"
    dates, marks = {texts.old.date, texts.new.date} - {""}, {texts.old.revision, texts.new.revision} - {""}
    if any(date in both for date in dates) or marks & set(both.split()):
        return True

    def stands_in(text: str, row: str) -> bool:
        with suppress(InputError):
            return text in row or length(parse_length(text)) in row
        return False

    return any(
        stands_in(change.before, f"{row.key}, {row.before}") and stands_in(change.after, f"{row.key}, {row.after}")
        for row in rows
    )


def told_of(changes: Sequence[SheetChange]) -> str:
    """Say in words what changed beside a plan, the first few texts of it."""
    texts = [change.words() for change in changes if change.kind == "text"]
    lines = len(changes) - len(texts)
    said = [*texts[:MOST_TOLD], *([f"{len(texts) - MOST_TOLD} more texts"] if len(texts) > MOST_TOLD else [])]
    said += [f"{lines} changes of lines"] if lines else []
    return "; ".join(said) or "nothing written on it changed"


def changes_of_texts(old: Sequence[TextLine], new: Sequence[TextLine]) -> tuple[SheetChange, ...]:
    """Texts that two revisions of a sheet without a plan write otherwise."""
    return text_changes(old, new, UNMOVED, m_per_pt=1.0, focus_pt=(-1.0, -1.0, -1.0, -1.0))


def schedule_revision(
    job: Job, texts: SheetTexts, source: Source, rows: ScheduleRows, *, without: Collection[int] = ()
) -> Revision:
    """Propose for each wall that changed rows are about what they say of it; parameters as for `proposals_by`."""
    nothing = np.zeros((0, 4))
    return Revision(
        old=texts.old, sheet=with_findings(texts.new, rows.unread), source=source, data=texts.new_data,
        registration=UNMOVED, scales=(), regions=(), changes=rows.changes, removed=nothing, added=nothing,
        runs=proposals_by(job, rows, without=without), new_walls=(), doubts=rows.unread,
        schedule_changes=(*rows.openings, *rows.finishes),
    )  # fmt: skip


def proposals_by(job: Job, rows: ScheduleRows, *, without: Collection[int]) -> tuple[CarriedRun, ...]:
    """Proposals for the walls that changed rows are about; they stay on their sheets.

    Walls on the sheets ``without``, by their ids, are left out: they are compared with revisions of their own.
    """
    found = [
        _proposal(job, run, rows)
        for run in job.runs.values()
        if run.sheet not in without and job.sheets[run.sheet].replaced_by is None
    ]
    return tuple(one for one in found if one.notes)


def _proposal(job: Job, run: Run, rows: ScheduleRows) -> CarriedRun:
    scale = job.scale_for(run)
    long = 0.0 if scale is None else traced_path(run, scale).stations()[-1]
    one = CarriedRun(before=run, after=run, verdict="unchanged", sure=False, lengths=(long, long), moved=0.0)
    room = job.rooms.get(run.room or "")
    one, done = with_values(one, None, [rows], job.settings.display.length)
    told = list(rows_about(one, room, [rows], done))
    if not told:
        return one
    notes, written = [note.text for note in told], [note.text for note in told if not note.is_done]
    return replace(one, verdict="look at it", notes=(*one.notes, *notes), written=tuple(written))


HALF = 0.5
"""Part of the old drawing that is looked for on the new sheet; with less of it the registration is doubted."""

CLEAR = 0.3
"""Metres from walls within which a picture's ink is no word of a room."""
FEW_WORDS, SAME_WORDS = 6, 0.6
"""Words below which they tell nothing, and the part of them that the same floor still has (measured on made scans:
other floors up to 0.5, the same one 0.64 and more)."""

FEW_OPENINGS, OTHER_OPENINGS = 5, 0.4
"""Openings that are new, gone or drawn otherwise below which they tell nothing, and the part of all of them (measured
on made sheets that were drawn again in another way; of revisions with a few changes less are)."""

UNREAD = "what is written on this sheet was not compared with the older revision: room names, heights, schedules"
"""What is said where one of both sheets has no text that can be read, such as a scan."""


def scale_doubts(pair: SheetPair) -> tuple[str, ...]:
    """Say where the new sheet's note is another scale than the one that is carried over."""
    scale, note = pair.scale, note_scale(pair.new)
    own = math.sqrt(scale.mx * scale.my) / pair.registration.scale
    if note is None or abs(own / note - 1.0) <= max(0.005, 3.0 * scale.u_scale):
        return ()
    carried = f"the old sheet's scale carried over gives 1:{own * 72 / 0.0254:.4g}"
    return (f"the new sheet's note says {ratio_text(note)}, {carried}",)


def doubts_of(job: Job, pair: SheetPair, share: float) -> Iterator[str]:
    """Say what is doubtful of a registered pair; ``share`` is the part of the old drawing that was found."""
    old, new, registration = pair.old, pair.new, pair.registration
    yield from scale_doubts(pair)
    if old.number and new.number and old.number != new.number:
        yield f"the new sheet is numbered {new.number}, the old one {old.number}"
    if not pair.is_vector and not (old.number and new.number):
        yield "a sheet's number cannot be read from a picture: make sure that both show the same floor"
    if not pair.compares_writing:
        yield UNREAD
    if pair.least_seen > pair.smallest:
        yield f"changes smaller than {job.settings.display.length(pair.least_seen)} cannot be seen at this resolution"
    if share < HALF:
        said = f"only {share:.0%} of the old drawing was found on the new sheet"
        by_hand = registration.method == "points"
        yield f"{said}: check the points, nothing is taken for sure" if by_hand else said
    if any(r.sheet == old.id for r in job.regions.values()):
        yield "scale regions stay where they were on the sheet: check that their details did not move"


def is_same_floor(job: Job, pair: SheetPair, runs: Sequence[Run], share: float, doubts: list[str]) -> bool:
    """Tell whether proposals may be sure at all; a sheet that shows other rooms is refused.

    Raises `SheetError` when the printed rooms say that the new sheet shows another floor, and no points were picked by
    hand.
    """
    least = WALLS if pair.is_vector else STILL
    found = likeness(runs, job.rooms, pair.registration, *pair.texts, lines=share, least=least)
    said = f"{found.kept} of {found.of} room numbers or names of the old sheet stand in their rooms on the new one"
    by_hand = pair.registration.method == "points"
    if found.is_other_floor and not by_hand:
        raise SheetError(
            f"the new sheet seems to show another floor: only {said}, and {share:.0%} of its lines agree",
            remedy="Choose the sheet of the same floor. If it is, pick two points that both sheets show.",
        )
    if found.is_uncertain:
        doubts.append(
            f"it is not certain that the new sheet shows the same floor: {said}; "
            f"{share:.0%} of the lines agree, so nothing is taken for sure"
        )
    # points picked by hand may be the wrong ones, and then all walls seem to have moved alike
    return not found.is_uncertain and not (by_hand and share < HALF)


def has_its_words(pair: SheetPair, runs: Sequence[Run], scale: Calibration, doubts: list[str]) -> bool:
    """Tell whether the words that a picture shows in rooms stand there still, as far as it shows any."""
    by = CLEAR / math.sqrt(scale.mx * scale.my)
    rings = [[pair.registration.carry(p) for p in run.path_pt.flattened(1.0)] for run in runs if run.closed]
    kept, of = words_kept(pair.differences, [shapely.Polygon(ring).buffer(-by) for ring in rings if len(ring) > 2])
    if of < FEW_WORDS or kept >= SAME_WORDS * of:
        return True
    doubts.append(
        f"it is not certain that the new sheet shows the same floor: {kept} of {of} words of the old sheet look alike "
        "in their rooms on the new one, so nothing is taken for sure"
    )
    return False


def has_its_openings(carried: Sequence[CarriedRun], doubts: list[str]) -> bool:
    """Tell whether most openings are found again; else another hand may have drawn the sheet, or filled its walls."""
    found = [o.verdict for one in carried if not one.is_lost for o in one.openings]
    other = sum(verdict in ("new", "gone", "look at it") for verdict in found)
    if other < FEW_OPENINGS or other < OTHER_OPENINGS * len(found):
        return True
    doubts.append(
        f"{other} of {len(found)} openings are new, gone or drawn otherwise: the sheet may be drawn in another way "
        "than before, so nothing is taken for sure"
    )
    return False
