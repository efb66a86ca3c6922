"""From the drawing's coordinates to the plan's: units, scale, and where the drawing lies.

plan = at + R(turned) (k * drawing - base point), heights z = k * drawing - datum, with k the metres in one
unit of the drawing, times the scale.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from ezdxf.document import Drawing as DxfDocument

from planforge.cad.problems import DrawingError, drawn
from planforge.calc.arrays import Array
from planforge.job.drawing import Drawing
from planforge.units import FOOT, INCH

UNITS = {
    "in": INCH,
    "ft": FOOT,
    "US survey ft": 1200.0 / 3937.0,
    "mm": 1e-3,
    "cm": 1e-2,
    "m": 1.0,
}
"""Metres in one unit; the US survey foot is 1200/3937 m by definition (NIST SP 811, appendix B.6)."""

INSUNITS = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m", 21: "US survey ft"}
"""What the header's $INSUNITS means, of the units that a building is drawn in (DXF reference, header)."""

SAY = "Ask who drew it, then write drawing.units: one of " + ", ".join(UNITS) + "."


@dataclass(frozen=True)
class Placing:
    """How a drawing lies on the plan."""

    unit: str
    stated: bool  # by the job; else by the drawing's header
    scale: float
    factor: float  # metres in one unit of the drawing, times the scale
    base_point: tuple[float, float]
    at: tuple[float, float]
    turned: float
    datum: float

    def __call__(self, points: Array) -> Array:
        """Points (n, 3) of the drawing on the plan, m."""
        moved = points * self.factor - np.array([*self.base_point, self.datum])
        c, s = np.cos(self.turned), np.sin(self.turned)
        plan = moved[:, :2] @ np.array([[c, s], [-s, c]]) + np.asarray(self.at)
        return np.asarray(np.column_stack([plan, moved[:, 2]]))

    def in_drawing(self, at: Array) -> str:
        """Where a place (x, y, ...) on the plan stands in the drawing, as its CAD program shows it."""
        c, s = np.cos(self.turned), np.sin(self.turned)
        off = np.asarray(at)[:2] - np.asarray(self.at)
        x, y = (off @ np.array([[c, -s], [s, c]]) + np.asarray(self.base_point)) / self.factor
        return f"x {x:.6g}, y {y:.6g} of the drawing"


def placing(name: str, drawing: Drawing, document: DxfDocument, release: str) -> Placing:
    """Settle the units, or raise :class:`DrawingError` where they are not clear beyond doubt."""
    # R12 has no such field; what a later program may have left there means nothing
    code = int(document.header.get("$INSUNITS", 0)) if release != "R12" else 0
    header = INSUNITS.get(code)
    if header is None and code != 0:
        found = f"the unit number {code} in its header ($INSUNITS), in which no building is drawn"
        remedy = "Correct the drawing's insertion units in the CAD program. " + SAY
        raise DrawingError([drawn(name, found, "feet, inches, mm, cm or m", remedy)])
    if header is None and drawing.units is None:
        found = "a drawing that does not say its units ($INSUNITS is 0 or absent)"
        raise DrawingError([drawn(name, found, "units, in the drawing or in the job", SAY)])
    if header is not None and drawing.units is not None and header != drawing.units:
        found = f"{header} by the drawing's header and {drawing.units} by drawing.units"
        remedy = (
            "Find out which is true and correct drawing.units or the drawing's insertion units. Where the "
            "header is wrong and must stay, delete drawing.units and state drawing.scale."
        )
        raise DrawingError([drawn(name, found, "one unit", remedy)])
    unit = drawing.units or header
    assert unit is not None  # one of the two is stated
    return Placing(
        unit,
        drawing.units is not None,
        drawing.scale,
        UNITS[unit] * drawing.scale,
        drawing.base_point,
        drawing.at,
        drawing.turned,
        drawing.datum,
    )
