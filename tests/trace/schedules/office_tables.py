"""Opening schedules in the manner of many offices, drawn by hand for the tests: what they say is theirs, exactly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pymupdf

FOOT, INCH = 0.3048, 0.0254
Sizes = dict[str, tuple[float, float] | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table: its title, widths of columns in points, rows of texts with the headings first.

    ``held`` are cells drawn round several rows, by row and column, with how many; ``turned`` headings are written
    upwards; ``struck`` rows are crossed out, the line as far off their middle as ``off`` of their letters; ``sizes``
    are widths and heights in metres by mark, ``None`` where the table says none. Without ``is_ruled`` no lines part it.
    """

    title: str
    widths: Sequence[float]
    rows: Sequence[Sequence[str]]
    sizes: Sizes
    is_ruled: bool = True
    held: Sequence[tuple[int, int, int]] = ()
    turned: Sequence[int] = ()
    struck: Sequence[int] = ()
    off: float = 0.0
    at: tuple[float, float] = (60.0, 110.0)


def feet(wide: float, high: float) -> tuple[float, float]:
    """Return a size in metres that is given in inches."""
    return wide * INCH, high * INCH


DOOR, PAIR = feet(36, 84), feet(72, 84)
TABLES: dict[str, Sequence[Table]] = {
    "feet and inches": [Table(title="DOOR & FRAME SCHEDULE", widths=(45, 100, 50, 50, 40, 60), rows=(
        ("DOOR\nNO.", "LOCATION", "WIDTH", "HEIGHT", "THK.", "MATL"),
        ("101A", "VESTIBULE", "6'-0\"", "7'-0\"", '1 3/4"', "ALUM"),
        ("101B", "LOBBY", "3'-0\"", "7'-0\"", '1 3/4"', "HM"),
        ("103", "STORAGE", "VERIFY", "7'-0\"", '1 3/4"', "HM")),
        sizes={"101A": PAIR, "101B": DOOR, "103": None})],
    "four figures": [Table(title="DOOR SCHEDULE", widths=(45, 70, 60, 120), rows=(
        ("NO.", "SIZE", "TYPE", "REMARKS"),
        ("1", "3070", "A", ""), ("2", "PR 3070", "B", "PAIR"), ("3", "2868", "A", ""),
        ("4", "SEE A-601", "C", "")),
        sizes={"1": DOOR, "2": PAIR, "3": feet(32, 80), "4": None})],
    "three lengths in one": [Table(title="DOOR SCHEDULE", widths=(45, 140, 60), rows=(
        ("MARK", "SIZE (W x H x T)", "MATL"), ("D1", "3'-0\" x 7'-0\" x 1 3/4\"", "WD"),
        ("D2", "(2) 3'-0\" x 7'-0\" x 1 3/4\"", "HM"), ("D3", "2'-8\" x 6'-8\" x 1 3/8\"", "WD")),
        sizes={"D1": DOOR, "D2": PAIR, "D3": feet(32, 80)})],
    "inches": [Table(title="DOOR LIST", widths=(45, 90, 60), rows=(
        ("TAG", "SIZE", "FINISH"), ("1A", '36"x84"', "PT"), ("1B", '72" X 84"', "PT"), ("2", '30"x80"', "STN")),
        sizes={"1A": DOOR, "1B": PAIR, "2": feet(30, 80)})],
    "opening and leaf": [Table(title="INTERNAL DOOR SCHEDULE", widths=(45, 120, 90, 60), rows=(
        ("REF", "STRUCTURAL OPENING", "LEAF SIZE", "FD"), ("D01", "1010 x 2110", "926 x 2040", "FD30"),
        ("D02", "910 x 2110", "826 x 2040", ""), ("D03", "1810 x 2110", "2 x 826 x 2040", "")),
        sizes={"D01": (1.01, 2.11), "D02": (0.91, 2.11), "D03": (1.81, 2.11)})],
    "centimetres with halves": [Table(title="TÜRLISTE EG", widths=(40, 90, 50, 50, 60), rows=(
        ("Pos.", "Raum", "Breite\n(cm)", "Höhe\n(cm)", "Anschlag"), ("T1", "Flur", "88,5", "213,5", "links"),
        ("T2", "Lager", "101", "213,5", "rechts"), ("T3", "WC", "76", "213,5", "links")),
        sizes={"T1": (0.885, 2.135), "T2": (1.01, 2.135), "T3": (0.76, 2.135)})],
    "no lines": [Table(title="TABLEAU DES MENUISERIES", widths=(60, 60, 110, 60), is_ruled=False, rows=(
        ("Repère", "Nombre", "Dimensions (L x H)", "Allège"), ("F01", "4", "120 x 135", "0,90"),
        ("F02", "2", "80 x 75", "1,35"), ("P01", "1", "90 x 215", "-")),
        sizes={"F01": (1.2, 1.35), "F02": (0.8, 0.75), "P01": (0.9, 2.15)})],
    "metres": [Table(title="CUADRO DE VENTANAS", widths=(50, 60, 60, 60, 60), rows=(
        ("TIPO", "ANCHO", "ALTO", "ALFEIZAR", "CANT."), ("V-1", "1.50", "1.20", "0.90", "6"),
        ("V-2", "0.60", "0.40", "1.80", "3"), ("V-3", "2.40", "2.10", "0.00", "1")),
        sizes={"V-1": (1.5, 1.2), "V-2": (0.6, 0.4), "V-3": (2.4, 2.1)})],
    "codes and centimetres": [Table(title="ABACO DEGLI INFISSI", widths=(50, 50, 50, 80, 90), rows=(
        ("COD.", "L (cm)", "H (cm)", "DAVANZALE", "TIPO"), ("F1", "120", "150", "90", "BATTENTE"),
        ("F2", "70", "120", "120", "VASISTAS"), ("P1", "80", "210", "-", "PORTA")),
        sizes={"F1": (1.2, 1.5), "F2": (0.7, 1.2), "P1": (0.8, 2.1)})],
    "metres with commas": [Table(title="QUADRO DE ESQUADRIAS", widths=(50, 70, 70, 70, 90), rows=(
        ("CÓDIGO", "LARGURA", "ALTURA", "PEITORIL", "OBS."), ("P1", "0,80", "2,10", "-", "madeira"),
        ("P2", "0,70", "2,10", "-", "madeira"), ("J1", "1,50", "1,00", "1,10", "correr")),
        sizes={"P1": (0.8, 2.1), "P2": (0.7, 2.1), "J1": (1.5, 1.0)})],
    "headings turned": [Table(title="DOOR SCHEDULE", widths=(40, 100, 40, 40, 40), turned=(0, 2, 3, 4), rows=(
        ("DOOR NO.", "ROOM", "WIDTH", "HEIGHT", "THICKNESS"), ("101", "OFFICE", "3'-0\"", "7'-0\"", '1 3/4"'),
        ("102", "STOR.", "2'-8\"", "6'-8\"", '1 3/4"'), ("103", "LOBBY", "6'-0\"", "7'-0\"", '1 3/4"')),
        sizes={"101": DOOR, "102": feet(32, 80), "103": PAIR})],
    "one height for several rows": [Table(title="DOOR SCHEDULE", widths=(50, 60, 60, 80), held=((1, 2, 3),), rows=(
        ("MARK", "WIDTH", "HEIGHT", "FINISH"), ("A", "3'-0\"", "", "PT"), ("B", "6'-0\"", "7'-0\"", "PT"),
        ("C", "2'-8\"", "", "STN"), ("D", "3'-0\"", "8'-0\"", "STN")),
        sizes={"A": DOOR, "B": PAIR, "C": feet(32, 84), "D": feet(36, 96)})],
    "continued beside without headings": [
        Table(title="DOOR SCHEDULE", widths=(45, 90, 50, 50), rows=(
            ("NO.", "ROOM", "WIDTH", "HEIGHT"),
            ("101", "OFFICE", "3'-0\"", "7'-0\""), ("102", "OFFICE", "2'-8\"", "6'-8\""),
            ("103", "STORE", "3'-0\"", "7'-0\"")), sizes={"101": DOOR, "102": feet(32, 80), "103": DOOR}),
        Table(title="", widths=(45, 90, 50, 50), at=(360.0, 110.0), rows=(
            ("104", "HALL", "6'-0\"", "7'-0\""),
            ("105", "LAB", "3'-0\"", "7'-0\""), ("106", "LAB", "2'-8\"", "6'-8\"")),
            sizes={"104": PAIR, "105": DOOR, "106": feet(32, 80)})],
    "a row struck out": [Table(title="DOOR SCHEDULE", widths=(50, 60, 60, 80), struck=(2,), rows=(
        ("MARK", "WIDTH", "HEIGHT", "FINISH"), ("D1", "900", "2100", "PT"), ("D2", "800", "2100", "PT"),
        ("D3", "1800", "2100", "PT")),
        sizes={"D1": (0.9, 2.1), "D2": None, "D3": (1.8, 2.1)})],
    "types in a second table": [
        Table(title="DOOR SCHEDULE", widths=(45, 90, 50, 80), rows=(
            ("DOOR", "ROOM", "TYPE", "HARDWARE"), ("101", "OFFICE", "A", "1"), ("102", "STORE", "B", "2")),
            sizes={"101": None, "102": None}),
        Table(title="DOOR TYPES", widths=(45, 60, 60), at=(420.0, 110.0), rows=(
            ("TYPE", "WIDTH", "HEIGHT"), ("A", "3'-0\"", "7'-0\""), ("B", "6'-0\"", "7'-0\"")),
            sizes={"A": DOOR, "B": PAIR})],
    "Dutch": [Table(title="DEURENSTAAT", widths=(50, 70, 70, 90), rows=(
        ("MERK", "BREEDTE", "HOOGTE", "OPMERKING"), ("D1", "930", "2315", ""), ("D2", "830", "2315", ""),
        ("D3", "1730", "2315", "dubbel")), sizes={"D1": (0.93, 2.315), "D2": (0.83, 2.315), "D3": (1.73, 2.315)})],
    "Polish": [Table(title="ZESTAWIENIE STOLARKI OKIENNEJ", widths=(60, 80, 80, 60), rows=(
        ("SYMBOL", "SZEROKOSC", "WYSOKOSC", "ILOSC"), ("O1", "150", "150", "4"), ("O2", "90", "150", "2"),
        ("O3", "60", "60", "1")), sizes={"O1": (1.5, 1.5), "O2": (0.9, 1.5), "O3": (0.6, 0.6)})],
    "rough openings": [Table(title="WINDOW SCHEDULE", widths=(45, 70, 70, 70, 60), rows=(
        ("MARK", "R.O. WIDTH", "R.O. HEIGHT", "HEAD HT.", "TYPE"), ("W1", "3'-0\"", "4'-0\"", "6'-8\"", "DH"),
        ("W2", "5'-0\"", "4'-0\"", "6'-8\"", "SL"), ("W3", "2'-0\"", "2'-0\"", "6'-8\"", "AW")),
        sizes={"W1": feet(36, 48), "W2": feet(60, 48), "W3": feet(24, 24)})],
    "named by their size": [Table(title="WINDOW SCHEDULE", widths=(90, 50, 50, 50, 120), rows=(
        ("DESCRIPTION", "WIDTH", "HEIGHT", "COUNT", "REMARKS"), ("FG 36x120", '36"', '120"', "3", "FIXED GLASS"),
        ("HR 72x60", '72"', '60"', "3", "ROLLING"), ("CS 36x24", '36"', '24"', "6", "CASEMENT")),
        sizes={"FG 36x120": feet(36, 120), "HR 72x60": feet(72, 60), "CS 36x24": feet(36, 24)})],
    "millimetres": [Table(title="DOOR SCHEDULE", widths=(60, 50, 50, 40, 110), rows=(
        ("DOOR NO.", "W", "H", "QTY", "REMARKS"), ("D01", "820", "2040", "1", ""), ("D02", "1640", "2040", "1", "PAIR"),
        ("D03", "2400", "2100", "1", "ROLLER DOOR")),
        sizes={"D01": (0.82, 2.04), "D02": (1.64, 2.04), "D03": (2.4, 2.1)})],
}  # fmt: skip
"""Tables as offices of several countries draw them (common practice, no source); the figures are ours."""


