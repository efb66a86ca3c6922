"""A DXF file in the making: layers as they are used, plain shapes in m, the same bytes from the same shapes.

US jobs are drawn in inches with architectural units, metric jobs in metres; model space is at full size.
"""

from __future__ import annotations

import datetime as dt
import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Literal

import ezdxf
import numpy as np
from ezdxf._options import options
from ezdxf.enums import TextEntityAlignment
from ezdxf.tools.juliandate import juliandate

from planforge.cad.layer_table import STYLES
from planforge.calc.arrays import Array
from planforge.units import INCH

RELEASE = "R2010"
_DATES = ("$TDCREATE", "$TDUCREATE", "$TDUPDATE", "$TDUUPDATE")
_GUIDS = ("$VERSIONGUID", "$FINGERPRINTGUID")
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]+")

Place = Sequence[float] | Array
"""x and y, m."""
Points = Sequence[Place] | Array
"""Several places, (n, 2), m."""


class Page:
    """Collects what is drawn; every length and place is in m on the plan."""

    def __init__(self, system: Literal["us", "metric"]) -> None:
        """Begin an empty drawing in the units of ``system``."""
        self.unit = INCH if system == "us" else 1.0
        with _without_clock():
            self._document = ezdxf.new(RELEASE)  # type: ignore[attr-defined]
        self._space = self._document.modelspace()
        header = self._document.header
        header["$INSUNITS"], header["$MEASUREMENT"] = (1, 0) if system == "us" else (6, 1)
        header["$LUNITS"], header["$LUPREC"] = (4, 4) if system == "us" else (2, 3)
        dash = 0.15 / self.unit
        for name, says, pattern in (
            ("DASHED", "Dashed", [1.5, 1.0, -0.5]),
            ("DASHDOT", "Dash and dot", [2.0, 1.2, -0.4, 0.0, -0.4]),
            ("DOT", "Dotted", [0.4, 0.0, -0.4]),
        ):
            self._document.linetypes.add(name, [dash * p for p in pattern], description=says)
        self._low = np.array([np.inf, np.inf])
        self._high = -self._low

    @property
    def extent(self) -> tuple[Array, Array]:
        """Least and greatest corner of all that is drawn so far, m."""
        return self._low, self._high

    def path(self, layer: str, points: Points, *, closed: bool = False) -> None:
        """A polyline (n, 2)."""
        self._space.add_lwpolyline(
            self._placed(points).tolist(), close=closed, dxfattribs={"layer": self._layer(layer)}
        )

    def path_at_heights(self, layer: str, points: Points, heights: Sequence[float]) -> None:
        """A closed polyline (n, 2) with a height for each point."""
        scaled = np.asarray(heights, dtype=float) / self.unit
        spatial = np.column_stack([self._placed(points), scaled])
        self._space.add_polyline3d(spatial.tolist(), close=True, dxfattribs={"layer": self._layer(layer)})

    def line(self, layer: str, start: Place, end: Place) -> None:
        """A straight line."""
        one, other = self._placed([start, end])
        self._space.add_line(one.tolist(), other.tolist(), dxfattribs={"layer": self._layer(layer)})

    def circle(self, layer: str, at: Place, radius: float) -> None:
        """A circle."""
        (centre,) = self._placed([at])
        self._space.add_circle(centre.tolist(), radius / self.unit, dxfattribs={"layer": self._layer(layer)})

    def point(self, layer: str, at: Place, height: float = 0.0) -> None:
        """A point, at a height where it has one."""
        (place,) = self._placed([at])
        self._space.add_point((*place.tolist(), height / self.unit), dxfattribs={"layer": self._layer(layer)})

    def text(self, layer: str, at: Place, words: str, height: float = 0.15) -> None:
        """One line of text, ``height`` m high, its lower left corner at ``at``."""
        (place,) = self._placed([at])
        text = self._space.add_text(
            shown(words), height=height / self.unit, dxfattribs={"layer": self._layer(layer)}
        )
        text.set_placement(place.tolist(), align=TextEntityAlignment.LEFT)

    def finished(self, date: dt.date, fingerprint: str) -> bytes:
        """The file's bytes: its dates are the plan's, its identity the plan's fingerprint."""
        low, high = self._low / self.unit, self._high / self.unit
        middle = (low + high) / 2.0
        self._document.set_modelspace_vport(height=float(1.1 * (high - low).max()), center=middle.tolist())
        self._space.reset_extents((*low.tolist(), 0.0), (*high.tolist(), 0.0))
        # the library gathers these from a set, whose order changes from run to run
        classes = self._document.classes
        classes.add_required_classes(self._document.dxfversion)
        classes.classes = dict(sorted(classes.classes.items()))
        stream = io.StringIO()
        with _without_clock():
            self._document.write(stream)
        text = stream.getvalue()
        day = f"{juliandate(dt.datetime(date.year, date.month, date.day)):.1f}"
        digits = fingerprint[:32].upper()
        guid = "{" + "-".join(digits[a:b] for a, b in ((0, 8), (8, 12), (12, 16), (16, 20), (20, 32))) + "}"
        for names, value in ((_DATES, day), (_GUIDS, guid)):
            for name in names:
                text = re.sub(rf"({re.escape(name)}\n *\d+\n)[^\n]*", rf"\g<1>{value}", text, count=1)
        return text.encode(self._document.output_encoding, "dxfreplace")

    def _layer(self, name: str) -> str:
        if name not in self._document.layers:
            style = STYLES[name]
            layer = self._document.layers.add(
                name, color=style.colour, linetype=style.line, lineweight=style.width
            )
            layer.description = style.says
        return name

    def _placed(self, points: Points) -> Array:
        places = np.asarray(points, dtype=float)
        self._low = np.minimum(self._low, places.min(axis=0))
        self._high = np.maximum(self._high, places.max(axis=0))
        return np.asarray(places / self.unit)


def shown(words: str) -> str:
    """A text of a job as a CAD program shows it: one line, and nothing in it taken for a code of DXF."""
    line = _CONTROL.sub(" ", words)
    return line.replace("^", "^ ").replace("%%", "% %").replace("\\U+", "\\ U+").replace("\\M+", "\\ M+")


@contextmanager
def _without_clock() -> Iterator[None]:
    """The library's switch against clock and chance; its fixed values are replaced afterwards."""
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before
