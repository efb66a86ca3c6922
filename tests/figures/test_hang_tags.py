"""Tags as numbers: every text inside its tag, none over another, and large enough at half size."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from planforge.assess.assessment import Assessment
from planforge.figures import figure_set, tag_names
from planforge.figures.drafting import LEAST_MARK, LEAST_TEXT
from planforge.figures.hang_tags import ACROSS, DOWN, PER_PAGE, tag_of, tag_page
from planforge.figures.labels import overlapping
from planforge.figures.paper import Paper
from planforge.figures.text_metrics import ASCENT, DESCENT, text_width
from planforge.units import Display

Demo = Callable[[str], Assessment]
NAMES = ("heron_lot_14", "wren_lot_7", "quartz_court_building_2", "linnet_lot_3_trusses")


def boxes(paper: Paper) -> np.ndarray:
    return np.array(
        [
            (
                t.x,
                t.y - DESCENT * t.size,
                t.x + text_width(t.text, t.size, t.bold),
                t.y + 0.9 * ASCENT * t.size,
            )
            for t in paper.texts
        ]
    )


@pytest.mark.parametrize("name", NAMES)
def test_texts_keep_to_their_tag_and_apart(demo: Demo, name: str) -> None:
    assessment = demo(name)
    for page in range(len(tag_names(assessment))):
        paper = tag_page(assessment, page)
        box = boxes(paper)
        over = overlapping(box, box)
        np.fill_diagonal(over, val=False)
        assert not over.any(), [paper.texts[i].text for i in np.argwhere(over).ravel()]
        column = paper.width / ACROSS
        assert (np.floor(box[:, 0] / column) == np.floor((box[:, 2] + 3.0) / column)).all()
        row = paper.height / DOWN
        assert (np.floor(box[:, 1] / row) == np.floor(box[:, 3] / row)).all()
        assert min(t.size for t in paper.texts) >= LEAST_TEXT


@pytest.mark.parametrize("name", NAMES)
def test_each_line_and_anchor_has_one_tag(demo: Demo, name: str) -> None:
    assessment = demo(name)
    layout = assessment.job.layout
    things = [line.id for line in layout.lines] + [anchor.id for anchor in layout.anchors]
    pages = [tag_page(assessment, page) for page in range(len(tag_names(assessment)))]
    large = [t.text for paper in pages for t in paper.texts if t.size > 20.0]
    assert large == things
    assert len(pages) == -(-len(things) // PER_PAGE)
    assert set(tag_names(assessment)) <= set(figure_set(assessment))


def test_what_the_crew_acts_on_reads_at_half_size(demo: Demo) -> None:
    paper = tag_page(demo("heron_lot_14"), 0)
    acted = [t for t in paper.texts if t.text.startswith(("DO NOT", "Most", "Sag", "Span", "Released"))]
    assert acted
    assert min(t.size for t in acted) >= LEAST_MARK


def test_a_tag_says_what_page_one_says(demo: Demo) -> None:
    wren = demo("wren_lot_7")
    short = tag_of(wren, "L-E", Display("us"))
    assert short.most == "Most people: 0"
    assert short.stop == "DO NOT TIE ON"
    assert short.to_write == ()
    heron = tag_of(demo("heron_lot_14"), "L-N", Display("us"))
    assert heron.most == "Most people: 2"
    assert heron.stop.startswith("DO NOT TIE ON until released")
    assert heron.to_write == ("Released by", "Date, revision")
    assert heron.foot.startswith("AF-2026-114 rev 1")
