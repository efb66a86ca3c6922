"""Serial numbers as people write them."""

from __future__ import annotations

import pytest

from planforge.job.serials import counted, in_words, serials


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("HA-061", ("HA-061",)),
        ("HA-098 to HA-101", ("HA-098", "HA-099", "HA-100", "HA-101")),
        ("SL-11 and SL-12", ("SL-11", "SL-12")),
        ("A-1 to A-2, A-9; B7", ("A-1", "A-2", "A-9", "B7")),
        ("8 to 11", ("8", "9", "10", "11")),
        ("A-1 to B-3", ("A-1 to B-3",)),
        ("A-3 to A-1", ("A-3 to A-1",)),
        ("A-1 to A-99999", ("A-1 to A-99999",)),
        ("Andover 3", ("Andover 3",)),
    ],
)
def test_a_text_names_its_serials(text: str, expected: tuple[str, ...]) -> None:
    assert serials(text) == expected


@pytest.mark.parametrize(
    "text", ["PM-041 to PM-051, PM-053", "SL-11 and SL-12", "X", "A-1, B-2", "8 to 11", "GY-098 to GY-102"]
)
def test_words_and_serials_are_each_other_s_inverse(text: str) -> None:
    assert serials(in_words(serials(text))) == serials(text)
    assert in_words(serials(text)) == text


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("GY-101 to GY-146", 46),
        ("HA-049 to HA-054, HA-056", 7),
        ("No. 12", 1),
        ("P1", 1),
        ("GY-101\u2013146", None),  # a dash between two numbers
        ("GY-101 to 146", None),
        ("46 guys", None),
        ("all of them", None),
        ("A-1 to A-2, the rest", None),
    ],
)
def test_serials_are_counted_only_where_each_is_named(text: str, number: int | None) -> None:
    found = counted(text)
    assert (found if found is None else len(found)) == number
