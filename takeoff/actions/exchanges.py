"""A job as JSON, and the schemas of what the program reads."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

from takeoff.exchange.catalogue_file import catalogue_schema
from takeoff.exchange.edits_file import edits_schema
from takeoff.exchange.job_json import job_from_json, job_schema, job_to_json
from takeoff.job.store import JobStore

SchemaName = Literal["edits", "job", "system", "catalogue"]
DIALECT = "https://json-schema.org/draft/2020-12/schema"


def export_json(store: JobStore) -> bytes:
    """Give the whole job, its plans and its history, as JSON text."""
    return job_to_json(store)


def import_json(path: Path, data: bytes, *, who: str, at: str) -> JobStore:
    """Make a job file from an exported job, with its history; close it afterwards.

    Parameters
    ----------
    path
        Where to write; there must be no file yet.
    data
        JSON text of the exported job.
    who, at
        Name and time for the journal, where the exported job has none.

    Raises
    ------
    InputError
        When it is not an exported job.
    StoreError
        When the job file exists already or cannot be written.
    """
    job, sources, history = job_from_json(data)
    return JobStore.create(path, job, sources, history=history, who=who, at=at)


def schema_of(name: SchemaName) -> dict[str, Any]:
    """Return the JSON schema of the edits file, an exported job, a catalogue, or one system of a catalogue."""
    return {"$schema": DIALECT, "$id": f"urn:x-takeoff:{name}:1", **_schema(name)}


def _schema(name: SchemaName) -> dict[str, Any]:
    if name == "edits":
        return edits_schema()
    if name == "job":
        return job_schema()
    whole = catalogue_schema()
    if name == "catalogue":
        return whole
    definitions = whole["$defs"]
    catalogue = definitions[whole["$ref"].rpartition("/")[2]] if "$ref" in whole else whole
    return {**catalogue["properties"]["systems"]["items"], "$defs": definitions}
