"""The printed editions, set by typst from data: no text of the job is ever read as markup."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from takeoff.report.arithmetic import group_arithmetic
from takeoff.report.bid import Bid
from takeoff.report.bill import bill
from takeoff.report.build_up import build_up_tables
from takeoff.report.content import ReportContent, Shown
from takeoff.report.foreman import Foreman
from takeoff.report.planning_pictures import tornado_svg
from takeoff.report.planning_tables import planning_tables
from takeoff.report.printing import printed, printed_table, put_pages, set_pages
from takeoff.report.tables import price_table


def report_data(content: ReportContent) -> dict[str, Any]:
    """Everything that the printed and the one-file report show alike, as texts."""
    total, u = content.by_room.total.quantities, content.by_room.total.u
    d, e = content.display, content.estimate
    return {
        "job": content.job,
        "date": content.date,
        "headline": [
            ["Net area", f"{d.area(total.net_area)} ± {d.area(u.net_area)}"],
            ["Openings deducted", d.area(total.deducted_area)],
            ["Base", f"{d.length(total.base_length)} ± {d.length(u.base_length)}"],
            [
                "Corners, inside and outside",
                f"{d.length(total.inside_corner_length)}, {d.length(total.outside_corner_length)}",
            ],
            ["Cove", d.length(total.cove_length)],
            ["Labour", f"{e.hours:,.1f} man-hours, {e.crew_days:,.1f} crew days"],
            ["Price", d.money(e.line("price").amount)],
            *([["Currency", content.currency_words]] if content.currency_words else []),
        ],
        "rule": f"{content.rule}: {content.rule_source}",
        "scales": list(content.scales),
        "open_points": list(content.open_lines),
        "cautions": list(e.cautions),
        "notes": list(e.notes),
        "tables": [printed_table(table) for table in content.tables()],
    }


def report_pdf(content: ReportContent) -> bytes:
    """Set the report as PDF.

    Raises
    ------
    ReportError
        If it cannot be set.
    """
    files: dict[str, bytes] = {}
    pages = put_pages(content, files, plan=content.planning.days)
    return set_pages("report.typ", report_data(content) | pages | _printed(content) | _planned(content, files), files)


def _planned(content: ReportContent, files: dict[str, bytes]) -> dict[str, Any]:
    """Tables of what was planned by id, and the pictures drawn of it."""
    planning = content.planning
    tables = planning_tables(planning, content.display, content.estimate.currency, content.walls)
    made: dict[str, Any] = {"planning": {table.id: printed_table(table) for table in tables}}
    if planning.price_range is not None:
        files["range.svg"] = tornado_svg(planning.price_range, content.estimate.currency).encode()
    return made


def _printed(content: ReportContent) -> dict[str, Any]:
    e, d = content.estimate, content.display
    return {
        "currency": e.currency,
        "per_area": price_table(e, d).note,
        "coated": d.area(e.net_area) if e.net_area > 0 else "",
        "price": d.money(e.line("price").amount),
        "systems": [[s.id, s.label, d.area(s.area) if s.area else "", d.money(s.price)] for s in e.systems],
        "build_up": [printed_table(t) for t in build_up_tables(e, content.catalogue, d)],
        "exclusions": content.exclusions,
        "qualifications": content.qualifications,
        "bill": [asdict(part) for part in bill(content)],
        "arithmetic": {
            name: [asdict(group) for group in groups] for name, groups in group_arithmetic(e, content.catalogue).items()
        },
    }


def bid_pdf(bid: Bid) -> bytes:
    """Set a bid as PDF.

    Raises
    ------
    ReportError
        If it cannot be set.
    """
    files: dict[str, bytes] = {}
    tables = ("scope", "price", "unit_prices", "alternates", "days", "build_up")
    texts = ("headline", "payment", "exclusions", "qualifications", "cautions")
    return set_pages("bid.typ", put_pages(bid, files) | _own(bid, *tables, *texts), files)


def foreman_pdf(copy: Foreman) -> bytes:
    """Set a foreman's copy as PDF.

    Raises
    ------
    ReportError
        If it cannot be set.
    """
    files: dict[str, bytes] = {}
    pages = put_pages(copy, files, plan=copy.plan, drops=copy.drops, cuts=copy.cuts)
    tables = ("rooms", "ready", "packs", "whole", "mixing", "limits", "strips", "steps", "build_up")
    return set_pages("foreman.typ", pages | _own(copy, *tables, "open", "cautions"), files)


def _own(shown: Shown, *names: str) -> dict[str, Any]:
    """Give the layout what an edition has of its own, by the names of its fields."""
    return {name: printed(getattr(shown, name)) for name in names}
