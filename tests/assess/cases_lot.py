"""Cases of the plan, the lot, hazards, people, procedure and rescue: what a job states or leaves out."""

from __future__ import annotations

from typing import Any

from planforge.units import FOOT, INCH, POUND

from .case import BARE, CONFIRM, MEETS, NOT_APPLICABLE, SHORT, Case
from .jobs import REMOVE, Changes

IN_LIFT: Changes = {
    "rescue.means.M-1.kind": "lift",
    "rescue.means.M-1.serves": [],
    "rescue.means.M-1.ladder": REMOVE,
    "rescue.means.M-1.rescuer": {"tied_to": "lift", "connector": "srl"},
    "rescue.means.M-1.lift": {
        "platform": "16 ft",
        "outreach": {"value": "99 ft", "source": "Range chart (invented)"},
        "works_from": [["0 ft", "0 ft"], ["9 ft", "0 ft"], ["9 ft", "9 ft"]],
        "holds": {"value": 3, "source": "Plate (invented)"},
    },
}


def _kelvin(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8 + 273.15


def _bare(check: str, where: str, changes: Changes, verdict: Any, value: Any, limit: Any = None) -> Case:
    return Case(check, where, changes, verdict, value, limit, base=BARE)


SCAN = {
    "by": "Example Scanning (invented)",
    "on": "2026-11-10",
    "method": "Radar",
    "tolerance": "1 in",
    "holds_until": "2026-12-07",
    "voided_by": [{"what": "Hole cored"}],
}
SCANNED: Changes = BARE | {"slab.scan": SCAN, "layout.posts.P2.phases": ["walls"]}
"""A scan that holds to the day on which the last post first stands, and no longer."""
DRILLED = "to 2026-12-07, when the last base is drilled"


def _scan(changes: Changes, verdict: Any, value: str) -> Case:
    within = {f"slab.scan.{field}": change for field, change in changes.items()}
    return Case("slab.scan", "slab", within, verdict, value, DRILLED, base=SCANNED)


UP = [
    "marks checked",
    "holes drilled",
    "hoist holds post",
    "base anchored",
    "guys fitted",
    "hoist lets go",
    "line hung",
    "sag set",
    "released",
]
"""The stages of an erection, in their order."""
RAISED = UP[:6]
"""Those of posts alone."""

BANK = {"id": "bank", "name": "Bank", "kind": "grade", "elevation": "6'-4\""}
"""Ground 5 ft below the second level."""

FLOOR: Changes = {
    "building": {
        "floors": [
            {
                "id": "F-1",
                "level": "second",
                "outline": [["0", "0"], ["40 ft", "0"], ["40 ft", "30 ft"], ["0", "30 ft"]],
                "laid": "deck",
            }
        ],
        "struck": [
            {"id": "X-W", "path": [["0", "30 ft"], ["0", "0"]], "reason": "A wall stands.", "by": "dunlin"},
            {"id": "X-S", "path": [["0", "0"], ["40 ft", "0"]], "reason": "A wall stands.", "by": "dunlin"},
        ],
    }
}
"""A floor whose sides are drawn on the north, the east and part of the south; struck: west and south."""


CASES = [
    # the plan
    _bare("plan.kind", "walls", {"work_parts.framing.phases": ["deck"]}, SHORT, "not stated"),
    _bare("plan.held_at", "plan", {"plan.held_at": REMOVE}, CONFIRM, "not stated"),
    _bare("plan.history", "plan", {"plan.revision": 1}, CONFIRM, "no line for revision 1"),
    _bare("plan.sign_offs", "plan", {"sign_offs": []}, SHORT, "nobody named"),
    # what the code asks of a plan
    Case(
        "code.contents",
        "wa_rescue",
        {"rescue.steps": REMOVE},
        SHORT,
        "not stated: rescue.steps",
        "Prompt removal of an injured worker is described.",
        base=BARE | {"site.code_profile": "us-washington"},
    ),
    Case(
        "code.barred",
        "lot",
        {"hazards.H1.controls.0.system": "controlled access zone"},
        SHORT,
        "controlled access zone: at H1",
        "not used: controlled access zone",
        base=BARE | {"site.code_profile": "us-oregon"},
    ),
    # the lot
    _bare("site.address", "lot", {"site.gate": REMOVE}, SHORT, "address or gate not stated"),
    _bare("site.permit", "lot", {"site.permit": REMOVE}, CONFIRM, "not stated"),
    _bare("lower_levels.stated", "lot", {"lower_levels": REMOVE}, SHORT, "none stated"),
    _bare("slab.known", "slab", {"slab.kind": "unknown"}, SHORT, "unknown kind"),
    _bare("slab.known", "slab", {"slab": REMOVE}, SHORT, "not stated"),
    _bare("slab.known", "slab", {"layout.posts": []}, NOT_APPLICABLE, None),
    _bare("slab.pour", "slab", {"slab.pour_date": REMOVE}, SHORT, "pour date not stated"),
    _bare("slab.pour", "slab", {"slab.strength.source": REMOVE}, CONFIRM, "poured 2026-10-20"),
    _bare("slab.located", "slab", {"slab.contents": REMOVE}, SHORT, "contents not stated: nobody drills"),
    _bare(
        "slab.located",
        "slab",
        {"slab.kind": "post-tensioned"},
        SHORT,
        "post-tensioned slab without a scan on this lot: nobody drills",
    ),
    # the scan holds to the day by which the last post first stands
    _scan({"holds_until": "2026-12-06"}, SHORT, "scanned 2026-11-10, held until 2026-12-06"),
    _scan({"voided_by.+": {"what": "Core", "happened": "2026-12-30"}}, SHORT, "void since 2026-12-30: Core"),
    _scan({"voided_by.0.happened": "2026-11-10"}, SHORT, "void since 2026-11-10: Hole cored"),
    _scan({"holds_until": REMOVE}, CONFIRM, "scanned 2026-11-10, not stated: until when it holds"),
    _scan({"voided_by": REMOVE}, CONFIRM, "scanned 2026-11-10, not stated: what voids it before"),
    Case(
        "slab.scan",
        "slab",
        {"slab.contents.DR-1.located_by": "both"},
        CONFIRM,
        "no scan is stated, which located DR-1",
        DRILLED,
        was=NOT_APPLICABLE,
        base=BARE | {"layout.posts.P2.phases": ["walls"]},
    ),
    _bare("power.survey", "lot", {"power_lines": REMOVE}, SHORT, "not surveyed", 20 * FOOT),
    _bare("power.survey", "lot", {"power_lines.radius": "19.9 ft"}, SHORT, 19.9 * FOOT, 20 * FOOT),
    _bare("power.distance", "PL-1", {"power_lines.lines.PL-1.distance": "9 ft"}, SHORT, 9 * FOOT, 10 * FOOT),
    _bare(
        "power.distance",
        "PL-1",
        {"power_lines.lines.PL-1.voltage": REMOVE},
        CONFIRM,
        46 * FOOT,
        20 * FOOT,
    ),
    _bare(
        "power.distance",
        "PL-1",
        {"power_lines.lines.PL-1.control": REMOVE, "power_lines.lines.PL-1.distance": "15 ft"},
        CONFIRM,
        15 * FOOT,
        10 * FOOT,
    ),
    Case("weather.range", "set", {"weather.coldest": "-11 F"}, SHORT, _kelvin(-11), _kelvin(-10)),
    Case("weather.range", "set", {"weather.warmest": "116 F"}, SHORT, _kelvin(116), _kelvin(115)),
    _bare("weather.wind", "lot", {"weather.wind_stops_work": REMOVE}, CONFIRM, "not stated"),
    _bare("weather.wind", "lot", {"weather": REMOVE}, SHORT, "not stated"),
    # hazards and what guards them
    Case(
        "hazard.controls",
        "H6",
        {"hazards.H6.controls": []},
        SHORT,
        "nothing guards it",
        base=BARE,
        phase="walls",
    ),
    Case(
        "hazard.controls",
        "H6",
        {"hazards.H6.controls": [], "hazards.H6.height": "5 ft", "lower_levels.+": BANK},
        NOT_APPLICABLE,
        "below the trigger height",
        base=BARE,
        phase="walls",
    ),
    _bare(
        "hazard.controls",
        "H4",
        {"hazards.H4.controls": [], "hazards.H4.height": "5 ft"},
        SHORT,
        "nothing guards it",
    ),
    _bare("hazard.height", "H1", {"hazards.H1.height": REMOVE}, SHORT, "not stated", 6 * FOOT),
    Case(
        "hazard.height",
        "H1",
        {"hazards.H1.height": "12 ft"},
        SHORT,
        12 * FOOT,
        (12 + 4 / 12) * FOOT,
    ),
    _bare(
        "hazard.hierarchy",
        "H1",
        {"hazards.H1.controls.0.passed_over": []},
        SHORT,
        "no reason for passing over guardrail, scaffold or lift",
    ),
    _bare(
        "hazard.in_place",
        "H6 · G-1",
        {"layout.guardrails.G-1.phases": ["deck"]},
        SHORT,
        "does not stand in walls",
    ),
    Case(
        "hazard.idle",
        "L-1",
        {"hazards.H1.controls.0.phases": ["deck"]},
        CONFIRM,
        "no hazard names it in walls",
    ),
    _bare("edge.registered", "E-S2", {"hazards.H6.edge": REMOVE}, SHORT, "not in the register"),
    Case(
        "edge.found",
        "F-1.4",
        {"building.struck.X-W": REMOVE},
        SHORT,
        30 * FOOT,
        6 * INCH,
        base=BARE | FLOOR,
    ),
    Case(
        "edge.struck",
        "X-W",
        {"building.struck.X-W.path": [["5 ft", "5 ft"], ["5 ft", "20 ft"]]},
        SHORT,
        "no drop-off at the trigger height is found there",
        base=BARE | FLOOR,
    ),
    Case(
        "edge.ground",
        "H1 · E-N",
        {"lower_levels.grade.elevation": "6 ft"},
        SHORT,
        40 * FOOT,
        6 * INCH,
        phase="walls",
    ),
    _bare(
        "guardrail.height", "G-1", {"layout.guardrails.G-1.top": "38 7/8 in"}, SHORT, 38.875 * INCH, 39 * INCH
    ),
    _bare(
        "guardrail.gap",
        "G-1",
        {"layout.guardrails.G-1.middle": REMOVE},
        SHORT,
        42 * INCH,
        "midrail midway, or gaps of 19 in",
    ),
    _bare(
        "guardrail.strength",
        "G-1",
        {"layout.guardrails.G-1.strength": REMOVE},
        CONFIRM,
        "not stated",
        "200 lbf at the top edge",
    ),
    _bare("cover.strength", "C-1", {"layout.covers.C-1.holds": "799 lb"}, SHORT, 799 * POUND, 800 * POUND),
    _bare(
        "cover.strength",
        "C-1",
        {"layout.covers.C-1.heaviest": REMOVE},
        CONFIRM,
        "load or strength not stated",
    ),
    _bare(
        "cover.fixed", "C-1", {"layout.covers.C-1.marking": REMOVE}, CONFIRM, "fixing or marking not stated"
    ),
    _bare(
        "zones.falling_objects",
        "lot",
        {"layout.zones": [], "hazards.H5.controls": []},
        SHORT,
        "nothing stated",
    ),
    # people, procedure (kit and training: cases_kit.py)
    _bare("erection.installer", "erection", {"erection.installer_tie_off": REMOVE}, SHORT, "not written"),
    _bare(
        "erection.procedure",
        "erection",
        {"erection.tolerances": REMOVE},
        SHORT,
        "not written: erection.tolerances",
    ),
    _bare(
        "erection.order",
        "erection",
        {"erection.sequence.0.covers": [*UP[:1], "base anchored", "hoist holds post", *UP[4:]]},
        SHORT,
        "not covered: holes drilled",
        ", then ".join(RAISED),
    ),
    _bare(
        "erection.order",
        "erection",
        {"erection.sequence.0.covers": [*UP[:2], "base anchored", "hoist holds post", *UP[4:]]},
        SHORT,
        "hoist holds post after base anchored",
        ", then ".join(RAISED),
    ),
    _bare(
        "erection.order",
        "erection",
        {"erection.sequence.0.covers": []},
        CONFIRM,
        "the steps don't say what they cover",
        ", then ".join(RAISED),
    ),
    _bare("erection.order", "erection", {"erection": REMOVE}, SHORT, "not written", ", then ".join(RAISED)),
    Case(
        "erection.order",
        "erection",
        {"erection.sequence.0.covers": [*UP[:5], "line hung", "hoist lets go", *UP[7:]]},
        SHORT,
        "hoist lets go after line hung",
        ", then ".join(UP),
    ),
    _bare("removal.last_worker", "removal", {"removal.last_worker_tie_off": REMOVE}, SHORT, "not written"),
    _bare("removal.procedure", "removal", {"removal": REMOVE}, SHORT, "not written"),
    Case(
        "access.connectors",
        "access",
        {"access.W1.connectors": REMOVE},
        CONFIRM,
        "not stated: W1",
        phase="deck",
    ),
    Case(
        "access.open",
        "W1",
        {"layout.covers.C-1.phases": ["walls"]},
        SHORT,
        "C-1 lies on O-1",
        base={"access.W1.through": ["O-1"], "layout.covers.C-1.phases": ["deck"]},
        phase="walls",
    ),
    Case(
        "access.transfer",
        "access",
        {"access.W1.phases": ["deck"]},
        SHORT,
        "not written",
        base=BARE,
        phase="walls",
    ),
    # rescue
    _bare("rescue.contacts", "lot", {"rescue.phone_cover": REMOVE}, SHORT, "blank: phone_cover"),
    _bare("rescue.contacts", "lot", {"rescue": REMOVE}, SHORT, "not written"),
    _bare(
        "rescue.teams", "lot", {"rescue.teams.0.alternate": "dunlin"}, SHORT, "one person in two roles: Day"
    ),
    _bare("rescue.time", "M-1", {"rescue.means.M-1.time": "11 min"}, SHORT, 660.0, 600.0),
    _bare("rescue.time", "M-1", {"rescue.means.M-1.time": REMOVE}, CONFIRM, "not timed", 600.0),
    _bare("rescue.people", "M-1", {"rescue.means.M-1.people": 3}, SHORT, 2.0, 3.0),
    _bare("rescue.people", "M-1", {"people.kestrel.training": []}, CONFIRM, 1.0, 2.0),
    _bare("rescue.people", "M-1", {"people.kestrel.training.0.course": "Use"}, CONFIRM, 1.0, 2.0),
    _bare("rescue.people", "M-1", {"people.kestrel.training.0.on": "2026-12-03"}, SHORT, 1.0, 2.0),
    _bare("rescue.people", "M-1", {"people.kestrel.training.0.expires": "2026-12-10"}, SHORT, 1.0, 2.0),
    _bare("rescue.people", "M-1", {"people.kestrel.training.0.course": "Rescate en altura"}, MEETS, 2.0, 2.0),
    _bare("rescue.arrival", "lot", {"rescue.contacts.0.arrives": REMOVE}, CONFIRM, "not stated"),
    Case(
        "rescue.tie_off",
        "M-1",
        {"rescue.means.M-1.lift.holds.value": 1},
        SHORT,
        2.0,
        1.0,
        base=BARE | IN_LIFT,
    ),
    _bare("rescue.kit", "M-1", {"rescue.means.M-1.kept_at": REMOVE}, SHORT, "place not stated"),
    _bare("rescue.procedure", "lot", {"rescue.care": REMOVE}, SHORT, "not written: care"),
    _bare(
        "rescue.procedure", "lot", {"rescue.drill": REMOVE}, CONFIRM, "written; no drill recorded on this lot"
    ),
]
