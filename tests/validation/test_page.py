"""The printed page of comparisons is the one the tests would print now."""

from __future__ import annotations

from .page import is_fresh, render


def test_page_is_fresh() -> None:
    assert is_fresh(render()), "stale; run: python tests/validation/page.py"
