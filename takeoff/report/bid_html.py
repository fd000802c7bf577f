"""The bid as one HTML file that needs no network."""

from __future__ import annotations

from dataclasses import replace

from takeoff.report.bid import Bid
from takeoff.report.html import html_elevations, html_plan, html_table, logo_address, render
from takeoff.report.html_links import Places, RowPlaces, drawn_marks
from takeoff.report.tables import Table


def bid_html(bid: Bid) -> bytes:
    """Make a bid as one HTML file, UTF-8."""
    row_of = {run: f"scope-{i}" for i, runs in enumerate(bid.scope_runs) for run in runs}
    places = Places.of(bid)
    places = replace(places, figures={run: row_of.get(run, "scope") for run in places.figures})
    in_scope = [
        RowPlaces(id=f"scope-{i}", marks=drawn_marks(runs, bid, places)) for i, runs in enumerate(bid.scope_runs)
    ]
    head = bid.letterhead
    return render(
        "bid.html.jinja",
        job=bid.job,
        date=bid.date,
        company=head.company,
        logo=logo_address(head.logo),
        prepared_by=head.prepared_by,
        headline=bid.headline,
        scales=bid.scales,
        tables=[html_table(t, in_scope if t is bid.scope else _nowhere(t)) for t in bid.tables()],
        build_up=[html_table(replace(t, id=f"build-up-{i}"), _nowhere(t)) for i, t in enumerate(bid.build_up)],
        lists=(
            ("not-included", "What is not included", bid.exclusions),
            ("qualifications", "Qualifications", bid.qualifications),
            ("safety", "Safety", bid.cautions),
        ),
        plans=[html_plan(bid, picture, places) for picture in bid.pictures],
        elevations=html_elevations(bid, places),
    )


def _nowhere(table: Table) -> list[RowPlaces]:
    """Rows that no place on a plan goes with."""
    return [RowPlaces()] * len(table.rows)
