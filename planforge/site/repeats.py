"""What two lots of a site can't both state: an id, a plan's number, a job file."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from planforge.errors import Problem
from planforge.job.site import Site
from planforge.job.tree import Mapping, Mark, Scalar
from planforge.job.wording import listed, shown
from planforge.register.entry import number_key
from planforge.site.lots import LotSource

Stated = tuple[str, str, Mark]
"""What must not be the same, what was written, and where."""


def repeated_ids(lots: list[LotSource]) -> Iterator[Problem]:
    """Yield a problem for every id that a lot before has; capitals make no other id."""
    first: dict[str, LotSource] = {}
    for lot in lots:
        before = first.setdefault(lot.id.casefold(), lot)
        if before is not lot:
            found = f"the id {shown(lot.id)} a second time (first at {_place(before.where)})"
            mark, remedy = lot.where, "Give one of the two another id, or delete it."
            yield Problem(mark.file, mark.line, "id", found, "each lot once in a site", remedy)


def in_doubt(lots: list[LotSource]) -> tuple[LotSource, ...]:
    """Return the lots, those that state one plan number or name one job file with what is wrong with each."""
    problems: list[list[Problem]] = [[*lot.problems] for lot in lots]
    for of, field, expected, remedy in (
        (_number, "plan.number", "a number for each plan", "Give each lot's plan a number of its own."),
        (
            _job_file,
            "job",
            "a job file for each lot, since what belongs to one lot is never shared",
            "Copy the file for one of the two, or let both extend what they share.",
        ),
    ):
        for index, found, mark in _twice(lots, of):
            problems[index].append(Problem(mark.file, mark.line, field, found, expected, remedy))
    return tuple(replace(lot, problems=tuple(own)) for lot, own in zip(lots, problems, strict=True))


def same_facts(lots: Iterable[tuple[str, Site]]) -> Iterator[str]:
    """Yield a note for each address, permit or lot that several lots state, by their ids, in print order.

    It may be right, as for two buildings of one lot, or a row that was copied and not changed; responders go
    to the address that the plan states.
    """
    stating: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for lot, site in lots:
        for name, text in (("address", site.address), ("permit", site.permit), ("lot", site.lot)):
            if text is not None:
                stating.setdefault((name, number_key(text)), []).append((lot, text))
    for (name, _), same in stating.items():
        if len(same) > 1:
            ids = listed([lot for lot, _ in same], "and")
            yield f"{ids} state the same {name}, {shown(same[0][1])}: see that it is right."


def _twice(
    lots: list[LotSource], of: Callable[[LotSource], Stated | None]
) -> Iterator[tuple[int, str, Mark]]:
    places: dict[str, list[tuple[int, str, Mark]]] = {}
    for index, lot in enumerate(lots):
        if (stated := of(lot)) is not None:
            key, written, mark = stated
            places.setdefault(key, []).append((index, written, mark))
    for same in places.values():
        for index, written, mark in same if len(same) > 1 else ():
            other = next(place for place in same if place[0] != index)
            found = f"{shown(written)}, which lot {lots[other[0]].id} states as well ({_place(other[2])})"
            yield index, found, mark


def _number(lot: LotSource) -> Stated | None:
    plan = lot.stated.root.entries.get("plan")
    entry = plan.node.entries.get("number") if plan and isinstance(plan.node, Mapping) else None
    node = entry.node if entry else None
    if not isinstance(node, Scalar) or not isinstance(node.value, str):
        return None
    return number_key(node.value), node.value, node.mark


def _job_file(lot: LotSource) -> Stated | None:
    job = lot.stated.job
    if job is None:
        return None
    path = lot.stated.folders[job.mark.file].parent / str(job.value)
    return os.path.realpath(path), str(job.value), job.mark


def _place(mark: Mark) -> str:
    return f"{mark.file}:{mark.line}"
