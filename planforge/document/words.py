"""The few words the engine itself prints, by language, from the folder of that language."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Literal

from planforge.languages import language as language_of

Verdict = Literal["meets", "short", "confirm", "not applicable"]


@dataclass(frozen=True, slots=True)
class Words:
    """Fixed words of headers, title blocks and verdict tags in one language."""

    language: str
    document: str
    plan: str
    revision: str
    lot: str
    date: str
    fingerprint: str
    sheet: str
    sheet_of: str
    scale: str
    page_of: str
    draft: str
    draft_band: str
    empty_table: str
    name: str
    signature: str
    verdicts: dict[Verdict, str]
    day: Callable[[dt.date], str]


@cache
def words(language: str) -> Words:
    """Return the words of ``language``; raise :class:`RefusedError` for one without words."""
    one = language_of(language)
    return Words(language=language, day=one.day, **one.page)
