"""The command order: what to order, delivery by delivery."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from takeoff import actions
from takeoff.cli.as_json import dump
from takeoff.cli.opening import opened
from takeoff.cli.options import AsJson, CatalogueFile, JobPath, catalogue_in, read_date
from takeoff.cli.rim import say_file, told
from takeoff.cli.show import nothing_yet, show_table


def order(
    job: JobPath,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="FILE", help="Write it to order.csv or order.xlsx.", show_default=False),
    ] = None,
    start: Annotated[
        str,
        typer.Option(
            "--start", metavar="DATE", help="First day. Not given: that of the kept terms.", show_default=False
        ),
    ] = "",
    catalogue: CatalogueFile = None,
    as_json: AsJson = False,
) -> None:
    """Print what to order, delivery by delivery: packs, product codes, when it is needed and when to order it."""
    from takeoff.report.order_list import order_table

    chosen = catalogue_in(catalogue)
    with opened(job) as store:
        value = store.job
    priced = actions.make_estimate(value, catalogue=chosen)
    if not as_json and nothing_yet(value, job, "to order"):
        return
    first: date | None = read_date(start) if start else None
    lines = actions.order_lines(value, priced, start=first)
    if out is not None:
        told(f"Wrote {actions.write_order(value, lines, out)}")
    if as_json:
        say_file(dump({"schema": "takeoff.order/1", "lines": [asdict(line) for line in lines]}))
    elif out is None:
        show_table(order_table(lines))
