"""A job to its assessment: everything computed, every check, and what the plan may be printed as."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from planforge.assess.anchors import AnchorRun, anchor_findings, anchor_runs
from planforge.assess.arrest_checks import harness_findings
from planforge.assess.base_checks import base_findings, off_slab_finding, removal_findings
from planforge.assess.base_model import Base, bases
from planforge.assess.bracing import WallPull, bracing_findings, wall_pulls
from planforge.assess.briefing import assess_briefing
from planforge.assess.built_angle import base_tolerance
from planforge.assess.checks import CHECKS
from planforge.assess.drop_offs import Found, found_drop_offs
from planforge.assess.finding import RANK, Finding, Verdict
from planforge.assess.ground import Ground, grounds
from planforge.assess.guys_clear import clear_findings
from planforge.assess.hang import Hang, hang_at
from planforge.assess.hazards import assess_hazards
from planforge.assess.house import assess_house
from planforge.assess.index import Index
from planforge.assess.kit import assess_kit
from planforge.assess.kit_load import truck_finding
from planforge.assess.lines import LineResult, line_findings, line_results
from planforge.assess.load_path import PostResult, post_results
from planforge.assess.lot import assess_lot
from planforge.assess.overhead import framing_findings, hoist_findings
from planforge.assess.people import assess_people
from planforge.assess.plan_kind import assess_plan
from planforge.assess.post_checks import guys_finding, open_findings, post_findings
from planforge.assess.post_loads import post_findings as combined_findings
from planforge.assess.post_model import PostParts
from planforge.assess.power_lines import power_findings
from planforge.assess.procedure import assess_procedure, assess_release
from planforge.assess.proof_tests import proof_findings
from planforge.assess.reach import EdgeReach, Stays, edge_reaches, reach_findings, stays_within
from planforge.assess.replumb import Replumb, replumb_findings, replumbed
from planforge.assess.required_contents import hold_unsettled, required_contents
from planforge.assess.rescue import assess_rescue
from planforge.assess.rescue_reach import RescueReach, rescue_reach
from planforge.assess.rescuer_tie import rescuer_ties
from planforge.assess.standing_wind import wind_findings
from planforge.assess.stated_edges import Covered, coverage, edge_findings
from planforge.assess.strip import OpenStrip, open_strips, strip_findings
from planforge.assess.told_height import told_height
from planforge.assess.variances import accept
from planforge.codes.profile import Profile, load_profile
from planforge.job.hazard import Hazard
from planforge.job.model import Job
from planforge.units import Display, words_in

_ORDER = {check: n for n, check in enumerate(CHECKS)}


@dataclass(frozen=True)
class Assessment:
    """A job with all its findings and computed results."""

    index: Index
    profile: Profile
    findings: tuple[Finding, ...]
    lines: tuple[LineResult, ...]
    anchors: tuple[AnchorRun, ...]
    hangs: dict[str, Hang]
    rescue: RescueReach  # what reaches whom, and what each rescuer is tied to, phase by phase
    posts: tuple[PostResult, ...]  # every post that could be followed to its base
    open_posts: tuple[PostParts, ...]  # those that lack data
    bases: tuple[Base, ...]  # every base on the slab
    found_edges: Found  # the drop-offs that the building's geometry gives
    covered: tuple[Covered, ...]  # those at the trigger height or more, with what covers each
    grounds: tuple[Ground, ...]  # where each stance can work, phase by phase
    reaches: tuple[EdgeReach, ...]  # the edges that lines or anchors guard, phase by phase
    strips: tuple[OpenStrip, ...]  # between what they guard and the rest of the deck
    walls: tuple[WallPull, ...]  # what the guys pull on each wall
    replumbed: tuple[Replumb, ...]  # every line with its heads moved

    @property
    def job(self) -> Job:
        """The job."""
        return self.index.job

    @cached_property
    def counts(self) -> Counter[Verdict]:
        """How many findings have each verdict."""
        return Counter(f.verdict for f in self.findings)

    @property
    def short(self) -> list[Finding]:
        """What is short, accepted by a variance or not."""
        return [f for f in self.findings if f.verdict is Verdict.SHORT]

    @property
    def open_items(self) -> list[Finding]:
        """What a named role must confirm."""
        return [f for f in self.findings if f.verdict is Verdict.CONFIRM]

    @property
    def draft(self) -> bool:
        """True where anything is short without an accepted variance: it prints only as a draft."""
        return any(f.variance is None for f in self.short)

    def concerns(self, thing: str) -> list[Finding]:
        """The findings of a line or anchor, its stances, and the load path of the posts that carry it."""
        layout = self.job.layout
        posts = {p for line in layout.lines if line.id == thing for p in (line.start, line.end)}
        posts |= {a.post for a in layout.anchors if a.id == thing and a.post is not None}
        places = {*self._about.get(thing, ())}
        for post in posts:
            places |= {
                at
                for at in self._about.get(post, ())
                if self.findings[at].id.partition(".")[0] in ("line", "post", "guy", "base")
            }
        return [self.findings[at] for at in sorted(places)]

    def about(self, thing: str) -> list[Finding]:
        """The findings whose place names a thing, in order."""
        return [self.findings[at] for at in self._about.get(thing, ())]

    @cached_property
    def _about(self) -> dict[str, list[int]]:
        """Where in the findings each thing is named."""
        places: dict[str, list[int]] = {}
        for at, finding in enumerate(self.findings):
            for thing in finding.things:
                places.setdefault(thing, []).append(at)
        return places

    def allowed(self, thing: str) -> int:
        """How many may tie to a line or anchor: none while it is on hold or anything of it is short."""
        layout = self.job.layout
        workers = {line.id: line.workers for line in layout.lines} | {a.id: a.workers for a in layout.anchors}
        held = any(r.of == thing and r.state == "on hold" for r in self.job.releases)
        short = any(f.verdict is Verdict.SHORT and f.variance is None for f in self.concerns(thing))
        return 0 if held or short else workers[thing]

    def stay_within(self, thing: str, phase: str) -> float | None:
        """How far (m) from a line or anchor whoever is tied to it may go in a phase; None: nobody is."""
        stay = self.stays.get((thing, phase))
        return stay.told if stay else None

    @cached_property
    def stays(self) -> Stays:
        """How far from each line and anchor one may go, by phase."""
        line_runs = [run for r in self.lines for run in r.runs]
        return stays_within(self.index, line_runs, self.anchors, self.grounds)

    def told_height(self, hazard: Hazard, phase: str, things: Iterable[str]) -> float | None:
        """How far (m) whoever is tied to some lines or anchors can fall at a hazard; None: not stated."""
        runs = [run for r in self.lines for run in r.runs]
        return told_height(self.index, runs, self.anchors, hazard, phase, set(things))

    def greatest_height(self, hazard: Hazard) -> float | None:
        """The greatest fall (m) of anyone at a hazard, whatever guards it and whenever; None: not stated."""
        uses = {use for control in hazard.controls for use in control.uses}
        told = [self.told_height(hazard, phase, uses) for phase in self.index.shared_phases(hazard.phases)]
        return max((height for height in told if height is not None), default=hazard.height)

    def released(self, thing: str) -> bool:
        """True where a line or anchor was released for use under this revision with nothing open."""
        states = [f for f in self.findings if f.id == "release.state" and f.where == thing]
        return bool(states) and states[0].verdict is Verdict.MEETS and not self.draft

    @property
    def all_released(self) -> bool:
        """True where every line and anchor is released."""
        things = [line.id for line in self.job.layout.lines] + [a.id for a in self.job.layout.anchors]
        return bool(things) and all(self.released(t) for t in things)


def _hangs(index: Index, lines: list[LineResult], anchors: list[AnchorRun]) -> dict[str, Hang]:
    hangs = {r.id: r.hang for r in lines if r.hang is not None}
    for anchor in index.job.layout.anchors:
        own = [r for r in anchors if r.anchor.id == anchor.id]
        if own:
            highest = max(r.dring - float((r.free_fall + r.strong.stroke).min()) for r in own)
            lowest = min(
                r.dring - float((r.free_fall + r.clear.stroke + r.clear.movement + r.swing.drop).max())
                for r in own
            )
            hangs[anchor.id] = hang_at(highest, lowest, [(r.spots, r.sides, r.surface) for r in own])
    return hangs


def _loads_beside(index: Index, lines: list[LineResult], anchors: list[AnchorRun]) -> dict[str, float]:
    """For each anchor, what else loads its post in its phases, N: line ends and other anchors."""
    loads: dict[str, float] = {}
    layout = index.job.layout
    for anchor in layout.anchors:
        beside = []
        for result in lines:
            line = result.parts.line
            together = index.shared_phases(anchor.phases, line.phases)
            if result.loads is not None and together and anchor.post in (line.start, line.end):
                beside.append(result.loads.start if anchor.post == line.start else result.loads.end)
        for other in layout.anchors:
            shares = other.post == anchor.post and index.shared_phases(anchor.phases, other.phases)
            if anchor.post is not None and other.id != anchor.id and shares:
                beside += [max((r.load for r in anchors if r.anchor.id == other.id), default=0.0)]
        if any(beside):
            loads[anchor.id] = sum(beside)
    return loads


def _load_path(
    index: Index,
    posts: list[PostResult],
    open_posts: list[PostParts],
    on_slab: list[Base],
    lines: list[LineResult],
    factor: float,
) -> list[Finding]:
    """From the heads down to the concrete, and what stands in the way."""
    every = [*(r.parts for r in posts), *open_posts]
    by_id = {r.id: r for r in posts}
    return [
        *(f for r in posts for f in post_findings(r, base_tolerance(index))),
        *(f for p in open_posts for f in open_findings(p)),
        *(guys_finding(p) for p in every),
        *(f for b in on_slab for f in base_findings(b, by_id.get(b.id))),
        *removal_findings(on_slab),
        *(off_slab_finding(p) for p in every if p.id not in {b.id for b in on_slab}),
        *framing_findings(index, every),
        *clear_findings(index, every),
        *power_findings(index),
        *hoist_findings(index, every),
        *wind_findings(index, every, on_slab, lines, factor),
    ]


def assess(job: Job) -> Assessment:
    """Compute everything a plan prints for one job.

    Raises:
        RefusedError: the job names a code profile that does not exist.
        CalculationError: a solve without a trustworthy answer.
    """
    index = Index(job)
    with words_in(Display(job.site.units)):
        return _assess(index)


def _assess(index: Index) -> Assessment:
    job, profile = index.job, load_profile(index.job.site.code_profile)
    found_edges = found_drop_offs(index, profile)
    covered = coverage(index, found_edges)
    lines = line_results(index, profile)
    anchors = anchor_runs(index)
    line_runs = [run for r in lines for run in r.runs]
    ground = grounds(index, profile, line_runs, anchors)
    stays = stays_within(index, line_runs, anchors, ground)
    reaches = edge_reaches(index, stays, ground)
    strips = open_strips(index, stays, reaches)
    hangs = _hangs(index, lines, anchors)
    rescue = rescue_reach(index, hangs, rescuer_ties(index, profile, hangs, line_runs))
    factor = profile.limits["line_factor"].value
    posts, open_posts = post_results(index, lines, anchors, factor)
    every = [*(r.parts for r in posts), *open_posts]
    on_slab = bases(index, every)
    walls = wall_pulls(index, posts)
    moved = replumbed(index, lines)
    findings = [
        *assess_plan(index),
        *assess_lot(index, profile),
        *assess_house(index),
        *assess_hazards(index, profile, found_edges),
        *edge_findings(index, found_edges, covered),
        *(f for r in lines for f in line_findings(index, r, profile)),
        *combined_findings(index, lines, anchors, profile),
        *_load_path(index, posts, open_posts, on_slab, lines, factor),
        *bracing_findings(index, walls, factor),
        *replumb_findings(index, moved),
        *proof_findings(index),
        *anchor_findings(index, anchors, profile, _loads_beside(index, lines, anchors)),
        *reach_findings(index, reaches),
        *strip_findings(index, strips),
        *(f for h in job.equipment.harnesses for f in harness_findings(h, job.user.mass, profile)),
        *assess_people(index),
        *assess_briefing(index),
        *assess_kit(index),
        truck_finding(index),
        *assess_procedure(index),
        *assess_rescue(index, rescue),
        *required_contents(index, profile),
    ]
    findings = hold_unsettled(findings, profile)
    findings += assess_release(index, findings, {r.id: r.card.at_measurement for r in lines})
    findings = accept(index, findings)
    findings.sort(key=lambda f: (_ORDER[f.id], RANK[f.verdict]))
    return Assessment(
        index,
        profile,
        tuple(findings),
        tuple(lines),
        tuple(anchors),
        hangs,
        rescue,
        tuple(posts),
        tuple(open_posts),
        tuple(on_slab),
        found_edges,
        tuple(covered),
        tuple(ground),
        tuple(reaches),
        tuple(strips),
        tuple(walls),
        tuple(moved),
    )
