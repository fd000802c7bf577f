"""The cut list: what is cut from each roll and each length, cut by cut; pressing a line shows its walls."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Future

from takeoff import actions
from takeoff.gui.awaited import Awaited, fault_words
from takeoff.gui.fields import button
from takeoff.gui.planned import cut_plans_of
from takeoff.gui.reading import ReadingProcess
from takeoff.gui.session import Selection, Session
from takeoff.gui.tables import TableView
from takeoff.gui.theme import THEME
from takeoff.gui.toolkit import ctk
from takeoff.report.planning_tables import cut_table
from takeoff.report.tables import Table
from takeoff.units import Display

ASK = "Press Cut for what to cut from each roll."
NO_CUTS = cut_table((), Display())


class CuttingPanel(ctk.CTkFrame):
    """A line for each cut, and above them what the rolls come to.

    Parameters
    ----------
    say
        Called with what is to be read beside the lines.
    """

    def __init__(self, parent: tkinter.Misc, say: Callable[[str], None]) -> None:
        super().__init__(parent, fg_color=THEME.card, corner_radius=0)
        self._say = say
        self._session: Session | None = None
        self._process: ReadingProcess | None = None
        self._asked = Awaited[tuple[actions.CutList, ...]](self, self._planned)
        self._for: object = None
        self._runs: list[tuple[str, ...]] = []
        self._row: int | None = None
        self.cuts: tuple[actions.CutList, ...] | None = None
        self.grid_columnconfigure(0, weight=1)
        self.grid_rowconfigure(1, weight=1)
        head = ctk.CTkFrame(self, fg_color="transparent")
        head.grid(row=0, column=0, sticky="ew")
        self.cut = button(head, "Cut", self.ask, hint="Search for the fewest rolls and lengths, five seconds each.")
        self.cut.pack(side="left", padx=(8, 4), pady=2)
        self.state = ctk.CTkLabel(head, text="", anchor="w", justify="left", text_color=THEME.text)
        self.state.pack(side="left", padx=10)
        self.table = TableView(self, self._chosen)
        self.table.grid(row=1, column=0, sticky="nsew")

    def show(self, session: Session, process: ReadingProcess) -> None:
        """Show the cuts of a job, none where they were planned before an edit; mark one of the selected walls."""
        self._session, self._process = session, process
        if session.job is not self._for:
            is_old = self.cuts is not None or self._asked.is_waiting
            self._asked.stop()
            self._for, self.cuts = session.job, None
            self.state.configure(
                text=f"The job has changed since it was cut. {ASK}" if is_old else ASK, text_color=THEME.quiet
            )
            self._fill()
        self._mark()
        self._tell()

    def ask(self) -> None:
        """Have the cuts planned in the background."""
        if self._session is None or self._process is None:
            return
        self._asked.wait(self._process.submit(cut_plans_of, self._session.path))
        self.state.configure(text="cutting …", text_color=THEME.quiet)

    def _planned(self, made: Future[tuple[actions.CutList, ...]]) -> None:
        error = made.exception()
        self.cuts = None if error is not None else made.result()
        if error is not None:
            self.state.configure(text=fault_words(error, "it could not be cut"), text_color=THEME.refuse)
        else:
            self.state.configure(text=self._summary(), text_color=THEME.text)
        self._fill()
        self._mark()
        self._tell()

    def _summary(self) -> str:
        assert self._session is not None
        show = self._session.display
        rolls = [rolls_words(cut, show) for cut in self.cuts or () if cut.rolls is not None]
        return "\n".join(rolls) or ("No rolls are cut, lengths alone." if self.cuts else "Nothing is cut.")

    def _fill(self) -> None:
        self.table.refit()
        if self.cuts is None or self._session is None:
            self._runs, self._row = [], None
            self.table.show(NO_CUTS)
            return
        table = cut_table(self.cuts, self._session.display)
        self._runs = self._runs_by_row(table)
        self._row = None
        self.table.show(table)

    def _runs_by_row(self, table: Table) -> list[tuple[str, ...]]:
        """Return the runs that each line is for: those of its faces, or of its room where it names no face."""
        assert self._session is not None
        titles = [column.title for column in table.columns]
        wanted, beside = titles.index("For"), titles.index("Laid beside it")
        measured = self._session.measured("room")[0]
        of_face = {face.elevation.key: face.elevation.run for face in measured.faces}
        of_room = {item.label: item.sources for item in measured.measurement.items}
        return [
            _runs_of((str(row[wanted]), *str(row[beside]).split(", ")), of_face) or of_room.get(str(row[wanted]), ())
            for row in table.rows
        ]

    def _mark(self) -> None:
        if self._session is None:
            return
        chosen = set(self._session.selection.runs)
        if self._row is None or not chosen & set(self._runs[self._row]):
            self._row = next((i for i, runs in enumerate(self._runs) if chosen & set(runs)), None)
        self.table.mark(self._row)

    def _tell(self) -> None:
        if self._session is None or not self.winfo_manager():
            return
        if self.cuts is None:
            self._say(ASK)
            return
        show = self._session.display
        self._say("\n\n".join(("Press a line to see its walls.", *(cut_words(cut, show) for cut in self.cuts))))

    def _chosen(self, row: int) -> None:
        self._row = row
        if self._session is not None and self._runs[row]:
            self._session.select(Selection(runs=self._runs[row]))

    def refit(self) -> None:
        """Fit the table anew after the size of the text has changed."""
        self._fill()

    def stop(self) -> None:
        """Forget what is being planned."""
        self._asked.stop()
        self.cuts = self._for = self._session = None


def _runs_of(labels: Sequence[str], of_face: Mapping[str, str]) -> tuple[str, ...]:
    """Return the runs of the faces that labels of drops and pieces begin with."""
    found = [run for label in labels for face, run in of_face.items() if label.startswith((f"{face}/", f"{face} "))]
    return tuple(dict.fromkeys(found))


def rolls_words(cut: actions.CutList, show: Display) -> str:
    """Say in a line what the rolls of a mat come to."""
    plan = cut.rolls
    assert plan is not None
    rolls = f"{len(plan.rolls)} roll{'s' * (len(plan.rolls) != 1)}"
    proven = "no plan takes fewer" if plan.gap == 0 else f"none takes fewer than {plan.lower_bound}"
    return (
        f"{cut.name}: {rolls}, {proven}; waste {plan.waste * 100:.1f} %, "
        f"laps {show.area(plan.lap_area)}, seams {show.length(plan.seam_length)}"
    )


def cut_words(cut: actions.CutList, show: Display) -> str:
    """Say what the rolls or lengths of a product come to, a line for each figure."""
    lines = [cut.name]
    if (rolls := cut.rolls) is not None:
        lines += [
            f"roll: {show.length(rolls.roll_length)} × {show.length(rolls.roll_width)}",
            f"rolls: {len(rolls.rolls)}, at least {rolls.lower_bound}; drop by drop across whole rolls "
            f"{rolls.first_fit}",
            f"bought: {show.area(rolls.bought_area)}",
            f"waste: {show.area(rolls.waste_area)}",
            f"laps: {show.area(rolls.lap_area)}, along {show.length(rolls.lap_length)} of "
            f"{show.length(rolls.seam_length)} of seams",
        ]
    if (stock := cut.lengths) is not None:
        lines += [
            f"length: {show.length(stock.stock_length)}",
            f"lengths: {len(stock.stock)}, at least {stock.lower_bound}",
            f"waste: {show.length(stock.waste_length)}",
            f"joints in longer pieces: {stock.joints}",
        ]
    return "\n".join(lines)
