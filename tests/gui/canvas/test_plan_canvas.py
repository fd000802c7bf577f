"""The canvas under a real display, driven by real events; what is asserted is read off the screen where it can be."""

from __future__ import annotations

import io
import math
import os
import threading
import time
import tkinter
from collections.abc import Callable, Iterator
from functools import partial

import numpy as np
import pymupdf
import pytest
from PIL import Image, ImageGrab

from takeoff.errors import SheetError
from takeoff.gui.canvas.plan_canvas import PlanCanvas
from takeoff.gui.canvas.view import Shape, View
from takeoff.gui.widgets.toolkit import THEME
from takeoff.model.plan import Sheet
from takeoff.sheet.files import read_sheets
from takeoff.sheet.frame import displayed_size, displayed_to_sheet
from takeoff.sheet.render import render_array

WIDTH, HEIGHT = 640, 480
JOINED = 4
"""Of 255: PDFium draws slanting edges up to 3 apart when the part drawn begins elsewhere (measured)."""
RIGHT_HELD, LEFT_HELD, MIDDLE_HELD = 0x400, 0x100, 0x200


def new_root() -> tkinter.Tk:
    """A window of its own on the display."""
    if not os.environ.get("DISPLAY"):
        pytest.fail("These tests need a display: install Xvfb, or set DISPLAY.")
    window = tkinter.Tk()
    window.geometry(f"{WIDTH}x{HEIGHT}+0+0")
    return window


def renderers() -> set[threading.Thread]:
    """Threads that wait for what is drawn for a canvas."""
    return {thread for thread in threading.enumerate() if thread.name == "apart"}


@pytest.fixture(scope="module")
def standing() -> Iterator[PlanCanvas]:
    """One canvas with its process for the tests of this file; nothing of it is left behind."""
    root, before = new_root(), renderers()
    made = PlanCanvas(root)
    assert renderers() != before
    made.pack(fill="both", expand=True)
    yield made
    made.destroy()
    assert renderers() == before
    assert root.tk.call("after", "info") in ("", ())
    root.destroy()


@pytest.fixture
def root(standing: PlanCanvas) -> tkinter.Misc:
    return standing.winfo_toplevel()


@pytest.fixture
def canvas(standing: PlanCanvas, root: tkinter.Tk) -> PlanCanvas:
    """The standing canvas with no sheet, nobody who listens and no button or key held down."""
    for name in [name for name in vars(standing) if name.startswith("on_")]:
        setattr(standing, name, None)
    standing._is_left_down = standing._is_space_down = False
    standing.clear_sheet("")
    standing.set_dark(False)
    standing.renderer.drop_small()
    root.geometry(f"{WIDTH}x{HEIGHT}+0+0")
    wait_until(standing, lambda: standing.view.width == WIDTH and standing.view.height == HEIGHT)
    wait_until(standing, lambda: not standing.renderer.is_busy)
    standing._view, standing._focus, standing._is_fitted = View(1.0, 0.0, 0.0, WIDTH, HEIGHT), None, True
    return standing


def wait_until(canvas: PlanCanvas, is_so: Callable[[], bool]) -> None:
    """Let the window work until something holds; fail after ten seconds."""
    end = time.monotonic() + 10
    while not is_so():
        canvas.update()
        assert time.monotonic() < end, "the window did not come to rest"
        time.sleep(0.002)
    canvas.update()


def settle(canvas: PlanCanvas) -> None:
    canvas.update()
    wait_until(canvas, lambda: canvas.is_sharp)


def screen(canvas: PlanCanvas, *, takes_events: bool = True) -> np.ndarray:
    """Pixels of the canvas as the display has them."""
    if takes_events:
        canvas.update()
    left, top = canvas.winfo_rootx(), canvas.winfo_rooty()
    grabbed = ImageGrab.grab(xdisplay=os.environ["DISPLAY"])
    return np.array(grabbed.convert("RGB"))[top : top + canvas.winfo_height(), left : left + canvas.winfo_width()]


def plan(rotation: int = 0, pages: int = 1) -> tuple[bytes, list[Sheet]]:
    """A plan of 1200 × 800 points with lines, text and a black square from (300, 200) to (320, 220)."""
    with pymupdf.open() as document:
        for number in range(pages):
            page = document.new_page(width=1200, height=800)
            for step in range(40):
                page.draw_line((20 + 29 * step, 30), (900 - 11 * step, 780), color=(0.6, 0, 0), width=0.3 + step / 20)
            page.insert_text((400, 300), f"ROOM {number + 1}", fontsize=30)
            page.draw_rect((300, 200, 320, 220), color=(0, 0, 0), fill=(0, 0, 0))
            page.set_rotation(rotation)
        data = document.tobytes()
    return data, read_sheets(data, "plan.pdf")[0]


