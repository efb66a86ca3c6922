"""Envelope and sag card, as numbers, and the set of all figures."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from planforge.assess.assessment import Assessment
from planforge.assess.briefing import sheet_languages
from planforge.figures import drilling_sheets, figure_scales, figure_set, guy_sheets
from planforge.figures.envelope import axes_of, nice_step, panels, permitted_tension
from planforge.figures.hang_tags import tag_pages
from planforge.figures.paper import hatch_lines
from planforge.figures.sag_card_figure import sag_card_figure
from planforge.units import LBF, Display

Demo = Callable[[str], Assessment]


def test_the_panels_hold_every_curve_and_limit(lot: Assessment) -> None:
    for result in lot.lines:
        for panel in panels(lot, result):
            axes = axes_of(panel, (50.0, 10.0, 450.0, 90.0), result.parts.span)
            for curve in panel.curves:
                points = axes(curve.stations, curve.values)
                assert (points[:, 0] > 50).all() and (points[:, 0] < 450).all()
                assert (points[:, 1] >= 10 - 1e-6).all() and (points[:, 1] <= 90 + 1e-6).all()
            assert sum(curve.governs for curve in panel.curves) == 1


def test_curves_are_the_run_s_arrays_every_foot(demo: Demo) -> None:
    heron = demo("heron_lot_14")
    line = heron.lines[0]
    sag, tension, left = panels(heron, line)
    run = line.runs[0]
    assert np.array_equal(sag.curves[0].values, run.clear.sag)
    assert np.array_equal(tension.curves[0].values, run.strong.tension_max)
    least = min(float(curve.values.min()) for curve in left.curves)
    assert least == pytest.approx(min(r.worst_side.left_over for r in line.runs))
    assert np.diff(run.rig.stations).max() <= 0.3048 + 1e-9


def test_the_permitted_tension_is_the_least_strength_over_two(demo: Demo) -> None:
    heron = demo("heron_lot_14")
    assert permitted_tension(heron, heron.lines[0]) == pytest.approx(5400 * LBF)


@pytest.mark.parametrize(("extent", "step"), [(10.0, 5.0), (1.0, 0.5), (5400.0, 2000.0), (0.03, 0.01)])
def test_nice_steps(extent: float, step: float) -> None:
    assert nice_step(extent) == pytest.approx(step)


def _texts(figure: object) -> list[str]:
    (lettering,) = [a for a in figure.artists if hasattr(a, "lines_of_text")]  # type: ignore[attr-defined]
    return [line.text for line in lettering.lines_of_text]


def test_the_sag_card_rounds_to_the_careful_side(lot: Assessment) -> None:
    display = Display()
    for result in lot.lines:
        texts = _texts(sag_card_figure(result, display))
        for row in result.card.rows:
            assert display.inches(row.lower, "up") in texts
            assert display.inches(row.upper, "down") in texts
            assert display.temperature(row.temperature) in texts
        if not result.card.rows:
            assert any("DO NOT TENSION" in text for text in texts)


def test_the_set_names_every_figure_of_the_job(lot: Assessment) -> None:
    names = set(figure_set(lot))
    phases = [p.id for p in lot.job.phases]
    expected = {
        "layout",
        "tie-off-map",
        *(f"layout-{p}" for p in phases),
        *(f"tie-off-map-{p}" for p in phases),
    }
    for language in sheet_languages(lot.job):
        for name in ("tie-off-map", *(f"tie-off-map-{p}" for p in phases)):
            expected |= {f"{name}-{language.code}", f"{name}-en-{language.code}"}
    expected |= set(tag_pages(lot))
    for result in lot.lines:
        expected |= {f"{kind}-{result.id}" for kind in ("sag", "elevation", "envelope")}
    expected |= {f"anchor-{r.anchor.id}-{r.task.id}-{r.stance.id}" for r in lot.anchors}
    expected |= {f"post-{post.id}" for post in lot.posts}
    expected |= {sheet.figure for sheet in guy_sheets(lot)}
    if lot.bases:
        expected |= {sheet.figure for sheet in drilling_sheets(lot)}
    assert names == expected
    assert set(figure_scales(lot)) <= names


def test_every_figure_fits_its_page_and_costs_few_artists(lot: Assessment) -> None:
    for name, draw in figure_set(lot).items():
        figure = draw()
        assert draw() is figure
        width, height = figure.get_size_inches()
        on_sheet = name.startswith(("layout", "elevation", "drilling", "guys"))
        most = (15.83, 8.91) if on_sheet else (7.0, 8.5)
        assert width <= most[0] and height <= most[1], name
        assert len(figure.artists) < 60, name
        assert not figure.axes


def test_figures_are_the_same_twice(demo: Demo) -> None:
    heron = demo("heron_lot_14")
    for name in ("layout-walls", "elevation-L-N", "envelope-L-N", "sag-L-N", "tie-off-map"):
        first, second = (figure_set(heron)[name]() for _ in range(2))
        assert _texts(first) == _texts(second)
        paths = [
            [a.get_path().vertices for a in figure.artists if hasattr(a, "get_path")]
            for figure in (first, second)
        ]
        assert all(np.array_equal(a, b) for a, b in zip(*paths, strict=True))


def test_hatch_lines_stay_in_the_outline() -> None:
    corner = [(0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (10.0, 10.0), (10.0, 20.0), (0.0, 20.0)]
    lines = hatch_lines(corner, 3.0, 45.0)
    middles = np.array([line.mean(axis=0) for line in lines])
    assert len(lines) > 5
    assert not ((middles[:, 0] > 10) & (middles[:, 1] > 10)).any()
    assert (middles >= -1e-9).all() and (middles <= 20 + 1e-9).all()
