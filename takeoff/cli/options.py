"""Arguments and options that several commands share, and reading what is typed in them."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from takeoff.errors import InputError
from takeoff.report.kinds import KINDS

if TYPE_CHECKING:
    from takeoff.model.plan import Sheet
    from takeoff.model.systems import Catalogue

MOST_CREWS = 1000
"""Crews that a plan of days may have."""
Units = Literal["imperial", "metric"]


def arg(metavar: str, help: str, *, show_default: bool = False) -> Any:
    """Declare an argument; the help shows its default only where that is asked for."""
    return typer.Argument(metavar=metavar, help=help, show_default=show_default)


def opt(flag: str, metavar: str | None, help: str, *, show_default: bool = False, **more: Any) -> Any:
    """Declare an option; the help shows its default only where that is asked for."""
    return typer.Option(flag, metavar=metavar, help=help, show_default=show_default, **more)


def flag(name: str, help: str, **more: Any) -> Any:
    """Declare an option that takes no value."""
    return opt(name, None, help, **more)


JobPath = Annotated[Path, arg("JOB", "The job file.")]
Plans = Annotated[list[Path] | None, arg("FILE", "Plan files: PDF, PNG, JPEG, TIFF or DXF.")]
MorePlans = Annotated[list[Path] | None, opt("--plan", "FILE", "A plan file, as FILE. Repeat for more.")]
SheetText = Annotated[str, arg("SHEET", "Position in the register (1) or sheet number (A-101).")]
AsJson = Annotated[bool, flag("--json", "Write JSON to stdout, nothing else.")]
Explain = Annotated[bool, flag("--explain", "Show how each figure came about.")]
CatalogueFile = Annotated[
    Path | None,
    opt("--catalogue", "FILE.toml", "Price with the systems, products and rates of this file instead of the job's."),
]


def plan_paths(plans: list[Path] | None, more: list[Path] | None) -> list[Path]:
    """Return the plan files that were named, with ``--plan`` and without."""
    return [*(more or ()), *(plans or ())]


RULE_NAMES = (
    "exact-net, is1200-13, is1200-13-narrow, is1200-13-both, din18363, smm7, nrm2, us-7-yards, us-half, us-third"
)
"""Names of the measuring rules, written out so that help loads no geometry; a test compares them with the rules."""


def with_kinds(command: Callable[..., int]) -> Callable[..., int]:
    """Give a command one flag for each kind of report in place of its parameter ``kinds``, which gets those given."""
    flags = {kind.name: (Annotated[bool, flag(f"--{kind.name}", kind.summary)], False) for kind in KINDS}
    return with_options("kinds", flags, lambda given: tuple(kind for kind in KINDS if given[kind.name]))(command)


def option(kind: Any, flag: str, metavar: str | None, help: str, default: Any = None, **more: Any) -> tuple[Any, Any]:
    """Make an option that is left out unless it is given, or has a default, which is shown."""
    declared = opt(flag, metavar, help, show_default=default is not None, **more)
    return Annotated[kind | None if default is None else kind, declared], default


def with_options(
    name: str, options: Mapping[str, tuple[Any, Any]], gather: Callable[[dict[str, Any]], Any]
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Give a command these options (annotation, default) in place of a parameter, which gets what ``gather`` makes."""

    def give(command: Callable[..., Any]) -> Callable[..., Any]:
        signature = inspect.signature(command, eval_str=True)

        @functools.wraps(command)
        def run(**given: Any) -> Any:
            mine = {option: given.pop(option) for option in options}
            return command(**{name: gather(mine)}, **given)

        parameters: list[inspect.Parameter] = []
        for parameter in signature.parameters.values():
            if parameter.name == name:
                parameters += [
                    inspect.Parameter(option, parameter.kind, annotation=annotation, default=default)
                    for option, (annotation, default) in options.items()
                ]
            else:
                parameters.append(parameter)
        run.__signature__ = signature.replace(parameters=parameters)  # type: ignore[attr-defined]
        run.__annotations__ = {p.name: p.annotation for p in parameters}
        return run

    return give


def catalogue_in(file: Path | None) -> Catalogue | None:
    """Read the catalogue of ``--catalogue``; none where the job's own is to be used."""
    from takeoff.exchange.catalogue_file import read_catalogue

    return None if file is None else read_catalogue(file)


def read_point(text: str) -> tuple[float, float]:
    """Read a sheet point X,Y.

    Examples
    --------
    >>> read_point("72,90.5")
    (72.0, 90.5)
    """
    parts = text.split(",")
    try:
        x, y = (float(part) for part in parts)
    except ValueError as error:
        raise InputError(f'"{text}" is not a point', remedy="Write sheet points as X,Y such as 72,90.5.") from error
    return (x, y)


AsShown = Annotated[bool, flag("--as-shown", "Points are of the page as it is shown, also where it is turned.")]
"""In which frame points are given: of the page as shown, or unrotated."""


def points_of(sheet: Sheet, points: Iterable[tuple[float, float]], *, as_shown: bool) -> list[tuple[float, float]]:
    """Return sheet points; those of the page as shown are turned back."""
    from takeoff.sheet.frame import displayed_to_sheet

    return [displayed_to_sheet(sheet, *point) if as_shown else point for point in points]


def read_points(text: str) -> tuple[tuple[float, float], ...]:
    """Read sheet points parted by spaces."""
    return tuple(read_point(word) for word in text.split())
