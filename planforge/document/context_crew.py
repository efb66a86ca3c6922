"""The crew sheet of one phase: what guards the crew, where, how many, and what brings them down."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final

from planforge.assess.assessment import Assessment
from planforge.assess.briefing import told_as_procedure
from planforge.assess.rescue_reach import ReachState, there
from planforge.document import context_plan as plan
from planforge.document.context_lines import AnchorView, LineView, ThingView
from planforge.document.context_plan import PhaseView
from planforge.document.printed import DASH, Printed
from planforge.document.voice import Voice
from planforge.job.layout import Zone

_MOST_FIRST: Final[tuple[ReachState, ...]] = ("all", "part", "low", "open", "none")
"""What a means reaches is said from the most to the least."""


@dataclass(frozen=True, slots=True)
class Fall:
    """A place where one can fall; always with its name and height, for marks stand on no crew map."""

    mark: str
    name: str
    height: str  # empty: not stated

    def __str__(self) -> str:
        """All of it."""
        return f"{self.mark} {self.name}" + (f" ({self.height})" if self.height else "")


@dataclass(frozen=True, slots=True)
class GuardRow:
    """What guards the crew in one phase, with the few numbers they act on; empty where none apply."""

    guard: str
    uses: str  # ids of what guards
    thing: ThingView | None  # how each line or anchor of the row stands; None: nobody ties to it
    bands: tuple[str, ...]  # of the card, coldest and warmest day
    reach: str
    falls: tuple[Fall, ...]  # of each hazard that it guards
    confirmers: str  # who still has to confirm something about the line or anchor

    @property
    def places(self) -> str:
        """Each place with its height; empty where it guards none in the phase."""
        return "; ".join(map(str, self.falls))

    @property
    def band(self) -> str:
        """Both bands, a line each; a dash where none apply."""
        return ";\n".join(self.bands) or DASH


@dataclass(frozen=True, slots=True)
class Waiting:
    """Lines and anchors that wait for the same before anyone ties on."""

    things: str  # ids; empty where they are all that stand in the phase
    guard: GuardRow  # one of them


@dataclass(frozen=True, slots=True)
class ReachedThings:
    """Lines and anchors that a means reaches alike."""

    reach: ReachState
    things: str  # ids; empty where they are all that stand in the phase


@dataclass(frozen=True, slots=True)
class CrewMeans:
    """A means of rescue and what it reaches of what it serves, the most first."""

    name: str
    kept_at: str
    reached: tuple[ReachedThings, ...]


@dataclass(frozen=True, slots=True)
class TaskNote:
    """What the crew must know of a task, or do where a procedure alone guards them."""

    task: str
    note: str


@dataclass(frozen=True, slots=True)
class ZoneRule:
    """Who may enter a zone of the phase, and when."""

    id: str
    guards: str  # the marks of the hazards that it guards; empty where the register names none
    rule: str


@dataclass(frozen=True, slots=True)
class CrewSheet:
    """Everything the crew sheet of one phase prints of its own."""

    phase: PhaseView
    has_lines: bool  # a line stands in the phase
    guards: tuple[GuardRow, ...]
    released: str  # ids of the lines and anchors of the phase that may be used, as the plan is issued
    waiting: tuple[Waiting, ...]
    connectors: tuple[str, ...]
    means: tuple[CrewMeans, ...]
    notes: tuple[TaskNote, ...]
    zones: tuple[ZoneRule, ...]


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
    guards = tuple(_guards(assessment, phase, standing, reach, show, voice))
    return CrewSheet(
        phase=replace(view, name=voice.say(view.name), work=voice.say(view.work)),
        has_lines=any(isinstance(view, LineView) for view in standing.values()),
        guards=guards,
        released=", ".join(
            i for i, view in standing.items() if view.thing.released and not view.thing.barred
        ),
        waiting=_waiting(guards),
        connectors=tuple(voice.say(name) for name in sorted(connectors)),
        means=_means(assessment, phase, list(standing), show, voice),
        notes=(
            *(TaskNote(voice.say(task.name), voice.say(task.note)) for task in tasks if task.note),
            *_procedures(assessment, phase, voice),
        ),
        zones=_zones(assessment, phase, voice),
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
    alike: dict[tuple[str, tuple[object, ...]], list[tuple[str, list[Fall]]]] = {}
    for (system, use), places in sorted(at.items(), key=lambda entry: entry[0][1] not in standing):
        view = standing.get(use)
        stands: tuple[object, ...] = ()
        if view is not None:
            thing = view.thing
            numbers = (str(view.workers), "; ".join(_bands(view)), reach[use])
            stands = (*numbers, thing.standing, thing.reason, thing.confirmers, *places)
        alike.setdefault((system, stands), []).append((use, places))
    for (system, _), guards in alike.items():
        view = standing.get(guards[0][0])
        uses = ", ".join(use for use, _ in guards)
        yield GuardRow(
            guard=f"{voice.system(system)} {uses}".strip(),
            uses=uses,
            thing=view.thing if view else None,
            bands=_bands(view) if view else (),
            reach=reach[view.thing.id] if view else "",
            falls=tuple(dict.fromkeys(place for _, places in guards for place in places)),
            confirmers=", ".join(voice.decider(d) for d in view.thing.deciders) if view else "",
        )


def _waiting(guards: Iterable[GuardRow]) -> tuple[Waiting, ...]:
    """What the lines and anchors of a sheet wait for, those that wait alike together."""
    alike: dict[tuple[object, ...], list[GuardRow]] = {}
    for row in guards:
        if (thing := row.thing) is not None:
            released = "" if thing.barred or row.confirmers else thing.released and thing.released_on
            alike.setdefault((thing.barred and thing.standing, released, row.confirmers), []).append(row)
    things = [", ".join(dict.fromkeys(row.uses for row in rows)) for rows in alike.values()]
    named = things if len(things) > 1 else [""] * len(things)
    return tuple(Waiting(ids, rows[0]) for ids, rows in zip(named, alike.values(), strict=True))


def _bands(view: LineView | AnchorView) -> tuple[str, ...]:
    return view.bands if isinstance(view, LineView) else ()


def _places(
    assessment: Assessment, phase: str, standing: Mapping[str, object], show: Printed, voice: Voice
) -> dict[tuple[str, str], list[Fall]]:
    """For each system and what it uses, the places that it guards in a phase; zones stand apart."""
    at: dict[tuple[str, str], list[Fall]] = {}
    zones = {zone.id for zone in _zones_of(assessment, phase)}
    for hazard in assessment.job.hazards:
        controls = [c for c in hazard.controls if not c.phases or phase in c.phases]
        for control in controls if phase in hazard.phases else []:
            tied = [use for use in control.uses if use in standing]
            if control.uses and set(control.uses) <= zones:
                continue  # printed with the zone's rule
            for use in tied or [", ".join(control.uses)]:
                height = assessment.told_height(hazard, phase, [use])
                told = show.length(height) if height is not None else ""
                place = Fall(hazard.id, voice.say(hazard.name), told)
                at.setdefault((control.system.value, use), []).append(place)
    used = {use for _, use in at}
    for thing in standing:
        if thing not in used:
            at["", thing] = []
    return at


def _procedures(assessment: Assessment, phase: str, voice: Voice) -> Iterable[TaskNote]:
    """What the crew does where a procedure alone guards it; told by the mark of the hazard."""
    zones = {zone.id for zone in assessment.job.layout.zones}
    for hazard in assessment.job.hazards:
        for control in hazard.controls if phase in hazard.phases else []:
            if (not control.phases or phase in control.phases) and told_as_procedure(control, zones):
                yield TaskNote(hazard.id, voice.say(control.reason))


def _zones_of(assessment: Assessment, phase: str) -> list[Zone]:
    return [zone for zone in assessment.job.layout.zones if not zone.phases or phase in zone.phases]


def _zones(assessment: Assessment, phase: str, voice: Voice) -> tuple[ZoneRule, ...]:
    """The zones that hold in a phase, each with its rule in full."""
    marks: dict[str, list[str]] = {}
    for hazard in assessment.job.hazards:
        for control in hazard.controls if phase in hazard.phases else []:
            if not control.phases or phase in control.phases:
                for use in control.uses:
                    marks.setdefault(use, []).append(hazard.id)
    return tuple(
        ZoneRule(zone.id, ", ".join(dict.fromkeys(marks.get(zone.id, []))), voice.say(zone.rule))
        for zone in _zones_of(assessment, phase)
    )


def _means(
    assessment: Assessment, phase: str, standing: list[str], show: Printed, voice: Voice
) -> tuple[CrewMeans, ...]:
    """The means that are there in a phase and serve what stands in it, in the order of the plan."""
    index = assessment.index
    cells = {row.thing: row.cells for row in plan.reach_rows(assessment, show)}
    rows: list[CrewMeans] = []
    for number, means in enumerate(assessment.rescue.order):
        by_state: dict[ReachState, list[str]] = {}
        for thing in standing if there(index, means, index.phases[phase]) else []:
            cell = cells[thing][number] if thing in cells else None
            if thing in means.serves:
                by_state.setdefault(cell.reach if cell else "open", []).append(thing)
        reached = tuple(
            ReachedThings(state, "" if len(by_state[state]) == len(standing) else ", ".join(by_state[state]))
            for state in _MOST_FIRST
            if state in by_state
        )
        if reached:
            rows.append(CrewMeans(voice.say(means.name), _kept_at(assessment, means.kept_at, voice), reached))
    return tuple(rows)


def _kept_at(assessment: Assessment, place: str | None, voice: Voice) -> str:
    """A place in the words of the crew's map; its name where the map has none or several of the kind."""
    places = assessment.job.layout.places
    at = next((one for one in places if one.id == place), None)
    if at is None:
        return place or ""
    word, alike = voice.language.map.get(at.kind), sum(one.kind == at.kind for one in places)
    return word if word and alike == 1 else voice.say(at.name)
