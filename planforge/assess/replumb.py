"""The line after its guys are tensioned and its posts plumbed: what a head's movement does to the sag.

The rope's length stays, so that a head moved by a fraction of an inch moves the sag by several times as
much. Movements are of both heads together, inwards positive (more sag), the heads then held where they
stand: the careful bound.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from planforge.assess.finding import Finding, Verdict, found, keeps
from planforge.assess.index import Index
from planforge.assess.line_model import LineParts, mechanical_line
from planforge.assess.lines import LineResult
from planforge.assess.post_model import PINNED, PostParts, post_parts
from planforge.calc.arrays import Array, stack_records
from planforge.calc.at_rest import room_to_move, sag_after_movement
from planforge.calc.bounds import STRENGTH
from planforge.calc.guyed_post import Loads, solve_post
from planforge.units import INCH, Display

MOVEMENTS = (0.125 * INCH, 0.25 * INCH, 0.5 * INCH)
"""Movements of the heads for which the sag is told, m."""


READABLE = float(np.radians(0.1))
"""The least that a level shows of a plumb, rad: common practice, no source."""


@dataclass(frozen=True)
class Replumb:
    """One line set to its target, then its heads moved; lengths in m."""

    line: str
    sag: float  # the target
    nearer: tuple[float, ...]  # sag with the heads nearer by each of MOVEMENTS
    farther: tuple[float, ...]
    room: tuple[float, float] | None  # how far nearer and how far apart the band lets them; None: no band
    heads: float  # heights of both over their bases, together
    tolerance: float | None  # what the plumb tolerance lets both heads move; None: not stated
    tensioning: tuple[float, float]  # each head along the line as its guys are set; nan: not reckoned

    @property
    def change(self) -> float:
        """The most that the least of MOVEMENTS changes the sag, m."""
        return max(self.nearer[0] - self.sag, self.sag - self.farther[0])

    @property
    def tight(self) -> bool:
        """Whether the plumb tolerance alone can move the sag out of its band."""
        if self.room is None or self.tolerance is None:
            return False
        return keeps(min(self.room), self.tolerance, "at least") is not Verdict.MEETS

    @property
    def plumb_kept(self) -> float | None:
        """The plumb, in rad, within which the sag stays in its band, where a level can show it; else None."""
        if self.room is None:
            return None
        angle = float(np.arcsin(min(min(self.room) / self.heads, 1.0)))
        return angle if angle >= READABLE else None


def replumbed(index: Index, lines: list[LineResult]) -> list[Replumb]:
    """Every line, all solved as one batch."""
    if not lines:
        return []
    parts = [r.parts for r in lines]
    batch = stack_records([mechanical_line(p, STRENGTH) for p in parts])
    span, rise, sag = (np.asarray(v)[:, None] for v in (batch.span, batch.rise, batch.installed_sag))
    rope = stack_records([mechanical_line(p, STRENGTH).rope for p in parts])
    rope = type(rope)(*(np.asarray(v)[:, None] for v in (rope.weight, rope.axial_stiffness)))
    moves = np.array([*MOVEMENTS, *(-m for m in MOVEMENTS)])
    sags = sag_after_movement(span, rise, sag, rope, moves)
    bands = [r.card.at_installation for r in lines]
    limits = np.array([band or (float(r.parts.line.sag),) * 2 for band, r in zip(bands, lines, strict=True)])
    room = room_to_move(span, rise, sag, limits, rope)
    moved = _moved_by_tensioning(index, parts)
    count = len(MOVEMENTS)
    return [
        Replumb(
            line=r.id,
            sag=r.parts.line.sag,
            nearer=tuple(float(v) for v in sags[n, :count]),
            farther=tuple(float(v) for v in sags[n, count:]),
            room=(float(room[n, 1]), float(-room[n, 0])) if bands[n] else None,
            heads=r.parts.start_kind.head_height + r.parts.end_kind.head_height,
            tolerance=_tolerance(index, r.parts),
            tensioning=moved[n],
        )
        for n, r in enumerate(lines)
    ]


def _tolerance(index: Index, parts: LineParts) -> float | None:
    erection = index.job.erection
    if erection is None or erection.tolerances is None:
        return None
    heights = parts.start_kind.head_height + parts.end_kind.head_height
    return float(np.sin(erection.tolerances.plumb)) * heights


def _moved_by_tensioning(index: Index, parts: list[LineParts]) -> list[tuple[float, float]]:
    """For each line, how far each head moves towards the other end while its guys are set, m."""
    heads: dict[str, Array] = {}
    out = []
    for p in parts:
        run = np.asarray(p.end[:2]) - np.asarray(p.start[:2])
        way = run / np.hypot(*run)
        for post in (p.line.start, p.line.end):
            if post not in heads:
                heads[post] = _head_when_set(post_parts(index, index.posts[post]))
        out.append((float(heads[p.line.start] @ way), float(-heads[p.line.end] @ way)))
    return out


def _head_when_set(parts: PostParts) -> Array:
    """Movement of the head in plan as the guys are set to their pretension, m, (2,)."""
    if parts.missing:
        return np.full(2, np.nan)
    loads = Loads(np.array([parts.kind.head_height]), np.zeros((1, 3)), parts.own_weight)
    response = solve_post(parts.mechanical(PINNED), parts.mechanical_guys(pretensioned=True), loads)
    return np.asarray(response.head[:2])


def replumb_findings(index: Index, lines: list[Replumb]) -> list[Finding]:
    """Whether the sag's band outlasts the plumb tolerance; else the sag is measured again, and signed."""
    display = Display(index.job.site.units)
    again = {r.of for r in index.job.releases if r.after_plumbing and r.measured_sag is not None}
    return [_finding(line, line.line in again, display) for line in lines]


