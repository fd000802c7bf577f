"""Commands that hand a job over and take walls in: export, import."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from takeoff import actions
from takeoff.cli.options import JobPath, arg, flag, opt, read_point
from takeoff.cli.rim import notes, opened, told
from takeoff.errors import InputError
from takeoff.exchange.forms import FORMS
from takeoff.signing import now, person
from takeoff.units import parse_length

if TYPE_CHECKING:
    from takeoff.job.job import Job
    from takeoff.model.plan import Sheet


def export_job(
    job: JobPath,
    out: Annotated[
        Path, arg("OUT", f"Where to write; its ending says what: {', '.join(f'{f.ending} {f.words}' for f in FORMS)}.")
    ],
    flat: Annotated[bool, flag("--flat", "Draw the marks of a PDF into its pages.")] = False,
) -> None:
    """Write the job in a form that other programs read."""
    with opened(job) as store:
        taken_out: list[str] = []
        data = actions.export_file(store, out.name, who=person(), at=now(), flattened=flat, tell=taken_out.append)
    notes(taken_out)
    actions.write_file(out, data, "export")
    told(f"Wrote {out}")


def import_job(
    source: Annotated[Path, arg("IN", "An exported job (.json), or walls as marked PDF or DXF drawing.")],
    job: Annotated[Path, arg("JOB", "The job file: one to make from .json, else the one to add walls to.")],
    sheet: Annotated[str, opt("--sheet", "SHEET", "Sheet that the lines of a DXF go on.")] = "",
    height: Annotated[str, opt("--height", "LENGTH", "Height of lines that other programs drew.")] = "",
    layers: Annotated[str, opt("--layers", "NAME*", "Layers of a DXF to read.", show_default=True)] = "A-WALL*",
    unit: Annotated[str, opt("--unit", "LENGTH", "One unit of a DXF that does not say it, such as 1mm.")] = "",
    origin: Annotated[
        str, opt("--origin", "X,Y", "Point of a DXF on the sheet's lower left corner, in its units.", show_default=True)
    ] = "0,0",
) -> None:
    """Make a job file from an exported job, or take walls into a job from a marked PDF or a DXF drawing."""
    ending = source.suffix.lower()
    if ending not in (".pdf", ".dxf"):
        data = actions.read_file(source, "exported job")
        with actions.import_json(job, data, who=person(), at=now()):
            pass
        told(f"Made {job}")
        return
    data = actions.read_file(source, "PDF" if ending == ".pdf" else "drawing")
    with opened(job) as store:
        system = store.job.settings.units
        top = parse_length(height, system=system) if height else None
        if ending == ".pdf":
            taken = actions.import_annotated_pdf(store, data, height=top, name=source.name, who=person(), at=now())
        else:
            taken = actions.import_dxf(
                store,
                data,
                _sheet(store.job, sheet),
                layers=layers,
                unit=parse_length(unit, system=system) if unit else None,
                height=top,
                origin=read_point(origin),
                who=person(),
                at=now(),
            )
    notes(taken.doubts)
    told(f"Done: took in {taken.count} wall{'s' * (taken.count != 1)}")


def _sheet(job: Job, text: str) -> Sheet:
    """Find the sheet named, or the only one."""
    if text:
        return actions.find_sheet(job, text)
    if len(job.sheets) != 1:
        raise InputError("it is not said which sheet the lines go on", remedy="Name it: --sheet A-101.")
    return next(iter(job.sheets.values()))
