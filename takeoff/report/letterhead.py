"""Whose report it is, for whom and on what paper: the company's lines, logo and own terms, edition and paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from takeoff.errors import InputError

Edition = Literal["full", "bid", "foreman"]
"""Everything for the contractor's own desk, what the owner or general contractor is handed, or the foreman."""
PriceBy = Literal["lump-sum", "room", "system"]
PRICES_BY: tuple[PriceBy, ...] = ("lump-sum", "room", "system")
Paper = Literal["letter", "a4"]
LogoKind = Literal["png", "jpg", "svg"]
LARGEST_LOGO = 5_000_000
"""Bytes that a logo may have."""


VALID_DAYS = 30
"""Days that a bid holds where nobody says otherwise: common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Letterhead:
    """What an owner puts on a report.

    ``company`` are lines for the head of the first page, the first of them the name. ``logo`` is a picture file's
    bytes, empty for none. ``exclusions`` and ``qualifications`` are added to the usual ones, ``payment`` to what a bid
    says of payment. Of one bid: ``to`` is its addressee, ``site`` the address of the work, ``number`` the bid's number,
    ``addenda`` those received; it holds for ``valid_days`` days.
    """

    company: tuple[str, ...] = ()
    logo: bytes = b""
    prepared_by: str = ""
    to: tuple[str, ...] = ()
    site: tuple[str, ...] = ()
    number: str = ""
    addenda: tuple[str, ...] = ()
    payment: tuple[str, ...] = ()
    valid_days: int = VALID_DAYS
    exclusions: tuple[str, ...] = ()
    qualifications: tuple[str, ...] = ()


PLAIN = Letterhead()
"""A report without a letterhead."""
LOGO_HEIGHT = 72
"""Pixels of 1/96 inch that a logo is high in a workbook; it is drawn at twice that."""


def logo_png(logo: bytes) -> bytes:
    """Draw a logo as a PNG of `LOGO_HEIGHT`, for what takes no other picture.

    Raises
    ------
    InputError
        As `logo_kind`.
    """
    import pymupdf

    with pymupdf.open(stream=logo, filetype=logo_kind(logo)) as document:
        page = document[0]
        zoom = 2 * LOGO_HEIGHT / page.rect.height
        pixels = page.get_pixmap(matrix=pymupdf.Matrix(zoom, zoom), alpha=True)
        pixels.set_dpi(192, 192)
        return bytes(pixels.tobytes("png"))


def logo_kind(logo: bytes) -> LogoKind:
    """Tell what kind of picture a logo is by its first bytes.

    Raises
    ------
    InputError
        When it is none that can be printed, or too large.

    Examples
    --------
    >>> logo_kind(b'<svg xmlns="http://www.w3.org/2000/svg"/>')
    'svg'
    """
    if len(logo) > LARGEST_LOGO:
        raise InputError(
            f"the logo has {len(logo) / 1e6:,.1f} MB", remedy=f"Use a file under {LARGEST_LOGO / 1e6:.0f} MB."
        )
    if logo.startswith(b"\x89PNG\r\n\x1a\n"):
        return "png"
    if logo.startswith(b"\xff\xd8\xff"):
        return "jpg"
    head = logo[:1000].lstrip(b"\xef\xbb\xbf \t\r\n")
    if head.startswith(b"<") and b"<svg" in head:
        return "svg"
    raise InputError("the logo is not a PNG, JPEG or SVG picture", remedy="Save it as one of these.")
