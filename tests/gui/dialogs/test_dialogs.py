"""Dialogs: starting jobs, settings, reports with progress and stop, systems checked as typed, keys, faults."""

from __future__ import annotations

import contextlib
import gc
import getpass
import shutil
import sys
import tkinter
import weakref
import webbrowser
from dataclasses import replace
from pathlib import Path
from tkinter import ttk

import pymupdf
import pytest

from takeoff import actions
from takeoff.gui.commands import show_keys
from takeoff.gui.dialogs import job_dialogs, starting
from takeoff.gui.dialogs.job_dialogs import SettingsDialog
from takeoff.gui.dialogs.reports_dialog import ReportsDialog
from takeoff.gui.dialogs.systems_editor import SystemsEditor
from takeoff.gui.session import Selection
from takeoff.report.kinds import KINDS as REPORT_KINDS


@pytest.fixture
def out(tmp_path):
    return tmp_path / "out with space"


@pytest.fixture
def reports(hand, opened, out):
    """The dialog for reports, with CSV chosen alone and a folder that is not there yet."""
    dialog = ReportsDialog(hand.window)
    only(dialog, "csv")
    dialog.form["folder"]._put(str(out))
    return dialog


def only(dialog, *kinds):
    dialog.form.show(**{kind.name: kind.name in kinds for kind in REPORT_KINDS})


def done(hand, dialog):
    """What the dialog says when it has done what was begun."""
    hand.wait(lambda: dialog.work is None)
    return dialog.said.cget("text")


def texts_of(widget):
    """Every text that a window shows."""
    out = []
    for child in widget.winfo_children():
        with contextlib.suppress(ValueError, tkinter.TclError):
            out.append(str(child.cget("text")))
        if isinstance(child, ttk.Treeview):
            out.extend(str(cell) for row in child.get_children() for cell in child.item(row, "values"))
        out.extend(texts_of(child))
    return out


def test_the_start_screen_says_what_to_do(window):
    shown = "\n".join(texts_of(window.start))
    for words in ("Start a job from plans", "Open a job", "sample plan", "scale", "Trace"):
        assert words in shown


def test_a_job_started_from_a_metric_plan_is_metric(hand, tmp_path):
    plan = actions.sample_plans() / "facility-metric.pdf"
    assert starting.start_job(hand.window, tmp_path / "m.takeoff", [plan])
    assert hand.window.session.job.settings.units == "metric"
    assert str(tmp_path / "m.takeoff") in hand.window.preferences.recent[0]


def test_a_plan_that_cannot_be_read_is_refused_and_no_job_is_left(hand, tmp_path):
    bad = tmp_path / "bad.pdf"
    bad.write_bytes(b"%PDF-1.7 nothing")
    assert starting.start_job(hand.window, tmp_path / "b.takeoff", [bad]) is False
    assert not (tmp_path / "b.takeoff").exists()
    assert hand.window.session is None


def test_the_sample_starts_in_a_fresh_file_each_time(hand, tmp_path):
    assert job_dialogs.start_sample(hand.window, tmp_path)
    hand.window.close_job()
    assert job_dialogs.start_sample(hand.window, tmp_path)
    assert sorted(p.name for p in tmp_path.glob("*.takeoff")) == ["sample-2.takeoff", "sample.takeoff"]


def test_closed_dialogs_are_let_go_of(hand, job_file):
    # measured before: an hour's dialogs stayed in memory, each with every field and font in it
    hand.open(job_file)
    bound = hand.window.bind_all("<Button-1>")
    made = []
    for _ in range(3):
        dialog = ReportsDialog(hand.window)
        made.append(weakref.ref(dialog))
        hand.settle()
        dialog.destroy()
        del dialog
    hand.settle()
    gc.collect()
    assert [dialog() for dialog in made[:-1]] == [None, None]
    assert hand.window.bind_all("<Button-1>") == bound  # else each press does more with every dialog there was


