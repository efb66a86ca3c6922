"""Each post's tube, joints and guys against AISC 360 and their makers' strengths."""

from __future__ import annotations

import numpy as np

from planforge.assess.built_angle import beyond_band
from planforge.assess.check import QUALIFIED
from planforge.assess.finding import AnyRated, Finding, Verdict, found, keeps, vouched, worst
from planforge.assess.load_path import PostResult
from planforge.assess.post_model import GuyParts, PostParts
from planforge.calc.guy import uplift_for_pull
from planforge.job.base import Rated

FORTY_FIVE = np.pi / 4
"""Common practice (no source) keeps a guy's angle from the post at 45 degrees or less."""

FALLS = "does not stand"
"""What a post without equilibrium says in place of a number."""


def post_findings(result: PostResult, off: float | None) -> list[Finding]:
    """Every check of one post and its guys; ``off``: how far its base may stand from its place, m."""
    parts = result.parts
    findings = [
        found(
            "post.reckoned", parts.id, vouched(Verdict.MEETS, *_basis(parts)), value="tube and guys stated"
        ),
        _strength(result),
        _shear(result),
        _one_guy(result),
    ]
    inner = [j for j in parts.kind.joints if j.height < parts.kind.head_height]
    for number, (joint, moment) in enumerate(zip(inner, result.joint_moments, strict=True), 1):
        findings.append(_joint(result, number, joint.moment, float(moment)))
    uplifts, shears = result.plate_forces()
    for n, guy in enumerate(parts.guys):
        where = f"{parts.id} · {guy.line.id}"
        findings += [
            _angle(where, guy, off),
            _factor(
                "guy.strength", where, guy.strength, float(result.tensions[n]) / result.factor, result.factor
            ),
            _plate(where, "uplift", guy.kind.plate_uplift, float(uplifts[n]), result.factor),
            _plate(where, "shear", guy.kind.plate_shear, float(shears[n]), result.factor),
        ]
    return findings


def open_findings(parts: PostParts) -> list[Finding]:
    """A post that can't be reckoned asks by name for what is missing; one without a load, for a load."""
    wanted = "; ".join(parts.missing or ["a line or anchorage on it with a stance"])
    return [
        found(
            "post.reckoned",
            parts.id,
            Verdict.CONFIRM,
            value="not stated" if parts.missing else "carries nothing",
            limit=wanted,
            note=f"Wanted: {wanted}.",
        )
    ]


def guys_finding(parts: PostParts) -> Finding:
    """The guys as laid out against the number and the kinds that the post's maker asks for."""
    kind, drawn = parts.kind, len(parts.guys)
    wrong = [g.line.id for g in parts.guys if kind.guyed_with and g.kind.id not in kind.guyed_with]
    wanted = [name for name, given in (("guys", kind.guys), ("guyed_with", kind.guyed_with)) if not given]
    verdict = Verdict.SHORT if wrong or drawn < kind.guys else Verdict.CONFIRM if wanted else Verdict.MEETS
    notes = []
    if wrong:
        notes.append(f"Its maker does not allow the kind of {', '.join(wrong)}.")
    if drawn < kind.guys:
        notes.append("Lay out the missing guys under layout.posts.")
    if wanted:
        notes.append(f"State {' and '.join(wanted)} of the kind of post, from its maker's instructions.")
    return found(
        "post.guys",
        parts.id,
        verdict,
        value=float(drawn),
        limit=float(kind.guys) if kind.guys else "number not stated",
        sense="at least",
        source=kind.manual or "no document",
        note=" ".join(notes),
    )


def _basis(parts: PostParts) -> tuple[AnyRated | None, ...]:
    return (parts.kind.steel_yield, *(k.axial_stiffness for g in parts.guys for k, _ in g.pieces))


def _strength(result: PostResult) -> Finding:
    parts = result.parts
    if parts.kind.steel_yield is None:
        return found(
            "post.strength",
            parts.id,
            Verdict.CONFIRM,
            value="yield strength not stated",
            note="State steel_yield of the post, with its grade.",
        )
    ratio = float(np.max(result.post_ratio))
    governs = result.cases[result.governing].name
    if not np.isfinite(ratio):
        return found(
            "post.strength",
            parts.id,
            Verdict.SHORT,
            value=FALLS,
            limit=1.0,
            note=f"Under {governs} the guys can't hold the post: add a guy, or turn one.",
        )
    return found(
        "post.strength",
        parts.id,
        vouched(keeps(ratio, 1.0, "at most"), *_basis(parts)),
        value=ratio,
        limit=1.0,
        sense="at most",
        note=f"Governs: {governs}, at twice the arrest's load.",
    )


