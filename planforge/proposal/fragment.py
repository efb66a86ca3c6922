"""A choice as a part of a job file: posts with their guys, lines, guardrails, covers, stances, controls,
means.

Plain data with every quantity as text in the job's units, at clean dimensions, that merges into the job by
the rules of `extends`.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from typing import Any

import numpy as np

from planforge.assess.index import Index
from planforge.job.cross_references import DRAWN, known_ids
from planforge.job.hazard import Control, System
from planforge.job.layout import Anchor, Lifeline
from planforge.job.proposal import AllowedGuardrail
from planforge.job.task import Side, Stance
from planforge.proposal.candidate import Candidate, Service, Tied
from planforge.proposal.choice import Choice
from planforge.proposal.edges import HazardEdge, guardrail_at, proposal_of
from planforge.proposal.problem import Problem
from planforge.units import INCH, Display

Data = dict[str, Any]

_HAZARD = {
    "perimeter": "unprotected edge",
    "retaining wall": "unprotected edge",
    "leading edge": "leading edge",
    "open-to-below": "open-to-below edge",
    "eave": "roof edge",
    "rake": "roof edge",
}
_RANK = list(System)


@dataclass(frozen=True)
class Used:
    """A chosen line or anchorage with what it is there for."""

    id: str
    candidate: Candidate
    services: tuple[Service, ...]

    @property
    def phases(self) -> list[str]:
        """The phases it is used in, in no order."""
        return list({s.phase for s in self.services})


@dataclass(frozen=True)
class Layout:
    """A choice with the names that its things get."""

    problem: Problem
    choice: Choice
    posts: dict[int, str]  # by site, in order
    used: list[Used]
    guardrails: dict[tuple[int, int], str]  # by edge and allowed guardrail
    covers: dict[int, str]  # by allowed cover

    @property
    def index(self) -> Index:
        """The job's look-ups."""
        return self.problem.index

    def phases_of(self, site: int) -> list[str]:
        """The phases in which a post carries something, in order."""
        on_it = {p for u in self.used if site in u.candidate.sites for p in u.phases}
        return [p for p in self.index.shared_phases() if p in on_it]


def layout_of(problem: Problem, choice: Choice) -> Layout:
    """Name what was chosen: posts P, lines L, anchorages A, guardrails G, covers C, on from those there
    are.
    """
    index = problem.index
    taken = {name for home in DRAWN for name in known_ids(index.job, home)}
    posts = {s: problem.sites[s].pinned or _next("P", taken) for s in choice.sites}
    used = []
    for k in choice.options:
        candidate = problem.candidates[k]
        services = tuple(s for s in candidate.services if _wanted(problem, s, choice.margin.value))
        if services:
            used.append(Used(_next("L" if candidate.is_line else "A", taken), candidate, services))
    rails = {
        (e, n): _next("G", taken)
        for e, edge in enumerate(problem.edges)
        for n, allowed in enumerate(proposal_of(index).guardrails)
        if any(guardrail_at(index, edge, p) is allowed for p in edge.phases)
    }
    covers = {n: _next("C", taken) for n, _ in enumerate(proposal_of(index).covers)}
    return Layout(problem, choice, posts, used, rails, covers)


def _next(letter: str, taken: set[str]) -> str:
    number = 1
    while f"{letter}{number}" in taken:
        number += 1
    taken.add(f"{letter}{number}")
    return f"{letter}{number}"


def _wanted(problem: Problem, service: Service, level: float) -> bool:
    """True where no guardrail serves and the clearance there is no worse than the choice's worst margin."""
    edge = problem.edges[service.stretch.edge]
    return guardrail_at(problem.index, edge, service.phase) is None and service.margin.value >= level - 1e-12


class _Text:
    """Quantities as the job states them."""

    def __init__(self, index: Index) -> None:
        self.us = index.job.site.units == "us"
        self.display = Display(index.job.site.units)

    def length(self, metres: float) -> str:
        """To 1/16 in or 1 mm."""
        return self.display.length(metres, denominator=16)

    def point(self, at: Any) -> list[str]:
        """x and y."""
        return [self.length(float(at[0])), self.length(float(at[1]))]

    def sag(self, metres: float) -> str:
        """To 1/8 in or 1 mm."""
        return self.display.inches(metres)

    def temperature(self, kelvin: float) -> str:
        """Degrees, to a hundredth."""
        celsius = kelvin - 273.15
        return f"{round(celsius * 1.8 + 32, 2):g} F" if self.us else f"{round(celsius, 2):g} C"

    def mass(self, kilograms: float) -> str:
        """Pounds or kilograms."""
        return self.display.mass(kilograms).replace(",", "")

    @staticmethod
    def angle(radians: float) -> str:
        """Degrees to a tenth."""
        return f"{round(math.degrees(radians), 1):g} deg"


