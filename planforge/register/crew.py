"""What changed between two revisions, in the order a crew needs it: the work first, then the rest."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from planforge.job.cross_references import NOUNS
from planforge.job.model import Job
from planforge.job.reading import Loaded
from planforge.register.changes import Change, differences
from planforge.register.jobs import person

_FOR_THE_CREW: Final = (
    ("Lifelines", ("layout.lines",)),
    ("Where to tie off", ("tasks", "layout.anchors", "equipment.connectors")),
    ("Rescue", ("rescue",)),
    ("Edges and what guards them", ("layout.edges", "layout.openings", "layout.guardrails", "layout.covers")),
    ("Zones and ways", ("layout.zones", "layout.places", "access", "hand_overs")),
    ("Posts and guys", ("layout.posts",)),
)
"""What the crew acts on, the most pressing first, with the fields of the job that state it."""
_NOUNS: Final = {
    **NOUNS,
    "tasks": "task",
    "tasks.stances": "stance",
    "tasks.stances.sides": "side",
    "layout.posts.guys": "guy",
    "access": "way",
    "rescue.contacts": "contact",
    "rescue.teams": "team",
    "rescue.steps": "step",
}
"""What an entry of a list is called to the crew; others are called as their field."""


def comparison(before: Loaded[Job], after: Loaded[Job]) -> tuple[tuple[Change, ...], list[str]]:
    """Every change between two jobs, and the page that tells them."""
    changes = differences(before, after)
    return changes, list(_page(before.model, after.model, changes))


def _page(before: Job, after: Job, changes: tuple[Change, ...]) -> Iterator[str]:
    yield f"From {_name(before)} to {_name(after)}: {len(changes) or 'no'} change{'s' * (len(changes) != 1)}"
    if not changes:
        return
    for note in after.plan.history:
        if note not in before.plan.history:
            yield f"Revision {note.revision}, {note.dated}, {person(after, note.approved_by)}: {note.change}"
    rest = list(changes)
    yield from ("", "FOR THE CREW")
    for title, fields in _FOR_THE_CREW:
        here = [change for change in rest if _under(change, fields)]
        rest = [change for change in rest if change not in here]
        yield f"{title}: {'no change' if not here else ''}".rstrip(" ")
        for field in fields:
            yield from (f"  {_plainly(change)}" for change in here if _under(change, (field,)))
    yield from ("", "THE REST" if rest else "THE REST: no change")
    yield from (f"  {change}" for change in rest)


def _name(job: Job) -> str:
    return f"{job.plan.number} revision {job.plan.revision} ({job.site.lot}, prepared {job.plan.prepared})"


def _path(change: Change) -> str:
    return ".".join(step.name for step in change.place)


def _under(change: Change, fields: tuple[str, ...]) -> bool:
    return any(f"{_path(change)}.".startswith(f"{field}.") for field in fields)


def _plainly(change: Change) -> str:
    """A change with its thing first: ``line L-N, sag: 3 1/2 in -> 3 in``."""
    words, path = [], ""
    for step in change.place:
        path = f"{path}.{step.name}" if path else step.name
        if step.entry is None:
            words += [] if path in ("layout", "equipment") else [step.name.replace("_", " ")]
        else:
            entry = step.entry + 1 if isinstance(step.entry, int) else step.entry
            words.append(f"{_NOUNS.get(path, step.name.replace('_', ' '))} {entry}")
    return f"{', '.join(words)}: {change.values}"
