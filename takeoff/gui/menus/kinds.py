"""Kinds of commands, and when they can be run."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from takeoff.gui.dialogs.common import open_once
from takeoff.gui.host import Command, Host
from takeoff.gui.session import Session


def has_job(host: Host) -> bool:
    """Whether a job is open."""
    return host.session is not None


def has_selection(host: Host) -> bool:
    """Whether a wall is selected."""
    return host.session is not None and bool(host.session.selection.runs)


def has_corner(host: Host) -> bool:
    """Whether a point of a wall is selected."""
    return host.session is not None and host.session.selection.vertex is not None


def has_opening(host: Host) -> bool:
    """Whether an opening is selected."""
    return host.session is not None and host.session.selection.opening is not None


def has_two(host: Host) -> bool:
    """Whether two walls are selected."""
    return host.session is not None and len(host.session.selection.runs) == 2


def can_undo(host: Host) -> bool:
    """Whether there is a step of the tool or an edit to undo."""
    has_steps = host.tool is not None and host.tool.has_steps
    return host.session is not None and (has_steps or host.session.store.can_undo)


def can_redo(host: Host) -> bool:
    """Whether there is an edit to redo."""
    return host.session is not None and host.session.store.can_redo


def always(host: Host) -> bool:
    """Whatever is open."""
    return True


def tool_command(id: str, label: str, key: str, help: str) -> Command:
    """Return the command that takes a tool."""
    return Command(
        id=f"tool-{id}",
        menu="Tools",
        label=label,
        keys=(key.lower(),),
        key_text=key,
        help=help,
        run=lambda host: host.use_tool(id),
    )


def edit_command(
    id: str,
    label: str,
    work: Callable[[Session], object],
    keys: tuple[str, ...],
    key_text: str,
    help: str,
    is_enabled: Callable[[Host], bool] = has_selection,
    first: str = "select a wall first",
) -> Command:
    """Return a command on what is selected."""

    def run(host: Host) -> None:
        if host.session is not None:
            work(host.session)
            host.paint()

    return Command(
        id=id,
        menu="Edit",
        label=label,
        keys=keys,
        key_text=key_text,
        help=help,
        run=run,
        is_enabled=is_enabled,
        first=first,
    )


def view_command(
    id: str,
    label: str,
    work: Callable[[Host], object],
    keys: tuple[str, ...],
    key_text: str,
    help: str,
    *,
    is_enabled: Callable[[Host], bool] = has_job,
) -> Command:
    """Return a command on what is seen."""
    return Command(
        id=id, menu="View", label=label, keys=keys, key_text=key_text, help=help, run=work, is_enabled=is_enabled
    )


def dialog_command(
    id: str,
    menu: str,
    label: str,
    make: Callable[[Host], object],
    keys: tuple[str, ...],
    key_text: str,
    help: str,
    *,
    is_always: bool = False,
) -> Command:
    """Return the command that opens a dialog."""
    return Command(
        id=id,
        menu=menu,
        label=label,
        keys=keys,
        key_text=key_text,
        help=help,
        run=partial(open_once, make=make),
        is_enabled=always if is_always else has_job,
    )
