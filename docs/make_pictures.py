"""Make the pictures of the window and of the reports.

Run it under a display: ``xvfb-run -a -s '-screen 0 1280x800x24' python docs/make_pictures.py``. The window is the real
one, driven with real events on the sample plan. Pictures are cut to 128 colours.
"""

from __future__ import annotations

import contextlib
import os
import re
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from takeoff import actions
from takeoff.gui.app import DeskWindow
from takeoff.gui.commands import show_keys
from takeoff.gui.dialogs.check_dialog import CheckDialog
from takeoff.gui.dialogs.drawing_dialogs import LayersDialog
from takeoff.gui.dialogs.reports_dialog import ReportsDialog
from takeoff.gui.dialogs.revision_dialogs import NewSetDialog
from takeoff.gui.dialogs.site_dialogs import UseDialog
from takeoff.gui.dialogs.systems_editor import SystemsEditor
from takeoff.gui.dialogs.working import DraftDialog
from takeoff.gui.session import Selection
from takeoff.report.kinds import ReportOrder, kinds_named

PICTURES = Path(__file__).resolve().parent / "pictures"
COLOURS = 128
SIZE = (1280, 768)
"""With the menu above it, the whole of a screen of 1280 × 800."""
PAGE_WIDTH = 900
"""Pixels across a picture of a report's page."""

PROCESS = ((210.0, 330.0), (858.0, 330.0), (858.0, 726.0), (210.0, 726.0))
"""Inside corners of the process room on A-101 of the sample plan, in sheet points."""
AT = "2026-03-02T08:00:00+00:00"


def sign() -> tuple[str, str]:
    """Say who does what is shown, and when."""
    return "estimator", AT


class Photographer:
    """Drives one window and takes pictures of it."""

    def __init__(self, folder: Path) -> None:
        self.window = DeskWindow(folder / "window.json")
        self.window.geometry(f"{SIZE[0]}x{SIZE[1]}+0+0")
        self.settle(0.5)
        self.window.event_generate("<Motion>", warp=True, x=SIZE[0] - 1, y=SIZE[1] - 1)  # over nothing with a tooltip
        self.settle(0.1)

    def settle(self, seconds: float = 0.3) -> None:
        """Let the window work for a while."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            self.window.update()
            time.sleep(0.01)

    def draw(self) -> None:
        """Let the window work until its plan is drawn and its lines are read."""
        self.settle(2.5)

    def press(self, x_pt: float, y_pt: float) -> None:
        """Press the left button at a sheet point."""
        px, py = (round(v) for v in self.window.canvas.to_pixel((x_pt, y_pt)))
        for event in ("<Motion>", "<ButtonPress-1>", "<ButtonRelease-1>"):
            self.window.canvas.event_generate(event, x=px, y=py)
        self.settle(0.1)

    def move(self, x_pt: float, y_pt: float) -> None:
        """Move the pointer to a sheet point."""
        px, py = (round(v) for v in self.window.canvas.to_pixel((x_pt, y_pt)))
        self.window.canvas.event_generate("<Motion>", x=px, y=py)
        self.settle(0.1)

    def key(self, key: str) -> None:
        """Press a key over the plan."""
        self.window.canvas.focus_force()
        self.settle(0.1)
        self.window.canvas.event_generate(key if len(key) == 1 else f"<{key}>")
        self.settle(0.1)

    def type(self, text: str) -> None:
        """Type into the entry line and press Enter."""
        inner = self.window.entry._entry
        inner.focus_force()
        self.settle()  # the words that stand in it go when it gets the keys
        inner.delete(0, "end")
        inner.insert(0, text)
        inner.event_generate("<Return>")
        self.settle(0.1)

    def take(self, name: str) -> None:
        """Take a picture of the window and what stands over it."""
        from PIL import ImageGrab

        self.settle(0.4)
        x, y = self.window.winfo_rootx(), self.window.winfo_rooty()
        box = (x, max(y - 32, 0), x + self.window.winfo_width(), y + self.window.winfo_height())
        save(ImageGrab.grab(bbox=box, xdisplay=os.environ["DISPLAY"]), name)


def save(image, name: str) -> None:  # type: ignore[no-untyped-def]
    """Write a picture with few colours."""
    PICTURES.mkdir(exist_ok=True)
    few = image.convert("RGB").quantize(colors=COLOURS, dither=0)
    few.save(PICTURES / f"{name}.png", optimize=True)


def sample_job(folder: Path, name: str, *, is_traced: bool) -> Path:
    """Make a job on the sample plan, with the sample's tracing where wanted."""
    path = folder / f"{name}.takeoff"
    plan = actions.sample_plans() / "facility-imperial.pdf"
    from takeoff.job.job import JobSettings

    settings = JobSettings(name="Packing wing")
    store, _ = actions.new_job(path, [(plan.name, plan.read_bytes())], settings, sign=sign)
    if is_traced:
        actions.set_scale_note(store, store.job.sheets[1], '1/4" = 1\'-0"')
        edits = (actions.sample_plans() / "facility-edits.json").read_bytes()
        actions.apply_edits(store, edits)
    store.close()
    return path


