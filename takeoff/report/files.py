"""Write files whole or not at all."""

from __future__ import annotations

import errno
import os
import tempfile
from pathlib import Path

from takeoff.errors import ReportError


def write_whole(path: Path, content: bytes) -> Path:
    """Write a file by way of a temporary one beside it, so that a reader never sees half of it.

    Raises
    ------
    ReportError
        If the folder cannot be made or written to, or the disk is full.
    """
    temporary = ""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        Path(temporary).chmod(0o644)
        Path(temporary).replace(path)
    except FileExistsError as error:
        raise ReportError(f"{path.parent} is a file, not a folder", remedy="Name a folder to write to.") from error
    except OSError as error:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
        is_full = error.errno == errno.ENOSPC
        remedy = "Make room on the disk and try again." if is_full else "Name a folder that can be written to."
        raise ReportError(f"{path}: {error.strerror or error}", remedy=remedy) from error
    return path
