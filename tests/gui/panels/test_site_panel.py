"""The page for the site: packs used, readings, films, clocks; entered, refused, undone, removed."""

from __future__ import annotations

import json
from datetime import datetime, timedelta

import pytest

from takeoff.actions.site_log import local_time
from takeoff.cli.main import run
from takeoff.gui.dialogs.site_dialogs import ReadingDialog, UseDialog
from takeoff.gui.session import Selection
from takeoff.gui.widgets import ctk


@pytest.fixture
def site(hand, opened):
    hand.window.figures.open_page("Site")
    hand.settle()
    return hand.window.figures.panels["Site"]


def use_dialog(hand, step="glaze"):
    dialog = UseDialog(hand.window)
    hand.settle()
    dialog.form["step"]._chosen(dialog.form["step"]._labels[f"mat-hygienic/{step}"])
    return dialog


def enter(hand, dialog, **texts):
    for name, text in texts.items():
        dialog.form[name]._put(text)
    hand.key_in(dialog, "<Control-Return>")


def rows(site):
    return [site.table.tree.item(id, "values") for id in site.table.tree.get_children()]


def test_packs_used_show_the_film_and_what_is_left_as_the_command_line_does(hand, site, traced_job, capsys):
    # By hand: a kit of 3 gal is 11.356 L; 12 % are lost, and 0.025 gal of the whole coat stay in tools; on 600 ft2 =
    # 55.742 m2 it lays 179 µm = 7.0 mils, 203 µm are specified.
    hand.window.session.select(Selection(runs=("104-walls",)))
    dialog = use_dialog(hand)
    assert dialog.form.text("room") == "R104"
    enter(hand, dialog, packs="1", area="600 sf")
    assert "Recorded 1 × 3 gal kit" in dialog.said.cget("text")
    assert "too thin" in dialog.said.cget("text")
    assert dialog.form["packs"].entry.get() == dialog.form["area"].entry.get() == ""
    dialog.destroy()
    hand.settle()
    line = next(c for c in site.coats if (c.system, c.step) == ("mat-hygienic", "glaze"))
    on_wall = line.target.area * 8 * 25.4e-3  # litres: m² and mm
    left = on_wall / (on_wall / 0.88 + 0.025 * 3.785411784)
    assert line.state.film * 1e6 == pytest.approx(11.3562 * left / 55.7418 * 1e3, abs=0.1)
    row = rows(site)[site.coats.index(line)]
    assert row[3:5] == ("7.0 mils", "8.0 mils")
    assert row[5] == "too thin"
    assert "1 coat off" in site.state.cget("text")
    site.open_part("Rooms")
    assert rows(site)[0][0] == "104 Process"
    assert rows(site)[0][3] == "wait"
    hand.window.close_job()
    capsys.readouterr()
    assert run(["progress", str(traced_job), "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    glaze = next(c for c in printed["coats"] if (c["system"], c["step"]) == ("mat-hygienic", "glaze"))
    assert (glaze["film"], glaze["packs_to_finish"]) == (line.state.film, line.state.packs_to_finish)


def test_a_line_tells_how_its_film_comes_about(hand, site):
    dialog = use_dialog(hand)
    enter(hand, dialog, packs="1", area="600")
    dialog.destroy()
    at = next(i for i, c in enumerate(site.coats) if (c.system, c.step) == ("mat-hygienic", "glaze"))
    site.table.tree.selection_set(str(at))
    hand.settle()
    told = hand.window.figures.working.get("1.0", "end")
    for words in ("wet film laid: 7.0 mils", "specified: 8.0 mils", "3.00 gal used", "12.3 % loss", "to finish"):
        assert words in told


def test_what_does_not_fit_is_said_and_nothing_is_kept(hand, site):
    dialog = use_dialog(hand)
    for texts, said in (
        ({"packs": "one", "area": "600"}, "is not a number"),
        ({"packs": "1", "area": ""}, "no area is done"),
        ({"packs": "1", "area": "1000000"}, "are recorded as done"),
        ({"packs": "1", "area": "0"}, "no area is done"),
        ({"packs": "-1", "area": "600"}, "-1 packs"),
        ({"packs": "1", "area": "600", "finished": "yesterday"}, "is not a time"),
    ):
        enter(hand, dialog, **texts)
        assert said in dialog.said.cget("text")
        assert not hand.window.session.job.uses
        assert dialog.form["packs"].entry.get() == texts["packs"]


def test_a_coat_cannot_be_finished_later_than_now(hand, site):
    dialog = use_dialog(hand)
    enter(hand, dialog, packs="1", area="600", finished=local_time(datetime.now() + timedelta(hours=2)))
    assert "later than now" in dialog.said.cget("text")
    assert not hand.window.session.job.uses


def test_a_room_past_its_recoat_window_is_flagged(hand, site):
    # the glaze is open for the next coat from 12 to 48 h after it
    hand.window.session.select(Selection(runs=("104-walls",)))
    dialog = use_dialog(hand)
    enter(hand, dialog, packs="1", area="600", finished=local_time(datetime.now() - timedelta(hours=50)))
    dialog.destroy()
    hand.settle()
    assert "1 room past recoat" in site.state.cget("text")
    site.open_part("Rooms")
    assert rows(site)[0][3] == "missed: abrade first"
    assert site.table.tree.item("0", "tags") == ("warned",)


def test_a_reading_is_judged_kept_and_shown(hand, site):
    # as read off the usual tables: 16 °C at 71 % has its dew point near 10.7 °C, so that a wall of 13 °C is too cold
    dialog = ReadingDialog(hand.window)
    hand.settle()
    enter(hand, dialog, air="16 C", surface="13 C", humidity="71")
    assert "may not be coated" in dialog.said.cget("text")
    assert "Dew point 51.3 °F" in dialog.said.cget("text")
    enter(hand, dialog, air="16 C", surface="", humidity="71")
    assert "nothing is written" in dialog.said.cget("text")
    enter(hand, dialog, air="70", surface="70", humidity="50 %")
    assert "It may be coated." in dialog.said.cget("text")
    dialog.destroy()
    site.open_part("Log")
    assert len(rows(site)) == 2


def test_records_come_undone_and_one_chosen_is_removed(hand, site):
    session = hand.window.session
    dialog = use_dialog(hand)
    enter(hand, dialog, packs="1", area="600")
    enter(hand, dialog, packs="2", area="700")
    assert "Recorded 2" in dialog.said.cget("text")
    dialog.destroy()
    assert len(session.job.uses) == 2
    hand.chord("Control-z")
    assert len(session.job.uses) == 1
    hand.chord("Control-y")
    site.open_part("Log")
    assert str(site.remove.cget("state")) == "disabled"
    site.table.tree.selection_set("0")
    hand.settle()
    chosen = site.records[0].id
    site.remove.invoke()
    assert chosen not in session.job.uses
    assert len(session.job.uses) == 1
    hand.chord("Control-z")
    assert len(session.job.uses) == 2


def test_without_a_system_the_page_says_what_to_do_first(hand, job_file):
    hand.open(job_file)
    hand.window.figures.open_page("Site")
    hand.settle()
    assert "give their rooms a system" in hand.window.figures.panels["Site"].state.cget("text")
    hand.key("F2")
    dialog = hand.dialogs()[0]
    assert "No step is planned yet" in dialog.said.cget("text")
    assert str(dialog.act_button.cget("state")) == "disabled"


def test_coats_have_the_names_of_their_systems(hand, site):
    names = [name for _, name in hand.window.session.systems()]
    site.open_part("Coats")
    assert all(any(row[0].endswith(f" · {name}") for name in names) for row in rows(site))


def act_called(site, text):
    return next(act for _, act in site.acts if isinstance(act, ctk.CTkButton) and act.cget("text") == text)


def type_when(hand, site, text):
    hand.type((site.at if site.part == "Rooms" else site.on).entry, text)
    hand.settle()


def test_hours_of_any_step_are_recorded_by_person_and_listed_in_the_log(hand, site, tmp_path, monkeypatch, capsys):
    dialog = use_dialog(hand, "sand")
    enter(hand, dialog, area="200 sf", hours="2", person="First hand")
    assert "Recorded 2 h on 200.0 sf" in dialog.said.cget("text")
    enter(hand, dialog, hours="1.5", person="Second hand", finished="2026-03-04 15:00")
    dialog.destroy()
    site.open_part("Log")
    told = hand.window.figures.working.get("1.0", "end")
    assert "First hand  2 h" in told
    assert "2026-03-04  Second hand  1.5 h" in told
    type_when(hand, site, "yesterday")
    assert "is not a date" in site.state.cget("text")
    type_when(hand, site, "2026-03-04")
    assert len(rows(site)) == 1
    out = tmp_path / "log.csv"
    monkeypatch.setattr("takeoff.gui.widgets.form.filedialog.asksaveasfilename", lambda **_: str(out))
    act_called(site, "Write…").invoke()
    job = str(hand.window.session.path)
    capsys.readouterr()
    assert run(["log", job, "--day", "2026-03-04", "--out", str(tmp_path / "by-command.csv")]) == 0
    assert out.read_bytes() == (tmp_path / "by-command.csv").read_bytes()


def test_rates_found_on_site_stand_beside_those_of_the_catalogue_and_are_kept_where_asked(hand, site):
    dialog = use_dialog(hand, "sand")
    enter(hand, dialog, area="200 sf", hours="9")
    dialog.destroy()
    site.open_part("Hours")
    hand.settle()
    (row,) = rows(site)
    assert row[0].startswith("Light sanding · ")
    assert row[3] == "9.00 h"
    found = row[5]
    assert found != row[4]
    act_called(site, "Keep rates").invoke()
    hand.settle()
    assert rows(site)[0][4] == found  # the rate found is the catalogue's now
    hand.chord("Control-z")
    assert rows(site)[0][4] != found


def test_the_recoat_clocks_are_read_for_the_time_that_is_typed(hand, site):
    hand.window.session.select(Selection(runs=("104-walls",)))
    dialog = use_dialog(hand)
    enter(hand, dialog, packs="1", area="600 sf")
    dialog.destroy()
    site.open_part("Rooms")
    assert rows(site)[0][3] == "wait"
    type_when(hand, site, local_time(datetime.now() + timedelta(days=9)))
    assert rows(site)[0][3] == "missed: abrade first"
    type_when(hand, site, "")
    assert rows(site)[0][3] == "wait"


def test_a_reading_keeps_the_moisture_of_the_wall(hand, site):
    dialog = ReadingDialog(hand.window)
    enter(hand, dialog, air="70", surface="70", humidity="50 %", moisture="3.5")
    dialog.destroy()
    (reading,) = hand.window.session.job.readings.values()
    assert reading.moisture == pytest.approx(0.035)
    site.open_part("Log")
    assert "moisture 3.5 %" in rows(site)[0][3]
