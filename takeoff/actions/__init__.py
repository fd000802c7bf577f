"""One function per verb, values in and values out: what the command line does, and the library's public face.

A verb's module is read when the verb is first asked for: most commands need few of them. What all of them share is said
here alone. ``store`` is an open job file, ``job`` the job in it, ``measured`` and ``priced`` what `measure_ready` and
`make_estimate` make of it; ``catalogue`` and ``rule`` are the job's own where ``None``. ``sign`` says who
changes a job and when, for its journal; ``at``, ISO 8601, is the day of what is written. ``data`` are the bytes of a
file called ``name``. ``progress`` is told the fraction done, 0 to 1. Every edit can be undone.

A verb raises `StoreError` where the job file, `SheetError` where a plan file cannot be read, `ReportError` where a file
cannot be written, `CalibrationError`, `GeometryError` and `CatalogueError` where scale, walls or catalogue do not let a
job be measured and priced, `EditError` where an edit does not fit the job, which stays as it is, and `InputError` where
what is named is not there. What it refuses besides is said with it.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
