"""Write the tables of commands, options and keys into the pages: ``python docs/make_tables.py``.

A table stands between ``<!-- table: NAME -->`` and ``<!-- end -->``; the rest of a page is written by hand.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))


from takeoff.cli.tree import command
from takeoff.gui.commands import COMMANDS
from takeoff.gui.dialogs.job_dialogs import OTHER_KEYS
from takeoff.measure.rules import RULES

DOCS = Path(__file__).parent
MARK = re.compile(r"<!-- table: ([\w-]+) -->\n.*?<!-- end -->", re.DOTALL)
DEFAULT = re.compile(r"\s*\[(required|default: [^\]]*)\]$")
SHARED = ("--help", "--install-completion", "--show-completion")
"""Options that every command, or the program alone, has; commands.md explains them once."""


def cell(text: str) -> str:
    """Make a text fit for one cell of a table."""
    return " ".join(text.split()).replace("|", "\\|")


def table(head: tuple[str, ...], rows: list[tuple[str, ...]]) -> str:
    """Write a table in Markdown."""
    lines = [" | ".join(head), " | ".join("---" for _ in head), *(" | ".join(cell(c) for c in row) for row in rows)]
    return "\n".join(f"| {line} |" for line in lines)


def commands() -> dict[str, Any]:
    """Return the program's commands by name."""
    return dict(command().commands)


def parameters(command: Any) -> list[tuple[str, str, str]]:
    """Return every argument and option of a command: how it is written, its default, what it does."""
    context = command.make_context("takeoff", [], resilient_parsing=True)
    rows = []
    for parameter in command.params:
        record = parameter.get_help_record(context)
        if record is None or set(parameter.opts) & set(SHARED):
            continue
        written, text = record
        found = DEFAULT.search(text)
        default = found[1] if found else ""
        shown = "needed" if default == "required" else f"`{default.removeprefix('default: ')}`" if default else ""
        rows.append((f"`{written}`", shown, DEFAULT.sub("", text)))
    return rows


def command_list() -> str:
    """Table of all commands."""
    rows = [(f"[`{name}`](#{name})", command.get_short_help_str(limit=300)) for name, command in commands().items()]
    return table(("command", "what it does"), rows)


def options_of(name: str) -> str:
    """Table of one command's arguments and options."""
    return table(("argument or option", "default", "what it is"), parameters(commands()[name]))


def window_commands() -> str:
    """Table of the window's commands by menu."""
    rows = [(c.menu, c.label.rstrip("…"), f"`{c.key_text}`" if c.key_text else "", c.help) for c in COMMANDS]
    return table(("menu", "command", "key", "what it does"), rows)


def other_keys() -> str:
    """Table of keys that are no commands."""
    return table(("key or gesture", "what it does"), [(f"`{key}`", what) for key, what in OTHER_KEYS])


def rule_list() -> str:
    """Table of the measuring rules."""
    return table(("name", "in one sentence", "source"), [(f"`{r.name}`", r.summary, r.source) for r in RULES.values()])


def made(name: str) -> str:
    """Return the table of this name."""
    tables: dict[str, Callable[[], str]] = {
        "commands": command_list,
        "window-commands": window_commands,
        "other-keys": other_keys,
        "rules": rule_list,
    }
    return tables[name]() if name in tables else options_of(name.removeprefix("options-"))


def with_tables(page: str) -> str:
    """Return a page with its tables as they are now."""
    return MARK.sub(lambda found: f"<!-- table: {found[1]} -->\n{made(found[1])}\n<!-- end -->", page)


if __name__ == "__main__":
    for path in sorted(DOCS.glob("*.md")):
        before = path.read_text(encoding="utf-8")
        after = with_tables(before)
        if after != before:
            path.write_text(after, encoding="utf-8")
