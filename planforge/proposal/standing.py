"""Posts that can stand: each place with its guys, the phases in which it is clear, and the pairs between
them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from planforge.assess.finding import Verdict
from planforge.assess.index import Index
from planforge.assess.overhead import framing_findings
from planforge.assess.post_model import post_parts
from planforge.calc.arrays import Array
from planforge.job.layout import GuyLine
from planforge.proposal.clock import NO_LIMIT, Clock
from planforge.proposal.edges import HazardEdge
from planforge.proposal.guy_sets import ALL_ROUND
from planforge.proposal.guying import Plates, guyed_each, plates
from planforge.proposal.sites import Failure, Site, as_post, named_place, way_out_phases

AT_ONCE = 24
"""How many posts are guyed in one go; it bounds how late the clock is looked at, not what is found."""

LONGER = 1e-3
"""1/m; planforge's own choice, only to break ties."""

Pull = tuple[int, int | None]
"""A place, and the way its lines pull by quarter; None for a post that is guyed for all of them."""


def standing(
    index: Index,
    edges: list[HazardEdge],
    places: list[Site],
    spans: list[tuple[int, int]],
    clock: Clock = NO_LIMIT,
) -> tuple[list[Site], list[tuple[int, int]], list[Site]]:
    """Posts with their guys and phases, pairs of them, and those that can't be guyed, with what they fail.

    At each place a post is guyed for all its lines; and where they pull to several sides, once for each side
    by itself, which holds more.

    Raises:
        OutOfTimeError: the time ran out first.
    """
    walls = plates(index)
    wanted = wanted_phases(index, edges)
    pulls: dict[Pull, list[Array]] = defaultdict(list)
    ends: list[tuple[Pull, Pull, Pull, Pull]] = []
    for i, j in spans:
        run = np.asarray(places[j].at) - np.asarray(places[i].at)
        # longer lines count a little more, so that no tie between two ways of guying is left to the order
        unit = run / np.hypot(*run) * (1.0 + LONGER * float(np.hypot(*run)))
        here, there = (i, _quarter(unit)), (j, _quarter(-unit))
        for pull_, towards in ((here, unit), ((i, None), unit), (there, -unit), ((j, None), -unit)):
            pulls[pull_].append(towards)
        ends.append(((i, None), (j, None), here, there))
    sides: dict[int, int] = defaultdict(int)
    for n, quarter in pulls:
        sides[n] += quarter is not None
    # a pinned post keeps the guys it has, for all its lines
    built: dict[Pull, Site] = {(n, None): s for n, s in enumerate(places) if s.pinned is not None}
    sides |= {n: 0 for n, _ in built}
    out: list[Site] = []
    wanting = [
        pull_
        for pull_ in sorted(pulls, key=lambda one: (one[0], one[1] or -1))
        if places[pull_[0]].pinned is None and (pull_[1] is None or sides[pull_[0]] > 1)
    ]
    for batch in (wanting[n : n + AT_ONCE] for n in range(0, len(wanting), AT_ONCE)):
        clock.check(f"places were guyed: {len(built) + len(out)} of {len(wanting)} posts, no line tried yet")
        posts = [(places[n], np.array(pulls[n, quarter])) for n, quarter in batch]
        for one, site in zip(batch, stood_each(index, walls, wanted, posts), strict=True):
            if site.failures:
                out.append(site)
            else:
                built[one] = site
    number = {pull_: n for n, pull_ in enumerate(built)}
    pairs_ = set()
    for start, end, *dedicated in ends:
        own = [p if sides[p[0]] > 1 else (p[0], None) for p in dedicated]
        for one, other in ((start, end), (own[0], own[1])):
            if one in number and other in number:
                pairs_.add((number[one], number[other]))
    return list(built.values()), sorted(pairs_), out


def standing_alone(index: Index, edges: list[HazardEdge], places: list[Site]) -> list[Site]:
    """Posts guyed to every side, as a single anchorage needs; places where that can not be are left out."""
    walls = plates(index)
    wanted = wanted_phases(index, edges)
    around = np.linspace(0.0, 2 * np.pi, ALL_ROUND, endpoint=False)
    pulls = np.stack([np.cos(around), np.sin(around)], axis=1)
    every = stood_each(index, walls, wanted, [(place, pulls) for place in places])
    return [site for site in every if not site.failures]


def wanted_phases(index: Index, edges: list[HazardEdge]) -> tuple[str, ...]:
    """The phases in which some edge is open, in order."""
    return tuple(p for p in index.shared_phases() if any(p in e.phases for e in edges))


def _quarter(unit: Array) -> int:
    """Which way a pull goes, by quarters about the plan's axes."""
    return int(np.round(np.arctan2(unit[1], unit[0]) / (0.5 * np.pi) + 1e-9)) % 4


def stood_each(
    index: Index, walls: Plates, wanted: tuple[str, ...], posts: Sequence[tuple[Site, Array]]
) -> list[Site]:
    """Places with the guys and phases of a post for its pulls (P, 2), or with what it fails."""
    return [
        with_guys(index, wanted, place, guys, first, failure)
        for (place, _), (guys, failure, first) in zip(posts, guyed_each(index, walls, posts), strict=True)
    ]


def with_guys(
    index: Index,
    wanted: tuple[str, ...],
    place: Site,
    guys: tuple[GuyLine, ...],
    first: int,
    failure: Failure | None = None,
) -> Site:
    """A place with its guys, in the phases from its ``first`` in which it can stand with them."""
    order = index.shared_phases()
    phases = way_out_phases(index, place, tuple(p for p in wanted if order.index(p) >= first))
    site = replace(place, guys=guys, phases=phases)
    site = replace(site, phases=tuple(p for p in phases if not _fouls(index, site, p)))
    if failure is None and not site.phases:
        failure = Failure("way out: trusses or joists over it in every phase", named_place(place.at))
    return site if failure is None else replace(site, failures=(failure,))


def _fouls(index: Index, site: Site, phase: str) -> bool:
    """True where the post or a guy passes through a truss or joist of a phase."""
    if not site.guys or not any(index.shared_phases(f.phases, [phase]) for f in index.job.layout.framing):
        return False
    parts = post_parts(index, as_post(index, replace(site, phases=(phase,)), "site"))
    return any(f.verdict is Verdict.SHORT for f in framing_findings(index, [parts]))
