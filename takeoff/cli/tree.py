"""The commands of ``takeoff``."""

from __future__ import annotations

import functools
from typing import Annotated, Any

import typer

from takeoff.cli import changing, check, figures, jobs, reports, revise, site, trace
from takeoff.cli.options import flag
from takeoff.cli.rim import PointsCommand, WholeSummaries, say

app = typer.Typer(
    name="takeoff",
    cls=WholeSummaries,
    help="Quantities and prices of resinous wall systems from floor plans.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)

COMMANDS = (
    reports.demo, jobs.open_window, jobs.new, jobs.add, changing.draft, jobs.sheets, jobs.scale, trace.trace,
    trace.style, check.finishes, jobs.apply, figures.measure, figures.estimate, figures.points, figures.questions,
    reports.report, revise.revise, check.check, figures.schema, figures.catalogue, reports.export_job,
    reports.import_job, changing.settings, changing.room, changing.remove, jobs.undo, jobs.redo, jobs.history,
    jobs.copy, jobs.rescue, changing.person, reports.days, site.terms, reports.cut, reports.order, site.use,
    site.site, site.log, site.hours, site.progress,
)  # fmt: skip
"""Every command in the order of the help, called by the first word of its function."""
for _command in COMMANDS:
    _takes_points = _command in (jobs.scale, revise.revise)
    app.command(_command.__name__.partition("_")[0], cls=PointsCommand if _takes_points else None)(_command)


def _version(is_asked: bool) -> None:
    if is_asked:
        from importlib.metadata import PackageNotFoundError, version  # half as much again to load as all commands

        try:
            say(f"takeoff {version('takeoff')}")
        except PackageNotFoundError:
            say("takeoff, not installed")
        raise typer.Exit()


@app.callback()
def _main(
    version: Annotated[
        bool, flag("--version", "Print the version and stop.", callback=_version, is_eager=True)
    ] = False,
    debug: Annotated[bool, flag("--debug", "Print the traceback of an error too.")] = False,
) -> None:
    """Quantities and prices of resinous wall systems from floor plans."""


@functools.cache
def command() -> Any:
    """The tree of commands: to build it takes longer than many a command."""
    tree = typer.main.get_command(app)
    for one in getattr(tree, "commands", {}).values():
        for parameter in one.params:
            if parameter.param_type_name == "argument":  # a name such as FILE says more than list[Path]
                parameter.display_type_rich = lambda ctx: ""
    return tree
