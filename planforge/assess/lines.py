"""Each lifeline as a whole: its stances, its governing loads by two methods, its sag band and card."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from planforge.assess.arrest_checks import Fall, connector_ratings, fall_findings
from planforge.assess.finding import AnyRated, Finding, Verdict, found, keeps, vouched, worst
from planforge.assess.hang import Hang, hang_at
from planforge.assess.index import Index
from planforge.assess.line_checks import DROP_AGREES, LineLoads, rating_findings, strength_findings
from planforge.assess.line_model import LineParts
from planforge.assess.printed_stack import stack_rows
from planforge.assess.rig import Lines, installed_lines, line_rigs
from planforge.assess.sag_card import NOT_ASKED, Ends, SagCard, sag_cards
from planforge.assess.second_opinion import WITHOUT_HISTORY, NoOpinion, SecondOpinion, second_opinions
from planforge.assess.sides import bears_on_edge, clearance_finding, swing_finding
from planforge.assess.stances import RigRun, run_rigs
from planforge.calc.arrays import as_array, pick_record
from planforge.calc.bounds import STRENGTH
from planforge.calc.lifeline import install
from planforge.calc.swing import sideways_pull, swing
from planforge.codes.profile import Profile
from planforge.errors import CalculationError
from planforge.job.layout import Lifeline
from planforge.units import Display, in_words

_BESIDE = 0.01
"""A place nearer to its line in plan than this (m) lies on no side of it."""


@dataclass(frozen=True)
class LineResult:
    """Everything computed for one line."""

    parts: LineParts
    runs: tuple[RigRun, ...]
    second: SecondOpinion | None
    loads: LineLoads | None
    card: SagCard
    hang: Hang | None
    installed_tension: float  # N, horizontal, as installed
    unstretched: float  # m
    no_second: CalculationError | None = (
        None  # why there is no second opinion, where a stance is tied to the line
    )

    @property
    def id(self) -> str:
        """The line's id."""
        return self.parts.line.id

    @property
    def workers_force(self) -> float:
        """What all workers tied to it pull with at once, N: their connectors' highest force, or more.

        More where an absorber runs out of stroke.
        """
        return max((_force_of(run) for run in self.runs), default=0.0)

    @property
    def across_forces(self) -> tuple[float, float]:
        """The horizontal part of that force to the left and to the right of the line's run, N.

        To the side over which a stance can fall F sin a, with the connector's angle from the vertical where
        the worker stands: tan a = lateral / above; all of it where the D-ring is no lower than the line. The
        fall brings the D-ring down and the swing inwards, and both make the angle less. To the other side
        what the pendulum pulls with as it swings through.
        """
        each = [_across(run) for run in self.runs]
        return max((left for left, _ in each), default=0.0), max((right for _, right in each), default=0.0)


def _force_of(run: RigRun) -> float:
    arrested = (float(np.max(a.force_per_worker)) for a in run.arrests)
    return run.rig.count * max(run.rig.connector.highest_force.value, *arrested)


def _across(run: RigRun) -> tuple[float, float]:
    """To the left and to the right of the line's run, N."""
    rig = run.rig
    slant = float(np.max(np.arctan2(rig.lateral, np.maximum(rig.above, 0.0))))
    over = _force_of(run) * np.sin(slant)
    back = rig.count * float(sideways_pull(rig.mass, slant))
    left, right = _sides_fallen_over(run)
    return (float(over) if left else back), (float(over) if right else back)


def _sides_fallen_over(run: RigRun) -> tuple[bool, bool]:
    """Whether a stance can fall to the left and to the right of its line's run.

    The side its edge lies on; the other one too where it states a side inward, both where it has no place
    beside the line.
    """
    rig = run.rig
    ahead = np.subtract(rig.parts.end[:2], rig.parts.start[:2])
    off = rig.spots - rig.parts.place(rig.stations)
    beside = (ahead[0] * off[:, 1] - ahead[1] * off[:, 0]) / np.hypot(*ahead)
    left, right = bool(np.any(beside > _BESIDE)), bool(np.any(beside < -_BESIDE))
    inward = any(side.direction == "inward" for side in rig.stance.sides)
    if inward or not (left or right):
        return True, True
    return left, right


