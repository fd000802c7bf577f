"""Tables of the page for the site: coats, rooms and records, from what the actions say."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from takeoff import actions
from takeoff.estimate.climate import degrees
from takeoff.estimate.onsite import counted_words
from takeoff.gui.widgets.table_view import text_table
from takeoff.model.site import PackUse, Reading
from takeoff.model.systems import Unit
from takeoff.report.tables import Column, Table
from takeoff.system.words import Words
from takeoff.units import Display

CoatNames = Mapping[tuple[str, str], str]
"""What coats are called, by the ids of system and step."""

FLAGS = {"thin": "too thin", "thick": "too thick", "within": "within tolerance", "not started": "not started"}
STATES = {
    "wait": "wait",
    "open": "open for the next coat",
    "missed": "missed: abrade first",
    "wet": "now, wet into wet",
}


def coat_names(coats: Sequence[actions.CoatProgress], systems: Mapping[str, str]) -> CoatNames:
    """Call each coat by its own name, then that of its system: where room is short, the first is seen."""
    return {(c.system, c.step): f"{c.name} · {systems.get(c.system, c.system)}" for c in coats}


def coats_table(coats: Sequence[actions.CoatProgress], names: CoatNames, show: Display) -> Table:
    """How far each coat is, the film laid against the film specified, and packs to finish."""
    columns = tuple(
        Column(title="Done", unit="%", decimals=0) if title == "Done" else Column(title=title, kind="text")
        for title in ("Coat", "Done", "Area done", "Wet film", "Specified", "Finding", "To finish")
    )
    rows = tuple(
        (
            names[coat.system, coat.step],
            100.0 * coat.state.complete,
            f"{coat.target.amount(coat.state.area_done, show)} of {coat.target.amount(coat.target.area, show)}",
            coat.target.laid(coat.state.film, show),
            coat.target.laid(coat.target.wet_film, show),
            FLAGS[coat.state.verdict],
            f"{coat.state.packs_to_finish} × {coat.pack}",
        )
        for coat in coats
    )
    return Table(id="coats", title="Coats", columns=columns, rows=rows)


def rooms_table(clocks: Sequence[actions.RoomClock]) -> Table:
    """Where each room stands between coats."""
    rows = (
        (
            clock.label,
            clock.surface,
            clock.step,
            STATES[clock.clock.state],
            local_time(clock.clock.opens),
            "" if clock.clock.closes is None else local_time(clock.clock.closes),
        )
        for clock in clocks
    )
    return text_table(("Room", "Surface", "Last coat", "Next coat", "Opens", "Closes"), rows)


def records_table(
    records: Sequence[PackUse | Reading], names: CoatNames, rooms: Mapping[str, str], show: Display
) -> Table:
    """What was recorded, as it stands in the job."""
    rows = (
        (
            local_time(datetime.fromisoformat(record.when)) if record.when else "",
            record_words(record, names, show),
            rooms.get(record.room or "", record.room or ""),
            record.note,
        )
        for record in records
    )
    return text_table(("When", "Record", "Room", "Note"), rows)


def record_words(record: PackUse | Reading, names: CoatNames, show: Display) -> str:
    """Say in a few words what a record holds."""
    if isinstance(record, PackUse):
        coat = names.get((record.system, record.step), f"{record.system}: {record.step}")
        said = [f"{record.packs:g} × {record.pack}"] * bool(record.pack)
        said += [f"{record.hours:g} h {record.person}".rstrip()] * bool(record.hours)
        return f"{coat}, {', '.join(said)}" + (
            f" on {counted_words(record.area, record.counted, show)}" if record.area else ""
        )
    air, surface = degrees(record.air, show.system), degrees(record.surface, show.system)
    return f"air {air}, wall {surface}, humidity {100 * record.humidity:g} %"


def coat_words(coat: actions.CoatProgress, names: CoatNames, show: Display) -> str:
    """Say where a coat stands: film, what is left, and packs for it at the film laid and as specified."""
    state, target = coat.state, coat.target
    left = target.amount(max(0.0, target.area - state.area_done), show)
    lines = [names[coat.system, coat.step], f"{100 * state.complete:.0f} % complete, {left} left to do"]
    if state.film is not None and state.ratio is not None:
        lines += [
            f"{'wet film ' * target.is_film}laid: {target.laid(state.film, show)}, "
            f"specified: {target.laid(target.wet_film, show)} "
            f"({100 * (state.ratio - 1.0):+.0f} %, {FLAGS[state.verdict]}; tolerance ± {100 * target.tolerance:g} %)",
            f"  = {_used(state.used, target.unit, show)} used × (1 − {100 * target.loss:.3g} % loss)"
            f" ÷ {target.amount(state.area_done, show)}",
            f"to finish at the film laid: {state.packs_to_finish} × {coat.pack}",
        ]
    lines.append(f"to finish at the film specified: {state.packs_specified} × {coat.pack}")
    return "\n".join(lines)


def _used(value: float, unit: Unit, show: Display) -> str:
    return show.volume(value) if unit == "L" else Words(first=show.system).amount(value, unit)


def local_time(moment: datetime) -> str:
    """Show a time as the clock on the wall has it; one without a zone as it is.

    Examples
    --------
    >>> local_time(datetime(2026, 3, 4, 15, 0))
    '2026-03-04 15:00'
    """
    return f"{moment.astimezone() if moment.tzinfo else moment:%Y-%m-%d %H:%M}"
