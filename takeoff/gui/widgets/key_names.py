"""Keys as people and as Tk name them."""

from __future__ import annotations

KEYS_OF: dict[str, tuple[str, ...]] = {
    "+": ("plus", "equal", "KP_Add"),
    "−": ("minus", "KP_Subtract"),
    "Ctrl++": ("Control-plus", "Control-equal"),
    "Ctrl+−": ("Control-minus",),
    "Ctrl+Y": ("Control-y", "Control-Shift-Z"),
    "Page Down": ("Next",),
    "Page Up": ("Prior",),
    "Z": ("z", "Shift-Home"),
}
"""Keys as Tk names them, where that does not follow from how they are written."""


def tk_keys(text: str) -> tuple[str, ...]:
    """Return the keys that a text such as Ctrl+N names, as Tk names them.

    Examples
    --------
    >>> tk_keys("Ctrl+N"), tk_keys("G"), tk_keys("Shift+F9"), tk_keys("")
    (('Control-n',), ('g',), ('Shift-F9',), ())
    """
    if text in KEYS_OF or not text:
        return KEYS_OF.get(text, ())
    *held, last = text.split("+")
    return ("-".join([*(word.replace("Ctrl", "Control") for word in held), last.lower() if len(last) == 1 else last]),)
