"""The register of sheets, and every way a plan file is refused."""

from __future__ import annotations

import hashlib
import io
import re
import struct
import zlib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from takeoff.errors import SheetError
from takeoff.sheet.contents import count_paths
from takeoff.sheet.files import read_sheets, source_of
from takeoff.sheet.picture import open_picture
from takeoff.sheet.render import render_array


def one_line(refusal: pytest.ExceptionInfo[SheetError]) -> str:
    told = str(refusal.value)
    assert "\n" not in told
    assert refusal.value.remedy
    return told


def test_source_is_named_by_the_hash_of_its_bytes():
    # SHA-256 of "abc": FIPS 180-4 example, from memory
    source = source_of(b"abc", "plan.pdf")
    assert source.sha256 == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert (source.name, source.size) == ("plan.pdf", 3)


def test_bytes_of_a_file_name_that_are_no_letters_become_question_marks():
    """A name in Latin-1 on a system of UTF-8 names comes as a lone surrogate (PEP 383), which no text file holds."""
    assert source_of(b"", "B\udcfcro.pdf").name == "B?ro.pdf"


def test_every_page_of_a_pdf_is_a_sheet_counted_from_one(make_pdf):
    data = make_pdf("0 0 m 9 9 l S", "0 0 5 5 re f 0 0 m 1 1 l B*", "")
    sheets, doubts = read_sheets(data, "set.pdf")
    assert [(sheet.id, sheet.page, sheet.kind, sheet.paths) for sheet in sheets] == [
        (1, 1, "vector", 1),
        (2, 2, "vector", 2),
        (3, 3, "vector", 0),
    ]
    assert {sheet.source for sheet in sheets} == {hashlib.sha256(data).hexdigest()}
    assert doubts == ["set.pdf, page 3: nothing is drawn on it that can be read"]


@pytest.mark.parametrize("rotate", [0, 90, 180, 270])
def test_size_is_that_of_the_unrotated_cropped_page_as_printed(make_pdf, rotate):
    data = make_pdf("", media=(10, 20, 610, 420), crop=(100, 50, 500, 350), rotate=rotate, user_unit=2.5)
    sheet = read_sheets(data, "p.pdf")[0][0]
    assert (sheet.width_pt, sheet.height_pt, sheet.rotation) == pytest.approx((1000, 750, rotate))


def test_paths_in_forms_and_packed_streams_are_counted(make_pdf):
    form = b"<</Type/XObject/Subtype/Form/BBox[0 0 9 9]/Length 30>>stream\n0 0 m 1 1 l s 0 0 1 1 re b* Q\nendstream"
    data = make_pdf("/X Do 0 0 m 5 5 l S", pack=True, resources="/XObject<</X 4 0 R>>", more=[form])
    assert read_sheets(data, "p.pdf")[0][0].paths == 3


def form(draws: str, next: int) -> bytes:
    head = b"<</Type/XObject/Subtype/Form/BBox[0 0 9 9]/Resources<</XObject<</A %d 0 R/B %d 0 R>>>>" % (next, next)
    return head + b"/Length %d>>stream\n%s\nendstream" % (len(draws), draws.encode())


@pytest.mark.parametrize(
    ("depth", "draws", "said"),
    [
        (30, "/A Do /B Do", "draw one another until"),
        (30, "/A Do /A Do", "draw one another until"),
        (200, "/A Do", "40 deep"),
    ],
)
def test_a_page_whose_forms_draw_one_another_without_end_is_refused_at_once(make_pdf, depth, draws, said):
    more = [*(form(draws, 5 + n) for n in range(depth)), form("0 0 m 1 1 l S", 99_999)]
    with pytest.raises(SheetError, match=said):
        read_sheets(make_pdf("/X Do", resources="/XObject<</X 4 0 R>>", more=more), "p.pdf")


