"""Base anchors, the concrete that holds them and what is hidden in it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np

from planforge.assess.base_model import Base, tolerance_of
from planforge.assess.finding import AnyRated, Finding, Verdict, found, keeps, vouched, worst
from planforge.assess.load_path import PostResult
from planforge.assess.post_model import PostParts
from planforge.calc.anchor_group import GroupRatios, group_ratios
from planforge.calc.arrays import Array
from planforge.calc.base_anchor import cover_below, greatest_depth, pairs_spacing
from planforge.calc.base_plate import anchor_tensions
from planforge.calc.plan_clearance import area_distance, clearance, line_distance
from planforge.job.base import Rated
from planforge.job.equipment import BaseAnchor
from planforge.job.slab import InSlab

MODES = ("steel_tension", "tension_breakout", "pullout", "steel_shear", "shear_breakout", "pryout")
"""Failure modes in the order in which they are printed."""


class AtBase(Protocol):
    """What a post's response tells of its base, in a batch (...)."""

    @property
    def base_force(self) -> Array:
        """N, (..., 3), of the base on the post."""

    @property
    def base_moment(self) -> Array:
        """N m, (..., 2), tipping moment that the base must resist."""


def base_loads(responses: tuple[AtBase, ...]) -> tuple[Array, Array, Array]:
    """Uplift (N), moment (N m) and shear of the plate on its anchors (N), every case of every response.

    The pinned bound has no moment, the clamped one the most; both are tried.
    """
    forces = np.concatenate([r.base_force.reshape(-1, 3) for r in responses])
    moments = np.concatenate([r.base_moment.reshape(-1, 2) for r in responses])
    return -forces[:, 2], moments, -forces[:, :2]


def base_ratios(base: Base, result: PostResult) -> GroupRatios:
    """Every mode's ratio over cases and both bounds, (2C,); asked for only where nothing is missing."""
    return response_ratios(base, (result.pinned, result.clamped))


def response_ratios(base: Base, responses: tuple[AtBase, ...]) -> GroupRatios:
    """Every mode's ratio over all cases of the post's responses; asked for only where nothing is missing."""
    uplift, moment, shear = base_loads(responses)
    holes = base.holes
    assert holes is not None and base.parts.kind.base_toe is not None
    centred = holes - np.asarray(base.parts.post.at)
    tensions = anchor_tensions(uplift, moment, centred, base.parts.kind.base_toe)
    return group_ratios(
        base.anchor_data(), base.slab_data(), base.in_frame(holes), tensions, base.in_frame(shear)
    )


def base_findings(base: Base, result: PostResult | None) -> list[Finding]:
    """Every check of one base."""
    return [_strength(base, result), _depth(base), _layout(base), _age(base), *_contents(base)]


def removal_findings(bases: Sequence[Base]) -> list[Finding]:
    """What becomes of each kind of anchor in the slab once its posts have gone."""
    kinds = {base.anchor.id: base.anchor for base in bases if base.anchor is not None}
    return [_removal(anchor) for anchor in kinds.values()]


def _removal(anchor: BaseAnchor) -> Finding:
    stated = anchor.removal
    sourced = stated is not None and bool(stated.source)
    return found(
        "base.removal",
        anchor.id,
        Verdict.MEETS if sourced else Verdict.CONFIRM,
        value=stated.value if stated else "not stated",
        source=(stated.source if stated else None) or "no document",
        note=""
        if sourced
        else "Ask its maker or the engineer: backed out and its hole filled, cut off below the surface, or "
        "left in and capped. State removal with its source; until then nobody touches one.",
    )


def off_slab_finding(parts: PostParts) -> Finding:
    """A base that stands on anything but the slab is not reckoned here."""
    return found(
        "base.strength",
        parts.id,
        Verdict.CONFIRM,
        value=f"stands on {parts.post.stands_on}, not on the slab",
        limit="wanted: what holds its base there",
        note="Only anchors in the slab are reckoned: the qualified person designs this base.",
    )


def _strength(base: Base, result: PostResult | None) -> Finding:
    off = base.holes is not None and base.edge_distance <= 0.0
    if off or (result is not None and not result.stands):
        return found(
            "base.strength",
            base.id,
            Verdict.SHORT,
            value="a hole lies off the slab" if off else "the post does not stand",
            limit=1.0,
        )
    wanted = base.missing + ([] if result else ["a post whose loads can be reckoned"])
    if wanted or result is None:
        return found(
            "base.strength",
            base.id,
            Verdict.CONFIRM,
            value="not reckoned",
            limit="wanted: " + "; ".join(wanted),
            note="Impact is outside ACI 318-19 chapter 17: the engineer decides.",
        )
    ratios = base_ratios(base, result)
    by_mode = {mode: float(np.max(getattr(ratios, mode))) for mode in MODES}
    combined = float(np.max(ratios.combined))
    governs = max(by_mode, key=by_mode.__getitem__).replace("_", " ")
    holds = keeps(combined, 1.0, "at most") is Verdict.MEETS
    return found(
        "base.strength",
        base.id,
        Verdict.CONFIRM if holds else Verdict.SHORT,
        value=combined,
        limit=1.0,
        sense="at most",
        note=f"Governs: {governs}; tension and shear together. Impact is outside the chapter.",
    )


