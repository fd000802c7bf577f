"""How the site is worked: first day, crews, shifts, when rooms are handed over, travel; days and price follow it."""

from __future__ import annotations

from dataclasses import replace

from takeoff import actions
from takeoff.estimate.climate import degrees
from takeoff.exchange.catalogue_units import MILE_KM, read_distance
from takeoff.exchange.typed import read_area, read_degrees
from takeoff.gui.dialogs.common import FormDialog
from takeoff.gui.entries import read_count, read_day, read_number
from takeoff.gui.host import Host
from takeoff.gui.widgets.form import Row
from takeoff.gui.widgets.parts import button
from takeoff.model.site_terms import SiteTerms
from takeoff.signing import now, person


def _rows(unit: str) -> tuple[Row, ...]:
    return (
        Row("start", "First day", "Such as 2026-03-02; empty where it is not known."),
        Row("crews", "Crews", "Crews of the size in the rates."),
        Row("shift_start", "Shift begins at", "Hour of the day, such as 7 or 6.5 (half past six)."),
        Row("shift_hours", "Hours of a shift", "Empty: the hours of the rates."),
        Row("has_saturdays", "Saturdays are worked", is_tick=True),
        Row("holidays", "Holidays", "Days not worked, with spaces between."),
        Row("temperature", "Temperature", "On site; recoat times and pot lives follow it."),
        Row("humidity", "Humidity %", "Humidity of the air."),
        Row("moisture", "Moisture %", "Moisture of the walls, by mass."),
        Row(
            "share_area",
            "Wall for each crew",
            "Crews share a step where each has at least this much wall, such as 300 sf. Empty: never.",
        ),
        Row("cure_hours", "Cure, hours", "From the last step to service; empty: as each system says."),
        Row("ready_by", "In service by", "A day by which every room is in service."),
        Row("travel_hours", "Travel, hours one way", "From the yard to the site."),
        Row("travel", f"Travel, {unit} one way", "Distance to the site."),
        Row("stay", "Crews stay overnight", is_tick=True),
        Row("effort", "Effort", "How long to look for fewer days: 0 is quick, 1 is about a second, 10 is thorough."),
        Row("is_priced_by", "Price from this plan", is_tick=True),
    )


class TermsDialog(FormDialog):
    """The job's terms of the site, kept as one edit; each room has a field for its day."""

    def __init__(self, host: Host) -> None:
        assert host.session is not None
        self._unit = "km" if host.session.display.system == "metric" else "mi"
        rooms = host.session.rooms()
        days = [Row(f"room:{id}", f"{label} from", "Day from which this room can be worked in.") for id, label in rooms]
        hint = "Plan days by this, and make the price from that plan."
        super().__init__(host, "How the site is worked", (*_rows(self._unit), *days), "Keep", hint=hint)
        self._rooms = [id for id, _ in rooms]
        button(self.foot, "Forget", self.forget, hint="Make the price by hours again.").pack(side="left")
        terms = self.session.job.settings.site or SiteTerms()
        warm = "" if terms.temperature is None else degrees(terms.temperature, self.session.display.system)
        values = {name: "" if value is None else f"{value:g}" for name, value in (
            ("crews", terms.crews), ("shift_start", terms.shift_start), ("shift_hours", terms.shift_hours),
            ("cure_hours", terms.cure_hours), ("travel_hours", terms.travel_hours), ("effort", terms.effort),
        )}  # fmt: skip
        for name, part in (("humidity", terms.humidity), ("moisture", terms.moisture)):
            values[name] = "" if part is None else f"{part * 100:g}"
        share = terms.share_area
        values["share_area"] = "" if share is None else self.session.display.area(share)
        away = terms.travel_km / (1.0 if self._unit == "km" else MILE_KM)
        self.form.show(
            **values,
            start=terms.start,
            holidays=" ".join(terms.holidays),
            temperature=warm,
            ready_by=terms.ready_by,
            travel=f"{away:.4g}",
            has_saturdays=terms.has_saturdays,
            stay=terms.stay,
            is_priced_by=terms.is_priced_by,
            **{f"room:{found.room}": found.day for found in terms.handed_over},
        )

    def read(self) -> SiteTerms:
        """Read the fields.

        Raises
        ------
        TakeoffError
            When one does not fit.
        """
        text = self.form.text

        def day(key: str) -> str:
            return read_day(text(key)).isoformat() if text(key) else ""

        def number(key: str, what: str) -> float | None:
            return read_number(text(key), what) if text(key) else None

        def part(key: str) -> float | None:
            found = number(key, key)
            return None if found is None else found / 100.0

        return replace(
            self.session.job.settings.site or SiteTerms(),
            start=day("start"),
            crews=read_count(text("crews")),
            shift_start=number("shift_start", "hour") or SiteTerms().shift_start,
            shift_hours=number("shift_hours", "hours"),
            has_saturdays=bool(text("has_saturdays")),
            holidays=tuple(read_day(written).isoformat() for written in text("holidays").split()),
            temperature=read_degrees(text("temperature"), is_metric=self._unit == "km")
            if text("temperature")
            else None,
            humidity=part("humidity"),
            moisture=part("moisture"),
            share_area=read_area(text("share_area"), self.session.display) if text("share_area") else None,
            cure_hours=number("cure_hours", "hours"),
            ready_by=day("ready_by"),
            handed_over=actions.handed_over(SiteTerms(), {id: day(f"room:{id}") for id in self._rooms}),
            travel_hours=number("travel_hours", "hours") or 0.0,
            travel_km=read_distance(f"{number('travel', 'distance') or 0.0:g} {self._unit}"),
            stay=bool(text("stay")),
            effort=number("effort", "effort") or 0.0,
            is_priced_by=bool(text("is_priced_by")),
        )

    def act(self) -> None:
        """Keep what the fields say with the job."""
        self._store(self.read(), "Kept how the site is worked")

    def forget(self) -> None:
        """Take the terms out of the job."""
        self._store(None, "The price is made by hours")

    def _store(self, terms: SiteTerms | None, told: str) -> None:
        store = self.session.store
        self.leave_if(self.session.attempt(lambda: actions.keep_terms(store, terms, who=person(), at=now()), told))
