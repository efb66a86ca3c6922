"""Wind on a standing post out of use: tube, guys, plate anchors and base in the storm; unguyed in erection.

The wind blows on the tube, on the guys and on the lines that hang from its head. A line bellies out under its
weight and the wind together, on heads that do not give: its tension then pulls the head along the line, half
of its drag across. All the wind's force is doubled, as an arrest's load is: more than the load factor of
1.6 that older editions of ASCE 7 put on a speed which is no strength-level one (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.assess.base_checks import anchor_ratings, response_ratios
from planforge.assess.base_model import Base
from planforge.assess.finding import AnyRated, Finding, Verdict, found, keeps, vouched, worst
from planforge.assess.index import Index
from planforge.assess.line_model import mechanical_line
from planforge.assess.lines import LineResult
from planforge.assess.post_model import CLAMPED, PINNED, PostParts
from planforge.calc import column, wind_on_post
from planforge.calc.arrays import Array
from planforge.calc.at_rest import rest_tension
from planforge.calc.bounds import STRENGTH
from planforge.calc.cable import Rope
from planforge.calc.guy import anchor_force
from planforge.calc.guyed_post import Guys, Loads, Post, solve_post
from planforge.job.base import Rated
from planforge.memo import remembered
from planforge.units import MPH

DIRECTIONS = 24
"""Wind directions tried."""

PLACES = 16
"""Heights at which wind's bending is read: it is greatest between base and guys."""

_CF = wind_on_post.CAREFUL_FORCE_COEFFICIENT


@dataclass(frozen=True)
class Storm:
    """The stated storm."""

    speed: Rated[float]  # m/s
    exposure: wind_on_post.Exposure

    def drag(self, height: float, diameter: float) -> float:
        """N/m on a round thing, with the pressure at ``height`` (m) over all of it."""
        q = _pressure(height, self.speed.value, self.exposure)
        return float(wind_on_post.force_per_length(q, diameter, _CF))


def wind_findings(
    index: Index, posts: list[PostParts], bases: list[Base], lines: list[LineResult], factor: float
) -> list[Finding]:
    """Wind on each standing post: guyed in the stated storm, and unguyed during erection."""
    weather = index.job.weather
    storm = (
        Storm(weather.storm, wind_on_post.EXPOSURES[weather.exposure]) if weather and weather.storm else None
    )
    by_id = {b.id: b for b in bases}
    findings = []
    for parts in posts:
        if parts.missing or storm is None or weather is None:
            wanted = "; ".join(parts.missing) or "weather.storm with its source"
            findings.append(
                found(
                    "wind.standing",
                    parts.id,
                    Verdict.CONFIRM,
                    value="not reckoned",
                    limit="wanted: " + wanted,
                )
            )
            continue
        base = by_id.get(parts.id)
        blows = parts.directions(DIRECTIONS)
        heads = _heads(index, parts, lines, storm, blows)
        findings.append(_standing(parts, base, storm, _responses(parts, storm, heads, blows, factor), factor))
        findings.append(_unguyed(parts, base, storm.exposure, weather.wind_stops_erection))
    return findings


def _pressure(height: float, speed: float, exposure: wind_on_post.Exposure) -> float:
    Kz = wind_on_post.exposure_coefficient(height, exposure)
    return float(wind_on_post.velocity_pressure(speed, Kz))


def _heads(index: Index, parts: PostParts, lines: list[LineResult], storm: Storm, blows: Array) -> Array:
    """What lines pull the head with, N, (K, D, 3), as the wind blows: no line up, then those of a phase."""
    own = {
        r.id: _line_end(r, parts.id, storm, blows)
        for r in lines
        if parts.id in (r.parts.line.start, r.parts.line.end)
    }
    phases = [
        frozenset(name for name in own if index.shared_phases(index.lines[name].phases, [phase]))
        for phase in index.shared_phases(parts.post.phases)
    ]
    none = np.zeros((len(blows), 3))
    sets = dict.fromkeys([frozenset(), *phases])
    # added up in the order of the lines: that of a set differs from run to run, and with it the last digit
    return np.stack([none + sum(own[name] for name in own if name in up) for up in sets])


