"""Cases of the kit, the people, and the order in which things go up and come down."""

from __future__ import annotations

from typing import Any

from planforge.units import POUND

from .case import BARE, CONFIRM, NOT_APPLICABLE, SHORT, Case
from .jobs import REMOVE, Changes


def _bare(check: str, where: str, changes: Changes, verdict: Any, value: Any, limit: Any = None) -> Case:
    return Case(check, where, changes, verdict, value, limit, base=BARE)


LAST = "to 2026-12-11"
FOUR, FIFTEEN = f"4 needed, {LAST}", f"15 needed, {LAST}"
WORK = "from 2026-12-01 to 2026-12-11"
STAGES = [
    "everyone off",
    "hoist holds post",
    "guys opposite line eased",
    "line released",
    "guys across line eased",
    "base freed",
    "holes closed",
    "anchors cut or plugged",
]
ON_TRUCK = 4 * 460 + 15 * 14 + 16 * 1 + 4 * 4
"""Four posts, fifteen guys, sixteen studs, four harnesses, lb: summed by hand."""
ORDER = ", then ".join(STAGES)
COVERS = "removal.sequence.1.covers"


def _swapped(first: int) -> list[str]:
    """The stages of the second step with two neighbours changed over."""
    stages = STAGES[1:]
    stages[first], stages[first + 1] = stages[first + 1], stages[first]
    return stages


