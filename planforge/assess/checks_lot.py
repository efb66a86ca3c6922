"""The checks of the plan, the lot, hazards and what guards them."""

from __future__ import annotations

from planforge.assess.check import COMMON, COMPETENT, COORDINATOR, MAKER, QUALIFIED, UTILITY, Check

LOT: dict[str, Check] = {
    # the plan and the lot
    "plan.kind": Check(
        "Kind of plan for each part of the work",
        "Every phase falls under a site work plan with conventional systems or an alternative plan.",
        "29 CFR 1926.502(k)",
        COORDINATOR,
    ),
    "plan.alternative": Check(
        "Points of the alternative plan",
        "It is eligible and carries every point of 1926.502(k), with a reason for each place.",
        "29 CFR 1926.502(k)",
        QUALIFIED,
        False,
    ),
    "plan.held_at": Check(
        "Copy kept on site",
        "The place where the plan is kept on site is stated.",
        "29 CFR 1926.502(k)(3)",
        COORDINATOR,
    ),
    "plan.history": Check(
        "Revision history",
        "Every revision after the first has its line, with who approved it.",
        "29 CFR 1926.502(k)(2)",
        COORDINATOR,
    ),
    "plan.changes": Check(
        "Changes, falls and near misses",
        "How the plan is changed, and how a fall or near miss is dealt with, is written.",
        "29 CFR 1926.502(d)(19), (k)(2), (k)(10)",
        COORDINATOR,
    ),
    "plan.hand_over": Check(
        "Hand-over between systems",
        "Where a hazard's control changes between phases, when one takes over is written.",
        "29 CFR 1926.501",
        COMPETENT,
    ),
    "plan.variance": Check(
        "Variances that accept nothing",
        "Every recorded variance is the qualified person's and accepts something that is open to one.",
        "the plan's own rule",
        QUALIFIED,
        False,
    ),
    "plan.sign_offs": Check(
        "Who signs",
        "The persons who sign the plan before use are named.",
        "29 CFR 1926.502(d)(8), 1926.503(b)",
        COORDINATOR,
    ),
    "site.address": Check(
        "Address and gate",
        "The address and gate for responders are stated.",
        "29 CFR 1926.502(d)(20)",
        COORDINATOR,
    ),
    "site.permit": Check(
        "Permit number", "The permit this plan is filed under is stated.", "local code", COORDINATOR
    ),
    "lower_levels.stated": Check(
        "Lower levels on this lot",
        "What a falling worker would strike is stated for this lot, with places and dates.",
        "29 CFR 1926.500(b), 1926.502(d)(16)(iii)",
        COMPETENT,
        False,
    ),
    "house.words": Check(
        "Directions in the design's words",
        "No text of the house's design names a side that lies elsewhere where it stands on this lot.",
        "the plan's own rule",
        COMPETENT,
    ),
    "house.places": Check(
        "Places that are the lot's own",
        "Gate, assembly point, kits, lift, hoisting, laydown and struck edges are stated for this lot.",
        "29 CFR 1926.502(d)(20); the plan's own rule",
        COMPETENT,
    ),
    "house.marks": Check(
        "Marks with a compass letter",
        "No mark of the design, such as L-N, reads as a side that it isn't on; else the crew is told.",
        "the plan's own rule",
        COMPETENT,
    ),
    "house.bases": Check(
        "Bases in a mirrored house",
        "Each base can stand as it is turned: its holes are stated, a rectangle that mirrors to itself.",
        "geometry",
        MAKER,
    ),
    "slab.known": Check(
        "Slab type and thickness",
        "The slab's kind and thickness are stated.",
        "manufacturer's instructions",
        QUALIFIED,
    ),
    "slab.pour": Check(
        "Slab's age and strength",
        "This lot's pour date and its strength on the day of erection are stated.",
        "manufacturer's instructions",
        QUALIFIED,
    ),
    "slab.located": Check(
        "Slab contents located",
        "What is in the slab is known; a post-tensioned or unknown slab was scanned before drilling.",
        "common practice, no source; the slab's engineer decides",
        QUALIFIED,
        False,
    ),
    "slab.scan": Check(
        "Scan of the slab still holds",
        "The scan holds until the last base is drilled, and nothing that voids it has happened since.",
        "common practice, no source; who scanned the slab says how long it holds",
        QUALIFIED,
        False,
    ),
    "power.survey": Check(
        "Power lines surveyed",
        "The lot was looked over for power lines far enough around the work.",
        "29 CFR 1926.1408(a)",
        COMPETENT,
        False,
    ),
    "power.distance": Check(
        "Distance to a power line",
        "Every line keeps its distance, or the utility's control is in place.",
        "29 CFR 1926.1408, Table A",
        UTILITY,
        False,
    ),
    "weather.range": Check(
        "Temperatures of use",
        "The day's range of temperature is stated and lies within the maker's range.",
        "manufacturer's instructions",
        COMPETENT,
    ),
    "weather.wind": Check(
        "Wind limits",
        "The winds that stop work and erection are stated.",
        "manufacturer's instructions",
        COMPETENT,
    ),
    # hazards and what guards them
    "hazard.controls": Check(
        "A system at every hazard",
        "Each hazard at the trigger height or more has a system in each of its phases.",
        "29 CFR 1926.501",
        COORDINATOR,
        False,
    ),
    "hazard.height": Check(
        "Height of the fall",
        "The height of the fall is stated, and is no less than the levels beside it give.",
        "29 CFR 1926.501(b)(1)",
        COMPETENT,
    ),
    "hazard.hierarchy": Check(
        "Hierarchy of controls",
        "Higher-ranked controls that were passed over have a reason each.",
        "hierarchy of controls",
        COORDINATOR,
    ),
    "hazard.in_place": Check(
        "System standing in the phase",
        "What a control uses stands in the phase it guards.",
        "29 CFR 1926.501",
        COORDINATOR,
        False,
    ),
    "hazard.idle": Check(
        "Stands to guard something",
        "In each phase in which a line or anchorage stands, a hazard of the register names it.",
        COMMON,
        COMPETENT,
    ),
    "edge.registered": Check(
        "Edge or opening in the register",
        "Every hazard edge and opening of the layout has a hazard in the register.",
        "29 CFR 1926.501(b)",
        COORDINATOR,
    ),
    "edge.found": Check(
        "Drop-offs found from the geometry",
        "Every drop-off at the trigger height or more is drawn and in the register, or struck with a reason.",
        "29 CFR 1926.501(b)",
        COMPETENT,
        False,
    ),
    "edge.struck": Check(
        "Struck drop-offs",
        "Every struck stretch is one that the geometry gives, at one level.",
        "the plan's own rule",
        COMPETENT,
    ),
    "edge.reach": Check(
        "Edge length within reach",
        "Where lines or anchorages guard an edge, who stays as near to them as told reaches all of it.",
        "29 CFR 1926.501(b)(1)",
        COORDINATOR,
    ),
    "edge.strip": Check(
        "Strip behind the lines' reach",
        "Within 6 ft of an edge no floor lies out of every line's reach and behind no rail, or it is closed.",
        "29 CFR 1926.501(b)(1); the plan's own rule of 6 ft",
        COMPETENT,
    ),
    "edge.ground": Check(
        "Edge length on computed ground",
        "Where lines or anchorages guard an edge, a worker tied off can work along all of it within "
        "connector, free fall, swing and clearance.",
        "29 CFR 1926.501(b)(1), 1926.502(d)(16)(iii)",
        QUALIFIED,
        False,
    ),
    "guardrail.height": Check(
        "Guardrail height",
        "The top edge stands within the code's band.",
        "29 CFR 1926.502(b)(1)",
        COMPETENT,
    ),
    "guardrail.gap": Check(
        "Guardrail openings", "No gap is wider than the code allows.", "29 CFR 1926.502(b)(2)", COMPETENT
    ),
    "guardrail.strength": Check(
        "Guardrail strength",
        "What shows that it holds 200 lbf at the top edge is stated.",
        "29 CFR 1926.502(b)(3), (4)",
        QUALIFIED,
    ),
    "cover.strength": Check(
        "Cover strength",
        "The cover holds twice the most that is on it.",
        "29 CFR 1926.502(i)(2)",
        COMPETENT,
    ),
    "cover.round_posts": Check(
        "Deck round standing posts",
        "The deck closes round each post and guy that passes it, so that no gap is a hole while it stands.",
        "29 CFR 1926.500(b), 1926.501(b)(4)",
        COMPETENT,
    ),
    "cover.fixed": Check(
        "Cover fixed and marked", "The cover is secured and marked.", "29 CFR 1926.502(i)(3), (4)", COMPETENT
    ),
    "zones.falling_objects": Check(
        "Falling objects",
        "A zone or other measure keeps people below clear.",
        "29 CFR 1926.501(c)",
        COMPETENT,
    ),
}
