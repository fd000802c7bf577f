"""Where in a catalogue file a fault is: its file, its line, and the product, system or step it stands in."""

from __future__ import annotations

import re
from typing import Any

from takeoff.errors import CatalogueError
from takeoff.exchange.form_faults import Fault

_KEY = r'(?:id|name)\s*=\s*["\']{}["\']'
_USE = r'(?:\b(?:id|name|step)\s*=\s*|[\[,]\s*)["\']{}["\']'


def refusal_of(fault: Fault, raw: dict[str, Any]) -> CatalogueError:
    """Turn a fault of the form into a refusal, with the ids of the tables on the way."""
    path = fault.path.removeprefix("$").removeprefix(".")
    names = []
    node: Any = raw
    for key, index in re.findall(r"([^.\[\]]+)|\[(\d+)\]", path):
        try:
            node = node[int(index)] if index else node[key]
        except (KeyError, IndexError, TypeError):
            break
        if index and isinstance(node, dict) and isinstance(node.get("id", node.get("name")), str):
            names.append(str(node.get("id", node.get("name"))))
    where = f"{path} ({', '.join(names)})" if names else path
    return CatalogueError(fault.words, remedy="See takeoff schema catalogue for the keys and values.", where=where)


def placed(error: CatalogueError, text: str, name: str) -> CatalogueError:
    """Add the file's name, where there is one, and the line of a fault to its place.

    Parameters
    ----------
    error
        The refusal.
    text
        The file.
    name
        What the file is called; may be empty.
    """
    line = line_of(error.where, text, subject=error.message.partition(" ")[0])
    parts = (name, "" if line is None else f"line {line}", error.where)
    return CatalogueError(error.message, remedy=error.remedy, where=", ".join(part for part in parts if part))


def line_of(where: str, text: str, *, subject: str = "") -> int | None:
    r"""Return the line, counted from 1, of the innermost named table of a place, or of its key where that stands there.

    ``subject`` is what the refusal is about, which may be the key that the place does not name.

    Examples
    --------
    >>> line_of("system wall, step top, loss", '[[systems]]\nid = "wall"\n[[systems.steps]]\nid = "top"\nloss = 2.0\n')
    5
    """
    kind = re.match(r"(product|system|steps?|rates)", where)
    if kind is None:
        return None
    table = kind[1].removesuffix("s") + "s"
    start = re.search(rf"^[ \t]*(?:\[+[ \t]*{table}[ \t]*\]+|{table}[ \t]*=)", text, re.M)
    if start is None:
        return None
    at = start.start()
    names, key = _names_and_key(where)
    key = key or subject
    for n, wanted in enumerate(names):
        found = re.compile((_USE if n else _KEY).format(re.escape(wanted))).search(text, at)
        if found is None:
            break
        at = found.start()
    if key:
        end = text.find("[[", at + 2) if kind[1] != "rates" else len(text)
        inside = re.compile(rf"\b{re.escape(key)}\s*=").search(text, at, end if end > 0 else len(text))
        at = inside.start() if inside else at
    return text.count("\n", 0, at) + 1


def _names_and_key(where: str) -> tuple[list[str], str]:
    """Take ids, outermost first, and the last key from a place such as ``system wall, step top, loss``."""
    in_brackets = re.fullmatch(r"(.*) \((.*)\)", where)
    if in_brackets:
        path = in_brackets[1]
        key = "" if path.endswith("]") else path.rpartition(".")[2]
        return in_brackets[2].split(", "), key
    names, key = [], ""
    for part in where.split(", "):
        named = re.fullmatch(r'(?:product|system|step|pack) "?(.*?)"?', part)
        if named:
            names.append(named[1])
        elif part != "rates":
            key = part.removeprefix("rates.").partition(".")[0]
    return names, key
