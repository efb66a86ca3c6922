"""OSHA Technical Manual, Section V chapter 4: total fall clearance.

Clearance = free fall + deceleration distance + D-ring shift + back D-ring height + margin; free
fall = lanyard length less the anchorage's height above the D-ring. Usual inputs: shift 1 ft,
D-ring height 5 ft, deceleration 3.5 ft, margin 2 ft. The sums below are ours from the manual's
terms; the manual's own printed answers to these cases were not seen. 18.5 ft is the older rule of
thumb, below the anchor: lanyard 6 + elongation 3.5 + worker 6 + margin 3.
"""

from __future__ import annotations

import pytest

from planforge.calc.clearance import ClearanceTerms, Elevations, reckon
from planforge.calc.free_fall import lanyard_free_fall

from .cases import FOOT, Case

_SOURCE = "OSHA Technical Manual, Section V chapter 4"


def terms(
    lanyard: float, anchor_above: float, body: float = 5.0, margin: float = 2.0, shift: float = 1.0
) -> ClearanceTerms:
    fall = lanyard_free_fall(lanyard * FOOT, anchor_above * FOOT)
    return ClearanceTerms(fall, 0.0, 3.5 * FOOT, shift * FOOT, body * FOOT, 0.0, margin * FOOT)


def below_dring(lanyard: float, anchor_above: float) -> float:
    return float(terms(lanyard, anchor_above).required_below_dring) / FOOT


def old_rule() -> float:
    return float(terms(6.0, 0.0, body=6.0, margin=3.0, shift=0.0).required_below_anchorage(0.0)) / FOOT


CASES = [
    Case(_SOURCE, "6 ft lanyard, anchor 4 ft above the D-ring", 13.5, lambda: below_dring(6.0, 4.0), "ft",
         1e-9, "a sum; below the D-ring's starting height"),
    Case(_SOURCE, "6 ft lanyard, anchor level with the D-ring", 17.5, lambda: below_dring(6.0, 0.0), "ft",
         1e-9, "a sum; below the D-ring's starting height"),
    Case(_SOURCE, "free fall, 6 ft lanyard, anchor 4 ft above the D-ring", 2.0,
         lambda: float(lanyard_free_fall(6.0, 4.0)), "ft", 1e-9, "a difference"),
    Case(_SOURCE, "free fall, 6 ft lanyard, anchor 5 ft below the D-ring", 11.0,
         lambda: float(lanyard_free_fall(6.0, -5.0)), "ft", 1e-9, "over the 6 ft of 1926.502(d)(16)(iii)"),
    Case("older rule of thumb", "lanyard 6 + 3.5 + worker 6 + margin 3, below the anchor", 18.5, old_rule,
         "ft", 1e-9, "a sum"),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.case)
def test_sum(case: Case) -> None:
    case.check()


def test_datum_changes_the_need_and_not_what_is_left() -> None:
    """Below the surface the need is 5 ft less than below the D-ring of a standing worker."""
    found = terms(6.0, 0.0)
    at = Elevations(dring=25.0 * FOOT, surface=20.0 * FOOT, anchorage=25.0 * FOOT, lower_level=0.0)
    clearance = reckon(found, at)
    assert clearance.required_below_surface / FOOT == pytest.approx(12.5)
    assert clearance.left_over == pytest.approx(7.5 * FOOT)
    assert clearance.left_over_by_surface == pytest.approx(clearance.left_over, abs=1e-9)
    assert clearance.left_over_by_anchorage == pytest.approx(clearance.left_over, abs=1e-9)
