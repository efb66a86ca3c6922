"""Tests of planforge/calc."""
