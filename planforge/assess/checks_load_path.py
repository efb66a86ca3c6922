"""The checks of the load path, from the head to the concrete, and what stands around it."""

from __future__ import annotations

from planforge.assess.check import COMMON, COMPETENT, MAKER, QUALIFIED, UTILITY, Check

LOAD_PATH: dict[str, Check] = {
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
        "The angle lies within the maker's band, at both ends of it, wherever the base may stand.",
        COMMON,
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
    "guy.clear": Check(
        "Guys clear of neighbours",
        "Guys, posts and lines of neighbours that stand at the same time keep a clear distance: none rubs "
        "on, bears on or shares a plate anchor with another.",
        "geometry; the job's own limit or planforge's own rule",
        COMPETENT,
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
        "Spacing and edges of the base anchors",
        "Base anchors stand no nearer to each other or to an edge than their report allows.",
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
    "guy.proof": Check(
        "Plate anchor: proof test",
        "Where its maker or the engineer asks for a proof test, the plate anchor held that load on site.",
        "manufacturer's instructions; the qualified person's design",
        QUALIFIED,
        False,
    ),
    "base.proof": Check(
        "Base anchors: proof test",
        "Where their report or the engineer asks for a proof test, every anchor held that load on site.",
        "evaluation report; the qualified person's design",
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
    "base.removal": Check(
        "Base anchors when their post has gone",
        "What becomes of each kind of anchor in the slab is stated: backed out, cut off, or left in.",
        "the anchor's evaluation report; the qualified person's design",
        MAKER,
    ),
    "hoist.radius": Check(
        "Radius to each post",
        "From where the machine can stand, no post is beyond the radius used or what its chart allows.",
        "the machine's load chart",
        COMPETENT,
        False,
    ),
    "hoist.load": Check(
        "Weight of the lift",
        "A joined post with its rigging weighs no more than the machine's rated load at the radius used, "
        "less the attachment's deduction; a post no more than what each sling or other lifting gear is "
        "rated for.",
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
}
