"""A canvas that turns mouse and keys into sheet points, pans and zooms."""

from __future__ import annotations

import tkinter
from abc import abstractmethod
from collections.abc import Callable
from functools import partial
from typing import Any, Literal

from takeoff.model.plan import Point

ZOOM_STEP = 1.25
"""Factor of one notch of the wheel."""
PAN_STEP = 80
"""Pixels that one press of an arrow key moves the sheet."""
CLICK_PX = 4
"""A press that moves less than this is a click, not a drag."""

Told = Literal["press", "drag", "release", "move", "double", "menu"]
PointCallback = Callable[[Point, "tkinter.Event[Any]"], None]


class PointerCanvas(tkinter.Canvas):
    """The mouse and the keys of a canvas that shows a sheet.

    The wheel zooms about the pointer. Dragging with the middle or right button, or with Space and the left button,
    pans; so do the arrow keys with Control. Everything else goes to the callbacks.
    """

    def __init__(self, master: tkinter.Misc | None = None, **options: Any) -> None:
        super().__init__(master, highlightthickness=0, borderwidth=0, takefocus=True, **options)
        self.on: dict[Told, PointCallback] = {}
        """Who is told of what; of the second press of a double click "double", which no release follows, or "press"."""
        self._pan_from: tuple[int, int] | None = None
        self._has_panned = False
        self._cursor = ""
        self._is_space_down = False
        self._is_left_down = False
        self._bind_all()

    def show_message(self, message: str, colour: str) -> None:
        """Write a message in the middle."""
        self.delete("message")
        self.create_text(0, 0, text=message, fill=colour, justify="center", tags="message")
        self.place_message(self.winfo_width(), self.winfo_height())

    def place_message(self, width: int, height: int) -> None:
        """Keep the message in the middle of a canvas of so many pixels."""
        self.coords("message", width / 2, height / 2)
        self.itemconfigure("message", width=max(width - 48, 120))

    @property
    def is_pressed(self) -> bool:
        """Whether the left button is held down on it."""
        return self._is_left_down

    @abstractmethod
    def point_at(self, px: float, py: float) -> Point | None:
        """Return the sheet point under a canvas pixel; ``None`` when no sheet is shown."""

    @abstractmethod
    def zoom_at(self, factor: float, px: float, py: float) -> None:
        """Multiply the scale about a canvas pixel."""

    @abstractmethod
    def pan_by(self, dx_px: float, dy_px: float) -> None:
        """Move the sheet by so many pixels right and down."""

    def show_cursor(self, name: str) -> None:
        """Take a shape for the pointer; while the sheet is moved, for afterwards."""
        if self._pan_from is not None and self._has_panned:
            self._cursor = name
        elif str(self["cursor"]) != name:
            self.configure(cursor=name)

    def _bind_all(self) -> None:
        self.bind("<ButtonPress-1>", self._left_pressed)
        self.bind("<Double-ButtonPress-1>", self._left_doubled)
        self.bind("<Triple-ButtonPress-1>", self._left_pressed)
        self.bind("<B1-Motion>", self._left_dragged)
        self.bind("<ButtonRelease-1>", self._left_released)
        for button in (2, 3):
            self.bind(f"<ButtonPress-{button}>", self._pan_begun)
            self.bind(f"<B{button}-Motion>", self._panned)
        self.bind("<ButtonRelease-2>", self._pan_ended)
        self.bind("<ButtonRelease-3>", self._right_released)
        self.bind("<Motion>", self._moved)
        self.bind("<MouseWheel>", lambda event: self._wheeled(event, event.delta))
        self.bind("<Button-4>", lambda event: self._wheeled(event, 120))
        self.bind("<Button-5>", lambda event: self._wheeled(event, -120))
        self.bind("<KeyPress-space>", lambda _: self._space(True))
        self.bind("<KeyRelease-space>", lambda _: self._space(False))
        for key, dx, dy in (("Left", 1, 0), ("Right", -1, 0), ("Up", 0, 1), ("Down", 0, -1)):
            self.bind(f"<Control-{key}>", partial(self._arrow, dx * PAN_STEP, dy * PAN_STEP))

    def _arrow(self, dx: int, dy: int, _event: object) -> str:
        self.pan_by(dx, dy)
        return "break"

    def _tell(self, what: Told, event: tkinter.Event[Any]) -> None:
        """Hand on the sheet point under the pointer, when there is somebody to tell and a sheet to point at."""
        point = self.point_at(event.x, event.y)
        if what in self.on and point is not None:
            self.on[what](point, event)

    def take_keys(self) -> None:
        """Have key presses come to the plan, also where the window was not told that it has them."""
        (self.focus_force if self.focus_get() is None else self.focus_set)()

    def _left_pressed(self, event: tkinter.Event[Any]) -> None:
        self.take_keys()
        if self._is_space_down:
            self._pan_begun(event)
            return
        self._is_left_down = True
        self._tell("press", event)

    def _left_doubled(self, event: tkinter.Event[Any]) -> None:
        if "double" not in self.on or self._is_space_down:
            self._left_pressed(event)
        else:
            self._tell("double", event)

    def _left_dragged(self, event: tkinter.Event[Any]) -> None:
        if self._is_left_down:
            self._tell("drag", event)
        elif self._pan_from is not None:
            self._panned(event)

    def _left_released(self, event: tkinter.Event[Any]) -> None:
        if self._is_left_down:
            self._is_left_down = False
            self._tell("release", event)
        elif self._pan_from is not None:
            self._pan_ended(event)

    def _moved(self, event: tkinter.Event[Any]) -> None:
        if self._pan_from is None:
            self._tell("move", event)

    def _wheeled(self, event: tkinter.Event[Any], delta: float) -> None:
        notches = delta / 120 if abs(delta) >= 120 else (delta > 0) - (delta < 0)
        self.zoom_at(ZOOM_STEP**notches, event.x, event.y)

    def _pan_begun(self, event: tkinter.Event[Any]) -> None:
        self.take_keys()
        self._pan_from = (event.x, event.y)
        self._has_panned = False

    def _panned(self, event: tkinter.Event[Any]) -> None:
        if self._pan_from is None:
            return
        dx, dy = event.x - self._pan_from[0], event.y - self._pan_from[1]
        if not self._has_panned and max(abs(dx), abs(dy)) < CLICK_PX:
            return
        if not self._has_panned:
            self._has_panned = True
            self._cursor = str(self["cursor"])
            self.configure(cursor="fleur")
        self._pan_from = (event.x, event.y)
        self.pan_by(dx, dy)

    def _pan_ended(self, _: tkinter.Event[Any]) -> None:
        self._pan_from = None
        if self._has_panned:
            self.configure(cursor=self._cursor)

    def _right_released(self, event: tkinter.Event[Any]) -> None:
        is_click = self._pan_from is not None and not self._has_panned
        self._pan_ended(event)
        if is_click:
            self._tell("menu", event)

    def _space(self, is_down: bool) -> None:
        self._is_space_down = is_down
