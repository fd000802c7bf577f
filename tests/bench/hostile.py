# ruff: noqa: E501
"""Files made to harm, and files damaged in ordinary ways: what the command says, how long it takes, how much it needs.

    python tests/bench/hostile.py [--only WORD] [--limit SECONDS]

A line for each case: exit code, seconds, peak memory in MB of the process and what it starts, the last line said. Exit
code 70 is a fault of the program; a case that is stopped by the limit of this script says so.
"""

from __future__ import annotations

import argparse
import io
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).parents[2]
PLAN = ROOT / "sample_plans" / "facility-imperial.pdf"
Case = tuple[str, Callable[[Path], list[str]]]


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
            % (6 + number, len(here), here)
        )
    return pdf(b"/F Do", *bodies, resources=b"<</XObject<</F 5 0 R>>>>")


def sheet(cells: str) -> bytes:
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


def new(name: str, data: Callable[[], bytes]) -> Callable[[Path], list[str]]:
    def words(folder: Path) -> list[str]:
        (folder / name).write_bytes(data())
        return ["new", str(folder / "j.takeoff"), "--plan", str(folder / name)]

    return words


def on_job(*command: str, file: tuple[str, Callable[[], bytes]] | None = None) -> Callable[[Path], list[str]]:
    """A command on the sample job; JOB, FILE and OUT stand for paths."""

    def words(folder: Path) -> list[str]:
        named = folder / (file[0] if file else "none")
        if file:
            named.write_bytes(file[1]())
        places = {"JOB": str(sample(folder)), "FILE": str(named), "OUT": str(folder / "out")}
        return [places.get(word, word) for word in command]

    return words


def sample(folder: Path) -> Path:
    """The sample job, made once by ``main``."""
    path = folder / "demo.takeoff"
    path.write_bytes((Path(os.environ["HOSTILE_SAMPLE"]) / "demo.takeoff").read_bytes())
    return path


def edits(**more: object) -> bytes:
    return json.dumps({"schema": "takeoff.edits/1", **more}).encode()


def lines(count: int) -> bytes:
    return b"".join(b"%d %d m %d %d l S\n" % (n % 600, n % 700, n % 500 + 9, n % 650) for n in range(count))


def picture(side: int) -> bytes:
    from PIL import Image

    out = io.BytesIO()
    Image.MAX_IMAGE_PIXELS = None
    Image.new("1", (side, side), 1).save(out, "PNG")
    return out.getvalue()


