"""The commands of ``takeoff``."""

from __future__ import annotations

import functools
from typing import Annotated, Any

import typer

from takeoff.cli import (
    changing,
    check,
    figures,
    jobs,
    reports,
    revise,
    site,
    trace,
)
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

app.command("demo")(reports.demo)
app.command("open")(jobs.open_window)
app.command("new")(jobs.new)
app.command("add")(jobs.add)
app.command("draft")(changing.draft)
app.command("sheets")(jobs.sheets)
app.command("scale", cls=PointsCommand)(jobs.scale)
app.command("trace")(trace.trace)
app.command("style")(trace.style)
app.command("finishes")(check.finishes)
app.command("apply")(jobs.apply)
app.command("measure")(figures.measure)
app.command("estimate")(figures.estimate)
app.command("points")(figures.points)
app.command("questions")(figures.questions)
app.command("report")(reports.report)
app.command("revise", cls=PointsCommand)(revise.revise)
app.command("check")(check.check)
app.command("schema")(figures.schema)
app.command("catalogue")(figures.catalogue)
app.command("export")(reports.export_job)
app.command("import")(reports.import_job)
app.command("settings")(changing.settings)
app.command("room")(changing.room)
app.command("remove")(changing.remove)
app.command("undo")(jobs.undo)
app.command("redo")(jobs.redo)
app.command("history")(jobs.history)
app.command("copy")(jobs.copy)
app.command("rescue")(jobs.rescue)
app.command("person")(changing.person)
app.command("days")(reports.days)
app.command("terms")(site.terms)
app.command("cut")(reports.cut)
app.command("order")(reports.order)
app.command("use")(site.use)
app.command("site")(site.site)
app.command("log")(site.log)
app.command("hours")(site.hours)
app.command("progress")(site.progress)


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
    return typer.main.get_command(app)
