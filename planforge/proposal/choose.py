"""The choice among candidates, in this order: the largest worst margin, the fewest posts, the fewest lines,
the greatest sum of margins. Guardrails and covers are settled before: they rank higher in the hierarchy of
controls.

Each step is a mixed-integer programme solved to its proven best, or reported with its bound where the time
runs out. How the lines that share a post load it together is reckoned only for the posts of a choice; what
is too much becomes a constraint, and the choice is made again, so that the outcome is that of the whole
problem.
"""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import scipy.sparse as sp

from planforge.calc.arrays import Array, Bools
from planforge.errors import CalculationError
from planforge.proposal.candidate import UNBOUNDED, Candidate, Margin
from planforge.proposal.conflicts import crossings
from planforge.proposal.cover import (
    Answer,
    Conflict,
    Cover,
    OutOfTimeError,
    cliques,
    greatest_level,
    least_uncovered,
    solve,
)
from planforge.proposal.demand import Row, matrix
from planforge.proposal.sites import Site
from planforge.proposal.under_load import Loaded, line_end

ROUNDS = 200
"""How often a choice is made again for posts that its lines load together; beyond it something is wrong."""

SHARE = 0.4
"""What part of the time that is left one level of margin may use."""

ROUGH = 0.5
"""How far a trial choice may miss the fewest posts while only its existence is asked for, as a fraction."""


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
class _Cut:
    """Lines that load a post together down to a margin, or, at minus infinity, that can't both hang."""

    options: tuple[int, ...]
    margin: float


