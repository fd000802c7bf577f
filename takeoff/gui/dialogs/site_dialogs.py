"""Recording on site: packs used of a coat on an area, and readings of air and wall."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

from takeoff import actions
from takeoff.errors import InputError
from takeoff.estimate.climate import degrees
from takeoff.estimate.onsite import counted_words
from takeoff.exchange.typed import read_area, read_degrees, read_moment
from takeoff.gui.dialogs.common import FormDialog
from takeoff.gui.entries import read_number
from takeoff.gui.host import Host, session_of
from takeoff.gui.panels.site_tables import coat_names, local_time
from takeoff.gui.widgets.form import Row
from takeoff.signing import now, person
from takeoff.units import parse_length

NO_ROOM = ("", "no room")


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

    def needed(self, key: str, what: str) -> str:
        """Return the text of a field that must not be empty."""
        if not self.form.text(key):
            raise InputError(f"{what}: nothing is written", remedy="Write a number.")
        return self.form.text(key)

    def keep(self) -> tuple[str, bool]:
        """Keep what the fields say; return what to tell, and whether all is well."""
        raise NotImplementedError


class UseDialog(_RecordDialog):
    """Packs used of a coat, and the area done with them."""

    def __init__(self, host: Host) -> None:
        rows = (
            Row("coat", "Coat", "The coat that was laid.", ()),
            Row("pack", "Pack", "The pack it came in.", ()),
            Row("packs", "Packs", "Packs used: those opened, minus what is left in them, such as 3 or 2.5."),
            Row(
                "area",
                f"Done, {session_of(host).display.area_unit}",
                "Area done, such as 500 sf or 46.5 m2; a length where it goes by length. A second coat counts again.",
            ),
            Row("room", "Room", "The room that it was laid in. The time until the next coat counts from then.", ()),
            Row("finished", "Finished", "When the coat was finished, such as 2026-03-04 15:00."),
            Row("note", "Note", "Anything to remember."),
        )
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
            pack=self.form.text("pack"),
            packs=read_number(self.form.text("packs"), "packs"),
            area=self._done(coat.target.counted),
            room=self.form.text("room") or None,
            when=read_moment(self.form.text("finished")).astimezone(UTC).isoformat(timespec="seconds"),
            note=self.form.text("note"),
            who=person(),
            at=now(),
            priced=self.priced,
        )
        assert self.priced is not None
        done = actions.progress(self.priced, self.session.job.uses.values())
        state = next(c.state for c in done if (c.system, c.step) == (system, step))
        self.form.show(packs="", area="", note="")
        told = f"Recorded {use.packs:g} × {use.pack} on {counted_words(use.area, use.counted, show)}.\n{state.words}."
        return told, state.verdict == "within"

    def _done(self, counted: str) -> float:
        """Read what was done: an area, a length or a count."""
        text, show = self.needed("area", "what was done"), self.session.display
        if counted == "area":
            return read_area(text, show)
        return parse_length(text, system=show.system) if counted == "length" else read_number(text, "count")


class ReadingDialog(_RecordDialog):
    """Air, wall and humidity on site, and whether it may be coated in them."""

    def __init__(self, host: Host) -> None:
        unit = "°C" if session_of(host).display.system == "metric" else "°F"
        rows = (
            Row("air", f"Air {unit}", f"Temperature of the air in {unit}, or with its unit: 20 C, 68 F."),
            Row("surface", f"Wall {unit}", f"Temperature of the wall's surface in {unit}, or with its unit."),
            Row("humidity", "Humidity %", "Relative humidity in per cent."),
            Row("room", "Room", "Where it was read.", ()),
            Row("note", "Note", "Anything to remember."),
        )
        super().__init__(host, "Reading on site", rows)

    def keep(self) -> tuple[str, bool]:
        """Judge and record a reading; return the verdict, and whether it may be coated."""
        show = self.session.display
        is_metric = show.system == "metric"
        verdict = actions.record_reading(
            self.session.store,
            air=read_degrees(self.needed("air", "air"), is_metric=is_metric),
            surface=read_degrees(self.needed("surface", "wall"), is_metric=is_metric),
            humidity=read_number(self.form.text("humidity").replace("%", ""), "humidity") / 100.0,
            room=self.form.text("room") or None,
            note=self.form.text("note"),
            who=person(),
            at=now(),
        )
        self.form.show(note="")
        return "\n".join([*verdict.lines, f"Dew point {degrees(verdict.dew_point, show.system)}."]), verdict.may_coat
