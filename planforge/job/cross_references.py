"""Which fields name something that stands elsewhere in the job, and what a job holds under a field.

Fields are written dotted and without indexes, lists standing for each of their entries:
``layout.lines.start`` is the start of every line.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from typing import Any

from planforge.job.positions import FieldPath
from planforge.job.unread import UNREAD, UnreadError

_PEOPLE = ("people",)
_PHASES = ("phases",)
_LEVELS = ("layout.levels",)
_POSTS = ("layout.posts",)
_LINES_AND_ANCHORS = ("layout.lines", "layout.anchors")
_BELOW = ("lower_levels", "layout.levels")
_HAVE_EDGES = ("layout.edges", "layout.openings", "building.floors", "building.walls", "building.roofs")

EQUIPMENT = (
    "equipment.ropes",
    "equipment.line_absorbers",
    "equipment.lifelines",
    "equipment.connectors",
    "equipment.posts",
    "equipment.guys",
    "equipment.base_anchors",
    "equipment.harnesses",
    "equipment.tools",
    "equipment.lifting_gear",
)

NOUNS = {
    "people": "person",
    "phases": "phase",
    "hazards": "hazard",
    "lower_levels": "lower level",
    "layout.levels": "level",
    "layout.edges": "edge",
    "layout.openings": "opening",
    "layout.posts": "post",
    "layout.posts.guys": "guy",
    "layout.lines": "line",
    "layout.anchors": "anchor",
    "layout.guardrails": "guardrail",
    "layout.covers": "cover",
    "layout.zones": "zone",
    "layout.places": "place",
    "building.floors": "floor",
    "building.walls": "wall",
    "building.roofs": "roof",
    "building.struck": "struck edge",
    "tasks": "task",
    "rescue.means": "means of rescue",
    "equipment.ropes": "rope",
    "equipment.line_absorbers": "line absorber",
    "equipment.lifelines": "lifeline system",
    "equipment.connectors": "connector",
    "equipment.posts": "kind of post",
    "equipment.guys": "guy",
    "equipment.base_anchors": "base anchor",
}
"""What an entry of a list is called in messages."""

REFERENCES: dict[str, tuple[str, ...]] = {
    "plan.prepared_by": _PEOPLE,
    "plan.history.approved_by": _PEOPLE,
    "phases.working_level": _LEVELS,
    "phases.lower_level": _LEVELS,
    "work_parts.phases": _PHASES,
    "work_parts.alternative.qualified_person": _PEOPLE,
    "work_parts.alternative.changes_approved_by": _PEOPLE,
    "work_parts.alternative.competent_person": _PEOPLE,
    "work_parts.alternative.locations.hazards": ("hazards",),
    "work_parts.alternative.locations.monitor": _PEOPLE,
    "work_parts.alternative.locations.workers": _PEOPLE,
    "hazards.edge": ("layout.edges",),
    "hazards.opening": ("layout.openings",),
    "hazards.phases": _PHASES,
    "hazards.controls.uses": (
        *_LINES_AND_ANCHORS,
        "layout.guardrails",
        "layout.covers",
        "layout.zones",
    ),
    "hazards.controls.phases": _PHASES,
    "layout.edges.level": _LEVELS,
    "layout.edges.phases": _PHASES,
    "layout.openings.level": _LEVELS,
    "layout.posts.kind": ("equipment.posts",),
    "layout.posts.stands_on": _LEVELS,
    "layout.posts.guys.kind": ("equipment.guys",),
    "layout.posts.guys.pieces.kind": ("equipment.guys",),
    "layout.posts.phases": _PHASES,
    "layout.lines.system": ("equipment.lifelines",),
    "layout.lines.start": _POSTS,
    "layout.lines.end": _POSTS,
    "layout.lines.absorber_at": _POSTS,
    "layout.lines.beside": ("layout.lines",),
    "layout.lines.phases": _PHASES,
    "layout.anchors.post": _POSTS,
    "layout.anchors.phases": _PHASES,
    "layout.framing.phases": _PHASES,
    "layout.guardrails.level": _LEVELS,
    "layout.guardrails.phases": _PHASES,
    "layout.covers.opening": ("layout.openings",),
    "layout.covers.phases": _PHASES,
    "layout.zones.phases": _PHASES,
    "building.floors.level": _LEVELS,
    "building.floors.laid": _PHASES,
    "building.floors.enclosed": _PHASES,
    "building.walls.level": _LEVELS,
    "building.walls.raised": _PHASES,
    "building.walls.worked": _PHASES,
    "building.roofs.worked": _PHASES,
    "building.struck.level": _LEVELS,
    "building.struck.phases": _PHASES,
    "building.struck.by": _PEOPLE,
    "drawing.layers.level": _LEVELS,
    "drawing.layers.post": ("equipment.posts",),
    "equipment.posts.anchored_with": ("equipment.base_anchors",),
    "equipment.posts.guyed_with": ("equipment.guys",),
    "equipment.lifelines.rope": ("equipment.ropes",),
    "equipment.lifelines.absorber": ("equipment.line_absorbers",),
    "equipment.lifelines.connectors": ("equipment.connectors",),
    "proposal.posts": ("equipment.posts",),
    "proposal.stands_on": _LEVELS,
    "proposal.guying.kind": ("equipment.guys",),
    "proposal.lifelines": ("equipment.lifelines",),
    "proposal.work.task": ("tasks",),
    "proposal.work.edges": _HAVE_EDGES,
    "proposal.work.connector": ("equipment.connectors",),
    "proposal.work.outward": _BELOW,
    "proposal.work.inward": _BELOW,
    "proposal.guardrails.edges": _HAVE_EDGES,
    "proposal.guardrails.phases": _PHASES,
    "proposal.covers.opening": ("layout.openings",),
    "proposal.covers.phases": _PHASES,
    "proposal.pinned": (*_POSTS, *_LINES_AND_ANCHORS),
    "proposal.rescue_means": ("rescue.means",),
    "tasks.phases": _PHASES,
    "tasks.level": _LEVELS,
    "tasks.stances.line": ("layout.lines",),
    "tasks.stances.anchor": ("layout.anchors",),
    "tasks.stances.connector": ("equipment.connectors",),
    "tasks.stances.edge": ("layout.edges",),
    "tasks.stances.sides.onto": _BELOW,
    "access.phases": _PHASES,
    "access.through": ("layout.openings",),
    "power_lines.surveyed_by": _PEOPLE,
    "roles.safety_coordinator": _PEOPLE,
    "roles.competent_person": _PEOPLE,
    "roles.competent_alternate": _PEOPLE,
    "roles.qualified_person": _PEOPLE,
    "roles.erection_lead": _PEOPLE,
    "roles.rescue_lead": _PEOPLE,
    "roles.rescue_alternate": _PEOPLE,
    "rescue.teams.lead": _PEOPLE,
    "rescue.teams.alternate": _PEOPLE,
    "rescue.teams.caller": _PEOPLE,
    "rescue.teams.members": _PEOPLE,
    "rescue.means.phases": _PHASES,
    "rescue.means.serves": _LINES_AND_ANCHORS,
    "rescue.means.stands_on": _BELOW,
    "rescue.means.also_on": _BELOW,
    "rescue.means.rescuer.of": (*_POSTS, "layout.anchors"),
    "rescue.means.rescuer.connector": ("equipment.connectors",),
    "rescue.means.kept_at": ("layout.places",),
    "rescue.drill.led_by": _PEOPLE,
    "people.phases": _PHASES,
    "inspections.item": EQUIPMENT,
    "proof_tests.of": ("layout.posts", "layout.posts.guys", "layout.anchors"),
    "releases.of": _LINES_AND_ANCHORS,
    "releases.by": _PEOPLE,
    "releases.beside": _PEOPLE,
    "sign_offs.person": _PEOPLE,
    "variances.by": _PEOPLE,
}
"""Every field that holds the id of something else, with the lists that it may stand in."""

DRAWN = (
    "layout.edges",
    "layout.openings",
    "layout.posts",
    "layout.posts.guys",
    "layout.lines",
    "layout.anchors",
    "layout.framing",
    "layout.guardrails",
    "layout.covers",
    "layout.zones",
    "building.floors",
    "building.walls",
    "building.roofs",
    "building.struck",
    "hazards",
)
"""What is marked on the drawings by its id, so that no two may share one."""


def stated(holder: Any, field: str) -> Iterator[tuple[FieldPath, Any]]:
    """Yield place and value of a dotted field wherever it has a value; a list of values is one value.

    What could not be read is passed over.
    """
    yield from ((path, value) for path, value in _below(holder, field.split("."), ()) if value is not UNREAD)


def entries(holder: Any, field: str) -> Iterator[tuple[FieldPath, Any]]:
    """Yield place and value of a dotted field, a list of values entry by entry."""
    for path, value in stated(holder, field):
        if isinstance(value, list):
            yield from (((*path, index), item) for index, item in enumerate(value) if item is not UNREAD)
        else:
            yield path, value


def known_ids(job: Any, home: str) -> dict[str, FieldPath]:
    """Return the ids under a list of named things, or under the levels, with the place of each.

    Those that could not be read are passed over; :func:`ids_read` tells whether there are such.
    """
    known: dict[str, FieldPath] = {}
    for path, value in entries(job, home):
        if isinstance(value, dict):
            known |= {name: (*path, name) for name in value}
        else:
            with suppress(UnreadError):
                known.setdefault(value.id, path)
    return known


def ids_read(job: Any, home: str) -> bool:
    """Return whether every id under a list of named things, or under the levels, was read."""
    for _, value in _below(job, home.split("."), ()):
        if value is UNREAD:
            return False
        if isinstance(value, list) and any(one is UNREAD for _, one in _below(value, ["id"], ())):
            return False
    return True


def _below(value: Any, keys: list[str], path: FieldPath) -> Iterator[tuple[FieldPath, Any]]:
    if value is None:
        return
    if not keys:
        yield path, value
    elif isinstance(value, list):
        for index, item in enumerate(value):
            yield from _below(item, keys, (*path, index))
    else:
        try:
            below = getattr(value, keys[0])
        except UnreadError:
            below, keys = UNREAD, keys[:1]
        yield from _below(below, keys[1:], (*path, keys[0]))
