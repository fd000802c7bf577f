"""The sheets of the job: pictures, numbers, and whether each has a scale."""

from __future__ import annotations

import tkinter
from collections.abc import Callable

from PIL.Image import Image

from takeoff.gui.canvas.plan_canvas import PlanCanvas
from takeoff.gui.session import Session
from takeoff.gui.widgets import THEME, Tooltip, bold, ctk, label
from takeoff.job.job import calibration_key
from takeoff.model.plan import Sheet
from takeoff.sheet.scales import ratio_text

WIDTH = 132


class SheetsPanel(ctk.CTkScrollableFrame):
    """A column of sheets; pressing one shows it. Their pictures are drawn by the renderer of the plan's canvas."""

    def __init__(self, parent: tkinter.Misc, choose: Callable[[int], None], canvas: PlanCanvas) -> None:
        super().__init__(parent, width=WIDTH + 12, fg_color=THEME.ground, corner_radius=0)
        self._choose, self._renderer = choose, canvas.renderer
        self._rows: dict[int, _Row] = {}

    def show(self, session: Session) -> None:
        """Show the sheets of a session as they are now."""
        sheets = session.job.sheets
        for id in set(self._rows) - set(sheets):
            self._rows.pop(id).destroy()
        for id, sheet in sheets.items():
            row = self._rows.get(id)
            if row is None:
                row = _Row(self, sheet, self._choose)
                row.pack(fill="x", pady=3)
                self._rows[id] = row
                self._renderer.request_thumbnail(session.store.source(sheet.source), sheet, WIDTH, row.take_picture)
            scale = session.job.calibrations.get(calibration_key(id))
            count = sum(run.sheet == id for run in session.job.runs.values())
            texts = [ratio_text((scale.mx * scale.my) ** 0.5) if scale else "no scale yet"]
            texts += [f"revision {sheet.revision}"] * bool(sheet.revision)
            texts += [f"{count} wall{'s' * (count > 1)}"] * bool(count)
            row.show(is_chosen=id == session.sheet_id, status=" · ".join(texts), is_ready=scale is not None)

    def clear(self) -> None:
        """Take all sheets away."""
        for row in self._rows.values():
            row.destroy()
        self._rows = {}


class _Row(ctk.CTkFrame):
    def __init__(self, parent: tkinter.Misc, sheet: Sheet, choose: Callable[[int], None]) -> None:
        super().__init__(parent, fg_color="transparent", corner_radius=6, border_width=2, border_color=THEME.ground)
        self._image: ctk.CTkImage | None = None
        self._shown: tuple[bool, str, bool] | None = None
        name = " ".join(t for t in (sheet.number or f"Sheet {sheet.id}", _readable(sheet.title)) if t)
        self.picture = label(self, anchor="center", width=WIDTH, height=88, fg_color=THEME.desk, corner_radius=4)
        self.picture.pack(padx=4, pady=(4, 2))
        self.name = label(self, name, font=bold(12), height=16, width=WIDTH, wrap=WIDTH)
        self.name.pack(fill="x", padx=6)
        self.status = label(self, font=ctk.CTkFont(size=11), height=16, width=WIDTH, wrap=WIDTH)
        self.status.pack(fill="x", padx=6, pady=(0, 4))
        for widget in (self, self.picture, self.name, self.status):
            widget.bind("<Button-1>", lambda _event: choose(sheet.id))
        told = f"Revision {sheet.revision or '—'}, {sheet.scale_note or 'no scale note'}"
        Tooltip(self.name, f"Sheet {sheet.id}: {name}\n{told}")

    def take_picture(self, picture: Image) -> None:
        """Show the sheet's picture."""
        if not self.winfo_exists():
            return
        height = max(1, round(WIDTH * picture.height / picture.width))
        self._image = ctk.CTkImage(light_image=picture, size=(WIDTH, min(height, 180)))
        self.picture.configure(image=self._image, height=min(height, 180))

    def show(self, *, is_chosen: bool, status: str, is_ready: bool) -> None:
        """Show whether it is chosen and its scale."""
        if (is_chosen, status, is_ready) == self._shown:
            return
        self._shown = (is_chosen, status, is_ready)
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
