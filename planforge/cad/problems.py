"""What is wrong with a drawing: file, layer, handle, place, and what to do."""

from __future__ import annotations

from collections.abc import Sequence

from planforge.errors import PlanforgeError, Problem


class DrawingError(PlanforgeError):
    """A drawing that can't be used. ``problems`` holds every fault found."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        """Keep the problems; the message lists them all."""
        self.problems = tuple(dict.fromkeys(problems))
        count = len(self.problems)
        said = "\n".join(str(p) for p in self.problems)
        super().__init__(f"The drawing can't be used: {count} problem(s). Nothing was written.\n{said}")


def drawn(file: str, found: str, expected: str, remedy: str, *, layer: str = "", handle: str = "") -> Problem:
    """A problem in a drawing; its field names the layer and the handle, by which a CAD program finds it."""
    field = " ".join(
        part for part in (f'layer "{layer}"' if layer else "", f"handle {handle}" if handle else "") if part
    )
    return Problem(file, 0, field, found, expected, remedy)
