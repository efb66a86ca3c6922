"""What the code and the makers ask of one fall: free fall, force, deceleration, stroke, user, edge.

The same checks serve a stance on a line and a stance on a single-point anchorage.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from planforge.assess.finding import AnyRated, Finding, Verdict, found, keeps, vouched, worst
from planforge.codes.profile import Profile
from planforge.job.equipment import Connector, Harness
from planforge.units import FOOT, NO_FINITE_VALUE, G

_HAIR = 0.01 * FOOT


@dataclass(frozen=True, slots=True)
class Fall:
    """The worst of each value over a stance's whole reach, SI."""

    where: str
    phases: str
    connector: Connector
    mass: float  # kg
    free_fall: float  # m, the greatest
    lowest_anchorage: float  # m above the D-ring; negative below it
    force: float  # N on one worker, the greatest
    stroke: float  # m, the greatest of the clearance case
    stroke_spent: bool  # the connector's absorber runs out in either case
    over_edge: bool  # the connector can bear on an edge in the fall


def connector_ratings(connector: Connector) -> tuple[AnyRated | None, ...]:
    """The rated values of a connector that a fall is reckoned with."""
    forces = (connector.lowest_force, connector.highest_force, connector.stroke)
    return forces if connector.kind == "lanyard" else (*forces, connector.lock_off)


def never_holds(connector: Connector, mass: float) -> bool:
    """True where the absorber's least force does not exceed the worker's weight: it slides to its end."""
    return connector.lowest_force.value <= mass * G


def why_no_arrest(connector: Connector, mass: float) -> str:
    """Why no finite force stops the fall of a worker of ``mass`` (kg) on a rigid anchorage."""
    if never_holds(connector, mass):
        return "Can't arrest: the absorber's force does not exceed the worker's weight."
    return "Can't arrest: the absorber's stroke is spent on a rigid anchorage."


def fall_findings(fall: Fall, profile: Profile) -> list[Finding]:
    """Every check of one fall."""
    return [
        _free_fall(fall, profile),
        _force(fall, profile),
        _deceleration(fall, profile),
        _stroke(fall),
        _user_mass(fall, profile),
        _anchor_height(fall),
        _edge(fall),
        _connector_strength(fall, profile),
    ]


def greatest_free_fall(connector: Connector, profile: Profile) -> float:
    """The code's greatest free fall, or the connector's rated one where that is less, m."""
    code, rated = profile.limits["free_fall"], connector.greatest_free_fall
    return min(code.value, rated.value) if rated else code.value


def _free_fall(fall: Fall, profile: Profile) -> Finding:
    code, rated = profile.limits["free_fall"], fall.connector.greatest_free_fall
    limit = greatest_free_fall(fall.connector, profile)
    lock_off = () if fall.connector.kind == "lanyard" else (fall.connector.lock_off,)
    verdict = vouched(keeps(fall.free_fall, limit, "at most"), rated, *lock_off)
    by_maker = rated is not None and rated.value < code.value
    return found(
        "arrest.free_fall",
        fall.where,
        verdict,
        phase=fall.phases,
        value=fall.free_fall,
        limit=limit,
        unit="m",
        sense="at most",
        source=(rated.source or "maker's rating, no source") if by_maker and rated else code.source,
        note="The connector's rated free fall or lock-off has no document."
        if verdict is Verdict.CONFIRM
        else "",
    )


def _force(fall: Fall, profile: Profile) -> Finding:
    limit = profile.limits["arrest_force"]
    peak = fall.connector.peak_force
    value = max(fall.force, peak.value if peak else 0.0)
    verdict = vouched(keeps(value, limit.value, "at most"), fall.connector.highest_force, peak)
    note = "The maker's peak force is not stated with a document." if verdict is Verdict.CONFIRM else ""
    if not math.isfinite(value):
        note = why_no_arrest(fall.connector, fall.mass)
    return found(
        "arrest.force",
        fall.where,
        verdict,
        phase=fall.phases,
        value=value if math.isfinite(value) else NO_FINITE_VALUE,
        limit=limit.value,
        unit="N",
        sense="at most",
        source=limit.source,
        note=note,
    )


def _deceleration(fall: Fall, profile: Profile) -> Finding:
    limit = profile.limits["deceleration"]
    return found(
        "arrest.deceleration",
        fall.where,
        vouched(keeps(fall.stroke, limit.value, "at most"), fall.connector.lowest_force),
        phase=fall.phases,
        value=fall.stroke,
        limit=limit.value,
        unit="m",
        sense="at most",
        source=limit.source,
    )


