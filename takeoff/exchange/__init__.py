"""Files that go in and out: edits, catalogue, JSON, drawings, tables.

Of all of them: ``data`` are the bytes of a file called ``name``, ``title`` is the job's name, ``at`` a time, ISO 8601.
``runs`` come with their measured faces. ``taken`` are ids that runs which come in must not get, ``height`` is the top
of the coating above the floor in m for those that other programs drew. A refusal has the place of the fault in
``where``: a JSON path, a row, a line; a `SheetError` is a file that cannot be read.
"""
