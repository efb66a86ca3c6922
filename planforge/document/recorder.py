"""A drawing kept as PDF operators, to be put on any page of any document.

It can be kept where its text is of letters that every document embeds under the same codes (``fonts.alike``).
Fields are placed anew on each page; links can't be kept.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

Field = tuple[Callable[..., None], tuple[Any, ...]]
"""What places a field on a canvas, and with what after the canvas."""


@dataclass(frozen=True, slots=True)
class Kept:
    """A drawing: its operators, the faces that a document must embed for them, its fields."""

    code: str
    faces: tuple[str, ...]
    fields: tuple[Field, ...]


class Recorder:
    """Stands in for a canvas while a drawing is made that is to be kept."""

    def __init__(self) -> None:
        """Begin with nothing drawn."""
        self._code: list[str] = []
        self.planforge_encoders: dict[str, None] = {}
        self.fields: list[Field] = []
        self.own = False
        """Whether something was to be drawn that only one document can show."""

    def kept(self) -> Kept | None:
        """What was drawn; None where it can't be kept."""
        if self.own:
            return None
        return Kept("\n".join(self._code), tuple(self.planforge_encoders), tuple(self.fields))
