"""Fields to fill: an ink line on the paper and an AcroForm field of the same place on screen.

Coordinates are points in the canvas's current system, origin at the lower left. Fields carry
no fill and no border, so that a printed sheet shows only the ruled line. They use a standard
font, set by the viewer; nothing is drawn with it until someone types.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Any, Final

from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFStream, PDFString

_TYPED: Final = "/Helv 9 Tf 0 g"
_PRINTED: Final = 4
_LEAST: Final = 4.0


class FieldNames:
    """Hands out field names that are unique in a document and stable between builds."""

    def __init__(self) -> None:
        """Start with no names given."""
        self._given: dict[str, int] = {}

    def unique(self, label: str) -> str:
        """Return a name made from ``label``: lower-case ASCII words, numbered from the second on."""
        plain = unicodedata.normalize("NFKD", label).encode("ascii", "ignore").decode()
        base = "-".join(re.findall(r"[a-z0-9]+", plain.lower()))[:60] or "field"
        count = self._given[base] = self._given.get(base, 0) + 1
        return base if count == 1 else f"{base}--{count}"


def text_field(canvas: Any, x: float, y: float, width: float, height: float, name: str, tooltip: str) -> None:
    """Place a transparent text field; an empty name places none."""
    if not name or width < _LEAST or height < _LEAST:
        return
    _add(canvas, (x, y, x + width, y + height), name, tooltip, {"FT": PDFName("Tx"), "DA": PDFString(_TYPED)})


def check_box(canvas: Any, x: float, y: float, size: float, name: str, tooltip: str) -> None:
    """Draw an empty box and place a check field over it; an empty name draws the box alone."""
    canvas.setLineWidth(0.8)
    canvas.setStrokeGray(0)
    canvas.rect(x, y, size, size, stroke=1, fill=0)
    if not name:
        return
    states = {"Yes": _appearance(canvas, size, checked=True), "Off": _appearance(canvas, size, checked=False)}
    entries = {
        "FT": PDFName("Btn"),
        "V": PDFName("Off"),
        "AS": PDFName("Off"),
        "AP": PDFDictionary({"N": PDFDictionary(states)}),
        "MK": PDFDictionary({"CA": PDFString("8")}),
    }
    _add(canvas, (x, y, x + size, y + size), name, tooltip, entries)


def _add(
    canvas: Any, box: tuple[float, float, float, float], name: str, tooltip: str, entries: dict[str, Any]
) -> None:
    """Add a field that is its own widget (ISO 32000-1, 12.5.6.19 and 12.7.3)."""
    document = canvas._doc
    left, bottom = canvas.absolutePosition(box[0], box[1])
    right, top = canvas.absolutePosition(box[2], box[3])
    widget = PDFDictionary(
        {
            "Type": PDFName("Annot"),
            "Subtype": PDFName("Widget"),
            "Rect": PDFArray([round(edge, 2) for edge in (left, bottom, right, top)]),
            "F": _PRINTED,
            "P": document.thisPageRef(),
            "T": PDFString(name),
            "TU": PDFString(tooltip),
            **entries,
        }
    )
    canvas._addAnnotation(widget)
    _fields(document).append(document.Reference(widget))


def _fields(document: Any) -> list[Any]:
    """Return the form's list of fields; the form comes into being with the first of them."""
    form = getattr(document.Catalog, "AcroForm", None)
    if form is None:
        helvetica = PDFDictionary(
            {
                "Type": PDFName("Font"),
                "Subtype": PDFName("Type1"),
                "BaseFont": PDFName("Helvetica"),
                "Encoding": PDFName("WinAnsiEncoding"),
            }
        )
        resources = PDFDictionary({"Font": PDFDictionary({"Helv": document.Reference(helvetica)})})
        form = PDFDictionary({"Fields": PDFArray([]), "DR": resources, "DA": PDFString(_TYPED)})
        document.Catalog.AcroForm = form
    fields: list[Any] = form.dict["Fields"].sequence
    return fields


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
