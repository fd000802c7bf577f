"""Recording on site: packs used of a step, what was done and its hours, and readings of air and wall."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from takeoff import actions
from takeoff.actions.onsite import step_called, steps_in_use
from takeoff.actions.site_log import local_time
from takeoff.estimate.climate import degrees
from takeoff.estimate.onsite import counted_words
from takeoff.gui.dialogs.common import FormDialog
from takeoff.gui.host import Host, session_of
from takeoff.gui.widgets.form import Row
from takeoff.gui.widgets.kinds import AMOUNT, AREA, DEGREES, LENGTH, MOMENT, NUMBER, SHARE, TEXT, maybe, needed
from takeoff.model.systems import Step
from takeoff.signing import now, person
from takeoff.system.bases import basis_kind

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
        """Read the fields and keep them in the job."""
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
        coats = {(coat.system, coat.step) for coat in self._progress()}
        in_order = sorted(steps, key=lambda key: key not in coats)  # coats come before what is done round them
        called = [("/".join(key), step_called(self.priced.catalogue, key)) for key in in_order]
        self.form.choices("step", called)
        self.form.show(step=called[0][0])
        self.changed("step", called[0][0])

    def _step(self, text: str) -> Step:
        assert self.priced is not None
        system, _, id = text.partition("/")
        return next(step for step in self.priced.catalogue.system(system).steps if step.id == id)

    def changed(self, key: str, text: str) -> None:
        """Offer the packs of another step."""
        if key == "step" and self.priced is not None:
            product = self._step(text).product
            packs = () if product is None else self.priced.catalogue.product(product).packs
            self.form.choices("pack", [(pack.name, pack.name) for pack in packs] or [("", "takes no packs")])
            usual = {coat.step: coat.pack for coat in self._progress()}
            largest = max(packs, key=lambda pack: pack.size).name if packs else ""
            self.form.show(pack=usual.get(text.partition("/")[2], largest))

    def _progress(self, text: str = "") -> tuple[actions.CoatProgress, ...]:
        """Return where each coat stands, or that of one step alone."""
        assert self.priced is not None
        made = actions.progress(self.priced, self.session.job.uses.values())
        return tuple(coat for coat in made if text in ("", f"{coat.system}/{coat.step}"))

    def keep(self) -> tuple[str, bool]:
        """Record work; return what was kept, where the step stands, and whether its film is as specified."""
        chosen, show = self.form.text("step"), self.session.display
        area = maybe(DONE.get(basis_kind(self._step(chosen).basis), NUMBER), 0.0)
        use = actions.record_use(
            self.session.store,
            step=chosen.partition("/")[2],
            system=chosen.partition("/")[0],
            area=area.read(self.form.text("area"), show, "Done"),
            who=person(),
            at=now(),
            priced=self.priced,
            **self.form.read(show),
        )
        self.form.show(packs="", area="", hours="", note="")
        said = [f"{use.packs:g} × {use.pack}"] * bool(use.packs) + [f"{use.hours:g} h"] * bool(use.hours)
        done = f" on {counted_words(use.area, use.counted, show)}" if use.area else ""
        told = f"Recorded {', '.join(said) or 'it'}{done}."
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
        """Judge and record a reading; return the verdict, and whether it may be coated."""
        show = self.session.display
        verdict = actions.record_reading(self.session.store, who=person(), at=now(), **self.form.read(show))
        self.form.show(note="")
        return "\n".join([*verdict.lines, f"Dew point {degrees(verdict.dew_point, show.system)}."]), verdict.may_coat
