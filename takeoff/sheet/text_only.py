"""Drawing instructions without their paths, so that the text of a large sheet is read without its linework."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_MAKE = b"mlcvyh"
_PAINT = b"SsFfBbn"
_PAINT_PAIRS = (b"f*", b"B*", b"b*")
"""Instructions that make (re too) and paint a path (ISO 32000-1 tables 59 and 60, from memory)."""


def without_paths(stream: bytes) -> bytes:
    r"""Leave the instructions that make and paint paths out of an unpacked content stream; text stays where it was.

    Paths that clip stay. A stream is returned as it is where letters could be mistaken for instructions: strings
    outside text objects, pictures written into the stream, text objects that do not open and close in turn.

    Examples
    --------
    >>> without_paths(b"q 2 0 0 2 0 0 cm 0 0 m 9 0 l S BT /F1 9 Tf (l S) Tj ET 1 1 5 5 re f Q")
    b'q 2 0 0 2 0 0 cm BT /F1 9 Tf (l S) Tj ET Q'
    """
    import numpy as np

    text = np.frombuffer(b" " + stream + b" ", np.uint8)
    letter = (((text | 32) - np.uint8(97) < 26) | (text == ord("*"))).view(np.uint8)
    edges = np.flatnonzero((letter[1:] ^ letter[:-1]).view(np.bool_)) + 1
    starts, ends = edges[::2], edges[1::2]
    if not len(starts):
        return stream
    first, second = text[starts], text[starts + 1]
    stands = _among(b"\0\t\n\f\r ])>")[text[starts - 1]] & _among(b"\0\t\n\f\r /[(<")[text[ends]]
    pair = stands & (ends - starts == 2)

    def called(name: bytes) -> NDArray[np.bool_]:
        found: NDArray[np.bool_] = pair & (first == name[0]) & (second == name[1])
        return found

    inside = np.cumsum(called(b"BT").astype(np.int8) - called(b"ET"), dtype=np.int32)
    if called(b"BI").any() or inside.min() < 0 or inside.max() > 1 or inside[-1] != 0:
        return stream
    brackets = np.searchsorted(starts, np.flatnonzero(text == ord("("))) - 1
    if (brackets < 0).any() or not inside[brackets].all():
        return stream
    single = stands & (ends - starts == 1)
    paints = single & _among(_PAINT)[first]
    for name in _PAINT_PAIRS:
        paints |= called(name)
    clips = single & (first == ord("W")) | called(b"W*")
    path = np.cumsum(paints) - paints
    of_clip = np.zeros(path[-1] + 1, np.bool_)
    of_clip[path[clips]] = True
    makes = single & _among(_MAKE)[first] | called(b"re")
    drop = (makes | paints) & (inside == 0) & ~of_clip[path]
    turns = np.flatnonzero(np.diff(drop, prepend=True, append=True))
    bounds = np.concatenate(([0], ends - 1))
    change = np.zeros(len(stream) + 1, np.int8)
    change[bounds[turns[::2]]], change[bounds[turns[1::2]]] = 1, -1
    change[bounds[-1]] += 1
    stays = np.cumsum(change[:-1], dtype=np.int8).view(np.bool_)
    return text[1:-1][stays].tobytes()


def _among(letters: bytes) -> NDArray[np.bool_]:
    """Return a table that is true at the codes of letters."""
    import numpy as np

    table = np.zeros(256, np.bool_)
    table[list(letters)] = True
    return table
