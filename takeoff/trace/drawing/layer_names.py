"""What layer names say, by the fields of the US national CAD standard: discipline, major group, minor groups.

Names come as ``A-WALL``, ``A-WALL-PATT``, or behind the name of a file they were taken from (``PLAN|A-WALL``,
``PLAN$0$A-WALL``). Other offices use plain words. Source of the field codes: US National CAD Standard, AIA layer
guidelines, from memory.
"""

from __future__ import annotations

import re
from typing import Literal, cast

LayerRole = Literal["wall", "column", "door", "glazing", "opening", "pattern", "other"]
"""``opening`` holds doors and windows alike: how each is drawn tells which it is."""

_WORDS: tuple[tuple[str, LayerRole], ...] = (
    ("ANNO IDEN DIMS DIM TEXT SYMB NOTE ELEV SECT DETL ABOV COTE COTES COTA COTAS TEXTE TEXTO BEMASSUNG", "other"),
    ("WYMIAR WYMIARY TEKST OPIS KÓTY KOTE MAATVOERING MÅL MÅTT MITAT MÉRET ÖLÇÜ РАЗМЕР РАЗМЕРЫ ТЕКСТ ОСИ", "other"),
    ("FNDN FTNG FOUNDATION FOOTING FOOTINGS FOOTER STEM PILE SLAB", "other"),
    ("FURN FURNITURE MOBILIER MOBILIARIO MUEBLES MÖBEL MOEBEL ARREDI MEBLE NÁBYTEK POHIŠTVO NAMJEŠTAJ", "other"),
    ("MEUBILAIR MÖBLER MØBLER BÚTOR MOBILYA МЕБЕЛЬ", "other"),
    ("PATT HATC HATCH HACHURE HACHURES SCHRAFFUR TRAMA ŠRAFY ŠRAFURA ARCERING SKRAVERING ШТРИХОВКА", "pattern"),
    ("WALL WALLS MUR MURS CLOISON CLOISONS WAND WÄNDE WAENDE MAUER MURO MUROS PARED PAREDES TABIQUE TABIQUES", "wall"),
    ("ALV ALVENARIA ALVENARIAS MAUERWERK MAÇONNERIE MAMPOSTERIA MAMPOSTERÍA ALBAÑILERIA TABIQUERIA", "wall"),
    ("PAREDE PARETE PARETI MURI PARTITION PARTITIONS ŚCIANA ŚCIANY SCIANA SCIANY", "wall"),
    ("STĚNA STĚNY STENA STENY STENE ZDI ZDIVO PŘÍČKA PŘÍČKY ZID ZIDOVI MUUR MUREN WANDEN VÆG VÆGGE VÄGG", "wall"),
    ("VÄGGAR VEGG VEGGER SEINÄ SEINÄT FALAK DUVAR DUVARLAR PERETE PERETI СТЕНА СТЕНЫ ПЕРЕГОРОДКИ DINDING", "wall"),
    ("COLS COL COLUMN COLUMNS POTEAU POTEAUX STÜTZE STÜTZEN STUETZEN PILAR PILARES PILASTRI SŁUP SŁUPY", "column"),
    ("SLOUP SLOUPY STEBER STEBRI STUP STUPOVI KOLOM KOLOMMEN SØJLE PELARE KOLON KOLONLAR КОЛОННА КОЛОННЫ", "column"),
    ("DOOR DOORS PORTE PORTES TÜR TÜREN TUER TUEREN PUERTA PUERTAS PORTA PORTAS DRZWI DVEŘE DVERE VRATA", "door"),
    ("DEUR DEUREN DØR DØRE DØRER DÖRR DÖRRAR OVET AJTÓ AJTÓK KAPI KAPILAR ДВЕРЬ ДВЕРИ PINTU", "door"),
    ("GLAZ GLASS WINDOW WINDOWS WIN FENETRE FENETRES FENÊTRE FENÊTRES FENSTER VENTANA VENTANAS", "glazing"),
    ("ESQUADRIA ESQUADRIAS CAIXILHARIA CAIXILHARIAS CARPINTERIA MENUISERIE MENUISERIES SERRAMENTI INFISSI", "opening"),
    ("JANELA JANELAS FINESTRA FINESTRE VITRAGE VIDRIO VIDRO CRISTAL OKNO OKNA PROZOR PROZORI RAAM RAMEN", "glazing"),
    ("VINDUE VINDUER VINDU FÖNSTER IKKUNA IKKUNAT ABLAK ABLAKOK PENCERE PENCERELER FERESTRE ОКНО JENDELA", "glazing"),
)
"""Words in layers' names: the standard's, and plain ones in English, French, German, Spanish, Portuguese and Italian,
in languages of the north and east of Europe, Turkish and Indonesian (ordinary words of the languages)."""
_REMOVED = re.compile(
    r"(?:^|[-_|$. ])(?:DEMO|DEMOLI\w*|DÉMOLI\w*|ABBRUCH|RÜCKBAU|RUECKBAU)(?:$|[-_|$. ])|"
    r"(?:^|[|$])[A-Z]{1,2}-[A-Z]{4}(?:-[A-Z0-9]{4})*-D$"
)
"""Layers of what is to be pulled down: by word, or by the standard's status field."""
_ROLES = tuple((frozenset(words.split()), role) for words, role in _WORDS)
_COMPOUND = re.compile(
    r"(?P<glazing>.*(?:GLAS|CURTAIN).*(?:WALLS?|W[AÄ]NDE?|V[ÄÆ]GG?)|\w+(?:FENSTER|FÖNSTER|VINDUER?|RAMEN))|"
    r"(?P<wall>\w+(?:WALLS?|WAND|WÄNDE|WAENDE|WANDEN|MAUERN?|MUUR|MUREN|VÄGG(?:AR)?|VÆGG?E?|VEGG(?:ER)?))|"
    r"(?P<door>\w+(?:TÜR(?:EN)?|TUER(?:EN)?|DEUR(?:EN)?|DÖRR(?:AR)?|DØR(?:E|ER)?|DOORS?))"
)
"""Words made of several, as German, Dutch and the languages of the north make them: the last part says what it is."""
_SIGNS = (
    "(?P<other>标注|標註|尺寸|寸法|치수|文字|说明|家具|가구|轴|通り芯)", "(?P<pattern>填充|图案|ハッチ)",
    "(?P<opening>门窗|門窗|建具|창호)", "(?P<glazing>窗|窓|창|玻璃|幕墙|幕牆)", "(?P<wall>墙|牆|壁|벽)",
    "(?P<column>柱|기둥)", "(?P<door>门|門|扉|ドア|문)",
)  # fmt: skip
"""The same in Chinese, Japanese and Korean (ordinary words of the languages); of several the first here counts."""


