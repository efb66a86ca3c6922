"""What only a whole layout shows: lines too near another post or its guys, and walls that guys pull too hard.

Both are looked at once a choice is made, by the geometry of the check `guy.clear` and by the sums of
`guy.bracing`; what does not hold comes back as constraints, and the choice is made again. More lines on more
posts only add to what a wall has to hold: what is too much stays so in every larger layout.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from itertools import combinations

import numpy as np

from planforge.assess.bracing import WallPull, wall_pulls
from planforge.assess.index import Index
from planforge.assess.load_path import PostResult, solved_post
from planforge.assess.post_cases import cases_together
from planforge.assess.post_model import post_parts
from planforge.assess.strands import hung
from planforge.job.layout import Lifeline
from planforge.proposal.candidate import Candidate
from planforge.proposal.conflicts import Asked, standing_parts
from planforge.proposal.cover import Conflict
from planforge.proposal.edges import proposal_of
from planforge.proposal.sites import Site, as_post
from planforge.proposal.under_load import line_end

Lines = dict[int, list[int]]
"""The chosen lines at each site that has any, by number."""


def refused(
    index: Index, sites: list[Site], candidates: list[Candidate], options: Sequence[int], factor: float
) -> list[Conflict]:
    """What of a choice can't all stand, as constraints; an empty list where everything can.

    Args:
        index: the job.
        sites: places with their guys.
        candidates: as settled.
        options: those chosen.
        factor: what walls have to hold times the arrest's own load.
    """
    lines: Lines = defaultdict(list)
    for k in options:
        for site in candidates[k].sites if candidates[k].is_line else ():
            lines[site].append(k)
    found = [*_fouled(index, sites, candidates, lines), *_pulled(index, sites, candidates, lines, factor)]
    # what the coordinator has pinned together is theirs to judge
    return [
        c
        for c in found
        if not (all(candidates[k].pinned for k in c.options) and all(sites[s].pinned for s in c.facilities))
    ]


# ---------------------------------------------------------------- lines beside other posts


def _fouled(index: Index, sites: list[Site], candidates: list[Candidate], lines: Lines) -> list[Conflict]:
    """A chosen line and a post beside it of which one at most can stand."""
    asked = Asked(index)
    found = []
    standing = {site: standing_parts(index, sites[site]) for site in lines}
    for k in sorted({k for own in lines.values() for k in own}):
        line = candidates[k].thing
        assert isinstance(line, Lifeline)
        one, other = (_head(index, sites[s]) for s in candidates[k].sites)
        hangs = hung(one, other, line.sag)
        half = np.full(len(hangs), 0.5 * (index.ropes[index.systems[line.system].rope].diameter or 0.0))
        for site, (parts, thick) in standing.items():
            together = set(line.phases) & set(sites[site].phases)
            if site in candidates[k].sites or not together:
                continue
            guys = np.arange(len(parts)) > 0
            if asked.fouled(hangs, half, np.zeros(len(hangs), dtype=bool), parts, thick, guys).any():
                found.append(Conflict(options=(k,), facilities=(site,)))
    return found


def _head(index: Index, site: Site) -> tuple[float, float, float]:
    base = index.job.layout.levels[proposal_of(index).stands_on]
    if site.pinned is not None:
        base = index.job.layout.levels[index.posts[site.pinned].stands_on]
    return (*site.at, base + index.post_kinds[site.kind].head_height)


# ---------------------------------------------------------------- walls that hold guys


def _pulled(
    index: Index, sites: list[Site], candidates: list[Candidate], lines: Lines, factor: float
) -> list[Conflict]:
    """For each wall whose bracing holds too little, lines that can't all hang."""
    walls = index.job.building.walls if index.job.building else []
    if all(w.braced_along is None and w.braced_across is None for w in walls):
        return []
    results = {s: _result(index, sites, candidates, s, own, factor) for s, own in lines.items()}
    solved = {s: r for s, r in results.items() if r is not None}
    found = []
    for pull in wall_pulls(index, list(solved.values())):
        for side in (0, 1):
            if _too_much(pull, side, factor):
                few = _fewest(index, pull, side, solved, factor)
                options = tuple(sorted({k for s in few for k in lines[s]}))
                found.append(Conflict(options=options, limit=len(options) - 1))
    return found


def _result(
    index: Index, sites: list[Site], candidates: list[Candidate], site: int, own: list[int], factor: float
) -> PostResult | None:
    """A post under its chosen lines, as they are in use alone and together; None where it lacks data."""
    parts = post_parts(index, as_post(index, sites[site], f"site-{site}"))
    ends = {k: line_end(sites, candidates[k], site) for k in own}
    cases = tuple(
        case
        for size in range(1, len(own) + 1)
        for chosen in combinations(own, size)
        if set.intersection(*(set(candidates[k].thing.phases) for k in chosen))
        for case in cases_together(tuple(ends[k] for k in chosen))
    )
    return None if parts.missing or not cases else solved_post(parts, cases, factor, one_by_one=False)


def _too_much(pull: WallPull, side: int, factor: float) -> bool:
    rated = pull.rated(side)
    return rated is not None and bool(pull.arrest[side] > rated.value / factor * (1.0 + 1e-9))


def _fewest(
    index: Index, pull: WallPull, side: int, solved: dict[int, PostResult], factor: float
) -> list[int]:
    """A few posts that alone are too much for a wall: those that pull most, as many as it takes."""

    def on_wall(some: list[PostResult]) -> WallPull | None:
        return next((p for p in wall_pulls(index, some) if p.name == pull.name), None)

    alone: dict[int, float] = {}
    for site, result in solved.items():
        own = on_wall([result])
        if own is not None:
            alone[site] = own.arrest[side]
    few: list[int] = []
    for site in sorted(alone, key=lambda s: (-alone[s], s)):
        few.append(site)
        now = on_wall([solved[s] for s in few])
        if now is not None and _too_much(now, side, factor):
            break
    return few