def test_forms_as_deep_as_are_taken_are_drawn_too(make_pdf):
    more = [*(form("/A Do", 5 + n) for n in range(39)), form("0 0 m 9 9 l S", 99_999)]
    data = make_pdf("/X Do", resources="/XObject<</X 4 0 R>>", more=more)
    assert (render_array(data, read_sheets(data, "p.pdf")[0][0], dpi=72) < 200).any()


@pytest.mark.parametrize("degrees", [45, 1_000_000_000_090])
def test_a_page_turned_by_no_right_angle_is_refused(make_pdf, degrees):
    """The two engines that read and draw pages turn it differently. ISO 32000-1:2008 table 30: a multiple of 90."""
    with pytest.raises(SheetError, match="the page is turned by"):
        read_sheets(make_pdf("0 0 m 9 9 l S", rotate=degrees), "p.pdf")


def test_a_form_that_names_itself_is_drawn_once(make_pdf):
    data = make_pdf("/X Do 0 0 m 5 5 l S", resources="/XObject<</X 4 0 R>>", more=[form("/A Do 0 0 m 1 1 l S", 4)])
    assert read_sheets(data, "p.pdf")[0][0].paths == 2


@pytest.mark.parametrize("operator", ["S", "s", "F", "f", "f*", "B", "B*", "b", "b*"])
def test_each_painting_operator_counts_once(operator):
    assert count_paths(f"0 0 1 1 re\n{operator}\n0 0 1 1 re {operator}".encode()) == 2


def test_operators_that_paint_nothing_do_not_count():
    assert count_paths(b"q 1 0 0 1 0 0 cm /F1 gs 0 0 m 1 1 l n W* n BT /S 9 Tf (Sf) Tj ET /Bx BMC EMC Q") == 0


def test_page_that_is_one_big_picture_is_a_scan_with_its_resolution(make_pdf):
    # 600 × 400 pt filled by 1250 × 833 pixels: 1250 / (600 / 72) = 150 dpi
    packed = zlib.compress(b"\xff" * (1250 * 833))
    keys = b"/Type/XObject/Subtype/Image/Width 1250/Height 833/ColorSpace/DeviceGray/BitsPerComponent 8"
    image = b"<<%s/Filter/FlateDecode/Length %d>>stream\n" % (keys, len(packed)) + packed + b"\nendstream"
    whole, resources = "q 600 0 0 400 0 0 cm /I Do Q ", "/XObject<</I 4 0 R>>"
    sheet = read_sheets(make_pdf(whole, resources=resources, more=[image]), "p.pdf")[0][0]
    assert sheet.kind == "scan"
    assert sheet.dpi == pytest.approx(150, abs=0.1)
    stamped = read_sheets(make_pdf(whole + "0 0 5 5 re S", resources=resources, more=[image]), "p.pdf")[0][0]
    assert stamped.kind == "scan"
    small = "q 60 0 0 40 0 0 cm /I Do Q"
    assert read_sheets(make_pdf(small, resources=resources, more=[image]), "p.pdf")[0][0].kind == "vector"
    traced = whole + "0 0 m 9 9 l S " * 500
    assert read_sheets(make_pdf(traced, resources=resources, more=[image]), "p.pdf")[0][0].kind == "vector"


@pytest.mark.parametrize("form", ["PNG", "JPEG", "TIFF"])
def test_picture_with_a_resolution_has_its_size_on_paper(make_picture, form):
    sheets, doubts = read_sheets(make_picture(form, size=(600, 400), dpi=(150, 150)), "scan")
    # 600 pixels at 150 dpi are 4 in: 288 pt
    assert (sheets[0].width_pt, sheets[0].height_pt) == pytest.approx((288, 192), rel=1e-3)
    assert (sheets[0].kind, sheets[0].paths) == ("image", None)
    assert sheets[0].dpi == pytest.approx(150, rel=1e-3)
    assert doubts == []


