"""Figures drawn on the document's canvas: true size, real text, hatches, dashes."""

from __future__ import annotations

import re
from collections.abc import Callable

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Rectangle
from pypdf import PdfReader

from planforge.document import fonts
from planforge.document.canvas_backend import path_operators
from planforge.document.style import SHEET_WIDTH
from planforge.errors import RefusedError

MM = 72.0 / 25.4


def blank(width: float = 6.0, height: float = 3.0) -> tuple[Figure, object]:
    figure = Figure(figsize=(width, height))
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_xlim(0, width * 25.4)
    axes.set_ylim(0, height * 25.4)
    axes.axis("off")
    return figure, axes


def content(reader: PdfReader) -> str:
    return "\n".join(page.get_contents().get_data().decode("latin-1") for page in reader.pages)


@pytest.mark.parametrize("dpi", [72, 100, 300])
def test_a_100_mm_line_measures_100_mm_on_paper(read: Callable[..., PdfReader], dpi: int) -> None:
    """At true scale whatever the figure's dpi; no transform but a shift stands before it."""
    figure, axes = blank()
    figure.dpi = dpi
    axes.plot([20, 120], [40, 40], color="k", lw=1.25)
    data = content(read("{{ figure('f') }}", figures={"f": figure}))
    line = re.search(r"1\.250 w[^m]*\n([\d.]+) ([\d.]+) m\n([\d.]+) ([\d.]+) l\nS", data)
    assert line is not None
    x0, y0, x1, y1 = (float(number) for number in line.groups())
    assert x1 - x0 == pytest.approx(100 * MM, abs=0.003)
    assert y0 == y1
    before = data[: line.start()]
    assert set(re.findall(r"(\S+ \S+ \S+ \S+) \S+ \S+ cm", before)) == {"1 0 0 1"}
    assert figure.dpi == dpi


def test_text_is_text_in_the_documents_font(read: Callable[..., PdfReader]) -> None:
    figure, axes = blank()
    axes.text(10, 10, "cost $5 and $6, bold", weight="bold", fontsize=12)
    axes.text(60, 30, "upright", rotation=90)
    reader = read("Body\n\n{{ figure('f') }}", figures={"f": figure})
    text = reader.pages[0].extract_text()
    assert "cost $5 and $6, bold" in text
    assert "upright" in text.replace("\n", "")
    names = {font.get_object()["/BaseFont"] for font in reader.pages[0]["/Resources"]["/Font"].values()}
    assert all("SourceSansPro" in name for name in names)


def test_alignment_uses_the_printed_metrics(read: Callable[..., PdfReader]) -> None:
    """Right-aligned text ends where it was told to: layout and print measure alike."""
    figure, axes = blank()
    axes.text(100, 20, "right edge here", ha="right", fontsize=11)
    data = content(read("{{ figure('f') }}", figures={"f": figure}))
    start = re.search(r"BT 1 0 0 1 ([\d.]+) [\d.]+ Tm\n\S+ 11\.000 Tf \(right edge here\)", data)
    assert start is not None
    width = fonts.width("right edge here", fonts.REGULAR, 11)
    assert float(start[1]) + width == pytest.approx(100 * MM, abs=0.02)


def test_hatch_lines_are_clipped_to_their_patch(read: Callable[..., PdfReader]) -> None:
    plain, axes = blank()
    axes.add_patch(Rectangle((10, 10), 60, 30, fill=False))
    hatched, axes = blank()
    axes.add_patch(Rectangle((10, 10), 60, 30, fill=False, hatch="///"))
    source = "{{ figure('f') }}"
    without, with_hatch = (content(read(source, figures={"f": figure})) for figure in (plain, hatched))
    assert with_hatch.count(" l") > without.count(" l") + 20
    assert re.search(r"q\n[^q]*h?\nW n\n0\.000 0\.000 0\.000 RG", with_hatch)


def test_dashes_scale_with_the_line(read: Callable[..., PdfReader]) -> None:
    figure, axes = blank()
    axes.plot([0, 100], [10, 10], "--", lw=2)
    assert re.search(r"\[7\.400 3\.200\] 0\.000 d", content(read("{{ figure('f') }}", figures={"f": figure})))


def test_fills_alpha_clip_curves_and_images(read: Callable[..., PdfReader]) -> None:
    figure, axes = blank()
    axes.add_patch(Circle((40, 40), 20, facecolor="0.8", alpha=0.5))
    axes.imshow(np.linspace(0, 1, 16).reshape(4, 4), extent=(80, 100, 10, 30), cmap="gray")
    axes.set_aspect("auto")
    axes.set_xlim(0, 152.4)
    axes.set_ylim(0, 76.2)
    reader = read("{{ figure('f') }}", figures={"f": figure})
    data = content(reader)
    assert re.search(r"0\.800 0\.800 0\.800 rg", data)
    assert " c\n" in data
    assert "re W n" in data
    states = reader.pages[0]["/Resources"]["/ExtGState"].values()
    assert 0.5 in [float(state.get_object().get("/ca", 1)) for state in states]
    assert len(reader.pages[0].images) == 1


def test_quadratic_curves_become_the_same_cubic() -> None:
    """A quadratic Bezier raised to a cubic: control points at 2/3 (Bezier degree elevation)."""
    from matplotlib.path import Path  # noqa: PLC0415

    path = Path([(0, 0), (3, 6), (6, 0)], [Path.MOVETO, Path.CURVE3, Path.CURVE3])
    expected = "0.000 0.000 m\n2.000 4.000 4.000 4.000 6.000 0.000 c"
    assert path_operators(path, None) == expected


def test_a_figure_larger_than_its_page_is_refused(read: Callable[..., PdfReader]) -> None:
    figure, _ = blank(7.5, 3.0)
    with pytest.raises(
        RefusedError, match=r"figure 'f' is 7\.50 x 3\.00 in; a portrait page holds at most 7\.00"
    ):
        read("{{ figure('f') }}", figures={"f": figure})
    wide, _ = blank(SHEET_WIDTH / 72 + 0.1, 3.0)
    with pytest.raises(RefusedError, match="a sheet holds at most"):
        read("{{ sheet('f', 'Layout') }}", figures={"f": wide})
