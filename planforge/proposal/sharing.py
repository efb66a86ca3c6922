"""What lines that share a post do to it together, and which lines can't both hang.

It is reckoned as it is asked for; what is too much for a level of margin becomes a constraint of the choice.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from planforge.calc.arrays import Array, Bools
from planforge.proposal.candidate import UNBOUNDED, Candidate, Margin
from planforge.proposal.conflicts import crossings
from planforge.proposal.cover import Conflict, cliques
from planforge.proposal.sites import Site
from planforge.proposal.under_load import Loaded, line_end, margins_under


@dataclass(frozen=True)
class _Cut:
    """Lines that load a post together down to a margin, or, at minus infinity, that can't both hang."""

    options: tuple[int, ...]
    margin: float


class Sharing:
    """What is known so far. Candidates go by their number; ``candidates`` may change under it."""

    def __init__(
        self, sites: list[Site], candidates: list[Candidate], posts: Callable[[int], Loaded]
    ) -> None:
        """Take them; ``posts`` gives a site's post, ready to be loaded."""
        self.sites, self.candidates, self.posts = sites, candidates, posts
        self.cuts: list[_Cut] = []
        self.combined: dict[tuple[int, tuple[int, ...]], Margin] = {}
        self.surveyed: set[int] = set()
        self.by_site: dict[int, list[int]] = defaultdict(list)
        for k, candidate in enumerate(candidates):
            for site in candidate.sites if candidate.is_line else ():
                self.by_site[site].append(k)

    def adopt(self, before: Sharing) -> None:
        """Take over what is known of a smaller problem; its candidates are the first of these."""
        self.cuts, self.combined = list(before.cuts), dict(before.combined)

    def forget(self, k: int) -> None:
        """Drop what was reckoned with a line whose loads have changed."""
        self.combined = {key: m for key, m in self.combined.items() if k not in key[1]}
        self.cuts = [c for c in self.cuts if k not in c.options or np.isneginf(c.margin)]
        self.surveyed -= set(self.candidates[k].sites)

    def below(self, level: float) -> list[Conflict]:
        """What is known to load a post beyond a level, as conflicts; pairs put together as far as they go."""
        below = [c.options for c in self.cuts if c.margin < level]
        pairs = [(c[0], c[1]) for c in below if len(c) == 2]
        more = [Conflict(options=c, limit=len(c) - 1) for c in below if len(c) > 2]
        return [*(Conflict(options=clique) for clique in cliques(pairs)), *more]

    @property
    def levels(self) -> Array:
        """The margins that lines are known to have together."""
        values = np.array([c.margin for c in self.cuts])
        return np.asarray(values[np.isfinite(values)])

    def together(self, options: Sequence[int]) -> dict[int, Margin]:
        """By site, the least margin of the chosen lines that are in use together on it."""
        found: dict[int, Margin] = {}
        for site, lines in self._shared(options).items():
            for chosen in self._in_use(lines):
                found[site] = found.get(site, UNBOUNDED).least(self._combined(site, chosen))
        return found

    def learn(self, options: Sequence[int], level: float, sound: Bools) -> bool:
        """Keep what chosen ``options`` load beyond a level, so that it is not chosen again; False: nothing.

        ``sound`` (K,) says of every candidate whether it can be chosen at all.
        """
        known = {c.options for c in self.cuts}
        learnt = False
        for pair in crossings(self.sites, self.candidates, list(options)):
            self.cuts.append(_Cut(pair, -np.inf))
            learnt = True
        shared = self._shared(options)
        self._survey([site for site in shared if site not in self.surveyed], sound)
        for site, lines in shared.items():
            for chosen in self._in_use(lines):
                margin = self._combined(site, chosen).value
                if margin < level and chosen not in known:
                    self.cuts.append(_Cut(chosen, margin))
                    known.add(chosen)
                    learnt = True
        return learnt

    def _shared(self, options: Sequence[int]) -> dict[int, list[int]]:
        by_site: dict[int, list[int]] = defaultdict(list)
        for k in options:
            if self.candidates[k].is_line:
                for site in self.candidates[k].sites:
                    by_site[site].append(k)
        return {site: lines for site, lines in by_site.items() if len(lines) > 1}

    def _in_use(self, lines: list[int]) -> list[tuple[int, ...]]:
        """Every two or more of the lines that share a phase."""
        return [
            chosen
            for size in range(2, len(lines) + 1)
            for chosen in combinations(lines, size)
            if set.intersection(*(set(self.candidates[k].thing.phases) for k in chosen))
        ]

    def _combined(self, site: int, lines: tuple[int, ...]) -> Margin:
        key = (site, lines)
        if key not in self.combined:
            ends = tuple(line_end(self.sites, self.candidates[k], site) for k in lines)
            self.combined[key] = self.posts(site).margin_under([ends])[0]
        return self.combined[key]

    def _survey(self, sites: list[int], sound: Bools) -> None:
        """Reckon every two lines that could load a post together, once a line's choice comes to matter there.

        A pair by pair discovery would take a programme solved for each.
        """
        self.surveyed |= set(sites)
        pairs = [self._pairs(site, sound) for site in sites]
        each = [
            [tuple(line_end(self.sites, self.candidates[k], site) for k in pair) for pair in own]
            for site, own in zip(sites, pairs, strict=True)
        ]
        found = margins_under([self.posts(site) for site in sites], each)
        known = {c.options for c in self.cuts}
        for site, own, margins in zip(sites, pairs, found, strict=True):
            for pair, margin in zip(own, margins, strict=True):
                self.combined[site, pair] = margin
                if pair not in known:
                    self.cuts.append(_Cut(pair, margin.value))

    def _pairs(self, site: int, sound: Bools) -> list[tuple[int, int]]:
        """Every two lines on a post that can be in use together and have not been reckoned."""
        lines = [k for k in self.by_site[site] if sound[k]]
        return [
            (a, b)
            for a, b in combinations(lines, 2)
            if (site, (a, b)) not in self.combined
            and set(self.candidates[a].sites) != set(self.candidates[b].sites)
            and set(self.candidates[a].thing.phases) & set(self.candidates[b].thing.phases)
        ]
