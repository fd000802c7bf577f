"""How the site is worked: first day, crews, shifts, when rooms are handed over, travel; days and price follow it."""

from __future__ import annotations

from dataclasses import replace

from takeoff import actions
from takeoff.exchange.catalogue_units import MILE_KM
from takeoff.gui.dialogs.common import FormDialog
from takeoff.gui.entries import read_number
from takeoff.gui.host import Host, session_of
from takeoff.gui.widgets.form import Row
from takeoff.gui.widgets.kinds import AREA, COUNT, DAY, DAYS, DEGREES, NUMBER, SHARE, TICK, Kind, maybe
from takeoff.gui.widgets.parts import button
from takeoff.model.site_terms import SiteTerms
from takeoff.signing import now, person
from takeoff.units import Display


def _rows(show: Display) -> tuple[Row, ...]:
    unit, km = ("km", 1.0) if show.system == "metric" else ("mi", MILE_KM)
    distance = Kind(lambda away, _: f"{away / km:.4g}", lambda text, _, name: read_number(text, name) * km)
    hour = SiteTerms().shift_start
    return (
        Row("start", "First day", "Such as 2026-03-02; empty where it is not known.", kind=maybe(DAY, "")),
        Row("crews", "Crews", "Crews of the size in the rates.", kind=COUNT),
        Row("shift_start", "Shift begins at", "Hour of the day, such as 7 or 6.5 (half past six).",
            kind=maybe(NUMBER, hour)),
        Row("shift_hours", "Hours of a shift", "Empty: the hours of the rates.", kind=maybe(NUMBER)),
        Row("has_saturdays", "Saturdays are worked", is_tick=True, kind=TICK),
        Row("holidays", "Holidays", "Days not worked, with spaces between.", kind=DAYS),
        Row("temperature", "Temperature", "On site; recoat times and pot lives follow it.", kind=maybe(DEGREES)),
        Row("humidity", "Humidity %", "Humidity of the air.", kind=maybe(SHARE)),
        Row("moisture", "Moisture %", "Moisture of the walls, by mass.", kind=maybe(SHARE)),
        Row("share_area", "Wall for each crew",
            "Crews share a step where each has at least this much wall, such as 300 sf. Empty: never.",
            kind=maybe(AREA)),
        Row("cure_hours", "Cure, hours", "From the last step to service; empty: as each system says.",
            kind=maybe(NUMBER)),
        Row("ready_by", "In service by", "A day by which every room is in service.", kind=maybe(DAY, "")),
        Row("travel_hours", "Travel, hours one way", "From the yard to the site.", kind=maybe(NUMBER, 0.0)),
        Row("travel", f"Travel, {unit} one way", "Distance to the site.", kind=maybe(distance, 0.0), of="travel_km"),
        Row("stay", "Crews stay overnight", is_tick=True, kind=TICK),
        Row("effort", "Effort", "How long to look for fewer days: 0 is quick, 1 is about a second, 10 is thorough.",
            kind=maybe(NUMBER, 0.0)),
        Row("is_priced_by", "Price from this plan", is_tick=True, kind=TICK),
    )  # fmt: skip


class TermsDialog(FormDialog):
    """The job's terms of the site, kept as one edit; each room has a field for its day."""

    def __init__(self, host: Host) -> None:
        session = session_of(host)
        rooms = session.rooms()
        days = [Row(f"room:{id}", f"{label} from", "Day from which this room can be worked in.") for id, label in rooms]
        hint = "Plan days by this, and make the price from that plan."
        super().__init__(host, "How the site is worked", (*_rows(session.display), *days), "Keep", hint=hint)
        self._rooms = [id for id, _ in rooms]
        button(self.foot, "Forget", self.forget, hint="Make the price by hours again.").pack(side="left")
        self.form.show_of(session.display, self._terms)
        self.form.show(**{f"room:{found.room}": found.day for found in self._terms.handed_over})

    @property
    def _terms(self) -> SiteTerms:
        return self.session.job.settings.site or SiteTerms()

    def act(self) -> None:
        """Keep what the fields say with the job."""
        show = self.session.display
        days = {id: maybe(DAY, "").read(self.form.text(f"room:{id}"), show, "Day") for id in self._rooms}
        handed_over = actions.handed_over(SiteTerms(), days)
        terms = replace(self._terms, **self.form.read(show), handed_over=handed_over)
        self._store(terms, "Kept how the site is worked")

    def forget(self) -> None:
        """Take the terms out of the job."""
        self._store(None, "The price is made by hours")

    def _store(self, terms: SiteTerms | None, told: str) -> None:
        store = self.session.store
        self.leave_if(self.session.attempt(lambda: actions.keep_terms(store, terms, who=person(), at=now()), told))
