"""Steel, embedment, spacing and interaction of a base anchor. Concrete: test_concrete_breakout."""

from __future__ import annotations

import numpy as np
import pytest

from planforge.calc import base_anchor as anchor
from planforge.calc.inch_pound import INCH
from planforge.errors import CalculationError


def test_reduction_factors_by_category() -> None:
    """Tables 17.5.3, from memory: breakout 0.65, 0.55, 0.45 by category, steel 0.75 and 0.65."""
    found = [anchor.strength_reduction(ductile=True, category=c) for c in (1, 2, 3)]
    assert [f.tension_breakout for f in found] == [0.65, 0.55, 0.45]
    assert (found[0].steel_tension, found[0].steel_shear, found[0].shear_breakout) == (0.75, 0.65, 0.70)
    tied = [anchor.strength_reduction(ductile=True, category=c, supplementary=True) for c in (1, 2, 3)]
    assert [f.tension_breakout for f in tied] == [0.75, 0.65, 0.55]
    assert [f.pryout for f in found + tied] == [0.70] * 6
    brittle = anchor.strength_reduction(ductile=False, category=1, supplementary=True)
    assert (brittle.steel_tension, brittle.steel_shear) == (0.65, 0.60)
    assert (brittle.tension_breakout, brittle.shear_breakout) == (0.75, 0.75)
    with pytest.raises(CalculationError, match="category 4"):
        anchor.strength_reduction(ductile=True, category=4)


def test_plate_eats_embedment() -> None:
    """4 in anchor, 1/2 in plate, 3/4 in nut and washer: 2-3/4 in embedded; 3/8 in less effective."""
    embedded = anchor.embedment(4.0 * INCH, 0.5 * INCH, 0.75 * INCH)
    assert embedded == pytest.approx(2.75 * INCH)
    assert anchor.effective_depth(embedded, 0.375 * INCH) == pytest.approx(2.375 * INCH)
    with pytest.raises(CalculationError, match="none is left"):
        anchor.effective_depth(0.3 * INCH, 0.375 * INCH)


def test_hole_in_a_nominal_four_inch_slab() -> None:
    """Common practice, no source: 3-1/2 in holes leave 1/2 in of 4 in; a 3-1/2 in slab is drilled through."""
    left = anchor.cover_below(np.array([4.0, 3.5, 3.25]) * INCH, 3.5 * INCH)
    assert left == pytest.approx(np.array([0.5, 0.0, -0.25]) * INCH)


def test_limits_where_the_report_gives_none() -> None:
    assert anchor.least_spacing(0.5 * INCH) == pytest.approx(3.0 * INCH)
    assert anchor.greatest_depth(np.array([4.0, 18.0]) * INCH) == pytest.approx(
        np.array([8.0 / 3.0, 14.0]) * INCH
    )
    # Table 17.9.2(b) (from memory)
    assert anchor.EDGE_DIAMETERS == {
        "undercut": 6.0,
        "torque-controlled": 8.0,
        "displacement-controlled": 10.0,
    }


def test_least_pair_spacing() -> None:
    assert anchor.pairs_spacing(np.array([[0.0, 0.0], [0.2, 0.0], [0.2, 0.05]])) == pytest.approx(0.05)


def test_interaction_is_three_lines() -> None:
    """Alone up to a fifth of the other, then n + v <= 1.2; both ends of the slope join the full ratios."""
    cases = {(1.0, 0.2): 1.0, (0.2, 1.0): 1.0, (0.6, 0.6): 1.0, (0.7, 0.7): 1.4 / 1.2, (0.95, 0.1): 0.95}
    n, v = np.array(list(cases)).T
    assert anchor.interaction(n, v) == pytest.approx(list(cases.values()))
    # Either side of a fifth: (0.205 + 0.3)/1.2 counts, 0.195 beside 0.3 does not (17.8.1 to 17.8.3).
    beside, fifth = np.full(2, 0.3), np.array([0.195, 0.205])
    for one, other in ((fifth, beside), (beside, fifth)):
        assert anchor.interaction(one, other) == pytest.approx([0.3, 0.505 / 1.2])
    assert anchor.interaction(1.0, 0.2000001) == pytest.approx(1.0, abs=1e-6)
