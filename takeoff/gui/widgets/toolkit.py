"""The toolkit of the window, brought in without disturbing windows that are already open.

Where it is imported, customtkinter copies its fonts into the person's font folder, each time over the files that are
there. A window of another process has those very files mapped into memory: cut short under its hands, even for a
moment, they end it with a bus error. Here a font that is already the same is left alone, and a new one is put in place
whole. Every module of the window takes the toolkit from here.
"""

from __future__ import annotations

import filecmp
import os
import shutil
import tempfile
from pathlib import Path


def keep_font(source: str, folder: str) -> None:
    """Put a font into a folder, in one step, unless the same is there already.

    Raises
    ------
    OSError
        The font cannot be read, or the folder not written.
    """
    target = Path(folder) / Path(source).name
    if target.exists() and filecmp.cmp(source, target, shallow=False):
        return
    handle, half = tempfile.mkstemp(dir=folder, prefix=f".{target.name}.")
    os.close(handle)
    try:
        shutil.copyfile(source, half)
        shutil.copymode(source, half)
        Path(half).replace(target)
    except OSError:
        Path(half).unlink()
        raise


_copy = shutil.copy
shutil.copy = keep_font  # type: ignore[assignment]
try:
    import customtkinter as ctk
finally:
    shutil.copy = _copy

__all__ = ["ctk", "keep_font"]
