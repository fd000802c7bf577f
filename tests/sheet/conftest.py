"""Plan files made by hand: every byte of the PDFs is written here, so that their page boxes are exactly as asked."""

from __future__ import annotations

import io
import os
import zlib
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from PIL import Image, ImageDraw


def write_pdf(objects: Sequence[str | bytes]) -> bytes:
    """Join numbered objects, the first being the catalogue, into a PDF file."""
    out = b"%PDF-1.7\n"
    places = []
    for number, body in enumerate(objects, start=1):
        places.append(len(out))
        out += b"%d 0 obj\n" % number + (body.encode("latin-1") if isinstance(body, str) else body) + b"\nendobj\n"
    start = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    out += b"".join(b"%010d 00000 n \n" % place for place in places)
    return out + b"trailer<</Size %d/Root 1 0 R>>\nstartxref\n%d\n%%%%EOF\n" % (len(objects) + 1, start)


def stream(content: str | bytes, *, keys: str = "", pack: bool = False) -> bytes:
    body = content.encode("latin-1") if isinstance(content, str) else content
    if pack:
        body, keys = zlib.compress(body), keys + "/Filter/FlateDecode"
    return b"<<%s/Length %d>>stream\n" % (keys.encode(), len(body)) + body + b"\nendstream"


@pytest.fixture(scope="session")
def make_pdf() -> Callable[..., bytes]:
    """Make a PDF of one page per content; ``page`` holds more keys of every page's dictionary."""

    def make(
        *contents: str,
        media: Sequence[float] = (0, 0, 600, 400),
        crop: Sequence[float] | None = None,
        rotate: int = 0,
        user_unit: float = 1,
        page: str = "",
        pack: bool = False,
        resources: str = "",
        more: Sequence[str | bytes] = (),
    ) -> bytes:
        def box(values: Sequence[float]) -> str:
            return "[" + " ".join(f"{value:g}" for value in values) + "]"

        keys = f"/MediaBox{box(media)}/Rotate {rotate}"
        keys += f"/CropBox{box(crop)}" if crop else ""
        keys += f"/UserUnit {user_unit:g}" if user_unit != 1 else ""
        first = 4 + len(more)
        kids = " ".join(f"{first + 2 * index} 0 R" for index in range(len(contents)))
        objects: list[str | bytes] = [
            "<</Type/Catalog/Pages 2 0 R>>",
            f"<</Type/Pages/Kids[{kids}]/Count {len(contents)}>>",
            "<</Type/Font/Subtype/Type1/BaseFont/Helvetica/Encoding/WinAnsiEncoding>>",
            *more,
        ]
        for index, content in enumerate(contents):
            font = "/Font<</F 3 0 R>>" if "Tf" in content else ""
            objects.append(
                f"<</Type/Page/Parent 2 0 R/Contents {first + 2 * index + 1} 0 R{keys}{page}"
                f"/Resources<<{font}{resources}>>>>"
            )
            objects.append(stream(content, pack=pack))
        return write_pdf(objects)

    return make


def text_at(x: float, y: float, size: float, words: str) -> str:
    """PDF instructions for a line of text in user space."""
    escaped = words.replace("\\", r"\\").replace("(", r"\(").replace(")", r"\)")
    return f"BT /F {size:g} Tf {x:g} {y:g} Td ({escaped}) Tj ET\n"


@pytest.fixture(scope="session")
def write_text() -> Callable[[float, float, float, str], str]:
    return text_at


@pytest.fixture(scope="session")
def make_picture() -> Callable[..., bytes]:
    """Make a picture file with a black mark; ``mark`` is its box in pixels, right and bottom outside it."""

    def make(
        form: str,
        *,
        size: tuple[int, int] = (600, 400),
        mode: str = "L",
        mark: tuple[int, int, int, int] = (100, 50, 140, 90),
        pages: int = 1,
        **options: object,
    ) -> bytes:
        pictures = []
        for _ in range(pages):
            white: object = {"RGBA": (255, 255, 255, 0), "RGB": (255, 255, 255), "1": 1}.get(mode, 255)
            black: object = {"RGBA": (0, 0, 0, 255), "RGB": (0, 0, 0)}.get(mode, 0)
            picture = Image.new(mode, size, white)  # type: ignore[arg-type]
            ImageDraw.Draw(picture).rectangle((mark[0], mark[1], mark[2] - 1, mark[3] - 1), fill=black)  # type: ignore[arg-type]
            pictures.append(picture)
        target = io.BytesIO()
        many = {"save_all": True, "append_images": pictures[1:]} if pages > 1 else {}
        pictures[0].save(target, form, **many, **options)
        return target.getvalue()

    return make


@pytest.fixture(scope="session")
def reference() -> Path:
    """The folder of reference plans, which is not part of the project."""
    folder = os.environ.get("TAKEOFF_REFERENCE")
    if not folder:
        pytest.skip("TAKEOFF_REFERENCE does not name a folder of reference plans")
    return Path(folder)
