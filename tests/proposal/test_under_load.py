"""Posts reckoned as one batch: as `assess` reckons each of them, case by case."""

from __future__ import annotations

import numpy as np
import pytest

from planforge.assess.base_checks import base_ratios
from planforge.assess.load_path import PostResult, solved_post
from planforge.assess.post_cases import Case
from planforge.proposal.problem import Problem
from planforge.proposal.trial import site_id
from planforge.proposal.under_load import Loaded, margins_each
from tests.proposal.jobs import demo_offer, small_offer


def load_over_strength(post: Loaded, result: PostResult) -> float:
    """The greatest ratio of one post under one case, from the results that every plan prints."""
    uplift, shear = result.plate_forces()
    ratios = [float(result.post_ratio[0])]
    for n, guy in enumerate(post.parts.guys):
        strength, up, aside = guy.strength, guy.kind.plate_uplift, guy.kind.plate_shear
        assert strength is not None and up is not None and aside is not None
        ratios += [result.tensions[n] / strength.value, uplift[n] / up.value, shear[n] / aside.value]
    for moment, joint in zip(result.joint_moments, post.parts.kind.joints, strict=False):
        assert joint.moment is not None
        ratios.append(moment / joint.moment.value)
    along = float(np.hypot(*result.cases[0].force[:2]))
    assert post.parts.kind.line_strength is not None and post.base is not None
    ratios.append(post.factor * along / post.parts.kind.line_strength.value)
    ratios.append(float(np.max(base_ratios(post.base, result).combined)))
    return max(ratios)


@pytest.mark.parametrize("offered", [small_offer, demo_offer])
def test_a_batch_of_posts_is_as_each_in_a_plan(offered: object) -> None:
    layout = offered().layout  # type: ignore[operator]
    problem: Problem = layout.problem
    rng = np.random.default_rng(1)
    numbers = rng.choice(len(problem.sites), 6, replace=False)
    posts = [Loaded(problem.index, problem.sites[n], site_id(n, problem.sites[n]), 2.0) for n in numbers]
    pulls = [
        np.column_stack([rng.normal(size=(k, 2)) * 9e3, -rng.random(k) * 4e3]) for k in (3, 1, 4, 0, 2, 5)
    ]
    seen = set()
    for post, own, margins in zip(posts, pulls, margins_each(posts, pulls), strict=True):
        assert len(margins) == len(own)
        for n, (force, margin) in enumerate(zip(own, margins, strict=True)):
            result = solved_post(post.parts, (Case(str(n), (("", force),)),), 2.0)
            if result.stands:
                expected = 1.0 / load_over_strength(post, result) - 1.0
                assert margin.value == pytest.approx(expected, rel=1e-9, abs=1e-9)
            else:
                assert margin.value == -1.0
            seen.add(margin.check)
    assert len(seen) > 1
