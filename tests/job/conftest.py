"""A folder of its own for the files of a test."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder that a test works in."""
    monkeypatch.chdir(tmp_path)
    return tmp_path
