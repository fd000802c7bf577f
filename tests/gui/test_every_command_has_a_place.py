"""Whatever a command of the command line can do has its place in the window; what has none is named with the reason.

The places are opened on a real window and what can be read there is looked at, so a place that is gone, or a command
or an option that is new, fails here.
"""

from __future__ import annotations

import tkinter
from tkinter import ttk

import pytest
import typer.main

from takeoff import actions
from takeoff.actions.addendum import SheetOfSet
from takeoff.cli.tree import app
from takeoff.errors import InputError
from takeoff.gui.commands import COMMANDS
from takeoff.gui.dialogs.check_dialog import CheckDialog
from takeoff.gui.dialogs.common import Dialog
from takeoff.gui.dialogs.exchange_dialogs import finish_schedule
from takeoff.gui.dialogs.revision_dialogs import ChangeDialog, IssueDialog, NewSetDialog, TakenIn
from takeoff.gui.dialogs.starting import NewJobDialog
from takeoff.gui.dialogs.working import DraftDialog
from takeoff.gui.panels.figures_panel import PAGES
from takeoff.gui.review import NewSet
from takeoff.gui.session import Selection

SAME_FOR_ALL = {
    "job": "it is the job that is open",
    "--json": "it is for programs; Export the job writes the whole job as JSON",
}
NOT_HERE = {
    "demo": "it is one run for a first look; the start screen tries the sample plan step by step",
    "open": "it opens this window",
    "schema": "it describes files to those who write programs",
    "draft --processes": "the window reads as many sheets side by side as the machine has cores",
    "draft --cluster": "a cluster is set up and named by who runs it, in a shell",
    "sheets --as-shown": "the window shows every page as it is seen, and both places of the pointer in its status line",
    "scale --as-shown": "points are clicked",
    "scale --region-name": "a region is clicked and needs no name; it gets one",
    "trace --as-shown": "rooms are clicked",
    "points --fail": "it is the exit code of a script",
}
"""Commands and options that make no sense in a window."""
PLACES = {
    "new": ("menu", "New job from plans"),
    "new job": ("new", "Save as"), "new --plan": ("new", "New job: facility-imperial.pdf"),
    "new plans": ("menu", "Add plans"),
    "new --name": ("new", "Name"), "new --units": ("new", "Units"),
    "new --precision": ("settings", "Fractions"), "new --currency": ("settings", "Currency"),
    "new --rule": ("settings", "Pay by"),
    "add": ("menu", "Add plans"), "add --plan": ("menu", "Add plans"), "add plans": ("menu", "Add plans"),
    "draft": ("menu", "Draft the set"), "draft --plan": ("start", "Draft a whole set…"),
    "draft plans": ("start", "Draft a whole set…"),
    "draft --units": ("settings", "Units"), "draft --code": ("settings", "Finish codes"),
    "draft --sources": ("drafted", "From"),
    "sheets": ("sheets", "A-101"), "sheets sheet": ("status", "pt"),
    "scale": ("menu", "Scale"), "scale sheet": ("sheets", "A-101"),
    "scale --read": ("scale", "Read it from the sheet"), "scale --scanned": ("scale", "Read it from the sheet"),
    "scale --ratio": ("scale", "As written"), "scale --note": ("scale", "As written"),
    "scale --points": ("scale-prompt", "click its one end"), "scale --length": ("scale", "Known dimensions"),
    "scale --region": ("scale", "Scale regions"),
    "trace": ("menu", "Room"), "trace sheet": ("sheets", "A-101"), "trace --at": ("room-prompt", "Click"),
    "trace --all": ("help", "Enter traces all rooms"), "trace --height": ("details", "Height"),
    "style": ("menu", "Show a wall"), "style sheet": ("sheets", "A-101"), "style --wall": ("style-prompt", "a wall"),
    "style --door": ("style-prompt", "a door"), "style --window": ("style-prompt", "a window"),
    "style --not": ("style-prompt", "none of these"), "style --name": ("styles", "Name"),
    "style --remove": ("styles", "Remove"), "style --from": ("styles", "From another job…"),
    "style --propose": ("styles", "Propose"),
    "finishes": ("menu", "Read the finish schedule"), "finishes sheet": ("sheets", "A-101"),
    "finishes --code": ("finishes", "Finish codes"), "finishes --apply": ("finishes", "Set "),
    "apply": ("menu", "Import walls"), "apply edits": ("import", "Import from"),
    "measure": ("page", "Rooms"), "measure --by": ("page", "Systems"), "measure --rule": ("settings", "Pay by"),
    "measure --explain": ("working", "net:"),
    "estimate": ("page", "Price"), "estimate --catalogue": ("systems", "Load a file…"),
    "estimate --explain": ("working", "net:"), "estimate --range": ("page", "Range"),
    "estimate --draws": ("Range", "Draws"), "estimate --seed": ("Range", "Seed"),
    "estimate --against": ("Alternates", "Compare"),
    "points": ("page", "Open points"), "points --confirm": ("Open points", "Confirm"),
    "points --give": ("Open points", "Give"), "points --confirm-all": ("Open points", "Confirm"),
    "points --all": ("Open points", "Next"), "points --catalogue": ("systems", "Load a file…"),
    "questions": ("Open points", "Questions…"), "questions --out": ("Open points", "Questions…"),
    "report": ("menu", "Reports"), "report --out": ("reports", "Into folder"), "report --pdf": ("reports", "PDF"),
    "report --html": ("reports", "web page"), "report --xlsx": ("reports", "Workbook"),
    "report --csv": ("reports", "CSV"),
    "report --dxf": ("reports", "DXF"), "report --catalogue": ("reports", "Catalogue"),
    "report --letterhead": ("reports", "Letterhead"), "report --paper": ("reports", "Paper"),
    "report --start": ("reports", "Days from"), "report --crews": ("reports", "Crews"),
    "report --edition": ("reports", "For"), "report --price-by": ("reports", "Price in a bid"),
    "report --against": ("reports", "Alternate"), "report --allow-open": ("reports", "Bid with open points"),
    "revise": ("menu", "Compare a new revision"), "revise newset": ("menu", "Compare a new set"),
    "revise --sheet": ("sheets", "A-101"), "revise --plan": ("menu", "Compare a new revision"),
    "revise --page": ("revised", "Compare this page"), "revise --accept": ("new-set", "Take in what is sure"),
    "revise --run": ("review", "Take or leave (K)"), "revise --points": ("revised", "Show two points"),
    "revise --smallest": ("review", "Ignore under"), "revise --out": ("change", "For your desk"),
    "revise --letter": ("change", "Write to"), "revise --number": ("change", "Number"), "revise --to": ("change", "To"),
    "revise --reason": ("change", "Reason"), "revise --date": ("change", "Date"),
    "revise --valid-days": ("change", "Holds for days"), "revise --by": ("change", "Priced by"),
    "revise --letterhead": ("change", "Letterhead"),
    "check": ("menu", "Check stated areas"), "check stated": ("menu", "Check stated areas"),
    "check --table": ("menu", "Check the areas on this sheet"), "check --rule": ("check", "Measured by"),
    "check --basis": ("check", "Areas are"), "check --unit": ("check", "Unit"), "check --column": ("check", "Column"),
    "check --out": ("check", "Write a page for the architect…"),
    "catalogue": ("systems", "Save as a file…"), "catalogue --set": ("systems", "Load a file…"),
    "export": ("menu", "Export the job"), "export out": ("export", "Write to"),
    "export --flat": ("export", "Draw the marks into the pages of a PDF"),
    "import": ("menu", "Open an exported job"), "import source": ("import", "Import from"),
    "import --sheet": ("sheets", "A-101"), "import --height": ("import", "Height"),
    "import --layers": ("import", "Layers of a DXF"), "import --unit": ("import", "Unit of a DXF"),
    "import --origin": ("import", "Origin of a DXF"),
    "settings": ("menu", "Units and rules"), "settings --name": ("settings", "Job"),
    "settings --units": ("settings", "Units"), "settings --precision": ("settings", "Fractions"),
    "settings --currency": ("settings", "Currency"), "settings --rule": ("settings", "Pay by"),
    "room": ("details", "Room"), "room rooms": ("details", "Room"), "room --wall": ("details", "Wall"),
    "room --colour": ("details", "Colour"), "room --substrate": ("details", "Substrate"),
    "room --times": ("details", "Times built"), "room --sheet": ("details", "Room"),
    "remove": ("menu", "Remove"), "remove --run": ("menu", "Remove"), "remove --room": ("menu", "Remove the room"),
    "undo": ("menu", "Undo"), "redo": ("menu", "Redo"), "history": ("menu", "History"),
    "copy": ("menu", "Save a copy"), "copy out": ("menu", "Save a copy"),
    "rescue": ("menu", "Rescue a damaged job"), "rescue out": ("rescue", "Save as"),
    "person": ("settings", "Your name"), "person name": ("settings", "Your name"),
    "person --login": ("settings", "Your name"),
    "days": ("page", "Days"), "days --catalogue": ("systems", "Load a file…"),
    "terms": ("menu", "How the site is worked"), "terms --travel-hours": ("terms", "Travel, hours one way"),
    "terms --travel": ("terms", "Travel, mi one way"), "terms --stay": ("terms", "Crews stay overnight"),
    "terms --price": ("terms", "Price from this plan"), "terms --forget": ("terms", "Forget"),
    **{
        f"{command} {option}": ("terms", text)
        for command in ("days", "terms")
        for option, text in {
            "--start": "First day", "--crews": "Crews", "--share": "Wall for each crew",
            "--shift-start": "Shift begins at", "--hours": "Hours of a shift", "--holiday": "Holidays",
            "--saturdays": "Saturdays are worked", "--temperature": "Temperature", "--humidity": "Humidity %",
            "--moisture": "Moisture %", "--cure": "Cure, hours", "--ready": "In service by",
            "--from": "104 Process from", "--limit": "Effort",
        }.items()
    },
    "cut": ("page", "Cutting"), "cut --limit": ("Cutting", "Thoroughly"),
    "cut --catalogue": ("systems", "Load a file…"),
    "order": ("page", "Order"), "order --out": ("Order", "Write…"), "order --start": ("Order", "First day"),
    "order --catalogue": ("systems", "Load a file…"),
    "use": ("menu", "Work done on site"), "use step": ("use", "Step"), "use --packs": ("use", "Packs"),
    "use --area": ("use", "Done, sf"), "use --length": ("use", "Done, sf"), "use --count": ("use", "Done, sf"),
    "use --hours": ("use", "Man-hours"), "use --by": ("use", "Worked by"), "use --when": ("use", "Finished"),
    "use --pack": ("use", "Pack"), "use --system": ("use", "Step"), "use --room": ("use", "Room"),
    "use --note": ("use", "Note"),
    "site": ("menu", "Reading on site"), "site --air": ("reading", "Air °F"), "site --surface": ("reading", "Wall °F"),
    "site --humidity": ("reading", "Humidity %"), "site --moisture": ("reading", "Moisture %"),
    "site --room": ("reading", "Room"), "site --note": ("reading", "Note"),
    "log": ("Site", "Log"), "log --day": ("Site:Log", "Day"), "log --out": ("Site:Log", "Write…"),
    "hours": ("Site", "Hours"), "hours --keep": ("Site:Hours", "Keep rates"),
    "progress": ("Site", "Coats"), "progress --at": ("Site:Rooms", "At"),
}  # fmt: skip
"""Where each command, argument and option is done in the window: a place, and what can be read there."""


