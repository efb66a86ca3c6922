"""Where a worker hangs after an arrest, and what lies below there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.assess.sides import SideRun
from planforge.calc.arrays import Array, first_of_rows


@dataclass(frozen=True, slots=True)
class Hang:
    """Elevations of the D-ring, m, and the places in plan (N, 2)."""

    highest: float
    lowest: float
    spots: Array
    below: Array  # (N,) m, the highest that lies below each place outward, in any phase


def hang_at(highest: float, lowest: float, at: list[tuple[Array, tuple[SideRun, ...], float]]) -> Hang:
    """Of the places of several stances, each with its sides and the elevation stood on, each place once.

    A stance that no phase uses has no sides: what it stands on counts as the highest below.
    """
    spots = np.concatenate([own for own, _, _ in at])
    under = np.concatenate([_under(len(own), sides, surface) for own, sides, surface in at])
    kept = first_of_rows(spots)
    same = np.all(spots[kept][:, None] == spots[None], axis=2)
    return Hang(highest, lowest, spots[kept], np.where(same, under[None], -np.inf).max(axis=1))


def _under(count: int, sides: tuple[SideRun, ...], surface: float) -> Array:
    """Where a stance has a side outward, that counts: inward lies the deck that the rescuer stands on."""
    outward = [s for s in sides if s.side.direction == "outward"] or list(sides)
    tops = [np.broadcast_to(s.under.elevation, (count,)) for s in outward]
    return np.asarray(np.max(tops, axis=0)) if tops else np.full(count, surface)
