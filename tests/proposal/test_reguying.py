"""Posts guyed anew: where the guys first chosen for two posts foul each other, others are found for both."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

from planforge.assess.finding import Verdict
from planforge.assess.guys_clear import clear_findings
from planforge.assess.index import Index
from planforge.assess.post_model import post_parts
from planforge.codes.profile import load_profile
from planforge.proposal import reguying
from planforge.proposal.clock import NO_LIMIT, Clock
from planforge.proposal.conflicts import conflicts, fouling_guys
from planforge.proposal.cover import OutOfTimeError
from planforge.proposal.demand import rows
from planforge.proposal.edges import hazard_edges
from planforge.proposal.guying import plates
from planforge.proposal.problem import Problem, chooser_of, under_posts, unguarded
from planforge.proposal.reguying import reguyed
from planforge.proposal.sites import Site, as_post
from planforge.proposal.standing import stood_each, wanted_phases
from planforge.proposal.trial import Trial, Trials
from planforge.units import FOOT
from tests.proposal.jobs import small

ENDS = ((3.5, 6.0), (3.5, 19.5)), ((7.5, 3.5), (22.5, 3.5))
"""A line beside the west edge and one beside the south edge, ft; the corner posts are 4.7 ft apart."""


def two_edges(data: dict[str, Any]) -> None:
    """Two edges that stop short of the corner, each for one line; one kind of guys' height."""
    paths = {"E-W": [["0", "3 ft"], ["0", "22 ft"]], "E-S": [["4 ft", "0"], ["26 ft", "0"]]}
    for edge in data["layout"]["edges"]:
        edge["path"] = paths[edge["id"]]


@cache
def fouled(apart: str | None = None) -> Problem:
    """Four posts with the guys that each gets by itself, and the two lines between them: nothing else.

    Things of two posts keep ``apart``, where it is given.
    """

    def change(data: dict[str, Any]) -> None:
        two_edges(data)
        if apart is not None:
            data["erection"]["tolerances"]["guys_apart"] = apart

    job = small(change=change).model
    index, profile = Index(job), load_profile(job.site.code_profile)
    edges, walls = hazard_edges(index, profile), plates(index)
    sites = []
    for start, end in ENDS:
        run = np.array(end) - np.array(start)
        unit = run / np.hypot(*run)
        for at, pull in ((start, unit), (end, -unit)):
            place = Site((at[0] * FOOT, at[1] * FOOT), "post-20")
            sites += stood_each(index, walls, wanted_phases(index, edges), [(place, pull[None])])
    assert not any(s.failures for s in sites)
    trial = Trials([Trial(index, profile, edges, sites, [(0, 1), (2, 3)])])
    candidates = under_posts(index, profile, sites, trial.candidates)
    every = rows(edges, unguarded(index, edges), candidates)
    return Problem(index, profile, edges, sites, [], trial, candidates, every)


def test_two_posts_whose_guys_foul_each_other_leave_no_choice() -> None:
    problem = fouled()
    assert fouling_guys(problem.index, problem.sites)
    assert chooser_of(problem, None).choose() is None


def test_guyed_anew_they_are_clear_of_each_other_and_hold() -> None:
    problem = fouled()
    found = reguyed(problem, chooser_of(problem, None), NO_LIMIT)
    assert found is not None
    wider, learnt = found
    assert problem.sites == wider.sites[: len(problem.sites)]  # nothing that could be chosen is lost
    chooser = chooser_of(wider, None)
    chooser.adopt(learnt)
    choice = chooser.choose()
    assert choice is not None and choice.margin.value > 0.0
    chosen = [wider.sites[s] for s in choice.sites]
    assert {s.at for s in chosen} == {s.at for s in problem.sites}
    posts = [as_post(wider.index, s, f"P{n}") for n, s in enumerate(chosen)]
    # as the check of hand-made layouts sees them
    layout = wider.index.job.layout.model_copy(update={"posts": posts, "lines": []})
    alone = Index(wider.index.job.model_copy(update={"layout": layout}))
    verdicts = [f.verdict for f in clear_findings(alone, [post_parts(alone, p) for p in posts])]
    assert verdicts == [Verdict.MEETS] * 4


def test_posts_that_leave_each_other_no_room_are_named_and_not_tried_again() -> None:
    """The corner's two heads are 4.7 ft apart, where 5 ft are asked for: however they are guyed."""
    problem = fouled("5 ft")
    bases = conflicts(problem.index, problem.sites, problem.candidates, guys=False)
    drafted = chooser_of(problem, None, against=bases).drafted()
    assert drafted is not None
    anew, clashes = reguying._anew(problem, drafted[1])
    assert len(anew) == 2
    corner = {(x * FOOT, y * FOOT) for x, y in (ENDS[0][0], ENDS[1][0])}
    assert [{problem.sites[s].at for s in clash} for clash in clashes] == [corner, corner]
    assert reguyed(problem, chooser_of(problem, None), NO_LIMIT) is None


def test_out_of_time_is_said() -> None:
    with pytest.raises(OutOfTimeError, match="ran out"):
        reguyed(fouled(), chooser_of(fouled(), None), Clock(0.0))
