"""What has to be covered: the atomic stretches of every hazard edge in every phase, as rows of a cover.

The candidates' stretches cut each straight piece of an edge into intervals within which nothing changes.
Covering every interval covers the edge, so that no stretch between sample points is left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import scipy.sparse as sp

from planforge.calc.arrays import Array, Bools
from planforge.proposal.candidate import Candidate
from planforge.proposal.cover import Indexes, essential_rows
from planforge.proposal.edges import HazardEdge
from planforge.proposal.spans import Stretch

TINY = 1e-4
"""m; a shorter interval is rounding of the geometry."""


@dataclass(frozen=True)
class Row:
    """An interval of an edge in one phase, with the candidates that could cover it and their margins
    there.
    """

    stretch: Stretch
    phase: str
    options: Indexes  # (n,)
    margins: Array  # (n,)


def rows(
    edges: list[HazardEdge], open_: dict[tuple[int, str], bool], candidates: list[Candidate]
) -> list[Row]:
    """Every interval that lines or anchorages have to cover; ``open_`` says which edges and phases they
    are.
    """
    by_place: dict[tuple[int, int, str], list[tuple[int, Stretch, float]]] = {}
    for k, candidate in enumerate(candidates):
        for s in candidate.services:
            key = (s.stretch.edge, s.stretch.piece, s.phase)
            by_place.setdefault(key, []).append((k, s.stretch, s.margin.value))
    found = []
    for e, edge in enumerate(edges):
        for phase in edge.phases:
            if open_[e, phase]:
                for p, piece in enumerate(edge.pieces):
                    length = float(np.hypot(*(piece[1] - piece[0])))
                    found += _intervals(e, p, phase, length, by_place.get((e, p, phase), []))
    return found


def _intervals(
    edge: int, piece: int, phase: str, length: float, given: list[tuple[int, Stretch, float]]
) -> list[Row]:
    option = np.array([k for k, _, _ in given], dtype=np.intp)
    start = np.array([s.start for _, s, _ in given])
    end = np.array([s.end for _, s, _ in given])
    margin = np.array([m for _, _, m in given])
    cuts = np.unique(np.concatenate([[0.0, length], start, end]).round(6))
    cuts = cuts[(cuts >= 0.0) & (cuts <= length + TINY)]
    out = []
    for low, high in pairwise(cuts.tolist()):
        if high - low > TINY:
            middle = 0.5 * (low + high)
            here = (start <= middle) & (end >= middle)
            out.append(Row(Stretch(edge, piece, low, high), phase, option[here], margin[here]))
    return out


@dataclass(frozen=True)
class Matrix:
    """The rows at a level of margin: which candidates cover each."""

    rows: list[Row]
    essential: Indexes
    covers: sp.csr_matrix  # (essential, K)


def matrix(every: list[Row], usable: Bools, level: float) -> Matrix:
    """The cover's rows where only ``usable`` candidates (K,) count, with no margin there below ``level``."""
    kept: list[int] = []
    table: list[Indexes] = []
    place: tuple[int, int, str] | None = None
    block: list[int] = []

    def close() -> None:
        own = [r[usable[r] & (m >= level)] for r, m in ((every[n].options, every[n].margins) for n in block)]
        columns = np.unique(np.concatenate(own)) if own else np.empty(0, dtype=np.intp)
        dense = np.zeros((len(block), len(columns) + 1), dtype=bool)
        for i, chosen in enumerate(own):
            dense[i, np.searchsorted(columns, chosen)] = True
        for i in essential_rows(dense):
            kept.append(block[i])
            table.append(own[i])

    for n, row in enumerate(every):
        here = (row.stretch.edge, row.stretch.piece, row.phase)
        if here != place and block:
            close()
            block = []
        place = here
        block.append(n)
    if block:
        close()
    unique: dict[tuple[int, ...], int] = {}
    for i, chosen in enumerate(table):
        unique.setdefault(tuple(int(c) for c in chosen), i)
    first = sorted(unique.values())
    lengths = [len(table[i]) for i in first]
    column = np.concatenate([table[i] for i in first]) if first else np.empty(0, dtype=np.intp)
    data = sp.csr_matrix(
        (np.ones(len(column)), (np.repeat(np.arange(len(first)), lengths), column)),
        shape=(len(first), len(usable)),
    )
    return Matrix(every, np.array([kept[i] for i in first], dtype=np.intp), data)
