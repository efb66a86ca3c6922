"""The calculations as rows: inputs with their sources, the clearance sum, every side, the arrests.

Everything is printed from the assessment; nothing is reckoned here but differences of printed steps.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from planforge.assess.anchors import AnchorRun
from planforge.assess.assessment import Assessment
from planforge.assess.capacity_table import CapacityRow, capacity_tables
from planforge.assess.finding import Verdict
from planforge.assess.lines import LineResult
from planforge.assess.printed_stack import PrintedStack, stack_rows
from planforge.assess.sides import SideRun
from planforge.assess.stances import RigRun
from planforge.calc.arrays import Array
from planforge.calc.arrest import Arrest
from planforge.calc.constants import G
from planforge.document.context_lines import belongs
from planforge.document.printed import DASH, Printed
from planforge.job.base import Rated


@dataclass(frozen=True, slots=True)
class InputRow:
    """One input of a calculation; ``name`` is a key of the templates' words."""

    name: str
    value: str
    source: str


@dataclass(frozen=True, slots=True)
class DatumRow:
    """Clearance reckoned from one datum: D-ring before the fall, surface stood on, anchorage at rest."""

    name: str
    needed: str
    available: str
    left_over: str


@dataclass(frozen=True, slots=True)
class SideRow:
    """A side of a stance over its phases: the object below and the clearance sum as printed."""

    stance: str
    direction: str
    phases: str
    under: str
    place: str  # along the line from its start, or from the anchorage in plan
    stack: PrintedStack
    datums: tuple[DatumRow, ...]
    verdict: str

    @property
    def needed(self) -> str:
        """Needed from the D-ring down, rounded up."""
        return self.stack.required.text

    @property
    def available(self) -> str:
        """What there is from the D-ring down, rounded down."""
        return self.stack.available.text

    @property
    def left_over(self) -> str:
        """The difference of the two."""
        return self.stack.left_over.text


@dataclass(frozen=True, slots=True)
class ArrestRow:
    """One stance's arrest: the strength case and the clearance case at the places that govern."""

    stance: str
    surface: str
    connector: str
    anchorage: str  # height of the anchorage over the D-ring
    free_fall: str
    force: str
    stroke: str
    tension: str  # strength case, all together
    tension_sequence: str  # one after another; a dash for one worker
    absorber: str  # greatest extension of the line absorber
    drop: str  # clearance case, all together
    drop_sequence: str


@dataclass(frozen=True, slots=True)
class EnergyRow:
    """The energy balance at a line's governing place with its numbers; clearance case."""

    place: str
    workers: int
    weight: str
    free_fall: str
    drop: str
    stroke: str
    force: str
    given: str
    by_connectors: str
    by_line: str


@dataclass(frozen=True, slots=True)
class SecondRow:
    """Energy balance against time history."""

    place: str  # from the line's start, of the tensions
    drop_place: str
    tension_energy: str
    tension_history: str
    ratio: str
    drop_energy: str
    drop_history: str
    difference: str


@dataclass(frozen=True, slots=True)
class LineCalculation:
    """Everything appendix A prints of one line."""

    id: str
    inputs: tuple[InputRow, ...]
    weight: str
    sag: str
    span: str
    parabola: str
    installed_tension: str
    unstretched: str
    coldest_sag: str
    warmest_sag: str
    arrests: tuple[ArrestRow, ...]
    free_fall: str  # the greatest of all stances
    force: str  # on one worker, the connectors' stated peak included
    energy: EnergyRow | None
    second: SecondRow | None
    sides: tuple[SideRow, ...]
    worst: SideRow | None
    rope_strength: str
    rope_factor: str
    tension: str  # the greatest, to the unit
    end_strength: str
    end_load: str
    end_factor: str
    capacity: tuple[CapacityRow, ...]


@dataclass(frozen=True, slots=True)
class AnchorCalculation:
    """Everything appendix A prints of one stance at an anchorage."""

    id: str
    stance: str
    surface: str
    connector: str
    above: str
    lateral: str
    free_fall: str
    force: str
    stroke: str
    swing_reach: str
    swing_drop: str
    load: str
    workers: int
    sides: tuple[SideRow, ...]
    worst: SideRow
    figure: str


