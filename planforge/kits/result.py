"""What the floor ``kits`` hands on: needs, excess, conflicts, remedies, moves, loads, and counts day by day.

Days are calendar dates. Items are named by their id under ``equipment`` in the lots' jobs, lots by the id
under which they were handed in, yards by the id of the inventory's ``places``. Weights in kg, lengths in m;
None where the files don't state them. Shifts are in working days, later positive.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Literal

from planforge.assess.finding import Verdict


@dataclass(frozen=True, slots=True)
class Need:
    """What one lot needs of one item over one stretch of days."""

    lot: str
    item: str
    name: str
    """The item as the crew calls it."""
    quantity: int
    first: date
    """The day it must be on the lot: the first day of use less the lead for erection."""
    last: date
    """The last day of use."""
    free: date
    """The first day it may serve another lot: taken down, moved, inspected. After ``used_up`` never."""
    used_up: bool
    """True for what serves once, such as screw anchors; it does not come back."""
    why: str
    """What sets the first and the last day, in words."""


@dataclass(frozen=True, slots=True)
class Excess:
    """Days on which lots tie up more of an item than the stock has in service."""

    item: str
    name: str
    first: date
    last: date
    short_by: int
    """The most that is lacking on one of these days."""
    lots: tuple[str, ...]
    """The lots that tie it up on the worst of these days."""


ConflictKind = Literal[
    "serial wanted by two lots",
    "serial located on a lot that another lot names it for",
    "serial not in the inventory",
    "serial not in service",
    "serial due before the use ends",
    "due dates differ",
    "due date not stated",
    "statements differ",
    "lot not known",
    "item not in stock",
    "number not settled",
]


@dataclass(frozen=True, slots=True)
class Conflict:
    """Statements of the files that can't stand together, or that leave something open."""

    kind: ConflictKind
    item: str
    serial: str
    """Empty where the conflict is about the item as a whole."""
    lots: tuple[str, ...]
    note: str
    """What clashes and what to do, in one or two sentences."""


@dataclass(frozen=True, slots=True)
class Extra:
    """So many more of an item than the stock holds."""

    item: str
    name: str
    quantity: int


@dataclass(frozen=True, slots=True)
class Shift:
    """A lot's dates moved by working days, later positive."""

    lot: str
    days: int
    first: date
    """Its first day with kit after the move."""


RemedyKind = Literal[
    "extra stock", "shift", "mixture, stock first", "mixture, dates first", "mixture by cost"
]


@dataclass(frozen=True, slots=True)
class Remedy:
    """The smallest change that leaves nothing short, and how far that is proven.

    ``objective`` is in extra items for ``extra stock``, in lot-days for ``shift``, in money for
    ``mixture by cost``, and in what comes first for the other mixtures.
    """

    kind: RemedyKind
    possible: bool
    """False where no choice within the stated limits removes the shortage; then the rest is empty."""
    extra: tuple[Extra, ...]
    shifts: tuple[Shift, ...]
    objective: float
    bound: float
    """No choice does with less than this."""
    proven: bool
    """True where the objective is the least there is."""
    note: str = ""

    @property
    def gap(self) -> float:
        """How far the objective may lie from the best, as a fraction of it."""
        if self.proven or self.objective == self.bound:
            return 0.0
        return abs(self.objective - self.bound) / max(abs(self.objective), 1e-12)


@dataclass(frozen=True, slots=True)
class Goods:
    """Items of one kind that travel together."""

    item: str
    name: str
    quantity: int
    serials: tuple[str, ...]
    """In order; empty for counted goods."""
    weight: float | None
    """All of them together, kg."""
    longest: float | None
    """The longest piece as it travels, m."""


@dataclass(frozen=True, slots=True)
class Move:
    """What goes from one place to another on one trip of a truck."""

    day: date
    origin: str
    """The lot or yard it comes from."""
    to: str
    items: tuple[Goods, ...]
    weight: float
    """What is weighed, together, kg."""
    unweighed: tuple[str, ...]
    """Items without a stated weight, which ``weight`` leaves out."""
    longest: float | None
    """The longest piece, m; None where one of the items states none."""
    truck: str | None
    """The truck's id; None where no truck takes it, or none is free that day."""
    trip: int
    """Which of the truck's trips of that day, from 1; 0 without a truck."""
    verdict: Verdict
    """Against payload and bed: `short` where no truck takes it, `confirm` where a value or source lacks."""
    note: str


