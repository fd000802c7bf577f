"""Every example in a docstring of the program gives what it says."""

from __future__ import annotations

import doctest
import importlib
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "takeoff"
TEXTS = {path: path.read_text(encoding="utf-8") for path in sorted(PACKAGE.rglob("*.py"))}
EXAMPLES = {
    ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts).removesuffix(".__init__"): text.count(">>> ")
    for path, text in TEXTS.items()
    if ">>> " in text
}
"""How many examples each module has that has any."""


@pytest.mark.parametrize("module", EXAMPLES)
def test_every_example_of_a_module_is_tried_and_gives_what_it_says(module: str) -> None:
    tried = doctest.testmod(importlib.import_module(module), optionflags=doctest.ELLIPSIS)
    assert tried == doctest.TestResults(0, EXAMPLES[module])
