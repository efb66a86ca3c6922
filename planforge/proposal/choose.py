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
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import scipy.sparse as sp

from planforge.calc.arrays import Array, Bools
from planforge.errors import CalculationError
from planforge.proposal.candidate import UNBOUNDED, Candidate, Margin
from planforge.proposal.choice import Choice, Made, Step
from planforge.proposal.cover import (
    Answer,
    Conflict,
    Cover,
    OutOfTimeError,
    greatest_level,
    least_uncovered,
    solve,
)
from planforge.proposal.demand import Row, matrix
from planforge.proposal.sharing import Sharing
from planforge.proposal.sites import Site
from planforge.proposal.under_load import Loaded

ROUNDS = 200
"""How often a choice is made again for posts that its lines load together; beyond it something is wrong."""

SHARE = 0.4
"""What part of the time that is left one level of margin may use."""

SAME = 1e-9
"""What two margins, or two loads as a fraction, may differ by and count as the same."""

DRAFT = 0.1
"""By what part of its posts a draft may miss the fewest; planforge's own choice."""

LEVELS = 0.01
"""How far apart the levels of margin of a draft are; planforge's own choice."""

ROUGH = 0.5
"""How far a trial choice may miss the fewest posts while only its existence is asked for, as a fraction."""


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
        refuse: Callable[[list[Candidate], list[int]], list[Conflict]],
        time_limit: float | None,
        waived: frozenset[str] = frozenset(),
    ) -> None:
        """Take the problem; ``waived`` checks are let pass, to see what relaxing them would give.

        ``posts`` gives a site's post, ready to be loaded; ``settle`` gives candidates as they are once the
        second opinion has spoken, whose margins are no greater than before; ``refuse`` says, of candidates
        and the numbers of those chosen, what can't all stand in one layout.
        """
        self.sites, self.candidates, self.rows = sites, list(candidates), rows
        self.conflicts, self.settle, self.refuse = conflicts, settle, refuse
        self.refused: list[Conflict] = []
        self.start: tuple[int, ...] = ()
        self.waived = waived
        self.own = np.array([self._own(c) for c in candidates])
        self.sound = np.array([self._is_sound(c) for c in candidates], dtype=bool)
        self.most = float(np.max(self.own, where=np.isfinite(self.own), initial=0.0))
        self.sharing = Sharing(sites, self.candidates, posts)
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

    def start_from(self, options: Sequence[int]) -> None:
        """Name options of which a layout can be made: it stands where no time is left for a better one."""
        self.start = tuple(options)

    def adopt(self, before: Chooser) -> None:
        """Take over what the choice of a smaller problem learnt; its candidates are the first of these."""
        n = len(before.candidates)
        self.candidates[:n] = before.candidates
        self.own[:n], self.sound[:n] = before.own, before.sound
        self.settled |= before.settled
        self.sharing.adopt(before.sharing)
        self.refused = list(before.refused)

    def choose(self) -> Choice | None:
        """The best choice; None where the rows can't all be covered.

        It is made as if no second opinion took anything, which only ever lowers margins; then those of its
        lines are asked for, and it is made again until they have taken nothing. What a whole layout shows
        that can't stand is excluded likewise; where nothing else is left, the first of those is returned.
        """
        made, first, stands = self._made(), None, True
        for _ in range(ROUNDS):
            if made is None:
                break
            options = made.last.options.tolist()
            if not self._doubt(options, made.level):
                refused = self.refuse(self.candidates, options)
                if not refused:
                    return self._choice(made.last, made.steps)
                first, stands = first or made, False
                self.refused += refused
            before = made
            try:
                made, stands = self._made_again(before, stands=stands), True
            except OutOfTimeError:
                return self._as_it_stands(before)
        if first is not None and self._stands(first):
            return self._choice(first.last, first.steps)
        if made is not None:
            raise CalculationError(f"proposal: no choice settled within {ROUNDS} rounds of second opinions.")
        return None

    def _made(self, most: float | None = None) -> Made | None:
        """The best choice by what is known, step by step; no level above ``most`` can be had."""
        level, first, found = self._largest_margin(most)
        if first is None:
            return None
        none, ones = np.zeros(len(self.candidates)), np.ones(len(self.sites))
        fewest, posts = self._step("fewest posts", level, none, ones, (), first)
        last, lines = self._fewest_lines(level, fewest, fewest)
        return Made(level, fewest, last, (found, posts, lines))

    def _fewest_lines(self, level: float, fewest: Answer, before: Answer) -> tuple[Answer, Step]:
        """The fewest lines on no more posts than the fewest; ``before`` where there is no time for it."""
        size = len(self.sites)
        budget = Conflict(facilities=tuple(range(size)), limit=len(fewest.facilities))
        cost = self._tie_break(level, fewest)
        name = "fewest lines, then the sum of margins"
        return self._step(name, level, cost, np.zeros(size), (budget,), before)

    def _stands(self, made: Made) -> bool:
        """True where nothing that a choice rests on has been taken from it."""
        return bool(self.sound[made.last.options].all()) and self._worst(made.last).value >= made.level

    def _made_again(self, made: Made, *, stands: bool) -> Made | None:
        """The best choice once the second opinion has taken something from one, or it can't stand."""
        if stands and self._stands(made):
            # level and number of posts stay as they are: this choice still has both
            last, lines = self._fewest_lines(made.level, made.fewest, made.last)
            return replace(made, last=last, steps=(*made.steps[:2], lines))
        found = made.steps[0]
        return self._made(found.bound if found.proven else None)

    def _as_it_stands(self, made: Made) -> Choice:
        """A choice from which the second opinion took something, where no time is left for a better one.

        The bounds hold as they were found: margins have only fallen since.

        Raises:
            OutOfTimeError: the choice does not hold any more.
        """
        margin = self._worst(made.last).value
        if margin < 0.0 or not self.sound[made.last.options].all():
            raise OutOfTimeError(
                "The time ran out when the second opinion had refused a line of the layout found."
            )
        first = replace(made.steps[0], objective=margin, proven=False)
        return self._choice(made.last, (first, *(replace(step, proven=False) for step in made.steps[1:])))

    def drafted(self, most: float | None = None) -> tuple[float, Answer] | None:
        """A layout on few posts with a large worst margin, and that in whole steps; None where there is none.

        No level above ``most`` can be had. With the second opinion asked for, but no step to its end.
        """
        for _ in range(ROUNDS):
            level, answer, found = self._largest_margin(most, whole_steps=True)
            if answer is None:
                return None
            most, ones = found.bound, np.ones(len(self.sites))
            answer = self._solve(level, np.zeros(len(self.candidates)), ones, (), DRAFT) or answer
            self._doubt(answer.options.tolist(), level)
            if self.sound[answer.options].all() and self._worst(answer).value >= level:
                return most, answer
        raise CalculationError(f"proposal: no choice settled within {ROUNDS} rounds of second opinions.")

    def cheapest(self, option_cost: Array, facility_cost: Array, gap: float = 0.0) -> Answer | None:
        """The cheapest cover in which everything holds, whatever the margins; None where there is none."""
        for _ in range(ROUNDS):
            answer = self._solve(0.0, option_cost, facility_cost, (), gap)
            if answer is None or not self._doubt(answer.options.tolist(), 0.0):
                return answer
            holds = self.sound[answer.options].all()
            if holds and not self.sharing.learn(answer.options.tolist(), 0.0, self.sound):
                return answer  # what was taken from it does not count here
        raise CalculationError(f"proposal: no choice settled within {ROUNDS} rounds of second opinions.")

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
            (*self.conflicts, *self.refused, *self.sharing.below(0.0)),
            fixed_options=self.stay,
            fixed_facilities=self.fixed,
            barred=tuple(np.flatnonzero(~usable).tolist()),
        )
        left = least_uncovered(cover, weights, time_limit=self._left())
        return [table.rows[n] for n in table.essential[left]]

    # ------------------------------------------------------------ the worst margin

    def _largest_margin(
        self, most: float | None, *, whole_steps: bool = False
    ) -> tuple[float, Answer | None, Step]:
        """The greatest level, up to ``most``, at which everything can be covered, with an answer there.

        ``whole_steps``: only levels in steps of `LEVELS` are looked at.
        """
        levels = [self.own[self.sound & (self.own >= 0.0)]] + [r.margins[r.margins >= 0.0] for r in self.rows]
        every = np.concatenate([np.zeros(1), *levels])
        every = every[np.isfinite(every)]
        if whole_steps:
            every = np.floor(every / LEVELS) * LEVELS
        if most is not None:
            every = np.append(every[every < most], most)
        late, refuted = False, float(np.max(every))

        def works(level: float) -> Answer | None:
            nonlocal late, refuted
            # one hard level may not use up the time of all
            whole = self.end
            if whole is not None:
                now = time.monotonic()
                self.end = now + (whole - now) * SHARE
            try:
                answer = self._solve(level, self._ones(), np.ones(len(self.sites)), (), gap=ROUGH)
            except OutOfTimeError:
                late = True
                return None
            finally:
                self.end = whole
            if answer is None:
                refuted = min(refuted, level)
            return answer

        def reached(answer: Answer) -> float:
            return self._worst(answer).value

        # any layout first: one that is not the best is still an offer, and where there is none no level does
        any_ = (self._at_start() or works(0.0)) if most is None else None
        if most is None and any_ is None and not late:
            return 0.0, None, Step("largest worst margin", -1.0, -1.0, True)
        # once some levels are ruled out the greatest lies just under them
        near = most is not None
        found = greatest_level(every, works, reached, near_the_top=near)
        if found is None and any_ is not None:
            found = 0.0, any_
        if found is None and not late:
            return 0.0, None, Step("largest worst margin", -1.0, -1.0, True)
        if found is None:
            raise OutOfTimeError(
                "No level of margin had a layout in the time. Tried: "
                f"{int(np.sum(self.sound))} lines and anchorages on {len(self.sites)} guyed posts, "
                f"{len(self.sharing.cuts)} exclusions of lines that load a post too much together."
            )
        level, answer = found
        while not whole_steps:
            # what several lines do together to a post lies between the levels: ask for strictly more
            worst = reached(answer)
            if not np.isfinite(worst):
                break
            better = works(float(np.nextafter(worst, np.inf)))
            if better is None:
                level = worst
                break
            answer = better
            known = self.sharing.levels
            more = greatest_level(known[known > reached(better)], works, reached)
            answer = better if more is None else more[1]
        # a level that there was no time for says nothing of those above it: only a refuted one does
        bound = max(level, refuted) if late else level
        return level, answer, Step("largest worst margin", float(level), float(bound), not late)

    def _at_start(self) -> Answer | None:
        """A layout of none but the options to start from, if that is one: quickly found."""
        others = np.setdiff1d(np.arange(len(self.candidates)), self.start)
        if not self.start:
            return None
        barred = Conflict(options=tuple(others.tolist()), limit=0)
        try:
            return self._solve(0.0, self._ones(), np.ones(len(self.sites)), (barred,), gap=ROUGH)
        except OutOfTimeError:
            return None

    def _worst(self, answer: Answer) -> Margin:
        """The least margin of a choice: its lines', its clearances' and its posts'."""
        chosen = np.zeros(len(self.candidates), dtype=bool)
        chosen[answer.options] = True
        margin = UNBOUNDED
        for k in answer.options:
            margin = margin.least(self.candidates[k].margin)
        for row in self.rows:
            # a stretch counts by the best of what covers it
            values = row.margins[chosen[row.options]]
            if len(values) and np.max(values) < margin.value:
                margin = Margin(float(np.max(values)), "arrest.clearance")
        for together in self.sharing.together(answer.options.tolist()).values():
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
                (*self.conflicts, *self.refused, *extra, *self.sharing.below(level)),
                fixed_options=self.stay,
                fixed_facilities=self.fixed,
                barred=tuple(np.flatnonzero(~usable).tolist()),
            )
            answer = solve(cover, time_limit=self._left(), gap=gap)
            if answer is None or not self.sharing.learn(answer.options.tolist(), level, self.sound):
                return answer
        raise CalculationError(
            f"proposal: no choice settled within {ROUNDS} rounds of posts loaded together."
        )

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
        most = min(max(self.most - level, 0.0), 10.0)  # as at first, whatever was asked for since
        over = np.clip(self.own - level, 0.0, most)
        share = (most - over) / most if most > 0.0 else np.zeros_like(over)
        # whole steps: equal layouts that differ by rounding only weigh the same
        return np.asarray(1.0 + np.round(share, 4) / (len(fewest.options) + 1.0))

    # ------------------------------------------------------------ the second opinion

    def _doubt(self, options: Sequence[int], level: float) -> bool:
        """Ask the second opinion on chosen lines; True where it takes something from one of them.

        Where one falls below the level, those that could stand in for it are asked for at once.
        """
        taken = self._ask(options)
        fell = [k for k in taken if not self.sound[k] or self.own[k] < level]
        edges = {s.stretch.edge for k in fell for s in self.candidates[k].services}
        self._ask(
            [
                k
                for k, c in enumerate(self.candidates)
                if self.sound[k] and self.own[k] >= level and any(s.stretch.edge in edges for s in c.services)
            ]
        )
        return bool(taken)

    def _ask(self, options: Sequence[int]) -> list[int]:
        """Settle options; those from which that takes something."""
        new = [k for k in options if k not in self.settled]
        taken = []
        for k, candidate in zip(new, self.settle(new) if new else (), strict=True):
            self.settled.add(k)
            own, sound = self._own(candidate), self._is_sound(candidate)
            loads = self.candidates[k].loads
            if sound == self.sound[k] and np.allclose(
                [own, *candidate.loads], [self.own[k], *loads], SAME, SAME
            ):
                continue  # but for the last digits, which must not tell two levels apart
            self.candidates[k], self.own[k], self.sound[k] = candidate, own, sound
            self.sharing.forget(k)
            taken.append(k)
        return taken

    def _choice(self, answer: Answer, steps: tuple[Step, ...]) -> Choice:
        used = sorted({s for k in answer.options for s in self.candidates[k].sites} | set(self.fixed))
        options = tuple(answer.options.tolist())
        return Choice(options, tuple(used), self._worst(answer), self.sharing.together(options), steps)
