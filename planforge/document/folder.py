"""Where the templates stand: beside the package in a source checkout, inside it in a wheel."""

from __future__ import annotations

from pathlib import Path

from planforge.errors import RefusedError


def templates_folder(language: str) -> Path:
    """Return the folder of ``language``'s templates, in a wheel or in a source checkout."""
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "templates" / language, package.parent / "templates" / language):
        if folder.is_dir():
            return folder
    raise RefusedError(f"there are no templates for language {language!r}")
