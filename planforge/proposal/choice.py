"""What was chosen, and how far it is proven to be the best."""

from __future__ import annotations

from dataclasses import dataclass

from planforge.proposal.candidate import Margin
from planforge.proposal.cover import Answer


@dataclass(frozen=True)
class Step:
    """One step of the choice."""

    name: str
    objective: float
    bound: float
    proven: bool

    @property
    def gap(self) -> float:
        """How far the objective may lie from the best, as a fraction of it."""
        return 0.0 if self.proven else abs(self.objective - self.bound) / max(abs(self.objective), 1e-12)


@dataclass(frozen=True)
class Choice:
    """What was chosen, by number, with the worst margin and how far each step is proven."""

    options: tuple[int, ...]
    sites: tuple[int, ...]
    margin: Margin
    together: dict[int, Margin]  # by site: the least margin of its lines in use together
    steps: tuple[Step, ...]

    @property
    def proven(self) -> bool:
        """True where every step is proven to be the best of the candidates."""
        return all(s.proven for s in self.steps)


@dataclass(frozen=True)
class Made:
    """A choice by what was known when it was made; ``fewest`` is the one with which its last step began."""

    level: float
    fewest: Answer
    last: Answer
    steps: tuple[Step, ...]