@pytest.mark.parametrize("options", [{}, {"dpi": (1, 1)}, {"dpi": (9600, 9600)}])
def test_missing_or_absurd_resolution_is_taken_as_200_and_doubted(make_picture, options):
    sheets, doubts = read_sheets(make_picture("PNG", **options), "scan.png")
    assert (sheets[0].width_pt, sheets[0].dpi) == (600 * 72 / 200, 200)
    assert len(doubts) == 1
    assert "200 dpi is assumed" in doubts[0]


def test_a_picture_too_wide_for_the_usual_resolution_is_taken_at_one_that_fits(make_picture):
    """60,000 dots are 300 in at 200 dpi, and 150 in at 400."""
    sheets, doubts = read_sheets(make_picture("PNG", mode="1", size=(60_000, 40)), "scan.png")
    assert (sheets[0].width_pt, sheets[0].dpi) == (150 * 72, 400)
    assert "400 dpi is assumed" in doubts[0]


@pytest.mark.parametrize("colour", [(255, 255, 255, 255), (0, 0, 0, 0), (7, 7, 7, 255)])
def test_a_picture_of_one_colour_is_told(colour):
    target = io.BytesIO()
    Image.new("RGBA", (600, 400), colour).save(target, "PNG", dpi=(200, 200))
    assert any("nothing is drawn on it" in doubt for doubt in read_sheets(target.getvalue(), "scan.png")[1])


def test_a_picture_of_fractions_from_black_to_white_is_not_black():
    """TIFF 6.0, section 19: floating point samples; programs write 0 to 1 (common practice)."""
    picture = Image.new("F", (60, 40), 1.0)
    picture.paste(0.0, (10, 10, 20, 20))
    target = io.BytesIO()
    picture.save(target, "TIFF", dpi=(200, 200))
    opened = open_picture(target.getvalue(), 1)
    assert (opened.getpixel((15, 15)), opened.getpixel((50, 30))) == (0, 255)


def test_pages_of_a_tiff_are_sheets_and_its_reduced_copies_are_not(make_picture):
    data = make_picture("TIFF", mode="1", pages=3, dpi=(200, 200), compression="group4")
    assert [sheet.page for sheet in read_sheets(data, "set.tif")[0]] == [1, 2, 3]
    big, small = Image.new("L", (400, 300), 255), Image.new("L", (40, 30), 255)
    target = io.BytesIO()
    small.encoderinfo = {"tiffinfo": {254: 1}}
    big.save(target, "TIFF", save_all=True, append_images=[small], dpi=(100, 100))
    assert [sheet.page for sheet in read_sheets(target.getvalue(), "set.tif")[0]] == [1]


def test_dots_that_are_not_square_are_made_square_and_doubted(make_picture):
    # a fax of 204 × 98 dpi: 408 × 196 dots are 2 × 2 in
    data = make_picture("TIFF", mode="1", size=(408, 196), dpi=(204, 98))
    sheets, doubts = read_sheets(data, "fax.tif")
    assert (sheets[0].width_pt, sheets[0].height_pt) == pytest.approx((144, 144))
    assert "204 × 98 dpi" in doubts[0]
    assert open_picture(data, 1).size == (408, 408)


@pytest.mark.parametrize("form", ["JPEG", "TIFF", "PNG"])
def test_picture_that_lies_on_its_side_is_registered_upright(make_picture, form):
    exif = Image.Exif()
    exif[0x0112] = 6  # the first row is the right side: turn 90° clockwise to see it upright (EXIF, from memory)
    data = make_picture(form, size=(600, 400), mark=(0, 0, 40, 20), exif=exif, dpi=(100, 100))
    sheet = read_sheets(data, "photo")[0][0]
    assert (sheet.width_pt, sheet.height_pt) == pytest.approx((288, 432), rel=1e-3)
    upright = open_picture(data, 1)
    assert upright.size == (400, 600)
    assert upright.getpixel((390, 10)) < 50
    assert upright.getpixel((10, 10)) > 200


