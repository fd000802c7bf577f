"""What the window remembers of a person between jobs: recent jobs, light or dark, size of the text."""

from __future__ import annotations

import tempfile
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

import msgspec

from takeoff.signing import settings_folder

RECENT = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportChoices:
    """What was last chosen for reports: kinds left out, files, paper (empty: by the units), crews, whether days.

    ``edition`` is full or bid, ``price_by`` how a bid sets out the price.
    """

    left_out: tuple[str, ...] = ()
    letterhead: str = ""
    catalogue: str = ""
    paper: str = ""
    crews: int = 1
    has_days: bool = True
    edition: str = "full"
    price_by: str = "lump-sum"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where the window was, in pixels of the screen; width 0 is nowhere yet. ``is_whole``: it filled the screen."""

    left: int = 0
    top: int = 0
    width: int = 0
    height: int = 0
    is_whole: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """Width of the sheets and of the panel, and height of the tables, in pixels at 100 %; 0 is the usual one."""

    sheets: int = 0
    side: int = 0
    table: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Preferences:
    """Recent job files, newest first; look; text size, 1.0 is 100 %; choices for reports; place, sizes.

    ``first_system`` is the id of the system that the last new job began with, empty for none.
    """

    recent: tuple[str, ...] = ()
    is_dark: bool = False
    text_size: float = 1.0
    reports: ReportChoices = ReportChoices()
    first_system: str | None = None
    place: Place = Place()
    sizes: Sizes = Sizes()

    def with_job(self, path: Path) -> Preferences:
        """Put a job first among the recent ones."""
        name = str(path.resolve())
        return replace(self, recent=(name, *(r for r in self.recent if r != name))[:RECENT])


def preferences_file() -> Path:
    """Where preferences are kept; ``TAKEOFF_CONFIG`` names another folder."""
    return settings_folder() / "window.json"


def read_preferences(path: Path) -> Preferences:
    """Read preferences; a file that cannot be read is set aside and the usual ones are taken."""
    try:
        found = msgspec.json.decode(path.read_bytes(), type=Preferences)
    except FileNotFoundError:
        return Preferences()
    except (OSError, msgspec.DecodeError):
        with suppress(OSError):
            path.replace(path.with_suffix(".unreadable"))
        return Preferences()
    return replace(found, text_size=min(max(found.text_size, 1.0), 2.0))


def write_preferences(path: Path, preferences: Preferences) -> None:
    """Write preferences whole or not at all; a folder that cannot be written to is no reason to stop work."""
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, delete=False) as target:
            target.write(msgspec.json.encode(preferences))
        Path(target.name).replace(path)


def append_line(path: Path, text: str) -> None:
    """Add to a log; where that cannot be, the window has shown it already."""
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("a", encoding="utf-8") as log:
            log.write(text.rstrip() + "\n")
