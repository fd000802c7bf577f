"""The command that checks stated areas."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from takeoff.cli.as_json import dump, picked
from takeoff.cli.options import AsJson, JobPath, arg, opt
from takeoff.cli.rim import notes, opened, say, say_file, told
from takeoff.cli.show import display_of
from takeoff.errors import InputError
from takeoff.signing import now

if TYPE_CHECKING:
    from takeoff.audit.verdict import AreaCheck, CheckLine
    from takeoff.units import Display


StatedFile = Annotated[
    Path | None, arg("STATED", "CSV, XLSX, XLS, ODS or PDF with a row for each room, or for each wall.")
]
OnSheet = Annotated[str, opt("--table", "SHEET", "Read the table on this sheet of the job instead.")]


def check(
    job: JobPath,
    stated: StatedFile = None,
    table: OnSheet = "",
    rule: Annotated[str, opt("--rule", "NAME", "Measuring rule. Not given: that of the job.")] = "",
    basis: Annotated[
        Literal["net", "gross", "with-returns", "centreline", "floor"],
        opt("--basis", None, "What the stated areas are taken to be areas of.", show_default=True),
    ] = "net",
    unit: Annotated[
        Literal["sf", "m2"] | None, opt("--unit", None, "Unit of areas that name none in heading or cell.")
    ] = None,
    column: Annotated[str, opt("--column", "HEADING", "Column to read where several hold areas.")] = "",
    as_json: AsJson = False,
    out: Annotated[Path | None, opt("--out", "PDF", "Write a page for the architect.")] = None,
) -> int:
    """Check stated areas against what was measured; exit code 1 where something is wrong in the table."""
    from takeoff.actions import find_sheet, read_file
    from takeoff.actions.checking import check_areas, read_sheet_areas, read_stated_areas, write_check_report

    if (stated is None) == (not table):
        fault = "no stated areas were named" if stated is None else "stated areas were named twice"
        raise InputError(fault, remedy="Give a file (CSV, XLSX, XLS, ODS, PDF), or --table SHEET, one of them.")
    with opened(job) as store:
        value = store.job
        if stated is None:
            sheet = find_sheet(value, table)
            source = f"sheet {sheet.number or sheet.id}"
            read = read_sheet_areas(store, sheet, basis=basis, unit=unit, column=column)
        else:
            source = stated.name
            read = read_stated_areas(read_file(stated, "table of areas"), source, basis=basis, unit=unit, column=column)
    found = check_areas(value, read, rule=rule or None, basis=basis)
    notes((*read.doubts, *found.doubts))
    if as_json:
        say_file(dump(check_json(found)))
    else:
        show_check(found, display_of(value.settings))
    if out is not None:
        written = write_check_report(value, found, out, source=source, at=now())
        told(f"Wrote {written}")
    return 0 if found.is_clean else 1


def show_check(found: AreaCheck, show: Display) -> None:
    """Print a check: a table, then what is behind each line that needs a person."""
    from takeoff.audit.verdict import leading_texts
    from takeoff.cli.show import table

    def row(line: CheckLine) -> tuple[str, ...]:
        return (
            line.match.stated.label,
            line.room_label or "-",
            line.match.how,
            line.match.stated.text,
            "" if line.measured is None else show.area(line.measured),
            "" if line.relative is None else _percent(line.relative),
            "" if line.u is None else f"± {show.area(line.u)}",
            line.verdict,
        )

    table(
        f"Stated areas as {found.basis}, rule {found.rule}",
        ("Stated for", "Room", "Matched by", "Stated", "Measured", "Difference", "k = 2", "Finding"),
        [row(line) for line in found.lines],
        text_columns=3,
    )
    for text in leading_texts(found):
        say(text)
    for line in found.lines:
        if line.verdict == "agrees" and not (line.match.doubts or line.match.stated.parts):
            continue
        say(f"{line.match.stated.label}: {line.verdict}, {line.reason}")
        for doubt in line.match.doubts:
            say(f"  note: {doubt}")
        for cause in line.causes:
            say(f"  {cause.text}: {cause.arithmetic}")
        if line.verdict == "differs" and not line.causes:
            say("  no reason that we know of is likely")
    for fault in found.faults:
        say(f"wrong in the table: {fault}")
    if found.unstated:
        say(f"measured and not stated: {', '.join(found.unstated)}")


def _percent(relative: float) -> str:
    """Write a difference as signed percent, nil without a sign.

    Examples
    --------
    >>> _percent(0.114), _percent(-0.0004), _percent(-0.448)
    ('+11.4%', '0.0%', '−44.8%')
    """
    text = f"{relative:+.1%}".replace("-", "−")
    return text[1:] if text.strip("+−") == "0.0%" else text


def check_json(found: AreaCheck) -> dict[str, Any]:
    """A check with areas in m²."""
    return {
        "schema": "takeoff.check/1",
        "units": {"area": "m2"},
        "agrees": found.count("agrees"),
        "differs": found.count("differs"),
        "cannot_say": found.count("cannot say"),
        "items": [_line(line) for line in found.lines],
        "leading": [picked(r, "kind text explained remaining") for r in found.leading],
        **picked(found, "rule basis unstated faults doubts"),
    }


def _line(line: CheckLine) -> dict[str, Any]:
    match, stated = line.match, line.match.stated
    return {
        **picked(stated, "number name where", stated=stated.area if stated.is_figure else None, stated_as=stated.text),
        **picked(match, "room doubts", matched_by=match.how),
        **picked(line, "measured difference u verdict reason"),
        "causes": [picked(cause, "kind text arithmetic area") for cause in line.causes],
    }
