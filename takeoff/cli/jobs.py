"""Commands that make, change and show a job: open, new, sheets, scale, apply, undo, redo, history, copy, rescue."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from takeoff import actions
from takeoff.cli.as_json import dump, picked, scale_json, sheets_json
from takeoff.cli.figures import tell_opened
from takeoff.cli.options import (
    RULE_NAMES,
    AsJson,
    AsShown,
    JobPath,
    MorePlans,
    Plans,
    SheetText,
    Units,
    arg,
    flag,
    opt,
    plan_paths,
    points_of,
    read_point,
    read_points,
)
from takeoff.cli.rim import job_in, notes, opened, say, say_file, title_of, told
from takeoff.cli.show import progress, show_history, show_places, show_sheets
from takeoff.errors import InputError
from takeoff.job.job import JobSettings
from takeoff.measure.rules import rule_named
from takeoff.model.plan import KnownDimension
from takeoff.signing import signed
from takeoff.units import Display, parse_length

if TYPE_CHECKING:
    from collections.abc import Sequence

    from takeoff.job.job import Job
    from takeoff.model.plan import Calibration, ScaleRegion, Sheet


def new(
    job: JobPath,
    plans: Plans = None,
    plan: MorePlans = None,
    name: Annotated[str, opt("--name", "NAME", "Name of the job. Not given: the name of the job file.")] = "",
    units: Annotated[
        Units | None, opt("--units", None, "Units to read and show. Not given: those of its sheets.")
    ] = None,
    precision: Annotated[
        int, opt("--precision", "N", 'Smallest fraction of an inch shown: 16 for 1/16".', show_default=True)
    ] = 16,
    currency: Annotated[str, opt("--currency", "CODE", "Currency code of the prices.", show_default=True)] = "USD",
    rule: Annotated[
        str, opt("--rule", "NAME", f"Measuring rule for payment: {RULE_NAMES}.", show_default=True)
    ] = "exact-net",
) -> None:
    """Start a job from plan files."""
    paths = plan_paths(plans, plan)
    system = units or "imperial"
    Display(system=system, precision=precision, currency=currency)
    rule_named(rule)
    settings = JobSettings(name=name or title_of(job), units=system, precision=precision, currency=currency, rule=rule)
    with progress("Reading plans") as step:
        read = []
        for i, path in enumerate(paths, start=1):
            read.append((path.name, actions.read_file(path, "plan file")))
            if step is not None:
                step(i / (len(paths) + 1))
        store, doubts = actions.new_job(job, read, settings, sign=signed, tells_units=units is None)
    with store:
        notes(doubts)
        count = len(store.job.sheets)
        told(
            f"Made {job} with {count} sheet{'s' * (count != 1)}, in {store.job.settings.units} units. "
            f"Next: takeoff scale {job} SHEET"
        )


def add(job: JobPath, plans: Plans = None, plan: MorePlans = None) -> None:
    """Add plan files to a job: every sheet that it does not have by number; the others are revisions to compare."""
    read = [(path.name, actions.read_file(path, "plan file")) for path in plan_paths(plans, plan)]
    with opened(job) as store:
        change, doubts = actions.add_plans(store, read)
    notes(doubts)
    told(f"Done: {change.label}")


def sheets(
    job: JobPath,
    sheet: Annotated[str, arg("SHEET", "List the points on this sheet: position or number.")] = "",
    as_shown: AsShown = False,
    as_json: AsJson = False,
) -> None:
    """List the sheet register with scales; with SHEET the points of its rooms, dimensions and texts."""
    if sheet:
        from takeoff.actions.sheet_places import places_on

        with opened(job) as store:
            which = actions.find_sheet(store.job, sheet)
            places = places_on(store, which, as_shown=as_shown)
        if as_json:
            say_file(dump([picked(p, "kind words", points=p.points_pt) for p in places]))
        else:
            show_places(which, places)
        return
    value = job_in(job)
    if as_json:
        say_file(dump(sheets_json(value)))
    else:
        show_sheets(value)


def scale(
    job: JobPath,
    sheet: SheetText,
    read: Annotated[
        bool, flag("--read", "Read it from the sheet: embedded measurement, else dimensions, bar and note.")
    ] = False,
    scanned: Annotated[
        bool, flag("--scanned", "Read it from a scan by text recognition, which takes a minute or more.")
    ] = False,
    ratio: Annotated[str, opt("--ratio", "1:N", "A ratio, such as 1:50.")] = "",
    note: Annotated[str, opt("--note", "NOTE", 'A written scale, such as 1/4" = 1\'-0".')] = "",
    points: Annotated[
        list[str],
        opt("--points", "X1,Y1 X2,Y2", "Both ends of a known dimension in sheet points. Repeat, with a --length each."),
    ] = [],  # noqa: B006 - typer copies it
    length: Annotated[
        list[str], opt("--length", "L", "True length between the points, such as 12'-6\" or 3.81 m.")
    ] = [],  # noqa: B006 - typer copies it
    region: Annotated[
        str,
        opt(
            "--region",
            '"X1,Y1 X2,Y2 X3,Y3" | NAME',
            "Set it for a part of the sheet only: its outline, or the name of one outlined before.",
        ),
    ] = "",
    region_name: Annotated[str, opt("--region-name", "NAME", "Name for the outlined part.")] = "",
    as_shown: AsShown = False,
    as_json: AsJson = False,
) -> None:
    """Set the scale of a sheet, or of a region on it."""
    ways = sum(map(bool, (read, scanned, ratio, note, points)))
    if ways != 1:
        found = "no way to set the scale was named" if ways == 0 else f"{ways} ways to set the scale were named"
        raise InputError(found, remedy="Give one of --read, --scanned, --ratio, --note or --points with --length.")
    if length and not points:
        raise InputError("--length without --points", remedy="Give both ends of the dimension: --points X1,Y1 X2,Y2.")
    if (read or scanned) and region:
        raise InputError(f"--{'read' if read else 'scanned'} finds its regions itself", remedy="Leave out --region.")
    with opened(job) as store:
        which = actions.find_sheet(store.job, sheet)
        part = _region(store.job, which, region, region_name, as_shown=as_shown)
        before = store.job
        if read:
            made = actions.set_scale_read(store, which)
        elif scanned:
            with progress("Reading the scan"):
                made = actions.set_scale_scanned(store, which)
        elif ratio:
            made = (actions.set_scale_ratio(store, which, ratio, region=part),)
        elif note:
            made = (actions.set_scale_note(store, which, note, region=part),)
        else:
            known = _dimensions(store.job, which, points, length, as_shown=as_shown)
            made = (actions.set_scale_points(store, which, known, region=part),)
        tell_opened(before, store.job)
    if as_json:
        say_file(dump([scale_json(c) for c in made]))
    else:
        _tell(which, made)


def _tell(sheet: Sheet, made: Sequence[Calibration]) -> None:
    """Say the scales that were set."""
    for c in made:
        place = sheet.called + (f', region "{c.region}"' if c.region else "")
        told(f"Scale of {place}: 1:{c.ratio:.4g} ± {2 * c.u_scale:.2%} (k = 2), from {c.origin}")


def _dimensions(
    job: Job, sheet: Sheet, points: list[str], lengths: list[str], *, as_shown: bool
) -> list[KnownDimension]:
    if len(points) != len(lengths):
        raise InputError(
            f"--points {len(points)} times and --length {len(lengths)} times",
            remedy="Give one --length for each --points X1,Y1 X2,Y2.",
        )
    known = []
    for pair, length in zip(points, lengths, strict=True):
        words = pair.split()
        if len(words) != 2:
            raise InputError(f'"{pair}" is not two points', remedy="Write --points X1,Y1 X2,Y2.")
        start, end = points_of(sheet, (read_point(word) for word in words), as_shown=as_shown)
        metres = parse_length(length, system=job.settings.units)
        known.append(KnownDimension(start_pt=start, end_pt=end, length=metres))
    return known


def _region(job: Job, sheet: Sheet, text: str, name: str, *, as_shown: bool) -> ScaleRegion | None:
    if not text:
        if name:
            raise InputError("--region-name without --region", remedy="Give the outline too.")
        return None
    if "," in text:
        outline = tuple(points_of(sheet, read_points(text), as_shown=as_shown))
        return actions.make_region(job, sheet, outline, name)
    return actions.find_region(job, sheet, text)


def apply(
    job: JobPath, edits: Annotated[Path, arg("EDITS.json", "Rooms and walls; see: takeoff schema edits.")]
) -> None:
    """Apply an edits file: rooms, walls and openings; all of it or nothing."""
    data = actions.read_file(edits, "edits file")
    with opened(job) as store:
        before = store.job
        change = actions.apply_edits(store, data)
        tell_opened(before, store.job)
    told(f"Done: {change.label}")


def undo(job: JobPath) -> None:
    """Take the last edit back."""
    with opened(job) as store:
        told(f"Undone: {actions.undo(store).label}")


def redo(job: JobPath) -> None:
    """Redo what was last undone."""
    with opened(job) as store:
        told(f"Redone: {actions.redo(store).label}")


def history(job: JobPath, as_json: AsJson = False) -> None:
    """List who did what when."""
    with opened(job) as store:
        lines = actions.history(store)
    if as_json:
        say_file(dump([picked(h, "seq at who verb label") for h in lines]))
    else:
        show_history(lines)


def copy(job: JobPath, out: Annotated[Path, arg("COPY", "The new file.")]) -> None:
    """Copy a job with every edit that is done, also while it is open elsewhere."""
    actions.copy_job(job, out)
    told(f"Copied {job} to {out}")


def rescue(
    job: Annotated[Path, arg("JOB", "The damaged job file; it is left as it is.")],
    out: Annotated[Path, arg("NEW", "The new file.")],
) -> int:
    """Save what can be trusted of a damaged job into a new file, and list what cannot."""
    lost = actions.rescue_job(job, out, sign=signed)
    for fault in lost:
        say(fault)
    told(f"Made {out}: {'what was lost or repaired is listed above' if lost else 'nothing was lost'}")
    return int(bool(lost))


def open_window(job: Annotated[Path | None, arg("JOB", "The job file. Not given: the start screen.")] = None) -> None:
    """Open the window, on a job or on its start screen."""
    try:
        import tkinter
    except ImportError as error:
        raise InputError(
            "this Python has no Tk, which the window needs", remedy="Install it: apt install python3-tk libtk8.6."
        ) from error
    from takeoff.gui.app import DeskWindow

    try:
        window = DeskWindow()
    except tkinter.TclError as error:
        raise InputError(f"the window cannot be opened ({error})", remedy="It needs a display.") from error
    if job is not None:
        try:
            window.take(actions.open_job(job, signed))
        except BaseException:
            window.shut()
            raise
    window.mainloop()
