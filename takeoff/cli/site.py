"""Commands for the site: use, site, progress."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from takeoff.cli.opening import opened
from takeoff.cli.options import AsJson, JobPath
from takeoff.cli.rim import say, say_file, told
from takeoff.signing import now, person

if TYPE_CHECKING:
    from takeoff.actions import CoatProgress, RoomClock
    from takeoff.units import Display

Room = Annotated[
    str | None, typer.Option("--room", metavar="ROOM", help="The room, by id, number or name.", show_default=False)
]
Note = Annotated[str, typer.Option("--note", metavar="TEXT", help="A note for the record.", show_default=False)]


def use(
    job: JobPath,
    step: Annotated[str, typer.Argument(metavar="STEP", help="Id of the coat, such as glaze.", show_default=False)],
    packs: Annotated[
        float, typer.Option("--packs", metavar="N", min=0.0, help="Packs opened less what is left in them.")
    ],
    area: Annotated[
        str, typer.Option("--area", metavar="AREA", help="Area done: 500 sf, 46.5 m2; bare in the job's unit.")
    ],
    pack: Annotated[
        str | None,
        typer.Option("--pack", metavar="NAME", help="Which pack; the largest bought without it.", show_default=False),
    ] = None,
    system: Annotated[
        str | None,
        typer.Option("--system", metavar="SYSTEM", help="Where two have such a step.", show_default=False),
    ] = None,
    room: Room = None,
    note: Note = "",
) -> None:
    """Record packs used of a coat and the area done with them."""
    from takeoff import actions
    from takeoff.cli.show import display_of
    from takeoff.exchange.typed import read_area

    with opened(job) as store:
        show = display_of(store.job.settings)
        done = actions.record_use(
            store,
            step=step,
            packs=packs,
            area=read_area(area, show),
            system=system,
            pack=pack,
            room=actions.room_named(store, room).id if room is not None else None,
            note=note,
            who=person(),
            at=now(),
        )
        made = next(p for p in actions.progress(store) if (p.system, p.step) == (done.system, done.step))
    told(f"Recorded {done.packs:g} × {done.pack} on {show.area(done.area)}.")
    say(made.state.words)


def site(
    job: JobPath,
    air: Annotated[
        str, typer.Option("--air", metavar="T", help="Air: 20 C, 68 F; bare in °C, or °F where the job is in feet.")
    ],
    surface: Annotated[str, typer.Option("--surface", metavar="T", help="Surface of the wall, likewise.")],
    humidity: Annotated[float, typer.Option("--humidity", metavar="PERCENT", help="Relative humidity in per cent.")],
    moisture: Annotated[
        float | None,
        typer.Option("--moisture", metavar="PERCENT", help="Moisture of the wall by mass.", show_default=False),
    ] = None,
    room: Room = None,
    note: Note = "",
) -> None:
    """Judge what may be laid now, and keep the reading; exit code 1 where not all of it may."""
    from takeoff import actions
    from takeoff.estimate.climate import degrees, degrees_apart
    from takeoff.exchange.typed import read_degrees

    with opened(job) as store:
        units = store.job.settings.units
        verdict = actions.record_reading(
            store,
            air=read_degrees(air, is_metric=units == "metric"),
            surface=read_degrees(surface, is_metric=units == "metric"),
            humidity=humidity / 100.0,
            moisture=None if moisture is None else moisture / 100.0,
            room=actions.room_named(store, room).id if room is not None else None,
            note=note,
            who=person(),
            at=now(),
        )
    dew, above = degrees(verdict.dew_point, units), degrees_apart(verdict.above_dew_point, units)
    say(f"Dew point {dew}, the surface is {above} above it.")
    for line in verdict.lines:
        say(line)
    if not verdict.may_coat:
        raise typer.Exit(1)


def progress(
    job: JobPath,
    at: Annotated[
        str,
        typer.Option(
            "--at", metavar="TIME", help="When to read the recoat clocks; now without it.", show_default=False
        ),
    ] = "",
    as_json: AsJson = False,
) -> None:
    """Show how far each coat is: film laid, percent complete, packs to finish, and the recoat clock of each room."""
    from takeoff import actions
    from takeoff.cli.show import display_of, nothing_yet
    from takeoff.exchange.typed import read_moment

    with opened(job) as store:
        value = store.job
    priced = actions.make_estimate(value)
    if not as_json and nothing_yet(value, job, "to follow"):
        return
    coats = actions.progress(priced, value.uses.values())
    clocks = actions.recoat_clocks(priced, now=read_moment(at or now()), uses=value.uses.values())
    if as_json:
        from takeoff.cli.as_json import dump

        say_file(dump(progress_json(coats, clocks)))
        return
    show_progress(coats, clocks, display_of(value.settings))


def show_progress(coats: tuple[CoatProgress, ...], clocks: tuple[RoomClock, ...], show: Display) -> None:
    """Print where each coat and each room stands."""
    from takeoff.cli.show import table

    rows = [
        (
            f"{coat.system}: {coat.name}",
            f"{coat.state.complete * 100:.0f} %",
            f"{show.area(coat.state.area_done)} of {show.area(coat.target.area)}",
            show.film(coat.target.wet_film),
            "" if coat.state.film is None else show.film(coat.state.film),
            coat.state.verdict,
            f"{coat.state.packs_to_finish} × {coat.pack}",
        )
        for coat in coats
    ]
    table("Progress", ("Coat", "Done", "Area", "Film", "Laid", "Verdict", "To finish"), rows)
    if clocks:
        table(
            "Recoat clocks",
            ("Room", "Surface", "After", "State"),
            [(clock.label, clock.surface, clock.step, clock.clock.words) for clock in clocks],
            text_columns=4,
        )


def progress_json(coats: tuple[CoatProgress, ...], clocks: tuple[RoomClock, ...]) -> dict[str, Any]:
    """Coats and recoat clocks; areas in m², films in m, volumes in L."""
    return {
        "schema": "takeoff.progress/1",
        "coats": [
            {
                "system": coat.system,
                "step": coat.step,
                "name": coat.name,
                "area": coat.target.area,
                "area_done": coat.state.area_done,
                "complete": coat.state.complete,
                "wet_film": coat.target.wet_film,
                "film": coat.state.film,
                "verdict": coat.state.verdict,
                "used": coat.state.used,
                "pack": coat.pack,
                "packs_to_finish": coat.state.packs_to_finish,
                "packs_specified": coat.state.packs_specified,
            }
            for coat in coats
        ],
        "rooms": [
            {
                "room": clock.room,
                "surface": clock.surface,
                "step": clock.step,
                "state": clock.clock.state,
                "opens": clock.clock.opens.isoformat(timespec="minutes"),
                "closes": None if clock.clock.closes is None else clock.clock.closes.isoformat(timespec="minutes"),
            }
            for clock in clocks
        ],
    }
