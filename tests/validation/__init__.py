"""Checks against sources outside this project, one file a source."""
