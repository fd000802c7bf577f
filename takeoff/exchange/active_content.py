"""What in a PDF acts by itself or leads out of it, taken out of a copy before it is handed on.

Actions of ISO 32000-2 §12.6 other than going to a place in the file itself, forms of XFA (§12.7.8), attachments
(§7.11.4) and annotations that play or run something (§12.5.6). What is drawn on the pages stays byte for byte.
"""

from __future__ import annotations

import re
from collections import Counter
from typing import Any

_INSIDE = ("GoTo", "Named")
"""Actions that stay: they go to a place in this file, or to the next page."""
_ACTING = ("FileAttachment", "RichMedia", "Screen", "Movie", "Sound", "3D", "Projection")
"""Kinds of annotations that carry a file, or play or run one."""
_WORDS = {
    "JavaScript": "a script",
    "Launch": "a command to start a program",
    "SubmitForm": "a form that sends itself",
    "ImportData": "a form that reads a file",
    "URI": "a link to an address outside",
    "GoToR": "a link to another file",
    "GoToE": "a link to an attached file",
}
_OTHER = "an action"
_TOKEN = re.compile(r"\((?:\\.|\((?:\\.|[^\\()])*\)|[^\\()])*\)|<<|>>|\d+ 0 R", re.S)
"""Texts in brackets, with one level of brackets in them, the ends of dictionaries, and references."""


def take_out_active(document: Any) -> tuple[str, ...]:
    """Take everything that acts out of an open PDF; gives what it was, with how many, for people."""
    found: Counter[str] = Counter()
    catalog = document.pdf_catalog()
    for key, words in (("OpenAction", ""), ("AA", _OTHER), ("URI", ""), ("Collection", "a set of attached files")):
        if document.xref_get_key(catalog, key)[0] != "null":
            if key == "OpenAction":
                words = _words_of(document, catalog, key)
            found.update([words] if words else [])
            document.xref_set_key(catalog, key, "null")
    for key, words in (("JavaScript", "a script"), ("EmbeddedFiles", "attached files"), ("Renditions", "media")):
        if document.xref_get_key(catalog, f"Names/{key}")[0] != "null":
            found.update([words])
            document.xref_set_key(catalog, f"Names/{key}", "null")
    for key, words in (("XFA", "an XFA form"), ("CO", "")):
        if document.xref_get_key(catalog, f"AcroForm/{key}")[0] != "null":
            found.update([words] if words else [])
            document.xref_set_key(catalog, f"AcroForm/{key}", "null")
    for page in range(document.page_count):
        found.update(_from_page(document, document.page_xref(page)))
    for number in range(1, document.xref_length()):
        found.update(_from_object(document, number))
    return tuple(f"{words} ({count} times)" if count > 1 else words for words, count in sorted(found.items()))


def _from_object(document: Any, number: int) -> list[str]:
    """Take actions out of one object, and files that are associated with it."""
    found = []
    try:
        keys = document.xref_get_keys(number)
    except (RuntimeError, ValueError):
        return []
    for key in ("A", "PA"):
        if key in keys and document.xref_get_key(number, "S")[0] == "null":
            words = _words_of(document, number, key)
            if words:
                found.append(words)
                document.xref_set_key(number, key, "null")
    for key, words in (("AA", _OTHER), ("AF", "attached files"), ("Next", "")):
        if key in keys and (key != "Next" or document.xref_get_key(number, "S")[0] == "name"):
            found += [words] if words else []
            document.xref_set_key(number, key, "null")
    return found


def _words_of(document: Any, number: int, key: str) -> str:
    """Say what an action does; empty where it stays in the file, or is none."""
    kind, value = document.xref_get_key(number, key)
    if kind == "xref":
        target = int(value.split()[0])
        kind, value = "dict", document.xref_object(target, compressed=True)
    if kind != "dict":
        return ""
    named = re.search(r"/S\s*/(\w+)", value)
    if named is None:
        return "" if number == document.pdf_catalog() else _OTHER if "/JS" in value or "/F" in value else ""
    is_chained = "/Next" in value
    return "" if named[1] in _INSIDE and not is_chained else _WORDS.get(named[1], _OTHER)


def _from_page(document: Any, page: int) -> list[str]:
    """Take annotations out of a page that carry or run something; those written into the page get their own objects."""
    kind, value = document.xref_get_key(page, "Annots")
    if kind == "xref":
        value = document.xref_object(int(value.split()[0]), compressed=True)
    if kind not in ("array", "xref"):
        return []
    found, kept = [], []
    for entry in _entries(value):
        if entry.startswith("<<"):
            number = document.get_new_xref()
            document.update_object(number, entry)
        else:
            number = int(entry.split()[0])
        if document.xref_get_key(number, "Subtype")[1].lstrip("/") in _ACTING:
            found.append("an attached or played file")
        else:
            kept.append(f"{number} 0 R")
    if found or "<<" in value:
        document.xref_set_key(page, "Annots", f"[{' '.join(kept)}]")
    return found


def _entries(array: str) -> list[str]:
    """References and dictionaries of an array, as they are written; texts in brackets are passed over.

    Examples
    --------
    >>> _entries("[7 0 R<</Contents(a>>b)/A<</S/URI>>>>9 0 R]")
    ['7 0 R', '<</Contents(a>>b)/A<</S/URI>>>>', '9 0 R']
    """
    entries, depth, start = [], 0, 0
    for token in _TOKEN.finditer(array):
        if token[0] == "<<":
            start = start if depth else token.start()
            depth += 1
        elif token[0] == ">>":
            depth -= 1
            if depth == 0:
                entries.append(array[start : token.end()])
        elif depth == 0 and token[0].endswith("R"):
            entries.append(token[0])
    return entries
