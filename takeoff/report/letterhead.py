"""Whose report it is, for whom and on what paper, and the terms that it stands on (common practice, no source)."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from takeoff.errors import InputError
from takeoff.model.costs import Estimate

Edition = Literal["full", "bid", "foreman"]
"""Everything for the contractor's own desk, what the owner or general contractor is handed, or the foreman."""
PriceBy = Literal["lump-sum", "room", "system"]
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
    """Draw a logo as a PNG of `LOGO_HEIGHT`, for what takes no other picture; refused as by `logo_kind`."""
    import pymupdf

    with pymupdf.open(stream=logo, filetype=logo_kind(logo)) as document:
        page = document[0]
        zoom = 2 * LOGO_HEIGHT / page.rect.height
        pixels = page.get_pixmap(matrix=pymupdf.Matrix(zoom, zoom), alpha=True)
        pixels.set_dpi(192, 192)
        return bytes(pixels.tobytes("png"))


def logo_kind(logo: bytes) -> LogoKind:
    """Tell what kind of picture a logo is by its first bytes; one not to be printed or too large is an `InputError`.

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


_EXCLUDED = (
    "Floors, ceilings, doors, frames, and every wall that the marked plans do not show as coated.",
    "Repair of substrates beyond what the steps of each system name; cure of damp, movement or structural faults.",
    "Testing for and removal of lead, asbestos, mould and other hazardous matter.",
    "Disconnecting, moving and putting back equipment, pipes, cables, signs and fixtures.",
    "Power, water, light, heating, drying and ventilation of the work area, and a place to store material.",
    "Protection after hand-over, and repair of damage by others.",
)
_BY_OTHERS = {"permits": "permits?", "bonds": "bonds?", "tests": "test(s|ing)?", "certificates": "certificates?"}
"""What others do where no line of the price has its name, and the words of that."""
_NIL = (
    ("access", "access|scaffold(s|ing)?|lifts?", "Scaffolds, lifts and other access equipment."),
    ("freight", "freight|deliver(y|ies)|shipping", "Freight of material to the site."),
    ("tax", "tax(es)?|vat|gst", "Sales and value added tax on the price."),
)
"""What is not in the price where that line is nil and none of one's own has one of the words."""
_HOURS = "Work outside normal hours."
_QUALIFIED = (
    "Quantities are taken from the drawings named on the first page, at the scales stated there; changes to the "
    "drawings change the price. They are checked on site before material is ordered.",
    "Films and spreads are nominal, for a sound, dry and even substrate; rough or porous walls take more.",
    "Walls are handed over clear, clean and dry, in an order that lets each coat follow the last within its recoat "
    "window.",
    "Product data sheets, safety data sheets and local codes govern where they differ from this document.",
)
_PACKS = "Material is bought in whole packs. Left-over material is part of the price."
_SAMPLE = (
    "Tinted white bases come out lighter than the colour chip: a sample on site is to be approved, in colour and "
    "finish, before colour is ordered."
)
_CHANGE = (
    "This price covers the work named here alone; all else stays as it is agreed.",
    "It holds for {days} days from its date, and the work is begun when it is signed by both sides.",
    "Areas are taken from the drawings named here; they are checked on site before material is ordered.",
    "Work that is already done or material that is already ordered for what is taken out is charged separately.",
)
_JUDGED = (
    "A line marked * rests on walls that were read by eye where the drawing is not clear; they are checked on site."
)
_TIME = "Working days that the change adds or saves are agreed separately."


def other_currency(job: str, prices: str) -> str:
    """Say that the prices are in another currency than the job; empty where they are in the same.

    Examples
    --------
    >>> other_currency("EUR", "USD"), other_currency("EUR", "EUR")
    ('the job is in EUR and the prices are in USD, not converted', '')
    """
    return "" if job == prices else f"the job is in {job} and the prices are in {prices}, not converted"


def usual_exclusions(result: Estimate) -> tuple[str, ...]:
    """List what is not in the price: the usual things, and lines of the price that are nil."""
    amounts: dict[str, float] = {p.id: p.amount for p in result.price}
    own = [line.label.lower() for line in result.price if line.id.startswith("own:") and line.amount]

    def has(words: str) -> bool:
        return any(re.search(rf"\b({words})\b", label) for label in own)

    left = [what for what, words in _BY_OTHERS.items() if not has(words)]
    by_others = f"{_listed(left).capitalize()} by others, and work outside normal hours." if left else _HOURS
    return (*_EXCLUDED, by_others, *(text for id, words, text in _NIL if not (amounts.get(id) or has(words))))


def _listed(words: Sequence[str]) -> str:
    return " and ".join(part for part in (", ".join(words[:-1]), words[-1]) if part)


def usual_qualifications(result: Estimate) -> tuple[str, ...]:
    """List the terms that quantities and price stand on, with the notes of the systems in use."""
    return (_PACKS, *bid_qualifications(result.notes))


def bid_qualifications(notes: Sequence[str]) -> tuple[str, ...]:
    """List the terms of a bid, with the notes of the systems in it."""
    said = any("sample approved" in note for note in notes)
    return (*_QUALIFIED, *(() if said else (_SAMPLE,)), *notes)


def change_qualifications(valid_days: int, *, is_judged: bool, has_days: bool) -> tuple[str, ...]:
    """List the terms of a change order: how long it holds, whether a line is marked as judged or days on site said."""
    own = [text.format(days=valid_days) for text in _CHANGE]
    return (*own, *((_JUDGED,) if is_judged else ()), *(() if has_days else (_TIME,)))
