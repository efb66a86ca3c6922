"""Candidate lines as a job of their own, assessed in one batch by the machinery that assesses every job."""

from __future__ import annotations

from collections import defaultdict
from typing import Literal

import numpy as np
import shapely

from planforge.assess.finding import Finding
from planforge.assess.index import Index
from planforge.assess.line_model import LineParts, parts_of
from planforge.assess.lines import LineResult, line_findings, results_of, settled_results
from planforge.assess.post_model import HeadStiffness, head_bounds_each, post_parts
from planforge.assess.rig import Lines, hung_lines
from planforge.codes.profile import Profile
from planforge.errors import CalculationError
from planforge.job.layout import Lifeline
from planforge.job.proposal import ProposedWork
from planforge.job.task import Side, Stance
from planforge.proposal.candidate import Candidate, Margin, Service, Tied, failures_of, least_margin
from planforge.proposal.edges import HazardEdge, proposal_of, with_edges
from planforge.proposal.sites import Failure, Site, as_post
from planforge.proposal.spans import Stretch, span_limits, stretches
from planforge.units import Display, in_words

WHOLE = 1e-6


def site_id(number: int, site: Site) -> str:
    """What a site's post is called in a trial."""
    return site.pinned or f"site-{number}"


class Trial:
    """Every pair of sites with every allowed system as one job, assessed in one batch.

    The second opinion in time and the sag band are asked for line by line, by :meth:`settled`: they can only
    raise a line's loads or refuse its sag, so that until then a candidate's margin is the most it can have.
    """

    def __init__(
        self,
        index: Index,
        profile: Profile,
        edges: list[HazardEdge],
        sites: list[Site],
        pairs: list[tuple[int, int]],
        first: int = 0,
    ) -> None:
        """Assess them all; the number of the first line is ``first``."""
        self.profile = profile
        self.laid = _laid(index, edges, sites, pairs, first)
        self.work = _Work(index, edges)
        self.stances = [self.work.stances(line, covered) for line, _, covered in self.laid]
        self.index = _trial(index, edges, sites, [line for line, _, _ in self.laid], self.stances)
        self.parts = _parts(self.index, [line for line, _, _ in self.laid])
        self.lines: Lines | None = None
        self.results: list[LineResult | str] = []
        if self.parts:
            try:
                self.lines = hung_lines(self.index, self.parts)
                self.results = list(results_of(self.index, profile, self.lines, settled=False))
            except CalculationError:
                self.lines = None
                self.results = [_alone(self.index, profile, p) for p in self.parts]
        self.candidates = [self._candidate(n) for n in range(len(self.laid))]

    def settled(self, numbers: list[int]) -> list[Candidate]:
        """Some of the candidates with their second opinion."""
        chosen = [(n, r) for n, r in ((n, self.results[n]) for n in numbers) if isinstance(r, LineResult)]
        if self.lines is not None and chosen:
            asked = settled_results(self.index, self.profile, self.lines, [r for _, r in chosen])
            for (n, _), result in zip(chosen, asked, strict=True):
                self.results[n] = result
        return [self._candidate(n) for n in numbers]

    def _candidate(self, n: int) -> Candidate:
        return _candidate(self.index, self.profile, self.results[n], self.laid[n], self.work, self.stances[n])


class Trials:
    """Trials one after another, their candidates numbered through."""

    def __init__(self, batches: list[Trial]) -> None:
        """Take them."""
        self.batches = batches
        self.candidates = [c for batch in batches for c in batch.candidates]

    def settled(self, numbers: list[int]) -> list[Candidate]:
        """Some of the candidates with their second opinion, in the order asked for."""
        found: dict[int, Candidate] = {}
        first = 0
        for batch in self.batches:
            own = [n for n in numbers if first <= n < first + len(batch.candidates)]
            found |= dict(zip(own, batch.settled([n - first for n in own]), strict=True))
            first += len(batch.candidates)
        return [found[n] for n in numbers]


