"""Translations that contradict each other: one text, one language, two wordings."""

from __future__ import annotations

from collections.abc import Iterator

from planforge.errors import Problem
from planforge.job.model import Job
from planforge.job.positions import Locator


def check_translations(job: Job, locator: Locator) -> Iterator[Problem]:
    """A text has one wording in a language, whichever file states it."""
    first: dict[tuple[str, str], str] = {}
    for group, translation in enumerate(job.translations):
        for number, entry in enumerate(translation.texts):
            key = translation.language.casefold(), " ".join(entry.text.split())
            says = " ".join(entry.says.split())
            if first.setdefault(key, says) != says:
                yield locator.problem(
                    ("translations", group, "texts", number, "says"),
                    expected=f"what {translation.language} says elsewhere for this text: {first[key]}",
                    remedy="Delete one of the two, or word them alike.",
                )
