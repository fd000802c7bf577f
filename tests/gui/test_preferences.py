"""Preferences are kept whole, and no file of theirs keeps the window from starting."""

from __future__ import annotations

from takeoff.gui.preferences import RECENT, Preferences, ReportChoices, append_line, read_preferences, write_preferences


def test_preferences_read_back_as_written(tmp_path):
    path = tmp_path / "folder" / "window.json"
    kept = Preferences(recent=("/a.takeoff",), is_dark=True, text_size=1.5, reports=ReportChoices(paper="a4", crews=3))
    write_preferences(path, kept)
    assert read_preferences(path) == kept


def test_a_damaged_file_is_set_aside_and_the_window_starts(tmp_path):
    path = tmp_path / "window.json"
    path.write_bytes(b"{not json")
    assert read_preferences(path) == Preferences()
    assert (tmp_path / "window.unreadable").read_bytes() == b"{not json"


def test_a_text_size_out_of_range_is_brought_into_it(tmp_path):
    path = tmp_path / "window.json"
    path.write_bytes(b'{"text_size": 9.0}')
    assert read_preferences(path).text_size == 2.0


def test_recent_jobs_are_kept_newest_first_without_repeats(tmp_path):
    preferences = Preferences()
    for i in range(RECENT + 3):
        preferences = preferences.with_job(tmp_path / f"{i}.takeoff")
    preferences = preferences.with_job(tmp_path / "5.takeoff")
    assert len(preferences.recent) == RECENT
    assert preferences.recent[0].endswith("5.takeoff")
    assert len(set(preferences.recent)) == RECENT


def test_a_folder_that_cannot_be_written_stops_nothing(tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("")
    write_preferences(blocked / "window.json", Preferences())
    append_line(blocked / "faults.log", "text")
