"""The plans with runs and openings as standard annotations (ISO 32000-2:2020 §12.5.6, §12.9), and these alone as XFDF.

The pages stay as they are; each run is a Line, PolyLine or Polygon with a measure dictionary, so that any viewer lists
it and measures on. A third-class name (Annex E) carries the run itself for `annotated_pdf_reader`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any
from xml.etree import ElementTree

from takeoff.apart import apart
from takeoff.errors import ReportError
from takeoff.exchange.active_content import take_out_active, write_legend
from takeoff.exchange.edits_file import entry_text
from takeoff.exchange.plan_lines import PlanRun
from takeoff.exchange.plan_marks import (
    Mark,
    date,
    drawn_path,
    inverse,
    marks_on,
    moved,
    real,
    reals,
    rectangle,
    text_string,
)
from takeoff.exchange.printable import printable
from takeoff.geometry.arcs import Point
from takeoff.model.plan import Calibration, ScaleRegion, Sheet
from takeoff.sheet.document import Matrix, open_document, user_to_sheet
from takeoff.sheet.formats import file_format
from takeoff.sheet.render import single_page_pdf
from takeoff.units import FOOT, Display

PRIVATE = "XXTakeoff"
"""Key of an annotation that holds the run; names that start with XX are for anyone (ISO 32000-2 Annex E)."""
OPENING = "opening"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanSet:
    """What goes into a marked PDF: sheets, the bytes of their files by SHA-256, scales, runs, and whose marks they are.

    ``at`` is a time, ISO 8601. ``scales`` are (region or ``None`` for the whole sheet, calibration).
    """

    title: str
    author: str
    at: str
    display: Display
    sheets: Sequence[Sheet]
    files: Mapping[str, bytes]
    scales: Sequence[tuple[ScaleRegion | None, Calibration]]
    runs: Sequence[PlanRun]


def annotated_pdf(
    plans: PlanSet, *, flattened: bool = False, tell: Callable[[str], object] = lambda text: None
) -> bytes:
    """Write the plans with every run and opening as an annotation; what acts by itself in a plan file is taken out.

    A plan file that is a PDF keeps all its pages, in their order; pictures get a page each. ``flattened`` draws the
    annotations into the pages, for viewers that show none; such a copy is not read back.
    """
    written, taken = _marked(plans, flattened=flattened)
    if taken:
        tell(f"taken out of the copy of the plans: {', '.join(taken)}")
    return written


@apart
def _marked(plans: PlanSet, *, flattened: bool) -> tuple[bytes, list[str]]:
    """Write the marked plans, and name what was taken out of them."""
    import pymupdf

    with pages_of(plans) as (document, pages):
        taken = list(take_out_active(document))
        writer = _Writer(document, plans)
        for sheet in plans.sheets:
            page = document[pages[sheet.id]]
            writer.measure_page(page, sheet)
            writer.mark_page(page, sheet)
        _bookmark(document, plans, pages)
        document.set_metadata(
            {
                **(document.metadata or {}),
                "title": plans.title,
                "author": plans.author,
                "subject": "Plans with the walls of a wall coating takeoff",
                "keywords": ", ".join(dict.fromkeys(r.system for r in plans.runs if r.system)),
                "creator": "takeoff",
                "modDate": date(plans.at),
            }
        )
        if flattened:
            document.bake(annots=True, widgets=False)
            for sheet in plans.sheets:
                write_legend(document[pages[sheet.id]], sheet, plans.runs, plans.display)
        written: bytes = document.tobytes(garbage=1, no_new_id=True, encryption=pymupdf.PDF_ENCRYPT_NONE)
        return written, taken


@contextmanager
def pages_of(plans: PlanSet) -> Iterator[tuple[Any, dict[int, int]]]:
    """Open all plan files as one document; gives it, and the page, from 0, of each sheet."""
    if not plans.sheets:
        raise ReportError("the job has no sheets", remedy="Start it with a plan: takeoff new JOB FILE.")
    first = plans.files[plans.sheets[0].source]
    is_pdf = file_format(first, plans.title) == "pdf"
    with open_document(first if is_pdf else single_page_pdf(first, plans.sheets[0]), plans.title) as document:
        yield document, _append(document, plans, [plans.sheets[0]] if not is_pdf else [])


def _append(document: Any, plans: PlanSet, placed: Sequence[Sheet]) -> dict[int, int]:
    """Put the pages of further plan files behind; gives the page, from 0, of each sheet."""
    pages: dict[int, int] = {s.id: 0 for s in placed}
    starts = {} if placed else {plans.sheets[0].source: 0}
    for sheet in plans.sheets:
        if sheet.id in pages:
            continue
        data = plans.files[sheet.source]
        if file_format(data, plans.title) != "pdf":
            pages[sheet.id] = document.page_count
            data = single_page_pdf(data, sheet)
        elif sheet.source in starts:
            pages[sheet.id] = starts[sheet.source] + sheet.page - 1
            continue
        else:
            starts[sheet.source] = document.page_count
            pages[sheet.id] = document.page_count + sheet.page - 1
        with open_document(data, plans.title) as more:
            document.insert_pdf(more)
    return pages


def _bookmark(document: Any, plans: PlanSet, pages: Mapping[int, int]) -> None:
    """Add a bookmark for each room, with its runs and their net areas below it, behind those that the file has."""
    import pymupdf

    turned = {page: document[page].rotation_matrix for page in dict.fromkeys(pages.values())}

    def place(runs: Sequence[PlanRun]) -> dict[str, Any]:
        page = pages[runs[0].sheet.id]
        points = [p for r in runs if r.sheet.id == runs[0].sheet.id for p in r.run.points_pt]
        corner = pymupdf.Point(min(x for x, _ in points) - 20, min(y for _, y in points) - 20)
        shown = corner * turned[page]
        return {"kind": pymupdf.LINK_GOTO, "page": page, "to": shown, "zoom": 0}

    contents = document.get_toc(simple=False)
    rooms: dict[str, list[PlanRun]] = {}
    for run in plans.runs:
        rooms.setdefault(run.room_label or "No room", []).append(run)
    if rooms:
        contents.append([1, "Rooms", pages[plans.runs[0].sheet.id] + 1, place(plans.runs)])
    for label, runs in sorted(rooms.items()):
        contents.append([2, label, pages[runs[0].sheet.id] + 1, place(runs)])
        for run in runs:
            net = plans.display.area(sum(f.quantities.net_area for f in run.faces))
            contents.append([3, f"{run.name}: net {net}", pages[run.sheet.id] + 1, place([run])])
    document.set_toc(contents)


class _Writer:
    """Annotations of one document; layers are made as systems and revisions come up."""

    def __init__(self, document: Any, plans: PlanSet) -> None:
        self.document = document
        self.plans = plans
        self.layers: dict[str, int] = {}

    def layer(self, system: str, revision: str) -> int:
        """Object number of the layer of a system, or of its membership in a revision too (ISO 32000-2 §8.11.2.2)."""
        groups = [f"System: {system or 'none'}"] + ([f"Revision: {revision}"] if revision else [])
        for name in groups:
            if name not in self.layers:
                self.layers[name] = self.document.add_ocg(name, on=True)
        if len(groups) == 1:
            return self.layers[groups[0]]
        key = "\n".join(groups)
        if key not in self.layers:
            both = " ".join(f"{self.layers[g]} 0 R" for g in groups)
            self.layers[key] = self.add(f"<</Type/OCMD/OCGs[{both}]/P/AllOn>>")
        return self.layers[key]

    def add(self, source: str, stream: bytes | None = None) -> int:
        """Add an object and give its number."""
        number: int = self.document.get_new_xref()
        self.document.update_object(number, source)
        if stream is not None:
            self.document.update_stream(number, stream, new=True)
        return number

    def measure_page(self, page: Any, sheet: Sheet) -> None:
        """Give a page without viewports those of its scales; a region comes after the sheet, so it wins."""
        if self.document.xref_get_key(page.xref, "VP")[0] != "null":
            return
        back = inverse(user_to_sheet(page))
        whole = ((0.0, 0.0), (sheet.width_pt, sheet.height_pt))
        viewports = []
        for region, scale in sorted(self.plans.scales, key=lambda pair: pair[0] is not None):
            if scale.sheet == sheet.id:
                corners = [moved(back, p) for p in (region.outline_pt if region else whole)]
                name = text_string(region.id if region else sheet.number or f"Sheet {sheet.id}")
                viewports.append(
                    f"<</Type/Viewport/BBox{rectangle(corners)}/Name{name}/Measure{self.measure(scale, back, sheet)}>>"
                )
        if viewports:
            self.document.xref_set_key(page.xref, "VP", f"[{''.join(viewports)}]")

    def measure(self, scale: Calibration, back: Matrix, sheet: Sheet) -> str:
        """Measure dictionary of a calibration in the page's user space (ISO 32000-2 §12.9.2)."""
        unit, area, metre = ("ft", "sf", 1 / FOOT) if self.plans.display.system == "imperial" else ("m", "m²", 1.0)
        # user units to a sheet point along its x and y
        x = scale.mx * metre / math.hypot(back[0], back[1])
        y = scale.my * metre / math.hypot(back[2], back[3])

        def form(label: str, factor: float) -> str:
            return f"[<</Type/NumberFormat/U{text_string(label)}/C {real(factor)}/F/D/D 1000>>]"

        apart = f"/Y{form(unit, y)}/CYX 1" if x != y else ""
        ratio = text_string(f"1:{scale.ratio:.6g}")
        return f"<</Type/Measure/Subtype/RL/R{ratio}/X{form(unit, x)}{apart}/D{form(unit, 1.0)}/A{form(area, 1.0)}>>"

    def mark_page(self, page: Any, sheet: Sheet) -> None:
        """Put the runs of a sheet and their openings on its page, behind the annotations that it has."""
        back = inverse(user_to_sheet(page))
        made = [self.annotation(m, back, page.xref) for m in marks_on(sheet, back, self.plans.runs, self.plans.display)]
        if not made:
            return
        kind, there = self.document.xref_get_key(page.xref, "Annots")
        if kind == "xref":
            there = self.document.xref_object(int(there.split()[0]), compressed=True)
        old = there.strip()[1:-1] if kind in ("array", "xref") else ""
        self.document.xref_set_key(page.xref, "Annots", f"[{old} {' '.join(f'{n} 0 R' for n in made)}]")

    def annotation(self, mark: Mark, back: Matrix, page: int) -> int:
        """Add the annotation of a mark with its geometry, border and appearance, all in the page's user space."""
        kind, run, width = mark.kind, mark.run, mark.width
        geometry = f"{'L' if kind == 'Line' else 'Vertices'}[{reals(mark.vertices)}]/IT/{kind}Dimension"
        rgb = " ".join(real(round(c / 255, 4)) for c in mark.colour)
        box = rectangle([*mark.vertices, *(p for tick in mark.ticks for p in tick)], margin=2 * width)
        dashes = " ".join(real(d) for d in mark.dashes)
        drawing = [f"{rgb} RG {real(width)} w [{dashes}] 0 d", drawn_path(mark.line), "S"]
        if mark.ticks:
            drawing.append(f"{real(width / 1.8)} w [] 0 d")
            drawing.extend(f"{reals([a])} m {reals([b])} l S" for a, b in mark.ticks)
        looks = self.add(f"<</Type/XObject/Subtype/Form/BBox{box}/Resources<<>>>>", "\n".join(drawing).encode("ascii"))
        border = f"/BS<</Type/Border/W {real(width)}" + (f"/S/D/D[{dashes}]>>" if dashes else "/S/S>>")
        when = date(self.plans.at)
        held = OPENING if mark.is_opening else entry_text(run.run, run.room)
        return self.add(
            f"<</Type/Annot/Subtype/{kind}/{geometry}/Rect{box}/P {page} 0 R/F 4/C[{rgb}]{border}"
            f"/T{text_string(self.plans.author)}/M({when})/CreationDate({when})/AP<</N {looks} 0 R>>"
            f"/NM{text_string(mark.name)}/Subj{text_string(mark.subject)}/Contents{text_string(mark.contents)}"
            f"/Measure{self.measure(run.scale, back, run.sheet)}/OC {self.layer(run.system, run.sheet.revision)} 0 R"
            f"/{PRIVATE}{text_string(held)}>>"
        )


