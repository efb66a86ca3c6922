"""Text beside a drawing stays in its column, whatever it is called."""

from __future__ import annotations

from itertools import pairwise

import pytest

from planforge.figures.column_flow import ROW, SIZE, text_block
from planforge.figures.paper import Paper
from planforge.figures.text_metrics import DESCENT, text_width

WIDTH = 150.0
LONG = "Screw anchor of a long name that its maker gave it to tell it from all others (invented)"


@pytest.mark.parametrize("heading", ["A-1", LONG, "Holzrahmenbauabsturzsicherungsplan" * 9])
def test_a_heading_is_broken_to_the_column_and_stands_in_its_block(heading: str) -> None:
    block = text_block(heading, [("One line.", False)], WIDTH)
    paper = Paper(400.0, 400.0)
    block.draw(paper, (20.0, 300.0 - block.height, 20.0 + WIDTH, 300.0))
    assert all(text_width(text.text, text.size, text.bold) <= WIDTH for text in paper.texts)
    assert min(text.y for text in paper.texts) - SIZE * DESCENT >= 300.0 - block.height
    rows = [text.y for text in paper.texts]
    assert all(above - below > 0.9 * ROW for above, below in pairwise(rows))


def test_no_word_of_a_heading_is_lost() -> None:
    paper = Paper(400.0, 400.0)
    text_block(LONG, [], WIDTH).draw(paper, (20.0, 0.0, 20.0 + WIDTH, 300.0))
    assert " ".join(text.text for text in paper.texts) == LONG
