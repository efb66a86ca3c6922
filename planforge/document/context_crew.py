"""The crew sheet of one phase: what guards the crew, where, how many, and what brings them down."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final

from planforge.assess.assessment import Assessment
from planforge.document import context_plan as plan
from planforge.document.context_lines import AnchorView, LineView, ThingView
from planforge.document.context_plan import PhaseView, ReachState
from planforge.document.printed import DASH, Printed
from planforge.document.voice import Voice

MOST_PLACES: Final = 6
"""A guard of more places is printed with their marks alone."""

_REACH_FIRST: Final[tuple[ReachState, ...]] = ("all", "part", "low", "open", "none")
"""The order in which a crew takes its means: those that reach everyone first."""


@dataclass(frozen=True, slots=True)
class GuardRow:
    """What guards the crew in one phase, with the few numbers they act on; empty where none apply."""

    guard: str
    thing: ThingView | None  # how each line or anchor of the row stands; None: nobody ties to it
    bands: tuple[str, ...]  # of the card, coldest and warmest day
    reach: str
    at: tuple[str, ...]  # mark, place and height of each hazard
    confirmers: str  # who still has to confirm something about the line or anchor

    @property
    def places(self) -> str:
        """Each place with its height; empty where there are too many for a row."""
        return "; ".join(self.at) if len(self.at) <= MOST_PLACES else ""

    @property
    def marks(self) -> str:
        """The hazards' marks alone."""
        return ", ".join(place.split(" ")[0] for place in self.at)

    @property
    def band(self) -> str:
        """Both bands, a line each; a dash where none apply."""
        return ";\n".join(self.bands) or DASH


@dataclass(frozen=True, slots=True)
class CrewMeans:
    """A means of rescue for the lines and anchors that it reaches alike."""

    name: str
    things: str  # ids; empty where it is all that stand in the phase
    kept_at: str
    reach: ReachState


@dataclass(frozen=True, slots=True)
class CrewSheet:
    """Everything the crew sheet of one phase prints of its own."""

    phase: PhaseView
    guards: tuple[GuardRow, ...]
    connectors: tuple[str, ...]
    means: tuple[CrewMeans, ...]
    notes: tuple[str, ...]


def crew_sheet(
    assessment: Assessment,
    phase: str,
    things: Mapping[str, LineView | AnchorView],
    reach: Mapping[str, str],
    show: Printed,
    voice: Voice,
) -> CrewSheet:
    """The sheet of one phase; ``things`` are the views of all lines and anchors by id."""
    job = assessment.job
    own = {line.id: line.phases for line in job.layout.lines}
    own |= {anchor.id: anchor.phases for anchor in job.layout.anchors}
    standing = {i: thing for i, thing in things.items() if not own[i] or phase in own[i]}
    tasks = [task for task in job.tasks if phase in task.phases]
    connectors = {assessment.index.connectors[s.connector].name for task in tasks for s in task.stances}
    view = next(p for p in plan.phase_views(assessment, show) if p.id == phase)
    return CrewSheet(
        phase=replace(view, name=voice.say(view.name), work=voice.say(view.work)),
        guards=tuple(_guards(assessment, phase, standing, reach, show, voice)),
        connectors=tuple(voice.say(name) for name in sorted(connectors)),
        means=_means(assessment, list(standing), show, voice),
        notes=tuple(voice.say(task.note) for task in tasks if task.note),
    )


def _guards(
    assessment: Assessment,
    phase: str,
    standing: Mapping[str, LineView | AnchorView],
    reach: Mapping[str, str],
    show: Printed,
    voice: Voice,
) -> Iterable[GuardRow]:
    """Lines and anchors first, then what else guards; guards that stand and count alike share a row."""
    at = _places(assessment, phase, standing, show, voice)
    alike: dict[tuple[str, ...], list[tuple[str, list[str]]]] = {}
    for (system, use), places in sorted(at.items(), key=lambda entry: entry[0][1] not in standing):
        view = standing.get(use)
        key: tuple[str, ...] = (system,)
        if view is not None:
            thing = view.thing
            numbers = (str(view.workers), "; ".join(_bands(view)), reach[use])
            key = (system, *numbers, thing.standing, thing.reason, thing.confirmers, "; ".join(places))
        alike.setdefault(key, []).append((use, places))
    for (system, *_), guards in alike.items():
        use = guards[0][0]
        view = standing.get(use)
        yield GuardRow(
            guard=f"{voice.system(system)} {', '.join(use for use, _ in guards)}".strip(),
            thing=view.thing if view else None,
            bands=_bands(view) if view else (),
            reach=reach[use] if view else "",
            at=tuple(dict.fromkeys(place for _, places in guards for place in places)),
            confirmers=", ".join(voice.decider(d) for d in view.thing.deciders) if view else "",
        )


def _bands(view: LineView | AnchorView) -> tuple[str, ...]:
    return view.bands if isinstance(view, LineView) else ()


def _places(
    assessment: Assessment, phase: str, standing: Mapping[str, object], show: Printed, voice: Voice
) -> dict[tuple[str, str], list[str]]:
    """For each system and what it uses, the places that it guards in a phase."""
    at: dict[tuple[str, str], list[str]] = {}
    for hazard in assessment.job.hazards:
        fall = f" ({show.length(hazard.height)})" if hazard.height is not None else ""
        place = f"{hazard.id} {voice.say(hazard.name)}{fall}"
        controls = [c for c in hazard.controls if not c.phases or phase in c.phases]
        for control in controls if phase in hazard.phases else []:
            tied = [use for use in control.uses if use in standing]
            for use in tied or [", ".join(control.uses)]:
                at.setdefault((control.system.value, use), []).append(place)
    used = {use for _, use in at}
    for thing in standing:
        if thing not in used:
            at["", thing] = [DASH]
    return at


def _means(assessment: Assessment, standing: list[str], show: Printed, voice: Voice) -> tuple[CrewMeans, ...]:
    """Means by what they reach, those that reach everyone first; else in the job's order."""
    job = assessment.job
    reached = {row.thing: row.cells for row in plan.reach_rows(assessment, show)}
    rows: list[CrewMeans] = []
    for number, means in enumerate(job.rescue.means if job.rescue else []):
        by_state: dict[ReachState, list[str]] = {}
        for thing in standing:
            cell = reached[thing][number] if thing in reached else None
            if thing in means.serves:
                by_state.setdefault(cell.reach if cell else "open", []).append(thing)
        rows += [
            CrewMeans(
                name=voice.say(means.name),
                things="" if len(own) == len(standing) else ", ".join(own),
                kept_at=means.kept_at or "",
                reach=state,
            )
            for state, own in by_state.items()
        ]
    return tuple(sorted(rows, key=lambda row: _REACH_FIRST.index(row.reach)))
