"""What a system takes: coats, mat, cove, strips, packs, and the check of a catalogue.

Of all of it: ``catalogue`` passed `catalogue_check.check_catalogue`, ``lots`` are one for each room and system,
``words`` writes figures, and ``effort`` is how long to look for fewer rolls and lengths than first-fit decreasing
takes, as of `takeoff.system.packing.pack`. A `CatalogueError` says what is not in the catalogue, lacks what it needs or
is out of its range.
"""
