"""A proposal as it is offered: checked again in its job, each thing explained in one line, written as
YAML.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from planforge.assess.finding import Finding
from planforge.job.layout import Lifeline
from planforge.job.model import Job
from planforge.job.reading import Loaded
from planforge.job.writing import yaml_text
from planforge.proposal.candidate import UNBOUNDED, Margin
from planforge.proposal.choose import Choice, Step
from planforge.proposal.clock import Clock
from planforge.proposal.cover import OutOfTimeError
from planforge.proposal.edges import proposal_of
from planforge.proposal.explain import Infeasible, explain
from planforge.proposal.explain import lines as explained
from planforge.proposal.fragment import Data, Layout, Used, fragment, layout_of
from planforge.proposal.on_ground import struck_off_ground
from planforge.proposal.problem import Problem, chooser_of
from planforge.proposal.propose import propose
from planforge.proposal.recheck import Rechecked, recheck
from planforge.units import Display


@dataclass(frozen=True)
class Offer:
    """A proposal with its re-check; or why there is none."""

    job: Job
    layout: Layout | None
    data: Data
    rechecked: Rechecked | None
    infeasible: Infeasible | None
    late: tuple[str, ...] = ()  # where the time ran out first: what was tried, and what to do

    @property
    def good(self) -> bool:
        """True where there is a proposal and nothing is short for its sake."""
        return self.rechecked is not None and not self.rechecked.caused

    @property
    def nothing_to_guard(self) -> bool:
        """True where no hazard edge asks for a layout."""
        return self.layout is None and self.infeasible is None and not self.late

    @property
    def lines(self) -> list[str]:
        """The proposal in words: a line a post, line, anchorage, guardrail and cover, then how good it is."""
        display = Display(self.job.site.units)
        if self.late:
            return list(self.late)
        if self.infeasible is not None:
            return explained(display, self.infeasible)
        if self.layout is None or self.rechecked is None:
            return [
                "Nothing has to be guarded: every hazard edge is below the trigger height or guarded already."
            ]
        return [
            *_posts(self.layout, display),
            *(_used(self.layout, u, display) for u in self.layout.used),
            *_rails(self.layout),
            *_covers(self.layout),
            *_steps(self.layout),
            *_checked(self.rechecked),
        ]

    @property
    def text(self) -> str:
        """The proposal as a part of a job file, explained in its comments."""
        notes = [
            f"A layout proposed for {self.job.site.lot}, for the coordinator to take or to change.",
            "To take it, add this file to the lot's own extends, as the last one. What the lot's file",
            "itself states goes before what stands here. Bases are marked and guys anchored only after the",
            "walls that take the guys are plumbed, lined and braced.",
            "",
            *self.lines,
        ]
        comments = "".join(f"# {' '.join(note.split())}".rstrip() + "\n" for note in notes)
        return comments + yaml_text(self.data, short_on_one_line=True)

    @property
    def record(self) -> dict[str, Any]:
        """The proposal for programs, values in SI where they are numbers."""
        steps = self.layout.choice.steps if self.layout else ()
        return {
            "found": self.layout is not None,
            "out_of_time": bool(self.late),
            "proposal": self.data,
            "explained": self.lines,
            "worst_margin": _margin_record(self.layout.choice.margin) if self.layout else None,
            "steps": [
                {"name": s.name, "objective": s.objective, "bound": s.bound, "gap": s.gap, "proven": s.proven}
                for s in steps
            ],
            "short": [_short(f) for f in self.rechecked.caused] if self.rechecked else [],
            "short_before": [_short(f) for f in self.rechecked.before] if self.rechecked else [],
        }


def offer(loaded: Loaded[Job], *, time_limit: float | None = None) -> Offer:
    """Propose a layout for a job that was read, and check it in its job as any other.

    Args:
        loaded: the job with its part ``proposal``.
        time_limit: seconds for all but the last check; where they run out before there is a choice, the offer
            says at which step.

    Raises as :func:`planforge.proposal.propose.propose`, but for the time.
    """
    clock = Clock(time_limit)
    try:
        proposed = propose(loaded.model, clock=clock)
        if proposed.choice is None:
            return Offer(loaded.model, None, {}, None, explain(proposed.problem, clock))
    except OutOfTimeError as error:
        return Offer(loaded.model, None, {}, None, None, _late(time_limit, error))
    offered = _offered(loaded, proposed.problem, proposed.choice)
    while offered.rechecked is not None and offered.layout is not None and offered.rechecked.caused:
        layout = offered.layout
        problem = struck_off_ground(layout.problem, layout.choice, offered.rechecked)
        try:
            choice = None if problem is None else chooser_of(problem, clock.left).choose()
        except OutOfTimeError:
            break  # the layout before is offered, with what is short
        if problem is None or choice is None:
            break
        offered = _offered(loaded, problem, choice)
    return offered


def _offered(loaded: Loaded[Job], problem: Problem, choice: Choice) -> Offer:
    layout = layout_of(problem, choice)
    data = fragment(layout)
    if not data:
        return Offer(loaded.model, None, {}, None, None)
    return Offer(loaded.model, layout, data, recheck(loaded, data), None)


def _late(time_limit: float | None, error: OutOfTimeError) -> tuple[str, ...]:
    given = "" if time_limit is None else f" of {time_limit:g} s"
    return (
        f"No layout is offered: the time{given} ran out. Whether there is one is not known.",
        str(error),
        "What to do: give it more time with --time-limit; or allow fewer insets and kinds of post, "
        "and places farther apart, under proposal.",
    )


def _margin_record(margin: Margin) -> dict[str, Any] | None:
    return {"value": margin.value, "check": margin.check} if np.isfinite(margin.value) else None


def _short(finding: Finding) -> dict[str, Any]:
    return {"check": finding.id, "where": finding.where, "phase": finding.phase, "note": finding.note}


def percent(margin: Margin) -> str:
    """A margin in words, rounded down: `12 % (base.strength)`."""
    if not np.isfinite(margin.value):
        return "to be confirmed"
    return f"{np.floor(100 * margin.value + 1e-9):.0f} % ({margin.check})"


def _posts(layout: Layout, display: Display) -> list[str]:
    index = layout.index
    slab = shapely.boundary(shapely.Polygon(index.job.layout.slab or index.job.layout.footprint))
    out = []
    for site, name in layout.posts.items():
        place = layout.problem.sites[site]
        own = [u for u in layout.used if site in u.candidate.sites]
        worst = layout.choice.together.get(site, UNBOUNDED)
        for u in own:
            worst = worst.least(u.candidate.margin)
        point = shapely.Point(place.at)
        hoist = min(
            float(shapely.distance(shapely.Polygon(h.outline), point)) for h in proposal_of(index).hoists
        )
        edges = sorted({layout.problem.edges[s.stretch.edge].id for u in own for s in u.services})
        out.append(
            f"{name}: {'pinned, ' if place.pinned else ''}{place.kind} at {display.length(place.at[0])}, "
            f"{display.length(place.at[1])}; carries {', '.join(u.id for u in own) or 'nothing new'}"
            f"{' for ' + ', '.join(edges) if edges else ''}; {len(place.guys)} guys; "
            f"{display.feet(float(shapely.distance(slab, point)), 'down')} from the slab's edge; "
            f"{display.feet(hoist, 'up')} from where the hoist can stand; {proposal_of(index).way_out}; "
            f"least margin {percent(worst)}."
        )
    return out


def _used(layout: Layout, used: Used, display: Display) -> str:
    edges: dict[str, set[str]] = {}
    clear = UNBOUNDED
    for service in used.services:
        edges.setdefault(layout.problem.edges[service.stretch.edge].id, set()).add(service.phase)
        clear = clear.least(service.margin)
    order = layout.index.shared_phases()
    guards = "; ".join(f"{e} ({', '.join(p for p in order if p in phases)})" for e, phases in edges.items())
    thing = used.candidate.thing
    ends = [layout.posts[s] for s in used.candidate.sites]
    if isinstance(thing, Lifeline):
        at = [np.asarray(layout.problem.sites[s].at) for s in used.candidate.sites]
        what = (
            f"{thing.system} from {ends[0]} to {ends[1]}, "
            f"{display.length(float(np.hypot(*(at[1] - at[0]))))}, sag {display.inches(thing.sag)}, "
            f"{thing.workers} worker(s)"
        )
    else:
        what = f"single anchorage on {ends[0]}, {thing.workers} worker(s)"
    return (
        f"{used.id}: {what}; guards {guards}; strength {percent(used.candidate.margin)}, "
        f"fall {percent(clear)} more than asked."
    )


def _rails(layout: Layout) -> list[str]:
    allowed = proposal_of(layout.index).guardrails
    return [
        f"{name}: guardrail on {edge.id} ({', '.join(allowed[n].phases)}): {allowed[n].reason}"
        for (e, n), name in layout.guardrails.items()
        for edge in [layout.problem.edges[e]]
    ]


def _covers(layout: Layout) -> list[str]:
    allowed = proposal_of(layout.index).covers
    return [
        f"{name}: cover on {allowed[n].opening}: {allowed[n].reason}" for n, name in layout.covers.items()
    ]


def _steps(layout: Layout) -> list[str]:
    choice = layout.choice
    out = [f"Worst margin: {percent(choice.margin)} over what is asked, the greatest that a choice can have."]
    if not choice.proven:
        out = [f"Worst margin: {percent(choice.margin)} over what is asked."]
    out += [_step(s) for s in choice.steps]
    count = len(layout.problem.candidates)
    kept = sum(not c.failures and c.margin.value >= 0.0 for c in layout.problem.candidates)
    out.append(
        f"{'Proven' if choice.proven else 'Not proven'} to be the best of {count} candidates, of which "
        f"{kept} kept every check alone, on {len(layout.problem.sites)} guyed posts tried; "
        "nothing is said of places and ways of guying not tried."
    )
    return out


def _step(step: Step) -> str:
    if step.proven:
        return f"{step.name}: {step.objective:.4g}, proven (bound {step.bound:.4g}, gap 0 %)."
    return (
        f"{step.name}: {step.objective:.4g}, not proven (bound {step.bound:.4g}, gap {100 * step.gap:.1f} %)."
    )


def _checked(rechecked: Rechecked) -> list[str]:
    if not rechecked.caused:
        out = ["Checked again in its job: nothing is short for its sake."]
    else:
        out = [
            f"SHORT with it: {f.id} {f.where} {f.phase}: {f.note or f.title}".replace("  ", " ")
            for f in rechecked.caused
        ]
    if rechecked.before:
        ids = sorted({f.id for f in rechecked.before})
        out.append(f"Short before it and still: {', '.join(ids)}.")
    return out
