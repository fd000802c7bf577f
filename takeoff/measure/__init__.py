"""Elevations, corners, edges, cove, measuring rules, uncertainty and totals.

Of all of them: ``calibrations`` are by run id, ``rooms`` by id, for the heights, systems and coves that a run leaves
open; ``scale`` is that of a run's sheet or scale region. Lines of measured faces are in building metres, y down.
``kept`` holds what was found out the last time, of which what rests on the same is not found out again: the figures are
the same. A `GeometryError` names the run that cannot be developed.
"""
