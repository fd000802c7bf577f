"""Every public method of the window says what it does, itself or where it is first declared."""

import ast
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import takeoff.gui

FOLDER = Path(takeoff.gui.__file__).parent
CLASSES = {
    node.name: node
    for path in FOLDER.rglob("*.py")
    for node in ast.parse(path.read_text(encoding="utf-8")).body
    if isinstance(node, ast.ClassDef)
}
HOSTS = {"DeskWindow": "Host", "ToolHand": "Host", "Viewing": "Host", "IssueReview": "Reviewing"}
"""Classes that do what a protocol declares, and are no subclass of it."""


def above(node: ast.ClassDef) -> Iterator[ast.ClassDef]:
    """A class, and those that it is made of."""
    yield node
    bases = [base.value if isinstance(base, ast.Subscript) else base for base in node.bases]
    names = [base.id for base in bases if isinstance(base, ast.Name)] + [HOSTS.get(node.name, "")]
    names += [base.attr for base in bases if isinstance(base, ast.Attribute)]
    for name in names:
        if name in CLASSES:
            yield from above(CLASSES[name])


def methods(node: ast.ClassDef) -> list[ast.FunctionDef]:
    """Methods of a class that others may call."""
    return [part for part in node.body if isinstance(part, ast.FunctionDef) and not part.name.startswith("_")]


def described(node: ast.ClassDef) -> set[str]:
    """Methods of a class that say what they do, and functions that it declares as attributes with what they do."""
    declared = {
        part.target.id
        for part, after in pairwise(node.body)
        if isinstance(part, ast.AnnAssign) and isinstance(part.target, ast.Name)
        if isinstance(after, ast.Expr) and isinstance(after.value, ast.Constant)
    }
    return declared | {method.name for method in methods(node) if ast.get_docstring(method)}


def test_every_public_method_is_described_where_it_is_declared():
    silent = []
    for name, node in CLASSES.items():
        if name.startswith("_"):
            continue
        told = {name for one in above(node) for name in described(one)}
        silent += [f"{name}.{method.name}" for method in methods(node) if method.name not in told]
    assert len(CLASSES) > 80
    assert silent == []
