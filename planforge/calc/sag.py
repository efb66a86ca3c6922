"""The installed sag between its lower limit (tension, end load) and upper one (clearance); temperature.

Sag in m at mid-span, unloaded, below the chord. Temperature changes in K from the day the sag is
set; warmer is positive and gives more sag. A margin is a value that is 0 or more where its
requirement is met.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from planforge.calc.arrays import Array, Bools, Values, as_array
from planforge.calc.lifeline import Line, at_temperature, install, mid_sag
from planforge.errors import CalculationError, Quantity
from planforge.memo import remembered

Margins = Callable[[Array], Array]

_GRID = 33
_ZOOMS = 3


@dataclass(frozen=True, slots=True)
class SagBand:
    """The sags at which every margin holds. ``lower`` > ``upper`` cannot be: then ``empty`` is true."""

    lower: float  # m; nan when empty
    upper: float  # m; nan when empty
    lower_is_search_limit: bool  # no margin failed down to the least sag searched
    upper_is_search_limit: bool  # no margin failed up to the greatest sag searched

    @property
    def empty(self) -> bool:
        """Whether no sag searched meets both limits."""
        return bool(np.isnan(self.lower))


def sag_band(margins: Margins, least: float, greatest: float) -> SagBand:
    """Widest unbroken range of sags between ``least`` and ``greatest`` (m) at which all margins hold.

    Each edge is narrowed three times on a grid, towards the inside: at both sags returned every
    margin was evaluated and holds.

    Args:
        margins: takes sags of shape (k,), returns margins of shape (k,) or (..., k); the least over the
            leading axes counts. Not a number counts as not held.
        least, greatest: ends of the search, 0 < least < greatest.

    Raises:
        CalculationError: limits that are no range.
    """
    if not 0.0 < least < greatest:
        raise CalculationError(
            "sag band: {least} to {greatest} is no range to search in.",
            least=Quantity(least, "m"),
            greatest=Quantity(greatest, "m"),
        )
    sags = np.linspace(least, greatest, _GRID)
    start, stop = _longest_run(_holds(margins, sags))
    if start < 0:
        return SagBand(np.nan, np.nan, lower_is_search_limit=False, upper_is_search_limit=False)
    lower, upper = float(sags[start]), float(sags[stop])
    if start > 0:
        lower = _edge(margins, inside=lower, outside=float(sags[start - 1]))
    if stop < _GRID - 1:
        upper = _edge(margins, inside=upper, outside=float(sags[stop + 1]))
    return SagBand(lower, upper, lower_is_search_limit=start == 0, upper_is_search_limit=stop == _GRID - 1)


def _holds(margins: Margins, sags: Array) -> Bools:
    values = as_array(margins(sags))
    return np.asarray(np.all(values.reshape(-1, sags.size) >= 0.0, axis=0))


def _longest_run(held: Bools) -> tuple[int, int]:
    """First and last index of the longest run of true values; (-1, -1) when there is none."""
    padded = np.concatenate([[False], held, [False]])
    changes = np.flatnonzero(padded[1:] != padded[:-1])
    starts, stops = changes[::2], changes[1::2]
    if starts.size == 0:
        return -1, -1
    longest = int(np.argmax(stops - starts))
    return int(starts[longest]), int(stops[longest]) - 1


def _edge(margins: Margins, *, inside: float, outside: float) -> float:
    """Move ``inside``, where the margins hold, as near to ``outside`` as they still do."""
    for _ in range(_ZOOMS):
        sags = np.linspace(inside, outside, _GRID)
        held = _holds(margins, sags)
        held[0] = True
        last = int(np.argmin(held)) - 1 if not held.all() else _GRID - 2
        inside, outside = float(sags[last]), float(sags[last + 1])
    return inside


@remembered()
def sag_at_temperature(line: Line, change: Values) -> Array:
    """Sag (m) at mid-span of a line installed as specified, then warmer by ``change`` (K). Broadcasts."""
    return mid_sag(at_temperature(install(line), change))


@dataclass(frozen=True, slots=True)
class CardRow:
    """One temperature of the crew's card."""

    temperature: float  # K or °C, as given
    lower: float  # m; installed at this temperature, the coldest of the day still has the band's lower sag
    upper: float  # m; and the warmest has no more than its upper sag
    target: float  # m, what to set: of a job its own target at this temperature, else midway

    @property
    def empty(self) -> bool:
        """Whether no sag set at this temperature keeps to the band all day."""
        return not self.lower <= self.upper
