"""Cases of what is lifted and what is in its way: framing, power lines, the hoist and its gear."""

from __future__ import annotations

from planforge.units import FOOT, INCH, POUND

from .case import BARE, CONFIRM, SHORT, Case
from .jobs import REMOVE, Changes
from .small_posts import POST

GEAR = "equipment.lifting_gear.sling"


EAST_OF_22, EAST_OF_23 = (
    {"outline": [[at, "0"], ["40 ft", "0"], ["40 ft", "60 ft"], [at, "60 ft"]]} for at in ("22 ft", "23 ft")
)

SLING: Changes = BARE | {
    "equipment.lifting_gear": [
        {
            "id": "sling",
            "name": "Sling (invented)",
            "use": "Lifting posts",
            "weight": "3 lb",
            "rated_load": {"value": "1400 lb", "source": "Tag (invented)"},
        },
        {"id": "tag-line", "name": "Tag line (invented)", "use": "Steadying", "lifts": False},
    ]
}


CASES = [
    # a truss 3 in from the post's centre, 3/4 in half of it, 2-3/4 in half the tube
    Case(
        "framing.clear",
        "P1 · TR-1",
        {"layout.framing.TR-1.first": ["0", "1 ft 9 in"]},
        SHORT,
        (3 - 0.75 - 2.75) * INCH,
        0.0,
        base=BARE,
    ),
    Case(
        "framing.clear",
        "P1 · TR-1",
        {f"{POST}.outer_diameter": REMOVE},
        CONFIRM,
        (12 - 0.75) * INCH,
        0.0,
        base=BARE,
    ),
    Case(
        "power.post",
        "PL-1",
        {"power_lines.lines.PL-1.post_distance": "14 ft"},
        SHORT,
        14 * FOOT,
        15 * FOOT,
        base=BARE,
    ),
    Case(
        "power.post",
        "PL-1",
        {"power_lines.lines.PL-1.post_limit": REMOVE},
        CONFIRM,
        50 * FOOT,
        "the utility's distance is wanted",
        base=BARE,
    ),
    Case(
        "power.post",
        "PL-1",
        {"power_lines.lines.PL-1.post_distance": REMOVE},
        CONFIRM,
        "not stated",
        15 * FOOT,
        base=BARE,
    ),
    Case("hoist.plan", "lift", {"hoisting.retention": REMOVE}, SHORT, "not written: retention", base=BARE),
    Case("hoist.plan", "lift", {"hoisting": REMOVE}, SHORT, "not written", base=BARE),
    Case("hoist.plan", "lift point", {"hoisting.lift_point": "9 ft"}, SHORT, 9 * FOOT, 10 * FOOT, base=BARE),
    Case(
        "hoist.plan",
        "lift point",
        {"hoisting.lift_point": REMOVE},
        CONFIRM,
        "not stated",
        10 * FOOT,
        base=BARE,
    ),
    Case(
        "hoist.radius",
        "P1",
        # 20 ft to the east of P1 at (2, 28), then a foot farther
        {"hoisting.stands": [EAST_OF_23]},
        SHORT,
        21 * FOOT,
        20 * FOOT,
        base=BARE | {"hoisting.stands": [EAST_OF_22]},
    ),
    Case("hoist.load", "lift", {f"{POST}.weight": "1595 lb"}, SHORT, 1605 * POUND, 1600 * POUND, base=BARE),
    Case(
        "hoist.load",
        "lift",
        {"hoisting.deduction.value": "1131 lb"},
        SHORT,
        470 * POUND,
        469 * POUND,
        base=BARE,
    ),
    Case(
        "hoist.load",
        "lift",
        {"hoisting.deduction": REMOVE},
        CONFIRM,
        470 * POUND,
        1600 * POUND,
        base=BARE,
    ),
    Case(
        "hoist.load",
        "lift",
        {"hoisting.rigging_weight": REMOVE},
        CONFIRM,
        460 * POUND,
        1600 * POUND,
        base=BARE,
    ),
    Case(
        "hoist.load",
        "lift",
        {"hoisting.radius": REMOVE},
        CONFIRM,
        470 * POUND,
        1600 * POUND,
        base=BARE,
    ),
    Case(
        "hoist.load",
        "lift",
        {"hoisting.rated_load": REMOVE},
        CONFIRM,
        470 * POUND,
        "rated load at the radius not stated",
        base=BARE,
    ),
    Case(
        "hoist.load",
        "lift",
        {f"{POST}.weight": REMOVE},
        CONFIRM,
        "weight not stated",
        1600 * POUND,
        base=BARE,
    ),
    Case(
        "hoist.load",
        "sling",
        {f"{POST}.weight": "1410 lb"},
        SHORT,
        1410 * POUND,
        1400 * POUND,
        base=SLING,
    ),
    Case(
        "hoist.load",
        "sling",
        {f"{GEAR}.rated_load": REMOVE},
        CONFIRM,
        460 * POUND,
        "rated load not stated",
        base=SLING,
    ),
    Case(
        "hoist.load",
        "sling",
        {f"{GEAR}.rated_load.source": REMOVE},
        CONFIRM,
        460 * POUND,
        1400 * POUND,
        base=SLING,
    ),
    Case(
        "hoist.load",
        "sling",
        {f"{POST}.weight": REMOVE},
        CONFIRM,
        "weight not stated",
        1400 * POUND,
        base=SLING,
    ),
]
