"""Guys, posts and lines of neighbours that stand at the same time keep clear of each other.

Between two things of which neither ends at the other's post the clear distance is that of their centre lines
less half of both thicknesses. A post's own guys, and a line at its own two posts, are what their maker's
instructions put together and are not held against each other.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planforge.assess.finding import Finding, Verdict, found, keeps
from planforge.assess.index import Index
from planforge.assess.post_model import PostParts
from planforge.assess.strands import Apart, Strand, apart, line_strand, moves, post_strands
from planforge.calc.arrays import Array
from planforge.calc.segment_gap import Nearest, nearest
from planforge.units import INCH, Display

_NEAR_PLATE = 2 * INCH
_HAIR = 1e-8
"""Metres within which two distances count as one when the least is looked for."""


@dataclass(frozen=True)
class _Near:
    """Two strands of different posts where they come nearest."""

    own: Strand
    other: Strand
    gap: float  # m, clear
    asked: float  # m
    at: Array  # (3,) m

    @property
    def left(self) -> float:
        """What is left of the gap beyond what is asked, m."""
        return self.gap - self.asked

    @property
    def phases(self) -> frozenset[str]:
        """In which both stand."""
        return self.own.phases & self.other.phases


def clear_findings(index: Index, posts: list[PostParts]) -> list[Finding]:
    """For each post and each line: the nearest thing of another that stands with it, and what fouls it."""
    strands = [s for parts in posts for s in post_strands(index, parts)]
    strands += [line_strand(index, line) for line in index.job.layout.lines]
    asked = apart(index)
    between = _between(strands, asked)
    display = Display(index.job.site.units)
    order = index.shared_phases()
    owners = list(dict.fromkeys(s.of for s in strands))
    return [_finding(owner, between, asked, order, display) for owner in owners]


@dataclass(frozen=True)
class _Between:
    """How near every two of S strands with P parts in all come, and what of it counts."""

    strands: list[Strand]
    ends: list[int]  # where the parts of each begin, and P
    together: NDArray[np.bool_]  # (S, S): both stand in one phase, and neither ends at the other's post
    gaps: Nearest  # (P, P)
    clear: Array  # (P, P) m
    needed: Array  # (P, P) m
    left: Array  # (S, S) m, the least of clear less needed

    def near(self, i: int, j: int) -> _Near:
        """Two strands where the least is left between them."""
        own, other = self.ends[i], self.ends[j]
        block = (self.clear - self.needed)[own : self.ends[i + 1], other : self.ends[j + 1]]
        row, column = divmod(int(block.argmin()), block.shape[1])
        at = own + row, other + column
        return _Near(
            self.strands[i],
            self.strands[j],
            float(self.clear[at]),
            float(self.needed[at]),
            self.gaps.at[at],
        )

    def of(self, owner: str) -> list[int]:
        """The strands that the check of a post or line speaks for."""
        return [i for i, strand in enumerate(self.strands) if strand.of == owner]

    def tightest(self, own: list[int]) -> list[_Near]:
        """Those with the least left beside any strand of ``own``, and all that foul one; the least first."""
        left = np.where(self.together[own], self.left[own], np.inf)
        most = max(float(left.min(initial=np.inf)), 0.0) + _HAIR
        nears = [self.near(own[i], j) for i, j in np.argwhere(np.isfinite(left) & (left <= most)).tolist()]
        # to a hair: things that mirror each other come out in the order of their names
        return sorted(nears, key=lambda n: (round(n.left, 9), n.own.id, n.other.id))

    def bare(self, own: list[int]) -> list[str]:
        """Those of ``own`` and of what stands with them whose thickness is not stated."""
        beside = self.together[own]
        counted = {own[i] for i in np.flatnonzero(beside.any(axis=1))} | {*np.flatnonzero(beside.any(axis=0))}
        return sorted({self.strands[i].id for i in counted if self.strands[i].thickness is None})


def _between(strands: list[Strand], asked: Apart) -> _Between:
    """What is asked is taken where two come nearest: it changes by inches over a guy's whole length."""
    count = np.array([len(s.parts) for s in strands], dtype=int)
    begins = np.concatenate([[0], np.cumsum(count)]).astype(int)
    every = np.concatenate([s.parts for s in strands]) if strands else np.zeros((0, 2, 3))
    gaps = nearest(every, every)
    thick = np.repeat(np.array([s.thickness or 0.0 for s in strands]), count)
    guy = np.repeat(np.array([s.is_guy for s in strands], dtype=bool), count)
    clear = gaps.gap - 0.5 * (thick[:, None] + thick)
    needed = asked.asked(moves(guy[:, None], gaps.own) + moves(guy, gaps.other))
    left = clear - needed
    for axis in (0, 1) if strands else ():
        left = np.minimum.reduceat(left, begins[:-1], axis=axis)
    return _Between(strands, begins.tolist(), _together(strands), gaps, clear, needed, left)


def _together(strands: list[Strand]) -> NDArray[np.bool_]:
    def shared(sets: list[frozenset[str]]) -> NDArray[np.bool_]:
        names = sorted(frozenset().union(*sets))
        table = np.array([[name in s for name in names] for s in sets], dtype=int).reshape(
            len(sets), len(names)
        )
        return np.asarray(table @ table.T > 0)

    return shared([s.phases for s in strands]) & ~shared([s.posts for s in strands])


def _finding(owner: str, between: _Between, asked: Apart, order: list[str], display: Display) -> Finding:
    own = between.of(owner)
    nears = between.tightest(own)
    if not nears:
        note = "Nothing of another post stands at the same time."
        return found("guy.clear", owner, Verdict.NOT_APPLICABLE, note=note)
    nearest_ = nears[0]
    verdict = keeps(nearest_.gap, nearest_.asked, "at least")
    fouled = [n for n in nears if keeps(n.gap, n.asked, "at least") is Verdict.SHORT]
    note = f"{_said(nearest_, display)}."
    if fouled:
        also = ", ".join(_pair(n) for n in fouled[1:])
        note += f" Too near as well: {also}." * bool(also) + f" {_remedy(fouled)}"
    else:
        bare = between.bare(own)
        if bare:
            verdict, note = Verdict.CONFIRM, f"{note} Thickness not stated: {', '.join(bare)}."
        if not asked.stated:
            verdict, note = Verdict.CONFIRM, f"{note} Wanted: erection.tolerances.guys_apart."
    return found(
        "guy.clear",
        owner,
        verdict,
        phase=", ".join(p for p in order if p in nearest_.phases),
        value=nearest_.gap,
        limit=nearest_.asked,
        unit="m",
        sense="at least",
        source=asked.source,
        note=note,
    )


def _said(near: _Near, display: Display) -> str:
    x, y, z = (display.length(float(v)) for v in near.at)
    gap = "touching or through each other" if near.gap <= 0.0 else f"{display.length(near.gap, 'down')} apart"
    return f"{_pair(near)}: {gap} at {x}, {y}, {z} up"


def _pair(near: _Near) -> str:
    """Both by name, in the same order for whichever post is told of them."""
    return " and ".join(sorted((near.own.id, near.other.id)))


def _remedy(fouled: list[_Near]) -> str:
    at_plate = all(
        near.own.is_guy and near.other.is_guy and np.linalg.norm(near.own.parts[0, 1] - near.at) < _NEAR_PLATE
        for near in fouled
    )
    if at_plate:
        return "Give each guy a plate anchor of its own, far enough from the other."
    return "Turn one of each two to another plate anchor, attach it higher or lower, or move the post."
