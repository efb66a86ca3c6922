"""The crew's map with its words in two languages, low enough for a sheet that has twice the text."""

from __future__ import annotations

from planforge.assess.assessment import Assessment
from planforge.errors import RefusedError
from planforge.figures.scale import Drawn
from planforge.figures.tie_off_map import SIZE_INCHES, tie_off_map
from planforge.languages import FIRST, Language, languages

_HEIGHTS = (2.9, 3.2, 3.5, 4.0)
"""Tried before the full one, in."""


def in_two(language: Language) -> dict[str, str]:
    """The map's words in English and in another language beside it."""
    english = languages()[FIRST]
    first, other = {**english.map, **english.short_key}, {**language.map, **language.short_key}
    return {key: f"{word} · {other[key]}" for key, word in first.items()}


def low_map(assessment: Assessment, phase: str | None, language: Language) -> Drawn:
    """The map as low as its labels allow."""
    words = in_two(language)
    for height in _HEIGHTS:
        try:
            return tie_off_map(assessment, phase, (SIZE_INCHES[0], height), words)
        except RefusedError:
            continue  # a label finds no room: the next is higher
    return tie_off_map(assessment, phase, SIZE_INCHES, words)
