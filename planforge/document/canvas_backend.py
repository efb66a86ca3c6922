"""Draws a matplotlib figure straight on the document's canvas, at true size.

Why not matplotlib's own PDF writer: figures drawn here share the document's embedded fonts (one
subset for all), their text is measured with the metrics it is printed with, and no second file
has to be merged in. Display units are points (72 to the inch), origin at the lower left, so one
inch of figure is one inch of paper and a stated scale stays true. ``$`` is an ordinary character.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from matplotlib.backend_bases import RendererBase
from matplotlib.path import Path
from matplotlib.transforms import Affine2D
from PIL import Image
from reportlab.lib.utils import ImageReader

from planforge.document import fonts

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_HATCH_TILE: Final = 72.0
_HATCH_DENSITY: Final = 6
_BOLD_FROM: Final = 600
_CAPS: Final = {"butt": 0, "round": 1, "projecting": 2}
_JOINS: Final = {"miter": 0, "round": 1, "bevel": 2}
_WEIGHTS: Final = {"semibold": 600, "demibold": 600, "demi": 600, "bold": 700, "heavy": 800, "black": 900}


def face_of(properties: Any) -> str:
    """Return the document's face for matplotlib's font properties: weight and slant count."""
    weight = properties.get_weight()
    number = weight if isinstance(weight, int | float) else _WEIGHTS.get(weight, 400)
    return fonts.styled(number >= _BOLD_FROM, properties.get_style() != "normal")


def path_operators(path: Any, transform: Any) -> str:
    """Return PDF path operators for ``path`` under ``transform``, coordinates to 0.001 pt."""
    cleaned = path.cleaned(transform, remove_nans=True, curves=True, simplify=path.should_simplify)
    operators: list[str] = []
    points: list[str] = []
    for code, (x, y) in zip(cleaned.codes.tolist(), cleaned.vertices.tolist(), strict=True):
        if code == Path.STOP:
            break
        if code == Path.CLOSEPOLY:
            operators.append("h")
        elif code == Path.MOVETO:
            operators.append(f"{x:.3f} {y:.3f} m")
        elif code == Path.LINETO:
            operators.append(f"{x:.3f} {y:.3f} l")
        else:
            points.append(f"{x:.3f} {y:.3f}")
            if len(points) == code - 1 and code == Path.CURVE4:
                operators.append(" ".join(points) + " c")
                points = []
            elif code == Path.CURVE3 and len(points) == 2:
                operators.append(_cubic_from_quadratic(operators, points))
                points = []
    return "\n".join(operators)


def _cubic_from_quadratic(operators: Sequence[str], points: Sequence[str]) -> str:
    """Raise a quadratic Bezier segment to the cubic that PDF knows."""
    start = [float(number) for number in operators[-1].split()[-3:-1]]
    control, end = ([float(number) for number in point.split()] for point in points)
    first = [a + 2 / 3 * (c - a) for a, c in zip(start, control, strict=True)]
    second = [e + 2 / 3 * (c - e) for e, c in zip(end, control, strict=True)]
    return " ".join(f"{number:.3f}" for number in (*first, *second, *end)) + " c"


class CanvasRenderer(RendererBase):
    """matplotlib's drawing calls, written to a reportlab canvas."""

    def __init__(self, canvas: Any, width: float, height: float) -> None:
        """Draw on ``canvas`` in its current coordinates, in a field of ``width`` x ``height`` points."""
        super().__init__()
        self._canvas = canvas
        self._size = (width, height)

    def get_canvas_width_height(self) -> tuple[float, float]:
        """Return the drawing field in points."""
        return self._size

    def flipy(self) -> bool:
        """Y runs upward, as in PDF."""
        return False

    def points_to_pixels(self, points: Any) -> Any:
        """One display unit is one point."""
        return points

    def option_image_nocomposite(self) -> bool:
        """Images are placed one by one."""
        return True

    def _write(self, *operators: str) -> None:
        self._canvas._code.extend(operators)

    def _alpha_of(self, gc: Any, face: Any) -> float:
        if gc.get_alpha() is not None and gc.get_alpha() < 1:
            return float(gc.get_alpha())
        if face is not None and len(face) == 4:
            return float(face[3])
        return float(gc.get_rgb()[3]) if len(gc.get_rgb()) == 4 else 1.0

    def _clip(self, gc: Any) -> None:
        rectangle = gc.get_clip_rectangle()
        if rectangle is not None:
            x, y, width, height = rectangle.bounds
            self._write(f"{x:.3f} {y:.3f} {width:.3f} {height:.3f} re W n")
        path, transform = gc.get_clip_path()
        if path is not None:
            self._write(path_operators(path, transform), "W n")

    def _pen(self, gc: Any) -> None:
        red, green, blue = gc.get_rgb()[:3]
        self._write(
            f"{red:.3f} {green:.3f} {blue:.3f} RG {gc.get_linewidth():.3f} w "
            f"{_CAPS[gc.get_capstyle()]} J {_JOINS[gc.get_joinstyle()]} j"
        )
        offset, dashes = gc.get_dashes()
        if dashes is not None and len(dashes):
            self._write(f"[{' '.join(f'{dash:.3f}' for dash in dashes)}] {offset or 0:.3f} d")

    def draw_path(self, gc: Any, path: Any, transform: Any, rgbFace: Any = None) -> None:
        """Fill, hatch and stroke one path."""
        filled = rgbFace is not None and not (len(rgbFace) == 4 and rgbFace[3] == 0)
        rgb = gc.get_rgb()
        stroked = gc.get_linewidth() > 0 and not (len(rgb) == 4 and rgb[3] == 0)
        hatch = gc.get_hatch_path(_HATCH_DENSITY)
        if not (filled or stroked or hatch is not None):
            return
        outline = path_operators(path, transform)
        if not outline:
            return
        canvas = self._canvas
        canvas.saveState()
        alpha = self._alpha_of(gc, rgbFace if filled else None)
        if alpha < 1:
            canvas.setFillAlpha(alpha)
            canvas.setStrokeAlpha(alpha)
        self._clip(gc)
        if filled:
            red, green, blue = rgbFace[:3]
            self._write(f"{red:.3f} {green:.3f} {blue:.3f} rg")
        if stroked:
            self._pen(gc)
        if hatch is None:
            self._write(outline, "B" if filled and stroked else "f" if filled else "S")
        else:
            if filled:
                self._write(outline, "f")
            self._hatch(gc, hatch, outline, path.get_extents(transform))
            if stroked:
                self._write(outline, "S")
        canvas.restoreState()

    def _hatch(self, gc: Any, hatch: Any, outline: str, extents: Any) -> None:
        """Tile the hatch over the path's extents, clipped to the path: lines, not a raster pattern."""
        red, green, blue = gc.get_hatch_color()[:3]
        tile = path_operators(hatch, Affine2D().scale(_HATCH_TILE))
        paint = "B" if "h" in tile else "S"
        self._write(
            "q",
            outline,
            "W n",
            f"{red:.3f} {green:.3f} {blue:.3f} RG {red:.3f} {green:.3f} {blue:.3f} rg "
            f"{gc.get_hatch_linewidth():.3f} w [] 0 d 0 J",
        )
        width, height = self._size
        left, right = max(extents.x0, 0.0), min(extents.x1, width)
        bottom, top = max(extents.y0, 0.0), min(extents.y1, height)
        for column in range(int(left // _HATCH_TILE), int(right // _HATCH_TILE) + 1):
            for row in range(int(bottom // _HATCH_TILE), int(top // _HATCH_TILE) + 1):
                self._write(
                    f"q 1 0 0 1 {column * _HATCH_TILE:.0f} {row * _HATCH_TILE:.0f} cm", tile, paint, "Q"
                )
        self._write("Q")

    def draw_image(self, gc: Any, x: float, y: float, im: Any, transform: Any = None) -> None:
        """Place an RGBA array (rows from the top, 0 to 255) with its lower left corner at ``(x, y)``."""
        picture = ImageReader(Image.fromarray(np.ascontiguousarray(im[::-1] if transform is None else im)))
        height, width = im.shape[:2]
        canvas = self._canvas
        canvas.saveState()
        self._clip(gc)
        if transform is not None:
            canvas.transform(*transform.to_values())
            canvas.translate(x, y)
            width = height = 1
        else:
            canvas.translate(x, y)
        canvas.drawImage(picture, 0, 0, width, height, mask="auto")
        canvas.restoreState()

    def draw_text(
        self,
        gc: Any,
        x: float,
        y: float,
        s: str,
        prop: Any,
        angle: float,
        ismath: Any = False,
        mtext: Any = None,
    ) -> None:
        """Draw ``s`` with its baseline's left end at ``(x, y)``, turned ``angle`` degrees."""
        rgb = gc.get_rgb()
        canvas = self._canvas
        canvas.saveState()
        self._clip(gc)
        alpha = self._alpha_of(gc, None)
        if alpha < 1:
            canvas.setFillAlpha(alpha)
        self._write("{:.3f} {:.3f} {:.3f} rg".format(*rgb[:3]))
        if angle:
            canvas.translate(x, y)
            canvas.rotate(angle)
            x = y = 0.0
        fonts.draw(canvas, x, y, s, face_of(prop), prop.get_size_in_points())
        canvas.restoreState()

    def get_text_width_height_descent(self, s: str, prop: Any, ismath: Any) -> tuple[float, float, float]:
        """Return ``(width, height, descent)`` in points from the metrics that are printed."""
        size = prop.get_size_in_points()
        ascent, descent, _ = self._get_font_height_metrics(prop)
        return fonts.width(s, face_of(prop), size), ascent + descent, descent

    def _get_font_height_metrics(self, prop: Any) -> tuple[float, float, float]:
        """Ascent, descent and line gap in points; newer matplotlib asks this in place of ``"lp"``."""
        size = prop.get_size_in_points()
        return fonts.ASCENT * size, fonts.DESCENT * size, 0.0


def draw_figure(figure: Figure, canvas: Any) -> None:
    """Draw ``figure`` with its lower left corner at the canvas's origin, one figure inch = 72 pt."""
    width, height = (72.0 * float(inches) for inches in figure.get_size_inches())
    canvas.saveState()
    dpi = figure.dpi
    figure.dpi = 72.0
    try:
        figure.draw(CanvasRenderer(canvas, width, height))
    finally:
        figure.dpi = dpi
    canvas.restoreState()
