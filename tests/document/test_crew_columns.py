"""What the columns of the crew's sheets say holds by itself: nobody reads the other half elsewhere."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

TEMPLATES = Path(__file__).resolve().parents[2] / "templates"


@pytest.mark.parametrize(
    ("sheet", "told"),
    [
        ("en/02_crew_sheet.md", "in between the card decides"),
        ("en/53_pre_task.md", "in between the card decides"),
        ("en/language.yaml", "In between: by the sag card"),
        ("es/02_crew_sheet.md", "entre las dos decide la tarjeta"),
        ("es/53_pre_task.md", "entre las dos decide la tarjeta"),
        ("es/language.yaml", "Entre las dos: por la tarjeta"),
        ("es/02_side_by_side.md", "Comba entre las dos: por la tarjeta"),
    ],
)
def test_two_end_bands_say_what_holds_in_between(sheet: str, told: str) -> None:
    """The bands of two temperatures leave out a narrower or another one between them."""
    assert told in (TEMPLATES / sheet).read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("sheet", "told"),
    [
        ("en/02_crew_sheet.md", ["of the line"]),
        ("es/02_crew_sheet.md", ["de la línea"]),
        ("es/02_side_by_side.md", ["From line", "De línea"]),
    ],
)
def test_the_distance_to_stay_within_says_of_what(sheet: str, told: list[str]) -> None:
    """A bare "stay within 3 ft" reads as from the edge. The heading's template has no second form."""
    text = (TEMPLATES / sheet).read_text(encoding="utf-8")
    (columns,) = re.findall(r"\{% set columns = (.*) %\}", text)
    (heading,) = re.findall(r'\(("[^()]*"(?: if [^()]*)?), 3, "left"', columns)
    assert " if " not in heading
    assert all(words in heading for words in told)


@pytest.mark.parametrize("code", ["en", "es"])
def test_marks_of_inspection_rows_are_no_other_marks(code: str) -> None:
    """P1 is a post, A1 an anchorage, H1 a hazard, L1 a sheet: a row has two letters. Its log has a column."""
    rows, logs = (
        (TEMPLATES / code / name).read_text(encoding="utf-8") for name in ("21_inspection.md", "22_logs.md")
    )
    marks = re.findall(r'\[\["([A-Z]+\d)"', rows)
    assert len(marks) == len(set(marks)) == 33
    assert all(re.fullmatch(r"[A-Z]{2}\d", mark) for mark in marks)
    assert set(re.findall(r'"([A-Z]+\d)"', logs)) == set(marks)
