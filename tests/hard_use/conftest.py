"""A second Hypothesis profile: ``pytest tests/hard_use --hypothesis-profile long`` tries much more."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("long", max_examples=2000, print_blob=True)
