# ruff: noqa: E501
"""Files made to harm, and files damaged in ordinary ways: what the command says, how long it takes, how much it needs.

    python tests/bench/hostile.py [--only WORD ...] [--limit SECONDS]

A line for each case: exit code, seconds, seconds of processors, peak memory in MB of the largest process, the last line said. Where a case has
several commands the seconds are of all, and it ends with the first that is refused. Exit code 70 is a fault of the
program; a case that is stopped by the limit of this script says so. Real sheets are taken where TAKEOFF_REFERENCE names
their folder. The table of docs/trust.md is made of this.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import os
import resource
import sqlite3
import subprocess
import sys
import tempfile
import time
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
PLAN = ROOT / "sample_plans" / "facility-imperial.pdf"
NEW = "new JOB FILE"
READ = f"{NEW}; scale JOB 1 --read"
TRACE = f"{NEW}; scale JOB 1 --ratio 1:50; trace JOB 1 --all"
CHECK = "check DEMO FILE"
APPLY = "apply DEMO FILE"
CATALOGUE = "catalogue DEMO --set FILE"
DAYS = "days DEMO --start"
REAL = (("an office floor", "real_sheets/in_office_fifth/in_office_fifth.pdf"),)


class Case(NamedTuple):
    """What is done with a file: commands one after another; JOB is a new one, DEMO the sample, FILE what is made."""

    name: str
    commands: str
    file: str = ""
    make: Callable[[], bytes] = bytes
    sql: str = ""
    """Statements that another program changed the sample job by."""


def pdf(
    content: bytes, *more: bytes, resources: bytes = b"<<>>", filters: bytes = b"", kids: bytes = b"/Count 1"
) -> bytes:
    """A PDF of one page with this content, and further objects from number 5 on."""
    head = b"<</Length %d%s>>" % (len(content), filters)
    objects = [
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[3 0 R]" + kids + b">>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 612 792]/Contents 4 0 R/Resources " + resources + b">>",
        head + b"stream\n" + content + b"\nendstream",
        *more,
    ]
    out, places = io.BytesIO(b"%PDF-1.7\n"), []
    out.seek(0, 2)
    for number, body in enumerate(objects, start=1):
        places.append(out.tell())
        out.write(b"%d 0 obj\n%s\nendobj\n" % (number, body))
    start = out.tell()
    out.write(b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1))
    out.writelines(b"%010d 00000 n \n" % place for place in places)
    out.write(b"trailer\n<</Size %d/Root 1 0 R>>\nstartxref\n%d\n%%%%EOF\n" % (len(objects) + 1, start))
    return out.getvalue()


def flate(content: bytes) -> tuple[bytes, bytes]:
    return zlib.compress(content, 9), b"/Filter/FlateDecode"


def forms(depth: int, twice: bool) -> bytes:
    """Forms that draw the next one, once or twice."""
    bodies = []
    for number in range(depth):
        drawn = b"/F Do /F Do" if twice else b"/F Do"
        here = drawn if number < depth - 1 else b"0 0 m 9 9 l S"
        bodies.append(
            b"<</Type/XObject/Subtype/Form/BBox[0 0 9 9]/Resources<</XObject<</F %d 0 R>>>>/Length %d>>stream\n%s\nendstream"
            % (min(6 + number, 4 + depth), len(here), here)
        )
    return pdf(b"/F Do", *bodies, resources=b"<</XObject<</F 5 0 R>>>>")


def tiles(step: float) -> bytes:
    """A page filled with a pattern of a hundred lines that begins anew after each step, over the whole page again."""
    cell = lines(100)
    head = b"<</Type/Pattern/PatternType 1/PaintType 1/TilingType 1/BBox[0 0 700 800]/XStep %g/YStep %g/Resources<<>>"
    pattern = head % (step, step) + b"/Length %d>>stream\n%s\nendstream" % (len(cell), cell)
    return pdf(b"/Pattern cs /P scn 0 0 612 792 re f", pattern, resources=b"<</Pattern<</P 5 0 R>>>>")


def workbook(cells: str) -> bytes:
    out = io.BytesIO()
    ns = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
    rel = "http://schemas.openxmlformats.org"
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as z:
        z.writestr(
            "[Content_Types].xml",
            f'<Types xmlns="{rel}/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/></Types>',
        )
        z.writestr(
            "_rels/.rels",
            f'<Relationships xmlns="{rel}/package/2006/relationships"><Relationship Id="r1" Type="{rel}/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        )
        z.writestr(
            "xl/workbook.xml",
            f'<workbook {ns} xmlns:r="{rel}/officeDocument/2006/relationships"><sheets><sheet name="a" sheetId="1" r:id="r1"/></sheets></workbook>',
        )
        z.writestr(
            "xl/_rels/workbook.xml.rels",
            f'<Relationships xmlns="{rel}/package/2006/relationships"><Relationship Id="r1" Type="{rel}/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>',
        )
        z.writestr("xl/worksheets/sheet1.xml", f"<worksheet {ns}><sheetData>{cells}")
    return out.getvalue()


def edits(**more: object) -> bytes:
    return json.dumps({"schema": "takeoff.edits/1", **more}).encode()


def lines(count: int) -> bytes:
    return b"".join(b"%d %d m %d %d l S\n" % (n % 600, n % 700, n % 500 + 9, n % 650) for n in range(count))


def picture(width: int, height: int, dpi: tuple[int, int] | None = (300, 300)) -> bytes:
    from PIL import Image, ImageDraw

    out = io.BytesIO()
    Image.MAX_IMAGE_PIXELS = None
    image = Image.new("1", (width, height), 1)
    draw = ImageDraw.Draw(image)
    for x in range(200, width - 900, 900):
        draw.rectangle((x, 200, x + 700, min(900, height - 100)), outline=0, width=24)
    image.save(out, "PNG", **({} if dpi is None else {"dpi": dpi}))
    return out.getvalue()


def cut() -> bytes:
    data = PLAN.read_bytes()
    return data[: len(data) * 3 // 4]


def font(size: int) -> bytes:
    """A PDF with text in a font whose file unpacks to so many bytes."""
    packer = zlib.compressobj(9)
    packed = b"".join(packer.compress(bytes(10_000_000)) for _ in range(size // 10_000_000)) + packer.flush()
    return pdf(
        b"BT /F 20 Tf 50 50 Td (A-101 FLOOR PLAN) Tj ET",
        b"<</Type/Font/Subtype/TrueType/BaseFont/X/FirstChar 32/LastChar 32/Widths[500]/FontDescriptor 6 0 R>>",
        b"<</Type/FontDescriptor/FontName/X/Flags 4/FontBBox[0 0 9 9]/ItalicAngle 0/Ascent 9/Descent 0/CapHeight 9/StemV 9/FontFile2 7 0 R>>",
        b"<</Length %d/Length1 %d/Filter/FlateDecode>>stream\n%s\nendstream" % (len(packed), size, packed),
        resources=b"<</Font<</F 5 0 R>>>>",
    )


def wide_image(side: int) -> bytes:
    """A PDF of one picture that unpacks to side² bytes."""
    packer = zlib.compressobj(9)
    row = bytes(side)
    packed = b"".join(packer.compress(row) for _ in range(side)) + packer.flush()
    return pdf(
        b"q 612 0 0 792 0 0 cm /I Do Q",
        b"<</Type/XObject/Subtype/Image/Width %d/Height %d/BitsPerComponent 8/ColorSpace/DeviceGray/Filter/FlateDecode/Length %d>>stream\n%s\nendstream"
        % (side, side, len(packed), packed),
        resources=b"<</XObject<</I 5 0 R>>>>",
    )


def drawing(depth: int, across: int = 1) -> bytes:
    """A DXF of blocks in one another, each with the next twice, or of one block in a grid of so many by so many."""
    import ezdxf

    document = ezdxf.new("R2010")
    document.blocks.new("B0").add_line((0, 0), (1, 1))
    for number in range(1, depth):
        block = document.blocks.new(f"B{number}")
        for _ in range(2):
            block.add_blockref(f"B{number - 1}", (1, 1))
    grid = {"row_count": across, "column_count": across, "row_spacing": 2, "column_spacing": 2}
    document.modelspace().add_blockref(f"B{depth - 1}", (0, 0), dxfattribs=grid)
    out = io.StringIO()
    document.write(out)
    return out.getvalue().encode()


def points(count: int) -> bytes:
    """Edits of one wall with so many points."""
    wall = {"id": "x", "sheet": 1, "height": 3, "points": [[100 + n / 1000, 100 + n % 2] for n in range(count)]}
    return edits(length_unit="m", runs=[wall])


def stored(table: bytes) -> bytes:
    """A PDF whose letters are stored as others than those that are drawn."""
    body = b"begincmap 1 beginbfrange %s endbfrange endcmap" % table
    return pdf(
        b"BT /F 20 Tf 50 50 Td (SCALE 1:50) Tj ET",
        b"<</Type/Font/Subtype/Type1/BaseFont/Helvetica/Encoding/WinAnsiEncoding/ToUnicode 6 0 R>>",
        b"<</Length %d>>stream\n%s\nendstream" % (len(body), body),
        resources=b"<</Font<</F 5 0 R>>>>",
    )


def strange(count: int) -> bytes:
    """A DXF of a line and objects of another program."""
    import ezdxf

    document, out = ezdxf.new("R2010"), io.StringIO()
    document.modelspace().add_line((0, 0), (4000, 3000))
    document.write(out)
    objects = "".join(f"  0\nBUILDING_WALL\n  5\nFF{n:02X}\n100\nAcDbEntity\n  8\n0\n" for n in range(count))
    return out.getvalue().replace("ENTITIES\n", f"ENTITIES\n{objects}", 1).encode()


def jpeg_2000() -> bytes:
    """A PDF of a picture that ends early."""
    data = b"\0\0\0\x0cjP  \r\n\x87\n" + b"\0" * 500
    head = (
        b"<</Type/XObject/Subtype/Image/Width 900/Height 900/BitsPerComponent 8/ColorSpace/DeviceGray/Filter/JPXDecode"
    )
    image = head + b"/Length %d>>stream\n%s\nendstream" % (len(data), data)
    return pdf(b"q 612 0 0 792 0 0 cm /I Do Q", image, resources=b"<</XObject<</I 5 0 R>>>>")


def noted() -> bytes:
    """A PDF of an annotation alone."""
    note = b"/Annots[<</Type/Annot/Subtype/Square/Rect[9 9 99 99]>>]/Type/Page/Parent"
    return pdf(b"").replace(b"/Type/Page/Parent", note)


ROW = '<row r="1"><c r="%s"><v>%s</v></c></row>'
END = "</sheetData></worksheet>"
CASES: tuple[Case, ...] = (
    Case("1,000,000 path segments", READ, "a.pdf", lambda: pdf(lines(1_000_000))),
    Case("1,000,000 path segments, traced", TRACE, "a.pdf", lambda: pdf(lines(1_000_000))),
    Case("10,000,000 path segments", READ, "a.pdf", lambda: pdf(lines(1_000_000) * 10)),
    Case(
        "10,000,000 path segments, packed",
        READ,
        "a.pdf",
        lambda: pdf(*flate(lines(1_000_000) * 10)[:1], filters=b"/Filter/FlateDecode"),
    ),
    Case("forms drawn 2^30 times", READ, "a.pdf", lambda: forms(30, twice=True)),
    Case("forms drawn 2^30 times, traced", TRACE, "a.pdf", lambda: forms(30, twice=True)),
    Case("20,000 forms in one another", READ, "a.pdf", lambda: forms(20_000, twice=False)),
    Case("a page count of 2,000,000,000", NEW, "a.pdf", lambda: pdf(b"0 0 m 9 9 l S", kids=b"/Count 2000000000")),
    Case("200,000 open brackets", READ, "a.pdf", lambda: pdf(b"[" * 200_000)),
    Case(
        "RunLength that unpacks to 1 GB",
        NEW,
        "a.pdf",
        lambda: pdf(b"\x81 " * 8_000_000 + b"\x80", filters=b"/Filter/RunLengthDecode"),
    ),
    Case("a font that unpacks to 2 GB", READ, "a.pdf", lambda: font(2_000_000_000)),
    Case("a picture of 40,000 × 40,000 in a PDF", TRACE, "a.pdf", lambda: wide_image(40_000)),
    Case("PNG of 19,990 × 19,990", TRACE, "a.png", lambda: picture(19_990, 19_990)),
    Case("a scan of 40,000 × 1,500", TRACE, "a.png", lambda: picture(40_000, 1_500)),
    Case("PDF cut at three quarters", NEW, "a.pdf", cut),
    Case(
        "PDF with its table of places wrong",
        NEW,
        "a.pdf",
        lambda: PLAN.read_bytes().replace(b"startxref\n", b"startxref\n9"),
    ),
    Case("PDF without its endobj", NEW, "a.pdf", lambda: PLAN.read_bytes().replace(b"endobj", b"      ", 9)),
    Case("DXF of blocks drawn 2^30 times", NEW, "a.dxf", lambda: drawing(31)),
    Case("DXF of a block in a grid of 30,000²", NEW, "a.dxf", lambda: drawing(1, 30_000)),
    Case("a DXF with five objects of another program", NEW, "a.dxf", lambda: strange(5)),
    Case(
        "a crop box beside the page",
        NEW,
        "a.pdf",
        lambda: pdf(lines(9)).replace(b"/Contents", b"/CropBox[9e3 9e3 1e4 1e4]/Contents"),
    ),
    Case("letters stored as others", NEW, "a.pdf", lambda: stored(b"<30> <38> <0031>")),
    Case("a scan in JPEG 2000 that ends early", NEW, "a.pdf", jpeg_2000),
    Case("annotations alone", NEW, "a.pdf", noted),
    Case("a building model for a plan", NEW, "a.ifc", lambda: b"ISO-10303-21;\nHEADER;"),
    Case("PNG of 60,000 × 400 without a resolution", NEW, "a.png", lambda: picture(60_000, 400, dpi=None)),
    Case("CSV with an open quotation mark", CHECK, "s.csv", lambda: b'Room,Area (SF)\n101,"120\n102,5\n'),
    Case("edits with a key that stands twice", APPLY, "e.json", lambda: edits(runs=[])[:-1] + b',"runs":[]}'),
    Case("edits with an id of 100,000 letters", APPLY, "e.json", lambda: edits(rooms=[{"id": "x" * 100_000}])),
    Case("XLSX cut inside its XML", CHECK, "s.xlsx", lambda: workbook('<row r="1"><c r="A1"')),
    Case("XLSX with zz in a number", CHECK, "s.xlsx", lambda: workbook(ROW % ("A1", "zz") + END)),
    Case("XLSX with a bad reference", CHECK, "s.xlsx", lambda: workbook(ROW % ("1A", "1") + END)),
    Case(
        "XLSX with a cell at the far corner",
        CHECK,
        "s.xlsx",
        lambda: workbook(ROW % ("A1", "1") + ROW % ("XFD1048576", "1") + END),
    ),
    Case("XLSX that unpacks to 200 MB", CHECK, "s.xlsx", lambda: workbook(ROW % ("A1", "1") * 5_000_000)),
    Case("CSV of 100 MB", CHECK, "s.csv", lambda: b"Room,Area (SF)\n" + b"101,12\n" * 14_000_000),
    Case("edits of 20,000,000 points", APPLY, "e.json", lambda: edits(runs=[{"points": [[1, 1]] * 20_000_000}])),
    Case("one wall of 200,000 points", APPLY, "e.json", lambda: points(200_000)),
    Case("one wall of 5,000 points, measured", f"{APPLY}; measure DEMO", "e.json", lambda: points(5_000)),
    Case("edits nested 100,000 deep", APPLY, "e.json", lambda: b'{"runs":' + b"[" * 100_000),
    Case("a job in JSON nested 100,000 deep", "import FILE JOB", "j.json", lambda: b'{"rooms":' * 100_000),
    Case("edits with a number of 1,000,000 digits", APPLY, "e.json", lambda: b'{"schema":' + b"9" * 1_000_000 + b"}"),
    Case("TOML key of 200,000 parts", CATALOGUE, "c.toml", lambda: b"a" + b".a" * 200_000 + b"=1"),
    Case("TOML nested 50,000 deep", CATALOGUE, "c.toml", lambda: b"a=" + b"[" * 50_000),
    Case("TOML number of 1,000,000 digits", CATALOGUE, "c.toml", lambda: b"a=" + b"9" * 1_000_000),
    Case("TOML number of 1e400", CATALOGUE, "c.toml", lambda: b"[rates]\nwage = 1e400"),
    Case("days --start 9999-12-30", f"{DAYS} 9999-12-30"),
    Case("days --start 0001-01-01", f"{DAYS} 0001-01-01"),
    Case("days --crews 1000000000", f"{DAYS} 2026-03-02 --crews 1000000000"),
    Case("days --hours 1e-9", f"{DAYS} 2026-03-02 --hours 1e-9"),
    Case("days --hours nan", f"{DAYS} 2026-03-02 --hours nan"),
    Case("days --cure 1e300", f"{DAYS} 2026-03-02 --cure 1e300"),
    Case(
        "job with a trigger of its own",
        "measure DEMO",
        sql="CREATE TRIGGER t AFTER INSERT ON journal BEGIN DELETE FROM item WHERE kind = 'run'; END",
    ),
    Case(
        "job with a view that never ends",
        "measure DEMO",
        sql="ALTER TABLE item RENAME TO kept; CREATE VIEW item AS WITH RECURSIVE n(kind, id, body) AS "
        "(SELECT kind, id, body FROM kept UNION ALL SELECT * FROM n) SELECT * FROM n",
    ),
    Case(
        "the same, rescued",
        "rescue DEMO JOB",
        sql="DROP TABLE seal; CREATE VIEW seal AS WITH RECURSIVE n(kind, id, sum) AS "
        "(SELECT 'a', 'b', 'c' UNION ALL SELECT * FROM n) SELECT * FROM n",
    ),
    Case(
        "job with one digit changed",
        "measure DEMO",
        sql="UPDATE item SET body = replace(body, '3.6576', '8.6576') WHERE kind = 'room' AND id = 'R104'",
    ),
    *(
        Case(f"{words}, a real sheet", TRACE, "a.pdf", (Path(os.environ["TAKEOFF_REFERENCE"]) / path).read_bytes)
        for words, path in REAL
        if "TAKEOFF_REFERENCE" in os.environ
    ),
)


def takeoff(words: list[str], limit: float) -> tuple[int, float, float, float, str]:
    """Run a command: exit code, seconds, those of processors, peak memory in MB, the last line on stderr."""
    code = "import sys; from takeoff.cli.main import run; sys.exit(run())"
    begun = time.monotonic()
    with tempfile.TemporaryFile() as said:
        child = subprocess.Popen(
            [sys.executable, "-c", code, *words], stdout=subprocess.DEVNULL, stderr=said, env=os.environ
        )
        try:
            done = child.wait(limit)
        except subprocess.TimeoutExpired:
            child.kill()
            child.wait()
            return -9, time.monotonic() - begun, 0.0, 0.0, "stopped by the limit of this script"
        said.seek(0)
        text = said.read().decode("utf-8", "replace").strip().splitlines()
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return (
        done,
        time.monotonic() - begun,
        used.ru_utime + used.ru_stime,
        used.ru_maxrss / 1024,
        text[-1][:160] if text else "",
    )


def words_of(case: Case, folder: Path) -> list[list[str]]:
    """Make what a case needs, and return its commands as words."""
    demo, file = folder / "demo.takeoff", folder / (case.file or "none")
    demo.write_bytes((Path(os.environ["HOSTILE_SAMPLE"]) / "demo.takeoff").read_bytes())
    if case.sql:
        with contextlib.closing(sqlite3.connect(demo)) as db:
            db.executescript(case.sql)
    if case.file:
        file.write_bytes(case.make())
    places = {"DEMO": str(demo), "FILE": str(file), "JOB": str(folder / "j.takeoff")}
    return [[places.get(word, word) for word in command.split()] for command in case.commands.split("; ")]


def tell(case: Case, limit: float) -> None:
    """Run the commands of a case, and print its line."""
    total = highest = 0.0
    with tempfile.TemporaryDirectory() as folder:
        for words in words_of(case, Path(folder)):
            code, seconds, busy, peak, said = takeoff(words, limit)
            total, highest = total + seconds, max(highest, peak)
            if code:
                break
        said = said.replace(f"{folder}/", "")
    print(f"| {case.name} | {code} | {total:.1f} | {busy:.1f} | {highest:.0f} | {said} |", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--only", nargs="*", default=[""])
    parser.add_argument("--limit", type=float, default=120.0)
    asked = parser.parse_args()
    demo = tempfile.TemporaryDirectory()
    os.environ["HOSTILE_SAMPLE"] = demo.name
    if any("DEMO" in case.commands for case in CASES if any(word in case.name for word in asked.only)):
        takeoff(["demo", "--out", demo.name], 300.0)
    else:
        (Path(demo.name) / "demo.takeoff").touch()
    for case in CASES:
        if not any(word in case.name for word in asked.only):
            continue
        pid = os.fork()  # peak memory is told for all children together: each case has its own parent
        if pid == 0:
            tell(case, asked.limit)
            os._exit(0)
        os.waitpid(pid, 0)


if __name__ == "__main__":
    main()
