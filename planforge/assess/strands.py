"""What stands: posts, guys and lines as straight parts in space, with their thickness and phases.

Posts run from base to head, guys with their pieces from attachment to plate anchor; lines hang at their
target sag, as chords of a parabola. Lengths in m, elevations from the top of the slab.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.assess.index import Index
from planforge.assess.post_model import PostParts
from planforge.calc.arrays import Array, Bools
from planforge.job.layout import Lifeline
from planforge.units import INCH

LEAST = 1 * INCH
"""What is left between neighbours after both are as far out as their tolerance; planforge's own rule, no
source.
"""

OUT = 2 * INCH
"""How far a post may stand out where the job states no tolerance; planforge's own assumption."""

CHORDS = 8
"""How many straight parts stand for a line's parabola: off by under a sixty-fourth of the sag."""


@dataclass(frozen=True)
class Apart:
    """The clear distance that is asked for between two things, and where it comes from.

    A post that stands out by its tolerance moves itself and the heads of its guys and lines by as much, a
    guy's plate anchor by nothing, and what lies between in proportion.
    """

    least: float  # m
    out: float  # m, how far a post may stand out
    source: str
    stated: bool

    def asked(self, moves: Array) -> Array:
        """The distance asked for, m, where two things move ``moves`` times as far as one post in all."""
        return np.asarray(self.least + self.out * moves)


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


def moves(guy: Bools, along: Array) -> Array:
    """What part of its post's movement a place does, ``along`` a part: 0 at its start, 1 at its end."""
    return np.where(guy, 1.0 - along, 1.0)


def apart(index: Index) -> Apart:
    """The clear distance that guys, posts and lines of neighbours are held to."""
    tolerances = index.job.erection.tolerances if index.job.erection else None
    if tolerances is not None and tolerances.guys_apart is not None:
        return Apart(tolerances.guys_apart, 0.0, "the job's own limit: erection.tolerances.guys_apart", True)
    rule = "planforge's own rule, no source: two posts that stand out towards each other"
    if tolerances is not None:
        source = f"{rule}, each by the tolerance of its base, still leave 1 in"
        return Apart(LEAST, tolerances.post_position, source, True)
    return Apart(LEAST, OUT, f"{rule} by 2 in each, since no tolerance is stated, still leave 1 in", False)


def post_strands(index: Index, parts: PostParts) -> list[Strand]:
    """A post and its guys, the post first."""
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


def line_strand(index: Index, line: Lifeline) -> Strand:
    """A line at its target sag."""
    start, end = index.line_ends(line)
    return Strand(
        line.id,
        line.id,
        frozenset([line.start, line.end]),
        hung(start, end, line.sag),
        index.ropes[index.systems[line.system].rope].diameter,
        frozenset(index.shared_phases(line.phases)),
    )


def hung(start: tuple[float, float, float], end: tuple[float, float, float], sag: float) -> Array:
    """A line's parabola between two heads as chords, (CHORDS, 2, 3)."""
    along = np.linspace(0.0, 1.0, CHORDS + 1)[:, None]
    points = np.asarray(start) + along * (np.asarray(end) - np.asarray(start))
    points[:, 2:] -= 4.0 * sag * along * (1.0 - along)
    return np.stack([points[:-1], points[1:]], axis=1)
