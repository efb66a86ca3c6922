"""What a job's own words say in another language, for the sheets of those who read it."""

from __future__ import annotations

from planforge.job.base import Date, Id, JobModel, Name, Text


class Translated(JobModel):
    """One text of the job in another language."""

    text: Text
    """The text as the job states it, to the letter; spaces and line breaks do not count."""
    says: Text
    """The same in the other language."""


class Translation(JobModel):
    """Texts of one file in one language, with who checked them."""

    id: Id
    """A short name, so that the texts of several files stand side by side."""
    language: Name
    """The language, in English, as `people.language` states it."""
    checked_by: Name | None = None
    """Who reads both languages and found that they say the same."""
    on: Date | None = None
    """The day it was done."""
    texts: list[Translated] = []
    """Each text with what it says in that language."""
