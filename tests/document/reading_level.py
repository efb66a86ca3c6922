"""How hard a text is to read, by published formulas; syllables by rules that hold for plain words.

English: Flesch-Kincaid grade, 0.39 words/sentences + 11.8 syllables/words - 15.59 (Kincaid, Fishburne,
Rogers, Chissom 1975, Navy Research Branch Report 8-75).
Spanish: Fernández Huerta 1959, 206.84 - 0.60 P - 1.02 F with P the syllables of 100 words and F the words
of a sentence; 70 to 80 is the sixth grade, more is easier (Consigna 214, 29-32, as corrected by Law 2011).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from itertools import pairwise

_STRONG = "aeoáéó"
_WEAK_STRESSED = "íú"


def words(text: str) -> list[str]:
    return re.findall(r"[A-Za-zÁÉÍÓÚÜÑáéíóúüñ']+", text)


def sentences(texts: Iterable[str]) -> list[str]:
    """Stretches that end in a full stop; colons and semicolons end none, which counts against the text."""
    parts = (part for text in texts for part in re.split(r"[.!?]+(?:\s|$)", text))
    return [part for part in parts if len(words(part)) > 1]


def _ratios(texts: Iterable[str], syllables: Callable[[str], int]) -> tuple[float, float]:
    """Words a sentence, syllables a word."""
    parts = sentences(texts)
    all_words = [word for part in parts for word in words(part)]
    return len(all_words) / len(parts), sum(map(syllables, all_words)) / len(all_words)


def flesch_kincaid(texts: Iterable[str]) -> float:
    long, heavy = _ratios(texts, english_syllables)
    return grade(long, heavy)


def grade(words_a_sentence: float, syllables_a_word: float) -> float:
    return 0.39 * words_a_sentence + 11.8 * syllables_a_word - 15.59


def fernandez_huerta(texts: Iterable[str]) -> float:
    long, heavy = _ratios(texts, spanish_syllables)
    return 206.84 - 60.0 * heavy - 1.02 * long


def english_syllables(word: str) -> int:
    """Groups of vowels, without a silent e or ed at the end."""
    low = word.lower().replace("'", "")
    low = (
        re.sub(r"(?<=[^aeiouy])es?$|(?<=[^aeiouytd])ed$", "", low)
        if not re.search(r"[^aeiouy]les?$", low)
        else low
    )
    low = re.sub(r"(?<=[aeiouy])(?=ing)|(?<=i)(?=[ao])", "-", low)
    return max(1, len(re.findall(r"[aeiouy]+", low)))


def spanish_syllables(word: str) -> int:
    """Vowels, less the weak ones that lean on another; u after q, and after g before e or i, is silent."""
    low = re.sub(r"(?<=q)u|(?<=g)u(?=[eiéí])", "", word.lower())
    low = re.sub(r"y$", "i", low)
    count = 0
    for group in re.findall(r"[aeiouáéíóúü]+", low):
        own = 1
        for before, after in pairwise(group):
            strong = [letter in _STRONG for letter in (before, after)]
            stressed = [letter in _WEAK_STRESSED for letter in (before, after)]
            own += all(strong) or (any(strong) and any(stressed))
        count += own
    return max(1, count)
