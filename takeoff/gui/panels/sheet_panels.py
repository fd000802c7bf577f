"""The sheets of the job, with their pictures and whether each has a scale; and the scale of the sheet that is shown."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Iterable
from functools import partial

from PIL.Image import Image

from takeoff import actions
from takeoff.gui.canvas.plan_canvas import PlanCanvas
from takeoff.gui.session import Session
from takeoff.gui.tools.points_tools import ScaleTool
from takeoff.gui.tools.tool import Tool
from takeoff.gui.widgets import THEME, Card, TextField, Tooltip, bold, button, clear, ctk, label
from takeoff.job.edits import Remove
from takeoff.job.job import calibration_key
from takeoff.model.plan import Calibration, Sheet
from takeoff.sheet.scales import ratio_text, scale_text
from takeoff.units import Display, in_units

THUMBNAIL = 132


class SheetsPanel(ctk.CTkScrollableFrame):
    """A column of sheets; pressing one shows it. Their pictures are drawn by the renderer of the plan's canvas."""

    def __init__(self, parent: tkinter.Misc, choose: Callable[[int], None], canvas: PlanCanvas) -> None:
        super().__init__(parent, width=THUMBNAIL + 12, fg_color=THEME.ground, corner_radius=0)
        self._choose, self._renderer = choose, canvas.renderer
        self._rows: dict[int, _SheetRow] = {}

    def show(self, session: Session) -> None:
        """Show the sheets of a session as they are now."""
        sheets = session.job.sheets
        for id in set(self._rows) - set(sheets):
            self._rows.pop(id).destroy()
        for id, sheet in sheets.items():
            row = self._rows.get(id)
            if row is None:
                row = _SheetRow(self, partial(self._choose, id))
                row.pack(fill="x", pady=3)
                self._rows[id] = row
                self._renderer.request_thumbnail(session.store.source(sheet.source), sheet, THUMBNAIL, row.take_picture)
            scale = session.job.calibrations.get(calibration_key(id))
            count = sum(run.sheet == id for run in session.job.runs.values())
            texts = [scale_text(scale.ratio, session.job.settings.units) if scale else "no scale yet"]
            is_sure = scale is not None and not scale.open_words
            texts += ["not sure"] * (scale is not None and not is_sure)
            texts += ["replaced"] * (sheet.replaced_by in sheets) + [f"revision {sheet.revision}"] * bool(
                sheet.revision
            )
            texts += [f"{count} wall{'s' * (count > 1)}"] * bool(count)
            row.show(sheet, is_chosen=id == session.sheet_id, status=" · ".join(texts), is_ready=is_sure)

    def clear(self) -> None:
        """Take all sheets away."""
        for row in self._rows.values():
            row.destroy()
        self._rows = {}


class _SheetRow(ctk.CTkFrame):
    def __init__(self, parent: tkinter.Misc, choose: Callable[[], object]) -> None:
        super().__init__(parent, fg_color="transparent", corner_radius=6, border_width=2, border_color=THEME.ground)
        self._image: ctk.CTkImage | None = None
        self._shown: tuple[Sheet, bool, str, bool] | None = None
        self._told = ""
        self.picture = label(self, anchor="center", width=THUMBNAIL, height=88, fg_color=THEME.desk, corner_radius=4)
        self.picture.pack(padx=4, pady=(4, 2))
        self.name = label(self, font=bold(12), height=16, width=THUMBNAIL, wrap=THUMBNAIL)
        self.name.pack(fill="x", padx=6)
        self.status = label(self, font=ctk.CTkFont(size=11), height=16, width=THUMBNAIL, wrap=THUMBNAIL)
        self.status.pack(fill="x", padx=6, pady=(0, 4))
        for widget in (self, self.picture, self.name, self.status):
            widget.bind("<Button-1>", lambda _event: choose())
        Tooltip(self.name, lambda: self._told)

    def take_picture(self, picture: Image) -> None:
        """Show the sheet's picture."""
        if not self.winfo_exists():
            return
        height = max(1, round(THUMBNAIL * picture.height / picture.width))
        self._image = ctk.CTkImage(light_image=picture, size=(THUMBNAIL, min(height, 180)))
        self.picture.configure(image=self._image, height=min(height, 180))

    def show(self, sheet: Sheet, *, is_chosen: bool, status: str, is_ready: bool) -> None:
        """Show its name, which a newer revision changes, whether it is chosen, and its scale."""
        if (sheet, is_chosen, status, is_ready) == self._shown:
            return
        self._shown = (sheet, is_chosen, status, is_ready)
        name = " ".join(t for t in (sheet.number or f"Sheet {sheet.id}", _readable(sheet.title)) if t)
        self.name.configure(text=name)
        told = f"Revision {sheet.revision or '—'}, {sheet.scale_note or 'no scale note'}"
        self._told = f"Sheet {sheet.id}: {name}\n{told}"
        self.configure(border_color=THEME.accent if is_chosen else THEME.ground)
        self.status.configure(text=status, text_color=THEME.quiet if is_ready else THEME.warn)