def _laid(
    index: Index, edges: list[HazardEdge], sites: list[Site], pairs: list[tuple[int, int]], number: int
) -> list[tuple[Lifeline, tuple[int, int], list[Stretch]]]:
    """Lines with the stretches they would cover; those that cover nothing are left out.

    The absorber goes to the end farther from the building's middle; where both are as far, to each in turn.
    """
    proposal = proposal_of(index)
    if not pairs:
        return []
    at = np.array([s.at for s in sites])
    first, second = np.array(pairs).T
    covered = stretches(edges, at[first], at[second], proposal.reach, along=True)
    middle = shapely.centroid(shapely.Polygon(index.job.layout.footprint))
    outer = np.hypot(at[:, 0] - middle.x, at[:, 1] - middle.y)
    laid: list[tuple[Lifeline, tuple[int, int], list[Stretch]]] = []
    for (i, j), own in zip(pairs, covered, strict=True):
        phases = [p for p in sites[i].phases if p in sites[j].phases]
        open_ = {p for s in own for p in edges[s.edge].phases}
        phases = [p for p in phases if p in open_]
        if not own or not phases:
            continue
        span = float(np.hypot(*(at[j] - at[i])))
        for name in proposal.lifelines:
            system = index.systems[name]
            least, most = span_limits(system)
            if least - 1e-9 <= span <= most + 1e-9:
                ends: list[int | None] = [i, j] if system.absorber else [None]
                if system.absorber and abs(outer[j] - outer[i]) > 1e-6:
                    ends = [i if outer[i] > outer[j] else j]
                for absorber in ends:
                    line = Lifeline.model_construct(
                        id=f"line-{number + len(laid)}",
                        system=name,
                        start=site_id(i, sites[i]),
                        end=site_id(j, sites[j]),
                        absorber_at=None if absorber is None else site_id(absorber, sites[absorber]),
                        sag=target_sag(index, name, span),
                        installed_at=proposal.installed_at,
                        workers=proposal.workers,
                        phases=phases,
                    )
                    laid.append((line, (i, j), own))
    return laid


def target_sag(index: Index, system: str, span: float) -> float:
    """The allowed share of the span, to the step and within the maker's band, m."""
    proposal, rated = proposal_of(index), index.systems[system]
    step = proposal.sag_step
    sag = max(round(proposal.sag_to_span * span / step) * step, proposal.least_sag)
    if rated.least_sag is not None:
        sag = max(sag, np.ceil(rated.least_sag.value / step - 1e-9) * step)
    if rated.most_sag is not None:
        sag = min(sag, np.floor(rated.most_sag.value / step + 1e-9) * step)
    return float(max(sag, step))


class _Work:
    """The stances that the job's work asks of a line, edge by edge."""

    def __init__(self, index: Index, edges: list[HazardEdge]) -> None:
        self.index, self.edges = index, edges
        self.tasks = {t.id: index.shared_phases(t.phases) for t in index.job.tasks}

    def at(self, edge: int) -> list[ProposedWork]:
        """The work at an edge in any phase in which it is to be guarded."""
        own = self.edges[edge]
        return [
            w
            for w in proposal_of(self.index).work
            if own.named_in(w.edges) and any(p in self.tasks[w.task] for p in own.phases)
        ]

    def stances(self, line: Lifeline, covered: list[Stretch]) -> list[Tied]:
        """A stance for each stretch and each work there."""
        return [
            Tied(w.task, self._stance(line.id, s, n, w), s)
            for s in covered
            for n, w in enumerate(self.at(s.edge))
        ]

    def _stance(self, line: str, stretch: Stretch, number: int, work: ProposedWork) -> Stance:
        edge = self.edges[stretch.edge]
        return stance_of(
            self.index, edge, stretch, work, f"{line}-{edge.id}-{stretch.piece}-{number}", line=line
        )


def stance_of(
    index: Index,
    edge: HazardEdge,
    stretch: Stretch,
    work: ProposedWork,
    stance_id: str,
    *,
    line: str | None = None,
    anchor: str | None = None,
) -> Stance:
    """The stance of one work at a stretch of edge, tied to a line or an anchorage."""
    start, end = edge.pieces[stretch.piece]
    length = float(np.hypot(*(end - start)))
    whole = len(edge.pieces) == 1 and stretch.start <= WHOLE and stretch.end >= length - WHOLE
    places = [start + s / length * (end - start) for s in (stretch.start, stretch.end)]
    onto = [*work.outward, *(n for n in work.inward if n not in work.outward)]
    sides: list[tuple[Literal["outward", "inward", "along"], list[str]]] = [
        ("outward", work.outward),
        ("inward", work.inward),
        ("along", onto),
    ]
    return Stance.model_construct(
        id=stance_id,
        surface=work.surface,
        elevation=edge.top if work.elevation is None else work.elevation,
        dring_height=work.dring_height,
        line=line,
        anchor=anchor,
        connector=work.connector,
        reach=proposal_of(index).reach,
        edge=edge.id,
        stretch=None if whole else [(float(x), float(y)) for x, y in places],
        sides=[
            Side.model_construct(direction=way, onto=list(names), obstacle=work.obstacle)
            for way, names in sides
            if names
        ],
    )


