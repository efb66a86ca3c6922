"""What is kept from one document to the next: the same bytes with it and without, bounded, unchangeable."""

from __future__ import annotations

import datetime as dt
import gc
import importlib
import pkgutil
from collections.abc import Callable, Iterator
from io import BytesIO
from typing import Any
from weakref import ref

import pytest
from pypdf import PdfReader
from reportlab.pdfbase.pdfdoc import PDFArray, PDFObjectReference
from reportlab.pdfgen.canvas import Canvas

import planforge.document
import planforge.figures
from planforge.assess.assessment import Assessment, assess
from planforge.document import finish, fonts, form, markdown_flow, text
from planforge.document.build import Choice, Part, build_pdf
from planforge.document.packet import packet
from planforge.document.style import BODY
from planforge.document.written import written
from planforge.errors import RefusedError
from planforge.figures import figure_set
from tests.document.conftest import META
from tests.document.packets import FINGERPRINT, job_of

ISSUED = dt.date(2026, 11, 30)
BY_LANGUAGE = {"words"}
"""Kept without a bound of their own: there are as many answers as folders of templates."""


def caches() -> Iterator[tuple[str, Any]]:
    """Every function of the two floors that keeps its answers, by its name."""
    for floor in (planforge.document, planforge.figures):
        for module in pkgutil.iter_modules(floor.__path__):
            for name, thing in vars(importlib.import_module(f"{floor.__name__}.{module.name}")).items():
                if hasattr(thing, "cache_clear") and thing.__module__.startswith(floor.__name__):
                    yield name, thing


TYPEFACES = {"font", "font_at"}
"""Registered with reportlab once in a process: a second copy would be another font of the same name."""


def forget() -> None:
    for name, kept in caches():
        if name not in TYPEFACES:
            kept.cache_clear()


def drawn(lot: Assessment) -> bytes:
    return packet(
        lot, fingerprint=FINGERPRINT, date=ISSUED, draft=False, attachment=None, figures=figure_set(lot)
    )


def test_lots_of_one_design_come_out_the_same_in_any_order() -> None:
    """Two lots of one house, one the mirror of the other, each drawn first and each drawn after the other."""
    one, other = (assess(job_of(name)) for name in ("heron_lot_14", "heron_lot_15"))
    forget()
    first = {"one": drawn(one), "other": drawn(other)}
    forget()
    again = {"other": drawn(other), "one": drawn(one)}
    assert first == again
    assert drawn(one) == first["one"]


def test_every_store_is_bounded() -> None:
    found = dict(caches())
    assert {"_broken_run", "_pieces", "_all_placed", "_hatched", "_inside"} <= found.keys()
    unbounded = {n for n, kept in found.items() if kept.cache_parameters()["maxsize"] is None}
    assert unbounded == BY_LANGUAGE


def test_texts_that_are_kept_are_plain_tuples() -> None:
    source = "a **bold** word, `code`\nand *more*"
    assert isinstance(markdown_flow._pieces(source), tuple)
    inlines = (text.Run("several words to break "), text.Run("over lines", fonts.BOLD))
    lines = text.break_lines(inlines, BODY, 60.0)
    assert lines is text.break_lines(inlines, BODY, 60.0)
    assert isinstance(lines, tuple) and all(isinstance(line.segments, tuple) for line in lines)
    with pytest.raises(AttributeError):
        lines[0].width = 0.0  # type: ignore[misc]


@pytest.mark.parametrize("running", [True, False])
def test_the_collector_goes_on_as_it_did(running: bool) -> None:
    lot = assess(job_of("heron_lot_17"))
    before = gc.isenabled()
    try:
        (gc.enable if running else gc.disable)()
        with pytest.raises(RefusedError, match="asks for the figure"):
            packet(lot, fingerprint=FINGERPRINT, date=ISSUED, draft=False, attachment=None, figures={})
        assert gc.isenabled() == running
    finally:
        (gc.enable if before else gc.disable)()


