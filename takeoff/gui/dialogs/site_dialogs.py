"""Recording on site: packs used of a coat on an area, and readings of air and wall."""

from __future__ import annotations

from datetime import UTC, datetime

from takeoff import actions
from takeoff.errors import InputError, TakeoffError
from takeoff.estimate.climate import degrees
from takeoff.exchange.typed import read_area, read_degrees, read_moment
from takeoff.gui.dialogs.common import Dialog
from takeoff.gui.entries import read_number
from takeoff.gui.host import Host
from takeoff.gui.panels.site_tables import coat_names, local_time
from takeoff.gui.widgets.fields import ChoiceField, TextField, button
from takeoff.gui.widgets.theme import THEME
from takeoff.gui.wording import words_of
from takeoff.signing import now, person

NO_ROOM = ("", "no room")


class _RecordDialog(Dialog):
    """Fields, a button that records and stays open for the next record, and what came of it."""

    def __init__(self, host: Host, title: str) -> None:
        super().__init__(host, title, scrolls=True)
        assert host.session is not None
        self.session = host.session
        self.room = ""
        self.record_button = button(
            self.foot, "Record", self.record, is_main=True, hint="Keep it in the job. Key: Ctrl+Enter"
        )
        self.record_button.pack(side="right")
        button(self.foot, "Close", self.close, hint="Key: Escape").pack(side="right", padx=8)
        self.bind("<Control-Return>", lambda _e: self.record())
        self.bind("<Control-KP_Enter>", lambda _e: self.record())

    def text(self, label: str, hint: str) -> TextField:
        """Add a field for a text."""
        field = TextField(self.body, label, lambda _t: None, self.refuse, hint=hint)
        field.pack(fill="x", pady=2)
        return field

    def room_choice(self, hint: str) -> ChoiceField:
        """Add the choice of a room: the one that is selected, if one is."""
        field = ChoiceField(self.body, "Room", [NO_ROOM, *self.session.rooms()], self._with_room, hint=hint)
        rooms = {run.room for run in self.session.selected_runs()}
        self.room = (rooms.pop() or "") if len(rooms) == 1 else ""
        field.show(self.room)
        field.pack(fill="x", pady=2)
        return field

    def _with_room(self, id: str) -> None:
        self.room = id

    def record(self) -> None:
        """Read the fields and keep them in the job; what does not fit is said, and nothing is kept."""
        try:
            told, is_well = self.keep()
        except TakeoffError as error:
            self.refuse(words_of(error))
            return
        self.said.configure(text=told, text_color=THEME.good if is_well else THEME.warn)
        self.session.attempt(lambda: None, told.splitlines()[0])

    def keep(self) -> tuple[str, bool]:
        """Keep what the fields say; return what to tell, and whether all is well."""
        raise NotImplementedError


class UseDialog(_RecordDialog):
    """Packs used of a coat, and the area done with them."""

    def __init__(self, host: Host) -> None:
        super().__init__(host, "Packs used")
        self.priced = host.priced
        self.coats = () if self.priced is None else actions.progress(self.priced, self.session.job.uses.values())
        names = coat_names(self.coats, dict(self.session.systems()))
        labels = [(f"{system}/{step}", name) for (system, step), name in names.items()]
        self.coat = ChoiceField(self.body, "Coat", labels, self._with_coat, hint="The coat that was laid.")
        self.coat.pack(fill="x", pady=2)
        self.pack_choice = ChoiceField(self.body, "Pack", [], self._with_pack, hint="The pack it came in.")
        self.pack_choice.pack(fill="x", pady=2)
        self.packs = self.text("Packs", "Packs opened less what is left in them, such as 3 or 2.5.")
        self.first = self.packs
        self.area = self.text(
            f"Area, {self.session.display.area_unit}",
            "Area done, such as 500 sf or 46.5 m2; a second coat on it counts again.",
        )
        self.room_choice("The room that it was laid in. The time until the next coat counts from then.")
        self.finished = self.text("Finished", "When the coat was finished, such as 2026-03-04 15:00.")
        self.finished.show(local_time(datetime.fromisoformat(now())))
        self.note = self.text("Note", "Anything to remember.")
        self._key, self._pack = "", ""
        if labels:
            self._with_coat(labels[0][0])
        else:
            self.refuse("No coat is planned yet: trace walls and give their rooms a system first.")
            self.record_button.configure(state="disabled")

    def _with_coat(self, key: str) -> None:
        self._key = key
        self.coat.show(key)
        coat = next(c for c in self.coats if f"{c.system}/{c.step}" == key)
        self.pack_choice.set_choices([(name, name) for name in coat.packs])
        self._with_pack(coat.pack)

    def _with_pack(self, name: str) -> None:
        self._pack = name
        self.pack_choice.show(name)

    def keep(self) -> tuple[str, bool]:
        """Record packs used; return what was kept, where the coat stands, and whether its film is as specified."""
        system, _, step = self._key.partition("/")
        show = self.session.display
        ended = read_moment(self.finished.entry.get().strip())
        use = actions.record_use(
            self.session.store,
            step=step,
            system=system,
            pack=self._pack,
            packs=read_number(self.packs.entry.get(), "packs"),
            area=read_area(_needed(self.area.entry.get(), "area done"), show),
            room=self.room or None,
            when=ended.astimezone(UTC).isoformat(timespec="seconds"),
            note=self.note.entry.get().strip(),
            who=person(),
            at=now(),
            priced=self.priced,
        )
        assert self.priced is not None
        done = actions.progress(self.priced, self.session.job.uses.values())
        state = next(c.state for c in done if (c.system, c.step) == (system, step))
        for field in (self.packs, self.area, self.note):
            field.show("")
        told = f"Recorded {use.packs:g} × {use.pack} on {show.area(use.area)}.\n{state.words}."
        return told, state.verdict == "within"


class ReadingDialog(_RecordDialog):
    """Air, wall and humidity on site, and whether it may be coated in them."""

    def __init__(self, host: Host) -> None:
        super().__init__(host, "Reading on site")
        unit = "°C" if self.session.display.system == "metric" else "°F"
        self.air = self.text(f"Air {unit}", f"Temperature of the air in {unit}, or with its unit: 20 C, 68 F.")
        self.first = self.air
        self.surface = self.text(f"Wall {unit}", f"Temperature of the wall's surface in {unit}, or with its unit.")
        self.humidity = self.text("Humidity %", "Relative humidity in per cent.")
        self.room_choice("Where it was read.")
        self.note = self.text("Note", "Anything to remember.")

    def keep(self) -> tuple[str, bool]:
        """Judge and record a reading; return the verdict, and whether it may be coated."""
        show = self.session.display
        is_metric = show.system == "metric"
        verdict = actions.record_reading(
            self.session.store,
            air=read_degrees(_needed(self.air.entry.get(), "air"), is_metric=is_metric),
            surface=read_degrees(_needed(self.surface.entry.get(), "wall"), is_metric=is_metric),
            humidity=read_number(self.humidity.entry.get().replace("%", ""), "humidity") / 100.0,
            room=self.room or None,
            note=self.note.entry.get().strip(),
            who=person(),
            at=now(),
        )
        self.note.show("")
        lines = ["It may be coated." if verdict.may_coat else "It may not be coated now.", *verdict.against]
        lines += [f"Not with {name}: {why}" for name, why in verdict.products]
        return "\n".join([*lines, f"Dew point {degrees(verdict.dew_point, show.system)}."]), verdict.may_coat


def _needed(text: str, what: str) -> str:
    """Return a text that must not be empty."""
    if not text.strip():
        raise InputError(f"{what}: nothing is written", remedy="Write a number.")
    return text