class Chooser:
    """The covering problem with what it learns of posts that several lines load."""

    def __init__(
        self,
        sites: list[Site],
        candidates: list[Candidate],
        rows: list[Row],
        conflicts: list[Conflict],
        posts: Callable[[int], Loaded],
        settle: Callable[[list[int]], list[Candidate]],
        time_limit: float | None,
        waived: frozenset[str] = frozenset(),
    ) -> None:
        """Take the problem; ``waived`` checks are let pass, to see what relaxing them would give.

        ``posts`` gives a site's post, ready to be loaded; ``settle`` gives candidates as they are once the
        second opinion has spoken, whose margins are no greater than before.
        """
        self.sites, self.candidates, self.rows = sites, list(candidates), rows
        self.conflicts, self.posts, self.settle = conflicts, posts, settle
        self.waived = waived
        self.own = np.array([self._own(c) for c in candidates])
        self.sound = np.array([self._is_sound(c) for c in candidates], dtype=bool)
        self.cuts: list[_Cut] = []
        self.combined: dict[tuple[int, tuple[int, ...]], Margin] = {}
        self.by_site: dict[int, list[int]] = defaultdict(list)
        for k, candidate in enumerate(candidates):
            for site in candidate.sites if candidate.is_line else ():
                self.by_site[site].append(k)
        self.surveyed: set[int] = set()
        pairs = [(k, s) for k, c in enumerate(candidates) for s in c.sites]
        self.needs = sp.csr_matrix(
            (np.ones(len(pairs)), tuple(np.array(pairs, dtype=np.intp).reshape(-1, 2).T)),
            shape=(len(candidates), len(sites)),
        )
        self.fixed = tuple(n for n, s in enumerate(sites) if s.pinned)
        self.stay = tuple(k for k, c in enumerate(candidates) if c.pinned)
        self.settled = set(self.stay)
        self.end = None if time_limit is None else time.monotonic() + time_limit

    def _own(self, candidate: Candidate) -> float:
        waived = candidate.margin.check in self.waived
        return max(candidate.margin.value, 0.0) if waived else candidate.margin.value

    def _is_sound(self, candidate: Candidate) -> bool:
        return self._own(candidate) >= 0.0 and all(f.constraint in self.waived for f in candidate.failures)

    def adopt(self, before: Chooser) -> None:
        """Take over what the choice of a smaller problem learnt; its candidates are the first of these."""
        n = len(before.candidates)
        self.candidates[:n] = before.candidates
        self.own[:n], self.sound[:n] = before.own, before.sound
        self.settled |= before.settled
        self.cuts, self.combined = list(before.cuts), dict(before.combined)

    def choose(self) -> Choice | None:
        """The best choice; None where the rows can't all be covered."""
        steps = []
        level, first, step = self._largest_margin()
        if first is None:
            return None
        steps.append(step)
        size = len(self.sites)
        fewest, step = self._step(
            "fewest posts", level, np.zeros(len(self.candidates)), np.ones(size), (), first
        )
        steps.append(step)
        budget = Conflict(facilities=tuple(range(size)), limit=len(fewest.facilities))
        cost = self._tie_break(level, fewest)
        last, step = self._step(
            "fewest lines, then the sum of margins", level, cost, np.zeros(size), (budget,), fewest
        )
        steps.append(step)
        return self._choice(last, tuple(steps))

    def cheapest(self, option_cost: Array, facility_cost: Array, gap: float = 0.0) -> Answer | None:
        """The cheapest cover in which everything holds, whatever the margins; None where there is none."""
        return self._solve(0.0, option_cost, facility_cost, (), gap)

    def uncovered(self) -> list[Row]:
        """The stretches that stay uncovered where as much length as can be is covered."""
        usable = self._usable(0.0)
        table = matrix(self.rows, usable, 0.0)
        weights = np.array([table.rows[n].stretch.length for n in table.essential])
        size = len(self.sites)
        cover = Cover(
            table.covers,
            self.needs,
            self._ones(),
            np.ones(size),
            (*self.conflicts, *self._cuts(0.0)),
            fixed_options=self.stay,
            fixed_facilities=self.fixed,
            barred=tuple(np.flatnonzero(~usable).tolist()),
        )
        left = least_uncovered(cover, weights, time_limit=self._left())
        return [table.rows[n] for n in table.essential[left]]

    # ------------------------------------------------------------ the worst margin

    def _largest_margin(self) -> tuple[float, Answer | None, Step]:
        """The greatest level at which everything can be covered, with an answer there."""
        levels = [self.own[self.sound & (self.own >= 0.0)]] + [r.margins[r.margins >= 0.0] for r in self.rows]
        every = np.concatenate([np.zeros(1), *levels])
        late: list[float] = []

        def works(level: float) -> Answer | None:
            # one hard level may not use up the time of all
            whole = self.end
            if whole is not None:
                now = time.monotonic()
                self.end = now + (whole - now) * SHARE
            try:
                return self._solve(level, self._ones(), np.ones(len(self.sites)), (), gap=ROUGH)
            except OutOfTimeError:
                late.append(level)
                return None
            finally:
                self.end = whole

        # any layout first: one that is not the best is still an offer, and where there is none no level does
        any_ = works(0.0)
        if any_ is None and not late:
            return 0.0, None, Step("largest worst margin", -1.0, -1.0, True)
        found = greatest_level(every[np.isfinite(every) & (every > 0.0)], works)
        if found is None and any_ is not None:
            found = 0.0, any_
        if found is None:
            raise OutOfTimeError(
                "No level of margin had a layout in the time. Tried: "
                f"{int(np.sum(self.sound))} lines and anchorages on {len(self.sites)} guyed posts, "
                f"{len(self.cuts)} exclusions of lines that load a post too much together."
            )
        level, answer = found
        while True:
            # what several lines do together to a post lies between the levels: ask for strictly more
            reached = self._worst(answer).value
            if not np.isfinite(reached):
                break
            better = works(float(np.nextafter(reached, np.inf)))
            if better is None:
                level = reached
                break
            answer = better
        bound = max([level, *late])
        return level, answer, Step("largest worst margin", float(level), float(bound), not late)

    def _worst(self, answer: Answer) -> Margin:
        """The least margin of a choice: its lines', its clearances' and its posts'."""
        chosen = set(answer.options.tolist())
        margin = UNBOUNDED
        for k in answer.options:
            margin = margin.least(self.candidates[k].margin)
        for row in self.rows:
            # a stretch counts by the best of what covers it
            values = [m for k, m in zip(row.options, row.margins, strict=True) if int(k) in chosen]
            if values and max(values) < margin.value:
                margin = Margin(float(max(values)), "arrest.clearance")
        for together in self._together(answer).values():
            margin = margin.least(together)
        return margin

    # ------------------------------------------------------------ one programme

    def _ones(self) -> Array:
        return np.ones(len(self.candidates))

    def _usable(self, level: float) -> Bools:
        return np.asarray(self.sound & (self.own >= level), dtype=bool)

    def _solve(
        self,
        level: float,
        option_cost: Array,
        facility_cost: Array,
        extra: tuple[Conflict, ...],
        gap: float = 0.0,
    ) -> Answer | None:
        """The best cover at a level of margin, made again until no post is loaded beyond it."""
        for _ in range(ROUNDS):
            usable = self._usable(level)
            covers = matrix(self.rows, usable, level).covers
            cover = Cover(
                covers,
                self.needs,
                option_cost,
                facility_cost,
                (*self.conflicts, *extra, *self._cuts(level)),
                fixed_options=self.stay,
                fixed_facilities=self.fixed,
                barred=tuple(np.flatnonzero(~usable).tolist()),
            )
            answer = solve(cover, time_limit=self._left(), gap=gap)
            if answer is None or not self._learn(answer, level):
                return answer
        raise CalculationError(
            f"proposal: no choice settled within {ROUNDS} rounds of posts loaded together."
        )

    def _cuts(self, level: float) -> list[Conflict]:
        """What is known to load a post beyond a level, as conflicts; pairs put together as far as they go."""
        below = [c.options for c in self.cuts if c.margin < level]
        pairs = [(c[0], c[1]) for c in below if len(c) == 2]
        more = [Conflict(options=c, limit=len(c) - 1) for c in below if len(c) > 2]
        return [*(Conflict(options=clique) for clique in cliques(pairs)), *more]

    def _left(self) -> float | None:
        return None if self.end is None else self.end - time.monotonic()

    def _step(
        self,
        name: str,
        level: float,
        option_cost: Array,
        facility_cost: Array,
        extra: tuple[Conflict, ...],
        before: Answer,
    ) -> tuple[Answer, Step]:
        """A step of the choice; the answer before it stands where the time has run out."""
        before_is = float(option_cost[before.options].sum() + facility_cost[before.facilities].sum())
        try:
            answer = self._solve(level, option_cost, facility_cost, extra)
        except OutOfTimeError:
            return before, Step(name, before_is, 0.0, False)
        if answer is None:
            raise CalculationError(f"proposal: step {name!r} lost the choice that the step before it found.")
        if not answer.proven and before_is < answer.objective:
            return before, Step(name, before_is, answer.bound, False)
        return answer, Step(name, answer.objective, answer.bound, answer.proven)

    def _tie_break(self, level: float, fewest: Answer) -> Array:
        """One a line, and less than one for all the margins together that lines have over the level."""
        over = np.clip(np.nan_to_num(self.own, posinf=level + 10.0) - level, 0.0, 10.0)
        most = float(over.max(initial=0.0))
        share = (most - over) / most if most > 0.0 else np.zeros_like(over)
        # whole steps: equal layouts that differ by rounding only weigh the same
        return np.asarray(1.0 + np.round(share, 4) / (len(fewest.options) + 1.0))

    # ------------------------------------------------------------ lines that share a post

    def _together(self, answer: Answer) -> dict[int, Margin]:
        """By site, the least margin of the chosen lines that are in use together on it."""
        found: dict[int, Margin] = {}
        for site, lines in self._shared(answer).items():
            for chosen in self._in_use(lines):
                found[site] = found.get(site, UNBOUNDED).least(self._combined(site, chosen))
        return found

    def _shared(self, answer: Answer) -> dict[int, list[int]]:
        by_site: dict[int, list[int]] = defaultdict(list)
        for k in answer.options.tolist():
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

    def _survey(self, site: int) -> None:
        """Reckon every two lines that could load a post together, once a line's choice comes to matter there.

        A pair by pair discovery would take a programme solved for each.
        """
        if site in self.surveyed:
            return
        self.surveyed.add(site)
        lines = [k for k in self.by_site[site] if self.sound[k]]
        own = [
            (a, b)
            for a, b in combinations(lines, 2)
            if (site, (a, b)) not in self.combined
            and set(self.candidates[a].sites) != set(self.candidates[b].sites)
            and set(self.candidates[a].thing.phases) & set(self.candidates[b].thing.phases)
        ]
        ends = [tuple(line_end(self.sites, self.candidates[k], site) for k in pair) for pair in own]
        known = {c.options for c in self.cuts}
        for pair, margin in zip(own, self.posts(site).margin_under(ends), strict=True):
            self.combined[site, pair] = margin
            if pair not in known:
                self.cuts.append(_Cut(pair, margin.value))

    def _settle(self, answer: Answer, level: float) -> bool:
        """Ask the second opinion on the chosen lines; True where one turns out below the level.

        Then those that could stand in for it, by what is known of them, are asked for at once.
        """
        fell = self._ask(answer.options.tolist(), level)
        if not fell:
            return False
        edges = {s.stretch.edge for k in fell for s in self.candidates[k].services}
        self._ask(
            [
                k
                for k, c in enumerate(self.candidates)
                if self.sound[k] and self.own[k] >= level and any(s.stretch.edge in edges for s in c.services)
            ],
            level,
        )
        return True

    def _ask(self, options: list[int], level: float) -> list[int]:
        """Settle options; those that fall below the level."""
        new = [k for k in options if k not in self.settled]
        if not new:
            return []
        for k, candidate in zip(new, self.settle(new), strict=True):
            self.candidates[k] = candidate
            self.own[k] = self._own(candidate)
            self.sound[k] = self._is_sound(candidate)
            self.settled.add(k)
        return [k for k in new if not self.sound[k] or self.own[k] < level]

    def _learn(self, answer: Answer, level: float) -> bool:
        """Keep what a choice loads beyond a level, so that it is not made again; False where nothing is."""
        if self._settle(answer, level):
            return True
        known = {c.options for c in self.cuts}
        learnt = False
        for pair in crossings(self.sites, self.candidates, answer.options.tolist()):
            self.cuts.append(_Cut(pair, -np.inf))
            learnt = True
        for site, lines in self._shared(answer).items():
            self._survey(site)
            for chosen in self._in_use(lines):
                margin = self._combined(site, chosen).value
                if margin < level and chosen not in known:
                    self.cuts.append(_Cut(chosen, margin))
                    known.add(chosen)
                    learnt = True
        return learnt

    def _choice(self, answer: Answer, steps: tuple[Step, ...]) -> Choice:
        used = sorted({s for k in answer.options for s in self.candidates[k].sites} | set(self.fixed))
        return Choice(
            tuple(answer.options.tolist()), tuple(used), self._worst(answer), self._together(answer), steps
        )
