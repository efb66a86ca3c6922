"""Posts that carry several lines or anchorages: the worst combination of their loads.

The load path below the head is reckoned from these loads (`load_path.py`); the qualified person confirms it.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np

from planforge.assess.anchors import AnchorRun
from planforge.assess.finding import Finding, Verdict, found, keeps
from planforge.assess.index import Index
from planforge.assess.lines import LineResult
from planforge.codes.profile import Profile

Pull = tuple[str, float, float]
"""A line's id with the x and y parts of its end load, N, away from the post."""


def pulls(index: Index, results: list[LineResult], post: str, phase: str) -> list[Pull]:
    """What each line in use in a phase pulls at a post."""
    out = []
    for result in results:
        line = result.parts.line
        if (
            result.loads is None
            or post not in (line.start, line.end)
            or not index.shared_phases(line.phases, [phase])
        ):
            continue
        away = np.asarray(result.parts.end[:2]) - np.asarray(result.parts.start[:2])
        away = away / np.hypot(*away)
        load = result.loads.start if post == line.start else -result.loads.end
        out.append((result.id, float(load * away[0]), float(load * away[1])))
    return out


def worst_combination(forces: list[Pull]) -> tuple[float, tuple[str, ...]]:
    """The greatest resultant of any of the lines loaded at once, N, and which lines; each may be at rest."""
    best: tuple[float, tuple[str, ...]] = (0.0, ())
    for size in range(1, len(forces) + 1):
        for chosen in combinations(forces, size):
            resultant = float(np.hypot(sum(f[1] for f in chosen), sum(f[2] for f in chosen)))
            if resultant > best[0] * (1 + 1e-9):
                best = (resultant, tuple(f[0] for f in chosen))
    return best


def anchored(index: Index, anchors: list[AnchorRun], post: str, phase: str) -> dict[str, float]:
    """The loads of the single anchorages on a post in a phase, N."""
    loads: dict[str, float] = {}
    for run in anchors:
        if run.anchor.post == post and index.shared_phases(run.anchor.phases, [phase]):
            loads[run.anchor.id] = max(loads.get(run.anchor.id, 0.0), run.load)
    return loads


def post_findings(
    index: Index, results: list[LineResult], anchors: list[AnchorRun], profile: Profile
) -> list[Finding]:
    """For each post with more than one load in a phase: the worst combination against half its strength.

    An anchorage may pull to any side: its load is added to the lines' resultant as it is.
    """
    factor = profile.limits["line_factor"].value
    findings = []
    for post in index.job.layout.posts:
        worst: tuple[float, tuple[str, ...]] = (0.0, ())
        for phase in index.shared_phases():
            resultant, names = worst_combination(pulls(index, results, post.id, phase))
            single = anchored(index, anchors, post.id, phase)
            worst = max(worst, (resultant + sum(single.values()), (*names, *single)))
        if len(worst[1]) < 2:
            continue
        strength = index.kind_of(post).line_strength
        limit: float | str = strength.value / factor if strength else "to be confirmed"
        over = not isinstance(limit, str) and keeps(worst[0], limit, "at most") is Verdict.SHORT
        findings.append(
            found(
                "line.posts",
                post.id,
                Verdict.SHORT if over else Verdict.CONFIRM,
                value=worst[0],
                limit=limit,
                unit="N",
                sense="at most",
                note=f"{' and '.join(worst[1])} loaded at once: the qualified person confirms twice this.",
            )
        )
    return findings
