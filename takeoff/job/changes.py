"""Changes: for every touched key (kind, id) the value before and after; ``None`` means that there is none.

One value serves to do, undo, store and show an edit. Lines of the journal say who did what when. As JSON wrong types,
and values that no model value can have, are refused.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Concatenate, Literal, ParamSpec, TypeAlias, TypeVar

import msgspec

from takeoff.errors import EditError, StoreError, TakeoffError
from takeoff.job.job import Job, JobSettings
from takeoff.model.drafting import DraftingStyle
from takeoff.model.open_points import Settled
from takeoff.model.plan import Calibration, ScaleRegion, Sheet, Source
from takeoff.model.site import PackUse, Reading
from takeoff.model.systems import Product, System
from takeoff.model.walls import Room, Run

T = TypeVar("T")
SETTINGS = "settings"

KINDS: Mapping[str, type] = {
    SETTINGS: JobSettings,
    "source": Source,
    "sheet": Sheet,
    "region": ScaleRegion,
    "calibration": Calibration,
    "room": Room,
    "run": Run,
    "system": System,
    "product": Product,
    "use": PackUse,
    "reading": Reading,
    "style": DraftingStyle,
    "settled": Settled,
}
"""Kind of a change's key to the class of its values."""

FIELDS: Mapping[str, str] = {kind: kind if kind == "settled" else f"{kind}s" for kind in KINDS if kind != SETTINGS}
"""Kind of a change's key to the job's mapping."""


@dataclass(frozen=True, slots=True)
class ChangeEntry:
    """One key's value before and after."""

    kind: str
    id: str
    before: Any
    after: Any


@dataclass(frozen=True, slots=True)
class Change:
    """What one edit does, and its label for people."""

    label: str
    entries: tuple[ChangeEntry, ...]

    def reversed(self) -> Change:
        """Return the change that takes this one back."""
        return Change(self.label, tuple(ChangeEntry(e.kind, e.id, e.after, e.before) for e in reversed(self.entries)))


def apply_change(job: Job, change: Change) -> Job:
    """Return the job after a change."""
    touched: dict[str, dict[Any, Any]] = {}
    settings = job.settings
    for e in change.entries:
        if e.kind == SETTINGS:
            settings = e.after
            continue
        name = FIELDS[e.kind]
        table = touched.setdefault(name, dict(getattr(job, name)))
        key: Any = int(e.id) if e.kind == "sheet" else e.id
        if e.after is None:
            table.pop(key, None)
        else:
            table[key] = e.after
    return replace(job, settings=settings, **touched)


def merged(label: str, changes: Iterable[Change]) -> Change:
    """Return changes that follow one another as one; what ends as it began is left out."""
    found: dict[tuple[str, str], ChangeEntry] = {}
    for e in (e for change in changes for e in change.entries):
        first = found.get((e.kind, e.id))
        found[e.kind, e.id] = ChangeEntry(e.kind, e.id, first.before if first else e.before, e.after)
    return Change(label, tuple(e for e in found.values() if e.before != e.after))


def current(job: Job, kind: str, id: str) -> Any:
    """Return the value of a key, ``None`` where there is none."""
    table: Mapping[Any, Any] = getattr(job, FIELDS[kind])
    return table.get(int(id) if kind == "sheet" else id)


def needed(job: Job, kind: str, id: str) -> Any:
    """Return the value of a key."""
    value = current(job, kind, id)
    if value is None:
        known = ", ".join(str(k) for k in getattr(job, FIELDS[kind])) or "none yet"
        raise EditError(f'there is no {kind} "{id}"', remedy=f"Known: {known}.", where=kind)
    return value


def run_with(job: Job, id: str, word: Literal["opening", "point"], index: int) -> Run:
    """Return the run of an id that has an opening or a point of a number, from 0."""
    run: Run = needed(job, "run", id)
    count = len(run.openings if word == "opening" else run.points_pt)
    if not 0 <= index < count:
        raise EditError(
            f"wall {id} has no {word} {index}", remedy=f"It has {count}; the first has the number 0.", where="index"
        )
    return run


def put(job: Job, kind: str, id: str, value: Any) -> ChangeEntry:
    """Return the entry that sets a key to a value."""
    return ChangeEntry(kind, id, current(job, kind, id), value)


def fitting(where: str, make: Callable[[], T]) -> T:
    """Make a value; a refusal becomes the edit's, with the field at fault."""
    try:
        return make()
    except EditError:
        raise
    except TakeoffError as error:
        raise EditError(error.message, remedy=error.remedy, where=where) from error


def named(ids: Sequence[str]) -> str:
    """Name a few walls, and count more.

    Examples
    --------
    >>> named(["a", "b"]), named(["a", "b", "c", "d"])
    ('a, b', '4 walls')
    """
    return ", ".join(ids) if len(ids) < 4 else f"{len(ids)} walls"


P = ParamSpec("P")
Entries: TypeAlias = "Iterable[ChangeEntry] | Change"
"""What an edit gives for a job: the entries of its change, or the change where its label is made of the job too."""