def _rated(name: str, rated: Rated[float] | None, text: str) -> InputRow:
    if rated is None:
        return InputRow(name, "", "")
    return InputRow(name, text, rated.source or "")


def _inputs(assessment: Assessment, result: LineResult, show: Printed) -> tuple[InputRow, ...]:
    parts, user = result.parts, assessment.job.user
    rope, system, absorber = parts.rope, parts.system, parts.absorber
    rows = [
        InputRow("span", show.length(parts.span), "layout"),
        InputRow("sag", show.sag(parts.line.sag), "layout"),
        InputRow("user_mass", show.mass(user.mass), "job"),
        _rated("weight_per_length", rope.weight_per_length, show.line_weight(rope.weight_per_length.value)),
        _rated("axial_stiffness", rope.axial_stiffness, show.force(rope.axial_stiffness.value)),
        _rated("rope_strength", rope.breaking_strength, _force(rope.breaking_strength, show)),
        _rated("end_strength", system.end_strength, _force(system.end_strength, show)),
    ]
    if absorber is not None:
        forces = f"{show.force(absorber.lowest_force.value)} – {show.force(absorber.highest_force.value)}"
        rows.append(InputRow("absorber_force", forces, absorber.highest_force.source or ""))
        rows.append(_rated("absorber_stroke", absorber.stroke, show.inches(absorber.stroke.value)))
    for post, head in ((parts.line.start, parts.start_head), (parts.line.end, parts.end_head)):
        text = f"{post}: {show.stiffness(head.low)} – {show.stiffness(head.high)}"
        sources = dict.fromkeys(r.source for r in head.rests_on if r.source)
        rows.append(InputRow("end_stiffness", text, "; ".join(sources)))
    for connector in {run.rig.connector.id: run.rig.connector for run in result.runs}.values():
        forces = f"{show.force(connector.lowest_force.value)} – {show.force(connector.highest_force.value)}"
        rows.append(InputRow("connector_force", forces, connector.highest_force.source or ""))
        rows.append(_rated("connector_stroke", connector.stroke, show.inches(connector.stroke.value)))
        if connector.lock_off is not None:
            rows.append(_rated("lock_off", connector.lock_off, show.inches(connector.lock_off.value)))
    rows += [
        _rated("dring_height", user.dring_height, show.feet(user.dring_height.value)),
        _rated("dring_shift", user.dring_shift, show.feet(user.dring_shift.value)),
        _rated("margin", user.margin, show.feet(user.margin.value)),
    ]
    return tuple(rows)


def _force(rated: Rated[float] | None, show: Printed) -> str:
    return show.force(rated.value) if rated else ""


def _at(side: SideRun, values: Array) -> float:
    return float(np.broadcast_to(values, side.under.elevation.shape)[side.governs])


def _datums(side: SideRun, stack: PrintedStack, show: Printed) -> tuple[DatumRow, ...]:
    """D-ring, surface, anchorage: each shifts both printed sums by the same whole step."""
    clearance = side.clearance
    shifts = (
        ("dring", 0.0),
        ("surface", _at(side, clearance.required_below_surface) - side.required),
        ("anchorage", _at(side, clearance.required_below_anchorage) - side.required),
    )
    rows = [DatumRow("dring", stack.required.text, stack.available.text, stack.left_over.text)]
    for name, shift in shifts[1:]:
        moved = show.whole_feet(shift)
        needed, available = stack.required.value + moved, stack.available.value + moved
        rows.append(DatumRow(name, show.feet(needed), show.feet(available), stack.left_over.text))
    return tuple(rows)


def _sides(assessment: Assessment, run: RigRun | AnchorRun, show: Printed) -> tuple[SideRow, ...]:
    """One row for each side; phases that print alike are gathered."""
    rows: dict[tuple[str, ...], tuple[SideRun, list[str]]] = {}
    verdicts = {(f.where, f.phase): f.verdict for f in assessment.findings if f.id == "arrest.clearance"}
    for side in run.sides:
        stack = stack_rows(side, show)
        key = (
            side.side.direction,
            str(side.under.name[side.governs]),
            stack.required.text,
            stack.available.text,
            str(side.governs),
        )
        rows.setdefault(key, (side, []))[1].append(side.phase.id)
    return tuple(
        _side_row(run, side, phases, verdicts[_label(run, side), side.phase.id], show)
        for side, phases in rows.values()
    )


