"""Fields to fill: an ink line on the paper and an AcroForm field of the same place on screen.

Coordinates are points in the canvas's current system, origin at the lower left. Fields carry
no fill and no border, so that a printed sheet shows only the ruled line. They use a standard
font, set by the viewer; nothing is drawn with it until someone types.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Any, Final

FIELD_SIZE: Final = 9.0


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
    if not name or width < 4 or height < 4:
        return
    canvas.acroForm.textfield(
        name=name,
        tooltip=tooltip,
        x=x,
        y=y,
        width=width,
        height=height,
        relative=True,
        fillColor=None,
        borderColor=None,
        borderWidth=0,
        fontName="Helvetica",
        fontSize=FIELD_SIZE,
        maxlen=None,
    )


def check_box(canvas: Any, x: float, y: float, size: float, name: str, tooltip: str) -> None:
    """Draw an empty box and place a check field over it; an empty name draws the box alone."""
    canvas.setLineWidth(0.8)
    canvas.setStrokeGray(0)
    canvas.rect(x, y, size, size, stroke=1, fill=0)
    if name:
        canvas.acroForm.checkbox(
            name=name,
            tooltip=tooltip,
            x=x,
            y=y,
            size=size,
            relative=True,
            fillColor=None,
            borderColor=None,
            borderWidth=0,
            buttonStyle="check",
            fieldFlags="",
        )
