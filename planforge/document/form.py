"""Fields to fill or sign: an ink line on the paper and an AcroForm field of the same place on screen.

Coordinates are points in the canvas's current system, origin at the lower left. Fields carry
no fill and no border, so that a printed sheet shows only the ruled line. Their font rides in the file
(:mod:`planforge.document.form_font`); nothing is drawn with it until someone types.

Every field has its picture (empty, until someone fills it in), and the form does not ask readers to make
them (NeedAppearances): PDF/A wants the one and forbids the other (ISO 19005-3, 6.3.3 and 6.4.1, from memory).
Each text field has a picture of its own, since some programs that fill in a form write into the picture
that is there; one shared by all would then show the same words in every field.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import Any, Final

from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFObject, PDFStream, PDFString

from planforge.document import marks
from planforge.document.form_font import form_font
from planforge.document.recorder import Recorder
from planforge.document.written import References, held, reference

_FONT: Final = "Form"
_TYPED: Final = f"/{_FONT} 0 Tf 0 g"
"""Size 0: the reader sets what is typed as large as the field holds it (ISO 32000-1, 12.7.3.3)."""
_PRINTED: Final = 4
_LEAST: Final = 4.0
_HAS_SIGNATURE_FIELDS: Final = 1
_DELIMITERS: Final = str.maketrans({one: f"\\{one}" for one in "\\()"})


class FieldNames:
    """Hands out field names that are unique in a document and stable between builds."""

    def __init__(self) -> None:
        """Start with no names given."""
        self._given: dict[str, int] = {}

    def copy(self) -> FieldNames:
        """Return the names given so far, apart from those still to come."""
        other = FieldNames()
        other.take(self)
        return other

    def take(self, other: FieldNames) -> None:
        """Go on from the names that ``other`` gave."""
        self._given = dict(other._given)

    def unique(self, label: str) -> str:
        """Return a name made from ``label``: lower-case ASCII words, numbered from the second on."""
        base = _base(label)
        count = self._given[base] = self._given.get(base, 0) + 1
        return base if count == 1 else f"{base}--{count}"


@lru_cache(maxsize=20_000)
def _base(label: str) -> str:
    plain = unicodedata.normalize("NFKD", label).encode("ascii", "ignore").decode()
    return "-".join(re.findall(r"[a-z0-9]+", plain.lower()))[:60] or "field"


def text_field(canvas: Any, x: float, y: float, width: float, height: float, name: str, tooltip: str) -> None:
    """Place a transparent text field; an empty name places none."""
    if not name or width < _LEAST or height < _LEAST:
        return
    if isinstance(canvas, Recorder):
        canvas.fields.append((text_field, (x, y, width, height, name, tooltip)))
        return
    entries = f"/FT /Tx /DA ({_TYPED})"
    _add(canvas, (x, y, x + width, y + height), name, tooltip, entries, (_nothing(canvas, width, height),))


def signature_field(
    canvas: Any, x: float, y: float, width: float, height: float, name: str, role: str
) -> None:
    """Place a field that a reader, or ``planforge sign``, signs with a certificate; ``role`` says as whom.

    It takes no typed text: who signs by hand signs on the printed line.
    """
    if isinstance(canvas, Recorder):
        canvas.fields.append((signature_field, (x, y, width, height, name, role)))
        return
    _add(canvas, (x, y, x + width, y + height), name, role, "/FT /Sig", (_nothing(canvas, width, height),))
    _form(canvas._doc).dict["SigFlags"] = _HAS_SIGNATURE_FIELDS


def check_box(canvas: Any, x: float, y: float, size: float, name: str, tooltip: str) -> None:
    """Draw an empty box and place a check field over it; an empty name draws the box alone."""
    marks.frame(canvas, x, y, size, size, 0.8)
    if name:
        _check_field(canvas, x, y, size, name, tooltip)


def _check_field(canvas: Any, x: float, y: float, size: float, name: str, tooltip: str) -> None:
    if isinstance(canvas, Recorder):
        canvas.fields.append((_check_field, (x, y, size, name, tooltip)))
        return
    states = tuple(_appearance(canvas, size, checked=checked) for checked in (True, False))
    entries = "/FT /Btn /V /Off /AS /Off /MK << /CA (8) >>"
    _add(canvas, (x, y, x + size, y + size), name, tooltip, entries, states)


def _add(
    canvas: Any,
    box: tuple[float, float, float, float],
    name: str,
    tooltip: str,
    entries: str,
    states: tuple[Any, ...],
) -> None:
    """Add a field that is its own widget (ISO 32000-1, 12.5.6.19 and 12.7.3)."""
    document = canvas._doc
    left, bottom = canvas.absolutePosition(box[0], box[1])
    right, top = canvas.absolutePosition(box[2], box[3])
    common = (
        f"/Type /Annot /Subtype /Widget /Rect [{left:.2f} {bottom:.2f} {right:.2f} {top:.2f}] "
        f"/F {_PRINTED} /T {_string(name)} /TU {_string(tooltip)}"
    )
    number = held(document, _Widget(f"{common} {entries}", document.thisPageRef(), states))
    canvas._annotationrefs.append(number)
    _fields(document).append(number)


class _Widget(PDFObject):  # type: ignore[misc]
    """A field's dictionary, written whole: a plan has thousands, and entry by entry each takes long.

    ``states`` refer to a check box's drawings, checked and empty, or to a field's one picture.
    """

    def __init__(self, entries: str, page: Any, states: tuple[Any, ...]) -> None:
        self._entries, self._page, self._states = entries, page, states

    def format(self, document: Any) -> bytes:
        drawings = [reference(document, state) for state in self._states]
        shown = b"<< /Yes %b /Off %b >>" % tuple(drawings) if len(drawings) == 2 else drawings[0]
        entries = self._entries.encode("ascii")
        return b"<< %b /P %b /AP << /N %b >> >>" % (entries, reference(document, self._page), shown)


def _nothing(canvas: Any, width: float, height: float) -> int:
    """The picture of a field that nobody has filled in: a form XObject without content."""
    box = f"[0 0 {width:.2f} {height:.2f}]"
    entries = f"<< /Type /XObject /Subtype /Form /BBox {box} /Resources << >> /Length 0 >>"
    return held(canvas._doc, entries.encode("ascii") + b"\nstream\n\nendstream")


def _string(value: str) -> str:
    """Return a text string (ISO 32000-1, 7.9.2): as it stands in ASCII, in hexadecimal UTF-16 otherwise."""
    if value.isascii() and value.isprintable():
        return f"({value.translate(_DELIMITERS)})"
    return f"<FEFF{value.encode('utf-16-be').hex()}>"


def _fields(document: Any) -> list[Any]:
    """Return the form's list of fields."""
    fields: list[Any] = _form(document).dict["Fields"].sequence
    return fields


