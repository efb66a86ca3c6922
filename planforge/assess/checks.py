"""Every check planforge makes: its id, its title, what it asks, its source, who decides.

The ids are stable: programs that read ``planforge check --json`` rely on them.
"""

from __future__ import annotations

from typing import NamedTuple


class Check(NamedTuple):
    """One kind of check."""

    title: str
    asks: str
    source: str
    decides: str
    variance: bool = True  # whether a qualified person's recorded variance can accept a short


COORDINATOR = "safety coordinator"
COMPETENT = "competent person"
QUALIFIED = "qualified person"
MAKER = "manufacturer and qualified person"
UTILITY = "utility and competent person"

_COMMON = "common practice, no source"

CHECKS: dict[str, Check] = {
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
        "Where an edge is guarded by lines or anchors alone, a tied-off worker can reach all of it.",
        "29 CFR 1926.501(b)(1)",
        COORDINATOR,
    ),
    "edge.ground": Check(
        "Edge length on computed ground",
        "Where lines or anchors guard an edge, a worker tied off can work along all of it within connector, "
        "free fall, swing and clearance.",
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
    "cover.fixed": Check(
        "Cover fixed and marked", "The cover is secured and marked.", "29 CFR 1926.502(i)(3), (4)", COMPETENT
    ),
    "zones.falling_objects": Check(
        "Falling objects",
        "A zone or other measure keeps people below clear.",
        "29 CFR 1926.501(c)",
        COMPETENT,
    ),
    # lines
    "line.span": Check("Span", "The span lies within the maker's rating.", _COMMON, MAKER, False),
    "line.workers": Check(
        "Workers on a line", "No more workers than the maker's rating.", _COMMON, MAKER, False
    ),
    "line.sag": Check("Installed sag", "The target sag lies within the maker's band.", _COMMON, MAKER, False),
    "line.sag_band": Check(
        "Sag band over the day",
        "At every temperature of use: slack enough for its ends, tight enough for clearance; room to set.",
        "elastic catenary and energy balance (method notes)",
        QUALIFIED,
    ),
    "line.plumb": Check(
        "Sag after the posts are plumbed",
        "The sag's band outlasts the plumb tolerance, or the sag is measured again once all is set.",
        "elastic catenary; the plan's own rule",
        COMPETENT,
        False,
    ),
    "line.connector": Check(
        "Connector on this line",
        "The makers of line and connector allow them together.",
        "29 CFR 1926.502(d)(5), manufacturer's instructions",
        MAKER,
        False,
    ),
    "line.rope_strength": Check(
        "Rope: factor of safety",
        "The rope's breaking strength is at least twice its greatest tension.",
        "29 CFR 1926.502(d)(8)(ii), 1926.32(n)",
        QUALIFIED,
        False,
    ),
    "line.end_strength": Check(
        "End parts: factor of safety",
        "The weakest end part's breaking strength is at least twice the end load.",
        "29 CFR 1926.502(d)(8)(ii), 1926.32(n)",
        QUALIFIED,
        False,
    ),
    "line.absorber": Check(
        "Line absorber's stroke",
        "The line absorber does not run out of stroke.",
        "manufacturer's instructions",
        MAKER,
        False,
    ),
    "line.second_opinion": Check(
        "Energy balance against time history",
        "Two methods agree on the drop; the larger tension of the two governs strength.",
        "method notes",
        QUALIFIED,
    ),
    "line.stiffness": Check(
        "Stiffness of the ends",
        "How far the ends give way is stated; stiff ends govern strength, soft ends clearance.",
        "method notes",
        QUALIFIED,
    ),
    "line.posts": Check(
        "Load into the end posts",
        "Post, guys, plate anchors, base anchors and concrete carry the line's end load twice over.",
        "29 CFR 1926.502(d)(8)(ii)",
        QUALIFIED,
        False,
    ),
    "release.state": Check(
        "Released for use",
        "Measured and released by the competent person under this revision, the qualified person beside "
        "where strength is open.",
        "29 CFR 1926.502(d)(8), (d)(21)",
        COMPETENT,
        False,
    ),
    # stances
    "arrest.free_fall": Check(
        "Free fall", "The free fall is within the code and the connector's rating.", "", QUALIFIED, False
    ),
    "arrest.force": Check(
        "Force on the worker", "The arresting force is within the code.", "", QUALIFIED, False
    ),
    "arrest.deceleration": Check(
        "Deceleration distance", "The absorber's opening is within the code.", "", QUALIFIED, False
    ),
    "arrest.stroke": Check(
        "Connector absorber's stroke",
        "The connector's absorber does not run out of stroke.",
        "manufacturer's instructions",
        MAKER,
        False,
    ),
    "arrest.clearance": Check(
        "Clearance",
        "Nothing below is struck, with the margin kept.",
        "29 CFR 1926.502(d)(16)(iii)",
        QUALIFIED,
        False,
    ),
    "arrest.user_mass": Check(
        "Mass of the user", "The heaviest user is within the code's presumption and the ratings.", "", MAKER
    ),
    "arrest.anchor_height": Check(
        "Anchorage below the D-ring",
        "Where the anchorage is below the D-ring, the connector's maker allows it.",
        "manufacturer's instructions",
        MAKER,
        False,
    ),
    "arrest.edge": Check(
        "Fall over an edge",
        "Where the connector bears on an edge in a fall, it was tested for that.",
        "29 CFR 1926.502(d)(11), manufacturer's instructions",
        MAKER,
    ),
    "arrest.swing": Check(
        "Swing", "A swinging worker strikes nothing.", "common practice, no source", COMPETENT
    ),
    # single-point anchorages
    "anchor.strength": Check(
        "Anchorage strength",
        "5,000 lbf for each worker, or a factor of two in a complete system under a qualified person.",
        "29 CFR 1926.502(d)(15)",
        QUALIFIED,
        False,
    ),
    "anchor.load_path": Check(
        "Load path below an anchorage",
        "What is below it (guys, base, slab, the fitting's structure) carries the greatest load twice over.",
        "29 CFR 1926.502(d)(15)",
        QUALIFIED,
        False,
    ),
    "anchor.workers": Check(
        "Workers on an anchorage", "No more workers than the rating.", _COMMON, MAKER, False
    ),
    "anchor.opposite_line": Check(
        "Additional worker on an end post",
        "Only where maker and qualified person allow it; the loads are summed on that post.",
        _COMMON,
        MAKER,
        False,
    ),
    # the load path, from the head to the concrete
    "post.reckoned": Check(
        "Load path can be reckoned",
        "Tube, guys and their stiffness are stated, so that the loads can be followed to the base.",
        "29 CFR 1926.502(d)(8)",
        MAKER,
    ),
    "post.guys": Check(
        "Guys as the post's maker asks",
        "As many guys as its maker asks for are laid out, of a kind the maker allows.",
        "manufacturer's instructions",
        MAKER,
        False,
    ),
    "post.strength": Check(
        "Post under compression and bending",
        "At twice the arrest's load the tube keeps to AISC 360 chapter H with chapters E and F.",
        "AISC 360 chapters E, F, H and Appendix 8 (LRFD), at twice the load",
        QUALIFIED,
        False,
    ),
    "post.shear": Check(
        "Post in shear",
        "At twice the arrest's load the tube keeps to AISC 360 section G5.",
        "AISC 360 section G5 (LRFD), at twice the load",
        QUALIFIED,
        False,
    ),
    "post.joint": Check(
        "Joints of the sections",
        "At twice the arrest's load no joint bears more than its maker's moment.",
        "manufacturer's instructions; 29 CFR 1926.502(d)(8)(ii)",
        MAKER,
        False,
    ),
    "post.one_guy": Check(
        "One guy slack or missing",
        "The post still stands when any one of its guys is slack or missing.",
        "statics, no code asks for it",
        QUALIFIED,
    ),
    "guy.angle": Check(
        "Guy's angle from the post",
        "The angle lies within the maker's band, at both ends of it.",
        _COMMON,
        MAKER,
    ),
    "guy.strength": Check(
        "Guy: factor of safety",
        "The guy's breaking strength is at least twice its greatest tension.",
        "29 CFR 1926.502(d)(8)(ii), 1926.32(n)",
        QUALIFIED,
        False,
    ),
    "guy.plate": Check(
        "Plate anchor: factor of safety",
        "The plate anchor, as fastened, holds twice the uplift and twice the shear.",
        "29 CFR 1926.502(d)(8)(ii)",
        QUALIFIED,
        False,
    ),
    "guy.bracing": Check(
        "Walls that hold the guys",
        "The wall's bracing holds twice the guys' horizontal pull, along it and across it.",
        "29 CFR 1926.502(d)(8)(ii); statics",
        QUALIFIED,
        False,
    ),
    "base.strength": Check(
        "Base anchors in the concrete",
        "At twice the load every mode of ACI 318-19 chapter 17 keeps to its design strength.",
        "ACI 318-19 chapter 17 (impact is outside it: the engineer decides)",
        QUALIFIED,
        False,
    ),
    "base.depth": Check(
        "Hole and embedment",
        "The hole, the depth that counts and the concrete left below fit the slab and the report.",
        "evaluation report; ACI 318-19 17.9",
        QUALIFIED,
        False,
    ),
    "base.layout": Check(
        "Spacing and edges of the anchors",
        "Anchors stand no nearer to each other or to an edge than their report allows.",
        "evaluation report; ACI 318-19 17.9",
        QUALIFIED,
        False,
    ),
    "base.age": Check(
        "Concrete on the day of erection",
        "The slab has the strength that the anchor's report asks for.",
        "evaluation report; test of the day, or ACI 209R-92 rule of gain (to be confirmed)",
        QUALIFIED,
        False,
    ),
    "base.contents": Check(
        "Holes clear of what is in the slab",
        "Every hole keeps its distance from each located thing, beyond the locating tolerance.",
        "the job's own limits; the slab's engineer decides",
        QUALIFIED,
        False,
    ),
    "framing.clear": Check(
        "Posts and guys clear of trusses and joists",
        "No standing post or guy passes through a truss or joist.",
        "geometry",
        COMPETENT,
    ),
    "power.post": Check(
        "Standing post and line near a power line",
        "A standing post, its wire line and the workers keep the utility's distance.",
        "the utility's word; 29 CFR 1926.1408 covers the lifting equipment only",
        UTILITY,
        False,
    ),
    "hoist.plan": Check(
        "Lift of the posts",
        "Rigging, lift point, retention, tag line, signals, clear ground and the hook's release are written.",
        "29 CFR 1926.20(b); manufacturer's instructions",
        COMPETENT,
    ),
    "hoist.load": Check(
        "Weight of the lift",
        "A joined post weighs no more than the rated load of the machine at the radius used and of each "
        "sling or other gear that lifts.",
        "the machine's load chart",
        COMPETENT,
        False,
    ),
    "wind.standing": Check(
        "Wind on a standing post",
        "Out of use, guyed, the post bears the stated storm.",
        "ASCE 7-16 chapter 29",
        QUALIFIED,
    ),
    "wind.unguyed": Check(
        "Wind while a post stands unguyed",
        "Erection stops at a wind well below the one that would tip an unguyed post.",
        "ASCE 7-16 chapter 29; manufacturer's instructions",
        QUALIFIED,
    ),
    # kit, people, procedure
    "kit.inspected": Check(
        "Items inspected",
        "Each kind of item in use was found fit on this lot; none is due again before the work ends.",
        "29 CFR 1926.502(d)(21)",
        COMPETENT,
    ),
    "kit.service_life": Check(
        "Within its service life",
        "Each item in use was made, or went into service, recently enough to serve to the end of the work.",
        "manufacturer's instructions",
        COMPETENT,
    ),
    "kit.criteria": Check(
        "Limits of the inspection",
        "What only the maker can say is stated: broken wires, threads in a turnbuckle, bow, dents.",
        "manufacturer's instructions; 29 CFR 1926.502(d)(21)",
        MAKER,
    ),
    "kit.load": Check(
        "Load on the truck",
        "The load list weighs no more than the truck may carry.",
        "the truck's plate",
        COORDINATOR,
    ),
    "kit.strength": Check(
        "Connector and harness strength",
        "Connector and D-ring have the code's breaking strength.",
        "29 CFR 1926.502(d)(3), (9), (12), (13)",
        MAKER,
    ),
    "people.roles": Check(
        "Named in its role", "The person who answers for this is named.", "29 CFR 1926.32", COORDINATOR
    ),
    "people.training": Check(
        "Training holds over the work",
        "Each authorised worker has a record from before their phases that holds to the end of them.",
        "29 CFR 1926.503",
        COORDINATOR,
    ),
    "people.capacity": Check(
        "Crew against tie-off places",
        "There are tie-off places for everyone who works at once.",
        "29 CFR 1926.502(d)",
        COORDINATOR,
    ),
    "briefing.language": Check(
        "Briefing in a language the worker reads",
        "A crew sheet is printed in the language each authorised worker reads; else an interpreter is named.",
        "29 CFR 1926.21(b)(2), 1926.503(a); OSHA training standards policy statement, 28 April 2010",
        COMPETENT,
    ),
    "briefing.translated": Check(
        "The job's own words in that language",
        "Each text of the job on the sheet has a translation, checked by someone who reads both languages.",
        "29 CFR 1926.21(b)(2), 1926.503(a)",
        COMPETENT,
    ),
    "erection.installer": Check(
        "Installer's own protection",
        "What the installer is tied to is written.",
        "29 CFR 1926.501(b)(1)",
        COMPETENT,
        False,
    ),
    "erection.procedure": Check(
        "Delivery, erection, tensioning, tolerances",
        "Each is written.",
        "manufacturer's instructions",
        COMPETENT,
    ),
    "erection.hold_points": Check(
        "Hold points of the erection",
        "At least one step waits for a signature.",
        _COMMON,
        COMPETENT,
    ),
    "removal.order": Check(
        "Order of the removal",
        "Everyone off, hoist, guys opposite, line, guys across, base, holes, anchors: covered in that order.",
        f"manufacturer's instructions; {_COMMON}",
        COMPETENT,
    ),
    "removal.last_worker": Check(
        "Last worker off",
        "What the last worker off is tied to is written.",
        "29 CFR 1926.501(b)(1)",
        COMPETENT,
        False,
    ),
    "removal.procedure": Check(
        "Removal and the holes it leaves",
        "The order and what closes the holes are written.",
        "29 CFR 1926.501(b)(4)",
        COMPETENT,
    ),
    "access.transfer": Check(
        "Access and transfer",
        "The way to the work, tied on all the way, is written.",
        "29 CFR 1926.501",
        COMPETENT,
    ),
    # rescue
    "rescue.contacts": Check(
        "Whom to call",
        "Emergency number, contacts, hospital and telephone cover are stated.",
        "29 CFR 1926.502(d)(20)",
        COORDINATOR,
        False,
    ),
    "rescue.teams": Check(
        "Who rescues",
        "Lead, alternate and caller are named for every shift.",
        "29 CFR 1926.502(d)(20)",
        COMPETENT,
        False,
    ),
    "rescue.reach": Check(
        "A means that reaches",
        "In each phase a means reaches whoever hangs after an arrest: height, outreach, rope.",
        "29 CFR 1926.502(d)(20), 1926.1053(b)(5)(i)",
        COMPETENT,
        False,
    ),
    "rescue.time": Check(
        "Time to bring down",
        "The drilled time is within the contractor's target.",
        "contractor's target; OSHA SHIB 03-24-2004",
        COMPETENT,
    ),
    "rescue.people": Check(
        "People enough to rescue",
        "The shift has as many free hands as each means takes, one of the team hanging and one calling.",
        "29 CFR 1926.502(d)(20)",
        COMPETENT,
    ),
    "rescue.arrival": Check(
        "When the responders arrive",
        "The responders' own word how soon they arrive is stated.",
        "29 CFR 1926.502(d)(20)",
        COORDINATOR,
    ),
    "rescue.kit": Check(
        "Rescue equipment on the drawing",
        "Where each means is kept is on the drawing.",
        "29 CFR 1926.502(d)(20)",
        COORDINATOR,
    ),
    "rescue.procedure": Check(
        "Rescue steps, care, afterwards",
        "Each is written, and drilled on this lot.",
        "29 CFR 1926.502(d)(19), (20)",
        COMPETENT,
    ),
    "code.contents": Check(
        "Contents the code requires",
        "What the code profile asks a plan to contain is stated.",
        "",
        COORDINATOR,
        False,
    ),
    "code.barred": Check(
        "Systems the code does not allow",
        "No hazard is guarded by a system that the code profile bars.",
        "",
        COMPETENT,
        False,
    ),
}
