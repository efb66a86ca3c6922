"""Single anchorages on posts' heads, for the stretches of edge that lines can't cover; assessed as any
other.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

import numpy as np

from planforge.assess.anchors import anchor_findings, anchor_runs
from planforge.assess.finding import Finding
from planforge.assess.index import Index
from planforge.assess.post_cases import DIRECTIONS
from planforge.calc.guyed_post import pull
from planforge.codes.profile import Profile
from planforge.job.layout import Anchor
from planforge.job.task import Stance
from planforge.proposal.candidate import Candidate, Service, Tied, failures_of, least_margin
from planforge.proposal.demand import Row
from planforge.proposal.edges import HazardEdge, proposal_of, with_edges, works_at
from planforge.proposal.sites import Site, as_post
from planforge.proposal.spans import Stretch, overlap, stretches
from planforge.proposal.trial import site_id, stance_of
from planforge.proposal.under_load import Loaded

WORKERS = 1
"""How many workers a proposed anchorage takes."""


def anchor_candidates(
    index: Index, profile: Profile, edges: list[HazardEdge], sites: list[Site], left: list[Row]
) -> list[Candidate]:
    """An anchorage on every post from which some of the stretches ``left`` is within reach."""
    if not sites or not left:
        return []
    at = np.array([s.at for s in sites])
    covered = stretches(edges, at, at + 1e-9, proposal_of(index).reach, along=False)
    laid: list[tuple[int, Anchor, list[Tied]]] = []
    for n, site in enumerate(sites):
        mine = [s for s in covered[n] if any(overlap(s, row.stretch) for row in left)]
        anchor = Anchor.model_construct(
            id=f"anchorage-{n}",
            post=site_id(n, site),
            workers=WORKERS,
            phases=[p for p in site.phases if any(p in edges[s.edge].phases for s in mine)],
        )
        tied = _tied(index, edges, anchor, mine)
        if tied and anchor.phases:
            laid.append((n, anchor, tied))
    return _assessed(index, profile, edges, sites, laid)


def _tied(index: Index, edges: list[HazardEdge], anchor: Anchor, mine: list[Stretch]) -> list[Tied]:
    out = []
    for s in mine:
        edge = edges[s.edge]
        works = {id(w): w for p in anchor.phases for w in works_at(index, edge, p)}
        for n, work in enumerate(works.values()):
            name = f"{anchor.id}-{edge.id}-{s.piece}-{n}"
            out.append(Tied(work.task, stance_of(index, edge, s, work, name, anchor=anchor.id), s))
    return out


def _assessed(
    index: Index,
    profile: Profile,
    edges: list[HazardEdge],
    sites: list[Site],
    laid: list[tuple[int, Anchor, list[Tied]]],
) -> list[Candidate]:
    job = index.job
    by_task: dict[str, list[Stance]] = defaultdict(list)
    for _, _, tied in laid:
        for one in tied:
            by_task[one.task].append(one.stance)
    posts = [as_post(index, sites[n], site_id(n, sites[n])) for n, _, _ in laid]
    own = {"posts": posts, "lines": [], "anchors": [a for _, a, _ in laid]}
    layout = job.layout.model_copy(update={"edges": with_edges(index, edges), **own})
    tasks = [t.model_copy(update={"stances": by_task.get(t.id, [])}) for t in job.tasks]
    trial = Index(job.model_copy(update={"layout": layout, "tasks": tasks}))
    runs = anchor_runs(trial)
    findings = anchor_findings(trial, runs, profile, {})
    loads = {a.id: max((r.load for r in runs if r.anchor.id == a.id), default=0.0) for _, a, _ in laid}
    return [_candidate(trial, edges, n, a, tied, findings, loads[a.id]) for n, a, tied in laid]


def _candidate(
    trial: Index,
    edges: list[HazardEdge],
    site: int,
    anchor: Anchor,
    tied: list[Tied],
    findings: list[Finding],
    load: float,
) -> Candidate:
    own = [f for f in findings if f.where.partition(" · ")[0] == anchor.id]
    general = [f for f in own if "/" not in f.where]
    tasks = {t.id: trial.shared_phases(t.phases) for t in trial.job.tasks}
    services: list[Service] = []
    failures = failures_of(general)
    for stretch in dict.fromkeys(t.stretch for t in tied):
        for phase in trial.shared_phases(anchor.phases, list(edges[stretch.edge].phases)):
            here = [
                f
                for t in tied
                if t.stretch == stretch and phase in tasks[t.task]
                for f in own
                if f"/{t.stance.id}" in f"{f.where} " and _of(f, t.stance.id, phase)
            ]
            if here and not failures_of(here):
                services.append(Service(stretch, phase, least_margin(here)))
    return Candidate(
        anchor,
        (site,),
        least_margin(general),
        tuple(services),
        tuple(tied),
        (load,),
        failures=tuple(failures),
    )


def _of(finding: Finding, stance: str, phase: str) -> bool:
    places = finding.where.split(" · ")
    named = len(places) > 1 and places[1].partition("/")[2] == stance
    return named and (not finding.phase or phase in finding.phase.split(", "))


def under_anchorages(
    index: Index, profile: Profile, sites: list[Site], candidates: list[Candidate]
) -> list[Candidate]:
    """Anchorages with the margin of the post under them, whichever way a fall pulls."""
    factor = profile.limits["line_factor"].value
    out = []
    for candidate in candidates:
        (site,) = candidate.sites
        post = Loaded(index, sites[site], site_id(site, sites[site]), factor)
        pulls = pull(candidate.loads[0], post.parts.directions(DIRECTIONS))
        margin = candidate.margin
        for one in post.margins(pulls):
            margin = margin.least(one)
        out.append(replace(candidate, margin=margin))
    return out
