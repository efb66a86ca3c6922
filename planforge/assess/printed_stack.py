"""The clearance stack as it is printed: rounded to the careful side, and re-adding to the last digit.

Required rounds up, available rounds down, and what is left over is their difference. The terms
are rounded by largest remainder so that they add up to the required distance as printed: a
stated whole value (a margin of 2 ft) never changes. Tables and drawings both print these rows.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from planforge.assess.finding import Verdict, keeps
from planforge.assess.sides import SideRun
from planforge.units import INCH, INCH_PARTS, Display, feet_inches

TERM_NAMES = {
    "free_fall": "Free fall",
    "line_drop": "Line drop",
    "deceleration": "Deceleration",
    "dring_shift": "D-ring shift",
    "dring_height": "D-ring height",
    "swing_drop": "Swing drop",
    "margin": "Margin",
}
"""Each term's name in words, in the order in which they stack down."""

ANCHORAGE_NAMES = TERM_NAMES | {"line_drop": "Anchorage gives"}
"""The same for a single-point anchorage, which has no line to drop."""

_HAIR = 1e-6

_Scale = tuple[float, Callable[[float], str]]
"""A printed step, m, and how whole steps are printed."""
_IN_INCHES: tuple[_Scale, ...] = tuple((INCH / d, partial(feet_inches, denominator=d)) for d in INCH_PARTS)
_IN_METRES: tuple[_Scale, ...] = ((0.01, "{:.2f} m".format), (0.001, "{:.3f} m".format))


@dataclass(frozen=True, slots=True)
class PrintedLength:
    """A distance as printed."""

    key: str
    name: str
    value: float  # m, the printed figure; negative for a shortage
    text: str  # with its unit


@dataclass(frozen=True, slots=True)
class PrintedStack:
    """Terms from the D-ring down, their sum, what there is, and the difference."""

    terms: tuple[PrintedLength, ...]
    required: PrintedLength
    available: PrintedLength
    left_over: PrintedLength
    short: bool  # as the check finds it, by the unrounded numbers

    def term(self, key: str) -> PrintedLength:
        """One of the terms."""
        return next(term for term in self.terms if term.key == key)


def shared_out(values: Sequence[float], total: int) -> list[int]:
    """Whole numbers that add up to ``total``, each its value rounded down or up (largest remainder).

    ``values`` are 0 or more and ``total`` is their sum rounded up; of equal remainders the first goes up.
    """
    floors = [math.floor(v + _HAIR) for v in values]
    remainders = [max(v - f, 0.0) for v, f in zip(values, floors, strict=True)]
    going_up = sorted(range(len(values)), key=lambda i: -remainders[i])[: max(total - sum(floors), 0)]
    return [f + (i in going_up) for i, f in enumerate(floors)]


def stack_rows(side: SideRun, display: Display, names: Mapping[str, str] = TERM_NAMES) -> PrintedStack:
    """The stack at the governing place of ``side``, to 1 in (0.01 m).

    A difference that is 0 or more never prints as a shortage: the figures then get finer, to 1/16 in
    (1 mm); where even those say otherwise, nothing is left over.
    """
    scales = _IN_INCHES if display.system == "us" else _IN_METRES
    for scale in scales:
        stack = _rounded(side, scale, names, finest=scale is scales[-1])
        if stack.short or stack.left_over.value >= 0.0:
            break
    return stack


def _rounded(side: SideRun, scale: _Scale, names: Mapping[str, str], *, finest: bool) -> PrintedStack:
    """The stack in whole steps of ``scale``; in the ``finest``, what is not short never prints as short."""
    step, text = scale
    short = keeps(side.left_over, 0.0, "at least") is Verdict.SHORT

    def printed(key: str, name: str, steps: int) -> PrintedLength:
        return PrintedLength(key, name, steps * step, text(steps * step))

    required = math.ceil(side.required / step - _HAIR)
    available = math.floor(side.available / step + _HAIR)
    if finest and not short:
        available = max(available, required)
    shares = shared_out([value / step for _, value in side.stack], required)
    return PrintedStack(
        terms=tuple(
            printed(key, names[key], steps) for (key, _), steps in zip(side.stack, shares, strict=True)
        ),
        required=printed("required", "Required", required),
        available=printed("available", "Available", available),
        left_over=printed("left_over", "Left over", available - required),
        short=short,
    )
