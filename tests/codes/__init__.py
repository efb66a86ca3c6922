"""Tests of planforge/codes."""