@pytest.mark.parametrize("mode", ["1", "L", "RGB", "RGBA", "P", "I;16", "LA"])
def test_every_colour_mode_opens_as_dark_marks_on_white(mode):
    picture = Image.new("RGBA", (60, 40), (255, 255, 255, 0))
    picture.paste((0, 0, 0, 255), (10, 10, 20, 20))
    if mode == "I;16":
        picture = picture.convert("L").point(lambda value: 255 - value)  # transparent black turned to white
        picture = Image.new("I;16", (60, 40), 65535)
        picture.paste(0, (10, 10, 20, 20))
    elif mode not in ("RGBA", "LA"):
        flat = Image.new("RGB", picture.size, "white")
        flat.paste(picture, mask=picture)
        picture = flat.convert(mode)
    else:
        picture = picture.convert(mode)
    target = io.BytesIO()
    picture.save(target, "PNG")
    opened = open_picture(target.getvalue(), 1).convert("L")
    assert opened.getpixel((15, 15)) == 0
    assert opened.getpixel((50, 30)) == 255


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (b"", r"empty \(0 bytes\)"),
        (b"hello, this is a letter", "not a plan file"),
        (b"PK\x03\x04" + b"\0" * 40, "packed archive"),
        (b"AC1032" + b"\0" * 40, "CAD drawing"),
        (b"ISO-10303-21;\nHEADER;", "building model"),
        (b"%PDF-1.7\n", "truncated|damaged"),
        (b"\x89PNG\r\n\x1a\n", "damaged or ends early"),
        (b"\xff\xd8\xff\xe0", "damaged or ends early"),
        (b"II*\0", "damaged or ends early"),
    ],
)
def test_what_is_no_plan_file_is_refused_in_one_line(data, found):
    with pytest.raises(SheetError) as refusal:
        read_sheets(data, "plan")
    assert re.search(found, one_line(refusal))
    assert refusal.value.where == "plan"


def test_a_pdf_cut_short_opens_with_what_is_there_and_an_open_point_that_says_so(make_pdf):
    data = make_pdf("0 0 m 9 9 l S\n" * 500)
    opened = 0
    for share in (0.5, 0.7, 0.9, 0.99):
        try:
            sheets, doubts = read_sheets(data[: int(share * len(data))], "plan.pdf")
        except SheetError:
            continue
        opened += 1
        assert any("cut short" in doubt for doubt in doubts)
        assert all(any("cut short" in found.text for found in sheet.findings) for sheet in sheets)
    assert opened >= 1


