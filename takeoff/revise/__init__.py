"""A new issue of a sheet: registered onto the old one, compared with it, and the runs carried across.

Of all of it: ``old`` and ``new`` are the two issues, each in its own sheet points; ``registration`` says how the old
one lies on the new one. ``scale`` is the new sheet's calibration, ``m_per_pt`` its metres for a point, and what ends in
``_pt`` is in its points: ``tolerance_pt`` the distance within which lines are one, ``focus_pt`` the box that holds the
plan. Changes below ``smallest``, in metres, are left out. ``known`` are openings whose sizes a new one may take over,
the likeliest first. ``length`` and ``say`` write metres. What cannot be registered well enough is a `SheetError`.
"""
