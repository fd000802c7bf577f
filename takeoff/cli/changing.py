"""Commands that change what is in a job, and whose name goes into the journal: settings, room, remove, person."""

from __future__ import annotations

from typing import Annotated, Literal

from takeoff import actions
from takeoff.cli.options import RULE_NAMES, JobPath, Units, arg, flag, opt
from takeoff.cli.rim import notes, opened, say, told
from takeoff.errors import InputError
from takeoff.model.walls import MOST_ALIKE
from takeoff.signing import person as name_of_person
from takeoff.signing import set_person


def settings(
    job: JobPath,
    name: Annotated[str | None, opt("--name", "NAME", "New name of the job.")] = None,
    units: Annotated[Units | None, opt("--units", None, "Units to read and show.")] = None,
    precision: Annotated[int | None, opt("--precision", "N", 'Smallest fraction of an inch: 16 for 1/16".')] = None,
    currency: Annotated[str | None, opt("--currency", "CODE", "Currency code of the prices.")] = None,
    rule: Annotated[str | None, opt("--rule", "NAME", f"Measuring rule for payment: {RULE_NAMES}.")] = None,
) -> None:
    """Show the settings of a job, or change those that are named."""
    wanted = {"name": name, "units": units, "precision": precision, "currency": currency, "rule": rule}
    named = {key: value for key, value in wanted.items() if value is not None}
    with opened(job) as store:
        if named:
            actions.change_settings(store, **named)
        s = store.job.settings
    for key in wanted:
        told(f"{key}: {getattr(s, key)}")


def room(
    job: JobPath,
    rooms: Annotated[list[str], arg("ROOM...", "Rooms by id, number or name; none for all.")] = [],  # noqa: B006 - typer copies it
    run: Annotated[list[str], opt("--wall", "ID", "A single wall by its id. Repeat for more.")] = [],  # noqa: B006 - typer copies it
    colour: Annotated[str | None, opt("--colour", "NAME", 'Colour of its coats; "" removes it.')] = None,
    substrate: Annotated[
        Literal["board", "concrete", "plaster", "block", "brick", "metal", "existing"] | None,
        opt("--substrate", None, "What the coats go onto."),
    ] = None,
    times: Annotated[
        int | None,
        opt(
            "--times",
            "N",
            "How often each is built as it is traced: all of it counts that often.",
            min=1,
            max=MOST_ALIKE,
        ),
    ] = None,
    sheet: Annotated[str, opt("--sheet", "SHEET", "All rooms with walls on this sheet.")] = "",
) -> None:
    """Set the colour and the substrate of rooms, or of single walls, and how often rooms are built; or show them."""
    with opened(job) as store:
        ids = [actions.room_named(store, name).id for name in rooms]
        if sheet:
            id = actions.find_sheet(store.job, sheet).id
            on = dict.fromkeys(one.room for one in store.job.runs.values() if one.sheet == id and one.room)
            if not on:
                raise InputError(
                    f"no room has a wall on sheet {sheet}", remedy="Look at the rooms: takeoff measure JOB."
                )
            ids += [room for room in on if room is not None and room not in ids]
        if colour is not None or substrate is not None or times is not None:
            chosen = ids or ([] if run else list(store.job.rooms))
            if chosen and not ids:
                notes([f"no room was named: all {len(chosen)} rooms of the job are set"])
            actions.set_finish(
                store, rooms=chosen, runs=run, colour=colour, substrate=substrate, times=times,
            )  # fmt: skip
        value = store.job
    walls = [one for one in value.runs.values() if one.colour or one.substrate]
    for found in value.rooms.values():
        if not ids or found.id in ids:
            finish = f"{found.substrate or 'substrate not given'}, {found.colour or 'colour not given'}"
            told(f"{found.id}: {finish}, built {found.times}")
            for wall in walls:
                if wall.room == found.id:
                    told(f"  wall {wall.id}: {wall.substrate or 'as the room'}, {wall.colour or 'as the room'}")


def remove(
    job: JobPath,
    run: Annotated[list[str], opt("--run", "ID", "A wall by its id. Repeat for more.")] = [],  # noqa: B006 - typer copies it
    room: Annotated[
        list[str], opt("--room", "ROOM", "A room by id, number or name, with its walls. Repeat for more.")
    ] = [],  # noqa: B006 - typer copies it
) -> None:
    """Remove walls, or rooms with their walls; one step that undo takes back."""
    if not run and not room:
        raise InputError("nothing to remove was named", remedy="Give --run ID or --room ROOM.")
    with opened(job) as store:
        change = actions.remove_from_job(store, runs=run, rooms=room)
    gone = [entry for entry in change.entries if entry.after is None]
    walls, rooms = (sum(entry.kind == kind for entry in gone) for kind in ("run", "room"))
    told(f"Removed {walls} wall{'s' * (walls != 1)} and {rooms} room{'s' * (rooms != 1)}.")


def person(
    name: Annotated[str | None, arg("NAME", "Your name, as the journal and exported marks are to show it.")] = None,
    login: Annotated[bool, flag("--login", "Go back to the login name.")] = False,
) -> None:
    """Print the name under which your work is recorded, or set it for all jobs."""
    if name is None and not login:
        say(name_of_person())
        return
    if name is not None and (login or not name.strip()):
        fault = "a name and --login were given" if login else "the name is empty"
        raise InputError(fault, remedy="Give your name, or --login to go back to the login name.")
    set_person(name or "")
    told(f"What you do from now on is recorded under: {name_of_person()}")
