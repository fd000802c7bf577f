"""Layers of a sheet (optional content, ISO 32000-1:2008 §8.11; a DXF drawing is kept so too), and hiding them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass

from takeoff.apart import apart
from takeoff.model.plan import Sheet
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

    Raises
    ------
    SheetError
        When the file cannot be read.
    """
    if file_format(data, f"sheet {sheet.id}") != "pdf":
        return ()
    with open_document(data, f"sheet {sheet.id}") as document:
        is_on = {group["name"]: bool(group["on"]) for group in (document.get_ocgs() or {}).values()}
    with open_document(data if all(is_on.values()) else without_layers(data, ())) as document:
        page = document[sheet.page - 1]
        counts = Counter(mark[2] for mark in page.get_bboxlog(layers=True))
        notes = sum(1 for _ in page.annots())
    layers = [Layer(name, counts[name], is_on[name]) for name in sorted(is_on, key=str.casefold) if counts[name]]
    return (*layers, Layer(NOTES, notes, is_on=True)) if notes else tuple(layers)


def without_layers(data: bytes, hidden: Collection[str]) -> bytes:
    """Return a PDF that shows all its layers but those of these names.

    Raises
    ------
    SheetError
        When the file cannot be read.
    """
    with open_document(data) as document:
        groups = document.get_ocgs() or {}
        off = [number for number, group in groups.items() if group["name"] in hidden]
        if groups:
            document.set_layer(-1, on=[number for number in groups if number not in off], off=off)
        written: bytes = document.tobytes()
        return written
