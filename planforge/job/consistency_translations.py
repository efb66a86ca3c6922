"""Translations that contradict each other: one text, one language, two wordings."""

from __future__ import annotations

from collections.abc import Iterator

from planforge.errors import Problem
from planforge.job.cross_references import entries
from planforge.job.model import Job
from planforge.job.positions import FieldPath, Locator
from planforge.job.translation import Translated, Translation
from planforge.job.unread import where_read


def check_translations(job: Job, locator: Locator) -> Iterator[Problem]:
    """A text has one wording in a language, whichever file states it."""
    first: dict[tuple[str, str], str] = {}
    for group, translation in enumerate(job.translations):
        for path, entry in entries(translation, "texts"):
            place = ("translations", group, *path, "says")
            yield from _one_wording(locator, place, first, translation, entry)


@where_read
def _one_wording(
    locator: Locator,
    path: FieldPath,
    first: dict[tuple[str, str], str],
    translation: Translation,
    entry: Translated,
) -> Iterator[Problem]:
    key = translation.language.casefold(), " ".join(entry.text.split())
    says = " ".join(entry.says.split())
    if first.setdefault(key, says) != says:
        yield locator.problem(
            path,
            expected=f"what {translation.language} says elsewhere for this text: {first[key]}",
            remedy="Delete one of the two, or word them alike.",
        )
