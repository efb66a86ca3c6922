"""What the forms print of their own: limits of the inspection, kit by component, one-page sheets, removal.

A one-page sheet leaves off what does not fit and says how much, and where it stands instead.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from planforge.assess.assessment import Assessment
from planforge.assess.briefing import signs_in
from planforge.assess.finding import Finding
from planforge.assess.index import Index
from planforge.assess.kit import fit_records, items_in_use, removed_serials
from planforge.assess.line_checks import span_room
from planforge.assess.line_model import LineParts
from planforge.assess.people import crew_of
from planforge.assess.post_holes import post_holes
from planforge.assess.removal_order import needed_stages
from planforge.assess.replumb import plumb_text, room_text
from planforge.document import context_plan as plan
from planforge.document.context_kit import load_list
from planforge.document.context_lines import RELEASE, AnchorView, LineView
from planforge.document.context_posts import guy_angles
from planforge.document.one_page import first_that_fit, heading, paragraph, row
from planforge.document.printed import Printed
from planforge.document.style import BODY_WIDTH
from planforge.document.voice import Voice
from planforge.figures import tag_names
from planforge.figures.hang_tags import holds
from planforge.job.base import Rated
from planforge.job.equipment import Item
from planforge.job.hazard import Hazard
from planforge.job.serials import in_words

PICK_ROOM: Final = 510.0
"""Points that the pick list has for its rows."""
MOST_SERIALS: Final = 3
"""Ranges of serial numbers named with an item of the pick list."""
FILING_ROOM: Final = 205.0
"""Points that the filing sheet has for its phases."""
MOST_THINGS: Final = 14
"""Lines and anchors that a pre-task sheet has room for."""
MOST_HAZARDS: Final = 40
"""Hazards whose marks a pre-task sheet has room for."""
MOST_NAMED: Final = 18
"""Lines, anchors and hazards together with which a pre-task sheet still names its hazards."""
PRE_TASK_HEADING: Final = "Appendix E · Pre-task · "
PRE_TASK_ROOM: Final = 386.0
"""Points that a pre-task sheet has for its heading, stops, lines and anchors, hazards and crew."""
SIGN_IN: Final = 3
"""Names in a row of the sign-in."""
PAD: Final = 9.0
"""What a cell keeps free at its sides."""
LEAST_SIGN_IN: Final = 17.3
"""The least height of a row to sign in."""
MOST_SYSTEMS: Final = 10
"""Lines, anchors and guards that the filing sheet names for one way of protecting."""


@dataclass(frozen=True, slots=True)
class LimitView:
    """One limit that only a maker can give, for one item."""

    item: str
    value: str  # empty: not stated
    source: str


@dataclass(frozen=True, slots=True)
class AgeRow:
    """An item's next inspection and its age against the last day of the work."""

    item: str
    inspected: str
    inspected_verdict: str
    life: str
    life_verdict: str


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
    hazards: tuple[str, ...]
    named: bool  # hazards by name and height; else by their marks alone
    more_hazards: int
    covers: str  # where posts have come out of a deck: all covers that lie, and those posts
    crew: tuple[str, ...]
    more_crew: int


@dataclass(frozen=True, slots=True)
class RemovalRow:
    """What becomes of the base anchors of one kind."""

    name: str
    way: str  # a way of job.equipment.AnchorRemoval; empty: not stated
    source: str  # empty: none stated


@dataclass(frozen=True, slots=True)
class SpanRow:
    """A line's span as drawn, for the record of what was built."""

    id: str
    between: str
    span: str
    revised_beyond: str  # how far the built span may differ from it; empty: no tolerance is stated
    heads: str  # heights of both attachments above the top of the slab
    plumb_moves: str  # how far the plumb tolerance lets both heads move; empty: no tolerance is stated
    band_leaves: str  # how far the sag's band lets them; empty: there is no band
    plumb_kept: (
        str  # the plumb that keeps the sag in its band where the tolerance does not; empty: none to read
    )