def _finding(line: Replumb, again: bool, display: Display) -> Finding:
    if again:
        return found(
            "line.plumb", line.line, Verdict.MEETS, value="sag measured again after guys and plumb were set"
        )
    note = "Measure the sag again after the guys are tensioned and the posts plumbed, and sign it."
    if line.room is None or line.tolerance is None:
        wanted = "a sag band" if line.room is None else "wanted: erection.tolerances.plumb"
        return found("line.plumb", line.line, Verdict.CONFIRM, value="not reckoned", limit=wanted, note=note)
    least = min(line.room)
    holds = not line.tight
    way = "nearer" if line.room[0] <= line.room[1] else "farther apart"
    told = f"The band ends where both heads together move {room_text(least, display)} {way}."
    if not holds:
        told = (
            "The plumb tolerance alone can move the sag out of its band: both heads "
            f"{display.inches(MOVEMENTS[0])} nearer or farther change it by up to "
            f"{display.inches(line.change, 'up')}."
        )
        if line.plumb_kept is not None:
            told += f" Plumb within {plumb_text(line.plumb_kept)} would keep it there."
    return found(
        "line.plumb",
        line.line,
        Verdict.MEETS if holds else Verdict.CONFIRM,
        value=f"the band allows {room_text(least, display)} of head movement",
        limit=f"{display.inches(line.tolerance, 'up')} within the plumb tolerance",
        sense="at least",
        note=told if holds else f"{told} {note}",
    )


def plumb_text(angle: float) -> str:
    """A plumb to keep within, rad, as a level shows it: rounded down to 0.1°."""
    return f"{math.floor(math.degrees(angle) * 10.0 + 1e-6) / 10.0:.1f}°"


def room_text(metres: float, display: Display) -> str:
    """How far heads may move, as a rule shows it: rounded down to 1/16 in, or to 1 mm."""
    if display.system == "metric":
        return f"{math.floor(1000.0 * metres + 1e-6)} mm" if metres >= 0.001 else "< 1 mm"
    least = INCH / 16
    return display.length(metres, "down", 16) if metres >= least - 1e-9 else '< 1/16"'


def small(metres: float, display: Display) -> str:
    """A movement for the calculations, where eighths of an inch say too little: to 0.1 mm or 0.005 in."""
    if display.system == "metric":
        return f"{round(1000.0 * metres, 1) + 0.0:.1f} mm"
    return f"{round(metres / INCH / 0.005) * 0.005 + 0.0:.3f} in"