def test_settings_change_units_and_rule_as_edits(hand, job_file):
    hand.open(job_file)
    dialog = SettingsDialog(hand.window)
    hand.settle()
    dialog.form["units"]._chosen("millimetres, square metres")
    dialog.form["rule"]._chosen("is1200-13")
    settings = hand.window.session.job.settings
    assert (settings.units, settings.rule) == ("metric", "is1200-13")
    hand.type(dialog.form["currency"].entry, "euro")
    assert "three letters" in dialog.said.cget("text")
    assert hand.window.session.job.settings.currency == "USD"
    dialog.destroy()
    hand.chord("Control-z")
    assert hand.window.session.job.settings.rule == "exact-net"


def test_your_name_is_set_for_the_journal_and_an_empty_one_goes_back_to_the_login_name(
    hand, job_file, tmp_path, monkeypatch
):
    monkeypatch.setenv("TAKEOFF_CONFIG", str(tmp_path / "settings"))
    hand.open(job_file)
    dialog = SettingsDialog(hand.window)
    hand.settle()
    assert dialog.form["person"].entry.get() == getpass.getuser()
    hand.type(dialog.form["person"].entry, "Ann Sample")
    hand.type(dialog.form["currency"].entry, "EUR")
    assert actions.history(hand.window.session.store)[-1].who == "Ann Sample"
    hand.type(dialog.form["person"].entry, "x" * 81)
    assert "no name" in dialog.said.cget("text")
    hand.type(dialog.form["person"].entry, "")
    hand.type(dialog.form["currency"].entry, "USD")
    assert actions.history(hand.window.session.store)[-1].who == getpass.getuser()
    assert dialog.form["person"].entry.get() == getpass.getuser()


def test_reports_are_written_with_progress_and_can_be_stopped(hand, reports, out):
    reports.run()
    assert "Written" in done(hand, reports)
    assert (out / "price.csv").is_file()
    only(reports, *(kind.name for kind in REPORT_KINDS))
    reports.run()
    reports.close()
    assert "Stopped" in done(hand, reports)


def test_the_folder_of_the_reports_is_shown_by_what_the_system_shows_folders_with(
    hand, reports, out, tmp_path, monkeypatch
):
    """The system's opener is a real program here, which writes down what it was asked to open."""
    asked, opener = tmp_path / "asked.txt", tmp_path / "opener.py"
    opener.write_text(f"import sys; open({str(asked)!r}, 'w').write(sys.argv[1])")
    monkeypatch.setattr(webbrowser, "_tryorder", [])
    monkeypatch.setattr(webbrowser, "_browsers", {})
    assert not reports.open_button.winfo_manager()  # nothing is written yet
    reports.run()
    done(hand, reports)
    reports.open_button.invoke()
    assert f"The reports are in {out}" in reports.said.cget("text")
    browser = webbrowser.GenericBrowser([sys.executable, str(opener), "%s"])
    webbrowser.register("recorder", None, browser, preferred=True)
    reports.open_button.invoke()
    assert asked.read_text() == out.as_uri()


def test_reports_take_letterhead_paper_and_days_and_remember_them(hand, tmp_path, reports, out):
    head = tmp_path / "head.toml"
    head.write_text('company = ["Sample Walls", "1 Sample Street"]')
    only(reports, "pdf")
    for key, text in (("letterhead", str(head)), ("start", "2026-03-02"), ("crews", "2")):
        reports.form[key]._put(text)
    reports.form["paper"]._chosen("A4")
    hand.key_in(reports, "<Control-Return>")
    assert "Written" in done(hand, reports)
    with pymupdf.open(out / "report.pdf") as pdf:
        text = "".join(page.get_text() for page in pdf)
        # ISO 216: A4 is 210 by 297 mm
        assert sorted(round(v * 25.4 / 72) for v in pdf[0].rect[2:]) == [210, 297]
    assert "Sample Walls" in text
    assert "2026-03-02" in text
    reports.destroy()
    again = ReportsDialog(hand.window)
    assert [kind.name for kind in REPORT_KINDS if again.form.text(kind.name)] == ["pdf"]
    assert again.form["letterhead"].entry.get() == str(head)
    assert (again.form["paper"].menu.get(), again.form["crews"].entry.get()) == ("A4", "2")


