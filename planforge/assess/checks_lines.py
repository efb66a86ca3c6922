"""The checks of lines, stances and single-point anchorages."""

from __future__ import annotations

from planforge.assess.check import COMMON, COMPETENT, MAKER, QUALIFIED, Check

LINES: dict[str, Check] = {
    # lines
    "line.span": Check("Span", "The span lies within the maker's rating.", COMMON, MAKER, False),
    "line.workers": Check(
        "Workers on a line", "No more workers than the maker's rating.", COMMON, MAKER, False
    ),
    "line.sag": Check("Installed sag", "The target sag lies within the maker's band.", COMMON, MAKER, False),
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
    "anchor.proof": Check(
        "Anchorage: proof test",
        "Where its maker or the engineer asks for a proof test, the anchorage held that load on site.",
        "manufacturer's instructions; the qualified person's design",
        QUALIFIED,
        False,
    ),
    "anchor.workers": Check(
        "Workers on an anchorage", "No more workers than the rating.", COMMON, MAKER, False
    ),
    "anchor.opposite_line": Check(
        "Additional worker on an end post",
        "Only where maker and qualified person allow it; the loads are summed on that post.",
        COMMON,
        MAKER,
        False,
    ),
}