def window_pictures(folder: Path) -> None:
    """Take the pictures of the window."""
    p = Photographer(folder)
    w = p.window
    p.take("window-start")

    w.take(actions.open_job(sample_job(folder, "set", is_traced=False), sign))
    dialog(p, lambda: drafted(p), "window-draft")
    w.do("points")
    while w.figures.points.result is None:
        p.settle()
    p.key("n")
    p.draw()
    p.take("window-points")
    w.fold("figures")
    w.close_job()

    w.take(actions.open_job(sample_job(folder, "by-hand", is_traced=False), sign))
    p.draw()
    a, b, c, d = PROCESS
    p.press(*a)
    p.press(*b)
    p.type("36'-0\"")
    p.press(*a)
    p.press(*d)
    p.type("22'-0\"")
    p.take("window-scale")

    p.key("t")
    p.press(*a)
    p.press(*b)
    p.press(*c)
    p.move(c[0] - 380, c[1])
    p.take("window-tracing")
    p.press(*d)
    p.key("c")
    p.settle(0.5)
    p.take("window-traced")
    w.close_job()

    w.take(actions.open_job(sample_job(folder, "packing-wing", is_traced=True), sign))
    p.draw()
    session = w.session
    assert session is not None
    w.fold("figures")
    session.select(Selection(runs=("104-walls",)))
    w.figures.open_page("Elevation")
    p.settle(0.5)
    p.take("window-wall")
    session.select(Selection(runs=("104-walls",), opening=("104-walls", 0)))
    w.do("fit-selection")
    p.draw()
    p.take("window-opening")
    w.do("fit-sheet")
    session.select(Selection())
    w.figures.open_page("Price")
    p.draw()
    w.figures.table.tree.selection_set(w.figures.table.tree.get_children()[-1])
    w.figures.table.tree.see(w.figures.table.tree.get_children()[-1])
    p.settle()
    p.take("window-price")
    w.figures.open_page("Alternates")
    w.figures.panels["Alternates"].systems.selection_set("mat-urethane", "sheet-panel")
    w.figures.panels["Alternates"].ask()
    while w.figures.panels["Alternates"].result is None:
        p.settle()
    p.take("window-alternates")
    w.figures.open_page("Range")
    while w.figures.panels["Range"].result is None:
        p.settle()
    p.take("window-range")
    w.figures.open_page("Days")
    while w.figures.panels["Days"].result is None:
        p.settle()
    p.take("window-days")
    w.figures.open_page("Cutting")
    w.figures.panels["Cutting"].ask()
    while w.figures.panels["Cutting"].result is None:
        p.settle()
    w.figures.panels["Cutting"].table.tree.selection_set("0")
    p.take("window-cutting")
    session.select(Selection())
    w.figures.panels["Order"].start.show("2026-03-02")
    w.figures.open_page("Order")
    while w.figures.panels["Order"].result is None:
        p.settle()
    p.take("window-order")
    site_pictures(p)
    w.figures.open_page("Rooms")
    w.do("dark")
    p.draw()
    p.take("window-dark")
    w.do("dark")
    p.draw()
    dialog(p, lambda: SystemsEditor(w), "window-systems")
    dialog(p, lambda: show_keys(w), "window-keys")
    dialog(p, lambda: checked(p), "window-check")
    dialog(p, lambda: layers(p), "window-layers")
    dialog(p, lambda: new_set(p), "window-new-set")
    w.compare_issue(actions.sample_plans() / "facility-rev-b.pdf")
    while w.review is None:
        p.settle()
    p.key("n")
    p.draw()
    p.take("window-review")
    w.shut()