def _label(run: RigRun | AnchorRun, side: SideRun) -> str:
    label = run.rig.label if isinstance(run, RigRun) else run.label
    return f"{label} · {side.side.direction}"


def _side_row(
    run: RigRun | AnchorRun, side: SideRun, phases: list[str], verdict: Verdict, show: Printed
) -> SideRow:
    rig = run.rig if isinstance(run, RigRun) else run
    along = run.rig.stations if isinstance(run, RigRun) else run.lateral
    stack = stack_rows(side, show)
    return SideRow(
        stance=f"{rig.task.id}/{rig.stance.id}",
        direction=side.side.direction,
        phases=", ".join(phases),
        under=str(side.under.name[side.governs]),
        place=show.feet(float(along[side.governs])),
        stack=stack,
        datums=_datums(side, stack, show),
        verdict=verdict.value,
    )


def _arrest_row(run: RigRun, show: Printed) -> ArrestRow:
    rig = run.rig
    later = run.clear_sequence
    above = float(rig.above.min())
    return ArrestRow(
        stance=f"{rig.task.id}/{rig.stance.id}",
        surface=rig.stance.surface,
        connector=rig.connector.name,
        anchorage=show.feet(above, "down"),
        free_fall=show.feet(_most(run.arrests, "free_fall"), "up"),
        force=show.force(_most(run.arrests, "force_per_worker"), "up"),
        stroke=show.feet(_most([run.clear, *_second(run)], "absorber_stroke"), "up"),
        tension=show.force(float(run.strong.tension_max.max()), "up"),
        tension_sequence=(
            show.force(float(run.strong_sequence.second.tension_max), "up") if run.strong_sequence else DASH
        ),
        absorber=show.inches(_most(run.arrests, "line_absorber_extension"), "up"),
        drop=show.feet(float(run.clear.sag_increment.max()), "up"),
        drop_sequence=show.feet(float(later.second.sag_increment), "up") if later else DASH,
    )


def _second(run: RigRun) -> list[Arrest]:
    return [run.clear_sequence.second] if run.clear_sequence else []


def _most(arrests: Iterable[Arrest], name: str) -> float:
    return max(float(np.max(getattr(arrest, name))) for arrest in arrests)


def _energy(result: LineResult, show: Printed) -> EnergyRow | None:
    """The balance worked with the figures as printed, so that a reader who works it again agrees."""
    if result.second is None:
        return None
    run, at = result.second.clear_run, result.second.clear_at
    clear, count = run.clear, run.rig.count
    free, drop, stroke = (
        show.worked(float(values[at]), "length")
        for values in (clear.free_fall, clear.sag_increment, clear.absorber_stroke)
    )
    force = show.worked(float(clear.force_per_worker[at]), "force")
    weight = show.worked(count * run.rig.mass * G, "force")
    given, taken = weight * (free + drop + stroke), count * force * stroke
    return EnergyRow(
        place=show.feet(float(run.rig.stations[at])),
        workers=count,
        weight=show.fine_force(weight),
        free_fall=show.fine_length(free),
        drop=show.fine_length(drop),
        stroke=show.fine_length(stroke),
        force=show.fine_force(force),
        given=show.fine_energy(given),
        by_connectors=show.fine_energy(taken),
        by_line=show.fine_energy(given - taken),
    )


def _second_row(result: LineResult, show: Printed) -> SecondRow | None:
    second = result.second
    if second is None:
        return None
    strong, clear = second.strong_run.rig.stations, second.clear_run.rig.stations
    return SecondRow(
        place=show.feet(float(strong[second.strong_at])),
        drop_place=show.feet(float(clear[second.clear_at])),
        tension_energy=show.force(float(second.strong_run.strong.tension_max[second.strong_at]), "up"),
        tension_history=show.force(float(second.strong.tension_max), "up"),
        ratio=f"{second.tension_ratio:.2f}",
        drop_energy=show.feet(second.energy_drop),
        drop_history=show.feet(float(second.clear.drop)),
        difference=show.percent(second.drop_difference),
    )


