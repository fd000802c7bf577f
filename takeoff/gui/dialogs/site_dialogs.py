"""Recording on site: packs used of a coat on an area, and readings of air and wall."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from takeoff import actions
from takeoff.estimate.climate import degrees
from takeoff.estimate.onsite import counted_words
from takeoff.gui.dialogs.common import FormDialog
from takeoff.gui.host import Host, session_of
from takeoff.gui.panels.site_tables import coat_names, local_time
from takeoff.gui.widgets.form import Row
from takeoff.gui.widgets.kinds import AREA, DEGREES, LENGTH, MOMENT, NUMBER, SHARE, TEXT, maybe, needed
from takeoff.signing import now, person

NO_ROOM = ("", "no room")
ROOM = maybe(TEXT)
NOTE = Row("note", "Note", "Anything to remember.", kind=TEXT)
DONE = {"area": AREA, "length": LENGTH}
"""How what was done is read, by what a coat goes by; else it is a count."""


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
    """Packs used of a coat, and the area done with them."""

    def __init__(self, host: Host) -> None:
        rows = (
            Row("coat", "Coat", "The coat that was laid.", ()),
            Row("pack", "Pack", "The pack it came in.", (), TEXT),
            Row("packs", "Packs", "Packs used: those opened, minus what is left in them, such as 3 or 2.5.",
                kind=NUMBER),
            Row("area", f"Done, {session_of(host).display.area_unit}",
                "Area done, such as 500 sf or 46.5 m2; a length where it goes by length. A second coat counts again."),
            Row("room", "Room", "The room that it was laid in. The time until the next coat counts from then.",
                (), ROOM),
            Row("finished", "Finished", "When the coat was finished, such as 2026-03-04 15:00.",
                kind=MOMENT, of="when"),
            NOTE,
        )  # fmt: skip
        super().__init__(host, "Packs used", rows)
        self.priced = host.priced
        self.coats = () if self.priced is None else actions.progress(self.priced, self.session.job.uses.values())
        names = coat_names(self.coats, dict(self.session.systems()))
        labels = [(f"{system}/{step}", name) for (system, step), name in names.items()]
        self.form.choices("coat", labels)
        self.form.show(finished=local_time(datetime.fromisoformat(now())))
        if labels:
            self.form.show(coat=labels[0][0])
            self.changed("coat", labels[0][0])
        else:
            self.refuse("No coat is planned yet: trace walls and give their rooms a system first.")
            self.act_button.configure(state="disabled")

    def changed(self, key: str, text: str) -> None:
        """Offer the packs of another coat."""
        if key == "coat":
            coat = next(c for c in self.coats if f"{c.system}/{c.step}" == text)
            self.form.choices("pack", [(name, name) for name in coat.packs])
            self.form.show(pack=coat.pack)

    def keep(self) -> tuple[str, bool]:
        """Record packs used; return what was kept, where the coat stands, and whether its film is as specified."""
        system, _, step = self.form.text("coat").partition("/")
        coat = next(c for c in self.coats if (c.system, c.step) == (system, step))
        show = self.session.display
        use = actions.record_use(
            self.session.store,
            step=step,
            system=system,
            area=needed(DONE.get(coat.target.counted, NUMBER)).read(self.form.text("area"), show, "Done"),
            who=person(),
            at=now(),
            priced=self.priced,
            **self.form.read(show),
        )
        assert self.priced is not None
        done = actions.progress(self.priced, self.session.job.uses.values())
        state = next(c.state for c in done if (c.system, c.step) == (system, step))
        self.form.show(packs="", area="", note="")
        told = f"Recorded {use.packs:g} × {use.pack} on {counted_words(use.area, use.counted, show)}.\n{state.words}."
        return told, state.verdict == "within"


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
