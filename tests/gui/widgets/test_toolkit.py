"""Bringing in the toolkit leaves the fonts of open windows alone."""

from __future__ import annotations

import mmap
import os
import subprocess
import sys
from pathlib import Path

import pytest

from takeoff.gui.widgets.toolkit import ctk, keep_font

FONTS = Path(ctk.__file__).parent / "assets" / "fonts"


def fonts_in(home):
    return {p.name: (p.stat().st_ino, p.stat().st_mtime_ns) for p in (home / ".fonts").iterdir()}


def bring_in(home):
    code = "from takeoff.gui.widgets.toolkit import ctk"
    subprocess.run([sys.executable, "-c", code], env={**os.environ, "HOME": str(home)}, check=True)


def test_the_first_import_puts_the_fonts_of_the_toolkit_in_place(tmp_path):
    bring_in(tmp_path)
    shapes = tmp_path / ".fonts" / "CustomTkinter_shapes_font.otf"
    assert shapes.read_bytes() == (FONTS / shapes.name).read_bytes()


def test_a_second_import_does_not_touch_them(tmp_path):
    bring_in(tmp_path)
    before = fonts_in(tmp_path)
    bring_in(tmp_path)
    assert fonts_in(tmp_path) == before


def test_another_version_of_a_font_is_replaced_whole_while_the_old_one_stays_mapped(tmp_path):
    old = tmp_path / "CustomTkinter_shapes_font.otf"
    old.write_bytes(b"older" * 10_000)
    with old.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as mapped:
        keep_font(str(FONTS / old.name), str(tmp_path))
        assert mapped[-5:] == b"older"
    assert old.read_bytes() == (FONTS / old.name).read_bytes()
    assert [p.name for p in tmp_path.iterdir()] == [old.name]


def test_a_font_that_cannot_be_read_leaves_nothing_behind(tmp_path):
    with pytest.raises(OSError, match=r"none\.otf"):
        keep_font(str(tmp_path / "none.otf"), str(tmp_path))
    assert list(tmp_path.iterdir()) == []


def test_a_wheel_turned_over_a_dialog_of_tks_own_scrolls_nothing_and_breaks_nothing(window):
    window.tk.call("toplevel", ".of_tks_own")
    try:
        assert not window.desk.sheets._check_if_valid_scroll(".of_tks_own")
        assert window.desk.sheets._check_if_valid_scroll(window.desk.sheets._parent_canvas)
    finally:
        window.tk.call("destroy", ".of_tks_own")
