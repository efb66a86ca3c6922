"""The sheets as printed, read back from the PDF: scale, bar, title block, and parts of a long building."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from functools import cache
from typing import Any

import numpy as np
import pytest
from pypdf import PageObject, PdfReader
from pypdf.generic import ContentStream

from planforge.assess.assessment import Assessment, assess
from planforge.document.build import Part, build_pdf
from planforge.document.context import packet_context
from planforge.figures import drilling_sheets, figure_scales, figure_set, guy_sheets, layout_names
from planforge.figures.layout_sheet import SheetName
from planforge.units import FOOT

from .conftest import META
from .packets import DATE, FINGERPRINT, job_of

Read = Callable[..., PdfReader]
LOTS = ("heron_lot_14", "wren_lot_7_mended", "quartz_court_building_2", "linnet_lot_3_trusses")
THICK = 0.6 / 25.4 * 72
"""Line weight of the building's outline, points (ASME Y14.2's thick line, from memory)."""


@cache
def lot_of(name: str, units: str = "") -> Assessment:
    job = job_of(name)
    if units:
        job = job.model_copy(update={"site": job.site.model_copy(update={"units": units})})
    return assess(job)


def paths(page: PageObject, reader: PdfReader) -> list[tuple[float, bool, bool, np.ndarray]]:
    """Every path of a page in points of paper: line weight, whether dashed, whether filled, points (n, 2).

    Follows the operators q, Q, cm, w, d, m, l and the painting ones (ISO 32000-1, 8.4 and 8.5).
    """
    contents = page.get_contents()
    assert contents is not None
    stream = ContentStream(contents, reader)
    matrix, weight, dashed = np.eye(3), 1.0, False
    kept: list[tuple[Any, float, bool]] = []
    open_paths: list[list[tuple[float, float]]] = []
    found = []
    for operands, operator in stream.operations:
        values = [float(v) for v in operands] if operator in {b"cm", b"m", b"l", b"w"} else []
        if operator == b"q":
            kept.append((matrix, weight, dashed))
        elif operator == b"Q":
            matrix, weight, dashed = kept.pop()
        elif operator == b"cm":
            a, b, c, d, e, f = values
            matrix = np.array([[a, b, 0.0], [c, d, 0.0], [e, f, 1.0]]) @ matrix
        elif operator == b"w":
            (weight,) = values
        elif operator == b"d":
            dashed = len(operands[0]) > 0
        elif operator in {b"m", b"l"}:
            x, y, _ = np.array([*values, 1.0]) @ matrix
            if operator == b"m":
                open_paths.append([])
            open_paths[-1].append((x, y))
        elif operator in {b"S", b"s", b"f", b"B", b"b", b"n"}:
            filled = operator in {b"f", b"B", b"b"}
            found += [(weight, dashed, filled, np.array(p)) for p in open_paths]
            open_paths = []
    return found


def ratio_of(text: str) -> float:
    """Paper over truth of a printed scale: 3/32" = 1'-0", or 1:100."""
    us = re.search(r"Scale ([\d/]+)\" = 1'-0\"", text)
    if us:
        return float(Fraction(us[1])) / 12.0
    metric = re.search(r"Scale 1:(\d+)", text)
    assert metric, text
    return 1.0 / float(metric[1])


def _sheet(read: Read, lot: Assessment) -> tuple[PdfReader, PageObject, str]:
    name = next(n for n in layout_names(lot) if n.phase)
    scale = figure_scales(lot)[name.figure]
    reader = read(
        "{{ sheet(name, 'Layout', scale=scale, number='L1') }}",
        context={"name": name.figure, "scale": scale},
        figures=figure_set(lot),
    )
    page = reader.pages[0]
    return reader, page, " ".join(page.extract_text().split())


@pytest.mark.parametrize(("name", "units"), [*((name, "") for name in LOTS), ("wren_lot_7_mended", "metric")])
def test_the_building_measures_true_on_paper(read: Read, name: str, units: str) -> None:
    """Two corners of the building, read back from the page, stand as far apart as the printed scale says."""
    lot = lot_of(name, units)
    reader, page, text = _sheet(read, lot)
    outlines = [
        p
        for weight, dashed, filled, p in paths(page, reader)
        if abs(weight - THICK) < 0.001 and not dashed and not filled and len(p) > 3
    ]
    (outline,) = outlines
    footprint = np.asarray(lot.job.layout.footprint)
    ratio = ratio_of(text)
    for axis in (0, 1):
        on_paper = np.ptp(outline[:, axis]) / 72.0 * 0.0254  # m of paper
        assert on_paper / np.ptp(footprint[:, axis]) == pytest.approx(ratio, rel=1e-3)
    assert float(page.mediabox.width) == pytest.approx(17 * 72) and float(
        page.mediabox.height
    ) == pytest.approx(11 * 72)
    assert text.count("Scale") >= 2  # beside the bar and in the title block


@pytest.mark.parametrize("name", ["heron_lot_14", "quartz_court_building_2"])
def test_the_bar_measures_what_it_says(read: Read, name: str) -> None:
    reader, page, text = _sheet(read, lot_of(name))
    bars = [
        p
        for weight, _, filled, p in paths(page, reader)
        if filled and abs(weight - 0.7) < 1e-6 and len(p) == 4 and abs(np.ptp(p[:, 1]) - 5.0) < 1e-6
    ]
    whole = np.ptp(np.concatenate(bars)[:, 0]) / 72.0 * 0.0254
    said = re.search(r"(\d+) ft True on", text)  # the bar's last number stands before the note below it
    assert said is not None
    assert whole == pytest.approx(int(said[1]) * FOOT * ratio_of(text), rel=1e-3)
    assert "True on 11 x 17 in paper" in text and "65 %" in text


def test_an_11_by_17_sheet_fitted_to_letter_is_65_percent() -> None:
    assert round(100 * min(11 / 17, 8.5 / 11)) == 65


def test_the_title_block_identifies_the_sheet(read: Read) -> None:
    lot = lot_of("heron_lot_14")
    reader = read(
        "{{ sheet('layout-deck', 'A', number='L1') }}\n\n{{ sheet('layout-walls', 'B', number='L2') }}",
        figures=figure_set(lot),
        meta=replace(META, draft=True),
    )
    for number, page in enumerate(reader.pages, start=1):
        text = " ".join(page.extract_text().split())
        for told in (
            f"Sheet {number} of 2",
            f"Page {number} of 2",
            f"Sheet L{number}",
            META.plan_number,
            f"{META.revision} · {META.lot}",
            META.date.isoformat(),
            META.short_fingerprint,
            "DRAFT",
        ):
            assert told in text, told
        assert "N" in text.split()  # the letter of the north arrow


def test_a_long_building_prints_all_its_parts_in_order() -> None:
    """The layout part's own loop, given two parts a phase."""
    lot = lot_of("heron_lot_14")
    context = packet_context(lot, fingerprint=FINGERPRINT, date=DATE, draft=False, scales=figure_scales(lot))
    names = [
        SheetName(f"layout-{p.id}" + (":2" if part == 2 else ""), p.id, part, 2, f"L{2 * n + part}")
        for n, p in enumerate(lot.job.phases)
        for part in (1, 2)
    ]
    figures = figure_set(lot)
    for name in names:
        figures.setdefault(name.figure, figures[f"layout-{name.phase}"])
        context["scales"] = {**context["scales"], name.figure: figure_scales(lot)["layout"]}  # type: ignore[dict-item]
    context |= {"layout_sheets": tuple(names), "drawn": frozenset()}
    context |= {"guy_sheets": guy_sheets(lot), "drilling_sheets": drilling_sheets(lot)}
    titles = _titles(context, figures)
    assert titles == [f"Layout · {p.name}, part {part} of 2" for p in lot.job.phases for part in (1, 2)]


def _titles(context: dict[str, object], figures: Any) -> list[str]:
    reader = PdfReader(io.BytesIO(build_pdf([Part("16_layout.md", context)], META, figures)))

    def flat(entries: Any) -> list[str]:
        return [t for e in entries for t in (flat(e) if isinstance(e, list) else [str(e.title)])]

    return [t for t in flat(reader.outline) if t.startswith("Layout ·")]
