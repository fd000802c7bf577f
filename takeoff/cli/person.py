"""The command that says whose name goes into the journal: person."""

from __future__ import annotations

from typing import Annotated

from takeoff.cli.options import arg, flag
from takeoff.cli.rim import say, told
from takeoff.errors import InputError
from takeoff.signing import person as name_of_person
from takeoff.signing import set_person


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