def _stroke(fall: Fall) -> Finding:
    rated = fall.connector.stroke
    verdict = Verdict.SHORT if fall.stroke_spent else keeps(fall.stroke, rated.value, "at most")
    note = "The absorber is pulled out to its end and the force rises beyond it." if fall.stroke_spent else ""
    if never_holds(fall.connector, fall.mass):
        note = "The absorber's force does not exceed the worker's weight: it is pulled out to its end."
    return found(
        "arrest.stroke",
        fall.where,
        vouched(verdict, rated, fall.connector.lowest_force),
        phase=fall.phases,
        value=fall.stroke,
        limit=rated.value,
        unit="m",
        sense="at most",
        source=rated.source or "no document stated",
        note=note,
    )


def _user_mass(fall: Fall, profile: Profile) -> Finding:
    code, least, greatest = (
        profile.limits["user_mass"],
        fall.connector.least_user,
        fall.connector.greatest_user,
    )
    limit = min(code.value, greatest.value) if greatest else code.value
    presumed = fall.mass < code.value
    rated = Verdict.CONFIRM if greatest is None else keeps(fall.mass, greatest.value, "at most")
    verdict = vouched(worst(rated, Verdict.MEETS if presumed else Verdict.CONFIRM), greatest, least)
    note = "" if presumed else "At 310 lb and above the maker's data and a qualified person decide."
    return found(
        "arrest.user_mass",
        fall.where,
        verdict,
        phase=fall.phases,
        value=fall.mass,
        limit=limit,
        unit="kg",
        sense="at most",
        source=code.source,
        note=note,
    )


def _anchor_height(fall: Fall) -> Finding:
    if fall.lowest_anchorage >= -_HAIR:
        return found(
            "arrest.anchor_height",
            fall.where,
            Verdict.MEETS,
            phase=fall.phases,
            value=fall.lowest_anchorage,
            limit=0.0,
            unit="m",
            sense="at least",
            source="geometry",
        )
    allowed = fall.connector.below_dring
    verdict = Verdict.CONFIRM if allowed is None else (Verdict.MEETS if allowed.value else Verdict.SHORT)
    return found(
        "arrest.anchor_height",
        fall.where,
        vouched(verdict, allowed),
        phase=fall.phases,
        value=fall.lowest_anchorage,
        limit="allowed by the maker" if allowed and allowed.value else "maker's word",
        unit="m",
        source=(allowed.source if allowed else None) or "manufacturer's instructions",
        note="The anchorage is below the D-ring: the free fall grows by the difference.",
    )


def _edge(fall: Fall) -> Finding:
    if not fall.over_edge:
        return found(
            "arrest.edge",
            fall.where,
            Verdict.NOT_APPLICABLE,
            phase=fall.phases,
            note="The connector hangs clear of the edge in a fall.",
        )
    tested = fall.connector.edge_tested
    verdict = Verdict.CONFIRM if tested is None else (Verdict.MEETS if tested.value else Verdict.SHORT)
    return found(
        "arrest.edge",
        fall.where,
        vouched(verdict, tested),
        phase=fall.phases,
        value="tested over an edge" if tested and tested.value else "not shown to be tested over an edge",
        source=(tested.source if tested else None) or "29 CFR 1926.502(d)(11), manufacturer's instructions",
        note="" if verdict is Verdict.MEETS else "Use a connector tested over an edge, or protect the edge.",
    )


def _connector_strength(fall: Fall, profile: Profile) -> Finding:
    connector, limit = fall.connector, profile.limits["component_strength"]
    short_fall = profile.limits["retracting_short_fall"]
    lock = connector.lock_off
    if connector.kind == "retracting device" and lock and lock.value <= short_fall.value:
        limit = profile.limits["retracting_strength_short"]
    strength = connector.strength
    return found(
        "kit.strength",
        f"{fall.where} · {connector.id}",
        vouched(keeps(strength.value, limit.value, "at least") if strength else Verdict.CONFIRM, strength),
        value=strength.value if strength else "not stated",
        limit=limit.value,
        unit="N",
        sense="at least",
        source=limit.source,
    )


def harness_findings(harness: Harness, mass: float, profile: Profile) -> list[Finding]:
    """A harness of the kit: its D-ring's strength, and the heaviest user (kg) against its rating."""
    limit, strength, greatest = (
        profile.limits["component_strength"],
        harness.dring_strength,
        harness.greatest_user,
    )
    return [
        found(
            "kit.strength",
            harness.id,
            vouched(
                keeps(strength.value, limit.value, "at least") if strength else Verdict.CONFIRM, strength
            ),
            value=strength.value if strength else "not stated",
            limit=limit.value,
            unit="N",
            sense="at least",
            source=limit.source,
        ),
        found(
            "arrest.user_mass",
            harness.id,
            vouched(keeps(mass, greatest.value, "at most") if greatest else Verdict.CONFIRM, greatest),
            value=mass,
            limit=greatest.value if greatest else "the harness's rating is not stated",
            unit="kg",
            sense="at most",
            source=(greatest.source if greatest else None) or "manufacturer's instructions",
        ),
    ]
