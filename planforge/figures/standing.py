"""What of a building is there in a phase."""

from __future__ import annotations

from dataclasses import dataclass

from planforge.assess.index import Index
from planforge.job.building import Floor, Roof, Wall
from planforge.job.site import Phase


@dataclass(frozen=True)
class Standing:
    """What of a building is there in a phase; of a plan for all phases, everything."""

    floors: tuple[Floor, ...] = ()
    to_come: tuple[Floor, ...] = ()
    walls: tuple[Wall, ...] = ()
    roofs: tuple[Roof, ...] = ()


def standing(index: Index, phase: Phase | None) -> Standing:
    """What is there in ``phase``: laid or raised in it or before it, in the order of time.

    A roof counts as there from the first phase in which someone works on it. None for ``phase``
    gives all of the building.
    """
    building = index.job.building
    if building is None:
        return Standing()
    order = index.shared_phases([])

    def there(first: str | None) -> bool:
        return first is None or phase is None or order.index(first) <= order.index(phase.id)

    return Standing(
        floors=tuple(f for f in building.floors if there(f.laid)),
        to_come=tuple(f for f in building.floors if not there(f.laid)),
        walls=tuple(w for w in building.walls if there(w.raised)),
        roofs=tuple(r for r in building.roofs if r.worked and any(there(p) for p in r.worked)),
    )
