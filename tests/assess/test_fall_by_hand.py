"""What is printed of a fall, reckoned by hand from what the small lot states: at a fitting, and on a line.

The fitting is rigid: W h = (F - W) s. The line is the textbook's catenary on springs, with the load's work
summed along its path (tests/calc/textbook.py); nothing of planforge's own calculations stands in here.
"""

from __future__ import annotations

from math import hypot

import numpy as np
import pytest

from planforge.assess.capacity_table import capacity_tables
from planforge.units import FOOT, INCH, LBF, POUND

from ..calc.textbook import Path, Textbook
from .jobs import assessed, finding
from .small_posts import number

WEIGHT = 265 * LBF
DRING = 11 * FOOT + 4 * INCH + 5 * FOOT
"""Over the slab: the second level and the D-ring's height."""
FIXED = (1 + 5 + 2) * FOOT
"""The D-ring's shift, its height over the soles, the margin."""
LOCK_OFF = 1.5 * FOOT


def test_fall_at_a_fitting() -> None:
    """A-2 at 19 ft, 3 ft to one side: a retracting device that locks after 18 in and gives at 700 lbf."""
    at, lot = "A-2 · T-A/S-A2", assessed()
    above = 19 * FOOT - DRING
    stroke = 265 * 1.5 / (700 - 265) * FOOT
    swing = hypot(3 * FOOT, above) - above
    clearance = finding(lot, "arrest.clearance", f"{at} · inward", "walls")
    assert clearance.value == pytest.approx(DRING, rel=1e-6)
    assert clearance.limit == pytest.approx(LOCK_OFF + stroke + swing + FIXED, rel=1e-6)
    for check, value, limit in (
        ("arrest.anchor_height", above, 0.0),
        ("arrest.free_fall", LOCK_OFF, 6 * FOOT),
        ("arrest.deceleration", stroke, 3.5 * FOOT),
        ("arrest.force", 1400 * LBF, 1800 * LBF),
        ("arrest.user_mass", 265 * POUND, 310 * POUND),
    ):
        found = finding(lot, check, at)
        assert found.value == pytest.approx(value, rel=1e-6), check
        assert found.limit == pytest.approx(limit, rel=1e-6), check
    # hangs highest where the device gives at 1,000 lbf; the ladder stands on grade, a foot below the slab
    rescue, highest = finding(lot, "rescue.reach", "A-2", "walls"), 265 * 1.5 / (1000 - 265) * FOOT
    assert rescue.value == pytest.approx(DRING - LOCK_OFF - highest + 1 * FOOT, rel=1e-6)
    assert rescue.limit == pytest.approx(20 * FOOT)
    swings = finding(lot, "arrest.swing", f"{at} · inward", "walls")
    assert (swings.value, swings.limit) == (pytest.approx(6 * FOOT), pytest.approx(10 * FOOT))


def line(fahrenheit: float, stiffness: float) -> Textbook:
    """L-2: 26 ft at 3 in set at 40 F, 0.24 lb/ft, EA 700,000 lbf, 6.5e-6 /F, equal springs at both ends."""
    return Textbook(
        26 * FOOT,
        3 * INCH,
        0.24 * LBF / FOOT,
        700_000 * LBF,
        6.5e-6,
        fahrenheit - 40.0,
        2.0 * INCH / (stiffness * LBF),
    )


def fall(book: Textbook, force: float) -> tuple[float, float, float, float]:
    """Sag before, drop of the line, stroke (m) and the tension at the ends (N) at mid-span."""
    way = Path.of(book, 0.0, force)
    sag, end = way.drop[0], book.under(force)[0, 2]
    drop, work = way.at(force)
    return sag, drop - sag, (WEIGHT * (LOCK_OFF + drop - sag) - work) / (force - WEIGHT), end


def test_fall_on_a_line() -> None:
    """Soft ends and low force on the warmest and coldest day; stiff ends and high force on the coldest.

    The swing is that of the warmest day's line, which hangs lowest over the D-ring, for both.
    """
    lot = assessed()
    run = next(r for line in lot.lines if line.id == "L-2" for r in line.runs)
    required = []
    above = 20 * FOOT - fall(line(60.0, 1800.0), 700 * LBF)[0] - DRING
    for fahrenheit in (60.0, 25.0):
        _, drop, stroke, end = fall(line(fahrenheit, 1800.0), 700 * LBF)
        assert end < 3000 * LBF  # the line absorber stays shut
        required.append(LOCK_OFF + drop + stroke + FIXED + hypot(3 * FOOT, above) - above)
    found = finding(lot, "arrest.clearance", "L-2 · T-E/S-E · outward", "walls")
    assert found.limit == pytest.approx(max(required), rel=1e-4)
    assert found.value == pytest.approx(DRING + 1 * FOOT, rel=1e-6)  # grade lies a foot below the slab
    *_, stroke, end = fall(line(25.0, 4200.0), 1000 * LBF)
    assert end < 3600 * LBF
    assert (run.tension, *run.end_load) == pytest.approx((end, end, end), rel=1e-3)
    forces = {row.id: row.workers_force for row in lot.lines}  # one worker at 1,000 lbf, and two
    assert forces == pytest.approx({"L-2": 1000 * LBF, "L-1": 2000 * LBF})
    # time history: never less, and within the 27 % of the method notes
    assert 1.0 <= number(lot.lines[1].loads.tension if lot.lines[1].loads else None) / run.tension < 1.27


def test_row_of_the_capacity_table() -> None:
    """One worker on L-2: both factors on the balance's tension, the whole fall, and what it leaves."""
    lot = assessed()
    row = capacity_tables(lot.index, lot.lines)["L-2"][0]
    *_, end = fall(line(25.0, 4200.0), 1000 * LBF)
    assert (row.workers, row.in_use) == (1, True)
    assert (row.tension, row.end_load) == pytest.approx((end, end), rel=1e-3)
    assert row.rope_factor == pytest.approx(12400 * LBF / end, rel=1e-3)
    assert row.end_factor == pytest.approx(11000 * LBF / end, rel=1e-3)
    falls = (fall(line(fahrenheit, 1800.0), 700 * LBF) for fahrenheit in (60.0, 25.0))
    assert row.total_fall == pytest.approx(
        max(LOCK_OFF + drop + stroke for _, drop, stroke, _ in falls), rel=1e-3
    )
    clearance = finding(lot, "arrest.clearance", "L-2 · T-E/S-E · outward", "walls")
    assert row.left_over == pytest.approx(number(clearance.value) - number(clearance.limit), rel=1e-4)


def test_where_a_line_runs() -> None:
    """L-2 from (38, 2) to (38, 28) ft, heads at 20 ft; with P2 on the second level it climbs 11'-4"."""
    level, climbing = (
        next(row.parts for row in assessed(changes).lines if row.id == "L-2")
        for changes in ({}, {"layout.posts.P2.stands_on": "second"})
    )
    third = np.array([26 / 3 * FOOT])
    assert level.place(third)[0] == pytest.approx([38 * FOOT, (2 + 26 / 3) * FOOT])
    assert (level.span, level.rise, level.chord(third)[0]) == pytest.approx((26 * FOOT, 0.0, 20 * FOOT))
    rise = (11 + 4 / 12) * FOOT
    assert (climbing.span, climbing.rise) == pytest.approx((26 * FOOT, rise))
    assert climbing.chord(third)[0] == pytest.approx(20 * FOOT + rise / 3)
