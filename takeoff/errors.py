"""The tree of errors.

Every refusal that a person can cause is one of these. Each says what was found, and what to do about it.

    TakeoffError            exit code 2
    ├── InputError          a value or file that cannot be used
    │   └── LengthError     a text that is not one unambiguous length
    ├── SheetError          a plan file that cannot be opened or read
    ├── CalibrationError    a scale that is missing, impossible or contradicted
    ├── GeometryError       a run, opening or profile that no wall can have
    ├── EditError           an edit that does not fit the job
    ├── CatalogueError      a system, product or rate that is not valid
    ├── StoreError          a job file that cannot be read or written
    └── ReportError         a report that cannot be made
"""

from __future__ import annotations


class TakeoffError(Exception):
    """A refusal with its reason and its remedy.

    Parameters
    ----------
    message
        What was found, in one line.
    remedy
        What to do about it, in one line; may be empty.
    where
        The place of the fault: a JSON path, a sheet, a run; may be empty.
    """

    exit_code = 2

    def __init__(self, message: str, *, remedy: str = "", where: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.remedy = remedy
        self.where = where

    def __str__(self) -> str:
        """Join place, message and remedy into one line."""
        head = f"{self.where}: {self.message}" if self.where else self.message
        if not self.remedy:
            return head
        return f"{head if head.endswith('?') else head.rstrip('.') + '.'} {self.remedy}"


class InputError(TakeoffError, ValueError):
    """A value or a file that cannot be used."""


class LengthError(InputError):
    """A text that is not one unambiguous length."""


class SheetError(TakeoffError):
    """A plan file that cannot be opened or read."""


class CalibrationError(TakeoffError, ValueError):
    """A scale that is missing, impossible or contradicted."""


class GeometryError(TakeoffError, ValueError):
    """A run, opening or height profile that no wall can have."""


class EditError(TakeoffError, ValueError):
    """An edit that does not fit the job."""


class CatalogueError(TakeoffError, ValueError):
    """A system, product or rate that is not valid."""


class StoreError(TakeoffError):
    """A job file that cannot be read or written."""


class OvertakenError(StoreError):
    """Another window or command has changed the job since it was read; nothing was changed."""


class ReportError(TakeoffError):
    """A report that cannot be made."""