def _worst(assessment: Assessment, line: str, check: str, show: Printed) -> str:
    """The greatest value of one check over a line's stances, as the check prints it."""
    own = [f for f in assessment.findings if f.id == check and belongs(f, line)]
    return (
        show.value_of(max(own, key=lambda f: f.value if isinstance(f.value, float) else 0.0)) if own else DASH
    )


def line_calculations(assessment: Assessment, show: Printed) -> tuple[LineCalculation, ...]:
    """Appendix A for every line."""
    tables = capacity_tables(assessment.index, assessment.lines)
    return tuple(_line(assessment, r, tables.get(r.id, ()), show) for r in assessment.lines)


def _line(
    assessment: Assessment, result: LineResult, capacity: tuple[CapacityRow, ...], show: Printed
) -> LineCalculation:
    parts, loads = result.parts, result.loads
    weight, sag = parts.rope.weight_per_length.value, parts.line.sag
    sides = [side for run in result.runs for side in _sides(assessment, run, show)]
    rope, end = parts.rope.breaking_strength, parts.system.end_strength
    end_load = max(loads.start, loads.end) if loads else 0.0
    return LineCalculation(
        id=result.id,
        inputs=_inputs(assessment, result, show),
        weight=show.line_weight(weight),
        sag=show.sag(sag),
        span=show.length(parts.span),
        parabola=show.three_figures(weight * parts.span**2 / (8.0 * sag)),
        installed_tension=show.three_figures(result.installed_tension),
        unstretched=show.length(result.unstretched, denominator=16),
        coldest_sag=show.inches(result.card.coldest_sag),
        warmest_sag=show.inches(result.card.warmest_sag),
        arrests=tuple(_arrest_row(run, show) for run in result.runs),
        free_fall=_worst(assessment, result.id, "arrest.free_fall", show),
        force=_worst(assessment, result.id, "arrest.force", show),
        energy=_energy(result, show),
        second=_second_row(result, show),
        sides=tuple(sides),
        worst=min(sides, key=lambda s: s.stack.left_over.value, default=None),
        rope_strength=show.force(rope.value) if rope else "",
        rope_factor=show.factor(rope.value / loads.tension) if rope and loads else "",
        end_strength=show.force(end.value) if end else "",
        tension=show.fine_force(loads.tension, "up") if loads else "",
        end_load=show.fine_force(end_load, "up") if loads else "",
        end_factor=show.factor(end.value / end_load) if end and loads else "",
        capacity=capacity,
    )


def common_inputs(sums: tuple[LineCalculation, ...]) -> tuple[InputRow, ...]:
    """What every line has in common, where there is more than one; printed once."""
    if len(sums) < 2:
        return ()
    return tuple(row for row in sums[0].inputs if all(row in other.inputs for other in sums[1:]))


def anchor_calculations(assessment: Assessment, show: Printed) -> tuple[AnchorCalculation, ...]:
    """Appendix A for every stance at an anchorage."""
    return tuple(_anchor(assessment, run, show) for run in assessment.anchors)


def _anchor(assessment: Assessment, run: AnchorRun, show: Printed) -> AnchorCalculation:
    sides = _sides(assessment, run, show)
    worst, deepest = run.worst_side, float(np.max(run.swing.drop))
    in_sum = math.isclose(deepest, dict(worst.stack)["swing_drop"], abs_tol=1e-6)
    return AnchorCalculation(
        id=run.anchor.id,
        stance=f"{run.task.id}/{run.stance.id}",
        surface=run.stance.surface,
        connector=run.connector.name,
        above=show.feet(run.above, "down"),
        lateral=show.feet(float(run.lateral.max()), "up"),
        free_fall=show.feet(float(np.max(run.free_fall)), "up"),
        force=show.force(
            float(max(run.strong.force_per_worker.max(), run.clear.force_per_worker.max())), "up"
        ),
        stroke=show.feet(float(np.max(run.clear.stroke)), "up"),
        swing_reach=show.feet(2 * float(run.lateral.max()), "up"),
        swing_drop=stack_rows(worst, show).term("swing_drop").text if in_sum else show.feet(deepest, "up"),
        load=show.force(run.load, "up"),
        workers=run.anchor.workers,
        sides=sides,
        worst=min(sides, key=lambda s: s.stack.left_over.value),
        figure=f"anchor-{run.anchor.id}-{run.task.id}-{run.stance.id}",
    )