NAMESPACE = "http://ns.adobe.com/xfdf/"
"""Of XFDF as the standard gives it (ISO 19444-1 §6.2, from memory)."""


@apart
def write_xfdf(plans: PlanSet, *, file: str) -> bytes:
    """Write the marks of all sheets without their plans (ISO 19444-1:2019): a viewer that takes them in shows them.

    Pages are counted through the plan files in their order, as in the marked PDF; with one plan file they are its own.
    """
    root = ElementTree.Element("xfdf", {"xmlns": NAMESPACE, "xml:space": "preserve"})
    annotations = ElementTree.SubElement(root, "annots")
    with pages_of(plans) as (document, pages):
        for sheet in plans.sheets:
            back = inverse(user_to_sheet(document[pages[sheet.id]]))
            for mark in marks_on(sheet, back, plans.runs, plans.display):
                _annotate(annotations, mark, pages[sheet.id], plans)
    ElementTree.SubElement(root, "f", {"href": printable(file)})
    found: bytes = ElementTree.tostring(root, encoding="utf-8", xml_declaration=True)
    return found


def _annotate(parent: ElementTree.Element, mark: Mark, page: int, plans: PlanSet) -> None:
    """Add a mark as the element that its kind of annotation has."""
    xs, ys = [x for x, _ in mark.vertices], [y for _, y in mark.vertices]
    margin, when = 2 * mark.width, date(plans.at)
    box = ((min(xs) - margin, min(ys) - margin), (max(xs) + margin, max(ys) + margin))
    values = {
        "page": str(page),
        "rect": ",".join(_pair(corner) for corner in box),
        "color": "#{:02X}{:02X}{:02X}".format(*mark.colour),
        "flags": "print",
        "name": printable(mark.name),
        "subject": printable(mark.subject),
        "title": printable(plans.author),
        "date": when,
        "creationdate": when,
        "width": real(mark.width),
        "IT": f"{mark.kind}Dimension",
    }
    if mark.dashes:
        values |= {"style": "dash", "dashes": ",".join(real(d) for d in mark.dashes)}
    if mark.kind == "Line":
        values |= {"start": _pair(mark.vertices[0]), "end": _pair(mark.vertices[1])}
    element = ElementTree.SubElement(parent, mark.kind.lower(), values)
    ElementTree.SubElement(element, "contents").text = printable(mark.contents)
    if mark.kind != "Line":
        ElementTree.SubElement(element, "vertices").text = ";".join(_pair(p) for p in mark.vertices)


def _pair(point: Point) -> str:
    return f"{real(point[0])},{real(point[1])}"
