"""What goes on the truck: how many of each item layout, crew and tasks need, and what it weighs together."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator

from planforge.assess.finding import Finding, Verdict, found, keeps, vouched
from planforge.assess.index import Index
from planforge.job.equipment import Item


def load_items(index: Index) -> list[tuple[Item, int]]:
    """Every item that is needed, with its number; nothing is added for spares."""
    kit = index.job.equipment
    counted = [(item, n) for item, n in _counted(index) if n]
    return counted + [(tool, tool.quantity) for tool in (*kit.tools, *kit.lifting_gear)]


def uncounted(index: Index) -> list[Item]:
    """Items whose number the job does not settle: which of several harnesses each worker wears."""
    harnesses = index.job.equipment.harnesses
    return list(harnesses) if len(harnesses) > 1 else []


def _counted(index: Index) -> Iterator[tuple[Item, int]]:
    job = index.job
    kit, layout = job.equipment, job.layout
    kinds = [index.kind_of(post) for post in layout.posts]
    systems = [index.systems[line.system] for line in layout.lines]
    for post in kit.posts:
        yield post, sum(kind.id == post.id for kind in kinds)
    for system in kit.lifelines:
        yield system, sum(s.id == system.id for s in systems)
    for rope in kit.ropes:
        yield rope, sum(s.rope == rope.id for s in systems)
    for absorber in kit.line_absorbers:
        yield absorber, sum(s.absorber == absorber.id for s in systems)
    guys = _guys(index)
    for guy in kit.guys:
        yield guy, guys[guy.id]
    for anchor in kit.base_anchors:
        only = len(kit.base_anchors) == 1
        yield anchor, sum(k.base_anchors for k in kinds if k.anchored_with == anchor.id or only)
    for connector in kit.connectors:
        tied = max((_tied(index, phase, connector.id) for phase in index.phases), default=0)
        yield connector, max(tied, _rescuers(index, connector.id))
    if len(kit.harnesses) == 1:
        yield kit.harnesses[0], sum(person.authorised for person in job.people)


def _guys(index: Index) -> Counter[str]:
    """Guys by kind as laid out, pieces joined in counted too; a post without its guys laid out still
    gets the number that its kind needs, of the only kind of guy there is."""
    number: Counter[str] = Counter()
    guys = index.job.equipment.guys
    for post in index.job.layout.posts:
        number.update(kind for guy in post.guys for kind in (guy.kind, *(p.kind for p in guy.pieces)))
        lacking = index.kind_of(post).guys - len(post.guys)
        if lacking > 0 and len(guys) == 1:
            number[guys[0].id] += lacking
    return number


def _tied(index: Index, phase: str, connector: str) -> int:
    workers = sum(
        task.workers
        for task in index.job.tasks
        if phase in task.phases and any(s.connector == connector for s in task.stances)
    )
    return workers * max((way.connectors or 1 for way in index.ways(phase)), default=1)


def _rescuers(index: Index, connector: str) -> int:
    """The most of a device that one means takes; in a lift the one taken over is tied on too."""
    means = index.job.rescue.means if index.job.rescue else []
    tied = [m.rescuer for m in means if m.rescuer is not None and m.rescuer.connector == connector]
    return max((r.number + (r.tied_to == "lift") for r in tied), default=0)


def total_weight(index: Index) -> float:
    """What all that is weighed weighs together, kg."""
    return math.fsum(n * item.weight for item, n in load_items(index) if item.weight is not None)


def truck_finding(index: Index) -> Finding:
    """The load against the truck's payload; `confirm` where a weight or the payload is not stated."""
    delivery = index.job.delivery
    payload = delivery.payload if delivery else None
    unweighed = [item.name for item, _ in load_items(index) if item.weight is None]
    unweighed += [item.name for item in uncounted(index)]
    total = total_weight(index)
    notes = []
    if unweighed:
        notes.append(f"Weight or number not stated: {', '.join(unweighed)}.")
    if payload is None:
        notes.append("State delivery.payload from the truck's plate.")
        verdict = Verdict.CONFIRM
    else:
        verdict = vouched(keeps(total, payload.value, "at most"), payload)
        if verdict is Verdict.MEETS and unweighed:
            verdict = Verdict.CONFIRM
    return found(
        "kit.load",
        "truck",
        verdict,
        value=total,
        limit=payload.value if payload else "payload not stated",
        unit="kg",
        sense="at most",
        note=" ".join(notes),
    )