def test_a_bid_is_chosen_written_and_remembered_and_the_full_report_beside_it_is_left(hand, reports, out):
    assert (reports.form["edition"].menu.get(), reports.form["price_by"].menu.get()) == (
        "your own desk: everything",
        "one lump sum",
    )
    out.mkdir()
    (out / "price.csv").write_text("full")
    reports.form["edition"].menu._dropdown_menu.invoke(1)
    reports.form["price_by"].menu._dropdown_menu.invoke(1)
    # a bid of which much is open is written only where that is ticked, and the refusal names no command
    hand.key_in(reports, "<Control-Return>")
    assert "tick that the bid says what is open" in done(hand, reports)
    reports.form.show(allows_open=True)
    assert reports.currency["csv"].cget("text") == ""
    hand.key_in(reports, "<Control-Return>")
    assert "Written" in done(hand, reports)
    assert reports.currency["csv"].cget("text") == "up to date"
    assert (out / "price.csv").read_text() == "full"
    text = (out / "bid-price.csv").read_text(encoding="utf-8-sig")
    assert text.startswith("Room,")
    assert "Labour" not in text
    reports.destroy()
    again = ReportsDialog(hand.window)
    assert (again.form["edition"].menu.get(), again.form["price_by"].menu.get()) == (
        "the owner: a bid, without costs",
        "for each room",
    )


def test_the_reports_dialog_asks_what_is_needed_first_and_the_rest_where_it_is_asked_for(hand, reports, tmp_path):
    dialog = reports

    def shown(key):
        return bool(dialog.form[key].winfo_manager())

    hand.settle()
    low = dialog.winfo_reqheight()
    assert shown("folder")
    assert not any(map(shown, ("price_by", "letterhead", "second")))
    dialog.form["edition"].menu._dropdown_menu.invoke(1)
    assert shown("price_by")
    assert shown("allows_open")
    dialog.more.invoke()
    hand.settle()
    assert shown("letterhead")
    assert dialog.winfo_reqheight() > low
    dialog.more.invoke()
    assert not shown("letterhead")
    dialog.destroy()
    kept = replace(hand.window.preferences.reports, letterhead=str(tmp_path / "head.toml"))
    hand.window.remember(replace(hand.window.preferences, reports=kept))
    dialog = ReportsDialog(hand.window)
    assert shown("letterhead")  # what is remembered and acts is seen


def test_reports_that_are_older_than_the_job_are_marked(hand, reports):
    only(reports, "dxf")
    reports.show_currency()
    assert reports.currency["dxf"].cget("text") == ""
    reports.run()
    assert "Written" in done(hand, reports)
    assert reports.currency["dxf"].cget("text") == "up to date"
    run = next(iter(hand.window.session.job.runs.values()))
    hand.window.session.put_runs([replace(run, base=0.1)], "Raise a run")
    reports.show_currency()
    assert reports.currency["dxf"].cget("text") == "older than the job"


def test_a_wrong_day_or_letterhead_is_said_and_nothing_is_written(hand, tmp_path, reports, out):
    reports.form["start"]._put("Monday")
    reports.run()
    assert "is not a date" in reports.said.cget("text")
    reports.form["start"]._put("")
    reports.form["letterhead"]._put(str(tmp_path / "none.toml"))
    reports.run()
    assert "none.toml" in done(hand, reports)
    assert not out.exists()


@pytest.fixture
def editor(hand, job_file):
    hand.open(job_file)
    made = SystemsEditor(hand.window)
    hand.settle()
    return made


