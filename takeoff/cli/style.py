"""The command that shows the program how walls, doors and windows are drawn: style."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from takeoff import actions
from takeoff.cli.as_json import dump
from takeoff.cli.options import AsJson, JobPath, SheetText, read_point
from takeoff.cli.rim import say_file, told
from takeoff.cli.show import progress
from takeoff.errors import InputError
from takeoff.signing import now, person

if TYPE_CHECKING:
    from takeoff.actions.drafting import DrawnSheet
    from takeoff.job.store import JobStore
    from takeoff.model.drafting import DraftingStyle, Part

_SHOWN = 20
"""Looks that the list shows: those that are drawn longest."""


def _shown(option: str, what: str) -> Any:
    return typer.Option(
        option, metavar="X,Y|N", show_default=False, help=f"A sheet point on {what}, or its number in the list. Repeat."
    )


def style(
    job: JobPath,
    sheet: SheetText,
    wall: Annotated[list[str], _shown("--wall", "a wall")] = [],  # noqa: B006 - typer copies it
    door: Annotated[list[str], _shown("--door", "a door")] = [],  # noqa: B006
    window: Annotated[list[str], _shown("--window", "a window")] = [],  # noqa: B006
    other: Annotated[list[str], _shown("--not", "what is no wall, door or window")] = [],  # noqa: B006
    name: Annotated[str, typer.Option(metavar="NAME", help="The style's name.")] = "office",
    remove: Annotated[bool, typer.Option("--remove", help="Remove the style of this name.")] = False,
    source: Annotated[
        str, typer.Option("--from", metavar="JOB", help="Take the styles of another job.", show_default=False)
    ] = "",
    propose: Annotated[
        bool,
        typer.Option("--propose", help="Show the style that a sheet is read by without help, and how sure it is."),
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Show how walls, doors and windows are drawn; without options list what is drawn alike on a sheet."""
    from takeoff.actions import drafting

    shown: list[tuple[Part, str]] = [
        *(("wall", text) for text in wall),
        *(("door", text) for text in door),
        *(("window", text) for text in window),
        *(("other", text) for text in other),
    ]
    with actions.open_job(job) as store:
        which = actions.find_sheet(store.job, sheet)
        if remove:
            drafting.remove_style(store, name, who=person(), when=now())
            told(f"Removed the drafting style {name}.")
            return
        drawn = drafting.read_drawn_sheet(store, which.id)
        if source:
            for taken in _styles_of(source):
                drafting.keep_style(store, taken, who=person(), when=now())
                fits = "it fits this sheet" if drawn.fits(taken) else "it does not fit this sheet"
                told(f"Took the drafting style {taken.name}: {fits}.")
            return
        if shown:
            made = _made(drawn, shown, name, store.job.styles.get(name))
            drafting.keep_style(store, made, who=person(), when=now())
            told(f"Kept the drafting style {name}. Sheets that it fits are traced by it.")
            for line in drafting.style_words(made):
                told(f"  {line}")
            return
        styles = list(store.job.styles.values())
        proposed = _proposed(store, which.id, name) if propose else None
    if propose and proposed is None:
        told("No style can be proposed: no rooms were found on the sheet's lines. Show a wall with --wall X,Y.")
    _list(drawn, styles, proposed, as_json=as_json)


def _proposed(store: JobStore, sheet: int, name: str) -> tuple[DraftingStyle, float] | None:
    """Read a sheet without help: the style that it was read by, and how sure it is."""
    from takeoff.actions.drafting import proposed_style
    from takeoff.actions.traced_sheets import read_sheet_trace

    with progress("Tracing"):
        read = read_sheet_trace(store, sheet)
    return proposed_style([plan for _, _, plan in read.parts], name)


def _made(drawn: DrawnSheet, shown: list[tuple[Part, str]], name: str, start: DraftingStyle | None) -> DraftingStyle:
    """Make a style of what is shown, by points and by numbers of the list."""
    from takeoff.actions.drafting import AS_WALLS, with_look
    from takeoff.model.drafting import DraftingStyle

    looks = drawn.looks()
    style = start or DraftingStyle(name=name, walls=())
    for part, text in shown:
        if not text.isdecimal():
            look = drawn.look_shown(read_point(text))
        elif 1 <= int(text) <= len(looks):
            look = looks[int(text) - 1].look
        else:
            raise InputError(f"there is no number {text} in the list", remedy=f"Take one of 1 to {len(looks)}.")
        style = with_look(style, part, look)
        if part in ("door", "window") and look in style.walls:
            told(f"The {part} at {text}: {AS_WALLS}.")
    return style


def _styles_of(path: str) -> list[DraftingStyle]:
    from pathlib import Path

    with actions.open_job(Path(path)) as other:
        return list(other.job.styles.values())


def _list(
    drawn: DrawnSheet, styles: list[DraftingStyle], proposed: tuple[DraftingStyle, float] | None, *, as_json: bool
) -> None:
    """List what is drawn alike on a sheet, the job's styles, and the one that is proposed."""
    from takeoff.actions.drafting import style_words
    from takeoff.trace.drawing.looks import in_words

    looks = drawn.looks()
    if as_json:
        rows = [
            {"number": i, "words": in_words(one.look), "count": one.paths, "length_pt": one.length_pt,
             "at": list(one.sample[0][0]) if one.sample else None}
            for i, one in enumerate(looks, start=1)
        ]  # fmt: skip
        kept = [{"name": one.name, "fits": drawn.fits(one), "parts": style_words(one)} for one in styles]
        told_json: dict[str, Any] = {"schema": "takeoff.style/1", "looks": rows, "styles": kept}
        if proposed is not None:
            told_json["proposed"] = {"parts": style_words(proposed[0]), "sure": proposed[1]}
        say_file(dump(told_json))
        return
    for i, one in enumerate(looks[:_SHOWN], start=1):
        at = f", for example at {one.sample[0][0][0]:.0f},{one.sample[0][0][1]:.0f}" if one.sample else ""
        told(f"{i:3d}  {in_words(one.look)}: {one.paths} drawn{at}")
    for kept_style in styles:
        told(f"Drafting style {kept_style.name}{'' if drawn.fits(kept_style) else ', does not fit this sheet'}:")
        for line in style_words(kept_style):
            told(f"  {line}")
    if proposed is not None:
        told(f"Proposed drafting style, by which the outlines of {proposed[1]:.0%} of the rooms are sure:")
        for line in style_words(proposed[0]):
            told(f"  {line}")
