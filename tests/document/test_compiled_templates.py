"""Compiled templates: kept for the next run, void once a template changes, done without where need be."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from jinja2 import Environment, FileSystemLoader

from planforge.document.templating import CompiledTemplates


def rendered(templates: Path, kept: Path) -> str:
    """One template through a new environment, as a new run of planforge would."""
    return (
        Environment(loader=FileSystemLoader(templates), bytecode_cache=CompiledTemplates(kept))
        .get_template("a.md")
        .render()
    )


@pytest.fixture
def templates(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    folder = tmp_path / "templates"
    folder.mkdir()
    (folder / "a.md").write_text("first")
    return folder


def test_code_is_kept_and_used(templates: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kept = tmp_path / "kept"
    kept.mkdir()
    assert rendered(templates, kept) == "first"
    assert len(list(kept.iterdir())) == 1
    monkeypatch.setattr(Environment, "compile", None)  # nothing is compiled again
    assert rendered(templates, kept) == "first"


def test_an_edited_template_is_compiled_again(templates: Path, tmp_path: Path) -> None:
    kept = tmp_path / "kept"
    kept.mkdir()
    rendered(templates, kept)
    (templates / "a.md").write_text("second")
    assert rendered(templates, kept) == "second"
    assert len(list(kept.iterdir())) == 1


def test_a_folder_that_cannot_be_written_does_no_harm(templates: Path, tmp_path: Path) -> None:
    assert rendered(templates, tmp_path / "nowhere") == "first"


def test_nothing_is_written_where_python_writes_no_code(
    templates: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    assert rendered(templates, tmp_path) == "first"
    assert [path.name for path in tmp_path.iterdir()] == ["templates"]