CASES = [
    # found fit, and not due again before the work ends
    _bare(
        "kit.inspected",
        "harness",
        {"inspections": REMOVE},
        SHORT,
        "no inspection recorded",
        FOUR,
    ),
    _bare(
        "kit.inspected",
        "post",
        {"inspections.3.result": "removed"},
        SHORT,
        "no inspection recorded",
        FOUR,
    ),
    _bare(
        "kit.inspected",
        "guy",
        {"inspections.6": REMOVE},
        SHORT,
        "no inspection recorded",
        FIFTEEN,
    ),
    _bare(
        "kit.inspected",
        "post",
        {"inspections.3.due": "2026-12-10"},
        SHORT,
        "due before the work ends: P1 to P4",
        FOUR,
    ),
    _bare(
        "kit.inspected",
        "post",
        {"inspections.3.due": REMOVE},
        CONFIRM,
        "next inspection not stated: P1 to P4",
        FOUR,
    ),
    _bare(
        "kit.inspected",
        "post",
        {
            "inspections.+": {
                "item": "post",
                "serial": "P1 to P4",
                "on": "2026-11-20",
                "by": "X",
                "result": "removed",
            }
        },
        SHORT,
        "no inspection recorded",
        FOUR,
    ),
    # as many as are needed, serial by serial: fifteen guys
    _bare(
        "kit.inspected",
        "guy",
        {"inspections.6.serial": "G1 to G12"},
        SHORT,
        "12 found fit, 3 lacking",
        FIFTEEN,
    ),
    _bare(
        "kit.inspected",
        "guy",
        {
            "inspections.+": {
                "item": "guy",
                "serial": "G3",
                "on": "2026-11-20",
                "by": "X",
                "result": "removed",
            }
        },
        SHORT,
        "14 found fit, 1 lacking",
        FIFTEEN,
    ),
    _bare(
        "kit.inspected",
        "guy",
        {"inspections.6.serial": "All on the rack"},
        CONFIRM,
        "serials that can't be counted: All on the rack",
        FIFTEEN,
    ),
    _bare(
        "kit.inspected",
        "harness",
        {
            "equipment.harnesses.+": {"id": "other", "name": "Other harness (invented)"},
            "inspections.+": {
                "item": "other",
                "serial": "O1",
                "on": "2026-11-18",
                "by": "X",
                "result": "fit",
                "due": "2027-05-18",
            },
        },
        CONFIRM,
        "4 found fit, the number needed is not settled",
        LAST,
    ),
    # service life: five calendar years from the label's date, or from first use
    _bare(
        "kit.service_life",
        "harness",
        {"inspections.5.made": "2021-12-10"},
        SHORT,
        "H1 to H4, over on 2026-12-10",
        LAST,
    ),
    _bare(
        "kit.service_life",
        "harness",
        {"inspections.5.made": REMOVE},
        CONFIRM,
        "made not stated: H1 to H4",
        LAST,
    ),
    Case(
        "kit.service_life",
        "srl",
        {"inspections.4.in_service": "2016-12-10"},
        SHORT,
        "S1 to S8, over on 2026-12-10",
        LAST,
    ),
    _bare(
        "kit.service_life",
        "harness",
        {"equipment.harnesses.harness.service_life.source": REMOVE},
        CONFIRM,
        "serves to 2028-02-01",
        LAST,
    ),
    Case(
        "kit.service_life",
        "rope",
        {"equipment.ropes.rope.no_fixed_life": REMOVE},
        CONFIRM,
        "not stated",
        LAST,
    ),
    # what only the maker can say
    _bare(
        "kit.criteria",
        "guy",
        {"equipment.guys.guy.turnbuckle_threads": REMOVE},
        CONFIRM,
        "not stated: least threads inside the turnbuckle",
    ),
    _bare(
        "kit.criteria",
        "post",
        {"equipment.posts.post.most_bow": REMOVE, "equipment.posts.post.deepest_dent": REMOVE},
        CONFIRM,
        "not stated: most bow of a section, deepest dent",
    ),
    Case(
        "kit.criteria",
        "rope",
        {"equipment.ropes.rope.broken_wires.source": REMOVE},
        CONFIRM,
        "stated",
    ),
    # the truck
    _bare(
        "kit.load",
        "truck",
        {"delivery.payload.value": "2081 lb"},
        SHORT,
        ON_TRUCK * POUND,
        2081 * POUND,
    ),
    _bare(
        "kit.load",
        "truck",
        {"delivery.payload": REMOVE},
        CONFIRM,
        ON_TRUCK * POUND,
        "payload not stated",
    ),
    _bare(
        "kit.load",
        "truck",
        {"equipment.harnesses.harness.weight": REMOVE},
        CONFIRM,
        (ON_TRUCK - 4 * 4) * POUND,
        6000 * POUND,
    ),
    # people
    _bare("people.roles", "rescue lead", {"roles.rescue_lead": REMOVE}, SHORT, "nobody named"),
    _bare(
        "people.roles",
        "alternate of the competent person",
        {"roles.competent_alternate": "dunlin"},
        SHORT,
        "Aspen Dunlin",
    ),
    _bare(
        "people.roles",
        "qualified person",
        {"people.kestrel.qualification": REMOVE},
        CONFIRM,
        "Jasper Kestrel",
    ),
    _bare(
        "people.roles", "competent person", {"people.dunlin.qualification": REMOVE}, CONFIRM, "Aspen Dunlin"
    ),
    _bare(
        "people.training",
        "Aspen Dunlin",
        {"people.dunlin.training.0.expires": "2026-12-10"},
        SHORT,
        "lapses 2026-12-10",
        WORK,
    ),
    _bare("people.training", "Sorrel Godwit", {"people.godwit.training": []}, SHORT, "no record", WORK),
    _bare(
        "people.training",
        "Sorrel Godwit",
        {"people.godwit.training.0.on": "2026-12-02"},
        SHORT,
        "trained 2026-12-02, after work begins",
        WORK,
    ),
    Case("people.capacity", "crew", {"tasks.T-N.workers": 3}, SHORT, 5.0, 4.0),
    # up and down
    _bare(
        "erection.hold_points",
        "erection",
        {"erection.sequence.0.hold": False},
        SHORT,
        0.0,
        1.0,
    ),
    Case(
        "removal.order",
        "removal",
        {COVERS: _swapped(1)},
        SHORT,
        "guys opposite line eased after line released",
        ORDER,
    ),
    Case(
        "removal.order",
        "removal",
        {COVERS: _swapped(0)},
        SHORT,
        "hoist holds post after guys opposite line eased",
        ORDER,
    ),
    Case(
        "removal.order",
        "removal",
        {COVERS: STAGES[1:-1]},
        SHORT,
        "not covered: anchors cut or plugged",
        ORDER,
    ),
    Case(
        "removal.order",
        "removal",
        {COVERS: REMOVE, "removal.sequence.0.covers": REMOVE},
        CONFIRM,
        "the steps don't say what they cover",
        ORDER,
    ),
    Case(
        "removal.order",
        "removal",
        {"layout.posts": []},
        NOT_APPLICABLE,
        "nothing to take down",
        "",
        base=BARE,
    ),
]