def line_results(index: Index, profile: Profile) -> list[LineResult]:
    """Solve all lines of a job.

    Raises:
        CalculationError: no trustworthy answer for a line; names it, its stance and the fields to look at.
    """
    try:
        return _results(index, profile, index.job.layout.lines)
    except CalculationError as error:
        raise _naming_the_line(index, profile, error) from error


def _naming_the_line(index: Index, profile: Profile, error: CalculationError) -> CalculationError:
    """The error of the first line that fails by itself; all lines were solved as one batch."""
    ropes = [rope.id for rope in index.job.equipment.ropes]
    for n, line in enumerate(index.job.layout.lines):
        try:
            _results(index, profile, [line])
        except CalculationError as own:
            rope = ropes.index(index.systems[line.system].rope)
            why = in_words(own, Display(index.job.site.units))
            return CalculationError(
                f"line {line.id}{_failing_stance(index, line)}: {why} Check layout.lines[{n}].sag, the span "
                f"from {line.start} to {line.end}, equipment.ropes[{rope}].axial_stiffness and "
                "weight_per_length, and the absorbers' forces."
            )
    return error


def _failing_stance(index: Index, line: Lifeline) -> str:
    try:
        lines = installed_lines(index, [line])
        assert lines is not None  # one line was asked for
        rigs = line_rigs(index, lines)
    except CalculationError:
        return ""  # the line itself, whoever is tied to it
    for rig in rigs:
        try:
            run_rigs(index, lines, [rig])
        except CalculationError:
            return f", stance {rig.task.id}/{rig.stance.id}"
    return ""


def _results(index: Index, profile: Profile, of: Sequence[Lifeline]) -> list[LineResult]:
    lines = installed_lines(index, of)
    return [] if lines is None else results_of(index, profile, lines)


def results_of(index: Index, profile: Profile, lines: Lines, *, settled: bool = True) -> list[LineResult]:
    """Solve lines that hang already, as one batch.

    Args:
        index, profile: the job and its code.
        lines: the lines.
        settled: False leaves out the second opinion and the sag band; loads are then the energy balance's
            alone, which is the least that a line brings, and any sag will do: fit for comparing candidates,
            not for a verdict.

    Raises:
        CalculationError: no trustworthy answer for one of them.
    """
    grouped: dict[str, list[RigRun]] = {p.line.id: [] for p in lines.parts}
    for run in run_rigs(index, lines, line_rigs(index, lines)):
        grouped[run.rig.parts.line.id].append(run)
    of_line = {line: tuple(runs) for line, runs in grouped.items()}
    at_rest = install(pick_record(lines.flat.line, lines.rows(STRENGTH)))
    tensions, lengths = as_array(at_rest.horizontal_tension), as_array(at_rest.unstretched_length)
    results = [
        LineResult(
            parts=p,
            runs=of_line[p.line.id],
            second=None,
            loads=balance_loads(of_line[p.line.id]) if of_line[p.line.id] else None,
            card=NOT_ASKED,
            hang=_hang(of_line[p.line.id]),
            installed_tension=float(tensions[n]),
            unstretched=float(lengths[n]),
        )
        for n, p in enumerate(lines.parts)
    ]
    return settled_results(index, profile, lines, results) if settled else results


def settled_results(
    index: Index, profile: Profile, lines: Lines, results: list[LineResult]
) -> list[LineResult]:
    """Results with their second opinion, the loads that govern by it, and their sag band and card.

    ``lines`` hold them, and maybe more.
    """
    own = {r.id: r.runs for r in results}
    lines = lines.some(set(own))
    seconds = second_opinions(lines, own)
    loads = {name: governing_loads(own[name], opinion) for name, opinion in seconds.items()}
    raised = {name: _over_balance(own[name], loads.get(name)) for name in own}
    cards = sag_cards(index, lines, own, profile, raised)
    out = []
    for result in results:
        opinion = seconds.get(result.id)
        out.append(
            replace(
                result,
                card=cards[result.id],
                second=opinion if isinstance(opinion, SecondOpinion) else None,
                loads=loads.get(result.id),
                no_second=opinion.why if isinstance(opinion, NoOpinion) else None,
            )
        )
    return out


