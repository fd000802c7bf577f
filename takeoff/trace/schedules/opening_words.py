"""Words of opening schedules in the languages that plans come in: headings, kinds of opening, parts beside a leaf."""

from __future__ import annotations

import re

from takeoff.model.walls import OpeningKind

OF = (
    r"(?:DOOR|WINDOW|OPENING|T(?:Ü|UE)R|FENSTER|PORTE|FEN[EÊ]TRE|PUERTA|VENTANA|PORTA|FINESTRA|JANELA|ESQUADRIA"
    r"|ABERTURA|CARPINTER[IÍ]A|MENUISERIE|SERRAMENT[IO]|INFISS[IO]|CAIXILHARIA|DEUR(?:EN)?|RAAM|RAMEN|KOZIJN(?:EN)?"
    r"|DRZWI|OKNO?|OKIEN\w*|STOLARK\w*|D[ÖØ]R(?:R|RAR|RE)?|F[ÖØ]NSTER|VINDU(?:E|ER)?|DVE[ŘR]E)"
)
BEFORE = (
    rf"(?:(?:{OF}|LEAF|UNIT|FRAME|CLEAR|ROUGH|STRUCTURAL|R\.?O\.?|S\.?O\.?"
    r"|SIZE|NOM\.?|NOMINAL|DIMENSIONS?)\s+)*"
)
_W, _H = r"[WBLA](?:IDTH)?\.?", r"H(?:EIGHT)?\.?"
HIGH_FIRST = re.compile(rf"\b{_H}\s*[X×/]\s*{_W}\W*$", re.IGNORECASE)
SIDES = rf"(?:{_W}\s*[X×/]\s*{_H}(?:\s*[X×/]\s*T(?:HK)?\.?)?|{_H}\s*[X×/]\s*{_W})"
STRUCTURAL = re.compile(r"(?:STRUCTURAL|ROUGH|MASONRY|R\.?O\.?|S\.?O\.?)\b", re.IGNORECASE)
"""What is said of a size that is of the opening in the wall: it counts before that of a leaf."""
HEADINGS = (
    (
        "mark",
        re.compile(
            rf"(?:(?:{OF}|TYPE)[-. ]*)?(?:MARK|N[OR]\b\.?|N°|NUMBER|NUM\b\.?|TAG|ID|#|SYM(?:BOL)?\.?|POS(?:ITION)?\.?"
            rf"|MARCA|CLAVE|C[OÓ]D(?:IGO)?\.?|MERK|REP(?:[EÈ]RE|\b\.?)|REF\.?|LITT?(?:ERA)?\.?|OZN\.?)|{OF}",
            re.I,
        ),
    ),
    (
        "size",
        re.compile(
            rf"{BEFORE}(?:SIZE|GR(?:Ö|OE)(?:SS|ß)E|ABMESSUNG(?:EN)?|MEDIDAS?|VÃO|DIMENS(?:IONS?|IONES|ÕES|IONI)|OPENING)"
            rf"(?:\s*\(?{SIDES}\)?)?|{SIDES}",
            re.I,
        ),
    ),
    (
        "width",
        re.compile(
            rf"{BEFORE}(?:WIDTH|WD\.?|[WBL]|BREITE|LARG(?:EUR)?\.?|ANCHO|LARGHEZZA|LARGURA|BREEDTE|SZEROKO(?:ŚĆ|SC)|BREDDE?|[ŠS][ÍI][ŘR]KA)",
            re.I,
        ),
    ),
    (
        "height",
        re.compile(
            rf"{BEFORE}(?:HEIGHT|HT\.?|HGT\.?|H|HÖHE|HAUT(?:EUR)?\.?|ALTO|ALTEZZA|ALTURA|HOOGTE|WYSOKO(?:ŚĆ|SC)|H[ÖØ]JDE?|HØYDE|V[ÝY][ŠS]KA)",
            re.I,
        ),
    ),
    (
        "sill",
        re.compile(
            r"(?:WINDOW\s+)?SILL(?:\s+(?:HEIGHT|HT\.?|HGT\.?|LEVEL))?(?:\s+A\.?F\.?F\.?)?"
            r"|BR(?:Ü|UE)STUNG(?:SHÖHE)?|BRH|ANTEPECHO|ALF[EÉ]IZAR|ALL[EÈ]GE|PEITORIL",
            re.I,
        ),
    ),
    ("head", re.compile(r"(?:WINDOW\s+)?HEAD\s+(?:HEIGHT|HT\.?|HGT\.?|LEVEL)(?:\s+A\.?F\.?F\.?)?", re.I)),
    ("count", re.compile(r"QTY\.?|QUANT\w*\.?|COUNT|ILO(?:ŚĆ|SC)|AANTAL|LEAVES|ANZAHL|CANT(?:IDAD)?\.?", re.I)),
    ("type", re.compile(rf"(?:{OF}\s+)?(?:TYPE|TIPO|TYP)", re.I)),
    ("remarks", re.compile(r"REMARKS?|NOTES?|COMMENTS?|DESCRIPTION|BEMERKUNG(?:EN)?|OBS(?:ERVA\w*)?\.?", re.I)),
)
"""What headings say (common trade words, from memory)."""
DOORS = r"DOOR|T(?:Ü|UE)R|PORT[EA]|PUERTA|DEUR|DRZWI|D[ÖØ]R|DVE[ŘR]"
WINDOWS = r"WINDOW|FENSTER|FEN[EÊ]TRE|VENTANA|FINESTRA|JANELA|RAAM|RAMEN|OKN|OKIEN|F[ÖØ]NSTER|VINDU"
KINDS: tuple[tuple[OpeningKind, re.Pattern[str]], ...] = (
    ("pass-through", re.compile(r"\bPASS[- ]?THROUGH|\bSERVING\b", re.I)),
    ("window", re.compile(r"\bWINDOW|\bCASEMENT|\bSASH|\bHUNG\b|\bAWNING|\bGLAZ|\bLOUV|\bLITE\b|\bSTOREFRONT", re.I)),
    ("door", re.compile(r"\bDOOR|\bLEAF|\bLEAVES|\bROLL|\bOVERHEAD|\bSWING|\bFLUSH", re.I)),
)
"""Words of a row's type that tell what it is; the first that fits."""
METRIC = re.compile(
    r"BREITE|HÖHE|LARG|HAUT|ANCHO|ALTO|ALTEZZA|ALTURA|BREEDTE|HOOGTE|SZEROKO|WYSOKO|BREDD|H[ÖØ]J|HØY|[ŠS][ÍI][ŘR]KA|V[ÝY][ŠS]KA|REP[EÈ]RE|MEDIDAS|ABMESS|C[OÓ]D",
    re.IGNORECASE,
)
"""Headings of languages in which lengths are metric."""
PART = (
    r"(?:TRANSOM|OVER-?\s?(?:PANEL|LIGHT)|FAN-?\s?LIGHT|SIDE-?\s?(?:LIGHT|LITE|PANEL)|OBERLICHT|IMPOSTE|SOPRALUCE"
    r"|BANDEIRA|MONTANTE)S?"
)
ADDS = re.compile(
    rf"(?:\b(?:WITH|AND|PLUS|INCL\w*|MIT|AVEC|CON|COM|[EY])\b\.?|\bW/|[+&])[^;]{{0,30}}?\b{PART}"
    rf"|\b{PART}(?:\s+(?:OVER|ABOVE)\b|[^;\d]{{0,9}}\d[\d'\" ./-]*)"
    rf"|\b\d[\d'\" ./-]*(?:MM\s+)?(?:HIGH\s+|WIDE\s+)?{PART}",
    re.I,
)
"""Words of a row that tell of a part above or beside its leaf (common trade words, from memory)."""
OUT = re.compile(
    r"\b(?:DELETED?|OMIT(?:TED)?|VOID|CANCELL?ED|NOT\s+(?:USED|IN\s+CONTRACT)|VERIFY|ENTFÄLLT|SUPPRIM\w+|ANULAD\w+"
    r"|CONFIRM|(?:TO\s+)?(?:SUIT|MATCH)|(?:FIELD|SITE)\s+MEASURED?|ADDENDUM|REVISED|HOLD|[NV]\.?I\.?[CF]|T\.?B\.?[CD])\b"
    r"|\d[\d'\" ./-]*(?:MM\s+)?(?:HIGH|TALL)\b|\bH(?:EIGH)?T\b[^;]{0,12}\d",
    re.I,
)
"""Words of a row that tell that it is none any more, or not what it says (common trade words, from memory)."""
AGAINST = (
    (ADDS, "may add to the size of the schedule"),
    (OUT, "in its row may mean that it has another size or is not there"),
)
"""What speaks against the size of a row, and how."""
