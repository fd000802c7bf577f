"""The window: it opens and closes jobs, holds the tool in hand, and has everything repainted after each change."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from takeoff import actions
from takeoff.apart import Apart, go_apart
from takeoff.errors import StoreError, TakeoffError
from takeoff.gui.background import PATIENCE, Waiting
from takeoff.gui.canvas.small_pictures import Overview
from takeoff.gui.canvas.view import View
from takeoff.gui.commands import command
from takeoff.gui.desk_bars import MenuBar
from takeoff.gui.desk_frame import DeskFrame
from takeoff.gui.dialogs import common, job_dialogs
from takeoff.gui.dialogs.starting import StartScreen, accept_files, new_job, take_dropped
from takeoff.gui.dialogs.working import draft_set
from takeoff.gui.host import Command
from takeoff.gui.layout import fill_screen, hide_dot_files, keep_on_screen, place_of, take_place
from takeoff.gui.pointing import Keyboard, Pointing
from takeoff.gui.preferences import Preferences, append_line, preferences_file, read_preferences, write_preferences
from takeoff.gui.reading_process import Snapper, TraceReader
from takeoff.gui.review import Review
from takeoff.gui.review_desk import IssueReview
from takeoff.gui.session import Session
from takeoff.gui.tool_hand import ToolHand, Viewing
from takeoff.gui.tools.tool import Tool
from takeoff.gui.widgets import THEME, Later, ctk, style_tables
from takeoff.gui.wording import words_of
from takeoff.job.edits import Change
from takeoff.job.store import JobStore
from takeoff.signing import now, signed

LEAST = (760, 480)
"""Least size of the window."""
RESIZED_MS = 1200
"""After which the toolkit lets go of the size that it holds a window at while its text changes size."""
TAKE_UP_MS = 1500
"""Between two looks whether another window or a command has changed the job."""


class DeskWindow(ctk.CTk):
    """The window of the program; ``preferences`` is the file that it remembers recent jobs and its look in."""

    def __init__(self, preferences: Path | None = None) -> None:
        super().__init__(fg_color=THEME.ground)
        self.title("takeoff")
        self.minsize(*LEAST)
        self.session: Session | None = None
        self.snapper: Snapper | None = None
        self.process = Apart(PATIENCE)
        self._is_shut = False
        self._looking = Later(self, self._take_up)
        self.waiting = Waiting(self)
        go_apart(self.waiting)
        self._preferences_file = preferences or preferences_file()
        self.preferences: Preferences = read_preferences(self._preferences_file)
        self._was_whole = take_place(self, self.preferences.place, self.preferences.text_size)
        self.hand = ToolHand(self, lambda id: self.desk.bar.mark_tool(id))
        self.use_tool, self.hold = self.hand.use, self.hand.hold
        self.viewing = view = Viewing(self)
        self.choose_sheet, self.forget_sheet = view.choose_sheet, view.forget_sheet
        self.repaint, self.go_to, self.show_layers = view.repaint, view.go_to, view.show_layers
        self._build()
        self.desk.take_sizes(self.preferences.sizes)
        self.take_look()
        self._was_whole &= self.preferences.text_size != 1.0  # else nothing has taken it from the screen
        self.protocol("WM_DELETE_WINDOW", self.shut)
        hide_dot_files(self)
        self._show_start()

    def _build(self) -> None:
        self.start = StartScreen(
            self,
            {
                "Start a job from plans…": (partial(new_job, self), "Ctrl+N"),
                "Draft a whole set…": (partial(draft_set, self), "Rooms, openings, heights, systems, price"),
                "Open a job…": (partial(job_dialogs.open_job, self), "Ctrl+O"),
                "Try it on the sample plan": (partial(job_dialogs.new_sample, self), ""),
            },
            open_path=self.open_path,
            takes_drops=accept_files(self, partial(take_dropped, self)),
        )
        self.issue = IssueReview(self)
        self.desk = DeskFrame(self, self.issue, self.run)
        self.canvas, self.entry, self.figures = self.desk.canvas, self.desk.entry, self.desk.figures
        self.details, self.scale_panel = self.desk.details, self.desk.scale_panel
        self.overview = Overview(self.canvas)
        self.canvas.on_view = self._view_changed
        self.canvas.on_error = lambda error: self.refuse(words_of(error))
        self.menu = MenuBar(self, self.run)
        self.configure(menu=self.menu)
        self.pointing = Pointing(self, self.desk, self.menu.pop_up)
        self.fold, self.make_tall, self.paint = self.desk.toggle, self.desk.toggle_tall, self.pointing.paint
        self.show_open_points = partial(self.desk.show_page, "Open points")
        self.step_points, self.confirm_point = self.desk.step_points, self.desk.confirm_point
        self.compare_issue, self.compare_set = self.issue.compare, self.issue.compare_set
        self.keyboard = Keyboard(self, self.entry, self.run)
        self.bind("<<FieldTaken>>", lambda _e: self.canvas.focus_set())

    # -- what its parts need of the whole ------------------------------------------------------------------------

    @property
    def root(self) -> DeskWindow:
        return self

    @property
    def priced(self) -> actions.Priced | None:
        return self.figures.priced

    # -- opening and closing -------------------------------------------------------------------------------------

    def _show_start(self) -> None:
        self.desk.pack_forget()
        self.start.show_recent(self.preferences.recent)
        self.start.pack(fill="both", expand=True)
        self.title("takeoff")

    def open_path(self, path: Path) -> bool:
        try:
            store = actions.open_job(path, signed)
        except TakeoffError as error:
            common.refusal(self, "This job cannot be opened", error)
            return False
        self.take(store)
        return True

    def take(self, store: JobStore) -> None:
        self._drop_session()
        self.session = session = Session(store)
        self.snapper = Snapper(session, self.process)
        self.hand.open(TraceReader(session, self.process))
        self.remember(self.preferences.with_job(store.path))
        session.on_change(self._changed)
        self.start.pack_forget()
        self.desk.pack(fill="both", expand=True)
        self.title(f"takeoff: {session.job.settings.name}{' (read only)' if store.is_read_only else ''}")
        self.update_idletasks()
        self.use_tool("pick" if session.job.calibrations else "scale")
        if store.is_read_only:
            why = "can only be looked at: it or its folder cannot be written to. Save a copy to change it."
            session.message = f"{store.path.name} {why}"
        if store.faults:
            remedy = "You can look at it. Rescue a damaged job, in the menu Job, saves what can be trusted of it."
            common.refusal(self, "This job is damaged", StoreError("; ".join(store.faults), remedy=remedy))
        self._changed(Change("", ()))
        self.canvas.focus_set()
        self._looking.begin(TAKE_UP_MS)

    def _take_up(self) -> None:
        """Take up what was done to the job elsewhere, unless something is being dragged, and look again later."""
        self._looking.begin(TAKE_UP_MS)
        if self.session is not None and not self.canvas.is_pressed:
            self.session.take_up()

    def _drop_session(self) -> None:
        self._looking.stop()
        self.process.rest()
        self.hand.drop()
        self.issue.drop()
        if self.session is not None:
            self.session.close()
        self.session = self.snapper = None
        self.viewing.forget_sheet()
        self.pointing.paint()
        self.desk.sheets.clear()
        self.figures.show(None)
        self.canvas.clear_sheet("")
        self.canvas.renderer.drop_small()
        self.desk.where.configure(text="")
        self.desk.banner.hide()

    def close_job(self) -> None:
        """Close the job and show the start screen; every edit is saved already."""
        self._drop_session()
        self._show_start()

    def shut(self) -> None:
        """Close the window; where it stood is kept for the next time."""
        self._drop_session()
        for process in (self.process, self.figures.process):
            process.close()
        self.remember(replace(self.preferences, place=place_of(self), sizes=self.desk.sizes))
        self._is_shut = True
        self.canvas.destroy()
        go_apart(None)
        self.waiting.close()
        self.destroy()

    def take_keys(self) -> None:
        """Have key presses come to this window, to the plan where a job is open."""
        if self.session is not None:
            self.canvas.focus_force()
        elif not self._is_shut:
            self.focus_force()

    def remember(self, preferences: Preferences) -> None:
        self.preferences = preferences
        write_preferences(self._preferences_file, preferences)

    def take_look(self) -> None:
        p = self.preferences
        ctk.set_appearance_mode("dark" if p.is_dark else "light")
        if ctk.ScalingTracker.widget_scaling != p.text_size:
            # even for the size that it has, the toolkit would hold the window at its present size for a second
            self._was_whole |= place_of(self).is_whole
            ctk.set_widget_scaling(p.text_size)
            if self._was_whole:  # the toolkit has given it a size of its own
                self.after(RESIZED_MS, self._fill_screen)
        style_tables(self)
        self.desk.set_look(is_dark=p.is_dark)
        self.menu.set_look()
        self.show_side()
        self.viewing.repaint()
        keep_on_screen(self, p.text_size)

    def _fill_screen(self) -> None:
        self._was_whole = False
        self.update_idletasks()  # that the size is held no longer is told first
        fill_screen(self)

    # -- commands ------------------------------------------------------------------------------------------------

    def do(self, id: str) -> None:
        """Run a command by its id."""
        self.run(command(id))

    def run(self, c: Command) -> None:
        """Run a command where it is enabled; where it is not, say what comes first."""
        if c.is_enabled(self):
            c.run(self)
        elif self.session is not None:
            self.session.tell(f"{c.label.removesuffix('…')}: {c.first or 'not now'}.", is_refusal=True)

    @property
    def tool(self) -> Tool | None:
        return self.hand.tool

    def guard(self, work: Callable[[], object]) -> bool:
        try:
            work()
        except TakeoffError as error:
            self.refuse(words_of(error))
            return False
        except ValueError as error:
            self.refuse(f"this was not understood: {error}")
            return False
        finally:
            self.paint()
        return True

    def refuse(self, message: str) -> None:
        if self.session is not None:
            self.session.tell(message, is_refusal=True)
        self.bell()

    @property
    def review(self) -> Review | None:
        return self.issue.review

    # -- repainting ----------------------------------------------------------------------------------------------

    def _changed(self, change: Change | None) -> None:
        session = self.session
        if session is None:
            return
        self.viewing.show_sheet(session)
        self.desk.bar.job_name.configure(text=session.job.settings.name)
        self.desk.sheets.show(session)
        self.show_side()
        self.figures.show(session, is_edit=change is not None)
        self.viewing.repaint()
        self.issue.cover()
        self.desk.bar.mark_steps()
        self.desk.count_open(self.figures.count_open(session))
        self.pointing.paint()

    def _view_changed(self, view: View) -> None:
        self.viewing.view_changed(view)
        sheet, session = self.canvas.sheet, self.session
        # a revision under review, or its page to be paired, is not in the job
        is_own = session is not None and sheet is not None and session.job.sheets.get(sheet.id) == sheet
        self.overview.follow(view, sheet if is_own else None)
        self.issue.cover()

    def show_side(self) -> None:
        self.desk.show_side(is_blinking=self.issue.is_blinking)

    def report_callback_exception(self, kind: type[BaseException], value: BaseException, trace: Any) -> None:
        """Show and log what was not foreseen; work goes on, and nothing that was done is lost."""
        text = "".join(traceback.format_exception(kind, value, trace))
        append_line(self._preferences_file.with_name("faults.log"), f"{now()}\n{text}")
        common.fault(self, text)
