"""Results as JSON: lengths in m, areas in m², volumes in L, mass in kg, money with its currency."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterable
from functools import partial
from typing import TYPE_CHECKING, Any

from takeoff.cli.plain import UNSEEN

if TYPE_CHECKING:
    from takeoff.actions import Measured, Priced
    from takeoff.actions.places import Place
    from takeoff.job.job import Job
    from takeoff.job.store import JournalLine
    from takeoff.measure.faces import MeasuredFace
    from takeoff.model.costs import AreaLine, LabourLine, MaterialLine, RoomPrice
    from takeoff.model.figures import MeasuredItem
    from takeoff.model.plan import Calibration

    Money = Callable[[float], dict[str, Any]]

COUNTS = frozenset({"inside_corners", "outside_corners", "cove_inside_corners", "cove_outside_corners", "openings"})
DERIVED = ("opening_edge_length", "corner_length", "termination_length", "masked_length", "coated_area")


def dump(value: object) -> str:
    """Write a value as JSON text, indented; what would steer a terminal stands there by its number."""
    return UNSEEN.sub(lambda found: f"\\u{ord(found[0]):04x}", json.dumps(value, indent=1, ensure_ascii=False))


def measured_json(measured: Measured, *, explain: bool = False) -> dict[str, Any]:
    """Total and items with every quantity, and ``u``: expanded uncertainties (k = 2) of net area and base length.

    With ``explain`` the faces are added: profile, openings and corners that made the figures.
    """
    m = measured.measurement
    faces = {"faces": [_face(face) for face in measured.faces]} if explain else {}
    return {
        "schema": "takeoff.measure/1",
        "by": m.by,
        "rule": m.rule,
        "units": {"length": "m", "area": "m2", "volume": "m3"},
        "total": _item(m.total),
        "items": [_item(item) for item in m.items],
        "left_out": list(m.left_out),
        **faces,
    }


def _face(face: MeasuredFace) -> dict[str, Any]:
    e, q = face.elevation, face.quantities
    return {
        "run": e.run,
        "face": e.face,
        "room": e.room,
        "system": e.system,
        "length": e.length,
        "base": e.base,
        "profile": [list(pair) for pair in e.profile],
        "openings": [
            {"kind": o.source.kind, "mark": o.source.mark, "from": o.x0, "to": o.x1, "sill": o.z0, "head": o.z1}
            for o in e.openings
        ],
        "corners": [
            {"at": c.station, "turn": c.turn, "length": c.length, "joined": c.joined or None} for c in e.corners
        ],
        "gross_area": q.gross_area,
        "deducted_area": q.deducted_area,
        "net_area": q.net_area,
        "return_area": q.return_area,
    }


def _item(item: MeasuredItem) -> dict[str, Any]:
    from takeoff.model.figures import QUANTITY_FIELDS

    q = item.quantities
    figures = {name: getattr(q, name) for name in (*QUANTITY_FIELDS, *DERIVED)}
    return {
        "id": item.id,
        "label": item.label,
        **{name: round(value) if name in COUNTS else value for name, value in figures.items()},
        "u": {"net_area": item.u.net_area, "base_length": item.u.base_length},
        "runs": list(item.sources),
    }


def priced_json(priced: Priced) -> dict[str, Any]:
    """The estimate, each line with its arithmetic in words."""
    e = priced.estimate
    money = partial(_money, e.currency)
    return {
        "schema": "takeoff.estimate/1",
        "currency": e.currency,
        "total": money(e.line("price").amount),
        "net_area": e.net_area,
        "price_per_area": money(e.price_per_area),
        "paid_area": e.paid_area,
        "price_per_paid_area": money(e.price_per_paid_area),
        "hours": e.hours,
        "crew_days": e.crew_days,
        "price": [
            {"id": p.id, "label": p.label, **money(p.amount), "arithmetic": list(p.arithmetic.lines)} for p in e.price
        ],
        "areas": [_area(line) for line in e.areas],
        "materials": [_material(line, money) for line in e.materials],
        "labour": [_labour(line, money) for line in e.labour],
        "rooms": [_share(line, money) for line in e.rooms],
        "systems": [_share(line, money) for line in e.systems],
        "cautions": list(e.cautions),
        "notes": list(e.notes),
    }


def _money(currency: str, amount: float) -> dict[str, Any]:
    return {"amount": amount, "currency": currency}


def _share(line: RoomPrice, money: Money) -> dict[str, Any]:
    return {
        "id": line.id,
        "label": line.label,
        "net_area": line.area,
        "material": money(line.material),
        "labour": money(line.labour),
        "price": money(line.price),
    }


def _area(line: AreaLine) -> dict[str, Any]:
    return {
        "room": line.room,
        "system": line.system,
        "is_coated": line.is_coated,
        "net_area": line.net,
        "return_area": line.returns,
        "behind_cove_area": line.behind_cove,
        "coated_area": line.coated,
        "arithmetic": list(line.arithmetic.lines),
    }


def _material(line: MaterialLine, money: Money) -> dict[str, Any]:
    return {
        "product": line.product,
        "name": line.name,
        "unit": line.unit,
        "needed": line.needed,
        "bought": line.bought,
        "left_over": line.left_over,
        "packs": [{"pack": p.pack, "size": p.size, "price": money(p.price), "count": p.count} for p in line.packs],
        "colour_packs": line.colour_packs,
        "cost": money(line.cost),
        "arithmetic": list(line.arithmetic.lines),
    }


def _labour(line: LabourLine, money: Money) -> dict[str, Any]:
    return {
        "system": line.system,
        "step": line.step,
        "name": line.name,
        "room": line.room,
        "basis": line.basis,
        "basis_value": line.basis_value,
        "hours": line.hours,
        "cost": money(line.cost),
        "arithmetic": list(line.arithmetic.lines),
    }


def sheets_json(job: Job) -> list[dict[str, Any]]:
    """The register; each sheet comes with its file's name, its scale, if it has one, and the walls that stand on it."""
    on = Counter(run.sheet for run in job.runs.values())
    return [
        {
            "position": sheet.id,
            "number": sheet.number,
            "title": sheet.title,
            "revision": sheet.revision,
            "date": sheet.date,
            "replaced_by": sheet.replaced_by,
            "walls": on[sheet.id],
            "file": job.sources[sheet.source].name,
            "page": sheet.page,
            "kind": sheet.kind,
            "width_pt": sheet.width_pt,
            "height_pt": sheet.height_pt,
            "rotation": sheet.rotation,
            "scale_note": sheet.scale_note,
            "scale": None if scale is None else scale_json(scale),
        }
        for sheet, scale in ((s, job.calibrations.get(str(s.id))) for s in job.sheets.values())
    ]


def places_json(places: Iterable[Place]) -> list[dict[str, Any]]:
    """The points on a sheet: ``kind`` (room, dimension, text), ``words`` and ``points``."""
    return [{"kind": p.kind, "words": p.words, "points": [list(point) for point in p.points_pt]} for p in places]


def scale_json(scale: Calibration) -> dict[str, Any]:
    """A calibration: metres per sheet point along x and y, and the relative standard uncertainty."""
    return {
        "sheet": scale.sheet,
        "region": scale.region,
        "ratio": scale.ratio,
        "mx": scale.mx,
        "my": scale.my,
        "u_scale": scale.u_scale,
        "source": scale.source,
        "stated": scale.stated,
        "residuals": list(scale.residuals),
        "doubts": list(scale.open_words),
    }


def history_json(lines: Iterable[JournalLine]) -> list[dict[str, Any]]:
    """The journal, oldest first."""
    return [{"seq": h.seq, "at": h.at, "who": h.who, "verb": h.verb, "label": h.label} for h in lines]
