"""What the forms print of their own: limits of the inspection, kit by component, one-page sheets, removal.

A one-page sheet leaves off what does not fit and says how much, and where it stands instead.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from planforge.assess.assessment import Assessment
from planforge.assess.finding import Finding
from planforge.assess.index import Index
from planforge.assess.kit import fit_records, items_in_use
from planforge.assess.people import crew_of
from planforge.assess.removal_order import needed_stages
from planforge.document import context_plan as plan
from planforge.document.context_kit import load_list
from planforge.document.context_lines import RELEASE, AnchorView, LineView
from planforge.document.printed import Printed
from planforge.figures import tag_names
from planforge.job.base import Rated
from planforge.job.equipment import Item

MOST_PICKED: Final = 24
"""Items that the pick list has room for."""
MOST_SERIALS: Final = 3
"""Ranges of serial numbers named with an item of the pick list."""
MOST_PHASES: Final = 8
"""Phases that the filing sheet has room for."""
MOST_THINGS: Final = 14
"""Lines and anchors that a pre-task sheet has room for."""
MOST_HAZARDS: Final = 12
"""Hazards that a pre-task sheet names; with more, marks alone."""
MOST_CREW: Final = 21
"""Names that a pre-task sheet has room for."""
MOST_SYSTEMS: Final = 10
"""Lines, anchors and guards that the filing sheet names for one way of protecting."""


@dataclass(frozen=True, slots=True)
class LimitView:
    """One limit that only a maker can give, for one item."""

    item: str
    value: str  # empty: not stated
    source: str


@dataclass(frozen=True, slots=True)
class PickRow:
    """An item of the pick list."""

    item: str
    quantity: int
    weight: str
    bundles: str
    serials: str
    leave: str  # serials that were removed from service


@dataclass(frozen=True, slots=True)
class FilingRow:
    """A phase on the filing sheet."""

    phase: str
    days: str
    protects: str  # a way of protecting a line, with what it uses
    tied: int


@dataclass(frozen=True, slots=True)
class PreTask:
    """The pre-task sheet of one phase."""

    phase: plan.PhaseView
    things: tuple[LineView | AnchorView, ...]
    more_things: int
    hazards: tuple[str, ...]  # with names; marks alone where there are too many
    crew: tuple[str, ...]
    more_crew: int


@dataclass(frozen=True, slots=True)
class SpanRow:
    """A line's span as drawn, for the record of what was built."""

    id: str
    between: str
    span: str
    heads: str  # heights of both attachments above the top of the slab


def forms(
    assessment: Assessment, lines: Sequence[LineView], anchors: Sequence[AnchorView], show: Printed
) -> dict[str, object]:
    """The values of all forms."""
    index = assessment.index
    rows = tuple(_pick_rows(assessment, show))
    return {
        "limits": {name: tuple(_limits(index, kinds, name, show)) for name, kinds in _LIMITS.items()},
        "serials": _serials(index),
        "pick": rows[:MOST_PICKED],
        "pick_left_off": len(rows) - len(rows[:MOST_PICKED]),
        "truck": _one(assessment, "kit.load", show),
        "filing": tuple(_filing(assessment, show))[:MOST_PHASES],
        "filing_left_off": max(len(assessment.job.phases) - MOST_PHASES, 0),
        "open_by": Counter(f.decides for f in assessment.open_items if f.id != RELEASE).most_common(),
        "pre_tasks": tuple(_pre_tasks(assessment, (*lines, *anchors), show)),
        "spans": tuple(_spans(index, lines, show)),
        "span_tolerance": _span_tolerance(index, show),
        "removal_stages": needed_stages(index),
        "removal_order": next(f.verdict.value for f in assessment.findings if f.id == "removal.order"),
        "tag_pages": tag_names(assessment),
    }


_LIMITS: Final[dict[str, tuple[str, ...]]] = {
    "broken_wires": ("ropes", "guys"),
    "broken_wires_in": ("ropes", "guys"),
    "turnbuckle_threads": ("lifelines", "guys"),
    "most_bow": ("posts",),
    "deepest_dent": ("posts",),
}


def _limits(index: Index, kinds: tuple[str, ...], name: str, show: Printed) -> Iterator[LimitView]:
    used = items_in_use(index)
    for kind in kinds:
        for item in getattr(index.job.equipment, kind):
            rated: Rated[Any] | None = getattr(item, name)
            if item.id in used:
                value = "" if rated is None else _limit(rated.value, show)
                yield LimitView(item.id, value, (rated.source or "") if rated else "")


