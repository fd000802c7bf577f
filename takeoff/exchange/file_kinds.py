"""The kinds of file that a job is handed over as: from this list come the help, the window's choice and the refusal.

A new kind is a module that makes the bytes, an entry here, and its writer in `takeoff.actions.handover`.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """One kind of file: the ending of its name, what the window calls it, and what is in it."""

    ending: str
    title: str
    words: str


FORMS: tuple[Form, ...] = (
    Form(ending=".pdf", title="Marked plans (PDF)", words="marked plans"),
    Form(ending=".xfdf", title="Marks without the plans (XFDF)", words="the marks alone"),
    Form(ending=".dxf", title="Drawing (DXF)", words="a drawing of the walls"),
    Form(ending=".ifc", title="Building model (IFC)", words="a building model"),
    Form(ending=".geojson", title="Map layers (GeoJSON)", words="map layers"),
    Form(ending=".gpkg", title="Map layers (GeoPackage)", words="map layers as a database"),
    Form(ending=".xlsx", title="Workbook (XLSX)", words="the workbook with costs"),
    Form(ending=".csv", title="Cost lines to buy and book by (CSV)", words="cost lines to buy and book by"),
    Form(ending=".ics", title="Days for a calendar (iCalendar)", words="the days for a calendar"),
    Form(ending=".xml", title="Days as XML (xCal)", words="the days as XML (xCal)"),
    Form(ending=".html", title="One page with costs (HTML)", words="the report with costs as one page"),
    Form(ending=".json", title="The whole job (JSON)", words="the whole job"),
)
ENDINGS = tuple(form.ending for form in FORMS)