def asked():
    """Every command of the command line, and every argument and option that is not the same for all."""
    for name, command in typer.main.get_command(app).commands.items():
        yield name
        if name not in NOT_HERE:
            keys = (p.opts[0] if p.opts[0].startswith("-") else p.name for p in command.params)
            yield from (f"{name} {key}" for key in keys if name == "new" or key not in SAME_FOR_ALL)


def test_every_command_and_option_is_named_once():
    wanted = {key for key in asked() if not key.endswith(("--json", "--help"))}
    assert wanted - PLACES.keys() - NOT_HERE.keys() == set(), "give each a place in the window, or say why it has none"
    assert (PLACES.keys() | NOT_HERE.keys()) - wanted == set(), "no command has these any more"
    assert PLACES.keys() & NOT_HERE.keys() == set()


def texts(widget):
    """All that can be read on a widget and what stands in it: labels, buttons, headings, rows."""
    found = []
    for part in (widget, *widget.winfo_children()):
        if part is not widget:
            found += texts(part)
        elif isinstance(part, ttk.Treeview):
            found += [part.heading(column, "text") for column in part["columns"]]
        elif isinstance(part, tkinter.Text):
            found.append(part.get("1.0", "end"))
        elif isinstance(part, tkinter.Canvas):
            found += [part.itemcget(item, "text") for item in part.find_all() if part.type(item) == "text"]
        elif isinstance(part, tkinter.Label):
            found.append(part.cget("text"))
    return found