def fragment(layout: Layout) -> Data:
    """The layout as data for a job file."""
    index, text = layout.index, _Text(layout.index)
    lines = [_line(layout, text, u) for u in layout.used if u.candidate.is_line]
    anchors = [_anchor(layout, u) for u in layout.used if not u.candidate.is_line]
    plan: Data = {
        "edges": [_edge(text, e) for e in layout.problem.edges if not e.drawn],
        "posts": [_post(layout, text, s) for s in layout.posts if not layout.problem.sites[s].pinned],
        "lines": lines,
        "anchors": anchors,
        "guardrails": [_guardrail(layout, text, e, n) for e, n in layout.guardrails],
        "covers": [_cover(layout, text, n) for n in layout.covers],
    }
    data: Data = {
        "layout": _filled(plan),
        "hazards": _hazards(layout, text),
        "tasks": _tasks(layout, text),
    }
    means = _means(layout)
    if means and index.job.rescue is not None:
        data["rescue"] = {"means": means}
    return _filled(data)


def _filled(data: Data) -> Data:
    return {key: value for key, value in data.items() if value}


def _ordered(layout: Layout, phases: list[str]) -> list[str]:
    return [p for p in layout.index.shared_phases() if p in phases]


def _edge(text: _Text, edge: HazardEdge) -> Data:
    return {
        "id": edge.id,
        "kind": edge.kind,
        "path": [text.point(p) for p in edge.path],
        "level": edge.level,
        "phases": list(edge.open_in),
    }


def _post(layout: Layout, text: _Text, number: int) -> Data:
    site, name = layout.problem.sites[number], layout.posts[number]
    at = np.asarray(site.at)
    around = sorted(
        site.guys, key=lambda g: round(float(np.arctan2(g.to[1] - at[1], g.to[0] - at[0]) % (2 * np.pi)), 6)
    )
    return {
        "id": name,
        "kind": site.kind,
        "at": text.point(site.at),
        "stands_on": proposal_of(layout.index).stands_on,
        "phases": layout.phases_of(number),
        "guys": [
            {
                "id": f"{name}-G{n}",
                "kind": g.kind,
                "height": text.length(g.height),
                "to": text.point(g.to),
                "elevation": text.length(g.elevation),
                "plate": text.angle(g.plate),
            }
            for n, g in enumerate(around, 1)
        ],
    }


def _line(layout: Layout, text: _Text, used: Used) -> Data:
    line = used.candidate.thing
    assert isinstance(line, Lifeline)
    start, end = (layout.posts[s] for s in used.candidate.sites)
    data: Data = {"id": used.id, "system": line.system, "start": start, "end": end}
    if line.absorber_at is not None:
        data["absorber_at"] = start if line.absorber_at == line.start else end
    return data | {
        "sag": text.sag(line.sag),
        "installed_at": text.temperature(line.installed_at),
        "workers": line.workers,
        "phases": _ordered(layout, used.phases),
    }


def _anchor(layout: Layout, used: Used) -> Data:
    anchor = used.candidate.thing
    assert isinstance(anchor, Anchor)
    return {
        "id": used.id,
        "post": layout.posts[used.candidate.sites[0]],
        "workers": anchor.workers,
        "phases": _ordered(layout, used.phases),
    }


def _guardrail(layout: Layout, text: _Text, e: int, n: int) -> Data:
    edge, allowed = layout.problem.edges[e], proposal_of(layout.index).guardrails[n]
    data: Data = {
        "id": layout.guardrails[e, n],
        "path": [text.point(p) for p in edge.path],
        "level": edge.level,
        "top": text.length(allowed.top),
        "middle": text.length(allowed.middle),
        "toeboard": text.length(allowed.toeboard) if allowed.toeboard is not None else None,
        "strength": allowed.strength,
        "phases": _railed(layout, edge, allowed),
    }
    return _filled(data)


def _railed(layout: Layout, edge: HazardEdge, allowed: AllowedGuardrail) -> list[str]:
    return [p for p in edge.phases if guardrail_at(layout.index, edge, p) is allowed]


def _cover(layout: Layout, text: _Text, n: int) -> Data:
    allowed = proposal_of(layout.index).covers[n]
    return {
        "id": layout.covers[n],
        "opening": allowed.opening,
        "holds": text.mass(allowed.holds),
        "heaviest": text.mass(allowed.heaviest),
        "secured": allowed.secured,
        "marking": allowed.marking,
        "phases": list(allowed.phases),
    }


# ---------------------------------------------------------------- who is tied to what, and why


def _tasks(layout: Layout, text: _Text) -> list[Data]:
    by_task: dict[str, list[Data]] = defaultdict(list)
    tasks = {t.id: layout.index.shared_phases(t.phases) for t in layout.index.job.tasks}
    for used in layout.used:
        number: dict[str, int] = defaultdict(int)
        for tied in used.candidate.stances:
            if any(s.stretch == tied.stretch and s.phase in tasks[tied.task] for s in used.services):
                number[tied.stance.edge or ""] += 1
                by_task[tied.task].append(_stance(layout, text, used, tied, number[tied.stance.edge or ""]))
    return [{"id": t.id, "stances": by_task[t.id]} for t in layout.index.job.tasks if t.id in by_task]


