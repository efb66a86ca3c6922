"""Cases of the wind on posts, standing and while they go up."""

from __future__ import annotations

from math import sqrt

import pytest

from planforge.units import FOOT, INCH, LBF, MPH

from .case import BARE, CONFIRM, SHORT, Case
from .jobs import REMOVE, finding
from .small_posts import GUY, STUD, number


def _guy_in_the_storm(uplift: float) -> float:
    """Twice w h 10/18 and half the drag of four guys, at 45 degrees all of it an anchor's uplift too.

    ASCE 7-16 by hand: exposure C at 20 ft, G 0.85, Cf 1.2, 90 mph.
    """
    q = 0.613 * 2.01 * (20 / 900) ** (2 / 9.5) * (90 * MPH) ** 2 * 0.85 * 1.2
    tube = q * 5.5 * INCH * 20 * FOOT * 10 / 18
    guys = 4 * q * 0.5 * INCH * 9 * sqrt(2) * FOOT / 2
    return 2 * (tube + guys) / uplift


CASES = [
    # the wind's force grows with the square of its speed
    Case(
        "wind.standing",
        "P2",
        {"weather.storm.value": "1000 mph"},
        SHORT,
        lambda a: pytest.approx((1000 / 90) ** 2 * number(finding(a, "wind.standing", "P2").value), rel=0.02),
        1.0,
        was=CONFIRM,  # the base left out, whose anchors' strength is no matter of proportion
        base=BARE | {f"{STUD}.kc": REMOVE},
    ),
    Case(
        "wind.standing",
        "P2",
        {f"{STUD}.kc": REMOVE},
        CONFIRM,
        lambda _: pytest.approx(_guy_in_the_storm(5000 * LBF), rel=0.02),
        1.0,
        base=BARE | {f"{GUY}.plate_uplift.value": "5000 lbf"},
    ),
    Case(
        "wind.standing",
        "P2",
        {"weather.storm": REMOVE},
        CONFIRM,
        "not reckoned",
        "wanted: weather.storm with its source",
        base=BARE,
    ),
    Case(
        "wind.unguyed",
        "P2",
        {"weather.wind_stops_erection": "300 mph"},
        SHORT,
        300 * MPH,
        lambda a: finding(a, "wind.unguyed", "P2").limit,
        was=CONFIRM,
        base=BARE,
    ),
]
