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
from planforge.calc.segment_gap import nearest
from planforge.units import INCH, Display

_NEAR_PLATE = 2 * INCH


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
    nears = _nearest(strands, asked)
    display = Display(index.job.site.units)
    order = index.shared_phases()
    owners = list(dict.fromkeys(s.of for s in strands))
    return [
        _finding(owner, [n for n in nears if n.own.of == owner], asked, order, display) for owner in owners
    ]


def _nearest(strands: list[Strand], asked: Apart) -> list[_Near]:
    """Every two strands of which neither ends at the other's post, in a phase that they share; both ways.

    What is asked is taken where they come nearest: it changes by inches over a guy's whole length.
    """
    if not strands:
        return []
    count = np.array([len(s.parts) for s in strands])
    ends = np.concatenate([[0], np.cumsum(count)]).tolist()
    every = np.concatenate([s.parts for s in strands])
    gaps = nearest(every, every)
    # of every two parts; then those of two strands where the least is left
    thick = np.repeat([s.thickness or 0.0 for s in strands], count)
    guy = np.repeat([s.is_guy for s in strands], count)
    clear = gaps.gap - 0.5 * (thick[:, None] + thick)
    moved = moves(guy[:, None], gaps.own) + moves(guy, gaps.other)
    needed = asked.asked(moved)
    left = clear - needed
    nears = []
    for i, j in np.argwhere(_together(strands)).tolist():
        block = left[ends[i] : ends[i + 1], ends[j] : ends[j + 1]]
        row, column = divmod(int(block.argmin()), block.shape[1]) if block.size > 1 else (0, 0)
        at = ends[i] + row, ends[j] + column
        nears.append(_Near(strands[i], strands[j], float(clear[at]), float(needed[at]), gaps.at[at]))
    return nears


def _together(strands: list[Strand]) -> NDArray[np.bool_]:
    def shared(sets: list[frozenset[str]]) -> NDArray[np.bool_]:
        names = sorted(frozenset().union(*sets))
        table = np.array([[name in s for name in names] for s in sets], dtype=int)
        return np.asarray(table @ table.T > 0)

    return shared([s.phases for s in strands]) & ~shared([s.posts for s in strands])


def _finding(owner: str, nears: list[_Near], asked: Apart, order: list[str], display: Display) -> Finding:
    if not nears:
        note = "Nothing of another post stands at the same time."
        return found("guy.clear", owner, Verdict.NOT_APPLICABLE, note=note)
    # to a hair: things that mirror each other come out in the order of their names
    nears = sorted(nears, key=lambda n: (round(n.left, 9), n.own.id, n.other.id))
    nearest_ = nears[0]
    verdict = keeps(nearest_.gap, nearest_.asked, "at least")
    fouled = [n for n in nears if keeps(n.gap, n.asked, "at least") is Verdict.SHORT]
    note = f"{_said(nearest_, display)}."
    if fouled:
        also = ", ".join(_pair(n) for n in fouled[1:])
        note += f" Too near as well: {also}." * bool(also) + f" {_remedy(fouled)}"
    else:
        bare = sorted({s.id for n in nears for s in (n.own, n.other) if s.thickness is None})
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
    gap = "touching or through each other" if near.gap <= 0.0 else f"{display.inches(near.gap, 'down')} apart"
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
