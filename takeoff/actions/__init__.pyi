"""The verbs of the library, each with the module that holds it."""

from .addendum import SheetOfSet, compare_set, keep_what_is_left
from .change_letters import send_change
from .checking import ask_architect, check_areas, questions_of, read_sheet_areas, read_stated_areas, write_check_report
from .comparing import compare_revision
from .deltas import CHANGED, RevisionPrices, revision_delta, write_change_order
from .demonstration import Demonstrated, run_demo
from .draft.making import Draft, make_draft, sheet_tasks
from .draft.sheet_reads import Lanes, SheetRead, SheetTask, read_set
from .drafting import AS_WALLS, DrawnSheet, proposed_style, read_drawn_sheet, style_words, with_look
from .editing import (
    can_give,
    change_settings,
    confirm_points,
    do_edit,
    find_points,
    give_value,
    remove_from_job,
    room_named,
    set_finish,
)
from .files import find_sheet, read_file, read_letterhead, sample_plans, write_file
from .forms import export_file
from .given import opening_as_drawn, printed_room, usual_opening
from .handover import TakenIn, import_annotated_pdf, import_dxf, import_json, schema_of
from .jobs import (
    add_plans,
    apply_edits,
    copy_job,
    history,
    new_job,
    open_job,
    redo,
    rescue_job,
    systems_left,
    undo,
    use_catalogue,
)
from .onsite import CoatProgress, progress, record_use
from .planning import (
    compare_alternates,
    cut_plans,
    next_monday,
    order_lines,
    plan_job,
    planning_of,
    price_range,
    write_order,
)
from .points.deriving import open_points
from .quantities import Measured, Pending, Priced, catalogue_of, make_estimate, measure_ready, price_measured
from .readings import RoomClock, changed_terms, handed_over, judge_reading, keep_terms, recoat_clocks, record_reading
from .reports import Reported, make_reports, wall_names
from .revising import Revision, accept_revision
from .scales import set_scale_note, set_scale_points, set_scale_ratio, set_scale_read, set_scale_scanned
from .schedules import apply_finish_schedule, lay_schedule, read_finish_schedule
from .sheet_places import find_region, make_region
from .site_log import clocks_table, coats_table, daily_log, hours_by_step, hours_table, keep_found_rates, write_log
from .traced_sheets import DrawnOpening, SheetTrace, drawn_openings, read_sheet_trace
from .tracing import Traced, accept_traced, is_traced, trace_sheet

__all__ = [
    "AS_WALLS", "CHANGED", "CoatProgress", "Demonstrated", "Draft", "DrawnOpening", "DrawnSheet", "Lanes", "Measured",
    "Pending", "Priced", "Reported", "Revision", "RevisionPrices", "RoomClock", "SheetOfSet", "SheetRead", "SheetTask",
    "SheetTrace", "TakenIn", "Traced", "accept_revision", "accept_traced", "add_plans", "apply_edits",
    "apply_finish_schedule", "ask_architect", "can_give", "catalogue_of", "change_settings", "changed_terms",
    "check_areas", "clocks_table", "coats_table", "compare_alternates", "compare_revision", "compare_set",
    "confirm_points", "copy_job", "cut_plans", "daily_log", "do_edit", "drawn_openings", "export_file", "find_points",
    "find_region", "find_sheet", "give_value", "handed_over", "history", "hours_by_step", "hours_table",
    "import_annotated_pdf", "import_dxf", "import_json", "is_traced", "judge_reading", "keep_found_rates", "keep_terms",
    "keep_what_is_left", "lay_schedule", "make_draft", "make_estimate", "make_region", "make_reports", "measure_ready",
    "new_job", "next_monday", "open_job", "open_points", "opening_as_drawn", "order_lines", "plan_job", "planning_of",
    "price_measured", "price_range", "printed_room", "progress", "proposed_style", "questions_of", "read_drawn_sheet",
    "read_file", "read_finish_schedule", "read_letterhead", "read_set", "read_sheet_areas", "read_sheet_trace",
    "read_stated_areas", "recoat_clocks", "record_reading", "record_use", "redo", "remove_from_job", "rescue_job",
    "revision_delta", "room_named", "run_demo", "sample_plans", "schema_of", "send_change", "set_finish",
    "set_scale_note", "set_scale_points", "set_scale_ratio", "set_scale_read", "set_scale_scanned", "sheet_tasks",
    "style_words", "systems_left", "trace_sheet", "undo", "use_catalogue", "usual_opening", "wall_names", "with_look",
    "write_change_order", "write_check_report", "write_file", "write_log", "write_order",
]  # fmt: skip