def _readable(title: str) -> str:
    """Write a title in capitals as one is read, and leave any other as it stands.

    Examples
    --------
    >>> _readable("FLOOR PLAN, 2ND FLOOR"), _readable("1st & 2nd Floor")
    ('Floor Plan, 2nd Floor', '1st & 2nd Floor')
    """
    return " ".join(word.capitalize() for word in title.split(" ")) if title.isupper() else title


WRAP = 236
NO_SCALE = "None yet: nothing on this sheet can be measured."
HOW_TO_SET = (
    "Click both ends of a printed dimension on the plan and type its length. Then do the same with one across it."
)


class ScalePanel(ctk.CTkScrollableFrame):
    """Shown beside the plan while the scale is being set."""

    def __init__(
        self,
        parent: tkinter.Misc,
        refuse: Callable[[str], None],
        read_scan: Callable[[], object],
        hold: Callable[[Tool], None],
    ) -> None:
        super().__init__(parent, fg_color=THEME.ground, corner_radius=0)
        self.session: Session | None = None
        self.state = Card(self, "Scale of this sheet")
        self.summary = self.state.add(label(self.state, wrap=WRAP))
        self.doubts = self.state.add(label(self.state, wrap=WRAP, colour=THEME.warn))
        known = Card(self, "Known dimensions")
        self.rows = known.add(clear(known))
        self._hold = hold
        self._parts = Card(self, "Scale regions")
        self.regions = self._parts.add(clear(self._parts))
        other = Card(self, "Or set it without measuring")
        hint = "Take the printed dimensions, the note, the scale bar, or a measurement embedded in the PDF."
        self._read_scan = read_scan
        self.read = other.add(button(other, "Read it from the sheet", self._read, hint=hint))
        hint = 'A written scale such as 1/4" = 1\'-0" or 1:50. A print may have been reduced: check a dimension.'
        self.written = other.add(TextField(other, "As written", self._set_written, refuse, hint=hint))
        for card in (self.state, known, other):
            card.stand()

    def _read(self) -> None:
        session, made = self.session, list[Calibration]()
        if session is None:
            return
        is_scan = session.sheet.kind != "vector"

        def read() -> None:
            made.extend(actions.set_scale_read(session.store, session.sheet, recognises=not is_scan))

        if session.attempt(read, "Scale read from the sheet"):
            _tell_doubts(session, made)
        elif is_scan:
            session.tell("")
            self._read_scan()

    def _set_written(self, text: str) -> None:
        session = self.session
        if session is not None and text.strip():
            made = actions.set_scale_note(session.store, session.sheet, text)
            session.attempt(lambda: None, f"Scale set to {text.strip()}")
            _tell_doubts(session, [made])

    def _remove(self, index: int) -> None:
        session = self.session
        if session is None or (calibration := session.scale) is None:
            return
        kept = tuple(d for i, d in enumerate(calibration.dimensions) if i != index)
        if kept:
            ScaleTool(session).set_dimensions(kept)
        else:
            session.do(Remove(kind="calibration", id=calibration_key(session.sheet_id)), "Scale removed")

    def show(self, session: Session | None) -> None:
        """Show the scale of a session's sheet."""
        self.session = session
        if session is None:
            return
        calibration = session.scale
        show = session.display
        self.written.show(calibration.stated if calibration and calibration.source == "note" else "")
        if calibration is None:
            note = session.sheet.scale_note
            said = f"\nIts note says {note}." if note else ""
            self.summary.configure(text=f"{NO_SCALE}{said}\n\n{HOW_TO_SET}", text_color=THEME.warn)
        else:
            self.summary.configure(text=_summary(calibration), text_color=THEME.text)
        told = calibration.open_words if calibration else ()
        self.doubts.configure(text="\n".join(f"• {in_units(words, show)}" for words in told))
        for child in (*self.rows.winfo_children(), *self.regions.winfo_children()):
            child.destroy()
        self._parts.pack_forget()
        for region in session.job.regions.values():
            if region.sheet == session.sheet_id:
                self._region(session, region.id)
                self._parts.stand()
        if calibration is not None:
            for i, (dimension, residual) in enumerate(zip(calibration.dimensions, calibration.residuals, strict=False)):
                is_alone = len(calibration.dimensions) == 1
                self._row(i, show.length(dimension.length), "the only one" if is_alone else _off(residual, show))
        if not self.rows.winfo_children():
            label(self.rows, "none", colour=THEME.quiet).pack(fill="x")

    def _region(self, session: Session, id: str) -> None:
        scale = session.job.calibrations.get(calibration_key(session.sheet_id, id))
        row = clear(self.regions)
        row.pack(fill="x")
        said = "no scale" if scale is None else ratio_text((scale.mx * scale.my) ** 0.5)
        label(row, f"{id}: {said}").pack(side="left")
        edit = Remove(kind="region", id=id)
        button(row, "×", lambda: session.do(edit), hint="Remove this region.").pack(side="right")
        hint = "Set its scale again by a known dimension in it."
        button(row, "Set", lambda: self._hold(ScaleTool(session, id)), hint=hint).pack(side="right", padx=4)

    def _row(self, index: int, length: str, residual: str) -> None:
        row = clear(self.rows)
        row.pack(fill="x")
        label(row, f"{index + 1}.  {length}").pack(side="left")
        button(row, "×", lambda: self._remove(index), hint="Leave this dimension out.").pack(side="right")
        label(row, residual, colour=THEME.quiet).pack(side="right", padx=8)