def drawn(tables: Sequence[Table], letters: float = 8.0, pad: float = 3.0) -> bytes:
    """Draw tables on a page of 1190 × 842 points."""
    document = pymupdf.open()
    page = document.new_page(width=1190, height=842)
    for table in tables:
        x, y = table.at
        if table.title:
            page.insert_text((x, y - 8), table.title, fontsize=letters + 4)
        held = {(row + i, column): i for row, column, count in table.held for i in range(count)}
        last = {(row + count - 1, column) for row, column, count in table.held}
        for number, row in enumerate(table.rows):
            turned = table.turned if number == 0 else ()
            high = 2 * pad + letters * max(8.0 if turned else 1.0, *(1.0 + text.count("\n") for text in row))
            at = x
            for column, (width, text) in enumerate(zip(table.widths, row, strict=True)):
                if column in turned:
                    page.insert_text((at + width / 2 + letters / 3, y + high - pad), text, fontsize=letters, rotate=90)
                else:
                    for line, part in enumerate(text.split("\n")):
                        page.insert_text((at + pad, y + pad + letters * (line + 0.8)), part, fontsize=letters)
                if table.is_ruled:
                    page.draw_line((at, y), (at, y + high), width=0.4)
                    page.draw_line((at + width, y), (at + width, y + high), width=0.4)
                    if not held.get((number, column)):
                        page.draw_line((at, y), (at + width, y), width=0.4)
                    if (number, column) not in held or (number, column) in last:
                        page.draw_line((at, y + high), (at + width, y + high), width=0.4)
                at += width
            if number in table.struck:
                level = y + high / 2 + table.off * letters
                page.draw_line((x + 1, level), (at - 1, level), width=0.8)
            y += high
    return bytes(document.tobytes())
