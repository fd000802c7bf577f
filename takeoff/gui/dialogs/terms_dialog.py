"""How the site is worked: first day, crews, shifts, when rooms are handed over, travel; days and price follow it."""

from __future__ import annotations

from takeoff import actions
from takeoff.errors import TakeoffError
from takeoff.estimate.climate import degrees
from takeoff.exchange.catalogue_units import MILE_KM, read_distance
from takeoff.exchange.typed import read_degrees
from takeoff.gui.dialogs.common import Dialog
from takeoff.gui.entries import read_count, read_day, read_number
from takeoff.gui.host import Host
from takeoff.gui.widgets.fields import ChoiceField, TextField, button
from takeoff.gui.wording import words_of
from takeoff.signing import now, person

YES_NO = (("no", "no"), ("yes", "yes"))


class TermsDialog(Dialog):
    """The job's terms of the site, kept as one edit; each room has a field for its day."""

    def __init__(self, host: Host) -> None:
        super().__init__(host, "How the site is worked", scrolls=True)
        assert host.session is not None
        self.session = host.session
        self.terms = self.session.job.settings.site or actions.SiteTerms()
        self.choices: dict[str, str] = {}
        self._build()
        button(
            self.foot, "Keep", self.keep, is_main=True, hint="Plan days by this, and make the price from that plan."
        ).pack(side="right")
        button(self.foot, "Forget", self.forget, hint="Make the price by hours again.").pack(side="right", padx=8)
        button(self.foot, "Close", self.close, hint="Key: Escape").pack(side="right")

    def _build(self) -> None:
        terms, units = self.terms, self.session.display.system
        self.start = self._text("First day", terms.start, "Such as 2026-03-02; empty where it is not known.")
        self.first = self.start
        self.crews = self._text("Crews", str(terms.crews), "Crews of the size in the rates.")
        hours = "" if terms.shift_hours is None else f"{terms.shift_hours:g}"
        self.hours = self._text("Hours of a shift", hours, "Empty: the hours of the rates.")
        self._choice("saturdays", "Saturdays are worked", terms.has_saturdays)
        self.holidays = self._text("Holidays", " ".join(terms.holidays), "Days not worked, with spaces between.")
        warm = "" if terms.temperature is None else degrees(terms.temperature, units)
        self.temperature = self._text("Temperature", warm, "On site; recoat times and pot lives follow it.")
        cure = "" if terms.cure_hours is None else f"{terms.cure_hours:g}"
        self.cure = self._text("Cure, hours", cure, "From the last step to service; empty: as each system says.")
        self.ready = self._text("In service by", terms.ready_by, "A day by which every room is in service.")
        self.travel_hours = self._text("Travel, hours one way", f"{terms.travel_hours:g}", "From the yard to the site.")
        unit, factor = ("km", 1.0) if units == "metric" else ("mi", MILE_KM)
        self.travel = self._text(f"Travel, {unit} one way", f"{terms.travel_km / factor:.4g}", "Distance to the site.")
        self._choice("stay", "Crews stay overnight", terms.stay)
        self._choice("price", "Price from this plan", terms.is_priced_by)
        days = {found.room: found.day for found in terms.handed_over}
        self.rooms = {
            id: self._text(f"{label} from", days.get(id, ""), "Day from which this room can be worked in.")
            for id, label in self.session.rooms()
        }

    def _text(self, label: str, value: str, hint: str) -> TextField:
        field = TextField(self.body, label, lambda _t: None, self.refuse, hint=hint)
        field.show(value)
        field.pack(fill="x", pady=2)
        return field

    def _choice(self, key: str, label: str, value: bool) -> None:
        def take(chosen: str) -> None:
            self.choices[key] = chosen

        self.choices[key] = "yes" if value else "no"
        field = ChoiceField(self.body, label, YES_NO, take)
        field.show(self.choices[key])
        field.pack(fill="x", pady=2)

    def read(self) -> actions.SiteTerms:
        """Read the fields.

        Raises
        ------
        TakeoffError
            When one does not fit.
        """
        metric = self.session.display.system == "metric"

        def written(field: TextField) -> str:
            return str(field.entry.get()).strip()

        def day(field: TextField) -> str:
            return read_day(written(field)).isoformat() if written(field) else ""

        unit = "km" if metric else "mi"
        warm = written(self.temperature)
        return actions.SiteTerms(
            start=day(self.start),
            crews=read_count(written(self.crews)),
            shift_start=self.terms.shift_start,
            shift_hours=read_number(written(self.hours), "hours") if written(self.hours) else None,
            has_saturdays=self.choices["saturdays"] == "yes",
            holidays=tuple(read_day(text).isoformat() for text in written(self.holidays).split()),
            temperature=read_degrees(warm, is_metric=metric) if warm else None,
            cure_hours=read_number(written(self.cure), "hours") if written(self.cure) else None,
            ready_by=day(self.ready),
            handed_over=actions.handed_over(actions.SiteTerms(), {id: day(field) for id, field in self.rooms.items()}),
            travel_hours=read_number(written(self.travel_hours) or "0", "hours"),
            travel_km=read_distance(f"{read_number(written(self.travel) or '0', 'distance'):g} {unit}"),
            stay=self.choices["stay"] == "yes",
            effort=self.terms.effort,
            is_priced_by=self.choices["price"] == "yes",
        )

    def keep(self) -> None:
        """Keep what the fields say with the job."""
        try:
            terms = self.read()
        except TakeoffError as error:
            self.refuse(words_of(error))
            return
        self._store(terms, "Kept how the site is worked")

    def forget(self) -> None:
        """Take the terms out of the job."""
        self._store(None, "The price is made by hours")

    def _store(self, terms: actions.SiteTerms | None, told: str) -> None:
        store = self.session.store
        if self.session.attempt(lambda: actions.keep_terms(store, terms, who=person(), at=now()), told):
            self.close()
        else:
            self.refuse(self.session.message)