def _line_end(result: LineResult, post: str, storm: Storm, blows: Array) -> Array:
    """What a line pulls one of its heads with, N, (D, 3)."""
    parts = result.parts
    run = np.subtract(parts.end[:2], parts.start[:2])
    way = run / np.hypot(*run)
    beside = np.cos(blows) * -way[1] + np.sin(blows) * way[0]  # the wind's part to the left of the run
    drag = storm.drag(max(parts.start[2], parts.end[2]), parts.rope.diameter) * beside * np.abs(beside)
    rope = mechanical_line(parts, STRENGTH).rope
    loaded = Rope(np.hypot(float(np.asarray(rope.weight)), drag), rope.axial_stiffness)
    taut = rest_tension(parts.span, parts.rise, result.unstretched, loaded)
    across = 0.5 * parts.span * drag[:, None] * np.array([-way[1], way[0], 0.0])
    along = taut[:, None] * np.array([*way, 0.0])
    return np.asarray(across + along if post == parts.line.start else across - along)


@dataclass(frozen=True, slots=True)
class _Blown:
    """What the wind from every side does to a post; K x D cases."""

    stands: bool  # from every side
    moment: float  # N m, the greatest in the tube
    tension: Array  # N, the greatest of each guy, (G,)
    base_force: Array  # N, (K, D, 3), of the base on the post
    base_moment: Array  # N m, (K, D, 2)


@remembered()
def _blown(post: Post, guys: Guys, loads: Loads) -> _Blown:
    response = solve_post.anew(post, guys, loads)  # a hundred times what is kept of it
    return _Blown(
        stands=bool(np.all(response.stands)),
        moment=float(np.max(response.largest_moment)),
        tension=np.array([float(np.max(response.tension[..., n])) for n in range(guys.count)]),
        base_force=response.base_force,
        base_moment=response.base_moment,
    )


def _responses(
    parts: PostParts, storm: Storm, heads: Array, blows: Array, factor: float
) -> tuple[_Blown, _Blown]:
    """Pinned and clamped."""
    height = parts.kind.head_height
    drag = storm.drag(parts.base + height, parts.kind.outer_diameter or 0.0)
    spread = factor * wind_on_post.distributed_force(drag, blows) + parts.own_weight
    on_guys = np.stack(
        [0.5 * g.length * wind_on_post.distributed_force(_guy_drag(g.kind.diameter, parts, storm), blows)
         for g in parts.guys]
    )  # fmt: skip
    places = height * np.linspace(0.0, 1.0, PLACES + 1)[1:]  # where moments are read
    heights = np.array([*places, *(g.line.height for g in parts.guys), height])
    force = np.zeros((*heads.shape[:2], len(heights), 3))
    force[..., PLACES:-1, :] = factor * np.swapaxes(on_guys, 0, 1)
    force[..., -1, :] = factor * heads
    loads = Loads(heights, force, spread)
    guys = parts.mechanical_guys(pretensioned=True)
    return _blown(parts.mechanical(PINNED), guys, loads), _blown(parts.mechanical(CLAMPED), guys, loads)


def _guy_drag(diameter: float | None, parts: PostParts, storm: Storm) -> float:
    return storm.drag(parts.base + parts.kind.head_height, diameter) if diameter else 0.0