@dataclass(frozen=True, slots=True)
class DayLoad:
    """A day's moves and how few trips carry them."""

    day: date
    moves: tuple[Move, ...]
    trips: int
    bound: int
    """No loading does with fewer trips."""
    proven: bool

    @property
    def gap(self) -> float:
        """How far the trips may lie from the fewest, as a fraction of them."""
        return 0.0 if self.proven else (self.trips - self.bound) / max(self.trips, 1)


@dataclass(frozen=True, slots=True)
class Placed:
    """Which units serve a lot's need, and where they come from. ``unmet`` are lacking."""

    lot: str
    item: str
    name: str
    first: date
    last: date
    quantity: int
    sources: tuple[tuple[str, int, tuple[str, ...]], ...]
    """(place, number, serials) in order; a lot's own id where they are there already."""
    unmet: int
    not_named: tuple[str, ...]
    """Serials other than those that the lot's own inspections name, where it names any."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the assignment, with how far it is proven."""

    name: str
    objective: float
    bound: float
    proven: bool


@dataclass(frozen=True, slots=True)
class DayCounts:
    """One item day by day, (D,) each, over ``KitPlan.days``."""

    item: str
    name: str
    in_service: tuple[int, ...]
    """Units in stock that may be used on the day: in service, not past their due date."""
    on_lots: tuple[int, ...]
    """What the lots need on the day, erection included."""
    turning: tuple[int, ...]
    """What is being taken down, moved or inspected after a use, or was used up."""
    short: tuple[int, ...]
    """How many are lacking; 0 where it suffices."""
    by_lot: tuple[tuple[str, tuple[int, ...]], ...]
    """(lot, (D,)) what each lot needs on the day, lots in the order handed in."""


@dataclass(frozen=True, slots=True)
class KitPlan:
    """Everything that is known of the kits, from one day on."""

    as_of: date
    """The day from which it is planned."""
    stated: date
    """The day on which the inventory says where everything is."""
    lots: tuple[str, ...]
    days: tuple[date, ...]
    """Every calendar day from the first need to the last that is tied up."""
    working: tuple[bool, ...]
    """Which of ``days`` are worked."""
    needs: tuple[Need, ...]
    counts: tuple[DayCounts, ...]
    """One for each item that any lot needs, in the order of the first need."""
    excess: tuple[Excess, ...]
    conflicts: tuple[Conflict, ...]
    remedies: tuple[Remedy, ...]
    """Empty where nothing is short."""
    placed: tuple[Placed, ...]
    steps: tuple[Step, ...]
    """The steps of the assignment."""
    loads: tuple[DayLoad, ...]
    """The moves, day by day."""
    moved: tuple[Shift, ...] = ()
    """Lots whose dates are other than their jobs state: a trial, to see what it would give."""

    @property
    def moves(self) -> tuple[Move, ...]:
        """All moves in order of days."""
        return tuple(move for load in self.loads for move in load.moves)

    @property
    def verdict(self) -> Verdict:
        """`short` where anything lacks or clashes, `confirm` where something is left open."""
        if self.remedies or any(p.unmet for p in self.placed):
            return Verdict.SHORT
        verdicts = {move.verdict for move in self.moves}
        if Verdict.SHORT in verdicts or any(c.kind in CLASHES for c in self.conflicts):
            return Verdict.SHORT
        return Verdict.CONFIRM if Verdict.CONFIRM in verdicts or self.conflicts else Verdict.MEETS


CLASHES: frozenset[ConflictKind] = frozenset(
    {
        "serial wanted by two lots",
        "serial located on a lot that another lot names it for",
        "serial not in the inventory",
        "serial not in service",
        "serial due before the use ends",
        "item not in stock",
    }
)
"""Conflicts that make a plan `short`; the others ask to be confirmed."""


def together(conflicts: Iterable[Conflict]) -> list[tuple[Conflict, tuple[str, ...]]]:
    """Conflicts that say the same of the same lots as one, with all their items; clashes come first."""
    groups: dict[tuple[str, tuple[str, ...], str], tuple[Conflict, list[str]]] = {}
    for conflict in sorted(conflicts, key=lambda c: c.kind not in CLASHES):
        about = " ".join(part for part in (conflict.item, conflict.serial) if part)
        _, items = groups.setdefault((conflict.kind, conflict.lots, conflict.note), (conflict, []))
        items += [about] if about else []
    return [(conflict, tuple(items)) for conflict, items in groups.values()]
