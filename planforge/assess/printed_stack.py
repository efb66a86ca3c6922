"""The clearance sum as it is printed: whole steps whose terms re-add to the printed total.

The total needed is rounded up, what there is is rounded down; the terms share the total's steps by
largest remainder, so that a reader with a pencil gets the printed total. Steps: 0.1 ft, or 0.01 m.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from planforge.assess.sides import SideRun
from planforge.calc.arrays import Array
from planforge.units import FOOT, Display

_HAIR = 1e-6


@dataclass(frozen=True, slots=True)
class StackRow:
    """One printed term, from the D-ring down; ``metres`` is the printed value, a whole number of steps."""

    name: str  # a field of ClearanceTerms
    metres: float
    text: str


@dataclass(frozen=True, slots=True)
class DatumRow:
    """What is needed and what there is, reckoned from one datum that stands ``above`` the D-ring (m)."""

    datum: str  # dring, surface or anchorage
    above: float
    required: str
    available: str
    left_over: str


@dataclass(frozen=True, slots=True)
class PrintedStack:
    """A side's clearance as printed; lengths in m are whole steps."""

    rows: tuple[StackRow, ...]
    required: float
    available: float
    left_over: float  # negative: short
    required_text: str
    available_text: str
    left_over_text: str
    datums: tuple[DatumRow, ...]  # equal in what is left over

    @property
    def short(self) -> bool:
        """True where less is available than required."""
        return self.left_over < 0.0


def step_of(display: Display) -> float:
    """The printed step of a clearance, m."""
    return FOOT / 10 if display.system == "us" else 0.01


def steps_up(value: float, step: float) -> int:
    """Whole steps, rounded up; a hair of float noise adds none."""
    return math.ceil(value / step - _HAIR)


def steps_down(value: float, step: float) -> int:
    """Whole steps, rounded down; a hair of float noise takes none."""
    return math.floor(value / step + _HAIR)


def shared_steps(terms: list[float], step: float) -> list[int]:
    """Whole steps of non-negative terms (m) that add up to their sum rounded up, by largest remainder."""
    whole = [steps_down(t, step) for t in terms]
    left = steps_up(math.fsum(terms), step) - sum(whole)
    order = sorted(range(len(terms)), key=lambda i: (whole[i] - terms[i] / step, i))
    for i in order[:left]:
        whole[i] += 1
    return whole


def printed_stack(side: SideRun, display: Display) -> PrintedStack:
    """The stack of a side at its governing place, in the steps that are printed."""
    step = step_of(display)
    names, terms = zip(*side.stack, strict=True)
    shares = shared_steps(list(terms), step)
    required, available = sum(shares), steps_down(side.available, step)
    return PrintedStack(
        rows=tuple(
            StackRow(name, n * step, display.feet(n * step)) for name, n in zip(names, shares, strict=True)
        ),
        required=required * step,
        available=available * step,
        left_over=(available - required) * step,
        required_text=display.feet(required * step),
        available_text=display.feet(available * step),
        left_over_text=display.feet((available - required) * step),
        datums=_datums(side, required, available, display),
    )


def _at(side: SideRun, values: Array) -> float:
    return float(np.broadcast_to(values, side.under.elevation.shape)[side.governs])


def _datums(side: SideRun, required: int, available: int, display: Display) -> tuple[DatumRow, ...]:
    """D-ring, walking surface, anchorage: each shifts both sums by the same whole steps."""
    step = step_of(display)
    shifts = {
        "dring": 0.0,
        "surface": _at(side, side.clearance.required_below_surface) - side.required,
        "anchorage": _at(side, side.clearance.required_below_anchorage) - side.required,
    }
    rows = []
    for datum, shift in shifts.items():
        n = round(shift / step)
        rows.append(
            DatumRow(
                datum,
                shift,
                display.feet((required + n) * step),
                display.feet((available + n) * step),
                display.feet((available - required) * step),
            )
        )
    return tuple(rows)
