"""Tests of planforge/assess."""
