"""From the job to the mechanics: each lifeline as installed, in its strength and clearance cases.

Strength case: stiff ends, the line absorber's highest force, the coldest day. Clearance cases:
soft ends and its lowest force, on the warmest day, when the line hangs lowest, and on the coldest,
when it gives way farthest from where it hangs; the worse of the two counts. An end is as
stiff as its post's maker states or as its tube and guys give, the more demanding of both.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from planforge.assess.finding import AnyRated
from planforge.assess.index import Index
from planforge.assess.post_model import HeadStiffness, head_bounds
from planforge.calc.arrays import Array, Values, stack_records
from planforge.calc.bounds import CLEARANCE, STRENGTH
from planforge.calc.cable import Rope
from planforge.calc.lifeline import InstalledLine, Line, at_temperature, install
from planforge.job.equipment import LifelineSystem, LineAbsorber, PostKind
from planforge.job.equipment import Rope as RopeItem
from planforge.job.layout import Lifeline

STEEL_EXPANSION = 11.7e-6
"""1/K, carbon steel near room temperature: 6.5e-6 per F in handbook tables (from memory)."""


@dataclass(frozen=True)
class LineParts:
    """A lifeline with the things it is made of."""

    line: Lifeline
    system: LifelineSystem
    rope: RopeItem
    absorber: LineAbsorber | None
    start_kind: PostKind
    end_kind: PostKind
    start: tuple[float, float, float]
    end: tuple[float, float, float]
    start_head: HeadStiffness
    end_head: HeadStiffness

    @property
    def span(self) -> float:
        """Horizontal span, m."""
        return float(np.hypot(self.end[0] - self.start[0], self.end[1] - self.start[1]))

    @property
    def rise(self) -> float:
        """The end's height over the start's, m."""
        return self.end[2] - self.start[2]

    @property
    def soft_assumed(self) -> bool:
        """True where an end's least stiffness is an assumption."""
        return self.start_head.assumed or self.end_head.assumed

    @property
    def reckoned_with(self) -> tuple[AnyRated | None, ...]:
        """The rated values that its sag, drop and tension rest on.

        An absent greatest stiffness is left out: such an end is taken as rigid, the demanding case.
        So is an absent least stiffness, for which :attr:`soft_assumed` speaks.
        """
        rope, absorber = self.rope, self.absorber
        return (
            rope.weight_per_length,
            rope.axial_stiffness,
            rope.thermal_expansion,
            *((absorber.lowest_force, absorber.highest_force, absorber.stroke) if absorber else ()),
            *self.start_head.rests_on,
            *self.end_head.rests_on,
        )

    def place(self, stations: Array) -> Array:
        """Plan coordinates (S, 2) of places (S,) along the line, m from its start."""
        fraction = (stations / self.span)[:, None]
        start, end = np.asarray(self.start[:2]), np.asarray(self.end[:2])
        return np.asarray(start + fraction * (end - start))

    def chord(self, stations: Array) -> Array:
        """Elevation (S,) of the chord between the attachments, m."""
        return np.asarray(self.start[2] + self.rise * stations / self.span)


def parts_of(
    index: Index, line: Lifeline, heads: tuple[HeadStiffness, HeadStiffness] | None = None
) -> LineParts:
    """Gather what a line is made of; ``heads`` where the bounds of its ends' stiffness are known already."""
    system = index.systems[line.system]
    start, end = index.line_ends(line)
    if heads is None:
        azimuth = float(np.arctan2(end[1] - start[1], end[0] - start[0]))
        heads = _head(index, line, line.start, azimuth), _head(index, line, line.end, azimuth + np.pi)
    return LineParts(
        line=line,
        system=system,
        rope=index.ropes[system.rope],
        absorber=index.line_absorbers[system.absorber] if system.absorber else None,
        start_kind=index.kind_of(index.posts[line.start]),
        end_kind=index.kind_of(index.posts[line.end]),
        start=start,
        end=end,
        start_head=heads[0],
        end_head=heads[1],
    )


def _head(index: Index, line: Lifeline, post: str, azimuth: float) -> HeadStiffness:
    """A head's bounds along a line; half as stiff where a line beside it can pull at the same time."""
    head = head_bounds(index, post, azimuth)
    return replace(head, low=head.low / 2.0) if line.beside is not None else head


def _expansion(rope: RopeItem) -> float:
    return rope.thermal_expansion.value if rope.thermal_expansion else STEEL_EXPANSION


CASES = (STRENGTH, CLEARANCE, 2)
COLD_CLEARANCE = CASES[2]
"""The three cases, as positions on the second axis of a batch of lines."""


def mechanical_line(parts: LineParts, case: int, sag: Values | None = None) -> Line:
    """The line of one case with its target sag, or another sag (m)."""
    absorber = parts.absorber
    force = np.inf
    if absorber is not None:
        force = absorber.highest_force.value if case == STRENGTH else absorber.lowest_force.value
    return Line(
        span=parts.span,
        rise=parts.rise,
        installed_sag=parts.line.sag if sag is None else sag,
        rope=Rope(
            weight=parts.rope.weight_per_length.value,
            axial_stiffness=parts.rope.axial_stiffness.value,
            thermal_expansion=_expansion(parts.rope),
        ),
        end_stiffness_left=parts.start_head.high if case == STRENGTH else parts.start_head.low,
        end_stiffness_right=parts.end_head.high if case == STRENGTH else parts.end_head.low,
        absorber_force=force,
        absorber_stroke=absorber.stroke.value if absorber else 0.0,
        absorber_on_right=parts.line.absorber_at == parts.line.end,
    )


def day_change(index: Index, line: Lifeline) -> tuple[float, float]:
    """From the installation's temperature to the coldest and to the warmest of the day, K."""
    weather = index.job.weather
    if weather is None:
        return 0.0, 0.0
    return weather.coldest - line.installed_at, weather.warmest - line.installed_at


def installed_batch(index: Index, lines: list[LineParts]) -> InstalledLine:
    """All lines (L) in their cases at the governing temperature; every field has shape (L, 3)."""
    every = stack_records([stack_records([mechanical_line(p, case) for case in CASES]) for p in lines])
    days = [day_change(index, p.line) for p in lines]
    change = np.asarray([(cold, warm, cold) for cold, warm in days])
    return at_temperature(install(every), change)