def _stance(layout: Layout, text: _Text, used: Used, tied: Tied, number: int) -> Data:
    stance: Stance = tied.stance
    data: Data = {
        "id": f"S-{used.id}-{stance.edge}" + (f"-{number}" if number > 1 else ""),
        "surface": stance.surface,
        "elevation": text.length(stance.elevation) if stance.elevation is not None else None,
        "dring_height": text.length(stance.dring_height) if stance.dring_height is not None else None,
        "line" if used.candidate.is_line else "anchor": used.id,
        "connector": stance.connector,
        "reach": text.length(stance.reach) if stance.reach is not None else None,
        "edge": stance.edge,
        "stretch": [text.point(p) for p in stance.stretch] if stance.stretch is not None else None,
        "sides": [_side(text, s) for s in stance.sides],
    }
    return _filled(data)


def _side(text: _Text, side: Side) -> Data:
    return _filled(
        {
            "direction": side.direction,
            "onto": list(side.onto),
            "obstacle": text.length(side.obstacle) if side.obstacle is not None else None,
        }
    )


def _hazards(layout: Layout, text: _Text) -> list[Data]:
    out = []
    for e, edge in enumerate(layout.problem.edges):
        kept = [_stated(c) for c in edge.hazard.controls] if edge.hazard else []
        controls = kept + _rails(layout, e) + _ties(layout, e)
        if edge.hazard is not None:
            out.append({"id": edge.hazard.id, "controls": controls})
        else:
            out.append(_new_hazard(layout, text, edge, controls))
    return out + _covered(layout)


def _new_hazard(layout: Layout, text: _Text, edge: HazardEdge, controls: list[Data]) -> Data:
    middle = 0.5 * (edge.pieces[0][0] + edge.pieces[0][1])
    step = INCH if text.us else 0.01
    return {
        "id": f"H-{edge.id}"[:40],
        "kind": _HAZARD[edge.kind],
        "name": f"{edge.kind.capitalize()} {edge.id}",
        "at": text.point(middle),
        "edge": edge.id,
        "height": text.length(math.ceil(edge.drop / step - 1e-6) * step),
        "phases": list(edge.open_in),
        "exposed": proposal_of(layout.index).exposed,
        "controls": controls,
    }


def _rails(layout: Layout, e: int) -> list[Data]:
    edge = layout.problem.edges[e]
    return [
        _control(layout, System.GUARDRAIL, [name], _railed(layout, edge, allowed), allowed.reason)
        for (at, n), name in layout.guardrails.items()
        if at == e
        for allowed in [proposal_of(layout.index).guardrails[n]]
    ]


def _ties(layout: Layout, e: int) -> list[Data]:
    """One control for each set of lines, and of anchorages, with the phases in which they guard the edge."""
    out = []
    for system, is_line in ((System.LIFELINE, True), (System.SINGLE_ANCHORAGE, False)):
        by_uses: dict[tuple[str, ...], list[str]] = {}
        for phase in layout.problem.edges[e].phases:
            uses = tuple(
                u.id
                for u in layout.used
                if u.candidate.is_line == is_line
                and any(s.stretch.edge == e and s.phase == phase for s in u.services)
            )
            if uses:
                by_uses.setdefault(uses, []).append(phase)
        reason = proposal_of(layout.index).reason
        out += [_control(layout, system, list(uses), phases, reason) for uses, phases in by_uses.items()]
    return out


def _control(layout: Layout, system: System, uses: list[str], phases: list[str], reason: str) -> Data:
    passed = [p for p in proposal_of(layout.index).passed_over if _RANK.index(p.system) < _RANK.index(system)]
    return _filled(
        {
            "system": system.value,
            "uses": uses,
            "phases": phases,
            "reason": reason,
            "passed_over": [{"system": p.system.value, "reason": p.reason} for p in passed],
        }
    )


def _stated(control: Control) -> Data:
    """A control of the register as it was stated."""
    data: Data = control.model_dump(mode="json", exclude_defaults=True)
    return data


def _covered(layout: Layout) -> list[Data]:
    """Hazards of the openings that are covered, with the cover beside what they have."""
    out = []
    for n, name in layout.covers.items():
        allowed = proposal_of(layout.index).covers[n]
        hazard = next((h for h in layout.index.job.hazards if h.opening == allowed.opening), None)
        if hazard is not None:
            control = _control(layout, System.COVER, [name], list(allowed.phases), allowed.reason)
            out.append({"id": hazard.id, "controls": [*(_stated(c) for c in hazard.controls), control]})
    return out


def _means(layout: Layout) -> list[Data]:
    job, proposal = layout.index.job, proposal_of(layout.index)
    ids = [u.id for u in layout.used]
    every = job.rescue.means if job.rescue else []
    return [{"id": m.id, "serves": [*m.serves, *ids]} for m in every if m.id in proposal.rescue_means and ids]