def _standing(
    parts: PostParts, base: Base | None, storm: Storm, responses: tuple[_Blown, _Blown], factor: float
) -> Finding:
    """The greatest ratio of demand to strength of any part in the storm, guyed, from every side."""
    pinned, clamped = responses
    held = pinned.stands
    used = (pinned, clamped) if held else (clamped,)
    ratios = _ratios(parts, storm, used, factor)
    on_slab = base is not None and not base.missing and base.edge_distance > 0.0
    if base is not None and on_slab:
        ratios["base anchors"] = float(np.max(response_ratios(base, used).combined))
    governs = max(ratios, key=ratios.__getitem__)
    sized = all(g.kind.diameter is not None for g in parts.guys)
    notes = [
        f"Guyed, {storm.speed.value / MPH:.0f} mph from every side, {factor:g} times its force on tube, guys "
        f"and lines. Governs: {governs}."
    ]
    if not held:
        notes.append("From some sides no guy holds it: there its base must, taken as clamped, or its line.")
    if not on_slab:
        notes.append("Its base anchors are not reckoned.")
    if not sized:
        notes.append("State the guys' diameter for the wind on them.")
    best = vouched(Verdict.MEETS, *_rests_on(parts, storm), *(anchor_ratings(base) if base else ()))
    if not (held and on_slab and sized):
        best = Verdict.CONFIRM
    return found(
        "wind.standing",
        parts.id,
        worst(keeps(ratios[governs], 1.0, "at most"), best),
        value=ratios[governs],
        limit=1.0,
        sense="at most",
        note=" ".join(notes),
    )


def _rests_on(parts: PostParts, storm: Storm) -> tuple[AnyRated | None, ...]:
    on_guys = [(g.strength, g.kind.plate_uplift, g.kind.plate_shear) for g in parts.guys]
    return (storm.speed, parts.kind.steel_yield, *(rated for three in on_guys for rated in three))


def _ratios(parts: PostParts, storm: Storm, responses: tuple[_Blown, ...], factor: float) -> dict[str, float]:
    """Demand over strength of tube, guys and plate anchors, by name; what has no strength is left out."""
    ratios = {"nothing rated": 0.0}
    section, steel = parts.tube, parts.kind.steel_yield
    assert section is not None  # nothing is missing
    if steel is not None:
        strength = column.LRFD.bending * column.bending_strength(section, steel.value, parts.modulus)
        ratios["the tube"] = max(r.moment for r in responses) / float(strength)
    for n, guy in enumerate(parts.guys):
        tension = max(float(r.tension[n]) for r in responses)
        pull = anchor_force(tension, guy.angle, guy.azimuth, guy.line.plate)
        own = 0.5 * factor * guy.length * _guy_drag(guy.kind.diameter, parts, storm)
        for name, rated, demand in (
            (f"guy {guy.line.id}", guy.strength, tension),
            (f"plate anchor of {guy.line.id}, uplift", guy.kind.plate_uplift, float(pull.uplift)),
            (f"plate anchor of {guy.line.id}, shear", guy.kind.plate_shear, float(pull.shear) + own),
        ):
            if rated is not None:
                ratios[name] = demand / rated.value
    return ratios


def _unguyed(
    parts: PostParts, base: Base | None, exposure: wind_on_post.Exposure, stops: float | None
) -> Finding:
    """The wind that uses up half an unguyed tube's bending at its base, against where erection stops."""
    section, yield_strength = parts.tube, parts.kind.steel_yield
    assert section is not None  # nothing is missing
    if yield_strength is None or stops is None:
        return found(
            "wind.unguyed",
            parts.id,
            Verdict.CONFIRM,
            value="not reckoned",
            limit="wanted: the tube's yield strength, weather.wind_stops_erection",
        )
    capacity = column.LRFD.bending * column.bending_strength(section, yield_strength.value, parts.modulus)
    Kz = wind_on_post.exposure_coefficient(parts.base + parts.kind.head_height, exposure)
    at_1 = wind_on_post.velocity_pressure(1.0, Kz)
    speed = float(
        wind_on_post.speed_at_capacity(
            capacity,
            parts.kind.head_height,
            parts.kind.outer_diameter or 0.0,
            _CF,
            at_1,
        )
    )
    holds = keeps(stops, speed / np.sqrt(2.0), "at most")
    return found(
        "wind.unguyed",
        parts.id,
        Verdict.CONFIRM if holds is Verdict.MEETS else Verdict.SHORT,
        value=stops,
        limit=speed / np.sqrt(2.0),
        unit="m/s",
        sense="at most",
        note="The tube at half its strength; joints and anchors are the maker's. The hook stays on until "
        + ("the base is seated and the guys hold." if base is not None else "it is guyed."),
    )
