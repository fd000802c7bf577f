"""The whole job as JSON, schema "takeoff.job/1", out and in without loss: values, plans and history."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from typing import Any, Literal

import msgspec

from takeoff.errors import InputError, StoreError
from takeoff.exchange.form_faults import Fault, json_fault, not_json
from takeoff.job.changes import FIELDS, KINDS, Change, JournalLine, Verb, decode_change
from takeoff.job.job import Job, JobSettings, calibration_key
from takeoff.job.store import JobStore

JOB_SCHEMA: Literal["urn:x-takeoff:job:1"] = "urn:x-takeoff:job:1"
"""Name of the schema of an exported job, its ``$id``."""
LISTS = tuple(name for name in FIELDS.values() if name != "calibrations")
"""Mappings of the job that a file holds as lists."""
NAMED_BY = {"sources": "sha256", "styles": "name", "settled": "key"}
"""What the values of such a mapping are named by, where that is not their id."""


class HistoryEntry(msgspec.Struct, forbid_unknown_fields=True):
    """One line of the journal; ``changes`` are [kind, id, value before, value after], ``null`` for none."""

    at: str
    who: str
    verb: Verb
    label: str
    changes: list[tuple[str, str, Any, Any]]


_HELD: list[tuple[str, Any, Any]] = [
    (name, dict[str, KINDS[kind]], {}) if name == "calibrations" else (name, list[KINDS[kind]], [])  # type: ignore[valid-type]
    for kind, name in FIELDS.items()
]
JobFile: Any = msgspec.defstruct(
    "JobFile",
    [
        ("names_schema", Literal["urn:x-takeoff:job:1"], msgspec.field(name="$schema", default=JOB_SCHEMA)),
        ("schema", Literal["takeoff.job/1"], "takeoff.job/1"),
        ("settings", JobSettings),
        *_HELD,
        ("history", list[HistoryEntry], []),
        ("plans", dict[str, bytes], {}),
    ],
    namespace={"__doc__": "What an exported job holds; ``plans`` are the plan files' bytes in base64 by SHA-256."},
    module=__name__, forbid_unknown_fields=True, kw_only=True,
)  # fmt: skip


def job_schema() -> dict[str, Any]:
    """JSON schema of an exported job."""
    schema = msgspec.json.schema(JobFile)
    for definition in schema["$defs"].values():
        if "properties" in definition:
            definition["additionalProperties"] = False
    return schema


def job_to_json(store: JobStore) -> bytes:
    """Export an open job, its plans (those of edits taken back too) and its history, all of one moment."""
    with store.one_moment():
        job, lines, changes = store.job, store.history(), store.changes()
        plans = dict.fromkeys(e.id for change in changes for e in change.entries if e.kind == "source")
        contents = {sha: store.source(sha) for sha in plans}
    lists: dict[str, Any] = {name: list(getattr(job, name).values()) for name in LISTS}
    file = JobFile(
        schema="takeoff.job/1",
        settings=job.settings,
        calibrations=dict(job.calibrations),
        **lists,
        history=[
            HistoryEntry(h.at, h.who, h.verb, h.label, [(e.kind, e.id, e.before, e.after) for e in change.entries])
            for h, change in zip(lines, changes, strict=True)
        ],
        plans=contents,
    )
    return msgspec.json.format(msgspec.json.encode(file), indent=1)


def job_from_json(data: bytes | str) -> tuple[Job, dict[str, bytes], list[tuple[JournalLine, Change]]]:
    """Read an exported job.

    Returns
    -------
    Job
        The job.
    dict of str to bytes
        Its plan files' bytes by SHA-256.
    list of (JournalLine, Change)
        Its journal; none where the export has none.
    """
    try:
        file = msgspec.json.decode(data, type=JobFile)
    except ValueError as error:
        raw = data.encode("utf-8", "surrogatepass") if isinstance(data, str) else data
        is_form = isinstance(error, msgspec.ValidationError)
        fault = json_fault(raw, JobFile, error) if is_form else Fault("$", "value", not_json(raw))
        raise InputError(
            f"it is not an exported job: {fault.words}",
            remedy="Name a .json file of takeoff export, or a marked .pdf or a .dxf. Nothing was made.",
            where=fault.path,
        ) from error
    _check_keys(msgspec.json.decode(data), msgspec.to_builtins(file), "$")
    for sha, content in file.plans.items():
        if hashlib.sha256(content).hexdigest() != sha:
            raise InputError("a plan does not match its SHA-256", where=f"$.plans.{sha}", remedy="Export it again.")
    job = Job(
        settings=file.settings,
        calibrations=file.calibrations,
        **{name: _keyed(name, getattr(file, name)) for name in LISTS},
    )
    _check_references(job, file.plans)
    return job, file.plans, [_line(i, entry) for i, entry in enumerate(file.history)]


def _line(index: int, entry: HistoryEntry) -> tuple[JournalLine, Change]:
    try:
        change = decode_change(entry.label, msgspec.json.encode(entry.changes))
    except StoreError as error:
        raise InputError(error.message, where=f"$.history[{index}].changes", remedy="Export the job again.") from error
    return JournalLine(seq=index + 1, at=entry.at, who=entry.who, verb=entry.verb, label=entry.label), change


def _check_keys(given: Any, read: Any, path: str) -> None:
    """Refuse keys that were not read: an import loses nothing."""
    if isinstance(given, dict) and isinstance(read, dict):
        for key, value in given.items():
            if key not in read:
                raise InputError(
                    f'it is not an exported job: unknown key "{key}"',
                    where=path,
                    remedy="See the form with: takeoff schema job. Nothing was made.",
                )
            _check_keys(value, read[key], f"{path}.{key}")
    elif isinstance(given, list) and isinstance(read, list | tuple):
        for i, (one, other) in enumerate(zip(given, read, strict=True)):
            _check_keys(one, other, f"{path}[{i}]")


def _keyed(name: str, values: Sequence[Any]) -> dict[Any, Any]:
    made: dict[Any, Any] = {}
    for i, value in enumerate(values):
        key = getattr(value, NAMED_BY.get(name, "id"))
        if key in made:
            raise InputError(f'"{key}" is there twice', where=f"$.{name}[{i}]", remedy="Give each an id of its own.")
        made[key] = value
    return made


_NAMES = (
    ("sheets", "source", "sources", "a plan file"),
    ("regions", "sheet", "sheets", "sheet {}"),
    ("runs", "sheet", "sheets", "sheet {}"),
    *((name, "room", "rooms", 'room "{}"') for name in ("runs", "uses", "readings")),
)
"""Values of a job, the field of theirs that names others, where these are, and what they are called."""


def _check_references(job: Job, plans: Mapping[str, bytes]) -> None:
    def need(known: bool, what: str, where: str) -> None:
        if not known:
            raise InputError(f"it names {what} that is not there", where=where, remedy="Export the job again.")

    for i, source in enumerate(job.sources.values()):
        need(source.sha256 in plans, f"the plan {source.name}", f"$.sources[{i}]")
    for name, field, among, words in _NAMES:
        for i, value in enumerate(getattr(job, name).values()):
            id = getattr(value, field)
            need(id is None or id in getattr(job, among), words.format(id), f"$.{name}[{i}].{field}")
    for key, scale in job.calibrations.items():
        need(scale.sheet in job.sheets, f"sheet {scale.sheet}", f"$.calibrations.{key}.sheet")
        need(scale.region is None or scale.region in job.regions, "a region", f"$.calibrations.{key}.region")
        need(key == calibration_key(scale.sheet, scale.region), "a sheet or region", f"$.calibrations.{key}")
