"""Tags as numbers: every text inside its tag, none over another, and large enough at half size."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from planforge.assess.assessment import Assessment
from planforge.assess.index import Index
from planforge.figures import figure_set, tag_names
from planforge.figures.drafting import LEAST_MARK, LEAST_TEXT
from planforge.figures.hang_tags import ACROSS, DOWN, LEAST_HOLDS, PER_PAGE, hold_tag, holds, tag_of, tag_page
from planforge.figures.labels import overlapping
from planforge.figures.paper import Paper
from planforge.figures.text_metrics import ASCENT, DESCENT, text_width
from planforge.languages import language
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
@pytest.mark.parametrize("code", ["en", "es"])
def test_texts_keep_to_their_tag_and_apart(demo: Demo, name: str, code: str) -> None:
    assessment = demo(name)
    for page in range(len(tag_names(assessment, code))):
        paper = tag_page(assessment, page, code)
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
    assert large[: len(things)] == things
    assert len(large) == len(pages) * PER_PAGE  # the last page is full
    assert set(large[len(things) :]) == {"ON HOLD"}
    assert LEAST_HOLDS <= len(large) - len(things) == holds(assessment) < LEAST_HOLDS + PER_PAGE
    assert set(tag_names(assessment)) <= set(figure_set(assessment))


def test_what_the_crew_acts_on_reads_at_half_size(demo: Demo) -> None:
    paper = tag_page(demo("heron_lot_14"), 0)
    acted = [t for t in paper.texts if t.text.startswith(("DO NOT", "Most", "Sag", "Span", "Released"))]
    assert acted
    assert min(t.size for t in acted) >= LEAST_MARK


def test_a_tag_says_what_page_one_says(demo: Demo) -> None:
    wren = demo("wren_lot_7")
    short = tag_of(wren, "L-E", Display("us"), language("en"))
    assert short.most == "Most people: 0"
    assert short.stop == "DO NOT TIE ON"
    assert short.to_write == ()
    heron = tag_of(demo("heron_lot_14"), "L-N", Display("us"), language("en"))
    assert heron.most == "Most people: 2"
    assert heron.stop.startswith("DO NOT TIE ON until released")
    assert heron.to_write == ("Released by", "Date, revision")
    assert heron.foot.startswith("AF-2026-114 rev 1")


def test_a_tag_in_another_language_says_the_same(demo: Demo) -> None:
    heron = demo("heron_lot_14")
    english = [tag_of(heron, thing, Display("us"), language("en")) for thing in ("L-N", "A1")]
    spanish = [tag_of(heron, thing, Display("us"), language("es")) for thing in ("L-N", "A1")]
    assert spanish[0].stop == "NO SE AMARRE hasta que aquí se autorice"
    assert spanish[0].most == "Máximo de personas: 2"
    assert spanish[0].to_write == ("Autoriza", "Fecha, revisión")
    assert "20 nov 2026" in spanish[0].foot
    for ours, theirs in zip(spanish, english, strict=True):
        mine, other = (re.findall(r"\d[\d /]*", " ".join(tag.facts)) for tag in (ours, theirs))
        assert mine == other
    assert any(fact.startswith("Comba 1 1/2 pulg a 4 5/8 pulg a 26 °F") for fact in spanish[0].facts)


@pytest.mark.parametrize(
    ("code", "id_", "stop", "lines"),
    [
        ("en", "ON HOLD", "DO NOT TIE ON", ("Line or anchorage", "Why", "Hung by", "Date, time")),
        (
            "es",
            "EN ESPERA",
            "NO SE AMARRE",
            ("Línea o punto de anclaje", "Por qué", "La colgó", "Fecha, hora"),
        ),
    ],
)
def test_a_tag_on_hold_bars_and_leaves_room_to_say_which_and_why(
    demo: Demo, code: str, id_: str, stop: str, lines: tuple[str, ...]
) -> None:
    tag = hold_tag(demo("heron_lot_14"), language(code))
    assert (tag.id, tag.stop, tag.to_write) == (id_, stop, lines)
    assert tag.most.endswith(": 0")
    assert "1)" in tag.facts[0]  # the release is looked up on page 1


def test_tags_are_printed_for_the_languages_of_the_crew_alone(demo: Demo) -> None:
    heron = demo("heron_lot_14")
    assert {"tags-1", "tags-2", "tags-1-es", "tags-2-es"} <= set(figure_set(heron))
    people = [p.model_copy(update={"language": "English"}) for p in heron.job.people]
    job = heron.job.model_copy(update={"people": people})
    alone = replace(heron, index=Index(job))
    assert not any(name.startswith("tags") and name.endswith("-es") for name in figure_set(alone))
