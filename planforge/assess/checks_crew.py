"""The checks of kit, people, procedure and rescue."""

from __future__ import annotations

from planforge.assess.check import COMMON, COMPETENT, COORDINATOR, MAKER, Check

CREW: dict[str, Check] = {
    # kit, people, procedure
    "kit.inspected": Check(
        "Items inspected",
        "As many of each item in use as are needed were found fit; none is due again before the work ends.",
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
        COMMON,
        COMPETENT,
    ),
    "erection.order": Check(
        "Order of the erection",
        "Marks, holes, post on the hoist, base, guys, hook off, line, sag, release: covered in that order.",
        f"manufacturer's instructions; {COMMON}",
        COMPETENT,
    ),
    "removal.order": Check(
        "Order of the removal",
        "Everyone off, hoist, guys opposite, line, guys across, base, holes, anchors: covered in that order.",
        f"manufacturer's instructions; {COMMON}",
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
    "access.connectors": Check(
        "Connectors of each worker",
        "How many connectors each worker carries to stay tied on is stated, and the load list counts them.",
        "29 CFR 1926.501",
        COMPETENT,
    ),
    "access.open": Check(
        "Way not covered",
        "No cover lies in the same phase on an opening that the way up passes through.",
        "29 CFR 1926.502(b)(13), (i)(3)",
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
        "The shift has as many trained rescuers as each means takes, one of the team hanging, one calling.",
        "29 CFR 1926.502(d)(20)",
        COMPETENT,
    ),
    "rescue.arrival": Check(
        "When the responders arrive",
        "The responders' own word how soon they arrive is stated.",
        "29 CFR 1926.502(d)(20)",
        COORDINATOR,
    ),
    "rescue.tie_off": Check(
        "Rescuer's own tie-off",
        "What the rescuer is tied to, by which device, is stated; it reaches the casualty and holds.",
        "29 CFR 1926.501(b), 1926.502(d)(15), (16), (20)",
        COMPETENT,
        False,
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
