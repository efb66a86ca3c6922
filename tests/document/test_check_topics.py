"""Every check stands under a topic that the templates name."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from planforge.assess.checks import CHECKS
from planforge.document.context_checks import topic_of

WORDS = (Path(__file__).parents[2] / "templates" / "en" / "words.md").read_text("utf-8")


@pytest.mark.parametrize("check", sorted(CHECKS))
def test_topic_of_every_check_is_named(check: str) -> None:
    named = re.search(r"set topics = \{(.*?)\}", WORDS, re.S)
    assert named
    assert f'"{topic_of(check)}":' in named[1]
