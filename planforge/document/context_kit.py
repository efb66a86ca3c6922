"""The kit as rows: what the layout needs, how many and how heavy, and each rating with its source."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, get_args

from planforge.assess.assessment import Assessment
from planforge.assess.kit import items_in_use
from planforge.assess.kit_load import load_items, uncounted
from planforge.document.printed import DASH, Printed
from planforge.job.base import Rated
from planforge.job.equipment import Connector, Item, LifelineSystem, Rope, Tool, Worn


@dataclass(frozen=True, slots=True)
class LoadRow:
    """One line of the load list."""

    id: str
    name: str
    quantity: int
    weight: str  # of one
    total: str
    use: str
    manual: str
    bundles: str  # how many bundles or boxes of how many; empty where it travels loose

    @property
    def purpose(self) -> str:
        """What it is for, and the instructions that travel with it."""
        return "; ".join(text for text in (self.use, self.manual) if text)


@dataclass(frozen=True, slots=True)
class RatingRow:
    """One rating: ``name`` is a field of the job, put in words by the templates."""

    item: str
    name: str
    value: str  # empty: not stated
    source: str  # empty: none stated
    dated: str


@dataclass(frozen=True, slots=True)
class LoadList:
    """All of it, with the heaviest single piece."""

    rows: tuple[LoadRow, ...]
    heaviest: str
    heaviest_name: str
    unweighed: tuple[str, ...]
    uncounted: tuple[str, ...]  # whose number the job does not settle


def bundles(number: int, bundle: int) -> str:
    """The full bundles and the one that is not, so that nobody loads more than the number wanted."""
    full, rest = divmod(number, bundle)
    parts = [f"{full} of {bundle}"] if full else []
    return " + ".join([*parts, f"1 of {rest}"] if rest else parts)


def load_list(assessment: Assessment, show: Printed) -> LoadList:
    """The load list of one lot."""
    index = assessment.index
    counted = load_items(index)
    weighed = [(item, n, item.weight) for item, n in counted if item.weight is not None]
    heaviest = max(weighed, key=lambda entry: entry[2], default=None)
    return LoadList(
        rows=tuple(
            LoadRow(
                id=item.id,
                name=item.name,
                quantity=n,
                weight=show.weight(item.weight) if item.weight is not None else "",
                total=show.weight(n * item.weight) if item.weight is not None else "",
                use=item.use if isinstance(item, Tool) else "",
                manual=item.manual or "",
                bundles=bundles(n, item.bundle) if item.bundle else "",
            )
            for item, n in counted
        ),
        heaviest=show.mass(heaviest[2]) if heaviest else "",
        heaviest_name=heaviest[0].name if heaviest else "",
        unweighed=tuple(item.name for item, _ in counted if item.weight is None),
        uncounted=tuple(item.name for item in uncounted(index)),
    )


def _printer(name: str, show: Printed) -> Callable[[Any], str]:
    printers: dict[str, Callable[[Any], str]] = {
        "weight_per_length": show.line_weight,
        "thermal_expansion": lambda v: f"{v / 1.8:.1e} /°F" if show.system == "us" else f"{v:.1e} /°C",
        "longest_span": show.length,
        "shortest_span": show.length,
        "greatest_free_fall": show.feet,
        "greatest_user": show.mass,
        "least_user": show.mass,
        "lowest_temperature": show.temperature,
        "highest_temperature": show.temperature,
        "stiffness_low": show.stiffness,
        "stiffness_high": show.stiffness,
        "least_angle": show.angle,
        "greatest_angle": show.angle,
        "rated_load": show.mass,
        "least_sag": show.inches,
        "most_sag": show.inches,
        "stroke": show.inches,
        "lock_off": show.inches,
        "hole_depth": show.inches,
        "least_thickness": show.inches,
        "effective_depth": show.inches,
        "critical_edge": show.inches,
        "least_spacing": show.inches,
        "least_edge": show.inches,
        "steel_yield": show.pressure,
        "steel_modulus": show.pressure,
        "least_strength": show.pressure,
        "service_life": show.age,
        "broken_wires_in": show.inches,
        "most_bow": lambda v: show.length(v, "down", 16),
        "deepest_dent": lambda v: show.length(v, "down", 16),
        "torque": show.torque,
        "kc": "{:g}".format,
    }
    return printers.get(name, show.force)


def _text(name: str, value: Any, item: Item, show: Printed) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | str):
        return str(value)
    return _printer(name, show)(value)


def _rated_fields(item: Item) -> Iterator[tuple[str, Rated[Any] | None]]:
    for name, field in type(item).model_fields.items():
        kinds = get_args(field.annotation) or (field.annotation,)
        if any(isinstance(kind, type) and issubclass(kind, Rated) for kind in kinds):
            yield name, getattr(item, name)


def _has_none(item: Item, name: str) -> bool:
    """Whether no such item has the rating: a lanyard does not lock, a tag line or a tool lifts nothing.

    A proof load that nobody states is not asked for. Wires are counted on rope and guys, turnbuckles are
    those of line sets and guys, as the inspection asks for them.
    """
    if name == "proof_load" or (isinstance(item, Rope) and name == "turnbuckle_threads"):
        return True
    if isinstance(item, LifelineSystem):
        return name in {"broken_wires", "broken_wires_in"}
    if isinstance(item, Connector):
        return name == "lock_off" and item.kind == "lanyard"
    return isinstance(item, Tool) and name == "rated_load" and not item.lifts


def rating_rows(assessment: Assessment, show: Printed) -> tuple[RatingRow, ...]:
    """Every rating of every item in use, stated or not; none that such an item does not have."""
    kit = assessment.job.equipment
    used = set(items_in_use(assessment.index))
    items: list[Item] = [*kit.lifelines, *kit.ropes, *kit.line_absorbers, *kit.posts, *kit.connectors]
    chosen = [item for item in items if item.id in used]
    others: list[Item] = [*kit.guys, *kit.base_anchors] if assessment.job.layout.posts else []
    rows = []
    for item in (*chosen, *others, *kit.harnesses, *kit.lifting_gear):
        unlimited = item.no_fixed_life if isinstance(item, Worn) else None
        if unlimited:
            rows.append(RatingRow(item.id, "service_life", DASH, unlimited, ""))
        for name, rated in _rated_fields(item):
            if (name == "service_life" and unlimited) or (rated is None and _has_none(item, name)):
                continue
            value = _text(name, rated.value, item, show) if rated is not None else ""
            source = (rated.source or "") if rated is not None else ""
            dated = show.day(rated.dated) if rated is not None and rated.dated else ""
            rows.append(RatingRow(item.id, name, value, source, dated))
    return tuple(rows)
