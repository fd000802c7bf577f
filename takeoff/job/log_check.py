"""Whether the database's log beside a job file (``-wal``) is whole: the database drops what is not, and says nothing.

Form of the log: sqlite.org/walformat.html.
"""

from __future__ import annotations

import struct
from pathlib import Path

_HEADER, _FRAME = 32, 24
_MAGIC = {0x377F0682: "<", 0x377F0683: ">"}
"""First word of a log to the order of bytes that its checksums are made in."""


def log_fault(path: Path) -> str:
    """Say what is wrong with the log beside a job file; empty where it is whole, or there is none.

    A frame cut short at the end is no fault: it was being written when its program was killed, and no edit of it was
    said to be done.
    """
    beside = path.with_name(path.name + "-wal")
    found = ""
    for _ in range(2):  # another program may be writing: a fault is one that stays
        try:
            data = beside.read_bytes()
        except OSError:
            return ""
        found = _fault_in(data)
        if not found:
            return ""
    return found


def _fault_in(data: bytes) -> str:
    if len(data) < _HEADER + _FRAME:
        return ""
    magic, _, page, _, salt1, salt2, sum1, sum2 = struct.unpack(">8I", data[:_HEADER])
    order = _MAGIC.get(magic)
    if order is None or page not in {1 << n for n in range(9, 17)}:
        return "its head is damaged"
    sums = _sums(data[:24], order, (0, 0))
    if sums != (sum1, sum2):
        return "its head is damaged"
    bad = 0
    for number, start in enumerate(range(_HEADER, len(data) - _FRAME - page + 1, _FRAME + page), start=1):
        head = data[start : start + _FRAME]
        is_of_now = struct.unpack(">2I", head[8:16]) == (salt1, salt2)
        if bad:
            if is_of_now:
                break
            continue
        if not is_of_now:
            bad = number  # what is left of an earlier log, unless frames of this one follow
            continue
        sums = _sums(head[:8] + data[start + _FRAME : start + _FRAME + page], order, sums)
        if sums != struct.unpack(">2I", head[16:24]):
            bad = number
            break
    else:
        return ""
    return f"page {bad} of it is damaged"


def _sums(data: bytes, order: str, start: tuple[int, int]) -> tuple[int, int]:
    a, b = start
    words = struct.unpack(f"{order}{len(data) // 4}I", data)
    for x, y in zip(words[::2], words[1::2], strict=True):
        a = (a + x + b) & 0xFFFFFFFF
        b = (b + y + a) & 0xFFFFFFFF
    return a, b
