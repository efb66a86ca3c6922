"""What PDF/A-3 asks of a file (ISO 19005-3), clause by clause from memory: our own checks, no validator's.

No free validator of PDF/A-3 was at hand, hence the file claims nothing. Apache PDFBox's Preflight 2.0.27,
which knows PDF/A-1b only, was run by hand over the demo lots: beyond the missing claim it names the
attachment, the profile's version and the draft mark's transparency, which part 1 forbids and part 3 allows.
"""

from __future__ import annotations

import datetime as dt
import io
import re
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader
from pypdf.generic import DictionaryObject, StreamObject

from planforge.assess.assessment import assess
from planforge.document import xmp

from .packets import DATE, FINGERPRINT, job_of, printed


@pytest.fixture(scope="module", params=[False, True], ids=["plan", "draft"])
def data(request: pytest.FixtureRequest) -> bytes:
    return printed(assess(job_of("wren_lot_7_mended")), draft=request.param)


@pytest.fixture(scope="module")
def reader(data: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(data))


def _objects(reader: PdfReader) -> list[object]:
    return [reader.get_object(number) for number in range(1, int(reader.trailer["/Size"]))]  # type: ignore[call-overload]


def test_header_and_trailer(data: bytes, reader: PdfReader) -> None:
    """6.1.2 and 6.1.3: four bytes above 127 in the second line; an identifier; no encryption."""
    first, second = data.split(b"\n", 2)[:2]
    assert first.rstrip(b"\r") == b"%PDF-1.7"
    assert second[:1] == b"%"
    assert all(byte > 127 for byte in second[1:5])
    assert "/ID" in reader.trailer
    assert "/Encrypt" not in reader.trailer


def test_streams_have_their_length_and_a_line_of_their_own_for_the_end(data: bytes) -> None:
    """6.1.7.1."""
    places = list(re.finditer(rb"/Length (\d+)[^>]*(?:>>[^>]*)*?>>\s*?\n?stream\n", data))
    assert len(places) == data.count(b"endstream") > 100
    for place in places:
        assert data[place.end() + int(place[1]) :].startswith(b"\nendstream"), data[place.start() :][:80]


def test_filters(reader: PdfReader) -> None:
    """6.1.7.2: no LZW; metadata unpacked (6.6.2.1)."""
    for thing in _objects(reader):
        if isinstance(thing, StreamObject):
            filters = thing.get("/Filter", [])
            assert list([filters] if isinstance(filters, str) else filters) in ([], ["/FlateDecode"])
    assert "/Filter" not in reader.trailer["/Root"]["/Metadata"]  # type: ignore[index]


def test_colours_are_grey_or_rgb_under_an_rgb_output_intent(reader: PdfReader) -> None:
    """6.2.3 and 6.2.4.3."""
    (intent,) = reader.trailer["/Root"]["/OutputIntents"]  # type: ignore[index]
    assert intent.get_object()["/DestOutputProfile"]["/N"] == 3
    for page in reader.pages:
        content = page.get_contents()
        assert content is not None
        assert not re.search(rb"(?:[\d.]+\s+){4}[kK]\b", content.get_data())


def test_transparency_is_plain(reader: PdfReader) -> None:
    """6.2.10: no blend mode but Normal; no soft masks here at all."""
    for thing in _objects(reader):
        if isinstance(thing, DictionaryObject):
            assert thing.get("/BM", "/Normal") in ("/Normal", "/Compatible")
            assert "/SMask" not in thing


def test_fonts_are_embedded_and_speak_unicode(reader: PdfReader) -> None:
    """6.2.11.4 and 6.2.11.7: what is drawn, and what readers fill fields in with."""
    found = [t for t in _objects(reader) if isinstance(t, DictionaryObject) and t.get("/Type") == "/Font"]
    assert len(found) >= 5
    for font in found:
        assert "/FontFile2" in font["/FontDescriptor"], font["/BaseFont"]  # type: ignore[operator]
        assert "/ToUnicode" in font
        assert len(font["/Widths"]) == font["/LastChar"] - font["/FirstChar"] + 1  # type: ignore[arg-type, operator]


