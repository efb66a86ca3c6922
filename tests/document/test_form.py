"""The form as readers take it: pictures, font, names, order, places; filled in with another library."""

from __future__ import annotations

import io
from collections.abc import Callable
from itertools import combinations
from typing import Any

import pytest
from fontTools.ttLib import TTFont
from pypdf import PdfReader, PdfWriter

from .packets import pages_of

FIELDS = (
    '{{ field("Address", 2) }} {{ field("Gate") }}\n\n{{ checkbox("Plumb") }} {{ checkbox("Level") }}\n\n'
    'Signed: {{ signed("Competent person", 2) }}\n\n{{ signature("Qualified person") }}\n'
)


@pytest.fixture(scope="module", params=["heron_lot_14", "linnet_lot_3_trusses"])
def packet(request: pytest.FixtureRequest) -> PdfReader:
    return pages_of(request.param).reader


def _widgets(reader: PdfReader) -> list[list[Any]]:
    """The widgets of each page."""
    held = [[a.get_object() for a in page.get("/Annots", ())] for page in reader.pages]
    return [[a for a in page if a["/Subtype"] == "/Widget"] for page in held]


def _all(reader: PdfReader) -> list[Any]:
    return [widget for page in _widgets(reader) for widget in page]


def test_every_field_has_a_name_of_its_own_and_says_what_belongs_there(packet: PdfReader) -> None:
    fields = _all(packet)
    names = [field["/T"] for field in fields]
    assert len(names) == len(set(names)) > 300
    assert all(field["/TU"].strip() for field in fields)
    listed = [held.idnum for held in packet.trailer["/Root"]["/AcroForm"]["/Fields"]]
    shown = [held.idnum for page in packet.pages for held in page.get("/Annots", ())]
    assert set(listed) <= set(shown)
    assert len(listed) == len(fields)


def test_no_field_covers_another(packet: PdfReader) -> None:
    for page in _widgets(packet):
        boxes = [(field["/T"], [float(n) for n in field["/Rect"]]) for field in page]
        for (one, a), (two, b) in combinations(boxes, 2):
            across = min(a[2], b[2]) - max(a[0], b[0])
            up = min(a[3], b[3]) - max(a[1], b[1])
            assert across <= 0.01 or up <= 0.01, (one, two)


def test_fields_stand_on_the_paper_and_are_visited_by_rows(packet: PdfReader) -> None:
    for page, fields in zip(packet.pages, _widgets(packet), strict=True):
        assert page["/Tabs"] == "/R"
        for field in fields:
            left, bottom, right, top = (float(n) for n in field["/Rect"])
            assert 0 < left < right < page.mediabox.right
            assert 0 < bottom < top < page.mediabox.top


def test_every_field_has_a_picture_and_no_text_field_shares_it(packet: PdfReader) -> None:
    pictures = []
    for field in _all(packet):
        shown = field["/AP"]["/N"]
        if field["/FT"] == "/Btn":
            assert set(shown) == {"/Yes", "/Off"}
            continue
        left, bottom, right, top = (float(n) for n in field["/Rect"])
        assert shown.get_data() == b""
        assert [float(n) for n in shown["/BBox"]] == pytest.approx(
            [0, 0, right - left, top - bottom], abs=0.02
        )
        pictures.append(field["/AP"].raw_get("/N").idnum)
    assert len(pictures) == len(set(pictures))
    assert "/NeedAppearances" not in packet.trailer["/Root"]["/AcroForm"]


def test_the_form_says_that_it_can_be_signed(read: Callable[..., PdfReader]) -> None:
    assert read(FIELDS).trailer["/Root"]["/AcroForm"]["/SigFlags"] == 1
    assert "/SigFlags" not in read('{{ field("Gate") }}\n').trailer["/Root"]["/AcroForm"]


def test_signatures_are_fields_of_their_own_kind(read: Callable[..., PdfReader]) -> None:
    fields = {field["/T"]: field for field in _all(read(FIELDS))}
    kinds = {name: (field["/FT"], field["/TU"]) for name, field in fields.items()}
    assert kinds["signature-competent-person"] == ("/Sig", "Competent person")
    assert kinds["qualified-person-signature"] == ("/Sig", "Qualified person: Signature")
    assert kinds["qualified-person-date"] == ("/Tx", "Qualified person: Date")
    assert "/V" not in fields["signature-competent-person"]


def test_a_line_stays_for_who_signs_by_hand(read: Callable[..., PdfReader]) -> None:
    """The same operators are on the page as for a blank to fill in."""

    def drawn(template: str) -> bytes:
        return read(template).pages[0].get_contents().get_data()  # type: ignore[union-attr]

    assert drawn('{{ signed("Lead", 2) }}\n') == drawn('{{ blank("Lead", 2) }}\n')


def test_filled_in_every_field_shows_its_own_words(make: Callable[..., bytes]) -> None:
    """By a library that writes into the pictures that are there."""
    writer = PdfWriter(clone_from=io.BytesIO(make(FIELDS)))
    values = {"address": "14 Sandpiper Row", "gate": "Gate 2, Núñez"}
    writer.update_page_form_field_values(writer.pages[0], {**values, "plumb": "/Yes"}, auto_regenerate=False)
    stream = io.BytesIO()
    writer.write(stream)
    fields = {field["/T"]: field for field in _all(PdfReader(stream))}
    for name, value in values.items():
        shown = fields[name]["/AP"]["/N"]
        assert fields[name]["/V"] == value
        assert value.split()[0].encode() in shown.get_data()
        assert "/Form" in shown["/Resources"]["/Font"]
    assert fields["plumb"]["/AS"] == "/Yes"
    assert fields["level"]["/AS"] == "/Off"


def test_the_form_s_font_is_embedded_with_the_letters_of_its_encoding(read: Callable[..., PdfReader]) -> None:
    """Read by fontTools: every letter of code page 1252 has a glyph, as wide as the form says."""
    form = read(FIELDS).trailer["/Root"]["/AcroForm"]
    assert str(form["/DA"]).startswith("/Form 0 Tf")
    font = form["/DR"]["/Font"]["/Form"]
    assert font["/Encoding"] == "/WinAnsiEncoding"
    assert "/ToUnicode" in font
    program = TTFont(io.BytesIO(font["/FontDescriptor"]["/FontFile2"].get_data()))
    letters = program.getBestCmap()
    em = program["head"].unitsPerEm
    for code in range(font["/FirstChar"], font["/LastChar"] + 1):
        try:
            letter = bytes([code]).decode("cp1252")
        except UnicodeDecodeError:
            continue
        if letter == "\x7f":
            continue
        width = program["hmtx"][letters[ord(letter)]][0] * 1000 / em
        assert float(font["/Widths"][code - font["/FirstChar"]]) == pytest.approx(width, abs=0.51), letter
    drawn = program.getGlyphSet()
    assert drawn[letters[ord("ñ")]].width == drawn[letters[ord("n")]].width
