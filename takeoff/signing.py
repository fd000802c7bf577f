"""Who did something and when, for the journal: asked of the system at the rim, handed down as values.

A person's name is what they set it to, kept in their settings folder; the login name stands in for it.
"""

from __future__ import annotations

import getpass
import os
from datetime import UTC, datetime
from pathlib import Path

from takeoff.errors import InputError

LONGEST_NAME = 80
"""Letters of a person's name."""


def settings_folder() -> Path:
    """Folder of a person's settings; ``TAKEOFF_CONFIG`` names another."""
    folder = os.environ.get("TAKEOFF_CONFIG")
    if folder:
        return Path(folder)
    import platformdirs

    return Path(platformdirs.user_config_dir("takeoff"))


def person() -> str:
    """Name of the person at the keyboard: as they set it, else the login name."""
    try:
        name = _name_file().read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError):
        name = ""
    if name:
        return name[:LONGEST_NAME]
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "unknown"


def set_person(name: str) -> None:
    """Keep a person's name for what they do from now on; an empty one goes back to the login name.

    Raises `InputError` when the name is too long or has line breaks, or the settings folder cannot be written to.
    """
    plain = name.strip()
    if len(plain) > LONGEST_NAME or not plain.isprintable():
        raise InputError("this is no name", remedy=f"Write one line of at most {LONGEST_NAME} letters.")
    path = _name_file()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"{plain}\n", encoding="utf-8")
    except OSError as error:
        raise InputError(
            f"{path} cannot be written to ({error.strerror})", remedy="Name another folder in TAKEOFF_CONFIG."
        ) from error


def now() -> str:
    """The time, in UTC to the second, ISO 8601."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def signed() -> tuple[str, str]:
    """Who is at the keyboard, and the time."""
    return person(), now()


def _name_file() -> Path:
    return settings_folder() / "person.txt"
