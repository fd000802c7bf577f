"""Faces without openings, for what is worked out by hand."""

import shapely

from takeoff.model.figures import Corner, Elevation


def blank_face(length, height, *, is_closed=False, inside=0, outside=0, run="a"):
    """Make a blank rectangle on the floor, its inside and outside corners evenly spaced."""
    wall = shapely.box(0.0, 0.0, length, height)
    turns = [1.0] * inside + [-1.0] * outside
    corners = tuple(
        Corner(station=(n + 0.5) / len(turns) * length, turn=turn, length=height, vertex=n)
        for n, turn in enumerate(turns)
    )
    return Elevation(
        run=run, face="left", room=None, system=None, length=length, is_closed=is_closed, top="ceiling", base=0.0,
        wall=wall, net=wall, profile=((0.0, height), (length, height)), openings=(), corners=corners,
        line=(),
    )  # fmt: skip