def own_name(name: str) -> str:
    """Return the name of a layer without that of the file it was taken from.

    Examples
    --------
    >>> own_name("PLAN|A-WALL"), own_name("PLAN$0$A-WALL"), own_name("A-WALL")
    ('A-WALL', 'A-WALL', 'A-WALL')
    """
    return re.split(r"\||\$\d+\$", name)[-1]


def is_partial_height(name: str) -> bool:
    """Tell whether a layer is for walls of partial height.

    Examples
    --------
    >>> is_partial_height("A-WALL-PRHT"), is_partial_height("A-WALL-FULL")
    (True, False)
    """
    return "PRHT" in re.split(r"[-_|$. ]+", name.upper())


def is_removed(name: str) -> bool:
    """Tell whether a layer is for what is to be pulled down.

    Examples
    --------
    >>> is_removed("A-WALL-DEMO"), is_removed("A-WALL-FULL-D"), is_removed("WAND ABBRUCH"), is_removed("A-WALL-N")
    (True, True, True, False)
    """
    return _REMOVED.search(name.upper()) is not None


def layer_role(name: str) -> LayerRole | None:
    """Return what a layer holds; nothing where the name is empty or follows no standard.

    Examples
    --------
    >>> layer_role("SHELL|A-WALL-INTR"), layer_role("A-WALL-PATT"), layer_role("A-DOOR-IDEN"), layer_role("Layer 1")
    ('wall', 'pattern', 'other', None)
    >>> layer_role("Innenwände"), layer_role("ALV-2"), layer_role("CURTAINWALL"), layer_role("ESQUADRIA")
    ('wall', 'wall', 'glazing', 'opening')
    >>> layer_role("墙体"), layer_role("墙体填充"), layer_role("창문"), layer_role("建具")
    ('wall', 'pattern', 'glazing', 'opening')
    """
    if is_removed(name):
        return "other"
    fields = set(re.split(r"[-_|$. \d]+", name.upper())) - {""}
    for codes, role in _ROLES:
        if fields & codes:
            return role
    compounds = filter(None, map(_COMPOUND.fullmatch, sorted(fields)))
    if compound := next(filter(None, (*compounds, *(re.search(sign, name) for sign in _SIGNS))), None):
        return cast("LayerRole", compound.lastgroup)
    return "other" if re.search(r"(?:^|[|$])[A-Z]{1,2}-[A-Z]{4}(?:-|$)", name.upper()) else None