def _over_balance(runs: tuple[RigRun, ...], loads: LineLoads | None) -> Ends:
    """The loads over those of the strength case by the energy balance, all falling together; 1 or more."""
    if loads is None:
        return 1.0, 1.0, 1.0
    strong = [r.strong for r in runs]
    return (
        max(loads.tension / max(float(np.max(s.tension_max)) for s in strong), 1.0),
        max(loads.start / max(float(np.max(s.tension_left)) for s in strong), 1.0),
        max(loads.end / max(float(np.max(s.tension_right)) for s in strong), 1.0),
    )


def balance_loads(runs: tuple[RigRun, ...]) -> LineLoads:
    """The greatest of all falls by the energy balance."""
    return LineLoads(
        tension=max(r.tension for r in runs),
        start=max(r.end_load[0] for r in runs),
        end=max(r.end_load[1] for r in runs),
        by="energy balance",
    )


def governing_loads(runs: tuple[RigRun, ...], second: SecondOpinion | NoOpinion) -> LineLoads:
    """The greatest of all falls by both methods; without the second, the first's raised."""
    if isinstance(second, NoOpinion):
        alone = balance_loads(runs)
        return LineLoads(
            tension=WITHOUT_HISTORY * alone.tension,
            start=WITHOUT_HISTORY * alone.start,
            end=WITHOUT_HISTORY * alone.end,
            by=f"energy balance times {WITHOUT_HISTORY}",
        )
    by = {
        "energy balance": max(r.tension for r in runs),
        "time history": max(float(h.tension_max) for h in second.together),
        "time history, one after another": max(
            (float(h.tension_max) for h in second.in_sequence), default=0.0
        ),
    }
    ends = [r.end_load for r in runs]
    ends += [(float(h.tension_left), float(h.tension_right)) for h in (*second.together, *second.in_sequence)]
    return LineLoads(
        tension=max(by.values()),
        start=max(start for start, _ in ends),
        end=max(end for _, end in ends),
        by=max(by, key=lambda method: by[method]),
    )


def _hang(runs: tuple[RigRun, ...]) -> Hang | None:
    """The highest D-ring is reckoned without the line's drop, the lowest with all of it."""
    if not runs:
        return None
    high = [r.rig.dring - float(np.min(r.strong.free_fall + r.strong.absorber_stroke)) for r in runs]
    low = [
        r.rig.dring - float(np.max(r.clear.free_fall + r.clear.absorber_stroke + r.clear.hanging_increment))
        for r in runs
    ]
    return hang_at(max(high), min(low), [(r.rig.spots, r.sides, r.rig.surface) for r in runs])


def line_findings(index: Index, result: LineResult, profile: Profile) -> list[Finding]:
    """Every check of one line and of the stances tied to it."""
    parts = result.parts
    findings = rating_findings(index.job, parts)
    if result.loads is None:
        findings.append(
            found(
                "line.rope_strength",
                result.id,
                Verdict.CONFIRM,
                value="no stance is tied to this line",
                note="State a task with a stance on it, or strike the line.",
            )
        )
        return findings
    findings += strength_findings(parts, result.loads, list(result.runs), profile)
    findings += [_second_finding(index, result), _band_finding(index, result)]
    for run in result.runs:
        findings += _stance_findings(index, run, profile)
    return findings