def test_annotations_are_printed_and_drawn(reader: PdfReader) -> None:
    """6.3.1 to 6.3.3: allowed kinds, the flag Print alone, a picture for each widget."""
    kinds = set()
    for page in reader.pages:
        for held in page.get("/Annots", ()):
            annotation = held.get_object()
            kinds.add(annotation["/Subtype"])
            assert annotation["/F"] == 4
            if annotation["/Subtype"] == "/Widget":
                assert set(annotation["/AP"]) == {"/N"}
    assert kinds == {"/Link", "/Widget"}


def test_nothing_is_active(reader: PdfReader) -> None:
    """6.4.1 and 6.5: no XFA, no NeedAppearances, no actions or scripts."""
    root = reader.trailer["/Root"]
    assert isinstance(root, DictionaryObject)
    assert not {"/XFA", "/NeedAppearances"} & set(root["/AcroForm"])  # type: ignore[arg-type]
    assert not {"/OpenAction", "/AA", "/Perms", "/Requirements"} & set(root)
    for thing in _objects(reader):
        if isinstance(thing, DictionaryObject):
            assert not {"/AA", "/A", "/JS", "/Alternates"} & set(thing)
            assert thing.get("/S") not in ("/JavaScript", "/Launch")


def test_attachments_say_what_they_are(reader: PdfReader) -> None:
    """6.8: both names, a media type, dates, and the relation to the document."""
    (held,) = reader.trailer["/Root"]["/AF"]  # type: ignore[index]
    specification = held.get_object()
    assert specification["/F"] == specification["/UF"] == "job.yaml"
    assert specification["/AFRelationship"] == "/Data"
    stream = specification["/EF"]["/F"]
    assert stream["/Subtype"] == "/application/yaml"
    assert stream["/Params"]["/ModDate"] == stream["/Params"]["/CreationDate"] == "D:20261130000000+00'00'"


def test_both_kinds_of_metadata_say_the_same_and_claim_nothing(reader: PdfReader) -> None:
    """6.6.2 and 6.6.4."""
    held, info = reader.xmp_metadata, reader.metadata
    assert held is not None
    assert info is not None
    assert held.dc_title == {"x-default": info.title}
    assert held.pdf_keywords == info["/Keywords"]
    assert FINGERPRINT in str(held.pdf_keywords)
    assert held.pdf_producer == info.producer
    assert held.xmp_creator_tool == info.creator == "planforge"
    midnight = dt.datetime.combine(DATE, dt.time(), dt.UTC)
    assert info.creation_date == info.modification_date == midnight
    in_utc = midnight.replace(tzinfo=None)  # as the reader gives them
    assert held.xmp_create_date == held.xmp_modify_date == held.xmp_metadata_date == in_utc
    assert held.dc_language == [reader.trailer["/Root"]["/Lang"]]  # type: ignore[index]
    assert b"pdfaid" not in reader.trailer["/Root"]["/Metadata"].get_data()  # type: ignore[index]


def test_any_title_makes_metadata_that_can_be_read() -> None:
    title = "Lot 7 <A & B> \"C\" 'D' – Łódź"
    packet = xmp.packet(xmp.Record(title, "k & k", "c", "p", DATE, "en"))
    found = ElementTree.fromstring(packet.split(b"?>", 1)[1].rsplit(b"<?", 1)[0].decode())
    texts = [element.text for element in found.iter() if element.text and element.text.strip()]
    assert title in texts
    assert "k & k" in texts


def test_every_page_is_reached_from_the_outline_and_named(reader: PdfReader) -> None:
    """Not of PDF/A: every part has an entry, in the order of the pages, and pages bear their numbers."""

    def flat(entries: list[object]) -> list[int]:
        found: list[int] = []
        for entry in entries:
            if isinstance(entry, list):
                found += flat(entry)
            else:
                found.append(reader.get_destination_page_number(entry))  # type: ignore[arg-type]
        return found

    starts = flat(reader.outline)  # type: ignore[arg-type]
    assert starts == sorted(starts)
    assert starts[0] == 0
    assert reader.page_labels == [str(number) for number in range(1, len(reader.pages) + 1)]
    root = reader.trailer["/Root"]
    assert root["/PageMode"] == "/UseOutlines"  # type: ignore[index]
    assert bool(root["/ViewerPreferences"]["/DisplayDocTitle"])  # type: ignore[index]
