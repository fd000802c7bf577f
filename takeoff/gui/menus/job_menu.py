"""The menu Job."""

from __future__ import annotations

from takeoff.gui.dialogs import job_dialogs
from takeoff.gui.dialogs.check_dialog import ask_check
from takeoff.gui.dialogs.exchange_dialogs import export, finish_schedule, take_in
from takeoff.gui.dialogs.new_job_dialog import new_job
from takeoff.gui.dialogs.reports_dialog import ReportsDialog
from takeoff.gui.dialogs.settings_dialog import SettingsDialog
from takeoff.gui.dialogs.site_dialogs import ReadingDialog, UseDialog
from takeoff.gui.dialogs.systems_editor import SystemsEditor
from takeoff.gui.dialogs.terms_dialog import TermsDialog
from takeoff.gui.host import Command
from takeoff.gui.menus.kinds import dialog_command

JOB: tuple[Command, ...] = (
    dialog_command(
        "new",
        "Job",
        "New job from plans…",
        new_job,
        ("Control-n",),
        "Ctrl+N",
        "Start a job from plan files.",
        is_always=True,
    ),
    dialog_command(
        "open", "Job", "Open job…", job_dialogs.open_job, ("Control-o",), "Ctrl+O", "Open a job file.", is_always=True
    ),
    dialog_command(
        "settings",
        "Job",
        "Units and rules…",
        SettingsDialog,
        (),
        "",
        "Name, units, currency, measuring rule of the job; your name.",
    ),
    dialog_command(
        "systems",
        "Job",
        "Systems and rates…",
        SystemsEditor,
        ("F6",),
        "F6",
        "Edit systems, products, rates and prices.",
    ),
    dialog_command(
        "reports",
        "Job",
        "Reports…",
        ReportsDialog,
        ("Control-p",),
        "Ctrl+P",
        "Write the PDF, the workbook and the tables.",
    ),
    dialog_command(
        "finishes",
        "Job",
        "Read the finish schedule…",
        finish_schedule,
        (),
        "",
        "Set system, height and cove of the rooms by the schedule on the sheet that is shown.",
    ),
    dialog_command(
        "export", "Job", "Hand over as…", export, (), "", "Write the job as marked PDF, DXF, IFC, GeoJSON or JSON."
    ),
    dialog_command(
        "import", "Job", "Take walls in…", take_in, (), "", "Take the walls of a marked PDF or a DXF drawing in."
    ),
    dialog_command(
        "revise",
        "Job",
        "Compare a new revision…",
        job_dialogs.revise,
        ("F7",),
        "F7",
        "Compare a new revision of the sheet with the old one, and carry the walls over.",
    ),
    dialog_command(
        "check", "Job", "Check stated areas…", ask_check, (), "", "Compare a schedule of areas with what was measured."
    ),
    Command(
        id="points",
        menu="Job",
        label="Open points",
        keys=("F12",),
        key_text="F12",
        help="What nobody has confirmed yet, most money first.",
        run=lambda host: host.show_open_points(),
    ),
    dialog_command(
        "use", "Job", "Packs used on site…", UseDialog, ("F2",), "F2", "Record packs used of a coat and the area done."
    ),
    dialog_command(
        "reading",
        "Job",
        "Reading on site…",
        ReadingDialog,
        ("F3",),
        "F3",
        "Record air, wall and humidity: may it be coated?",
    ),
    dialog_command(
        "terms",
        "Job",
        "How the site is worked…",
        TermsDialog,
        (),
        "",
        "First day, crews, hand-over of rooms, travel: days and price follow it.",
    ),
    dialog_command("history", "Job", "History…", job_dialogs.history, (), "", "Who did what when."),
    Command(
        id="close",
        menu="Job",
        label="Close job",
        keys=("Control-w",),
        key_text="Ctrl+W",
        help="Close the job; every edit is saved already.",
        run=lambda host: host.close_job(),
    ),
)
"""The menu Job."""