def test_systems_are_checked_while_they_are_typed_and_taken_as_one_edit(hand, editor):
    session = hand.window.session
    good = editor.text.get("1.0", "end-1c")
    editor.text.insert("1.0", "nonsense = [\n")
    assert editor.check() is False
    assert editor.take_button.cget("state") == "disabled"
    editor.text.delete("1.0", "end")
    editor.text.insert("1.0", good)
    assert editor.check() is True
    hand.type(editor.fields["wage"].entry, "44.5")
    hand.type(editor.fields["overhead"].entry, "15")
    editor.take()
    assert actions.catalogue_of(session.job).rates.wage == 44.5
    assert actions.catalogue_of(session.job).rates.overhead == 0.15
    hand.chord("Control-z")
    assert actions.catalogue_of(session.job).rates.wage == 38.0


def test_rates_from_fields_stay_when_the_text_is_typed_in(hand, editor):
    hand.type(editor.fields["wage"].entry, "44.5")
    editor.text.insert("1.0", "# looked through\n")
    assert editor.check() is True
    assert editor.fields["wage"].entry.get() == "44.5"
    editor.take()
    assert actions.catalogue_of(hand.window.session.job).rates.wage == 44.5


def test_what_is_not_in_the_job_yet_is_not_dropped_by_one_escape(hand, editor):
    hand.type(editor.fields["wage"].entry, "44.5")
    for is_open in (True, False):
        hand.key_in(editor, "<Escape>")
        assert bool(editor.winfo_exists()) == is_open
        if is_open:
            assert "not in the job yet" in editor.said.cget("text")
    assert actions.catalogue_of(hand.window.session.job).rates.wage == 38.0


def test_a_product_is_found_in_the_text_of_the_systems(hand, editor):
    product = editor.catalogue.products[-1].name
    editor.places._chosen(product)
    hand.settle()
    assert editor.text.get("insert linestart", "insert lineend") == f'name = "{product}"'
    assert editor.text.bbox("insert") is not None
    editor.close()
    assert not editor.winfo_exists()


def test_the_sheet_of_keys_names_every_command_with_a_key(window):
    from takeoff.gui.commands import COMMANDS

    dialog = show_keys(window)
    shown = texts_of(dialog)
    for c in COMMANDS:
        if c.key_text:
            assert c.label.removesuffix("…") in shown
            assert c.key_text in shown


def test_the_sheet_of_keys_fits_the_screen_at_twice_the_text_size(hand):
    window = hand.window
    hand.text_size(2.0)
    window.update()
    dialog = show_keys(window)
    hand.wait(lambda: dialog.winfo_height() >= 300)
    assert dialog.winfo_reqwidth() <= window.winfo_screenwidth()
    assert dialog.winfo_reqheight() <= window.winfo_screenheight()


def test_a_fault_is_shown_logged_and_survived(hand, job_file, tmp_path):
    hand.open(job_file)
    window = hand.window
    try:
        raise RuntimeError("not foreseen")
    except RuntimeError as error:
        type(window).report_callback_exception(window, RuntimeError, error, error.__traceback__)
    hand.settle()
    assert "not foreseen" in (tmp_path / "faults.log").read_text()
    dialog = hand.dialogs()[0]
    assert "Your job is safe" in "\n".join(texts_of(dialog))
    dialog.destroy()
    hand.key("v")
    assert window.tool.id == "pick"


def test_the_cautions_name_the_hazards(window):
    dialog = job_dialogs.about(window)
    shown = "\n".join(texts_of(dialog))
    for word in ("silica", "isocyanates", "solvents", "height", "safety data sheet", "local codes"):
        assert word in shown


