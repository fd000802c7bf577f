"""Steps written once in a catalogue file and used by many systems: put in where they are used, and taken out again.

A file's own list ``steps`` holds them. A system uses one by its id, or by a table with the id in ``step`` and what is
different there; a step of the list may build on an earlier one the same way. A system's step may also be written out
in full, as in files that have no list.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from takeoff.errors import CatalogueError

Entry = dict[str, Any]


def put_in(raw: Entry) -> Entry:
    """Return a file's tables with every step written out in full where it is used.

    What is not of the form that steps have is left as it is, for the reader to refuse.

    Raises
    ------
    CatalogueError
        When two steps of the list have one id, or one is used that is not there.

    Examples
    --------
    >>> full = put_in({"steps": [{"id": "tack", "labour": "350 ft2/h", "day": 3}],
    ...                "systems": [{"id": "wall", "steps": ["tack", {"step": "tack", "id": "again", "day": 4}]}]})
    >>> full["systems"][0]["steps"]
    [{'id': 'tack', 'labour': '350 ft2/h', 'day': 3}, {'id': 'again', 'labour': '350 ft2/h', 'day': 4}]
    """
    known: dict[str, Entry] = {}
    listed = []
    for entry in _list(raw.get("steps")):
        full = _full(entry, known, "steps") if isinstance(entry, dict) else entry
        listed.append(full)
        if isinstance(full, dict) and isinstance(id := full.get("id"), str):
            if id in known:
                raise CatalogueError(
                    "two steps have the same id", remedy="Give each an id of its own.", where=f"step {id}"
                )
            known[id] = full
    out = {"steps": listed, **{key: value for key, value in raw.items() if key != "steps"}} if listed else dict(raw)
    if isinstance(raw.get("systems"), list):
        out["systems"] = [_system(system, known) for system in raw["systems"]]
    return out


def take_out(systems: Sequence[Entry]) -> tuple[list[Entry], list[Entry]]:
    """Return a list of the steps that several systems use, and the systems using them; days stay with the systems.

    Examples
    --------
    >>> tack = {"id": "tack", "labour": "33 m2/h"}
    >>> take_out([{"id": "a", "steps": [{**tack, "day": 3}]}, {"id": "b", "steps": [tack]}])
    ([{'id': 'tack', 'labour': '33 m2/h'}], [{'id': 'a', 'steps': [{'step': 'tack', 'day': 3}]}, {'id': 'b', 'steps': ['tack']}])
    """  # noqa: E501
    bare = [[_without_day(step) for step in system["steps"]] for system in systems]
    every = [step for row in bare for step in row]
    listed: list[Entry] = []
    for step in every:
        if every.count(step) > 1 and not any(_is_same(step, other) for other in listed):
            ids = {other["id"] for other in listed}
            id = next(i for n in range(len(every)) if (i := step["id"] + (f"-{n + 1}" if n else "")) not in ids)
            listed.append({**step, "id": id, "own id": step["id"]})
    using = []
    for system, row in zip(systems, bare, strict=True):
        steps: list[Entry | str] = []
        for full, step in zip(system["steps"], row, strict=True):
            shared = next((other for other in listed if _is_same(step, other)), None)
            if shared is None:
                steps.append(full)
                continue
            more = {key: full[key] for key in ("day",) if key in full}
            if shared["id"] != step["id"]:
                more["id"] = step["id"]
            steps.append({"step": shared["id"], **more} if more else shared["id"])
        using.append({**system, "steps": steps})
    return [{key: value for key, value in entry.items() if key != "own id"} for entry in listed], using


def _system(system: Any, known: dict[str, Entry]) -> Any:
    if not isinstance(system, dict) or not isinstance(system.get("steps"), list):
        return system
    where = f"system {system.get('id', '')}"
    return {**system, "steps": [_full(step, known, where) for step in system["steps"]]}


def _full(entry: Any, known: dict[str, Entry], where: str) -> Any:
    """Write a step out in full: what it builds on, and over it what it says itself."""
    own = {"step": entry} if isinstance(entry, str) else entry
    if not isinstance(own, dict) or "step" not in own:
        return entry
    name = own["step"]
    if not isinstance(name, str) or name not in known:
        raise CatalogueError(
            f'there is no step "{name}" in the list of steps',
            remedy=f"Write it there, or use one of: {', '.join(known) or 'none'}.",
            where=where,
        )
    return {**known[name], **{key: value for key, value in own.items() if key != "step"}}


def _without_day(step: Entry) -> Entry:
    return {key: value for key, value in step.items() if key != "day"}


def _is_same(step: Entry, listed: Entry) -> bool:
    return step == {**{key: value for key, value in listed.items() if key != "own id"}, "id": listed["own id"]}


def _list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []
