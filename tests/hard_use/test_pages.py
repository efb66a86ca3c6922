"""Odd texts and odd counts on the pages: all inside the paper, all there, none acting, and the same bytes."""

from __future__ import annotations

import bisect
import copy
import datetime as dt
import io
import itertools
import random
import re
from collections.abc import Iterator
from functools import cache, cached_property
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st
from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject
from reportlab.pdfbase.pdfmetrics import getFont
from reportlab.pdfgen.canvas import Canvas

from planforge.assess.assessment import Assessment, assess
from planforge.document import fonts, marks, picture
from planforge.document.finish import Attachment
from planforge.document.markup import clean
from planforge.document.packet import packet
from planforge.errors import JobFileError
from planforge.figures import figure_set
from planforge.figures.paper import TextLine
from planforge.figures.text_metrics import font_at
from planforge.job.loading import load, merged_text

from . import mutations
from .drawn import Drawn, watched
from .examples import few
from .mutations import Tree, Way, demo, written
from .odd import ODD_TEXTS
from .rewritten import at, grown, text_ways, with_texts

FEWEST_PAGES = ("linnet_lot_3_trusses", "heron_lot_17")
LOTS = mutations.LOTS if settings.default.max_examples > 100 else FEWEST_PAGES
DATE = dt.date(2026, 12, 1)
MARGIN = 8.0
"""Points of paper that stay white at every edge; most printers can't reach farther."""
NEAR = 0.7
"""Points by which two texts on one line may seem to touch: the width of a space's rounding."""
PRINTED = [text for text in ODD_TEXTS if "\n" not in text]
ACTIVE = {
    "/JS",
    "/JavaScript",
    "/Launch",
    "/URI",
    "/AA",
    "/OpenAction",
    "/GoToR",
    "/SubmitForm",
    "/RichMedia",
}


class Made:
    """A job's pages, as they were drawn and as an independent reader finds them."""

    def __init__(self, tree: Tree, folder: Path) -> None:
        path = folder / "job.yaml"
        path.write_bytes(written(tree))
        self.loaded = load(path)
        self.assessment = assess(self.loaded.model)
        with watched() as self.drawn:
            self.data = bytes_of(self.assessment, merged_text(self.loaded))
        self.reader = PdfReader(io.BytesIO(self.data))

    @cached_property
    def text(self) -> str:
        """All its text without white space."""
        return squeezed(" ".join(page.extract_text() for page in self.reader.pages))


def bytes_of(assessment: Assessment, merged: str) -> bytes:
    return packet(
        assessment,
        fingerprint="0" * 64,
        date=DATE,
        draft=assessment.draft,
        attachment=Attachment("job.yaml", merged.encode(), "The job file, merged"),
        figures=figure_set(assessment),
    )


def squeezed(text: str) -> str:
    return re.sub(r"\s", "", text)


def as_printed(text: str) -> str:
    return squeezed(fonts.spelled(clean(text), fonts.REGULAR))


def hold(made: Made) -> None:
    """What is true of every document."""
    assert all(page.mediabox.width > 0 for page in made.reader.pages)
    outside = [text for text in made.drawn if text.off(MARGIN) > 0.5]
    assert outside == []
    assert over_each_other(made.drawn) == []
    assert active(made.reader) == set()
    assert made.reader.attachments["job.yaml"][0].decode() == merged_text(made.loaded)


def over_each_other(drawn: list[Drawn]) -> list[tuple[str, str]]:
    """Upright texts on one line of a page of which one begins before the other ends."""

    def line(text: Drawn) -> tuple[int, int]:
        return text.page, round(text.bottom)

    upright = sorted(
        (text for text in drawn if not text.turned and text.text.strip()), key=lambda t: (*line(t), t.left)
    )
    return [
        (one.text, other.text)
        for _, group in itertools.groupby(upright, key=line)
        for one, other in itertools.pairwise(group)
        if one.right > other.left + NEAR and (one.text, one.left) != (other.text, other.left)
    ]


def active(reader: PdfReader) -> set[str]:
    """Names in the file that make a reader do something."""
    found: set[str] = set()
    for number in range(1, int(reader.trailer["/Size"])):  # type: ignore[call-overload]
        found |= set(_names(reader.get_object(IndirectObject(number, 0, reader)))) & ACTIVE
    return found


def _names(thing: Any) -> Iterator[str]:
    if isinstance(thing, DictionaryObject):
        for key, value in thing.items():
            yield str(key)
            yield from _names(value)
    elif isinstance(thing, ArrayObject):
        for value in thing:
            yield from _names(value)
    elif isinstance(thing, str) and str(thing) in ACTIVE:
        yield str(thing)


@cache
def _printing(name: str, folder: Path) -> tuple[Way, ...]:
    """The ways to those texts of a demo that its pages show."""
    marks = {way: f"Zq{number}x" for number, way in enumerate(text_ways(name))}
    made = Made(with_texts(name, marks), folder)
    shown = tuple(way for way, mark in marks.items() if mark in made.text)
    assert len(shown) > len(marks) // 2
    return shown


def odd_texts(name: str, chance: random.Random) -> dict[Way, str]:
    """An odd text for each text of a demo, each with an end of its own by which it is found again."""
    texts = {}
    for number, way in enumerate(text_ways(name)):
        most = 48 if way[-1] in ("number", "lot") else 380
        texts[way] = f"{chance.choice(PRINTED)[:most]} Zq{number}x"
    return texts


def printed_whole(wanted: str, text: str) -> bool:
    """True where it stands in the text; or its beginning, then a page's foot and head, and then the rest."""
    if wanted in text:
        return True
    kept = bisect.bisect_left(range(1, len(wanted)), True, key=lambda count: wanted[:count] not in text)
    return wanted[kept:] in text


def test_what_lies_outside_or_over_another_would_be_found() -> None:
    """The watch over drawn texts sees what sticks out, shifted or turned, and what stands on another."""
    canvas = Canvas(io.BytesIO(), pagesize=(200.0, 100.0))
    with watched() as drawn:
        fonts.draw(canvas, 20.0, 50.0, "a text", fonts.REGULAR, 10.0)
        fonts.draw(canvas, 30.0, 50.0, "another", fonts.REGULAR, 10.0)
        with marks.shifted(canvas, 170.0, 30.0):
            fonts.draw(canvas, 0.0, 0.0, "sticks out", fonts.REGULAR, 10.0)
        picture._letter(TextLine(100.0, 80.0, "upright", 10.0, angle=90.0), canvas)
    assert [text.text for text in drawn if text.off(MARGIN) > 0.5] == ["sticks out", "upright"]
    assert over_each_other(drawn) == [("a text", "another")]


def test_a_typeface_that_is_read_anew_is_still_one() -> None:
    """Read anew, it made two of one name: a draft's mark and its text clashed, and no file came out."""
    before = fonts.font(fonts.BOLD)
    fonts.font.cache_clear()
    font_at.cache_clear()
    assert fonts.font(fonts.BOLD) is before is getFont(fonts.BOLD)


@few(1, slow=True)
@given(st.sampled_from(LOTS), st.integers(0, 1 << 30))
def test_odd_texts_print_as_they_are_or_spelled(
    tmp_path_factory: pytest.TempPathFactory, name: str, chance: int
) -> None:
    """Every field that prints a plain text prints an odd one: to the letter, or each letter by its code."""
    folder = tmp_path_factory.getbasetemp()
    texts = odd_texts(name, random.Random(chance))
    made = Made(with_texts(name, texts), folder)
    hold(made)
    for way in _printing(name, folder):
        assert printed_whole(as_printed(texts[way]), made.text), (way, texts[way])


def test_the_same_odd_job_gives_the_same_bytes(tmp_path: Path) -> None:
    made = Made(with_texts("heron_lot_17", odd_texts("heron_lot_17", random.Random(1))), tmp_path)
    again = load(tmp_path / "job.yaml")
    assert bytes_of(assess(again.model), merged_text(again)) == made.data


@few(1, slow=True)
@given(st.sampled_from(LOTS), st.data())
def test_many_and_few_of_everything(
    tmp_path_factory: pytest.TempPathFactory, name: str, data: st.DataObject
) -> None:
    tree = copy.deepcopy(demo(name))
    grown(tree, data.draw)
    try:
        made = Made(tree, tmp_path_factory.getbasetemp())
    except JobFileError:
        reject()
    hold(made)
    answering = set(dict(made.loaded.model.roles).values())
    for person in made.loaded.model.people:
        if person.authorised or person.id in answering:  # who does neither has no part in the plan
            assert as_printed(person.name) in made.text
    for hazard in made.loaded.model.hazards:
        assert as_printed(hazard.name) in made.text
    assert at(tree, ("plan", "number")) in made.text
