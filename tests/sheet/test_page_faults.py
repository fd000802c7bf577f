"""What a page does not show is told: pages without a size, pictures that cannot be read, letters stored as others."""

import io
import zlib

import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib.standardGlyphOrder import standardGlyphOrder
from PIL import Image

from takeoff.errors import SheetError
from takeoff.sheet.files import INCOMPLETE, read_sheets
from takeoff.sheet.formats import BLANK, HIDDEN
from takeoff.sheet.page_faults import BAD_LETTERS, BAD_PICTURE, FORM, NUMBERED
from takeoff.sheet.text import read_lines

WALL = "0 0 m 9 9 l S"


def told(data):
    """What is said of the only page, which every finding is kept with too."""
    sheets, doubts = read_sheets(data, "a.pdf")
    kept = [finding.text for finding in sheets[0].findings]
    assert all(any(doubt.endswith(text) for text in kept) for doubt in doubts)
    return " ".join(kept)


@pytest.mark.parametrize("box", ["[0 0 nan 792]", "[0 0 612]", "[0 0 0 0]", "[(a) 0 612 792]"])
def test_a_page_whose_file_does_not_say_how_large_it_is_says_what_was_taken(make_pdf, box):
    """ISO 32000-1:2008, 7.7.3.3: a page needs a MediaBox of four numbers."""
    data = make_pdf("0 0 m 9 9 l S").replace(b"/MediaBox[0 0 600 400]", b"/MediaBox" + box.encode())
    sheets, doubts = read_sheets(data, "a.pdf")
    assert any("how large the page is" in doubt for doubt in doubts)
    assert any("how large the page is" in finding.text for finding in sheets[0].findings)


def test_a_page_whose_crop_box_lies_beside_it_has_no_size(make_pdf):
    """ISO 32000-1:2008, 14.11.2.1: a crop box is cut to the media box; nothing of this one is left."""
    assert "how large the page is" in told(make_pdf(WALL, crop=(2000, 2000, 3000, 3000)))
    assert told(make_pdf(WALL, crop=(50, 50, 500, 300))) == ""


def pictured(make_pdf, data, filters, *, space="/DeviceRGB"):
    head = f"<</Type/XObject/Subtype/Image/Width 300/Height 200/BitsPerComponent 8/ColorSpace{space}{filters}"
    stream = head.encode() + b"/Length %d>>stream\n%s\nendstream" % (len(data), data)
    return make_pdf("600 0 0 400 0 0 cm /I Do", resources="/XObject<</I 4 0 R>>", more=[stream])


def saved(form):
    image, out = Image.new("RGB", (300, 200), "white"), io.BytesIO()
    image.paste((0, 0, 0), (20, 20, 90, 150))
    image.save(out, form)
    return out.getvalue()


RAW = zlib.compress(bytes(30_000) + b"\xff" * 150_000)