def _form(document: Any) -> Any:
    """Return the form; it comes into being with its first field."""
    form = getattr(document.Catalog, "AcroForm", None)
    if form is None:
        resources = PDFDictionary({"Font": PDFDictionary({_FONT: form_font(document)})})
        form = PDFDictionary({"Fields": References([]), "DR": resources, "DA": PDFString(_TYPED)})
        document.Catalog.AcroForm = form
    return form


def _appearance(canvas: Any, size: float, *, checked: bool) -> Any:
    """Return the shared drawing of a box's state: a cross, or nothing over the printed box."""
    document = canvas._doc
    name = f"check-{size:.2f}-{checked}"
    if name not in document.idToObject:
        near, far = 0.2 * size, 0.8 * size
        strokes = (
            f"{near:.2f} {near:.2f} m {far:.2f} {far:.2f} l {near:.2f} {far:.2f} m {far:.2f} {near:.2f} l S"
        )
        stream = PDFStream(content=f"1.4 w {strokes}" if checked else " ")
        stream.dictionary["Type"] = PDFName("XObject")
        stream.dictionary["Subtype"] = PDFName("Form")
        stream.dictionary["BBox"] = PDFArray([0, 0, round(size, 2), round(size, 2)])
        return document.Reference(stream, name)
    return document.Reference(document.idToObject[name], name)