def _limit(value: float, show: Printed) -> str:
    """A count as it is, a length to 1/16 in as a tape shows it."""
    return str(value) if isinstance(value, int) else show.length(value, "down", 16)


def _serials(index: Index) -> dict[str, str]:
    """The serial numbers found fit of every item in use, by kind of item."""
    kit = index.job.equipment
    used = set(items_in_use(index))
    groups: dict[str, list[Item]] = {
        "posts": [*kit.posts],
        "guys": [*kit.guys],
        "ropes": [*kit.ropes],
        "lifelines": [*kit.lifelines],
        "absorbers": [*kit.line_absorbers],
        "harnesses": [*kit.harnesses],
        "connectors": [*kit.connectors],
    }
    return {
        name: "; ".join(
            f"{item.id}: {', '.join(r.serial for r in fit_records(index, item.id)) or 'none recorded'}"
            for item in items
            if item.id in used
        )
        for name, items in groups.items()
    }


def _pick_rows(assessment: Assessment, show: Printed) -> Iterator[PickRow]:
    index = assessment.index
    for row in load_list(assessment, show).rows:
        fit = [record.serial for record in fit_records(index, row.id)]
        gone = [r.serial for r in index.job.inspections or [] if r.item == row.id and r.result == "removed"]
        yield PickRow(
            item=f"{row.id} · {row.name}",
            quantity=row.quantity,
            weight=row.total,
            bundles=row.bundles,
            serials=_named(fit, MOST_SERIALS, "more: part 10"),
            leave=", ".join(gone),
        )


def _named(names: Sequence[str], most: int, more: str) -> str:
    """The first of several names, and how many are left off."""
    left = len(names) - most
    return ", ".join(names[:most]) + (f", and {left} {more}" if left > 0 else "")


def _one(assessment: Assessment, check: str, show: Printed) -> dict[str, str]:
    finding: Finding = next(f for f in assessment.findings if f.id == check)
    return {
        "where": finding.where,
        "value": show.value_of(finding),
        "limit": show.limit_of(finding),
        "verdict": finding.verdict.value,
        "note": finding.note,
    }


def _filing(assessment: Assessment, show: Printed) -> Iterator[FilingRow]:
    """Who is protected by what, phase by phase."""
    for phase in plan.phase_views(assessment, show):
        ways: dict[str, list[str]] = {}
        for hazard in assessment.job.hazards:
            for control in hazard.controls if phase.id in hazard.phases else []:
                if not control.phases or phase.id in control.phases:
                    ways.setdefault(control.system.value, []).extend(control.uses)
        yield FilingRow(
            phase=phase.name,
            days=phase.days,
            protects="\n".join(
                f"{way}: {_named(list(dict.fromkeys(uses)), MOST_SYSTEMS, 'more: part 4')}" if uses else way
                for way, uses in ways.items()
            ),
            tied=phase.tied,
        )


def _pre_tasks(
    assessment: Assessment, views: Iterable[LineView | AnchorView], show: Printed
) -> Iterator[PreTask]:
    index, job = assessment.index, assessment.job
    own = {thing.id: thing.phases for thing in (*job.layout.lines, *job.layout.anchors)}
    for phase in plan.phase_views(assessment, show):
        standing = [v for v in views if not own[v.id] or phase.id in own[v.id]]
        hazards = [h for h in job.hazards if phase.id in h.phases]
        many = len(hazards) > MOST_HAZARDS
        crew = [person.name for person in crew_of(index, phase.id)]
        yield PreTask(
            phase=phase,
            things=tuple(standing[:MOST_THINGS]),
            more_things=max(len(standing) - MOST_THINGS, 0),
            hazards=tuple(
                h.id
                if many
                else f"{h.id} {h.name}" + (f" ({show.length(h.height)})" if h.height is not None else "")
                for h in hazards
            ),
            crew=tuple(crew[:MOST_CREW]),
            more_crew=max(len(crew) - MOST_CREW, 0),
        )


def _spans(index: Index, lines: Sequence[LineView], show: Printed) -> Iterator[SpanRow]:
    for view in lines:
        ends = index.line_ends(index.lines[view.id])
        heights = dict.fromkeys(show.length(end[2]) for end in ends)
        yield SpanRow(view.id, view.between, view.span, " and ".join(heights))


def _span_tolerance(index: Index, show: Printed) -> str:
    """What both bases may change a span by together; empty where no tolerance is stated."""
    tolerances = index.job.erection.tolerances if index.job.erection else None
    return show.inches(2.0 * tolerances.post_position, "down") if tolerances else ""
