"""Arrest on a single-point anchorage that may give way: the same energy balance without a line.

    m g (h + d + s) = F s + k d^2 / 2,   F = k d

with free fall h, the anchorage's movement d against its stiffness k, and stroke s of the
connector's absorber. On a rigid anchorage s = W h / (F - W). Where the stroke runs out, or
the absorber's force is never reached, the force follows from the quadratic in F:

    F^2 / (2 k) - W F / k - W (h + s) + F_a s = 0.

A rigid anchorage has no finite force once the stroke is spent; the result is then ``inf``.

Source: energy balance, the outline of CSA Z259.16 (method as commonly described). SI, positive down.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.calc.arrays import Array, Bools, Values, as_array
from planforge.calc.constants import G


@dataclass(frozen=True, slots=True)
class AnchorageArrest:
    """Outcome of a fall on one anchorage; all fields have the batch's shape."""

    force_per_worker: Array  # N in the connector
    stroke: Array  # m used of the connector's absorber
    stroke_spent: Bools
    movement: Array  # m, how far the anchorage gave way
    load: Array  # N on the anchorage, all workers


def arrest_at_anchorage(
    *,
    mass: Values,
    free_fall: Values,
    absorber_force: Values,
    absorber_stroke: Values,
    stiffness: Values = np.inf,
    count: Values = 1.0,
) -> AnchorageArrest:
    """Arrest of ``count`` workers who fall together, each with an absorber of their own. Broadcasts.

    Args:
        mass: kg of one worker with tools.
        free_fall: m.
        absorber_force: N of one absorber while it works; where it does not exceed the worker's
            weight it never stops the fall and its stroke is spent.
        absorber_stroke: m it can give.
        stiffness: N/m of the anchorage; ``inf`` for rigid.
        count: workers falling together.
    """
    n, k = as_array(count), as_array(stiffness)
    weight, force = n * as_array(mass) * G, n * as_array(absorber_force)
    fall, limit = as_array(free_fall), as_array(absorber_stroke)
    give, holds = force / k, force > weight
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        wanted = (weight * (fall + give) - 0.5 * force * give) / (force - weight)
        wanted = np.where(holds, wanted, np.inf)
        stroke = np.clip(wanted, 0.0, limit)
        spent, unopened = wanted > limit, wanted < 0.0
        energy = weight * (fall + stroke) - force * stroke
        stiff = weight + np.sqrt(weight**2 + np.where(energy > 0.0, 2.0 * k * energy, 0.0))
        load = np.where(spent | unopened, stiff, force)
        movement = np.where(np.isinf(k), 0.0, load / k)
    return AnchorageArrest(load / n, stroke, spent, movement, load)
