"""The rated load of a lifting machine at a radius, from the points of its load chart.

Nothing is read between two points: of the two that a radius lies between, the lower rated load holds (common
practice, no source; the chart's own rule governs where it is stricter). Beyond the last point the machine has
no rated load at all.
"""

from __future__ import annotations

from collections.abc import Sequence

_NOISE = 1e-9
"""m; what two spellings of one radius, such as 20 ft and 240 in, may differ by."""


def rated_load_at(chart: Sequence[tuple[float, float]], radius: float) -> float | None:
    """The rated load at a radius, kg; None beyond the largest radius of the chart, or without a chart.

    Args:
        chart: (radius, rated load) points, m and kg, in any order.
        radius: the radius used, m.
    """
    ordered = sorted(chart)
    farther = [load for at, load in ordered if at >= radius - _NOISE]
    nearer = [load for at, load in ordered if at < radius - _NOISE]
    if not farther:
        return None
    at_it = [load for at, load in ordered if abs(at - radius) <= _NOISE]
    return min(at_it) if at_it else min([farther[0], *nearer[-1:]])


def greatest_radius(chart: Sequence[tuple[float, float]], load: float) -> float | None:
    """The greatest radius of the chart, m, at which a load, kg, is within its rated load; None: at none.

    Between that point and the next the lower rated load holds, so that nothing is gained beyond it.
    """
    held = [at for at, _ in chart if (rated_load_at(chart, at) or 0.0) >= load * (1.0 - _NOISE)]
    return max(held, default=None)
