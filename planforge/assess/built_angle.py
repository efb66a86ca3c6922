"""A guy's angle from the post as it may be built: the base off its place, and what the maker allows.

The base's tolerance in plan brings the attachment so much nearer to the plate anchor or farther from it; the
anchor itself, which has no tolerance, is where it is drawn. Angles in rad.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from planforge.assess.index import Index
from planforge.assess.post_model import GuyParts

_TENTH = math.radians(0.1)
_HAIR = 1e-6


def base_tolerance(index: Index) -> float | None:
    """How far a post's base may stand from its place, m; None: not stated."""
    erection = index.job.erection
    return erection.tolerances.post_position if erection and erection.tolerances else None


def built_angles(guy: GuyParts, off: float) -> tuple[float, float]:
    """The least and the greatest angle with the base ``off`` (m) its place, towards the anchor and away."""
    reach, drop = guy.length * np.sin(guy.angle), guy.length * np.cos(guy.angle)
    return float(np.arctan2(max(reach - off, 0.0), drop)), float(np.arctan2(reach + off, drop))


def allowed_angles(guy: GuyParts, off: float) -> tuple[float, float] | None:
    """The angles at which the guy may be found, to whole tenths of a degree; None: there is none.

    Those of :func:`built_angles`, less what the maker does not allow; the lower end up, the upper down.
    """
    low, high = built_angles(guy, off)
    least, greatest = guy.kind.least_angle, guy.kind.greatest_angle
    low = max(low, least.value) if least else low
    high = min(high, greatest.value) if greatest else high
    tenths = math.ceil(low / _TENTH - _HAIR), math.floor(high / _TENTH + _HAIR)
    drawn = low - _HAIR <= guy.angle <= high + _HAIR
    return (tenths[0] * _TENTH, tenths[1] * _TENTH) if drawn and tenths[0] <= tenths[1] else None


def beyond_band(guy: GuyParts, off: float) -> str:
    """How the base's tolerance alone takes the angle out of the maker's band, in words; empty: not at all."""
    least, greatest = guy.kind.least_angle, guy.kind.greatest_angle
    low, high = built_angles(guy, off)
    if least is not None and low < least.value - _HAIR:
        return f"as little as {_tenths(math.floor, low)}, below the maker's {_tenths(round, least.value)}"
    if greatest is not None and high > greatest.value + _HAIR:
        return f"as much as {_tenths(math.ceil, high)}, above the maker's {_tenths(round, greatest.value)}"
    return ""


def _tenths(rounding: Callable[[float], int], angle: float) -> str:
    return f"{rounding(round(math.degrees(angle) * 10.0, 6)) / 10.0:.1f}°"
