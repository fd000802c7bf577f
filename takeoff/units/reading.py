"""Read lengths and door sizes as people write them."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction

from takeoff.errors import InputError, LengthError
from takeoff.units.showing import FOOT, INCH, UnitSystem, format_length

_FORMS = "Write a length as 12'-6 1/2\", 12.5', 150\", 3.81 m, 381 cm or 3810 mm."
_SPELLINGS = (("′‘’´", "'"), ("″“”˝", '"'), ("‐‑‒–—−", "-"), ("\u2044", "/"))
_ROOM_SIZE = re.compile(r"(?P<a>\d[^x×X]*?)\s*[x×X]\s*(?P<b>\d.*)")
_ROOM_SIDES = (0.6, 100.0)
"""Metres between which the sides of a room are believed (judgement)."""
_TOKEN = re.compile(
    r"""(?P<fraction>[0-9]+\ ?/\ ?[0-9]+)
      | (?P<number>[.,]?[0-9][0-9.,]*(?:\ [0-9]{3}(?![0-9]|\ ?/)[0-9.,]*)*)
      | (?P<feet>'|(?:feet|foot|ft\.?)(?![a-z]))
      | (?P<inches>"|(?:inche?s?|ins?\.?)(?![a-z]))
      | (?P<mm>(?:mm|millimet(?:re|er)s?)(?![a-z]))
      | (?P<cm>(?:cm|centimet(?:re|er)s?)(?![a-z]))
      | (?P<metres>(?:m|met(?:re|er)s?)(?![a-z]))
      | (?P<hyphen>-)
      | (?P<rest>.+)""",
    re.VERBOSE,
)
_SIGNS = "fn'\"kcm-?"
"""What stands for each kind of token, in their order."""
_ONE_UNIT = re.compile(r"(?:n-?f|n|f)['\"]|n[mck]")
_FEET_INCHES = re.compile(r"n(?:'-?(?:n-?f|n|f)|-n(?:-?f)?)\"?")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Token:
    """One piece of a length as typed; ``sign`` stands for its kind: n number, f fraction, ' " m c k units, - or ?."""

    sign: str
    text: str
    start: int


def parse_length(text: str, *, system: UnitSystem | None = None) -> float:
    r"""Read a length as people write it, in metres.

    The arithmetic is exact and rounded once, so 12'-6", 150", 381 cm and 3810 all give the same float. Raises
    `LengthError` when the text is not one length, is negative, or could mean more than one thing.

    Feet and inches (``12'-6 1/2"``, ``12-6``, ``12.5'``, ``150"``) or metric (``3.81 m``, ``381 cm``, ``3810 mm``): a
    hyphen after the feet is no minus; a comma before exactly three digits parts thousands with mm, ft and in; a decimal
    comma is read with metric units, and a dot is always the decimal point. ``system`` says how bare numbers are meant.
    ``None``: a whole number of three digits or more is millimetres. ``"metric"``: every whole number is, and ``12-6``
    is refused. ``"imperial"``: none is. Any other bare number is refused, 0 excepted.

    Examples
    --------
    >>> parse_length("12'-6\"")
    3.81
    >>> parse_length("12-6") == parse_length("150 in") == parse_length("3810")
    True
    """
    plain = _plain(text)
    if not plain:
        raise LengthError("the length is empty", remedy=_FORMS)
    if len(plain) > 60:
        raise LengthError(f"a text of {len(plain)} characters is not one length", remedy=_FORMS)
    tokens = _tokens(plain)
    signs = "".join(token.sign for token in tokens)
    numbers = [token for token in tokens if token.sign in "nf"]
    if _ONE_UNIT.fullmatch(signs):
        unit = signs[-1]
        factor = {"'": FOOT, '"': INCH, "m": 1.0, "c": 0.01, "k": 0.001}[unit]
        return float(_mixed(numbers, unit) * Fraction(str(factor)))
    if _FEET_INCHES.fullmatch(signs):
        if system == "metric" and not set(signs) & set("'\""):
            whole, _, rest = plain.partition("-")
            remedy = f"Write {whole.strip()}'-{rest.strip()}\" if feet and inches are meant."
            raise LengthError(f"“{plain}” has no unit, and units are metric", remedy=remedy)
        return _feet_inches(plain, numbers)
    if signs == "n":
        return _bare(plain, system)
    raise _unread(plain, tokens, signs)


def parse_height(text: str, *, system: UnitSystem | None = None) -> float:
    """Read the height of a wall or a size of an opening as `parse_length` does; a bare number under 100 has no unit.

    Examples
    --------
    >>> parse_height("2700", system="metric"), parse_height("90 mm", system="metric")
    (2.7, 0.09)
    """
    plain = _plain(text)
    if system == "metric" and plain.isdecimal() and 0 < int(plain) < 100:  # 9 is no wall of 9 mm
        raise LengthError(f"“{plain}” has no unit", remedy=f"Write {plain} m or {plain} mm, whichever is meant.")
    return parse_length(text, system=system)


def room_sides(text: str) -> tuple[float, float] | None:
    r"""Return the two sides of a room in metres that a text gives with their unit; nothing where it gives none.

    Examples
    --------
    >>> room_sides("3.20 x 4.00 m"), room_sides("3 x 4"), room_sides("16'9\" x 11'3\"")
    ((3.2, 4.0), None, (5.1054, 3.429))
    """
    size = _ROOM_SIZE.fullmatch(text.strip())
    if size is None:
        return None
    unit = re.search(r"[a-zA-Z]+\.?$", size["b"].strip())
    first = size["a"].strip()
    if unit is not None and not re.search(r"[a-zA-Z'\"]", first):
        first = f"{first} {unit[0]}"
    try:
        a, b = parse_length(first), parse_length(size["b"].strip())
    except LengthError:
        return None
    has_unit = re.search(r"[a-zA-Z'\"]", size["b"]) is not None
    return (a, b) if has_unit and all(_ROOM_SIDES[0] <= side <= _ROOM_SIDES[1] for side in (a, b)) else None


def door_size(code: str) -> tuple[float, float]:
    """Read the width and height of a door, in metres.

    A trade code gives feet and inches of the width, then of the height: 3070 is 3'-0" × 7'-0" (common practice). Inches
    of 10 and 11 take two digits (21068 is 2'-10" × 6'-8"); a code with two such readings is refused. Raises
    `LengthError` when the text is neither a code nor two lengths.

    Examples
    --------
    >>> door_size("3070")
    (0.9144, 2.1336)
    >>> door_size("3/0 x 7/0") == door_size("3070")
    True
    >>> door_size("900x2100")
    (0.9, 2.1)
    """
    plain = _plain(code)
    remedy = "Write 3070, 3'-0\" x 7'-0\" or 900 x 2100 (width, then height)."
    if re.fullmatch("[0-9]{4,6}", plain):
        half = re.compile("([1-9])([0-9]|10|11)")
        pairs = [(half.fullmatch(plain[:cut]), half.fullmatch(plain[cut:])) for cut in (2, 3)]
        readings = [(f"{w[1]}-{w[2]}", f"{h[1]}-{h[2]}") for w, h in pairs if w and h]
        if len(readings) > 1:
            both = " or ".join(f"{w} x {h}" for w, h in readings)
            raise LengthError(f"the door code “{plain}” could be {both}", remedy="Write the one that is meant.")
    else:
        sides = re.split(" ?[x×] ?| by ", plain)
        sides = sides if len(sides) > 1 else plain.split(" ")
        readings = [(sides[0], sides[1])] if len(sides) == 2 and all(sides) else []
    if not readings:
        raise LengthError(f"“{plain}” is not a door size", remedy=remedy)
    width, height = (re.sub("^([0-9]+)/([0-9]+)$", r"\1-\2", side) for side in readings[0])
    size = (parse_length(width), parse_length(height))
    if 0.0 in size:
        raise LengthError(f"the door “{plain}” has no width or no height", remedy=remedy)
    return size


def _plain(text: str) -> str:
    """Spell primes, dashes, fraction glyphs, case and white space in one way."""
    spelt = []
    for glyph in text:
        parts = unicodedata.normalize("NFKC", glyph) if unicodedata.category(glyph) == "No" else glyph
        spelt.append(f" {parts} " if "\u2044" in parts and len(parts) > 1 else glyph)
    plain = "".join(spelt)
    for glyphs, typed in _SPELLINGS:
        for glyph in glyphs:
            plain = plain.replace(glyph, typed)
    return " ".join(plain.replace("''", '"').lower().split())


def _tokens(plain: str) -> list[_Token]:
    tokens = []
    start = 0
    while found := _TOKEN.match(plain, start):
        tokens.append(_Token(sign=_SIGNS[(found.lastindex or 0) - 1], text=found[0], start=start))
        start = found.end() + (plain[found.end() : found.end() + 1] == " ")
    return tokens


def _number(raw: str, unit: str) -> Fraction:
    """Read a decimal number exactly; ``unit`` (a token's sign, or empty) decides what a comma or a space parts."""
    is_imperial = unit in ("'", '"')
    if re.fullmatch(r"[0-9]*\.?[0-9]+", raw):
        return Fraction(raw)
    if not is_imperial and re.fullmatch(r"[0-9]{1,3}(?: [0-9]{3})+(?:[.,][0-9]+)?", raw):
        return Fraction(raw.replace(" ", "").replace(",", "."))
    if re.fullmatch(r"[1-9][0-9]{0,2}(?:,[0-9]{3})+(?:\.[0-9]+)?", raw):
        if raw.count(",") == 1 and "." not in raw and unit not in ("'", '"', "k"):
            whole, part = raw.split(",")
            raise LengthError(
                f"“{raw}” could be {whole}.{part} or {whole}{part}",
                remedy=f"Write {whole}.{part} or {whole}{part}, without a comma and with its unit.",
            )
        return Fraction(raw.replace(",", ""))
    if not is_imperial and re.fullmatch("[0-9]+,[0-9]+", raw):
        return Fraction(raw.replace(",", "."))
    if raw.count(".") > 1:
        raise LengthError(f"“{raw}” has {raw.count('.')} decimal points", remedy="Write one, such as 12.5.")
    raise LengthError(f"“{raw}” is not one number", remedy="Write it without commas or spaces, such as 12.5.")


def _mixed(numbers: list[_Token], unit: str) -> Fraction:
    """Add a whole number and a fraction, or read the one that stands alone."""
    total = Fraction(0)
    for token in numbers:
        if token.sign == "n":
            total += _number(token.text, unit)
            if len(numbers) > 1 and total.denominator != 1:
                raise LengthError(
                    f"“{token.text}” is a decimal beside the fraction {numbers[-1].text}",
                    remedy='Write either, such as 6.5" or 6 1/2".',
                )
            continue
        top, bottom = (int(part) for part in token.text.split("/"))
        if bottom == 0 or top >= bottom:
            why = "divides by zero" if bottom == 0 else "is not less than 1"
            raise LengthError(
                f"the fraction “{token.text}” {why}", remedy='Write it such as 6 1/2", a space before 1/2.'
            )
        total += Fraction(top, bottom)
    return total


def _feet_inches(plain: str, numbers: list[_Token]) -> float:
    feet, inches = _number(numbers[0].text, "'"), _mixed(numbers[1:], '"')
    if feet.denominator != 1:
        raise LengthError(
            f"“{plain}” has {numbers[0].text} ft, a part of a foot, and inches beside it",
            remedy="Write whole feet and inches, such as 12'-6\", or feet alone, such as 12.5'.",
        )
    metres = float((feet * 12 + inches) * Fraction(str(INCH)))
    if inches >= 12:
        raise LengthError(
            f"“{plain}” has {float(inches):g} in beside the feet, and 12 in make a foot",
            remedy=f"Write {format_length(metres, precision=64)} if that is meant.",
        )
    return metres


def _bare(plain: str, system: UnitSystem | None) -> float:
    value = _number(plain, "")
    if plain.isdecimal() and (value == 0 or system == "metric" or (system is None and len(plain) >= 3)):
        return float(value / 1000)
    if " " in plain:
        joined = plain.replace(" ", "")
        raise LengthError(f"“{plain}” has no unit and could be two numbers", remedy=f"Write {joined} mm or {joined} m.")
    ways = {"imperial": "{0}' or {0}\"", "metric": "{0} m or {0} mm", None: "{0}', {0}\", {0} m or {0} mm"}[system]
    raise LengthError(f"“{plain}” has no unit", remedy=f"Write {ways.format(plain)}, whichever is meant.")


def _unread(plain: str, tokens: list[_Token], signs: str) -> LengthError:
    """Say why the text is not a length."""
    if not re.search("[0-9]", plain):
        return LengthError(f"“{plain}” has no number in it", remedy=_FORMS)
    if signs[0] == "-":
        return LengthError(f"“{plain}” is negative", remedy="Write the length without its sign.")
    if set(signs) & set("mck") and set(signs) & set("'\""):
        return LengthError(f"“{plain}” mixes metric units with feet and inches", remedy="Write it in one of them.")
    if signs in ("f", "nf"):
        return LengthError(f"“{plain}” has no unit", remedy=f"Write {plain}\" or {plain}', whichever is meant.")
    if signs == "n-f":
        whole, part = tokens[0].text, tokens[-1].text
        return LengthError(
            f"“{plain}” could be {whole} {part} in or {whole} ft {part} in",
            remedy=f'Write {whole} {part}" or {whole}\'-0 {part}".',
        )
    if signs in ("nn", "nnf"):
        feet, _, inches = plain.partition(" ")
        return LengthError(f"“{plain}” has no unit", remedy=f"Write {feet}'-{inches}\" if feet and inches are meant.")
    for count in range(len(tokens) - 1, 0, -1):
        if signs[:count] == "n" or _ONE_UNIT.fullmatch(signs[:count]) or _FEET_INCHES.fullmatch(signs[:count]):
            cut = tokens[count].start
            return LengthError(
                f"“{plain}” was read up to “{plain[:cut].strip()}”; “{plain[cut:]}” was not understood", remedy=_FORMS
            )
    return LengthError(f"“{plain}” is not a length", remedy=_FORMS)


def parse_count(text: str) -> int:
    """Read a whole number from 1; `InputError` where it is none.

    Examples
    --------
    >>> parse_count(" 12 ")
    12
    """
    if not (text.strip().isdecimal() and (value := int(text.strip()))):
        raise InputError(f'"{text.strip()}" is not a whole number', remedy="Write 1, 2, 3 …")
    return value
