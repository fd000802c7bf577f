"""What every test file shares."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("takeoff", deadline=None, derandomize=True)
settings.load_profile("takeoff")
