"""Layers of a sheet (optional content, ISO 32000-1:2008 §8.11; a DXF drawing is kept so too), and hiding them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Any

from takeoff.apart import apart
from takeoff.model.plan import Sheet
from takeoff.sheet.contents import named_objects
from takeoff.sheet.document import open_document
from takeoff.sheet.formats import file_format

NOTES = ""
"""Stands for the annotations of a file among its layers, none of which is without a name."""


@dataclass(frozen=True, slots=True)
class LayerLook:
    """Which layers of a sheet are not drawn and which are drawn dimmed; all others are, whatever the file says."""

    hidden: frozenset[str] = frozenset()
    dimmed: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer of a sheet, or its annotations (`NOTES`): how many things it has there, and whether the file shows it."""

    name: str
    count: int
    is_on: bool


@apart
def read_layers(data: bytes, sheet: Sheet) -> tuple[Layer, ...]:
    """List the layers that something on a sheet is drawn on, by name; its annotations come last.

    Raises `SheetError` when the file cannot be read.
    """
    if file_format(data, sheet.called) != "pdf":
        return ()
    with open_document(data, sheet.called) as document:
        is_on = {name: is_read for name, is_read, _, _ in _states(document).values()}
    with open_document(data if all(is_on.values()) else without_layers(data, ())) as document:
        page = document[sheet.page - 1]
        counts = Counter(mark[2] for mark in page.get_bboxlog(layers=True))
        notes = sum(1 for _ in page.annots())
    layers = [Layer(name, counts[name], is_on[name]) for name in sorted(is_on, key=str.casefold) if counts[name]]
    return (*layers, Layer(NOTES, notes, is_on=True)) if notes else tuple(layers)


def _states(document: Any) -> dict[int, tuple[str, bool, bool, bool]]:
    """Of each layer by object number: its name, if the engine reads it, if the file lists it as on, if it is printed.

    What the engine itself lists as on is wrong for a layer whose usage names no creator.
    """
    groups, states = _groups(document), {}
    listed = document.get_layer(-1) if groups else {}
    for xref, name in groups.items():
        is_on = xref in listed.get("on", ()) if listed.get("basestate") == "OFF" else xref not in listed.get("off", ())
        view, prints = (document.xref_get_key(xref, f"Usage/{key}State")[1] for key in ("View/View", "Print/Print"))
        states[xref] = (name, is_on and view != "/OFF", is_on, prints == "/ON" or (is_on and prints != "/OFF"))
    return states


def _groups(document: Any) -> dict[int, str]:
    """Names of layers by object number, without those that are no objects."""
    listed = (document.get_ocgs() or {}).items()
    return {xref: group["name"] or "" for xref, group in listed if 0 < xref < document.xref_length()}


def shown_otherwise(document: Any, page: Any) -> Iterator[str]:
    """Say which layers of a page are read and not printed, or the other way about (ISO 32000-1:2008 §8.11.4.4)."""
    used = {xref for _, xref in named_objects(document, page.xref, "Resources/Properties")}
    for xref, (name, is_read, is_on, is_printed) in _states(document).items():
        if xref in used and len({is_read, is_on, is_printed}) > 1:
            is_said = "is printed, or shows in some programs" if not is_read else "is not printed"
            yield f"its layer {name} {is_said}: what is on it is {'read' if is_read else 'not read'}"


def without_layers(data: bytes, hidden: Collection[str]) -> bytes:
    """Return a PDF that shows all its layers but those of these names.

    Raises `SheetError` when the file cannot be read.
    """
    with open_document(data) as document:
        groups = _groups(document)
        off = [number for number, name in groups.items() if name in hidden]
        if groups:
            document.set_layer(-1, on=[number for number in groups if number not in off], off=off)
        written: bytes = document.tobytes()
        return written
