"""Small pictures of sheets, made in the background."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from takeoff.gui.renderer import Renderer
from takeoff.model.plan import Sheet

if TYPE_CHECKING:
    from PIL.Image import Image


def request_thumbnails(
    renderer: Renderer,
    wanted: Iterable[tuple[bytes, Sheet]],
    width: int,
    then: Callable[[Sheet, Image], None],
) -> None:
    """Draw small pictures of sheets when the renderer has nothing better to do.

    Parameters
    ----------
    renderer
        The renderer of the window, whose canvas polls it.
    wanted
        Bytes of the plan file and sheet, for each picture.
    width
        Pixels; a picture is at most as wide and at most as high.
    then
        Given each sheet with its picture, in the window's thread. A sheet that cannot be drawn is passed over.
    """
    for data, sheet in wanted:
        renderer.request_thumbnail(data, sheet, width, _for_sheet(sheet, then))


def _for_sheet(sheet: Sheet, then: Callable[[Sheet, Image], None]) -> Callable[[Image], None]:
    """Make a taker of one sheet's picture."""
    return lambda image: then(sheet, image)
