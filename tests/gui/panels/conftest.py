"""The window with its tables open, whatever its height."""

from __future__ import annotations

import pytest


@pytest.fixture
def hand(hand):
    hand.window.fold("figures")
    return hand
