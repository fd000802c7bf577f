"""One word for one thing: what docs/words.md says is never said stands in no text that a person can meet."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
TOP = ROOT / "takeoff"
PEOPLE = sorted(path.name for path in TOP.iterdir() if path.suffix == ".py" or (path / "__init__.py").exists())
"""Every part of the program: what is refused or told deep down is read by people as well."""
ROW = re.compile(r"^\| (?P<word>[^|]+) \| [^|]* \| (?P<never>[^|]*) \|$", re.MULTILINE)
CLICKED = re.compile(
    r"\bpress(?:es|ed)? (?:a|an|the|its|both|on|inside|in the middle|(?:more )?(?:points|corners|walls))\b(?! key)",
    re.IGNORECASE,
)
"""What is done with the mouse and is called pressing."""
HARD = re.compile(
    r"\b(?:bears? (?:\w+ ){0,3}out|all the same|likewise|mind the|less what|counted from 0|for want of|altered|anew|"
    r"by turns|(?:priced|charged|agreed) apart|"
    r"may be given again|is open to be read|less than nothing)\b|[;,] [^.,;:]+ without (?:it|one)\.$",
    re.IGNORECASE,
)
"""Turns of English that somebody who learned it at work does not know, or that say a thing from behind."""
RUN = re.compile(r"\b(?:the|a|an open|closed|two|selected|each|every|which|this|your|of|on|no) runs?\b", re.IGNORECASE)
FILES = (
    "takeoff/exchange/edits_",
    "edits-file.md",
    "job-file.md",
    "design.md",
    "words.md",
    "extend.md",
    "wall-network.md",
)
"""Where files and code are spoken of: there a wall is a run."""
FIELDS = re.compile(r"[\w./-]+|[^a-z]*")
"""Texts that are names or signs and no words."""


def words_never_said():
    """Words that the glossary has under "never"."""
    page = (ROOT / "docs" / "words.md").read_text(encoding="utf-8")
    return [w for row in ROW.finditer(page) for w in row["never"].strip().split(", ") if w and row["word"] != "word"]


@cache
def texts(part):
    """Every text in a part of the program that is no docstring, with where it stands."""
    top = ROOT / "takeoff" / part
    kept = []
    for path in [top] if top.suffix else sorted(top.rglob("*.py")):
        nodes = list(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))
        is_help = part == "cli"  # there the docstrings of commands are their help
        notes = {
            id(node.value)
            for node in nodes
            if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and not is_help
        }
        for node in nodes:
            is_text = isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in notes
            if is_text and not FIELDS.fullmatch(node.value):
                kept.append((f"{path.relative_to(ROOT)}:{node.lineno}", node.value))
    return kept


def found(pattern, part):
    return [f"{where}: {text}" for where, text in texts(part) if pattern.search(text)]


def test_the_glossary_names_words_that_are_never_said():
    never = words_never_said()
    assert {"vertex", "new issue", "closer in"} <= set(never)


def words_to_search():
    return re.compile(rf"\b(?:{'|'.join(re.escape(word) for word in words_never_said())})\b", re.IGNORECASE)


SEARCHED = {
    "a word that the glossary replaces": (words_to_search(), ("Take in a new issue",), ()),
    "clicking that is called pressing": (CLICKED, ("Press a wall to select it",), ("Press S, then click both ends",)),
    "a turn that people at work do not know": (
        HARD,
        ("nothing bears the note out", "Paper of the PDF; that of the job without it."),
        ("Walls without a system",),
    ),
    "a run where a wall is meant": (RUN, ("Join two runs",), ()),
}
"""What no text of the program says: how it is found, where it is found, and where it is not."""


@pytest.mark.parametrize("part", PEOPLE)
@pytest.mark.parametrize("kind", SEARCHED)
def test_no_text_says(kind, part):
    pattern, said, unsaid = SEARCHED[kind]
    assert all(map(pattern.search, said))
    assert not any(map(pattern.search, unsaid))
    in_files = FILES if pattern is RUN else ()
    assert [line for line in found(pattern, part) if not line.startswith(in_files)] == []


def test_the_pages_for_people_say_wall_and_never_run():
    pages = [path for path in sorted((ROOT / "docs").glob("*.md")) if path.name not in FILES]
    lines = [line for page in pages for line in page.read_text(encoding="utf-8").splitlines()]
    assert [line for line in lines if RUN.search(line) and "$.runs" not in line] == []


def test_the_pages_of_the_docs_use_the_same_words_and_no_hard_turns():
    never = words_to_search()
    pages = [path for path in sorted((ROOT / "docs").glob("*.md")) if path.name != "words.md"]
    lines = [
        f"{path.name}:{number}: {line.strip()}"
        for path in pages
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if never.search(line) or HARD.search(line)
    ]
    assert lines == []