def _depth(base: Base) -> Finding:
    anchor, slab = base.anchor, base.slab
    hole = anchor.hole_depth if anchor else None
    thickness = slab.thickness if slab else None
    if anchor is None or hole is None or thickness is None or anchor.effective_depth is None:
        return found(
            "base.depth",
            base.id,
            Verdict.CONFIRM,
            value="not stated",
            limit="wanted: hole depth, effective depth, slab thickness",
            note="Effective depth is not nominal depth; the base's thickness eats embedment.",
        )
    left = float(cover_below(thickness, hole.value))
    deep = keeps(anchor.effective_depth.value, float(greatest_depth(thickness)), "at most")
    thin = anchor.least_thickness
    enough = keeps(thickness, thin.value, "at least") if thin else Verdict.CONFIRM
    through = Verdict.SHORT if left <= 0.0 else Verdict.MEETS
    # the report's own least thickness goes before the general bound of 17.9.4
    general = Verdict.MEETS if thin else (Verdict.CONFIRM if deep is Verdict.SHORT else Verdict.MEETS)
    note = "This much concrete is left below the hole."
    if enough is Verdict.SHORT and thin:
        note += " The slab is thinner than the report allows."
    return found(
        "base.depth",
        base.id,
        vouched(worst(through, enough, general), hole, anchor.effective_depth, thin),
        value=left,
        limit=0.0,
        unit="m",
        sense="at least",
        source=(thin.source if thin else None) or "ACI 318-19 17.9",
        note=note,
    )


def _layout(base: Base) -> Finding:
    anchor = base.anchor
    if anchor is None or base.holes is None or anchor.least_spacing is None or anchor.least_edge is None:
        return found(
            "base.layout",
            base.id,
            Verdict.CONFIRM,
            value="not stated",
            limit="wanted: hole spacing, the report's least spacing and edge distance",
        )
    spacing, edge = float(pairs_spacing(base.holes)), base.edge_distance
    spaced = keeps(spacing, anchor.least_spacing.value, "at least")
    inside = keeps(edge, anchor.least_edge.value, "at least")
    by_edge = edge / anchor.least_edge.value < spacing / anchor.least_spacing.value
    return found(
        "base.layout",
        base.id,
        vouched(worst(spaced, inside), anchor.least_spacing, anchor.least_edge),
        value=edge if by_edge else spacing,
        limit=anchor.least_edge.value if by_edge else anchor.least_spacing.value,
        unit="m",
        sense="at least",
        source=anchor.least_edge.source or "no document",
        note="Edge distance." if by_edge else "Spacing.",
    )


def _age(base: Base) -> Finding:
    anchor, concrete, age = base.anchor, base.concrete, base.age
    least = anchor.least_strength if anchor else None
    if concrete is None or least is None:
        return found(
            "base.age",
            base.id,
            Verdict.CONFIRM,
            value="not stated",
            limit="wanted: the slab's strength on the day and the report's least strength",
        )
    value, rated, how = concrete
    verdict = vouched(keeps(value, least.value, "at least"), rated, least)
    if base.slab is not None and base.slab.strength is None and verdict is Verdict.MEETS:
        verdict = Verdict.CONFIRM
    days = f" The slab is {age:.0f} days old then." if age is not None else ""
    return found(
        "base.age",
        base.id,
        verdict,
        value=value,
        limit=least.value,
        unit="Pa",
        sense="at least",
        source="; ".join((r.source if r else None) or "no document" for r in (least, rated)),
        note=f"{how[0].upper()}{how[1:]}.{days}",
    )


def _contents(base: Base) -> list[Finding]:
    slab, holes = base.slab, base.holes
    if slab is None or slab.contents is None or holes is None or base.anchor is None:
        return [
            found(
                "base.contents",
                base.id,
                Verdict.CONFIRM,
                value="not reckoned",
                limit="wanted: what is in the slab, the base's hole spacing and its anchor",
                note="Nobody drills until it is known.",
            )
        ]
    limits = {c.kind: c.distance for c in slab.clear_of}
    return [_clear(base, holes, thing, limits.get(thing.kind)) for thing in slab.contents]


def _clear(base: Base, holes: Array, thing: InSlab, limit: Rated[float] | None) -> Finding:
    assert base.slab is not None and base.anchor is not None  # asked for only with both
    path = np.asarray(thing.path)
    distance = area_distance(holes, path) if thing.fills else line_distance(holes, path)
    left = clearance(
        distance,
        hole_diameter=base.anchor.diameter,
        half_width=0.0 if thing.fills else thing.half_width,
        tolerance=tolerance_of(base.slab, thing),
    )
    nearest = float(np.min(left))
    where = f"{base.id} · {thing.id}"
    note = f"Nearest hole {int(np.argmin(left)) + 1} to the {thing.kind}, the locating tolerance taken off."
    if limit is None:
        return found(
            "base.contents",
            where,
            Verdict.SHORT if nearest <= 0.0 else Verdict.CONFIRM,
            value=nearest,
            limit="distance not stated",
            unit="m",
            note=note + " State slab.clear_of for this kind.",
        )
    return found(
        "base.contents",
        where,
        vouched(keeps(nearest, limit.value, "at least"), limit),
        value=nearest,
        limit=limit.value,
        unit="m",
        sense="at least",
        source=limit.source or "no document",
        note=note,
    )


def anchor_ratings(base: Base) -> tuple[AnyRated | None, ...]:
    """The rated values that the anchors' reckoning rests on."""
    anchor = base.anchor
    if anchor is None:
        return (None,)
    return (anchor.effective_depth, anchor.kc, anchor.steel_tension, anchor.steel_shear, anchor.pullout)
