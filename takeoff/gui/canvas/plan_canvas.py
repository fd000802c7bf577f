"""The canvas on which a sheet is shown, with what is drawn over it."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from takeoff.errors import TakeoffError
from takeoff.gui.background import Collector
from takeoff.gui.canvas.old_revision import OldIssue
from takeoff.gui.canvas.overlay import Overlay
from takeoff.gui.canvas.pixels import Picture
from takeoff.gui.canvas.pointer_canvas import PointerCanvas
from takeoff.gui.canvas.renderer import Renderer, Source
from takeoff.gui.canvas.sheet_picture import SheetPicture
from takeoff.gui.canvas.view import Shape, View, box_round, fit, scale_limits
from takeoff.gui.widgets import THEME, Later
from takeoff.gui.wording import words_of
from takeoff.model.plan import Point, Sheet
from takeoff.sheet.frame import Box, displayed_size, displayed_to_sheet, sheet_to_displayed
from takeoff.sheet.layers import LayerLook

POLL_MS = 8
REST_MS = 16
"""Between two steps of sharpening, so that movements are seen to first."""
PALENESS = (0.0, 0.5, 0.8)
"""How pale the drawing can be shown, so that what lies over it stands out."""
HOLD_PX = 64
"""Pixels of the sheet that always stay on the canvas."""


class PlanCanvas(PointerCanvas):
    """Shows one sheet with shapes over it, and turns the mouse into sheet points (`PointerCanvas`)."""

    def __init__(self, master: tkinter.Misc | None = None, **options: Any) -> None:
        super().__init__(master, **options)
        self.on_view: Callable[[View], None] | None = None
        self.on_error: Callable[[TakeoffError], None] | None = None
        self._collector = Collector(self)
        self.renderer = Renderer(self, POLL_MS)
        self._drawing, self._sharpening = Later(self, self._draw), Later(self, self._draw_soon)
        self._resting = Later(self, lambda: self._sharpening.begin(REST_MS))
        self.source: Source | None = None
        """The sheet that is shown, with its file."""
        self._view = View(1.0, 0.0, 0.0, max(int(self["width"]), 1), max(int(self["height"]), 1))
        self._focus: Point | None = None
        self._is_fitted = self._is_whole = True
        self._is_dark = False
        self._paleness = PALENESS[0]
        self._picture = SheetPicture(self)
        self._old: OldIssue | None = None
        self._shapes = Overlay(self, "shapes")
        self._preview = Overlay(self, "preview")
        self.bind("<Configure>", self._resized)
        self.set_dark(False)

    # What is shown

    @property
    def view(self) -> View:
        """The part of the sheet that is shown."""
        return self._view

    @property
    def sheet(self) -> Sheet | None:
        """The sheet that is shown, or ``None``."""
        return None if self.source is None else self.source.sheet

    @property
    def has_picture(self) -> bool:
        """Whether there is something to see of the sheet, be it coarse."""
        return self._picture.has_picture

    @property
    def is_sharp(self) -> bool:
        """Whether the picture on the canvas was drawn for exactly this view."""
        waits = any(job.is_waiting for job in (self._drawing, self._resting, self._sharpening))
        return not waits and self._picture.is_sharp

    def show_sheet(self, data: bytes, sheet: Sheet, look: LayerLook | None = None) -> None:
        """Show a sheet of a plan file, the whole of it; shapes are cleared."""
        self._clear()
        self.source = source = Source(data, sheet, look)
        self._picture.show(sheet)
        self.fit_sheet()
        self.renderer.request_whole(source, self._while_shown(source, self._picture.take_whole))

    def set_layers(self, look: LayerLook | None) -> None:
        """Show the sheet with layers dimmed or hidden, or as it is, where it is now."""
        if self.source is not None and look != self.source.look:
            self.source = source = replace(self.source, look=look)
            self._picture.show(source.sheet)
            self._change_view(self._view)
            self.renderer.request_whole(source, self._while_shown(source, self._picture.take_whole))

    def show_old_issue(self, data: bytes, old: Sheet, carry_back: Callable[[Point], Point]) -> None:
        """Have an old issue of the sheet that is shown ready under it, until another sheet is shown (`fade`).

        ``carry_back`` turns a point of the sheet that is shown into the same point of the old one.
        """
        if self.source is not None:
            self._drop_old_issue()
            self._old = OldIssue(self, Source(data, old), self.source.sheet, carry_back, self._old_changed)
            self._old.look(self._view)
            self._picture.lay_over(self._old)

    def fade(self, share: float) -> None:
        """Show so much of the old issue: 0 is the sheet alone, 1 the old issue alone."""
        if self._old is not None and share != self._old.share:
            self._old.set_share(share)

    def clear_sheet(self, message: str) -> None:
        """Show no sheet but a message in the middle."""
        self._clear()
        self.show_message(message, THEME.of("text", self._is_dark))

    def set_view(self, view: View) -> None:
        """Show another part of the sheet; the scale is kept within its limits and some of the sheet on the canvas."""
        self._is_fitted = self._is_whole = False
        self._change_view(view)

    def fit_sheet(self) -> None:
        """Show the whole sheet, and go on doing so when the canvas changes its size."""
        if self.sheet is not None:
            self._change_view(self._fitted((0.0, 0.0, *displayed_size(self.sheet)), 16.0))
            self._is_fitted = self._is_whole = True

    def keep_view(self) -> None:
        """Leave the sheet where it is when the canvas changes its size."""
        self._is_fitted = False

    def refit(self) -> None:
        """Show the whole sheet at the next size of the canvas too, unless a person has moved it since it was whole."""
        self._is_fitted = self._is_whole

    def fit_points(self, points_pt: Sequence[Point]) -> None:
        """Show sheet points in the middle, as large as they go."""
        if self.sheet is not None and points_pt:
            self.update_idletasks()  # what comes beside it may be about to take its room
            places = (sheet_to_displayed(self.sheet, *point) for point in points_pt)
            self.set_view(self._fitted(box_round(places), 80.0))

    def zoom_by(self, factor: float) -> None:
        """Multiply the scale about the middle of the canvas."""
        self.zoom_at(factor, self._view.width / 2, self._view.height / 2)

    def point_at(self, px: float, py: float) -> Point | None:
        return self.to_sheet(px, py) if self.source is not None else None

    def zoom_at(self, factor: float, px: float, py: float) -> None:
        if self.sheet is not None:
            lowest, highest = scale_limits(self.sheet)
            self._focus = (px, py)
            self.set_view(self._view.zoomed(factor, px, py, lowest=lowest, highest=highest))

    def pan_by(self, dx_px: float, dy_px: float) -> None:
        if self.source is not None:
            self.set_view(self._view.panned(dx_px, dy_px))

    def set_shapes(self, shapes: Sequence[Shape]) -> None:
        """Draw shapes over the sheet in place of those before; they stay right at every view."""
        self._shapes.show(shapes, self.sheet, self._view)
        self._preview.lift()

    def set_preview(self, shapes: Sequence[Shape]) -> None:
        """Draw shapes over all others in place of the preview before: what a gesture would do."""
        self._preview.show(shapes, self.sheet, self._view)

    def set_dark(self, is_dark: bool) -> None:
        """Choose the dark or the light surround, and the text's size. Paper is dimmed a little in the dark window."""
        self._is_dark = is_dark
        for layer in (self._shapes, self._preview):
            layer.draw()
        surround = THEME.of("desk", is_dark)
        self.configure(background=surround)
        self.itemconfigure("message", fill=THEME.of("text", is_dark))
        red, green, blue = bytes.fromhex(surround[1:])
        self._picture.set_ground((red, green, blue), is_dimmed=is_dark)
        self._draw_soon()

    def step_paleness(self) -> float:
        """Show the drawing paler, or as it is again; return by how much."""
        self._paleness = PALENESS[(PALENESS.index(self._paleness) + 1) % len(PALENESS)]
        self._picture.set_paleness(self._paleness)
        self._draw_soon()
        return self._paleness

    def to_sheet(self, px: float, py: float) -> Point:
        """Turn canvas pixels into a sheet point; without a sheet, into a displayed point."""
        place = self._view.to_displayed(px, py)
        return displayed_to_sheet(self.sheet, *place) if self.sheet is not None else place

    def to_pixel(self, point_pt: Point) -> Point:
        """Turn a sheet point into canvas pixels: the inverse of `to_sheet`."""
        place = sheet_to_displayed(self.sheet, *point_pt) if self.sheet is not None else point_pt
        return self._view.to_canvas(*place)

    def pt_per_pixel(self) -> float:
        """Return the sheet points that one canvas pixel covers."""
        return 1.0 / self._view.scale

    def destroy(self) -> None:
        """End the renderer and take the canvas away."""
        for job in (self._drawing, self._resting, self._sharpening):
            job.stop()
        self._drop_old_issue()
        self.renderer.close()
        self._collector.close()
        super().destroy()

    # Drawing

    def _clear(self) -> None:
        self.renderer.forget()
        self._drop_old_issue()
        self.source = None
        self._picture.clear()
        self.set_shapes(())
        self.set_preview(())
        self.delete("message")

    def _drop_old_issue(self) -> None:
        if self._old is not None:
            self._old.close()
            self._old = None
            self._picture.lay_over(None)

    def _old_changed(self) -> None:
        self._picture.old_changed()
        self._draw_soon()

    def _fitted(self, box: Box, margin_px: float) -> View:
        assert self.source is not None
        lowest, highest = scale_limits(self.source.sheet)
        return fit(box, self._view.width, self._view.height, margin_px, lowest=lowest, highest=highest)

    def _change_view(self, view: View) -> None:
        """Take a view, show the warped picture soon, and ask for a sharp one."""
        source = self.source
        if source is not None:
            view = view.held((0.0, 0.0, *displayed_size(source.sheet)), HOLD_PX)
        self._view = view
        self._draw_soon()
        if source is not None:
            taken = self._while_shown(source, self._picture.take)
            self.renderer.request_view(source, view, taken, self._refuse)
        if self._old is not None:
            self._old.look(view)
        if self.on_view is not None:
            self.on_view(view)

    def _draw_soon(self) -> None:
        """Draw once when the events that wait have been seen to."""
        self._drawing.begin()

    def _draw(self) -> None:
        self._picture.draw(self._view, self._focus or (self._view.width / 2, self._view.height / 2))
        self._shapes.move(self._view)
        self._preview.move(self._view)
        if self._picture.has_more:
            self._sharpen_soon()

    def _sharpen_soon(self) -> None:
        """Draw once more, a little after what was drawn last is on the display."""
        if not self._sharpening.is_waiting:
            self._resting.begin()

    def _while_shown(self, source: Source, take: Callable[[Picture], None]) -> Callable[[Picture], None]:
        """Make a taker of pictures that lets those of another sheet fall."""

        def taker(picture: Picture) -> None:
            if self.source is source:
                take(picture)
                self._sharpen_soon()

        return taker

    def _refuse(self, error: TakeoffError) -> None:
        self.show_message(words_of(error), THEME.of("text", self._is_dark))
        if self.on_error is not None:
            self.on_error(error)

    def _resized(self, event: tkinter.Event[Any]) -> None:
        if (event.width, event.height) == (self._view.width, self._view.height):
            return
        self._view = self._view.resized(max(event.width, 1), max(event.height, 1))
        self.place_message(event.width, event.height)
        if self._is_fitted:
            self.fit_sheet()
        else:
            self._change_view(self._view)
