"""Plain words for values and choices in the messages about a job file."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

SHOWN_CHARACTERS = 60
COMPARED_CHARACTERS = 80
LISTED_CHOICES = 30


def shown(value: object) -> str:
    """Return what was read as a reader would name it; texts are quoted and shortened."""
    match value:
        case None:
            return "nothing"
        case bool():
            return "true" if value else "false"
        case dict():
            return "a group of fields"
        case list():
            return "an empty list" if not value else f"a list of {len(value)}"
        case _:
            text = " ".join(str(value)[: 4 * SHOWN_CHARACTERS].split())
            return f'"{text[: SHOWN_CHARACTERS - 1]}…"' if len(text) > SHOWN_CHARACTERS else f'"{text}"'


def nearest(word: str, choices: Iterable[str]) -> str | None:
    """Return the choice most like the word, None where none is like it.

    Case, spaces and hyphens don't count: ``Pour date`` is like ``pour_date``.
    """
    if len(word) > COMPARED_CHARACTERS:
        return None
    plain = {same_word(choice): choice for choice in choices}
    match = difflib.get_close_matches(same_word(word), plain, n=1, cutoff=0.65)
    return plain[match[0]] if match else None


def listed(choices: Iterable[str], joint: str = "or") -> str:
    """Return ``a, b or c``; a long list ends with how many more there are."""
    names = list(choices)
    if len(names) > LISTED_CHOICES:
        return ", ".join(names[:LISTED_CHOICES]) + f" and {len(names) - LISTED_CHOICES} more"
    return f" {joint} ".join(part for part in (", ".join(names[:-1]), "".join(names[-1:])) if part)


def same_word(word: str) -> str:
    """Return a word's form for comparison, without case, spaces and hyphens."""
    return "_".join(word.casefold().replace("-", " ").replace("_", " ").split())
