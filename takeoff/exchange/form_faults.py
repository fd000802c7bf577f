"""What is wrong with a file of JSON or TOML, in words for who wrote it: found by walking the file beside its form."""

from __future__ import annotations

import codecs
import json
import math
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from difflib import get_close_matches
from functools import cache
from typing import Any, Literal, NamedTuple

from msgspec import inspect

from takeoff.errors import CatalogueError, InputError
from takeoff.job.changes import fault_of

_NAMES: tuple[tuple[type | tuple[type, ...], type[inspect.Type] | tuple[type[inspect.Type], ...], str], ...] = (
    (bool, inspect.BoolType, "true or false"),
    (int, inspect.IntType, "a whole number"),
    ((int, float), inspect.FloatType, "a number"),
    (str, (inspect.StrType, inspect.LiteralType, inspect.BytesType), "a text"),
    ((list, tuple), (inspect.CollectionType, inspect.TupleType), "a list"),
    (dict, (inspect.DictType, inspect.StructType, inspect.DataclassType), "a table"),
    (type(None), inspect.NoneType, "null"),
)
"""Values of a file, the forms that take them, and what both are called."""


class Fault(NamedTuple):
    """The first place where a file departs from its form: a JSON path, what kind of fault it is, and words for it."""

    path: str
    kind: Literal["key", "missing", "choice", "value"]
    words: str


@cache
def _form(of: Any) -> inspect.Type:
    return inspect.type_info(of)


def form_fault(value: Any, form: Any) -> Fault | None:
    """Find the first fault of what a file holds against the class that it is read into; nothing where there is none.

    Examples
    --------
    >>> form_fault({"a": [1, "b"]}, dict[str, list[float]])
    Fault(path='$.a[1]', kind='value', words='expected a number, got a text')
    """
    return next(_faults(value, _form(form), "$"), None)


def _faults(value: Any, form: inspect.Type, path: str) -> Iterator[Fault]:
    match form:
        case inspect.Metadata(type=inner):
            yield from _faults(value, inner, path)
        case inspect.AnyType():
            return
        case inspect.UnionType(types=forms):
            yield from _of_union(value, forms, path)
        case inspect.LiteralType(values=words) if isinstance(value, str):
            if value not in words:
                yield Fault(path, "choice", f'"{value}" is not one of {", ".join(map(str, words))}')
        case _ if not _takes(form, value):
            yield Fault(path, "value", f"expected {_name_of(form)}, got {_name_of_value(value)}")
        case inspect.StructType() | inspect.DataclassType():
            yield from _of_table(value, form, path)
        case inspect.DictType(key_type=keys, value_type=each):
            for key, held in value.items():
                yield from _faults(key, keys, path)
                yield from _faults(held, each, f"{path}.{key}")
        case inspect.TupleType(item_types=forms):
            for i, (held, each) in enumerate(zip(value, forms, strict=False)):
                yield from _faults(held, each, f"{path}[{i}]")
            if len(value) != len(forms):
                yield Fault(path, "value", f"expected a list of length {len(forms)}, got {len(value)}")
        case inspect.CollectionType(item_type=each):
            for i, held in enumerate(value):
                yield from _faults(held, each, f"{path}[{i}]")
        case inspect.StrType(min_length=least, max_length=most):
            if len(value) < (least or 0):
                yield Fault(path, "value", "the text is empty")
            elif most is not None and len(value) > most:
                yield Fault(path, "value", f"the text is longer than {most:,} characters")
        case inspect.FloatType() if not math.isfinite(value):
            yield Fault(path, "value", "the number is too large")
        case inspect.IntType(ge=least) if least is not None and value < least:
            yield Fault(path, "value", f"expected a whole number of {least} or more, got {value}")


def _of_union(value: Any, forms: Sequence[inspect.Type], path: str) -> Iterator[Fault]:
    """Compare with those forms that take a value of this kind; the first fault of the nearest is told."""
    tagged = [form for form in forms if isinstance(form, inspect.StructType) and form.tag_field]
    if tagged and isinstance(value, dict):
        field = str(tagged[0].tag_field)
        chosen = [form for form in tagged if form.tag == value.get(field)]
        if field not in value:
            yield Fault(path, "missing", f'the key "{field}" is missing')
        elif not chosen:
            words = ", ".join(str(form.tag) for form in tagged)
            yield Fault(f"{path}.{field}", "choice", f'"{value[field]}" is not one of {words}')
        else:
            yield from _faults(value, chosen[0], path)
        return
    near = [form for form in forms if _takes(form, value)]
    if not near:
        names = dict.fromkeys(_name_of(form) for form in forms if not isinstance(form, inspect.NoneType))
        yield Fault(path, "value", f"expected {' or '.join(names)}, got {_name_of_value(value)}")
        return
    found = [next(_faults(value, form, path), None) for form in near]
    if None not in found and found[0] is not None:
        yield found[0]


