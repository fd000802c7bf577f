"""The marks of a job without its plans, as XFDF (ISO 19444-1:2019): any viewer that takes it in puts them on the pages.

Pages are counted through the plan files in their order, as in the marked PDF; with one plan file they are its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree import ElementTree

from takeoff.apart import apart
from takeoff.exchange.annotated_pdf import PlanSet, pages_of
from takeoff.exchange.plan_marks import Mark, date, inverse, marks_on, real
from takeoff.exchange.printable import printable
from takeoff.geometry.arcs import Point
from takeoff.sheet.document import user_to_sheet

NAMESPACE = "http://ns.adobe.com/xfdf/"
"""As the standard gives it (ISO 19444-1 §6.2, from memory)."""


@apart
def write_xfdf(plans: PlanSet, *, file: str) -> bytes:
    """Write the marks of all sheets."""
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
        ElementTree.SubElement(element, "vertices").text = _pairs(mark.vertices)


def _pair(point: Point) -> str:
    return f"{real(point[0])},{real(point[1])}"


def _pairs(points: Sequence[Point]) -> str:
    return ";".join(_pair(p) for p in points)
