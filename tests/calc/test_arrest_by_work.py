"""Every value of an arrest at mid-span against the work of the force, summed along its path.

The line's share of the energy is here the integral of the load over the drop of its point, on the textbook's
catenary (see :mod:`.textbook`): no stored energies, no solver of planforge. A line absorber that slides is
held against two straight legs.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq, fsolve

from planforge.calc.arrest import Arrest, Faller, arrest, arrest_in_sequence
from planforge.calc.cable import Rope
from planforge.calc.lifeline import Line, install

from .textbook import Path, Textbook

LEFT, RIGHT = 4e5, 9e5  # N/m
BOOK = Textbook(18.288, 0.1524, compliance=1.0 / LEFT + 1.0 / RIGHT)
LINE = Line(18.288, 0.0, 0.1524, Rope(BOOK.w, BOOK.EA), LEFT, RIGHT)
G = 9.80665


def same(found: Arrest, load: float, stroke: float, count: int, before: float) -> None:
    """Every field of the arrest whose total force is ``load`` above ``before``, both at mid-span, N."""
    H, drop, end = BOOK.under(before + load)[0]
    _, rested, _ = BOOK.under(before)[0]
    H0 = BOOK.installed()[0]
    expected = {
        "force_per_worker": load / count,
        "absorber_stroke": stroke,
        "sag": drop,
        "sag_before": rested,
        "sag_increment": drop - rested,
        "horizontal_tension": H,
        "tension_left": end,
        "tension_right": end,
        "tension_max": end,
        "end_movement_left": (H - H0) / LEFT,
        "end_movement_right": (H - H0) / RIGHT,
        "line_absorber_extension": 0.0,
        "total_fall": float(found.free_fall) + drop - rested + stroke,
    }
    for name, value in expected.items():
        assert float(getattr(found, name)) == pytest.approx(value, rel=2e-3, abs=1e-4), name


@pytest.mark.parametrize(("count", "force", "room"), [(1, 4003.0, 2.0), (2, 4003.0, 2.0)])
def test_absorber_slides(count: int, force: float, room: float) -> None:
    """s = (W (h + D) - work) / (F - W)."""
    weight, load = count * 140.0 * G, count * force
    way = Path.of(BOOK, 0.0, load)
    drop, work = way.at(load)
    stroke = (weight * (1.8288 + drop - way.drop[0]) - work) / (load - weight)
    found = arrest(install(LINE), 9.144, Faller(140.0, 1.8288, force, room, count))
    assert 0.3 < stroke < room
    same(found, load, stroke, count, 0.0)
    hanging = BOOK.under(weight)[0, 1]
    assert float(found.hanging_sag) == pytest.approx(hanging, rel=2e-3)
    assert float(found.hanging_increment) == pytest.approx(hanging - way.drop[0], rel=2e-3)


@pytest.mark.parametrize(
    ("force", "room", "fall"), [(4003.0, 0.2, 1.8288), (20e3, 1.0, 0.6), (4003.0, 0.0, 0.3)]
)
def test_absorber_runs_out_or_never_opens(force: float, room: float, fall: float) -> None:
    """W (h + D + s) = F s + work, solved for the force with the stroke as far as it goes."""
    weight = 140.0 * G
    way = Path.of(BOOK, 0.0, 30e3)
    rest = way.drop[0]

    def surplus(load: float) -> float:
        drop, work = way.at(load)
        return weight * (fall + drop - rest + room) - force * room - work

    stroke = room
    if force > 10e3:  # never opens
        room = stroke = 0.0
    load = float(brentq(surplus, weight, 30e3))
    found = arrest(install(LINE), 9.144, Faller(140.0, fall, force, 1.0 if force > 10e3 else room))
    assert (load > force) == (force < 10e3)
    assert bool(found.absorber_exhausted) == (force < 10e3)
    same(found, load, stroke, 1, 0.0)


def test_second_falls_while_the_first_hangs() -> None:
    """The first's weight has pulled the place down; what it gives up on the way is not the second's."""
    weight = 140.0 * G
    worker = Faller(140.0, 1.8288, 4003.0, 2.5)
    way = Path.of(BOOK, weight, weight + 4003.0)
    drop, work = way.at(weight + 4003.0)
    added = way.drop[0] - BOOK.under(0.0)[0, 1]
    stroke = (weight * (1.8288 + added + drop - way.drop[0]) - work) / (4003.0 - weight)
    found = arrest_in_sequence(install(LINE), 9.144, worker, 9.144, worker)
    assert float(found.added_free_fall) == pytest.approx(added, rel=2e-3)
    assert float(found.second.free_fall) == pytest.approx(1.8288 + added, rel=2e-3)
    same(found.second, 4003.0, stroke, 1, weight)


def test_sliding_line_absorber_against_two_straight_legs() -> None:
    """A next to weightless line of 18 m, its left end held by 9 kN that slides.

    T1 = 9 kN, T1 cos = T2 cos, T1 sin + T2 sin = F; legs of 9 m of rope, the left one with the extension.
    W (h + D + s) is F s, 9 kN times the extension, and what both legs store beyond the rope at rest.
    """
    span, EA, slides, load = 18.0, 3.567e6, 9000.0, 4000.0
    line = Line(span, 0.0, 0.05, Rope(0.05, EA), absorber_force=slides, absorber_stroke=3.0)
    installed = install(line)
    length = float(installed.unstretched_length)

    def legs(u: np.ndarray) -> list[float]:
        x, z, extension, T2 = u[0], u[1], u[2], 1e3 * u[3]
        left, right = np.hypot(x, z), np.hypot(span - x, z)
        return [
            left - 0.5 * length * (1.0 + slides / EA) - extension,
            right - 0.5 * length * (1.0 + T2 / EA),
            (slides * x / left - T2 * (span - x) / right) / 1e3,
            (slides * z / left + T2 * z / right - load) / 1e3,
        ]

    x, z, extension, T2 = fsolve(legs, [9.2, 2.0, 0.4, 9.0])
    stored = (
        0.5 * length * (slides**2 + (1e3 * T2) ** 2 - 2.0 * float(installed.horizontal_tension) ** 2) / EA
    )
    weight, taken = 140.0 * G, slides * extension + 0.5 * stored
    stroke = (weight * (1.8 + z - 0.05) - taken) / (load - weight)
    found = arrest(installed, 9.0, Faller(140.0, 1.8, load, 3.0))
    assert float(found.absorber_stroke) == pytest.approx(stroke, rel=2e-2)
    assert bool(found.absorber_opened) and not bool(found.absorber_exhausted)
    assert float(found.line_absorber_extension) == pytest.approx(extension, rel=5e-3)
    assert float(found.sag) == pytest.approx(z, rel=5e-3)
    assert float(found.tension_left) == pytest.approx(slides, rel=1e-6)
    assert float(found.tension_right) == pytest.approx(1e3 * T2, rel=5e-3)
    assert float(found.horizontal_tension) == pytest.approx(slides * x / np.hypot(x, z), rel=5e-3)