def test_a_packet_goes_when_it_is_done() -> None:
    """Nothing of a plan waits for Python's search for cycles: a site's lots come one after the other."""
    lot = assess(job_of("heron_lot_17"))
    known = ref(lot)
    before = gc.isenabled()
    gc.collect()
    gc.disable()
    try:
        figures = figure_set(lot)
        packet(lot, fingerprint=FINGERPRINT, date=ISSUED, draft=False, attachment=None, figures=figures)
        del lot, figures
        assert known() is None
        assert not [thing for thing in gc.get_objects() if isinstance(thing, Canvas)]
    finally:
        (gc.enable if before else gc.disable)()


def _pages_with_fields(*, finish_pages: bool = True) -> Canvas:
    canvas = finish.open_canvas(META)
    for page in range(3):
        canvas.bookmarkPage(f"page{page}")
        canvas.addOutlineEntry(f"Page {page}", f"page{page}", 0)
        fonts.draw(canvas, 72.0, 700.0, "Wörter – words", fonts.REGULAR, 10.0)
        for row in range(12):
            form.text_field(canvas, 72.0, 40.0 * row, 90.0, 20.0, f"field-{page}-{row}", "A field (to fill)")
        form.check_box(canvas, 300.0, 300.0, 9.0, f"box-{page}", "A box")
        canvas.showPage()
    if finish_pages:
        finish._finish_pages(canvas)
        finish._finish_streams(canvas)
    return canvas


def _as_reportlab_writes(canvas: Canvas) -> Any:
    """The file by reportlab's own writer, the lists of references too."""
    document = canvas._doc
    fields = document.Catalog.AcroForm.dict
    fields["Fields"] = PDFArray(map(PDFObjectReference, fields["Fields"].sequence))
    for page in document.Pages.pages:
        page.Annots = [*map(PDFObjectReference, page.Annots)]
    return canvas.getpdfdata()


def test_a_page_is_written_as_reportlab_writes_it() -> None:
    """Against reportlab's own page: the same entries, but for those that say nothing."""
    ours, theirs = _pages_with_fields(), _pages_with_fields(finish_pages=False)
    read = [PdfReader(BytesIO(data)).pages for data in (written(ours), _as_reportlab_writes(theirs))]
    for own, other in zip(*read, strict=True):
        assert own.get_contents().get_data() == other.get_contents().get_data()
        assert own["/MediaBox"] == other["/MediaBox"]
        assert own["/Resources"]["/Font"].keys() == other["/Resources"]["/Font"].keys()
        assert [a["/T"] for a in own["/Annots"]] == [a["/T"] for a in other["/Annots"]]
        assert other.keys() - own.keys() <= {"/Rotate", "/Trans"}
        assert own.keys() - other.keys() == {"/Tabs"}


def test_a_file_is_written_as_reportlab_writes_it() -> None:
    """Against reportlab's own writer: the same objects, numbers, places and trailer, to the byte."""
    assert written(_pages_with_fields()) == _as_reportlab_writes(_pages_with_fields())


def test_a_way_that_was_tried_and_left_leaves_no_trace(make: Callable[..., bytes], tmp_path: Any) -> None:
    """Names of fields, bookmarks and objects are those of a document that never tried the longer way."""
    made = {
        "long.md": "# Long\n\n{{ page_break() }}\n\n{{ blank('Name', 2) }}\n\n{{ page_break() }}\n\nMore",
        "short.md": "# Short\n\n{{ blank('Name', 2) }}",
        "last.md": "# Last\n\n{{ blank('Name', 2) }}\n\n- [ ] Name",
    }
    for name, source in made.items():
        (tmp_path / name).write_text(source, encoding="utf-8")
    long, short, last = (Part(name) for name in made)
    chosen = build_pdf([Choice(((long,), (short, last)), 1)], META, {}, folder=tmp_path)
    assert chosen == build_pdf([short, last], META, {}, folder=tmp_path)
    kept = build_pdf([Choice(((long, last), (short,)), 3)], META, {}, folder=tmp_path)
    assert kept == build_pdf([long, last], META, {}, folder=tmp_path)
