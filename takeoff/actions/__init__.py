"""One function per verb, values in and values out: what the command line does, and the library's public face."""

from takeoff.actions.change_letters import send_change
from takeoff.actions.changing import change_settings, remove_from_job, room_named
from takeoff.actions.checking import check_areas, read_stated_areas, write_check_report
from takeoff.actions.comparing import compare_revision
from takeoff.actions.deltas import revision_delta, write_change_order
from takeoff.actions.demonstration import Demonstrated, run_demo
from takeoff.actions.editing import do_edit, set_finish
from takeoff.actions.exchanges import export_json, import_json, schema_of
from takeoff.actions.files import find_sheet, read_file, sample_plans, write_file
from takeoff.actions.forms import export_file
from takeoff.actions.handover import (
    TakenIn,
    export_annotated_pdf,
    export_dxf,
    export_geojson,
    export_geopackage,
    export_ifc,
    import_annotated_pdf,
    import_dxf,
)
from takeoff.actions.jobs import (
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
from takeoff.actions.letterheads import read_letterhead
from takeoff.actions.naming import printed_room
from takeoff.actions.next_steps import next_steps
from takeoff.actions.onsite import CoatProgress, progress, record_use
from takeoff.actions.open_points import open_points
from takeoff.actions.ordering import order_lines, write_order
from takeoff.actions.planning import (
    compare_alternates,
    cut_plans,
    next_monday,
    plan_job,
    planning_of,
    price_range,
)
from takeoff.actions.quantities import (
    Measured,
    Pending,
    Priced,
    catalogue_of,
    make_estimate,
    measure_ready,
    price_measured,
)
from takeoff.actions.questions import ask_architect, questions_of
from takeoff.actions.readings import judge_reading, record_reading
from takeoff.actions.reports import Reported, make_reports, wall_names
from takeoff.actions.revising import Revision, accept_revision
from takeoff.actions.scales import (
    find_region,
    make_region,
    set_scale_note,
    set_scale_points,
    set_scale_ratio,
    set_scale_read,
    set_scale_scanned,
)
from takeoff.actions.schedules import apply_finish_schedule, read_finish_schedule
from takeoff.actions.settling import can_give, confirm_points, find_points, give_value
from takeoff.actions.site_clocks import RoomClock, recoat_clocks
from takeoff.actions.site_log import daily_log, hours_by_step, keep_found_rates
from takeoff.actions.terms import changed_terms, handed_over, keep_terms
from takeoff.actions.traced_sheets import SheetTrace, read_sheet_trace
from takeoff.actions.tracing import Traced, accept_traced, is_traced, trace_sheet
from takeoff.audit.verdict import AreaCheck
from takeoff.estimate.days.works import DayPlan
from takeoff.estimate.simulate import PriceRange
from takeoff.exchange.catalogue_file import default_catalogue_text, read_catalogue
from takeoff.exchange.catalogue_writer import catalogue_text
from takeoff.measure.kept import Kept
from takeoff.measure.rules import rule_named
from takeoff.model.cutting import CutList
from takeoff.model.point_register import PointGroup, Register, can_confirm, grouped
from takeoff.model.site_terms import SiteTerms
from takeoff.report.kinds import KINDS as REPORT_KINDS
from takeoff.report.kinds import ReportKind, ReportOrder, kinds_named
from takeoff.report.letterhead import Edition
from takeoff.report.planning_tables import Planning
from takeoff.revise.delta import Delta
from takeoff.trace.lines.traced_rooms import TracedRoom

__all__ = [
    "REPORT_KINDS",
    "AreaCheck",
    "CoatProgress",
    "CutList",
    "DayPlan",
    "Delta",
    "Demonstrated",
    "Edition",
    "Kept",
    "Measured",
    "Pending",
    "Planning",
    "PointGroup",
    "PriceRange",
    "Priced",
    "Register",
    "ReportKind",
    "ReportOrder",
    "Reported",
    "Revision",
    "RoomClock",
    "SheetTrace",
    "SiteTerms",
    "TakenIn",
    "Traced",
    "TracedRoom",
    "accept_revision",
    "accept_traced",
    "apply_edits",
    "apply_finish_schedule",
    "ask_architect",
    "can_confirm",
    "can_give",
    "catalogue_of",
    "catalogue_text",
    "change_settings",
    "changed_terms",
    "check_areas",
    "compare_alternates",
    "compare_revision",
    "confirm_points",
    "copy_job",
    "cut_plans",
    "daily_log",
    "default_catalogue_text",
    "do_edit",
    "export_annotated_pdf",
    "export_dxf",
    "export_file",
    "export_geojson",
    "export_geopackage",
    "export_ifc",
    "export_json",
    "find_points",
    "find_region",
    "find_sheet",
    "give_value",
    "grouped",
    "handed_over",
    "history",
    "hours_by_step",
    "import_annotated_pdf",
    "import_dxf",
    "import_json",
    "is_traced",
    "judge_reading",
    "keep_found_rates",
    "keep_terms",
    "kinds_named",
    "make_estimate",
    "make_region",
    "make_reports",
    "measure_ready",
    "new_job",
    "next_monday",
    "next_steps",
    "open_job",
    "open_points",
    "order_lines",
    "plan_job",
    "planning_of",
    "price_measured",
    "price_range",
    "printed_room",
    "progress",
    "questions_of",
    "read_catalogue",
    "read_file",
    "read_finish_schedule",
    "read_letterhead",
    "read_sheet_trace",
    "read_stated_areas",
    "recoat_clocks",
    "record_reading",
    "record_use",
    "redo",
    "remove_from_job",
    "rescue_job",
    "revision_delta",
    "room_named",
    "rule_named",
    "run_demo",
    "sample_plans",
    "schema_of",
    "send_change",
    "set_finish",
    "set_scale_note",
    "set_scale_points",
    "set_scale_ratio",
    "set_scale_read",
    "set_scale_scanned",
    "systems_left",
    "trace_sheet",
    "undo",
    "use_catalogue",
    "wall_names",
    "write_change_order",
    "write_check_report",
    "write_file",
    "write_order",
]
