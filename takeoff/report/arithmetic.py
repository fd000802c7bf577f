"""How a face's figures came about, in lines that can be followed with a pocket calculator."""

from __future__ import annotations

from takeoff.measure.faces import MeasuredFace
from takeoff.units import Display


def face_arithmetic(face: MeasuredFace, show: Display) -> tuple[str, ...]:
    """Explain the net area, returns and corners of one measured face.

    Parameters
    ----------
    face
        The face.
    show
        How lengths and areas are shown.
    """
    e, q = face.elevation, face.quantities
    lowest, highest = min(h for _, h in e.profile) - e.base, e.max_height
    height = show.length(highest) if lowest == highest else f"{show.length(lowest)} to {show.length(highest)}"
    lines = [f"gross: {show.length(e.length)} × {height} = {show.area(q.gross_area)}"]
    for o in e.openings:
        lines.append(
            f"{o.source.kind} {o.source.mark}".rstrip()
            + f": {show.length(o.x1 - o.x0)} × {show.length(o.z1 - o.z0)} from {show.length(o.x0)}, "
            f"sill {show.length(o.z0)}"
        )
    lines.append(f"net: {show.area(q.gross_area)} − {show.area(q.deducted_area)} = {show.area(q.net_area)}")
    if q.return_area or q.cove_band_area:
        returns = f" + {show.area(q.return_area)} of coated returns" if q.return_area else ""
        cove = f" − {show.area(q.cove_band_area)} behind the cove" if q.cove_band_area else ""
        lines.append(f"coated: {show.area(q.net_area)}{returns}{cove} = {show.area(q.coated_area)}")
    for c in e.corners:
        kind = "inside" if c.is_inside else "outside"
        joined = f", with {c.joined}" if c.joined else ""
        lines.append(f"{kind} corner at {show.length(c.station)}: {show.length(c.length)}{joined}")
    return tuple(lines)