def _trial(
    index: Index,
    edges: list[HazardEdge],
    sites: list[Site],
    lines: list[Lifeline],
    stances: list[list[Tied]],
) -> Index:
    """The job with every site's post, every line and every stance in it."""
    job = index.job
    by_task: dict[str, list[Stance]] = defaultdict(list)
    for own in stances:
        for tied in own:
            by_task[tied.task].append(tied.stance)
    posts = [as_post(index, s, site_id(n, s)) for n, s in enumerate(sites)]
    parts = {"edges": with_edges(index, edges), "posts": posts, "lines": lines, "anchors": []}
    layout = job.layout.model_copy(update=parts)
    tasks = [t.model_copy(update={"stances": by_task.get(t.id, [])}) for t in job.tasks]
    return Index(job.model_copy(update={"layout": layout, "tasks": tasks}))


def _parts(trial: Index, lines: list[Lifeline]) -> list[LineParts]:
    """The lines' parts; the stiffness of all posts along all their lines is reckoned in one go."""
    wanted: dict[str, list[tuple[int, int, float]]] = defaultdict(list)
    for n, line in enumerate(lines):
        start, end = trial.line_ends(line)
        azimuth = float(np.arctan2(end[1] - start[1], end[0] - start[0]))
        wanted[line.start].append((n, 0, azimuth))
        wanted[line.end].append((n, 1, azimuth + np.pi))
    posts = [post_parts(trial, trial.posts[post]) for post in wanted]
    each = head_bounds_each(posts, [np.array([a for _, _, a in ends]) for ends in wanted.values()])
    heads: dict[tuple[int, int], HeadStiffness] = {
        (n, which): bounds
        for ends, own in zip(wanted.values(), each, strict=True)
        for (n, which, _), bounds in zip(ends, own, strict=True)
    }
    return [parts_of(trial, line, (heads[n, 0], heads[n, 1])) for n, line in enumerate(lines)]


def _alone(trial: Index, profile: Profile, parts: LineParts) -> LineResult | str:
    try:
        return results_of(trial, profile, hung_lines(trial, [parts]))[0]
    except CalculationError as error:
        return str(in_words(error, Display(trial.job.site.units)))


def _candidate(
    trial: Index,
    profile: Profile,
    result: LineResult | str,
    laid: tuple[Lifeline, tuple[int, int], list[Stretch]],
    work: _Work,
    own: list[Tied],
) -> Candidate:
    line, ends, covered = laid
    if isinstance(result, str):
        return Candidate(line, ends, Margin(-1.0, "no answer"), (), failures=(Failure(result, line.id),))
    findings = line_findings(trial, result, profile)
    of_line = [f for f in findings if f.where.split(" · ")[0] == line.id and "/" not in f.where]
    failures = failures_of(of_line)
    strengths = [f for f in of_line if not f.id.startswith("arrest.")]
    margin = least_margin(strengths)
    by_stance = _by_stance(findings)
    services, more = _services(trial, line, work, covered, own, by_stance)
    loads = (result.loads.start, result.loads.end) if result.loads else ()
    return Candidate(
        line,
        ends,
        margin,
        tuple(services),
        tuple(own),
        loads,
        result.workers_force,
        result.across_forces,
        tuple(failures + more),
    )


def _by_stance(findings: list[Finding]) -> dict[str, list[Finding]]:
    """Findings of stances by the stance's id."""
    found: dict[str, list[Finding]] = defaultdict(list)
    for f in findings:
        places = f.where.split(" · ")
        if len(places) > 1 and "/" in places[1]:
            found[places[1].partition("/")[2]].append(f)
    return found


def _services(
    index: Index,
    line: Lifeline,
    work: _Work,
    covered: list[Stretch],
    own: list[Tied],
    by_stance: dict[str, list[Finding]],
) -> tuple[list[Service], list[Failure]]:
    """What a line covers: each stretch in each phase in which all work there keeps every check of a fall."""
    services: list[Service] = []
    failures: list[Failure] = []
    for stretch in covered:
        edge = work.edges[stretch.edge]
        mine = [(t.task, by_stance[t.stance.id]) for t in own if t.stretch == stretch]
        for phase in index.shared_phases(line.phases, list(edge.phases)):
            here = [
                f for task, found in mine if phase in work.tasks[task] for f in found if _holds_in(f, phase)
            ]
            short = failures_of(here)
            failures += short
            if here and not short:
                services.append(Service(stretch, phase, least_margin(here)))
    return services, failures


def _holds_in(finding: Finding, phase: str) -> bool:
    return not finding.phase or phase in finding.phase.split(", ")