@pytest.mark.parametrize("form", ["PNG", "JPEG", "TIFF"])
def test_truncated_picture_is_refused(make_picture, form):
    data = make_picture(form, size=(600, 400), compression="tiff_lzw") if form == "TIFF" else make_picture(form)
    with pytest.raises(SheetError) as refusal:
        read_sheets(data[: len(data) * 2 // 3], "scan")
    assert "damaged or ends early" in one_line(refusal)


def test_pdf_with_a_broken_table_of_contents_is_repaired_and_says_so(make_pdf):
    data = re.sub(rb"startxref\n\d+", b"startxref\n7", make_pdf("0 0 m 9 9 l S"))
    sheets, doubts = read_sheets(data, "plan.pdf")
    assert sheets[0].paths == 1
    assert "rebuilt" in doubts[0]


def test_page_whose_drawing_ends_early_is_doubted(make_pdf):
    good = make_pdf("0 0 m 9 9 l S\n" * 50 + "".join(f"{i} {i * i % 97} m 5 5 l S\n" for i in range(400)), pack=True)
    found = re.search(rb"/Length (\d+)>>stream", good)
    assert found
    half = int(found[1]) // 2
    start = found.end() + 1
    cut = good[:start] + good[start : start + half] + b"\0" * (int(found[1]) - half) + good[start + int(found[1]) :]
    sheets, doubts = read_sheets(cut, "plan.pdf")
    assert len(sheets) == 1
    assert "page 1: the page may be incomplete" in doubts[0]


def test_pdf_with_a_password_is_refused(make_pdf):
    pikepdf = pytest.importorskip("pikepdf")
    target = io.BytesIO()
    with pikepdf.open(io.BytesIO(make_pdf("0 0 m 9 9 l S"))) as plain:
        plain.save(target, encryption=pikepdf.Encryption(user="secret", owner="owner"))
    with pytest.raises(SheetError) as refusal:
        read_sheets(target.getvalue(), "plan.pdf")
    assert "protected by a password" in one_line(refusal)


def test_pdf_that_is_only_locked_against_changes_is_read(make_pdf):
    pikepdf = pytest.importorskip("pikepdf")
    target = io.BytesIO()
    with pikepdf.open(io.BytesIO(make_pdf("0 0 m 9 9 l S", pack=True))) as plain:
        plain.save(target, encryption=pikepdf.Encryption(user="", owner="owner"))
    sheets, doubts = read_sheets(target.getvalue(), "plan.pdf")
    assert (sheets[0].paths, doubts) == (1, [])


def test_pdf_without_pages_is_refused(make_pdf):
    with pytest.raises(SheetError) as refusal:
        read_sheets(make_pdf(), "plan.pdf")
    assert "no pages" in one_line(refusal)


def test_page_over_200_inches_is_refused_and_one_of_200_is_not(make_pdf):
    assert read_sheets(make_pdf("", media=(0, 0, 14400, 72)), "plan.pdf")[0][0].width_pt == 14400
    with pytest.raises(SheetError) as refusal:
        read_sheets(make_pdf("", media=(0, 0, 7300, 72), user_unit=2), "plan.pdf")
    assert "202.8 in long" in one_line(refusal)
    assert refusal.value.where == "plan.pdf, page 1"


def bomb_png(width: int, height: int) -> bytes:
    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    header = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"\0" * 9)) + chunk(b"IEND", b"")
    )


def test_a_page_of_a_point_is_refused(make_pdf):
    with pytest.raises(SheetError, match="in long; a plan has"):
        read_sheets(make_pdf("0 0 m 9 9 l S", media=(0, 0, 0.01, 0.01)), "a.pdf")


def test_picture_that_would_unpack_to_over_400_megapixels_is_refused_unopened(make_pdf):
    with pytest.raises(SheetError) as refusal:
        read_sheets(bomb_png(30000, 20000), "scan.png")
    assert "600 megapixels; the limit is 400" in one_line(refusal)
    keys = "/Type/XObject/Subtype/Image/Width 40000/Height 40000/ColorSpace/DeviceGray/BitsPerComponent 1"
    image = f"<<{keys}/Length 1>>stream\n0\nendstream"
    data = make_pdf("q 600 0 0 400 0 0 cm /I Do Q", resources="/XObject<</I 4 0 R>>", more=[image])
    with pytest.raises(SheetError, match="1600 megapixels"):
        read_sheets(data, "plan.pdf")


def test_a_page_of_too_many_pictures_is_refused_before_any_is_unpacked(make_pdf):
    keys = "/Type/XObject/Subtype/Image/Width 20000/Height 15000/ColorSpace/DeviceGray/BitsPerComponent 1"
    pictures = [f"<<{keys}/Length 1>>stream\n0\nendstream"] * 5
    names = "".join(f"/I{n} {4 + n} 0 R" for n in range(5))
    with pytest.raises(SheetError, match="its 5 pictures have 1500 megapixels; the limit is 1200"):
        read_sheets(make_pdf("/I0 Do", resources=f"/XObject<<{names}>>", more=pictures), "plan.pdf")