def site_pictures(p: Photographer) -> None:
    """Record something on site and take a picture of the page, and of the reports dialog."""
    w = p.window
    assert w.session is not None
    w.session.select(Selection(runs=("104-walls",)))
    w.figures.open_page("Site")
    used = UseDialog(w)
    p.settle()
    for coat, packs, area in (("saturate", "0.45", "600 sf"), ("glaze", "1", "600 sf")):
        used.form["step"]._chosen(
            next(label for id, label in used.form["step"]._labels.items() if id.endswith(f"/{coat}"))
        )
        used.form.show(packs=packs, area=area)
        used.run()
    used.destroy()
    w.session.select(Selection())
    w.figures.panels["Site"].open_part("Log")
    p.take("window-log")
    w.figures.panels["Site"].open_part("Coats")
    tree = w.figures.panels["Site"].table.tree
    tree.selection_set(next(str(i) for i, c in enumerate(w.figures.panels["Site"].coats) if c.step == "glaze"))
    p.take("window-site")
    dialog(p, lambda: reports(p), "window-reports")


def reports(p: Photographer) -> ReportsDialog:
    """Open the reports dialog, on a folder whose name is the same wherever the pictures are made."""
    opened = ReportsDialog(p.window)
    opened.form.show(folder="Packing wing/reports")
    return opened


def new_set(p: Photographer) -> NewSetDialog:
    """Compare the second revision of the sample plan as a whole set."""
    p.window.compare_set(actions.sample_plans() / "facility-rev-b.pdf")
    opened = next(child for child in p.window.winfo_children() if isinstance(child, NewSetDialog))
    while not opened.new_set.sheets:
        p.settle()
    opened.table.tree.selection_set("0")
    return opened


def drafted(p: Photographer) -> DraftDialog:
    """Draft the sample set."""
    opened = DraftDialog(p.window)
    opened.run()
    while opened.draft is None:
        p.settle()
    return opened


def checked(p: Photographer) -> CheckDialog:
    """Check the sample's table of areas, and look at a room that it states far too small."""
    opened = CheckDialog(p.window, actions.sample_plans() / "area-schedule.csv")
    p.settle(1.0)
    opened.table.tree.selection_set("3")
    p.draw()
    return opened


def layers(p: Photographer) -> LayersDialog:
    """Dim the layer of the equipment and hide that of the dimensions."""
    opened = LayersDialog(p.window)
    p.settle(0.5)
    tree = opened.table.tree
    for name, seen in (("Layer A-EQPM", "dimmed"), ("Layer A-ANNO-DIMS", "hidden")):
        tree.selection_set([row for row in tree.get_children() if tree.set(row, "On the plan") == name])
        opened.set_seen(seen)  # type: ignore[arg-type]
    p.draw()
    return opened


def dialog(p: Photographer, open_it: Callable[[], object], name: str) -> None:
    """Take a picture with a dialog open."""
    opened = open_it()
    p.settle(1.0)
    p.take(name)
    opened.destroy()  # type: ignore[attr-defined]
    p.settle(0.3)


REPORT_PAGES = {
    "report-cover": "Wall coating takeoff and estimate",
    "marked-plan": "Marked plans",
    "report-elevations": "Developed elevations",
    "report-bill": "Bill of quantities",
}
BID_PAGES = {"bid-scope": "Scope of work"}
"""Names of the pictures, and a heading or words on the page that is shown."""


def report_pictures(folder: Path) -> None:
    """Take pictures of the pages of the full report and of the bid as PDF."""
    store = actions.open_job(sample_job(folder, "for-report", is_traced=True), sign)
    out = folder / "reports"
    order = ReportOrder(kinds=kinds_named("pdf"))
    actions.make_reports(store, out, order, at=AT)
    actions.make_reports(store, out, replace(order, edition="bid", allows_open=True, against=("sheet-panel",)), at=AT)
    store.close()
    page_pictures(out / "report.pdf", REPORT_PAGES)
    page_pictures(out / "bid.pdf", BID_PAGES)


def page_pictures(path: Path, pages: dict[str, str]) -> None:
    """Take pictures of the pages of a PDF with these headings."""
    import pypdfium2

    pdf = pypdfium2.PdfDocument(path)
    texts = [page.get_textpage().get_text_range() for page in pdf]
    for name, words in pages.items():
        heading = re.compile(rf"(^|\n)([0-9.]+ )?{words}")
        page = pdf[next(i for i, text in enumerate(texts) if "Contents" not in text and heading.search(text))]
        save(page.render(scale=PAGE_WIDTH / page.get_width()).to_pil(), name)
    pdf.close()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as made, contextlib.chdir(made):
        window_pictures(Path())
        report_pictures(Path())
