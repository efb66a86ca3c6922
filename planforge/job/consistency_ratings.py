"""Values that bound each other: lowest and highest, least and greatest, coldest and warmest."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from planforge.errors import Problem
from planforge.job.base import Rated
from planforge.job.cross_references import entries
from planforge.job.equipment import Connector, Worn
from planforge.job.model import Job
from planforge.job.positions import FieldPath, Locator
from planforge.job.tree import Mapping
from planforge.job.unread import where_read
from planforge.job.wording import shown

_ORDERED: tuple[tuple[str, str, str], ...] = (
    ("equipment.line_absorbers", "lowest_force", "highest_force"),
    ("equipment.lifelines", "shortest_span", "longest_span"),
    ("equipment.lifelines", "most_workers", "most_workers_two_lines"),
    ("equipment.lifelines", "least_sag", "most_sag"),
    ("equipment.lifelines", "lowest_temperature", "highest_temperature"),
    ("equipment.connectors", "lowest_force", "highest_force"),
    ("equipment.connectors", "highest_force", "peak_force"),
    ("equipment.connectors", "lock_off", "length"),
    ("equipment.connectors", "least_user", "greatest_user"),
    ("equipment.posts", "stiffness_low", "stiffness_high"),
    ("equipment.guys", "least_angle", "greatest_angle"),
    ("equipment.guys", "pretension", "strength"),
    ("equipment.base_anchors", "hole_depth", "least_thickness"),
    ("equipment.base_anchors", "effective_depth", "hole_depth"),
    ("equipment.base_anchors", "proof_load", "pullout"),
    ("equipment.base_anchors", "proof_load", "steel_tension"),
    ("equipment.guys", "proof_load", "plate_uplift"),
    ("layout.anchors", "proof_load", "strength"),
    ("layout.guardrails", "middle", "top"),
    ("layout.guardrails", "toeboard", "top"),
    ("weather", "coldest", "warmest"),
)
"""Under each group, a field that can't be more than another."""

_COUNTS = (
    "equipment.lifelines.most_workers",
    "equipment.lifelines.most_workers_two_lines",
    "equipment.posts.anchorage_workers",
)

_WORN = tuple(
    f"equipment.{kind}"
    for kind in ("ropes", "line_absorbers", "lifelines", "connectors", "posts", "guys", "harnesses")
)


def check_ratings(job: Job, locator: Locator) -> Iterator[Problem]:
    """Yield a problem for each lower bound above its upper one and each connector that is not of its kind."""
    for group, low, high in _ORDERED:
        for path, holder in entries(job, group):
            yield from _ordered(locator, path, holder, low, high)
    for field in _COUNTS:
        for path, rated in entries(job, field):
            if rated.value < 1:
                yield locator.problem(
                    value_path(locator, path),
                    expected="at least 1 worker",
                    remedy="Write the maker's number, or delete the field where the maker gives none.",
                )
    for group in _WORN:
        for path, item in entries(job, group):
            yield from _life(locator, (*path, "no_fixed_life"), item)
    for path, connector in entries(job, "equipment.connectors"):
        yield from _lock_off(locator, path, connector)


@where_read
def _life(locator: Locator, path: FieldPath, item: Worn) -> Iterator[Problem]:
    if item.service_life is not None and item.no_fixed_life is not None:
        yield locator.problem(
            path,
            expected="no service life beside it",
            remedy="Keep what the maker's document says and delete the other.",
        )


@where_read
def _ordered(locator: Locator, path: FieldPath, holder: Any, low: str, high: str) -> Iterator[Problem]:
    least, most = _bare(getattr(holder, low)), _bare(getattr(holder, high))
    if least is None or most is None or least <= most:
        return
    place = value_path(locator, (*path, low))
    bound = shown(locator.value(value_path(locator, (*path, high))))
    yield locator.problem(
        place,
        expected=f"at most {high}, which is {bound}",
        remedy=f"Correct {low} or {high}; they may be exchanged.",
    )


@where_read
def _lock_off(locator: Locator, path: FieldPath, connector: Connector) -> Iterator[Problem]:
    retracting = connector.kind == "retracting device"
    if retracting and connector.lock_off is None:
        yield locator.problem(
            (*path, "lock_off"),
            expected="the fall before a retracting device locks",
            remedy="Add lock_off from the maker's instructions, or correct kind to lanyard.",
        )
    if not retracting and connector.lock_off is not None:
        yield locator.problem(
            value_path(locator, (*path, "lock_off")),
            expected="no lock_off, since a lanyard does not lock",
            remedy="Delete lock_off, or correct kind to retracting device.",
        )


def _bare(value: Any) -> Any:
    return value.value if isinstance(value, Rated) else value


def value_path(locator: Locator, path: FieldPath) -> FieldPath:
    """Return where the value itself stands: a rated value may be written with its source beside it."""
    return (*path, "value") if isinstance(locator.node(path), Mapping) else path