def test_page_that_unpacks_to_over_256_mebibytes_is_refused(make_pdf):
    # a block whose end is a full flush can stand any number of times in one deflate stream (RFC 1951, from memory)
    packer = zlib.compressobj(9)
    start = packer.compress(b" " * 2**20) + packer.flush(zlib.Z_FULL_FLUSH)
    block = packer.compress(b" " * 2**20) + packer.flush(zlib.Z_FULL_FLUSH)

    def page(mebibytes: int) -> bytes:
        packed = start + block * (mebibytes - 1)
        return b"<</Filter/FlateDecode/Length %d>>stream\n" % len(packed) + packed + b"\nendstream"

    def plan(mebibytes: int) -> bytes:
        return make_pdf("", more=[page(mebibytes)], page="/Contents 4 0 R").replace(b"/Contents 6 0 R", b"")

    with pytest.raises(SheetError) as refusal:
        read_sheets(plan(257), "plan.pdf")
    assert "unpacks to more than 96 MiB" in one_line(refusal)
    assert read_sheets(plan(2), "plan.pdf")[0][0].paths == 0
    runs = b"<</Filter/RunLengthDecode/Length 2000000>>stream\n" + b"\x81 " * 1_000_000 + b"\nendstream"
    with pytest.raises(SheetError, match="unpacks to more than 96 MiB"):
        read_sheets(make_pdf("", more=[runs], page="/Contents 4 0 R").replace(b"/Contents 6 0 R", b""), "plan.pdf")


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    form=st.sampled_from(["PNG", "JPEG", "TIFF", "PDF"]),
    cut=st.floats(0, 1),
    flips=st.lists(st.tuples(st.floats(0, 0.999), st.integers(1, 255)), max_size=6),
)
def test_no_damage_gives_anything_but_sheets_or_a_refusal(make_pdf, make_picture, capfd, form, cut, flips):
    if form == "PDF":
        data = bytearray(make_pdf("BT /F 12 Tf 50 50 Td (A-101) Tj ET 0 0 m 9 9 l S\n" * 20, pack=True))
    else:
        data = bytearray(make_picture(form, size=(90, 60), mark=(10, 10, 30, 30), dpi=(100, 100)))
    for place, change in flips:
        data[int(place * len(data))] ^= change
    damaged = bytes(data[: len(data) - int(cut * 40)])
    try:
        sheets, doubts = read_sheets(damaged, "plan")
    except SheetError as refusal:
        sheets, doubts = [], [str(refusal)]
    assert sheets or doubts
    assert not [doubt for doubt in doubts if "\n" in doubt]
    assert capfd.readouterr() == ("", "")


def test_reading_says_nothing_on_the_terminal(make_pdf, capfd):
    data = re.sub(rb"startxref\n\d+", b"startxref\n7", make_pdf("0 0 m 9 9 l S /nothing Do /bad gs"))
    read_sheets(data, "plan.pdf")
    assert capfd.readouterr() == ("", "")


def test_what_is_stamped_on_a_sheet_that_is_not_to_be_built_from_is_kept_with_it(make_pdf):
    # words of stamps: common practice, no source
    stamped = "BT /F1 12 Tf 20 20 Td (PRELIMINARY - NOT FOR CONSTRUCTION) Tj ET"
    plain = "BT /F1 12 Tf 20 20 Td (Preliminary levels are to be checked) Tj ET"
    sheets, _ = read_sheets(make_pdf(stamped, plain), "set.pdf")
    assert [found.text for found in sheets[0].findings] == ["it is marked “PRELIMINARY” and “NOT FOR CONSTRUCTION”"]
    assert sheets[1].findings == ()


def test_a_tiff_in_a_piece_beyond_the_limit_of_the_library_is_refused_with_its_remedy(monkeypatch):
    kept = io.BytesIO()
    Image.new("L", (400, 300), 255).save(kept, "TIFF", compression="tiff_lzw", dpi=(200, 200))
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 1000)
    with pytest.raises(SheetError, match=r"pieces too large.*lower resolution"):
        read_sheets(kept.getvalue(), "scan.tif")
