"""Results as JSON: lengths in m, areas in m², volumes in L, mass in kg, money with its currency."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any

from takeoff.cli.table import UNSEEN

if TYPE_CHECKING:
    from takeoff.actions import Measured, Priced
    from takeoff.job.job import Job
    from takeoff.measure.faces import MeasuredFace
    from takeoff.model.costs import AreaLine, MaterialLine, RoomPrice
    from takeoff.model.figures import MeasuredItem
    from takeoff.model.plan import Calibration

    Money = Callable[[float], dict[str, Any]]

COUNTS = frozenset({"inside_corners", "outside_corners", "cove_inside_corners", "cove_outside_corners", "openings"})
DERIVED = ("opening_edge_length", "corner_length", "termination_length", "masked_length", "coated_area")


def dump(value: object) -> str:
    """Write a value as JSON text, indented; what would steer a terminal stands there by its number."""
    text = json.dumps(value, indent=1, ensure_ascii=False, default=lambda moment: moment.isoformat(timespec="minutes"))
    return UNSEEN.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def picked(value: object, names: str, /, **more: object) -> dict[str, Any]:
    """Return some fields of a value by name, those of ``names`` parted by spaces, and ``more`` beside them."""
    return {**{name: getattr(value, name) for name in names.split()}, **more}


def amount(money: float, currency: str) -> dict[str, Any]:
    """Return money with its currency."""
    return {"amount": money, "currency": currency}


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
        "left_out": m.left_out,
        **faces,
    }


def _face(face: MeasuredFace) -> dict[str, Any]:
    e, q = face.elevation, face.quantities
    openings = [
        {"kind": o.source.kind, "mark": o.source.mark, "from": o.x0, "to": o.x1, "sill": o.z0, "head": o.z1}
        for o in e.openings
    ]
    corners = [picked(c, "turn length", at=c.station, joined=c.joined or None) for c in e.corners]
    return {
        **picked(e, "run face room system length base profile", openings=openings, corners=corners),
        **picked(q, "gross_area deducted_area net_area return_area"),
    }


def _item(item: MeasuredItem) -> dict[str, Any]:
    from takeoff.model.figures import QUANTITY_FIELDS

    figures = picked(item.quantities, " ".join((*QUANTITY_FIELDS, *DERIVED)))
    return {
        **picked(item, "id label"),
        **{name: round(value) if name in COUNTS else value for name, value in figures.items()},
        "u": picked(item.u, "net_area base_length"),
        "runs": item.sources,
    }


def priced_json(priced: Priced) -> dict[str, Any]:
    """The estimate, each line with its arithmetic in words."""
    e = priced.estimate
    money = partial(amount, currency=e.currency)
    return {
        "schema": "takeoff.estimate/1",
        "currency": e.currency,
        "total": money(e.line("price").amount),
        "price_per_area": money(e.price_per_area),
        "price_per_paid_area": money(e.price_per_paid_area),
        **picked(e, "net_area paid_area hours crew_days cautions notes"),
        "price": [picked(p, "id label", **money(p.amount), arithmetic=p.arithmetic) for p in e.price],
        "areas": [_area(line) for line in e.areas],
        "materials": [_material(line, money) for line in e.materials],
        "labour": [
            picked(
                line, "system step name room basis basis_value hours",
                cost=money(line.cost), arithmetic=line.arithmetic,
            )
            for line in e.labour
        ],
        "rooms": [_share(line, money) for line in e.rooms],
        "systems": [_share(line, money) for line in e.systems],
    }  # fmt: skip


def _share(line: RoomPrice, money: Money) -> dict[str, Any]:
    figures = {name: money(getattr(line, name)) for name in ("material", "labour", "price")}
    return picked(line, "id label", net_area=line.area, **figures)


def _area(line: AreaLine) -> dict[str, Any]:
    return {
        **picked(line, "room system is_coated", net_area=line.net, return_area=line.returns),
        "behind_cove_area": line.behind_cove,
        "coated_area": line.coated,
        "arithmetic": line.arithmetic,
    }


def _material(line: MaterialLine, money: Money) -> dict[str, Any]:
    return picked(
        line,
        "product name unit needed bought left_over colour_packs",
        packs=[picked(p, "pack size count", price=money(p.price)) for p in line.packs],
        cost=money(line.cost),
        arithmetic=line.arithmetic,
    )


def sheets_json(job: Job) -> list[dict[str, Any]]:
    """The register; each sheet comes with its file's name, its scale, if it has one, and the walls that stand on it."""
    on = Counter(run.sheet for run in job.runs.values())
    scales = {id: job.calibrations.get(str(id)) for id in job.sheets}
    return [
        picked(
            sheet,
            "number title revision date replaced_by page kind width_pt height_pt rotation scale_note",
            position=sheet.id,
            walls=on[sheet.id],
            file=job.sources[sheet.source].name,
            scale=None if (scale := scales[sheet.id]) is None else scale_json(scale),
        )
        for sheet in job.sheets.values()
    ]


def scale_json(scale: Calibration) -> dict[str, Any]:
    """A calibration: metres per sheet point along x and y, and the relative standard uncertainty."""
    return picked(scale, "sheet region ratio mx my u_scale source stated residuals", doubts=scale.open_words)
