"""Files changed at random, read as commands read them: `python tests/mutants.py SEED COUNT` tells each that is a fault.

A file may be read or refused with a refusal of the program; anything else is a fault, told with its seed so that it can
be made again. The kinds are PDF, PNG, DXF, XLSX, edits (JSON), catalogues (TOML) and job files.
"""

from __future__ import annotations

import io
import random
import sys
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path

from takeoff.actions.checking import read_stated_areas
from takeoff.errors import TakeoffError
from takeoff.exchange.catalogue_file import default_catalogue_text, read_catalogue
from takeoff.exchange.edits_file import read_edits
from takeoff.job.job import Job, JobSettings
from takeoff.job.rescue import rescue
from takeoff.job.store import JobStore
from takeoff.model.plan import Sheet, Source
from takeoff.sheet.files import plan_contents, read_sheets
from takeoff.sheet.text import read_lines
from tests.jobs import PLANS

WORDS = (
    *(b"<<", b">>", b"[", b"]", b"(", b"{", b'"', b"obj", b"0 R"),
    *(b"\x00", b"\xff\xfe", b"-1", b"99999999999", b"1e309", b"nan"),
)


def read_plan(data: bytes, name: str) -> None:
    content, _ = plan_contents(data, name)
    sheets, _ = read_sheets(content, name)
    for sheet in sheets[:2]:
        read_lines(content, sheet)


def read_job(data: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "j.takeoff"
        path.write_bytes(data)
        try:
            JobStore.open(path).close()
        except TakeoffError:
            rescue(path)


@cache
def job() -> Job:
    source = Source(sha256="ab" * 32, name="plan.pdf", size=1)
    sheet = Sheet(id=1, source=source.sha256, page=1, width_pt=2592.0, height_pt=1728.0)
    return Job(settings=JobSettings(name="Any"), sources={source.sha256: source}, sheets={1: sheet})


@cache
def job_file() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "j.takeoff"
        empty = Job(settings=JobSettings(name="Any"))
        JobStore.create(path, empty, {}, sign=lambda: ("w", "2026-01-05T09:00:00Z")).close()
        return path.read_bytes()


@cache
def workbook() -> bytes:
    import openpyxl

    book = openpyxl.Workbook()
    for row in (("Room", "Name", "Area (SF)"), ("101", "Hall", 120.5), ("102", "Wash", "=1+1")):
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@cache
def drawing() -> bytes:
    import ezdxf

    ezdxf.options.write_fixed_meta_data_for_testing = True  # the same bytes on every run
    document = ezdxf.new("R2010")
    document.modelspace().add_lwpolyline([(0, 0), (5, 0), (5, 4)], dxfattribs={"layer": "A-WALL"})
    out = io.StringIO()
    document.write(out)
    return out.getvalue().encode()


@cache
def picture() -> bytes:
    from PIL import Image

    out = io.BytesIO()
    Image.radial_gradient("L").resize((300, 200)).save(out, "PNG", dpi=(100, 100))
    return out.getvalue()


KINDS: dict[str, tuple[Callable[[], bytes], Callable[[bytes], object]]] = {
    "pdf": ((PLANS / "facility-rev-b.pdf").read_bytes, lambda data: read_plan(data, "a.pdf")),
    "png": (picture, lambda data: read_plan(data, "a.png")),
    "dxf": (drawing, lambda data: read_plan(data, "a.dxf")),
    "xlsx": (workbook, lambda data: read_stated_areas(data, name="a.xlsx")),
    "edits": (
        (PLANS / "facility-edits.json").read_bytes,
        lambda data: read_edits(data, job(), known_systems=frozenset()),
    ),
    "toml": (lambda: default_catalogue_text().encode(), read_catalogue),
    "job": (job_file, read_job),
}


def mutant(data: bytes, chance: random.Random) -> bytes:
    """Change a file in a few places, cut it short, or double a part of it."""
    out = bytearray(data)
    for _ in range(chance.randint(1, 8)):
        at = chance.randrange(len(out) or 1)
        match chance.randrange(5):
            case 0:
                out[at : at + 1] = bytes([chance.randrange(256)])
            case 1:
                out[at : at + chance.randint(0, 8)] = chance.choice(WORDS)
            case 2:
                del out[at : at + chance.randint(1, 400)]
            case 3:
                out[at:at] = out[at : at + chance.randint(1, 400)] * chance.randint(1, 3)
            case 4 if chance.random() < 0.2:
                del out[at:]
    return bytes(out)


def fault(seed: int) -> str:
    """Read the mutant of a seed; tells what went wrong, empty where nothing did."""
    chance = random.Random(seed)
    kind = list(KINDS)[seed % len(KINDS)]
    make, read = KINDS[kind]
    try:
        read(mutant(make(), chance))
    except TakeoffError as error:
        return "" if str(error).count("\n") == 0 else f"{seed} ({kind}): a refusal of several lines"
    except Exception as error:
        return f"{seed} ({kind}): {type(error).__name__}: {error}"
    return ""


def main(first: int, count: int) -> None:
    for seed in range(first, first + count):
        print(f"? {seed}", file=sys.stderr, flush=True)  # where the process itself dies, this is the seed
        if said := fault(seed):
            print(said, flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