@pytest.mark.parametrize(
    ("data", "filters"),
    [(saved("JPEG"), "/Filter/DCTDecode"), (saved("JPEG2000"), "/Filter[/JPXDecode]"), (RAW, "/Filter/FlateDecode")],
)
def test_a_picture_that_ends_early_is_told(make_pdf, data, filters):
    assert told(pictured(make_pdf, data, filters)) == ""
    assert BAD_PICTURE in told(pictured(make_pdf, data[: len(data) // 2], filters))


def test_a_picture_that_is_packed_in_an_unknown_way_is_told(make_pdf):
    assert BAD_PICTURE in told(pictured(make_pdf, RAW, "/Filter/OwnDecode"))


def test_a_scan_whose_picture_shows_nothing_is_told(make_pdf):
    assert BLANK in told(
        pictured(make_pdf, b"\0\0\0\0\x30\0\x01no segment" * 20, "/Filter/JBIG2Decode", space="/DeviceGray")
    )


def test_a_page_that_is_masked_as_a_whole_is_told(make_pdf):
    """A soft mask that draws itself hides all of it; one of the whole page hides nothing."""
    head = "<</Type/XObject/Subtype/Form/BBox[0 0 600 400]/Group<</S/Transparency/CS/DeviceGray>>"
    mask = "/ExtGState<</G<</SMask<</S/Luminosity/G 4 0 R>>>>>>"
    stream = "/Length 24>>stream\n{} 0 0 600 400 re f \nendstream"
    itself = f"{head}/Resources<<{mask}>>{stream.format('/G gs')}"
    assert HIDDEN in told(make_pdf("/G gs " + WALL, resources=mask, more=[itself]))
    assert told(make_pdf("/G gs " + WALL, resources=mask, more=[head + stream.format("1   g")])) == ""


@pytest.mark.parametrize("form", ["PNG", "TIFF"])
def test_a_picture_that_is_see_through_or_white_on_nothing_is_told(form):
    for ground, ink, is_told in (
        ((0, 0, 0, 0), (200, 3, 5, 0), True),
        ((0, 0, 0, 0), (255, 255, 255, 255), True),
        ((0, 0, 0, 0), (0, 0, 0, 255), False),
        ((255, 255, 255, 255), (0, 0, 0, 9), False),
    ):
        image, out = Image.new("RGBA", (300, 600), ground), io.BytesIO()
        image.paste(ink, (20, 20, 90, 150))
        image.save(out, form, dpi=(100, 100))
        assert (HIDDEN in told(out.getvalue())) == is_told


def test_a_picture_with_transparency_may_have_half_as_many_pixels():
    """Only its head is read: it ends before its pixels."""
    for kind, match in ((b"\6", "225 megapixels; the limit is 200"), (b"\2", "ends early")):
        head = b"IHDR" + (15_000).to_bytes(4) * 2 + b"\10" + kind + bytes(3)
        start = b"\x89PNG\r\n\x1a\n" + (13).to_bytes(4) + head + zlib.crc32(head).to_bytes(4)
        with pytest.raises(SheetError, match=match):
            read_sheets(start + (9).to_bytes(4) + b"IDAT" + bytes(9), "a.png")


@pytest.mark.parametrize("place", ["/Properties<</M 4 0 R>>", "/XObject<</X 7 0 R>>"])
def test_the_condition_of_a_layer_that_has_no_end_is_refused(make_pdf, place):
    """ISO 32000-1:2008, 8.11.2.2: a condition is a tree of And, Or and Not."""
    layer, form = (
        "<</Type/OCG/Name(Walls)>>",
        "<</Type/XObject/Subtype/Form/BBox[0 0 9 9]/OC 4 0 R/Length 0>>stream\n\nendstream",
    )
    for said, is_refused in (("[/And 6 0 R 6 0 R]", True), ("[/And 5 0 R[/Not 5 0 R]]", False)):
        data = make_pdf(WALL, resources=place, more=["<</Type/OCMD/VE 6 0 R>>", layer, said, form])
        if is_refused:
            with pytest.raises(SheetError, match=r"condition of a layer.*without layers"):
                read_sheets(data, "a.pdf")
        else:
            assert told(data) == ""


def test_a_page_without_anything_is_told_and_one_of_annotations_alone_says_how_to_get_at_them(make_pdf):
    assert told(make_pdf("")) == BLANK
    note = "/Annots[<</Type/Annot/Subtype/Square/Rect[10 10 90 90]>>]"
    assert "1 annotation" in told(make_pdf("", page=note))
    assert told(make_pdf(WALL, page=note)) == ""


def test_a_form_that_is_made_as_it_is_shown_is_told(make_pdf):
    """ISO 32000-1:2008, table 28: NeedsRendering."""
    data = make_pdf(WALL).replace(b"<</Type/Catalog", b"<</NeedsRendering true/Type/Catalog")
    assert any(FORM in doubt for doubt in read_sheets(data, "a.pdf")[1])


def written(make_pdf, table, *, font="/Type1/BaseFont/Helvetica/Encoding/WinAnsiEncoding"):
    body = f"begincmap {table} endcmap".encode()
    more = [f"<</Type/Font/Subtype{font}/ToUnicode 5 0 R>>", b"<</Length %d>>stream\n%s\nendstream" % (len(body), body)]
    return make_pdf("BT /G 9 Tf 50 50 Td (1:50) Tj ET " + WALL, resources="/Font<</G 4 0 R>>", more=more)


SHIFTED = "1 beginbfrange <30> <38> <0031> endbfrange"


@pytest.mark.parametrize(
    "table",
    [SHIFTED, "2 beginbfchar <31> <0032> <35> <0036> endbfchar", "1 beginbfrange <31> <32> [<0041> <0042>] endbfrange"],
)
def test_letters_that_are_stored_as_others_are_told(make_pdf, table):
    """A drawn 1:50 is read as 2:61; the codes of these encodings are those of ASCII (ISO 32000-1:2008, annex D)."""
    assert BAD_LETTERS in told(written(make_pdf, table))


@pytest.mark.parametrize(
    ("table", "font"),
    [
        ("1 beginbfrange <20> <7E> <0020> endbfrange", "/Type1/BaseFont/Helvetica/Encoding/WinAnsiEncoding"),
        ("1 beginbfrange <61> <7A> <0041> endbfrange", "/Type1/BaseFont/Helvetica/Encoding/WinAnsiEncoding"),
        (SHIFTED, "/Type1/BaseFont/Helvetica/Encoding<</Differences[48/one/two/three]>>"),
        ("garbage (((", "/Type1/BaseFont/Helvetica/Encoding/WinAnsiEncoding"),
    ],
)
def test_letters_that_are_stored_as_they_are_or_by_codes_of_their_own_are_not(make_pdf, table, font):
    assert told(written(make_pdf, table, font=font)) == ""


def test_a_font_that_stands_in_the_page_itself_is_read_as_any_other(make_pdf):
    """A resource need not be an object of its own (ISO 32000-1:2008, 7.8.3)."""
    font = "/Font<</G<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>>>"
    data = make_pdf("BT /G 9 Tf 50 50 Td (ROOM 101) Tj ET " + WALL, resources=font)
    assert told(data) == ""
    assert [line.text for line in read_lines(data, read_sheets(data, "a.pdf")[0][0])] == ["ROOM 101"]


def font_without_names():
    """A font of the first 98 pictures of the order, all one square, that tells neither codes nor names of them."""
    names = standardGlyphOrder[:98]
    pen = TTGlyphPen(None)
    pen.moveTo((50, 0))
    for corner in ((50, 700), (550, 700), (550, 0)):
        pen.lineTo(corner)
    pen.closePath()
    made = FontBuilder(1000, isTTF=True)
    made.setupGlyphOrder(names)
    made.setupGlyf(dict.fromkeys(names, pen.glyph()))
    made.setupHorizontalMetrics(dict.fromkeys(names, (600, 50)))
    made.setupHorizontalHeader(ascent=700, descent=0)
    made.setupPost(keepGlyphNames=False)
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


def test_letters_stored_as_numbers_of_their_pictures_are_read_in_the_usual_order_and_told(make_pdf):
    """The order of the pictures is that of the OpenType specification's table "post", format 1: A is the 36th."""
    letters = zip("LAB 2", ("L", "A", "B", "space", "two"), strict=True)
    order = {letter: standardGlyphOrder.index(name) for letter, name in letters}
    font = font_without_names()
    more = [
        b"<</Type/Font/Subtype/Type0/BaseFont/Plain/Encoding/Identity-H/DescendantFonts[5 0 R]>>",
        b"<</Type/Font/Subtype/CIDFontType2/BaseFont/Plain/CIDSystemInfo<</Registry(Adobe)/Ordering(Identity)"
        b"/Supplement 0>>/CIDToGIDMap/Identity/DW 600/FontDescriptor 6 0 R>>",
        b"<</Type/FontDescriptor/FontName/Plain/Flags 4/FontBBox[0 0 600 700]/Ascent 700/Descent 0/StemV 50"
        b"/FontFile2 7 0 R>>",
        b"<</Length %d/Length1 %d>>stream\n%s\nendstream" % (len(font), len(font), font),
    ]
    codes = "".join(f"{order[letter]:04x}" for letter in "LAB 22")
    data = make_pdf(f"BT /G 9 Tf 50 50 Td <{codes}> Tj ET {WALL}", resources="/Font<</G 4 0 R>>", more=more)
    sheet = read_sheets(data, "a.pdf")[0][0]
    assert [line.text for line in read_lines(data, sheet)] == ["LAB 22"]
    assert NUMBERED in told(data)


def fax(end):
    """A white picture as fax data of group 4: each row is a code of one bit for "as the row above"; and its end."""
    bits = "1" * 200 + end
    return int(bits.ljust(-len(bits) % 8 + len(bits), "0"), 2).to_bytes((len(bits) + 7) // 8)


EOFB = "000000000001" * 2


@pytest.mark.parametrize(
    ("end", "keys", "is_told"), [(EOFB, "/K -1", False), ("", "/K -1", True), ("", "/K -1/EndOfBlock false", False)]
)
def test_fax_data_without_their_end_are_told(make_pdf, end, keys, is_told):
    """ITU-T T.6, 2.4.1.1: the end of a facsimile block is twice 000000000001; V(0) is coded as 1."""
    filters = f"/Filter/CCITTFaxDecode/DecodeParms<<{keys}/Columns 300/Rows 200>>"
    data = pictured(make_pdf, fax(end), filters, space="/DeviceGray").replace(b"PerComponent 8", b"PerComponent 1")
    assert (BAD_PICTURE in told(data)) == is_told


def test_a_picture_in_a_stream_that_swallows_what_follows_is_told_and_one_that_is_too_large_is_refused(make_pdf):
    """ISO 32000-1:2008, 8.9.7: as many bytes as the picture has follow its ID."""
    inline = "BI /W 8 /H {} /BPC 8 /CS /G ID {} EI "
    assert INCOMPLETE not in told(make_pdf(inline.format(1, "8 bytes!") + WALL))
    assert INCOMPLETE in told(make_pdf(inline.format(900, "8 bytes!") + WALL))
    with pytest.raises(SheetError, match="megapixels"):
        read_sheets(make_pdf("BI /W 30000 /H 30000 /BPC 8 /CS /G ID abc EI " + WALL), "a.pdf")


def test_a_page_whose_pictures_are_not_drawn_is_blank(make_pdf):
    data = pictured(make_pdf, RAW, "/Filter/FlateDecode").replace(b"/Width 300", b"/Width -30")
    assert BLANK in told(data)
