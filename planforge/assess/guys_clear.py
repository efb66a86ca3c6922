"""Guys, posts and lines of neighbours that stand at the same time keep clear of each other.

Taken as straight in space: posts from base to head, guys with their pieces from attachment to plate anchor;
lines hang at their target sag. Between two things of which neither ends at the other's post the clear
distance is that of their centre lines less half of both thicknesses. A post's own guys, and a line at its own
two posts, are what their maker's instructions put together and are not held against each other.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planforge.assess.finding import Finding, Verdict, found, keeps
from planforge.assess.index import Index
from planforge.assess.post_model import PostParts
from planforge.calc.arrays import Array
from planforge.calc.segment_gap import nearest_points
from planforge.job.layout import Lifeline
from planforge.units import INCH, Display

APART = 4 * INCH
"""The least clear distance where the job states none and no tolerance; planforge's own rule, no source."""

CHORDS = 8
"""How many straight parts stand for a line's parabola: off by under a sixty-fourth of the sag."""

_NEAR_PLATE = 0.5 * INCH


@dataclass(frozen=True)
class Apart:
    """The clear distance that is asked for, and where it comes from."""

    distance: float  # m
    source: str
    stated: bool


@dataclass(frozen=True)
class Strand:
    """A thing that stands: a post, a guy or a line, as straight parts."""

    id: str
    of: str  # the post or line whose check speaks for it
    posts: frozenset[str]  # those it ends at
    parts: Array  # (P, 2, 3) m
    thickness: float | None  # m; None: not stated
    phases: frozenset[str]
    is_guy: bool = False


@dataclass(frozen=True)
class _Near:
    """Two strands of different posts where they come nearest."""

    own: Strand
    other: Strand
    gap: float  # m, clear
    at: Array  # (3,) m

    @property
    def phases(self) -> frozenset[str]:
        return self.own.phases & self.other.phases


def apart(index: Index) -> Apart:
    """The clear distance that guys, posts and lines of neighbours are held to."""
    tolerances = index.job.erection.tolerances if index.job.erection else None
    if tolerances is not None and tolerances.guys_apart is not None:
        return Apart(tolerances.guys_apart, "the job's own limit: erection.tolerances.guys_apart", True)
    if tolerances is not None and tolerances.post_position > 0.0:
        source = (
            "planforge's own rule: two posts, each as far out as erection.tolerances.post_position allows, "
            "still leave their guys apart"
        )
        return Apart(2.0 * tolerances.post_position, source, True)
    return Apart(APART, "planforge's own rule, no source: neither distance nor tolerance is stated", False)


def clear_findings(index: Index, posts: list[PostParts]) -> list[Finding]:
    """For each post and each line: the nearest thing of another that stands with it, and what fouls it."""
    strands = [*(s for parts in posts for s in _of_post(index, parts)), *_of_lines(index)]
    asked = apart(index)
    nears = _nearest(strands)
    display = Display(index.job.site.units)
    order = index.shared_phases()
    owners = list(dict.fromkeys(s.of for s in strands))
    return [_finding(owner, [n for n in nears if n.own.of == owner], asked, order, display) for owner in owners]


def _of_post(index: Index, parts: PostParts) -> list[Strand]:
    x, y = parts.post.at
    foot, head = (x, y, parts.base), (x, y, parts.base + parts.kind.head_height)
    own = frozenset([parts.id])
    phases = frozenset(index.shared_phases(parts.post.phases))
    found_ = [Strand(parts.id, parts.id, own, np.array([[foot, head]]), parts.kind.outer_diameter, phases)]
    for guy in parts.guys:
        run = np.array([[(x, y, parts.base + guy.line.height), (*guy.line.to, guy.line.elevation)]])
        given = [kind.diameter for kind, _ in guy.pieces]
        thickest = None if any(d is None for d in given) else max(d for d in given if d is not None)
        found_.append(Strand(guy.line.id, parts.id, own, run, thickest, phases, is_guy=True))
    return found_


def _of_lines(index: Index) -> list[Strand]:
    return [
        Strand(
            line.id,
            line.id,
            frozenset([line.start, line.end]),
            _hung(index, line),
            index.ropes[index.systems[line.system].rope].diameter,
            frozenset(index.shared_phases(line.phases)),
        )
        for line in index.job.layout.lines
    ]


def _hung(index: Index, line: Lifeline) -> Array:
    """A line's parabola at its target sag as chords, (CHORDS, 2, 3)."""
    start, end = (np.array(e) for e in index.line_ends(line))
    along = np.linspace(0.0, 1.0, CHORDS + 1)[:, None]
    points = start + along * (end - start)
    points[:, 2:] -= 4.0 * line.sag * along * (1.0 - along)
    return np.stack([points[:-1], points[1:]], axis=1)


def _nearest(strands: list[Strand]) -> list[_Near]:
    """Every two strands of which neither ends at the other's post, in a phase that they share; both ways."""
    if not strands:
        return []
    count = np.array([len(s.parts) for s in strands])
    first = np.concatenate([[0], np.cumsum(count)[:-1]])
    every = np.concatenate([s.parts for s in strands])
    one, two = nearest_points(every, every)
    gaps = np.linalg.norm(one - two, axis=-1)
    nears = []
    for i, j in np.argwhere(_together(strands)):
        own, other = strands[i], strands[j]
        block = gaps[first[i] : first[i] + count[i], first[j] : first[j] + count[j]]
        n, m = np.unravel_index(int(np.argmin(block)), block.shape)
        at = 0.5 * (one + two)[first[i] + n, first[j] + m]
        thick = 0.5 * ((own.thickness or 0.0) + (other.thickness or 0.0))
        nears.append(_Near(own, other, float(block[n, m]) - thick, at))
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
    nears = sorted(nears, key=lambda n: (round(n.gap, 9), n.own.id, n.other.id))
    nearest = nears[0]
    verdict = keeps(nearest.gap, asked.distance, "at least")
    fouled = [n for n in nears if keeps(n.gap, asked.distance, "at least") is Verdict.SHORT]
    note = "; ".join(_said(n, display) for n in fouled or nears[:1]) + "."
    if fouled:
        note += " " + _remedy(fouled)
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
        phase=", ".join(p for p in order if p in nearest.phases),
        value=nearest.gap,
        limit=asked.distance,
        unit="m",
        sense="at least",
        source=asked.source,
        note=note,
    )


def _said(near: _Near, display: Display) -> str:
    x, y, z = (display.length(float(v)) for v in near.at)
    gap = "touching or through each other" if near.gap <= 0.0 else f"{display.inches(near.gap, 'down')} apart"
    return f"{near.own.id} and {near.other.id}: {gap} at {x}, {y}, {z} up"


def _remedy(fouled: list[_Near]) -> str:
    at_plate = all(
        near.own.is_guy
        and near.other.is_guy
        and np.linalg.norm(near.own.parts[0, 1] - near.other.parts[0, 1]) - near.gap < _NEAR_PLATE
        for near in fouled
    )
    if at_plate:
        return "Give each guy a plate anchor of its own, far enough from the other."
    return "Turn one of each two to another plate anchor, attach it higher or lower, or move the post."
