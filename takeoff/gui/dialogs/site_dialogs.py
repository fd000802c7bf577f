"""The site: how it is worked, packs used and hours, and readings of air and wall."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from takeoff import actions
from takeoff.actions.onsite import step_called, steps_in_use, use_words
from takeoff.actions.site_log import local_time
from takeoff.estimate.climate import degrees
from takeoff.exchange.catalogue_units import MILE_KM
from takeoff.gui.dialogs.common import FormDialog
from takeoff.gui.entries import (
    AMOUNT,
    AREA,
    COUNT,
    DAY,
    DAYS,
    DEGREES,
    LENGTH,
    MOMENT,
    NUMBER,
    SHARE,
    TEXT,
    TICK,
    Kind,
    maybe,
    needed,
    read_number,
)
from takeoff.gui.host import Host, session_of
from takeoff.gui.widgets import Row, button
from takeoff.model.site import SiteTerms
from takeoff.model.systems import Step
from takeoff.signing import now
from takeoff.system.bases import basis_kind
from takeoff.units import Display

NO_ROOM = ("", "no room")
ROOM = maybe(TEXT)
NOTE = Row("note", "Note", "Anything to remember.", kind=TEXT)
DONE = {"area": AREA, "length": LENGTH}
"""How what was done is read, by what a step goes by; else it is a count."""


class _RecordDialog(FormDialog):
    """Fields, a button that records and stays open for the next record, and what came of it."""

    def __init__(self, host: Host, title: str, rows: Sequence[Row]) -> None:
        super().__init__(host, title, rows, "Record", hint="Keep it in the job.")
        rooms = {run.room for run in self.session.selected_runs()}
        self.form.choices("room", [NO_ROOM, *self.session.rooms()])
        self.form.show(room=(rooms.pop() or "") if len(rooms) == 1 else "")

    def act(self) -> None:
        told, is_well = self.keep()
        self.good(told, is_well=is_well)
        self.session.attempt(lambda: None, told.splitlines()[0])

    def keep(self) -> tuple[str, bool]:
        """Keep what the fields say; return what to tell, and whether all is well."""
        raise NotImplementedError


class UseDialog(_RecordDialog):
    """Packs used of a step, what was done with them, and the hours it took."""

    def __init__(self, host: Host) -> None:
        rows = (
            Row("step", "Step", "The coat or other step that was done.", ()),
            Row("pack", "Pack", "The pack it came in.", (), maybe(TEXT)),
            Row("packs", "Packs", "Packs used: those opened, minus what is left in them, such as 3 or 2.5.",
                kind=maybe(NUMBER, 0.0)),
            Row("area", f"Done, {session_of(host).display.area_unit}",
                "Area done, such as 500 sf or 46.5 m2; a length where it goes by length. A second coat counts again."),
            Row("hours", "Man-hours", "Hours that it took, of one person.", kind=maybe(AMOUNT, 0.0)),
            Row("person", "Worked by", "Whose hours they are.", kind=TEXT),
            Row("room", "Room", "The room that it was done in. The time until the next coat counts from then.",
                (), ROOM),
            Row("finished", "Finished", "When it was finished, such as 2026-03-04 15:00.", kind=MOMENT, of="when"),
            NOTE,
        )  # fmt: skip
        super().__init__(host, "Work done on site", rows)
        self.priced = host.priced
        steps = () if self.priced is None else tuple(steps_in_use(self.priced))
        self.form.show(finished=local_time(datetime.fromisoformat(now())))
        if self.priced is None or not steps:
            self.refuse("No step is planned yet: trace walls and give their rooms a system first.")
            self.act_button.configure(state="disabled")
            return
        coats = {(coat.system, coat.step) for coat in self._progress()}  # they come before what is done round them
        in_order = sorted(steps, key=lambda key: key not in coats)
        called = [("/".join(key), step_called(self.priced.catalogue, key)) for key in in_order]
        self.form.choices("step", called)
        self.form.show(step=called[0][0])
        self.changed("step", called[0][0])

    def _step(self, text: str) -> Step:
        assert self.priced is not None
        system, _, id = text.partition("/")
        return next(step for step in self.priced.catalogue.system(system).steps if step.id == id)

    def changed(self, key: str, text: str) -> None:
        if key == "step" and self.priced is not None:
            product = self._step(text).product
            packs = () if product is None else self.priced.catalogue.product(product).packs
            self.form.choices("pack", [(pack.name, pack.name) for pack in packs] or [("", "takes no packs")])
            usual = {coat.step: coat.pack for coat in self._progress()}
            largest = max(packs, key=lambda pack: pack.size).name if packs else ""
            self.form.show(pack=usual.get(text.partition("/")[2], largest))

    def _progress(self, text: str = "") -> tuple[actions.CoatProgress, ...]:
        assert self.priced is not None
        made = actions.progress(self.priced, self.session.job.uses.values())
        return tuple(coat for coat in made if text in ("", f"{coat.system}/{coat.step}"))

    def keep(self) -> tuple[str, bool]:
        """Record work; return what was kept, where the step stands, and whether its film is as specified."""
        chosen, show = self.form.text("step"), self.session.display
        kind = maybe(DONE.get(basis_kind(self._step(chosen).basis), NUMBER), 0.0)
        area, (system, _, step) = kind.read(self.form.text("area"), show, "Done"), chosen.partition("/")
        given = {"system": system, "step": step, "area": area, "priced": self.priced, **self.form.read(show)}
        use = actions.record_use(self.session.store, **given)
        self.form.show(packs="", area="", hours="", note="")
        told = f"Recorded {use_words(use, show, nothing='it')}."
        states = [coat.state for coat in self._progress(chosen)]
        return "\n".join((told, *(f"{s.words}." for s in states))), all(s.verdict == "within" for s in states)


class ReadingDialog(_RecordDialog):
    """Air, wall and humidity on site, and whether it may be coated in them."""

    def __init__(self, host: Host) -> None:
        unit = "°C" if session_of(host).display.system == "metric" else "°F"
        rows = (
            Row("air", f"Air {unit}", f"Temperature of the air in {unit}, or with its unit: 20 C, 68 F.",
                kind=needed(DEGREES)),
            Row("surface", f"Wall {unit}", f"Temperature of the wall's surface in {unit}, or with its unit.",
                kind=needed(DEGREES)),
            Row("humidity", "Humidity %", "Relative humidity in per cent.", kind=SHARE),
            Row("moisture", "Moisture %", "Moisture of the wall, by mass. Empty where it was not read.",
                kind=maybe(SHARE)),
            Row("room", "Room", "Where it was read.", (), ROOM),
            NOTE,
        )  # fmt: skip
        super().__init__(host, "Reading on site", rows)

    def keep(self) -> tuple[str, bool]:
        show = self.session.display
        verdict = actions.record_reading(self.session.store, **self.form.read(show))
        self.form.show(note="")
        return "\n".join([*verdict.lines, f"Dew point {degrees(verdict.dew_point, show.system)}."]), verdict.may_coat


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
        button(self.foot, "Forget", self.forget, hint="Make the price by hours again.", side="left")
        self.form.show_of(session.display, self._terms)
        self.form.show(**{f"room:{found.room}": found.day for found in self._terms.handed_over})

    @property
    def _terms(self) -> SiteTerms:
        return self.session.job.settings.site or SiteTerms()

    def act(self) -> None:
        show = self.session.display
        days = {id: maybe(DAY, "").read(self.form.text(f"room:{id}"), show, "Day") for id in self._rooms}
        handed_over = actions.handed_over(SiteTerms(), days)
        terms = replace(self._terms, **self.form.read(show), handed_over=handed_over)
        self.leave_if(self.session.act("Kept how the site is worked", actions.keep_terms, terms))

    def forget(self) -> None:
        """Take the terms out of the job."""
        self.leave_if(self.session.act("The price is made by hours", actions.keep_terms, None))