def _shear(result: PostResult) -> Finding:
    parts, ratio = result.parts, result.shear_ratio
    if np.isnan(ratio):
        return found("post.shear", parts.id, Verdict.CONFIRM, value="yield strength not stated")
    if not np.isfinite(ratio):
        return found("post.shear", parts.id, Verdict.SHORT, value=FALLS, limit=1.0)
    return found(
        "post.shear",
        parts.id,
        vouched(keeps(ratio, 1.0, "at most"), *_basis(parts)),
        value=ratio,
        limit=1.0,
        sense="at most",
    )


def _one_guy(result: PostResult) -> Finding:
    needed = result.stands_bereft
    return found(
        "post.one_guy",
        result.id,
        Verdict.MEETS if not needed else Verdict.CONFIRM,
        value="stands without any one guy" if not needed else "does not stand without " + ", ".join(needed),
        note="" if not needed else "Every guy is checked before each use; nobody ties on while one is off.",
    )


def _joint(result: PostResult, number: int, rated: Rated[float] | None, moment: float) -> Finding:
    where = f"{result.id} · joint {number}"
    if not np.isfinite(moment):
        return found("post.joint", where, Verdict.SHORT, value=FALLS)
    if rated is None:
        return found(
            "post.joint",
            where,
            Verdict.CONFIRM,
            value=moment,
            limit="maker's moment not stated",
            unit="N m",
            note="The maker states what the joint holds.",
        )
    return found(
        "post.joint",
        where,
        vouched(keeps(moment, rated.value, "at most"), rated),
        value=moment,
        limit=rated.value,
        unit="N m",
        sense="at most",
        source=rated.source or "no document",
        note="At twice the arrest's load.",
    )


def _angle(where: str, guy: GuyParts, off: float | None) -> Finding:
    """Within the maker's band; an end that it leaves open is to be confirmed. A steep guy is loaded more.

    One that the base's tolerance alone takes out of the band is to be confirmed as built.
    """
    least, greatest = guy.kind.least_angle, guy.kind.greatest_angle
    angle = guy.angle
    uplift = float(uplift_for_pull(1.0, angle))
    note = f"Uplift is {uplift:.2f} times the pull it holds."
    above = keeps(angle, least.value, "at least") if least else Verdict.CONFIRM
    below = keeps(angle, greatest.value, "at most") if greatest else Verdict.CONFIRM
    if least is None or greatest is None:
        if greatest is None and keeps(angle, FORTY_FIVE, "at most") is Verdict.SHORT:
            note += " Common practice (no source) keeps it at 45° or less."
        return found(
            "guy.angle",
            where,
            worst(above, below),
            value=angle,
            limit="maker's band not stated at both ends",
            unit="rad",
            note=note,
        )
    low_binds = angle - least.value < greatest.value - angle
    verdict = vouched(worst(above, below), least, greatest)
    beyond = beyond_band(guy, off or 0.0)
    by_tolerance = bool(beyond) and verdict is Verdict.MEETS
    if by_tolerance:
        verdict = Verdict.CONFIRM
        note += (
            f" The base's tolerance alone lets it stand at {beyond}: set out to the row's angles, as built."
        )
    return found(
        "guy.angle",
        where,
        verdict,
        value=angle,
        limit=least.value if low_binds else greatest.value,
        unit="rad",
        sense="at least" if low_binds else "at most",
        source=greatest.source or "no document",
        decides=QUALIFIED if by_tolerance else "",
        note=note,
    )


def _factor(
    check: str, where: str, strength: Rated[float] | None, load: float, factor: float, what: str = ""
) -> Finding:
    """Breaking strength over load, or the load with what is wanted."""
    note = f"{what} " if what else ""
    if not np.isfinite(load):
        return found(check, where, Verdict.SHORT, value=FALLS, limit=factor, note=note.strip())
    if strength is None:
        wanted = f"must hold {factor:g} times this"
        return found(
            check,
            where,
            Verdict.CONFIRM,
            value=load,
            limit=wanted,
            unit="N",
            sense="at most",
            note=f"{note}Not rated.",
        )
    source = f"29 CFR 1926.502(d)(8)(ii); {strength.source or 'no document'}"
    if load <= 0.0:
        return found(
            check,
            where,
            Verdict.MEETS,
            value="not loaded",
            limit=factor,
            source=source,
            note=f"{note}No case loads it.",
        )
    ratio = strength.value / load
    return found(
        check,
        where,
        vouched(keeps(ratio, factor, "at least"), strength),
        value=ratio,
        limit=factor,
        sense="at least",
        source=source,
        note=note.strip(),
        equation=f"{strength.value:.6g} N / {load:.6g} N",
    )


def _plate(where: str, what: str, strength: Rated[float] | None, force: float, factor: float) -> Finding:
    return _factor(
        "guy.plate", f"{where} · {what}", strength, force / factor, factor, what.capitalize() + "."
    )