def _tell_doubts(session: Session, made: Iterable[Calibration]) -> None:
    if told := ". ".join(words for calibration in made for words in calibration.open_words):
        session.tell(in_units(told, session.display), is_refusal=True)


def _off(residual: float, show: Display) -> str:
    """Say how a dimension by the scale differs from what is written, fitted minus stated in metres."""
    nearest = show.length(abs(residual))
    if nearest == show.length(0.0):
        return "fits"
    return f"{nearest} too {'long' if residual > 0 else 'short'}"


def _summary(calibration: Calibration) -> str:
    source = {
        "dimensions": "from known dimensions",
        "ratio": "from a stated ratio",
        "note": f"as written: {calibration.stated}",
        "embedded": "embedded in the PDF",
    }[calibration.source]
    text = f"{ratio_text((calibration.mx * calibration.my) ** 0.5)}, {source}"
    text += f"\nUncertainty of lengths: ±\u00a0{200 * calibration.u_scale:.2f}\u00a0% (k\u00a0=\u00a02)"
    stretch = 100 * calibration.anisotropy
    if abs(stretch) >= 0.005:
        text += f"\nThe same line on paper is {abs(stretch):.2f}\u00a0% "
        text += f"{'longer' if stretch > 0 else 'shorter'} on the building up the sheet than across it"
    return text