def test_at_twice_the_text_size_the_plan_keeps_half_the_window_and_keys_unfold_the_rest(hand, opened):
    window = hand.window
    window.geometry("1280x768+0+0")
    hand.text_size(2.0)
    hand.settle()
    canvas, desk = window.canvas, window.desk
    assert canvas.winfo_width() * canvas.winfo_height() >= 0.5 * window.winfo_width() * window.winfo_height()
    totals = window.figures.totals
    assert totals.winfo_rootx() + totals.winfo_reqwidth() <= window.winfo_rootx() + window.winfo_width()
    assert totals.winfo_width() >= totals.winfo_reqwidth() > 1
    assert not desk.details.winfo_viewable()
    hand.key("F5")
    hand.settle()
    assert desk.details.winfo_viewable()
    assert not desk.sheets.winfo_viewable()
    hand.key("F4")
    hand.settle()
    assert desk.sheets.winfo_viewable()
    before = window.figures.winfo_height()
    hand.key("F9")
    hand.settle()
    assert window.figures.winfo_height() > before + 100
    hand.key("F9")
    window.figures.chooser._chosen("Walls")
    hand.settle()
    assert window.figures.winfo_height() > before + 100
    assert window.figures.page == "Walls"
    hand.key("F5")
    hand.settle()
    assert not desk.details.winfo_viewable()


def test_what_is_folded_stays_so_in_the_dark_and_only_the_panel_of_the_tool_is_shown(hand, opened):
    window = hand.window
    window.session.select(Selection(runs=("104-walls",)))
    panels = (window.desk.details, window.desk.scale_panel, window.desk.review_panel)
    hand.key("s")
    hand.key("v")
    hand.key("F8")
    hand.settle()
    assert [bool(panel.winfo_viewable()) for panel in panels] == [True, False, False]
    hand.key("F4")
    hand.key("F8")
    hand.settle()
    assert not window.desk.sheets.winfo_viewable()
    hand.key("s")
    hand.settle()
    assert [bool(panel.winfo_viewable()) for panel in panels] == [False, True, False]


def test_every_page_at_twice_the_text_size_keeps_its_buttons_on_the_window(hand, opened):
    window = hand.window
    hand.text_size(2.0)
    hand.settle()
    right = window.winfo_rootx() + window.winfo_width()
    for made in (*window.desk.bar.tools.values(), *window.desk.bar._buttons.values(), *window.figures.pages.values()):
        assert made.winfo_rootx() + made.winfo_width() <= right + 2


@pytest.mark.parametrize("way", ["mouse", "keys"])
@pytest.mark.parametrize(("key", "id"), [("system", "mat-urethane"), ("units", "metric")])
def test_a_choice_in_the_dialog_of_a_new_job_does_not_start_it(hand, tmp_path, key, id, way):
    plan = shutil.copy(actions.sample_plans() / "facility-imperial.pdf", tmp_path)
    dialog = starting.NewJobDialog(hand.window, [Path(plan)])
    hand.settle()
    field = dialog.form[key]
    opener, offered = field.menu._canvas, field.menu._dropdown_menu
    hand.give_keys(opener)
    for event in ("<Enter>", "<ButtonPress-1>", "<ButtonRelease-1>") if way == "mouse" else ("<KeyPress-Return>",):
        opener.event_generate(event, **({} if way == "keys" else {"x": 9, "y": 9}))
    hand.settle()
    at = field.ids.index(id)
    if way == "mouse":
        place = {"x": 9, "y": offered.yposition(at) + 3}
        for event in ("<Motion>", "<ButtonPress-1>", "<ButtonRelease-1>"):
            offered.event_generate(event, **place)
    else:
        offered.focus_force()
        for event in (*["<KeyPress-Down>"] * (at + 1), "<KeyPress-Return>"):
            offered.event_generate(event)
    hand.settle()
    assert dialog.form.text(key) == id
    assert dialog.winfo_exists()
    assert hand.window.session is None
    assert not list(tmp_path.glob("*.takeoff"))
    dialog.run()
    assert hand.window.session is not None


def test_plans_added_in_the_window_stand_in_the_list_of_sheets(hand, tmp_path):
    assert job_dialogs.start_sample(hand.window, tmp_path)
    session, plan = hand.window.session, actions.sample_plans() / "facility-set.pdf"
    before = len(session.job.sheets)
    assert job_dialogs.take_plans(hand.window, [plan])
    assert len(session.job.sheets) > before
    assert "left out" in session.message
    assert not job_dialogs.take_plans(hand.window, [plan])
    assert "has every sheet" in session.message