def forms(
    assessment: Assessment, lines: Sequence[LineView], anchors: Sequence[AnchorView], show: Printed
) -> dict[str, object]:
    """The values of all forms."""
    index = assessment.index
    rows = tuple(_pick_rows(assessment, show))
    picked = first_that_fit(rows, PICK_ROOM, _pick_height)
    phases = tuple(_filing(assessment, show))
    filed = first_that_fit(phases, FILING_ROOM, _filing_height)
    return {
        "limits": {
            name.removeprefix("turnbuckle_"): tuple(_limits(index, kinds, name, show))
            for name, kinds in _LIMITS.items()
        },
        "serials": _serials(index),
        "pick": picked,
        "pick_left_off": len(rows) - len(picked),
        "truck": _truck(assessment, show),
        "holds": holds(assessment),
        "filing": filed,
        "filing_left_off": len(phases) - len(filed),
        "open_by": Counter(f.decides for f in assessment.open_items if f.id != RELEASE).most_common(),
        "guy_angles": guy_angles(index, show),
        "removal_stages": needed_stages(index),
        "removal_order": next(f.verdict.value for f in assessment.findings if f.id == "removal.order"),
    }


def crew_forms(
    assessment: Assessment,
    lines: Sequence[LineView],
    anchors: Sequence[AnchorView],
    show: Printed,
    voice: Voice,
) -> dict[str, object]:
    """The values of the forms that are printed in each language of the crew."""
    return {
        "pre_tasks": tuple(_pre_tasks(assessment, (*lines, *anchors), show, voice)),
        "spans": tuple(_spans(assessment, lines, show, voice)),
        "anchor_removals": tuple(_removals(assessment, voice)),
        "ages": tuple(_ages(assessment, show, voice)),
        "tag_pages": tag_names(assessment, voice.language.code),
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


def _ages(assessment: Assessment, show: Printed, voice: Voice) -> Iterator[AgeRow]:
    lives = {f.where: f for f in assessment.findings if f.id == "kit.service_life"}
    for found in assessment.findings:
        if found.id == "kit.inspected":
            life = lives[found.where]
            yield AgeRow(
                found.where,
                voice.language.on_kit(show.value_of(found)),
                found.verdict.value,
                voice.language.on_kit(show.value_of(life)),
                life.verdict.value,
            )


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
    for load in load_list(assessment, show).rows:
        fit = [record.serial for record in fit_records(index, load.id)]
        yield PickRow(
            item=f"{load.id} · {load.name}",
            quantity=load.quantity,
            weight=load.total,
            bundles=load.bundles,
            serials=_named(fit, MOST_SERIALS, "more: part 10"),
            leave=in_words(removed_serials(index, load.id)),
        )


def _pick_height(it: PickRow) -> float:
    serials = it.serials + (f". LEAVE OUT {it.leave}" if it.leave else "")
    return row((it.item, 0.31 * BODY_WIDTH - PAD), (serials, 0.28 * BODY_WIDTH - PAD))


def _filing_height(it: FilingRow) -> float:
    return row((f"{it.phase}\n{it.days}", 0.27 * BODY_WIDTH - PAD), (it.protects, 0.62 * BODY_WIDTH - PAD))


def _named(names: Sequence[str], most: int, more: str) -> str:
    """The first of several names, and how many are left off."""
    left = len(names) - most
    return ", ".join(names[:most]) + (f", and {left} {more}" if left > 0 else "")


def _truck(assessment: Assessment, show: Printed) -> dict[str, str]:
    """The load against the truck, as its check prints it."""
    finding: Finding = next(f for f in assessment.findings if f.id == "kit.load")
    delivery = assessment.job.delivery
    return {
        "name": (delivery.truck or "") if delivery else "",
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
            protects=" · ".join(
                f"{way}: {_named(list(dict.fromkeys(uses)), MOST_SYSTEMS, 'more: part 4')}" if uses else way
                for way, uses in ways.items()
            ),
            tied=phase.tied,
        )


def _pre_tasks(
    assessment: Assessment, views: Sequence[LineView | AnchorView], show: Printed, voice: Voice
) -> Iterator[PreTask]:
    index, job = assessment.index, assessment.job
    own = {line.id: line.phases for line in job.layout.lines}
    own |= {anchor.id: anchor.phases for anchor in job.layout.anchors}
    stops = " · ".join(voice.say(stop) for stop in job.weather.stops) if job.weather else ""
    for view in plan.phase_views(assessment, show):
        phase = replace(view, name=voice.say(view.name), work=voice.say(view.work))
        standing = [v for v in views if not own[v.id] or phase.id in own[v.id]]
        things = standing[:MOST_THINGS]
        hazards = [h for h in job.hazards if phase.id in h.phases]
        named = len(hazards) + len(standing) <= MOST_NAMED
        told = [
            _hazard(h, assessment.told_height(h, phase.id, own), named, show, voice)
            for h in hazards[:MOST_HAZARDS]
        ]
        room = PRE_TASK_ROOM - paragraph(stops, BODY_WIDTH - 110.0) - len(things) * row(("", 1.0))
        room -= paragraph("; ".join(told), BODY_WIDTH - 60.0) + heading(PRE_TASK_HEADING + phase.name)
        covers = _covers(index, phase.id)
        room -= paragraph(covers, BODY_WIDTH - 140.0) if covers else 0.0
        crew = [
            person.name
            for person in crew_of(index, phase.id)
            if signs_in(person.language, job, voice.language)
        ]
        in_rows = [crew[n : n + SIGN_IN] for n in range(0, len(crew), SIGN_IN)]
        signing = [name for names in first_that_fit(in_rows, room, _sign_in_height) for name in names]
        yield PreTask(
            phase=phase,
            things=tuple(things),
            more_things=len(standing) - len(things),
            hazards=tuple(told),
            named=named,
            more_hazards=len(hazards) - len(told),
            covers=covers,
            crew=tuple(signing),
            more_crew=len(crew) - len(signing),
        )


def _covers(index: Index, phase: str) -> str:
    """Where posts have come out of a deck by a phase, the covers that lie in it and those posts."""
    out = [hole.post for hole in post_holes(index) if phase in hole.left]
    lie = [c.id for c in index.job.layout.covers if not c.phases or phase in c.phases]
    return ", ".join(lie + out) if out else ""


def _sign_in_height(names: Sequence[str]) -> float:
    return max(row(*((name, 0.19 * BODY_WIDTH - PAD) for name in names)), LEAST_SIGN_IN)


def _hazard(hazard: Hazard, height: float | None, named: bool, show: Printed, voice: Voice) -> str:
    if not named:
        return hazard.id
    told = f" ({show.length(height)})" if height is not None else ""
    return f"{hazard.id} {voice.say(hazard.name)}{told}"


def _spans(
    assessment: Assessment, lines: Sequence[LineView], show: Printed, voice: Voice
) -> Iterator[SpanRow]:
    index, moved = assessment.index, {m.line: m for m in assessment.replumbed}
    built_of = {result.id: result.parts for result in assessment.lines}
    for view in lines:
        ends = index.line_ends(index.lines[view.id])
        heights = dict.fromkeys(show.length(end[2]) for end in ends)
        heads = moved[view.id]
        yield SpanRow(
            view.id,
            view.between,
            view.span,
            voice.language.numbers(_revised_beyond(index, built_of[view.id], show)),
            voice.language.both.join(heights),
            plumb_moves=show.inches(heads.tolerance, "up") if heads.tolerance is not None else "",
            band_leaves=voice.language.numbers(room_text(min(heads.room), show)) if heads.room else "",
            plumb_kept=plumb_text(heads.plumb_kept) if heads.tight and heads.plumb_kept else "",
        )


def _removals(assessment: Assessment, voice: Voice) -> Iterator[RemovalRow]:
    kinds = {base.anchor.id: base.anchor for base in assessment.bases if base.anchor is not None}
    for anchor in kinds.values():
        stated = anchor.removal
        yield RemovalRow(
            voice.say(anchor.name),
            stated.value if stated else "",
            (stated.source or "") if stated else "",
        )


def _revised_beyond(index: Index, parts: LineParts, show: Printed) -> str:
    """What both bases may change a span by together, less where the line's maker allows less.

    Empty where no tolerance is stated.
    """
    tolerances = index.job.erection.tolerances if index.job.erection else None
    if tolerances is None:
        return ""
    both = 2.0 * tolerances.post_position
    shorter, longer = (show.inches(min(both, room), "down") for room in span_room(parts))
    return f"± {shorter}" if shorter == longer else f"+ {longer}\n− {shorter}"
