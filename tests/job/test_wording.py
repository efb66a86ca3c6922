"""The words in which fields and faults are told: names, choices, patterns, descriptions."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel

from planforge.job import base
from planforge.job.base import Rated
from planforge.job.descriptions import description
from planforge.job.fields import choices, known_keys
from planforge.job.quantities import Force
from planforge.job.remedies import _PATTERNS
from planforge.job.wording import listed, nearest, shown

from .small_model import Job, Slab, System


def test_helpers() -> None:
    assert known_keys(Job)[:3] == ("lot", "system", "slab")
    assert known_keys(Job)[-1] == "province"
    assert choices(System | Literal["none"] | None) == ("guardrail", "lifeline", "net", "none")
    assert shown("x" * 70) == '"' + "x" * 59 + '…"'
    assert nearest("Pour-Date", ["pour_date"]) == "pour_date"
    assert nearest("x" * 1000, ["x"]) is None
    assert listed(["a", "b", "c"]) == "a, b or c"
    assert listed([str(i) for i in range(32)]).endswith("29 and 2 more")


def test_fields_are_described_from_their_docstrings() -> None:
    assert description(Slab, "pour_date") == "The day the slab was placed. Not the day it was ordered."
    assert description(Slab, "scan") == ""
    assert description(Rated[Force], "value") == "The value itself."


def test_patterns_of_the_models_have_words() -> None:
    class Named(BaseModel):
        id: base.Id

    assert Named.model_json_schema()["properties"]["id"]["pattern"] in _PATTERNS