def _of_table(value: Mapping[str, Any], form: Any, path: str) -> Iterator[Fault]:
    fields = {field.encode_name: field for field in form.fields}
    tag = getattr(form, "tag_field", None)
    for key, held in value.items():
        if key in fields:
            yield from _faults(held, fields[key].type, f"{path}.{key}")
        elif key != tag and getattr(form, "forbid_unknown_fields", False):
            near = get_close_matches(key, fields, n=1)
            hint = f'did you mean "{near[0]}"?' if near else f"keys: {', '.join(fields)}"
            yield Fault(path, "key", f'there is no key "{key}": {hint}')
    for key, field in fields.items():
        if field.required and key not in value:
            yield Fault(path, "missing", f'the key "{key}" is missing')


def _takes(form: inspect.Type, value: Any) -> bool:
    """Tell whether a form takes values of this kind, be they right or wrong in it."""
    if isinstance(form, inspect.Metadata):
        return _takes(form.type, value)
    if isinstance(form, inspect.AnyType):
        return True
    if isinstance(value, bool):
        return isinstance(form, inspect.BoolType)
    if isinstance(value, float) and value.is_integer() and isinstance(form, inspect.IntType):
        return True
    return any(isinstance(value, kinds) and isinstance(form, forms) for kinds, forms, _ in _NAMES)


def _name_of(form: inspect.Type) -> str:
    inner = form.type if isinstance(form, inspect.Metadata) else form
    return next((name for _, forms, name in _NAMES if isinstance(inner, forms)), "a value")


def _name_of_value(value: Any) -> str:
    return next((name for kinds, _, name in _NAMES if isinstance(value, kinds)), "a value")


def json_fault(data: bytes, form: Any, error: Exception) -> Fault:
    """Find the first fault of a JSON file that its reader refused; the error's words where none is found."""
    try:
        fault = form_fault(json.loads(data), form)
    except (ValueError, RecursionError):  # a number of thousands of digits, brackets in thousands of brackets
        fault = None
    if fault is not None:
        return fault
    said, path = fault_of(str(error))  # a value's own refusal
    return Fault(path, "value", said)


def doubled_keys(data: bytes) -> list[str]:
    """Return the keys of a JSON file that stand twice in one object: readers keep the last alone (RFC 8259, section 4).

    Examples
    --------
    >>> doubled_keys(b'{"runs": [{"id": 1}, {"id": 2}], "runs": []}')
    ['runs']
    """
    found: list[str] = []

    def see(pairs: list[tuple[str, Any]]) -> None:
        keys = [key for key, _ in pairs]
        if len(set(keys)) < len(keys):
            found.extend(key for key in dict.fromkeys(keys) if keys.count(key) > 1)

    json.loads(data, object_pairs_hook=see)
    return found


def not_json(data: bytes) -> str:
    """Say why a file is not JSON in UTF-8, and at which line and column.

    Examples
    --------
    >>> not_json(b'{"a": }')
    'line 1, column 7: "}" does not belong here'
    """
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "it is written in UTF-16: save it as UTF-8"
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
        return f"line {line} has a character that is not UTF-8: save it as UTF-8"
    if not text.strip():
        return "it is empty"
    try:
        json.loads(text, strict=True)
    except json.JSONDecodeError as fault:
        rest = text[fault.pos :].strip()
        if not rest or (rest[0] == '"' and rest.count('"') == 1):
            return "it ends early: a bracket, brace or quotation mark is not closed"
        found = text[fault.pos]
        named = f'"{found}"' if found.isprintable() else "a line break or control character"
        return f"line {fault.lineno}, column {fault.colno}: {named} does not belong here"
    except RecursionError:
        return "its brackets are nested too deep"
    return "it holds a number or a character that JSON does not have"


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

    ``name``: what the file is called; may be empty.
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


LONGEST_KEY = 20
"""Parts of a key; the reader's work grows with their square."""
LONGEST_NUMBER = 30
"""Digits of a number."""


def read_toml(data: bytes) -> dict[str, Any]:
    """Read a TOML file in UTF-8.

    Raises `InputError` when it is not TOML or not UTF-8, or its keys, numbers or brackets go beyond what any file of a
    person has.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError("it is not UTF-8 text", remedy="Save it as UTF-8.") from error
    for line, words in enumerate(text.splitlines(), start=1):
        key = words.split("=", 1)[0]
        if key.count(".") >= LONGEST_KEY:
            raise InputError(f"line {line} has a key of {key.count('.') + 1:,} parts", remedy="Correct the line.")
        if re.search(rf"\d{{{LONGEST_NUMBER},}}", words):
            raise InputError(f"line {line} has a number of more than {LONGEST_NUMBER} digits", remedy="Correct it.")
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise InputError("its brackets are nested too deep", remedy="Correct the file.") from error
    except ValueError as error:
        raise InputError(f"it is not TOML: {error}", remedy="Correct the line named.") from error