def dialog_of(hand, id):
    before = set(hand.window.winfo_children())
    hand.window.do(id)
    hand.window.update()
    (made,) = [child for child in hand.window.winfo_children() if isinstance(child, Dialog) and child not in before]
    return made


@pytest.fixture
def places(hand, opened, sample_plan, revision):
    """Open each place that is asked for once, and say what can be read there."""
    window, session = hand.window, hand.window.session
    kept = {"start": texts(window.start)}

    same = SheetOfSet(state="same", old=session.sheet, new=session.sheet)
    two = [session.sheet, session.sheet]

    def closing(made):
        said = texts(made)
        made.destroy()
        return said

    def change():
        before = session.job
        actions.accept_revision(session.store, revision, "sure")
        delta = actions.revision_delta(before, session.job, revision)
        return ChangeDialog(window, TakenIn(before=before, revision=revision, taken=(), delta=delta))

    def drafted():
        made = DraftDialog(window)
        made.run()
        hand.wait(lambda: made.draft is not None)
        return made

    def prompt(tool):
        window.use_tool(tool)
        hand.settle()
        return [window.desk.prompt.cget("text")]

    def finishes():
        """What the schedule would set where the rooms have nothing yet."""
        bare = [type(room)(id=room.id, name=room.name, number=room.number) for room in session.job.rooms.values()]
        session.put_rooms(bare, "Bare rooms")
        session.show_sheet(3)
        made = finish_schedule(window)
        session.undo()
        session.show_sheet(1)
        return made

    def details():
        session.select(Selection(runs=("104-walls",)))
        hand.settle()
        return texts(window.details)

    def status():
        hand.move(300.0, 300.0)
        return [window.desk.where.cget("text")]

    makers = {
        "menu": lambda: [c.label.removesuffix("…") for c in COMMANDS],
        "help": lambda: [c.help for c in COMMANDS],
        "page": lambda: list(PAGES),
        "sheets": lambda: texts(window.desk.sheets),
        "status": status, "scale": lambda: texts(window.scale_panel), "details": details,
        "review": lambda: texts(window.desk.review_panel),
        "scale-prompt": lambda: prompt("scale"), "room-prompt": lambda: prompt("room"),
        "style-prompt": lambda: prompt("style"),
        "working": lambda: [*details(), window.figures.working.get("1.0", "end")],
        "new": lambda: closing(NewJobDialog(window, [sample_plan])),
        "drafted": lambda: closing(drafted()), "finishes": lambda: closing(finishes()),
        "check": lambda: closing(CheckDialog(window, actions.sample_plans() / "area-schedule.csv")),
        "new-set": lambda: closing(NewSetDialog(window, NewSet(name="set", sheets=(same,)), b"", print)),
        "change": lambda: closing(change()),
        "revised": lambda: closing(
            IssueDialog(window, InputError("it does not fit"), two, 1, compare=print, pair=print)
        ),
    }  # fmt: skip

    def of(place):
        if place not in kept:
            page, _, part = place.partition(":")
            if place in makers:
                kept[place] = makers[place]()
            elif page in window.figures.panels:
                window.figures.open_page(page)
                if part:
                    window.figures.panels[page].open_part(part)
                window.update()
                kept[place] = texts(window.figures.panels[page])
            else:
                kept[place] = closing(dialog_of(hand, place))
        return kept[place]

    return of


def test_every_place_has_what_it_is_named_for(places):
    missing = [
        f"{key}: no {text!r} in {place}"
        for key, (place, text) in PLACES.items()
        if not any(text in found for found in places(place))
    ]
    assert missing == [], "\n".join(missing)