@dataclass(frozen=True, slots=True)
class Edit:
    """Something to be done to a job: what it does, for people, and what gives its change of what it was asked with."""

    label: str
    entries: Callable[..., Entries]
    given: Mapping[str, Any]

    def apply(self, job: Job) -> Change:
        """Check the edit against a job and return its change."""
        made = self.entries(job, **self.given)
        return made if isinstance(made, Change) else Change(self.label, tuple(made))


def edit(says: str | Callable[..., str]) -> Callable[[Callable[Concatenate[Job, P], Entries]], Callable[P, Edit]]:
    """Make a kind of edit of a function, which checks everything before it gives the first entry.

    ``says`` is the label, or what makes it of the fields: in a text ``{room.id}`` is a field, ``{walls}`` the walls in
    ``runs`` (ids or runs), ``{number}`` an ``index`` as people count.
    """

    def kind(entries: Callable[Concatenate[Job, P], Entries]) -> Callable[P, Edit]:
        fields = inspect.signature(entries).replace(parameters=list(inspect.signature(entries).parameters.values())[1:])

        def make(*args: P.args, **given: P.kwargs) -> Edit:
            bound = fields.bind(*args, **given)
            bound.apply_defaults()
            return Edit(_label(says, bound.arguments), entries, bound.arguments)

        make.__name__, make.__doc__ = entries.__name__, entries.__doc__
        return make

    return kind


def _label(says: str | Callable[..., str], fields: Mapping[str, Any]) -> str:
    if not isinstance(says, str):
        return says(**fields)
    walls = named([getattr(run, "id", run) for run in fields.get("runs", ())])
    return says.format(**{"walls": walls, "number": (fields.get("index") or 0) + 1, **fields})


Verb = Literal["do", "undo", "redo"]


@dataclass(frozen=True, slots=True, kw_only=True)
class JournalLine:
    """One line of the history: what was done (verb do, undo or redo), by whom and when."""

    seq: int
    at: str
    who: str
    verb: Verb
    label: str


def replay(lines: Iterable[tuple[str, Change]]) -> tuple[list[Change], list[Change]]:
    """Walk a journal of (verb, change) from the first line on.

    Returns
    -------
    list of Change
        What is done, the last one last: the next to take back.
    list of Change
        What was taken back, the last one last: the next to do again.
    """
    done: list[Change] = []
    undone: list[Change] = []
    for verb, change in lines:
        if verb == "do":
            done.append(change)
            undone.clear()
            continue
        origin, target = (done, undone) if verb == "undo" else (undone, done)
        if not origin:
            raise StoreError(f"the journal has an {verb} of nothing", remedy="Restore the file from a copy.")
        target.append(origin.pop())
    return done, undone


def fault_of(said: str) -> tuple[str, str]:
    """Split what the JSON reader says into the fault and its JSON path.

    Examples
    --------
    >>> fault_of("Expected `int`, got `str` - at `$.runs[0].sheet`")
    ('Expected `int`, got `str`', '$.runs[0].sheet')
    >>> fault_of("Input data was truncated")
    ('Input data was truncated', '$')
    """
    text, mark, path = said.rpartition(" - at `")
    return (text, path.rstrip("`")) if mark else (path, "$")


def encode(value: Any) -> bytes:
    """Encode a model value as JSON.

    Raises `EditError` if it would not read back as it is: JSON has no infinite or undefined number and no broken
    character.
    """
    try:
        body = msgspec.json.encode(value)
        back = msgspec.json.decode(body, type=type(value))
    except ValueError as error:
        text, path = fault_of(str(error))
        raise EditError(
            f"a value cannot be stored: {text}", remedy="Correct it; nothing was changed.", where=path
        ) from error
    if back != value:
        raise EditError(
            "a value cannot be stored: it would not read back as it is", remedy="Correct it; nothing was changed."
        )
    return body


def decode(kind: str, body: bytes | str) -> Any:
    """Decode the body of an item of this kind."""
    if kind not in KINDS:
        raise StoreError(f'unknown kind of item "{kind}"', remedy="The job file was written by another program.")
    try:
        return msgspec.json.decode(body, type=KINDS[kind])
    except ValueError as error:
        raise StoreError(f"a stored {kind} is damaged: {error}", remedy="Restore the file from a copy.") from error


def encode_change(change: Change) -> bytes:
    """Encode the entries of a change: [kind, id, before, after] each."""
    return msgspec.json.encode([[e.kind, e.id, e.before, e.after] for e in change.entries])


def decode_change(label: str, body: bytes | str) -> Change:
    """Decode a change from the journal."""
    try:
        rows = msgspec.json.decode(body, type=list[tuple[str, str, msgspec.Raw, msgspec.Raw]])
    except ValueError as error:
        raise StoreError(f"the journal is damaged: {error}", remedy="Restore the file from a copy.") from error
    entries = []
    for kind, id, before, after in rows:
        values = [None if bytes(raw) == b"null" else decode(kind, bytes(raw)) for raw in (before, after)]
        entries.append(ChangeEntry(kind, id, *values))
    return Change(label, tuple(entries))
