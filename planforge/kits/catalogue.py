"""What the jobs and the inventory say of each item: name, weight, longest piece, whether it wears."""

from __future__ import annotations

from dataclasses import dataclass

from planforge.assess.index import Index
from planforge.assess.kit_load import load_items
from planforge.job.equipment import Item, Worn
from planforge.kits.inventory import Inventory
from planforge.kits.needs import Lots


@dataclass(frozen=True, slots=True)
class Kind:
    """One item as all lots' jobs state it."""

    id: str
    name: str
    weight: float | None
    """The greatest weight of one that a job states, kg."""
    longest: float | None
    """The longest piece as it travels, from the inventory, m."""
    worn: bool
    """True for what wears and ages: it needs a due date."""
    cost: float | None
    names: tuple[str, ...]
    weights: tuple[float, ...]
    """Every name and weight that a job states, the least first."""


def catalogue(lots: Lots, inventory: Inventory) -> dict[str, Kind]:
    """Every item that a lot needs, in the order in which the lots name them."""
    stock = {item.id: item for item in inventory.stock}
    found: dict[str, list[Item]] = {}
    for _, job in lots:
        for item, _ in load_items(Index(job)):
            found.setdefault(item.id, []).append(item)
    kinds = {}
    for name, items in found.items():
        weights = sorted({item.weight for item in items if item.weight is not None})
        held = stock.get(name)
        kinds[name] = Kind(
            id=name,
            name=items[0].name,
            weight=weights[-1] if weights else None,
            longest=held.longest if held else None,
            worn=any(isinstance(item, Worn) for item in items),
            cost=held.cost if held else None,
            names=tuple(sorted({item.name for item in items})),
            weights=tuple(weights),
        )
    return kinds
