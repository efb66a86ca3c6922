"""What each number of workers falling together does to a line. Values only; verdicts belong to assess/.

Rule: all fall together at one place, masses and forces summed, and each place along the line is
tried. Common practice, no source; the sequence rule is in :mod:`planforge.calc.arrest`.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from planforge.calc.arrays import Array, Values, as_array
from planforge.calc.arrest import Arrest, Faller, arrest
from planforge.calc.lifeline import InstalledLine


@dataclass(frozen=True, slots=True)
class Capacity:
    """Per number of workers, the worst over the places; the leading axis counts workers from 1."""

    workers: Array
    tension_max: Array  # N
    end_load_left: Array  # N, along the rope
    end_load_right: Array  # N
    force_per_worker: Array  # N
    total_fall: Array  # m
    position_of_tension: Array  # m from the left end, of the greatest tension
    position_of_fall: Array  # m, of the greatest fall
    arrests: Arrest  # all of them; shape (workers, places)


def capacity(installed: InstalledLine, positions: Values, faller: Faller, most: int) -> Capacity:
    """Arrests of 1 to ``most`` workers at each of ``positions`` (m from the left end, shape (k,)).

    ``faller`` describes one worker; its ``count`` is replaced. Its fields are numbers or have shape (k,).
    """
    x = np.atleast_1d(as_array(positions))
    counts = np.arange(1.0, most + 1.0)
    found = arrest(installed, x, dataclasses.replace(faller, count=counts[:, None]))
    return Capacity(
        workers=counts,
        tension_max=np.max(found.tension_max, axis=-1),
        end_load_left=np.max(found.tension_left, axis=-1),
        end_load_right=np.max(found.tension_right, axis=-1),
        force_per_worker=np.max(found.force_per_worker, axis=-1),
        total_fall=np.max(found.total_fall, axis=-1),
        position_of_tension=x[np.argmax(found.tension_max, axis=-1)],
        position_of_fall=x[np.argmax(found.total_fall, axis=-1)],
        arrests=found,
    )