def cut() -> bytes:
    data = PLAN.read_bytes()
    return data[: len(data) * 3 // 4]


CASES: tuple[Case, ...] = (
    ("1,000,000 path segments", new("a.pdf", lambda: pdf(lines(1_000_000)))),
    (
        "10,000,000 path segments, packed",
        new("a.pdf", lambda: pdf(*flate(lines(1_000_000) * 10)[:1], filters=b"/Filter/FlateDecode")),
    ),
    ("forms drawn 2^30 times", new("a.pdf", lambda: forms(30, twice=True))),
    ("20,000 forms in one another", new("a.pdf", lambda: forms(20_000, twice=False))),
    ("a page count of 2,000,000,000", new("a.pdf", lambda: pdf(b"0 0 m 9 9 l S", kids=b"/Count 2000000000"))),
    ("200,000 open brackets", new("a.pdf", lambda: pdf(b"[" * 200_000))),
    (
        "RunLength that unpacks to 1 GB",
        new("a.pdf", lambda: pdf(b"\x81 " * 8_000_000 + b"\x80", filters=b"/Filter/RunLengthDecode")),
    ),
    ("PNG of 19,990 × 19,990", new("a.png", lambda: picture(19_990))),
    ("PDF cut at three quarters", new("a.pdf", cut)),
    (
        "PDF with its table of places wrong",
        new("a.pdf", lambda: PLAN.read_bytes().replace(b"startxref\n", b"startxref\n9")),
    ),
    ("XLSX cut inside its XML", on_job("check", "JOB", "FILE", file=("s.xlsx", lambda: sheet('<row r="1"><c r="A1"')))),
    (
        "XLSX with zz in a number",
        on_job(
            "check",
            "JOB",
            "FILE",
            file=("s.xlsx", lambda: sheet('<row r="1"><c r="A1"><v>zz</v></c></row></sheetData></worksheet>')),
        ),
    ),
    (
        "XLSX with a bad reference",
        on_job(
            "check",
            "JOB",
            "FILE",
            file=("s.xlsx", lambda: sheet('<row r="1"><c r="1A"><v>1</v></c></row></sheetData></worksheet>')),
        ),
    ),
    (
        "XLSX that unpacks to 200 MB",
        on_job(
            "check",
            "JOB",
            "FILE",
            file=("s.xlsx", lambda: sheet('<row r="1"><c r="A1"><v>1</v></c></row>' * 5_000_000)),
        ),
    ),
    (
        "edits of 5,000,000 points",
        on_job(
            "apply",
            "JOB",
            "FILE",
            file=("e.json", lambda: edits(runs=[{"id": "x", "sheet": 1, "points": [[1, 1], [2, 2]] * 2_500_000}])),
        ),
    ),
    (
        "one run of 200,000 points",
        on_job(
            "apply",
            "JOB",
            "FILE",
            file=(
                "e.json",
                lambda: edits(
                    length_unit="m",
                    runs=[
                        {
                            "id": "x",
                            "sheet": 1,
                            "height": 3,
                            "points": [[100 + n / 1000, 100 + n % 2] for n in range(200_000)],
                        }
                    ],
                ),
            ),
        ),
    ),
    (
        "edits nested 100,000 deep",
        on_job("apply", "JOB", "FILE", file=("e.json", lambda: b'{"runs":' + b"[" * 100_000)),
    ),
    (
        "TOML key of 200,000 parts",
        on_job("catalogue", "JOB", "--set", "FILE", file=("c.toml", lambda: b"a" + b".a" * 200_000 + b"=1")),
    ),
    (
        "TOML nested 50,000 deep",
        on_job("catalogue", "JOB", "--set", "FILE", file=("c.toml", lambda: b"a=" + b"[" * 50_000)),
    ),
    (
        "TOML number of 1,000,000 digits",
        on_job("catalogue", "JOB", "--set", "FILE", file=("c.toml", lambda: b"a=" + b"9" * 1_000_000)),
    ),
    ("days --start 9999-12-30", on_job("days", "JOB", "--start", "9999-12-30")),
    ("days --crews 1000000000", on_job("days", "JOB", "--start", "2026-03-02", "--crews", "1000000000")),
    ("days --hours 1e-9", on_job("days", "JOB", "--start", "2026-03-02", "--hours", "1e-9")),
    ("days --hours nan", on_job("days", "JOB", "--start", "2026-03-02", "--hours", "nan")),
    ("days --cure 1e300", on_job("days", "JOB", "--start", "2026-03-02", "--cure", "1e300")),
)


def takeoff(words: list[str], limit: float) -> tuple[int, float, float, str]:
    """Run a command: exit code, seconds, peak memory in MB of the largest process, the last line on stderr."""
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
            return -9, time.monotonic() - begun, 0.0, "stopped by the limit of this script"
        said.seek(0)
        text = said.read().decode("utf-8", "replace").strip().splitlines()
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    return done, time.monotonic() - begun, peak, text[-1][:110] if text else ""


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--only", default="")
    parser.add_argument("--limit", type=float, default=120.0)
    asked = parser.parse_args()
    demo = tempfile.TemporaryDirectory()
    os.environ["HOSTILE_SAMPLE"] = demo.name
    takeoff(["demo", "--out", demo.name], 300.0)
    for name, make in CASES:
        if asked.only not in name:
            continue
        pid = os.fork()  # peak memory is told for all children together: each case has its own parent
        if pid == 0:
            with tempfile.TemporaryDirectory() as folder:
                words = make(Path(folder))
                code, seconds, peak, said = takeoff(words, asked.limit)
            print(f"| {name} | {code} | {seconds:.1f} | {peak:.0f} | {said} |", flush=True)
            os._exit(0)
        os.waitpid(pid, 0)


if __name__ == "__main__":
    main()