def _second_finding(index: Index, result: LineResult) -> Finding:
    second = result.second
    if second is None:
        # of a candidate, which is compared by the energy balance alone, nobody asks why
        why = in_words(result.no_second, Display(index.job.site.units)) if result.no_second else ""
        return found(
            "line.second_opinion",
            result.id,
            Verdict.CONFIRM,
            value="the second method gives no trustworthy answer for this line",
            limit=DROP_AGREES,
            sense="at most",
            note=f"{why} Loads are the energy balance's times {WITHOUT_HISTORY}, the greatest "
            "ratio of the two methods found on spans of 20 to 60 ft; a short or slack line can exceed it.",
        )
    difference = second.drop_difference
    agrees = keeps(abs(difference), DROP_AGREES, "at most")
    return found(
        "line.second_opinion",
        result.id,
        Verdict.MEETS if agrees is Verdict.MEETS else Verdict.CONFIRM,
        value=difference,
        limit=DROP_AGREES,
        sense="at most",
        note=f"Tension by time history over energy balance: {second.tension_ratio:.2f}; the larger governs.",
    )


def _user_ratings(index: Index) -> tuple[AnyRated | None, ...]:
    user = index.job.user
    return user.dring_height, user.dring_shift, user.margin


def _band_ratings(index: Index, result: LineResult) -> tuple[AnyRated | None, ...]:
    parts = result.parts
    return (
        *parts.reckoned_with,
        parts.system.least_sag,
        parts.system.most_sag,
        parts.rope.breaking_strength,
        parts.system.end_strength,
        parts.start_kind.line_strength,
        parts.end_kind.line_strength,
        *parts.start_head.rests_on,
        *parts.end_head.rests_on,
        *((None,) if parts.soft_assumed else ()),
        *(rated for run in result.runs for rated in connector_ratings(run.rig.connector)),
        *_user_ratings(index),
    )


def _band_finding(index: Index, result: LineResult) -> Finding:
    card, sag = result.card, result.parts.line.sag
    if card.band is None or card.targets is None:
        return found(
            "line.sag_band",
            result.id,
            Verdict.SHORT,
            value=sag,
            limit="no sag holds at every temperature of use",
            unit="m",
            note=card.why,
        )
    lower, upper = card.targets
    inside = worst(keeps(sag, lower, "at least"), keeps(sag, upper, "at most"))
    near_lower = sag - lower < upper - sag
    return found(
        "line.sag_band",
        result.id,
        vouched(inside, *_band_ratings(index, result)),
        value=sag,
        limit=lower if near_lower else upper,
        unit="m",
        sense="at least" if near_lower else "at most",
        note="Less 1/8 in at each end of the card's band: the room it takes to set."
        if inside is Verdict.MEETS
        else "Aim nearer the middle of the card's band: 1/8 in from either end is the room it takes to set.",
    )


def _stance_findings(index: Index, run: RigRun, profile: Profile) -> list[Finding]:
    rig = run.rig
    phases = ", ".join(index.shared_phases(rig.task.phases, rig.parts.line.phases))
    later = [a for a in run.arrests if a is not run.strong and a is not run.clear]
    fall = Fall(
        where=rig.label,
        phases=phases,
        connector=rig.connector,
        mass=rig.mass,
        free_fall=max([float(rig.free_fall.max()), *(float(s.free_fall) for s in later)]),
        lowest_anchorage=float(rig.above.min()),
        force=max(float(a.force_per_worker.max()) for a in run.arrests),
        stroke=max([float(run.clear.absorber_stroke.max()), *(float(s.absorber_stroke) for s in later)]),
        stroke_spent=any(bool(np.any(a.absorber_exhausted)) for a in run.arrests),
        over_edge=bears_on_edge(rig.stance, rig.lateral, rig.above),
    )
    findings = fall_findings(fall, profile)
    rated = (*_user_ratings(index), *connector_ratings(rig.connector), *rig.parts.reckoned_with)
    for side in run.sides:
        clearance = clearance_finding(rig.label, side, *rated)
        if clearance.verdict is Verdict.MEETS and rig.parts.soft_assumed:
            note = clearance.note + " The ends' least stiffness is an assumption."
            clearance = replace(clearance, verdict=Verdict.CONFIRM, note=note)
        findings.append(clearance)
    drop = swing(rig.lateral, rig.above).drop
    display = Display(index.job.site.units)
    for side in run.sides:
        added = stack_rows(side, display).term("swing_drop").text
        findings.append(swing_finding(rig.label, side, rig.lateral, drop, display, added))
    return findings