def scan() -> tuple[bytes, Sheet]:
    """A PDF whose one page is a gray picture of 150 dots per inch."""
    data, sheets = plan()
    gray = Image.fromarray(render_array(data, sheets[0], dpi=150)).convert("L")
    target = io.BytesIO()
    gray.save(target, "JPEG", quality=90)
    with pymupdf.open() as document:
        document.new_page(width=1200, height=800).insert_image((0, 0, 1200, 800), stream=target.getvalue())
        data = document.tobytes()
    return data, read_sheets(data, "scan.pdf")[0][0]


def show(canvas: PlanCanvas, rotation: int = 0) -> tuple[bytes, Sheet]:
    data, sheets = plan(rotation)
    canvas.show_sheet(data, sheets[0])
    settle(canvas)
    return data, sheets[0]


def drawn(data: bytes, sheet: Sheet, view: View) -> np.ndarray:
    """What the single-picture renderer draws for a view that lies on the sheet and on whole pixels."""
    left, top, right, bottom = view.visible_box()
    (x0, y0), (x1, y1) = displayed_to_sheet(sheet, left, top), displayed_to_sheet(sheet, right, bottom)
    clip = (min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
    return render_array(data, sheet, dpi=72 * view.scale, clip_pt=clip)


def greatest_difference(one: np.ndarray, other: np.ndarray) -> int:
    return int(np.abs(one.astype(int) - other).max())


def drag(canvas: PlanCanvas, button: int, held: int, start: tuple[int, int], end: tuple[int, int]) -> None:
    canvas.event_generate(f"<ButtonPress-{button}>", x=start[0], y=start[1])
    for part in (0.3, 0.6, 1.0):
        x, y = (round(a + (b - a) * part) for a, b in zip(start, end, strict=True))
        canvas.event_generate("<Motion>", x=x, y=y, state=held)
    canvas.event_generate(f"<ButtonRelease-{button}>", x=end[0], y=end[1], state=held)


@pytest.mark.parametrize("rotation", [0, 90, 180, 270])
def test_a_shown_sheet_is_fitted_whole_with_its_margin(canvas, rotation):
    _, sheet = show(canvas, rotation)
    across, down = displayed_size(sheet)
    left, top, right, bottom = canvas.view.visible_box()
    assert left < 0 or top < 0
    assert left <= 0 < across <= right
    assert top <= 0 < down <= bottom
    assert canvas.to_sheet(*canvas.to_pixel((310, 210))) == pytest.approx((310, 210))


@pytest.mark.parametrize("rotation", [0, 90])
def test_the_sharp_picture_is_what_the_single_picture_renderer_draws(canvas, rotation):
    data, sheet = show(canvas, rotation)
    canvas.set_view(View(2.0, 60.0, 70.0, WIDTH, HEIGHT))
    settle(canvas)
    assert np.array_equal(screen(canvas), drawn(data, sheet, canvas.view))


@pytest.mark.parametrize("kind", ["vector", "scan"])
def test_after_panning_the_joined_picture_is_as_one_drawn_at_once(canvas, kind):
    data, sheet = show(canvas) if kind == "vector" else scan()
    canvas.show_sheet(data, sheet)
    canvas.set_view(View(2.0, 60.0, 70.0, WIDTH, HEIGHT))
    settle(canvas)
    for dx, dy in ((-90, -60), (40, 0), (0, 51), (-200, 120)):
        canvas.set_view(canvas.view.panned(dx, dy))
        settle(canvas)
        assert greatest_difference(screen(canvas), drawn(data, sheet, canvas.view)) <= JOINED


def test_a_picture_file_is_shown_as_it_is_at_one_dot_a_pixel(canvas):
    dots = np.random.default_rng(5).integers(0, 255, (900, 1300, 3), dtype=np.uint8)
    target = io.BytesIO()
    Image.fromarray(dots).save(target, "PNG", dpi=(144, 144))
    sheet = read_sheets(target.getvalue(), "plan.png")[0][0]
    canvas.show_sheet(target.getvalue(), sheet)
    canvas.set_view(View(sheet.dpi / 72, 100 * 72 / sheet.dpi, 50 * 72 / sheet.dpi, WIDTH, HEIGHT))
    settle(canvas)
    assert np.array_equal(screen(canvas), dots[50 : 50 + HEIGHT, 100 : 100 + WIDTH])


@pytest.mark.parametrize("button", [4, 5])
def test_the_wheel_keeps_the_point_under_the_pointer(canvas, button):
    show(canvas)
    before, scale = canvas.to_sheet(200, 150), canvas.view.scale
    for _ in range(3):
        canvas.event_generate(f"<Button-{button}>", x=200, y=150)
    canvas.update()
    assert canvas.to_sheet(200, 150) == pytest.approx(before, abs=1e-6)
    assert (canvas.view.scale > scale) == (button == 4)


def test_a_wheel_notch_fills_what_is_about_the_pointer_first_and_then_all(root, canvas):
    root.geometry("1600x1000+0+0")
    wait_until(canvas, lambda: canvas.view.width == 1600 and canvas.view.height == 1000)
    show(canvas)
    near, far = (slice(60, 200), slice(100, 400)), (slice(800, 940), slice(600, 1000))
    canvas.event_generate("<Button-4>", x=200, y=120)
    canvas.update_idletasks()
    canvas.winfo_pointerxy()
    at_once = screen(canvas, takes_events=False)
    assert at_once[near].min() < 100
    assert at_once[far].min() == 255
    settle(canvas)
    assert screen(canvas)[far].min() < 100


def test_the_black_square_stays_under_the_pointer_on_the_screen(canvas):
    show(canvas)
    x, y = (round(value) for value in canvas.to_pixel((310, 210)))
    for _ in range(9):
        canvas.event_generate("<Button-4>", x=x, y=y)
        settle(canvas)
        assert screen(canvas)[y, x].max() < 60


def test_the_scale_stops_at_its_limits(canvas):
    show(canvas)
    for button, end in ((4, 32.0), (5, 120 / 1200)):
        for _ in range(60):
            canvas.event_generate(f"<Button-{button}>", x=300, y=200)
        assert canvas.view.scale == pytest.approx(end)
    settle(canvas)


@pytest.mark.parametrize(("button", "held"), [(2, MIDDLE_HELD), (3, RIGHT_HELD)])
def test_dragging_with_middle_or_right_button_pans(canvas, button, held):
    show(canvas)
    canvas.zoom_by(4)
    menus: list[object] = []
    canvas.on["menu"] = lambda point, event: menus.append(point)
    before = canvas.to_sheet(300, 200)
    drag(canvas, button, held, (300, 200), (380, 230))
    assert canvas.to_sheet(380, 230) == pytest.approx(before, abs=1e-6)
    assert menus == []
    assert canvas["cursor"] == ""


def test_dragging_with_space_and_the_left_button_pans_and_draws_nothing(canvas):
    show(canvas)
    canvas.zoom_by(4)
    told: list[str] = []
    canvas.on["press"] = lambda point, event: told.append("press")
    canvas.on["drag"] = lambda point, event: told.append("drag")
    canvas.on["release"] = lambda point, event: told.append("release")
    canvas.focus_force()
    before = canvas.to_sheet(300, 200)
    canvas.event_generate("<KeyPress-space>")
    drag(canvas, 1, LEFT_HELD, (300, 200), (250, 260))
    canvas.event_generate("<KeyRelease-space>")
    assert canvas.to_sheet(250, 260) == pytest.approx(before, abs=1e-6)
    assert told == []
    canvas.event_generate("<ButtonPress-1>", x=10, y=10)
    assert told == ["press"]


def test_arrow_keys_with_control_pan(canvas):
    show(canvas)
    canvas.zoom_by(4)
    canvas.focus_force()
    canvas.update()
    before = canvas.view
    canvas.event_generate("<Control-Right>")
    assert canvas.view.left > before.left
    canvas.event_generate("<Control-Left>")
    assert canvas.view.left == pytest.approx(before.left)
    canvas.event_generate("<Control-Down>")
    assert canvas.view.top > before.top


def test_the_sheet_cannot_be_dragged_out_of_sight(canvas):
    show(canvas)
    canvas.set_view(canvas.view.panned(1e6, -1e6))
    left, top, _, bottom = canvas.view.visible_box()
    assert left * canvas.view.scale == pytest.approx(64 - WIDTH)
    assert (800 - top) * canvas.view.scale == pytest.approx(64)
    assert bottom > 800


def test_the_left_button_tells_sheet_points(canvas):
    show(canvas, 90)
    told: list[tuple[str, tuple[float, float]]] = []
    canvas.on["press"] = lambda point, event: told.append(("press", point))
    canvas.on["drag"] = lambda point, event: told.append(("drag", point))
    canvas.on["release"] = lambda point, event: told.append(("release", point))
    canvas.on["move"] = lambda point, event: told.append(("move", point))
    canvas.on["menu"] = lambda point, event: told.append(("menu", point))
    x, y = (round(value) for value in canvas.to_pixel((310, 210)))
    canvas.event_generate("<Motion>", x=x, y=y)
    canvas.event_generate("<ButtonPress-1>", x=x, y=y)
    canvas.event_generate("<Motion>", x=x + 9, y=y, state=LEFT_HELD)
    canvas.event_generate("<ButtonRelease-1>", x=x + 9, y=y, state=LEFT_HELD)
    canvas.event_generate("<ButtonPress-3>", x=x, y=y)
    canvas.event_generate("<ButtonRelease-3>", x=x, y=y, state=RIGHT_HELD)
    assert [name for name, _ in told] == ["move", "press", "drag", "release", "menu"]
    tolerance = canvas.pt_per_pixel()
    assert math.dist(told[1][1], (310, 210)) < tolerance
    # the page is displayed a quarter turn clockwise: right on the screen is up on the page
    assert told[2][1] == pytest.approx((told[1][1][0], told[1][1][1] - 9 * tolerance))


def test_a_double_click_is_told_once_and_presses_once(canvas):
    show(canvas)
    told: list[str] = []
    canvas.on["press"] = lambda point, event: told.append("press")
    canvas.on["release"] = lambda point, event: told.append("release")
    canvas.on["double"] = lambda point, event: told.append("double")
    for _ in range(2):
        canvas.event_generate("<ButtonPress-1>", x=50, y=60)
        canvas.event_generate("<ButtonRelease-1>", x=50, y=60, state=LEFT_HELD)
    assert told == ["press", "release", "double"]


def test_without_a_sheet_the_mouse_tells_nothing(canvas):
    told: list[object] = []
    canvas.on["press"] = canvas.on["move"] = lambda point, event: told.append(point)
    canvas.clear_sheet("Add a plan file to begin.")
    canvas.event_generate("<ButtonPress-1>", x=50, y=60)
    canvas.event_generate("<Motion>", x=50, y=70)
    canvas.event_generate("<Button-4>", x=50, y=70)
    assert told == []
    assert canvas.itemcget("message", "text") == "Add a plan file to begin."
    canvas.update()
    assert len(np.unique(screen(canvas).reshape(-1, 3), axis=0)) > 1


def test_every_view_change_is_told(canvas):
    show(canvas)
    told: list[View] = []
    canvas.on_view = told.append
    canvas.zoom_by(2)
    canvas.fit_sheet()
    canvas.fit_points([(300, 200), (320, 220)])
    assert len(told) == 3
    assert told[-1] == canvas.view
    assert canvas.to_pixel((310, 210)) == pytest.approx((WIDTH / 2, HEIGHT / 2))


@pytest.mark.parametrize("rotation", [0, 90, 180, 270])
def test_shapes_lie_over_what_they_mark_at_every_zoom(canvas, rotation):
    show(canvas, rotation)
    corners = ((300.0, 200.0), (320.0, 200.0), (320.0, 220.0), (300.0, 220.0))
    canvas.set_shapes(
        [
            Shape("polygon", corners, "#00ff00", 0, fill="#00ff00"),
            Shape("dot", ((400.0, 100.0),), "#0000ff", 0, fill="#0000ff", size=10),
            Shape("line", ((500.0, 100.0), (600.0, 100.0)), "#ff00ff", 4),
            Shape("square", ((700.0, 100.0),), "#ff8000", 0, fill="#ff8000", size=8),
        ]
    )
    for factor in (1.0, 3.0, 0.5, 2.2):
        canvas.zoom_at(factor, *canvas.to_pixel((450, 150)))
        settle(canvas)
        seen = screen(canvas)
        for point, colour in (
            ((310, 210), (0, 255, 0)),
            ((400, 100), (0, 0, 255)),
            ((550, 100), (255, 0, 255)),
            ((700, 100), (255, 128, 0)),
        ):
            x, y = (round(value) for value in canvas.to_pixel(point))
            if 2 <= x < WIDTH - 2 and 2 <= y < HEIGHT - 2:
                assert tuple(seen[y, x]) == colour
        ys, xs = np.nonzero((seen == (0, 0, 255)).all(axis=2))
        assert 9 <= np.ptp(xs) <= 11
        assert 9 <= np.ptp(ys) <= 11


def test_shapes_stay_in_place_while_the_sheet_is_panned_and_zoomed_many_times(canvas):
    show(canvas)
    canvas.set_shapes([Shape("line", ((100.0, 100.0), (310.0, 210.0)), "#00ff00", 2, tag="mark")])
    for step in range(40):
        canvas.set_view(canvas.view.panned(7.3, -3.1 + step / 8))
        canvas.update()
        if step % 10 == 9:
            canvas.zoom_by(1.3)
            canvas.update()
    expected = (*canvas.to_pixel((100, 100)), *canvas.to_pixel((310, 210)))
    assert canvas.coords("mark") == pytest.approx(expected, abs=1e-6)


def test_a_text_and_its_plate_move_together_and_stay_legible(canvas):
    show(canvas)
    canvas.set_shapes(
        [Shape("text", ((310.0, 210.0),), "#ffffff", text="12'-6\"", size=14, back="#000080", tag="note")]
    )
    for factor in (1, 3, 0.4):
        canvas.zoom_by(factor)
        canvas.update()
        plate, text = canvas.find_withtag("note")
        outer, inner = canvas.bbox(plate), canvas.bbox(text)
        assert outer[0] < inner[0] < inner[2] < outer[2]
        middle = ((inner[0] + inner[2]) / 2, (inner[1] + inner[3]) / 2)
        assert middle == pytest.approx(canvas.to_pixel((310, 210)), abs=2)
        assert inner[3] - inner[1] >= 12


def test_a_preview_lies_over_the_shapes_and_is_replaced(canvas):
    show(canvas)
    line = ((100.0, 100.0), (500.0, 100.0))
    canvas.set_preview([Shape("line", line, "#ff0000", 5)])
    canvas.set_shapes([Shape("line", line, "#0000ff", 5)])
    x, y = (round(value) for value in canvas.to_pixel((300, 100)))
    assert tuple(screen(canvas)[y, x]) == (255, 0, 0)
    canvas.set_preview([])
    assert tuple(screen(canvas)[y, x]) == (0, 0, 255)


def test_an_area_newly_in_view_is_never_blank(canvas):
    show(canvas)
    canvas.set_view(View(8.0, 900.0, 600.0, WIDTH, HEIGHT))
    settle(canvas)
    x, y = 200, 150
    canvas.set_view(View(8.0, 310.0 - x / 8, 210.0 - y / 8, WIDTH, HEIGHT))
    canvas.update_idletasks()  # draws, but takes nothing from the renderer
    assert not canvas.is_sharp
    assert screen(canvas, takes_events=False)[y, x].max() < 60


def test_what_was_sharp_moves_unchanged_with_the_sheet_before_anything_is_drawn_anew(canvas):
    show(canvas)
    canvas.set_view(View(2.0, 60.0, 70.0, WIDTH, HEIGHT))
    settle(canvas)
    before = screen(canvas)
    across = down = 0
    for dx, dy in ((-37, 0), (-70, 41), (11, -8)):
        canvas.pan_by(dx, dy)
        across, down = across + dx, down + dy
        canvas.update_idletasks()  # draws, but takes nothing from the renderer
        seen = screen(canvas, takes_events=False)
        assert np.array_equal(
            seen[max(down, 0) : HEIGHT + min(down, 0), max(across, 0) : WIDTH + min(across, 0)],
            before[max(-down, 0) : HEIGHT + min(-down, 0), max(-across, 0) : WIDTH + min(-across, 0)],
        )


@pytest.mark.parametrize("is_dark", [False, True])
def test_going_away_and_back_to_the_whole_sheet_shows_what_it_showed(canvas, is_dark):
    show(canvas)
    canvas.set_dark(is_dark)
    settle(canvas)
    before = screen(canvas)
    canvas.set_view(View(5.0, 300.0, 200.0, WIDTH, HEIGHT))
    settle(canvas)
    canvas.pan_by(-300, 200)
    settle(canvas)
    canvas.fit_sheet()
    settle(canvas)
    assert np.array_equal(screen(canvas), before)


def test_the_first_picture_of_a_sheet_shows_what_is_on_it(canvas):
    data, sheets = plan()
    canvas.show_sheet(data, sheets[0])
    assert not canvas.has_picture
    wait_until(canvas, lambda: canvas.has_picture)
    x, y = (round(value) for value in canvas.to_pixel((310, 210)))
    assert screen(canvas)[y, x].max() < 120


def test_a_fitted_sheet_stays_fitted_when_the_window_grows(canvas, root):
    show(canvas)
    before = canvas.view.scale
    root.geometry("900x700+0+0")
    wait_until(canvas, lambda: canvas.view.width == 900)
    settle(canvas)
    assert canvas.view.scale > before
    assert canvas.to_pixel((600, 400)) == pytest.approx((450, 350))


def test_a_chosen_view_keeps_its_scale_when_the_window_grows(canvas, root):
    data, sheet = show(canvas)
    canvas.set_view(View(2.0, 60.0, 70.0, WIDTH, HEIGHT))
    settle(canvas)
    root.geometry("700x500+0+0")
    wait_until(canvas, lambda: canvas.view.width == 700)
    settle(canvas)
    assert (canvas.view.scale, canvas.view.left, canvas.view.top) == (2.0, 60.0, 70.0)
    assert greatest_difference(screen(canvas), drawn(data, sheet, canvas.view)) <= JOINED


def test_the_dark_window_dims_the_paper_and_darkens_what_surrounds_it(canvas):
    show(canvas)
    canvas.set_dark(True)
    canvas.update()
    seen = screen(canvas)
    x, y = (round(value) for value in canvas.to_pixel((5, 5)))
    assert tuple(seen[y, x]) == (219, 219, 219)
    assert tuple(seen[2, 2]) == tuple(bytes.fromhex(THEME.of("desk", True)[1:]))


def test_only_the_newest_sheet_is_shown(canvas):
    data, sheets = plan(pages=3)
    for sheet in sheets:
        canvas.show_sheet(data, sheet)
    settle(canvas)
    canvas.set_view(View(2.0, 350.0, 200.0, WIDTH, HEIGHT))
    settle(canvas)
    assert np.array_equal(screen(canvas), drawn(data, sheets[2], canvas.view))


def test_thumbnails_are_made_while_another_sheet_is_shown(canvas):
    data, sheets = plan(pages=3)
    canvas.show_sheet(data, sheets[0])
    made: dict[int, Image.Image] = {}
    for sheet in sheets:
        canvas.renderer.request_thumbnail(data, sheet, 120, partial(made.__setitem__, sheet.id))
    wait_until(canvas, lambda: len(made) == 3)
    settle(canvas)
    for sheet in sheets:
        assert made[sheet.id].size == (120, 80)
        assert np.array_equal(np.array(made[sheet.id]), render_array(data, sheet, dpi=72 * 120 / 1200))


def test_small_pictures_that_are_dropped_are_not_made_and_hold_up_no_other(canvas):
    data, sheets = plan(pages=3)
    made: list[int] = []
    for sheet in sheets:
        canvas.renderer.request_thumbnail(data, sheet, 120, lambda image, id=sheet.id: made.append(id))  # type: ignore[misc]
    canvas.renderer.drop_small()
    canvas.renderer.request_thumbnail(data, sheets[0], 120, lambda image: made.append(0))
    wait_until(canvas, lambda: not canvas.renderer.is_busy)
    assert made[-1] == 0
    assert len(made) <= 2  # the first may have been finished already


def test_a_file_that_cannot_be_drawn_is_said_so_and_the_next_is_shown(canvas):
    refused: list[Exception] = []
    canvas.on_error = refused.append
    canvas.show_sheet(b"no plan", Sheet(id=7, source="", page=1, width_pt=600, height_pt=400))
    wait_until(canvas, lambda: bool(refused))
    assert isinstance(refused[0], SheetError)
    assert "not a plan file" in canvas.itemcget("message", "text")
    show(canvas)
    assert canvas.find_withtag("message") == ()


def test_closing_while_a_drawing_is_under_way_leaves_nothing_behind():
    root, before = new_root(), renderers()
    canvas = PlanCanvas(root)
    canvas.pack(fill="both", expand=True)
    data, sheets = plan(pages=3)
    canvas.show_sheet(data, sheets[0])
    canvas.update()
    canvas.zoom_by(3)
    for sheet in sheets:
        canvas.renderer.request_thumbnail(data, sheet, 500, lambda image: None)
    canvas.destroy()
    assert renderers() == before
    assert root.tk.call("after", "info") in ("", ())
    root.destroy()
