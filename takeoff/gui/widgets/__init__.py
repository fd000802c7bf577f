"""Fields, tables, colours and the toolkit itself: what the window is built of."""

from takeoff.gui.widgets.fields import LABEL_WIDTH, ChoiceField, TextField
from takeoff.gui.widgets.form import Field, Form, Row, ask_save, pack_labelled
from takeoff.gui.widgets.parts import (
    Card,
    Drawing,
    Later,
    ReadText,
    Tooltip,
    bold,
    button,
    clear,
    fitted,
    label,
    light,
    show_if,
)
from takeoff.gui.widgets.table_view import TableView, style_tables, with_bars
from takeoff.gui.widgets.toolkit import THEME, Pair, ScrolledFrame, Toplevel, colour, ctk, family, text_size

__all__ = [
    "LABEL_WIDTH", "THEME", "Card", "ChoiceField", "Drawing", "Field", "Form", "Later", "Pair", "ReadText",
    "Row", "ScrolledFrame", "TableView", "TextField", "Tooltip", "Toplevel", "ask_save", "bold", "button",
    "clear", "colour", "ctk", "family", "fitted", "label", "light", "pack_labelled", "show_if", "style_tables",
    "text_size", "with_bars",
]  # fmt: skip
