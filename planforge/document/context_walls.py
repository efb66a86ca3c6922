"""What the plan prints of the walls that hold guys, of heads that move, and of the guys' own sag."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from planforge.assess.assessment import Assessment
from planforge.assess.bracing import WallPull
from planforge.assess.replumb import MOVEMENTS, Replumb, small
from planforge.calc.guy import sag_take_up
from planforge.document.printed import DASH, Printed
from planforge.units import Display


@dataclass(frozen=True, slots=True)
class WallRow:
    """A wall with the sum of its guys' pulls; of each pair along, then across."""

    name: str
    guys: str
    arrest: tuple[str, str]  # the arrest's own
    pretension: tuple[str, str]
    must_hold: tuple[str, str]  # the factor times the arrest's own as printed
    rated: tuple[str, str]  # empty: not stated


@dataclass(frozen=True, slots=True)
class ReplumbRow:
    """A line's sag once its heads moved."""

    line: str
    sag: str
    nearer: str  # by each of the movements
    farther: str
    room: str  # how far nearer and how far apart the band lets the heads move; a dash: no band
    tensioning: str  # how far setting the guys moves each head along the line


def wall_context(assessment: Assessment, show: Printed, factor: float) -> dict[str, object]:
    """The values of these parts, by name."""
    display = Display(assessment.job.site.units)
    moved = assessment.replumbed
    change = max((m for m in moved if m.tight), key=lambda m: m.change, default=None)
    return {
        "wall_rows": tuple(_wall(w, show, factor) for w in assessment.walls),
        "replumb_rows": tuple(_replumb(m, display) for m in moved),
        "replumb_moves": " / ".join(small(m, display) for m in MOVEMENTS),
        "replumb_change": f"{display.inches(change.change, 'up')} ({change.line})" if change else "",
        "replumb_by": display.inches(MOVEMENTS[0]),
        "guy_take_up": _take_up(assessment, display),
    }


def _wall(wall: WallPull, show: Printed, factor: float) -> WallRow:
    def both(values: tuple[float, float], times: float = 1.0) -> tuple[str, str]:
        along, across = (
            show.force(times * show.whole_force(v), "up") if np.isfinite(v) else DASH for v in values
        )
        return along, across

    along, across = (show.force(r.value, "down") if (r := wall.rated(side)) else "" for side in (0, 1))
    return WallRow(
        name=wall.name,
        guys=", ".join(wall.guys),
        arrest=both(wall.arrest),
        pretension=both(wall.pretension),
        must_hold=both(wall.arrest, factor),
        rated=(along, across),
    )


def _replumb(moved: Replumb, display: Display) -> ReplumbRow:
    return ReplumbRow(
        line=moved.line,
        sag=small(moved.sag, display),
        nearer=" / ".join(small(v, display) for v in moved.nearer),
        farther=" / ".join(small(v, display) for v in moved.farther),
        room=" / ".join(small(v, display) for v in moved.room) if moved.room else DASH,
        tensioning=" / ".join(small(v, display) if np.isfinite(v) else DASH for v in moved.tensioning),
    )


def _take_up(assessment: Assessment, display: Display) -> str:
    """The greatest length that a guy's own sag holds at its pretension; empty where not reckoned."""
    worst = max(_take_ups(assessment), default=None)
    return small(worst, display) if worst is not None else ""


def _take_ups(assessment: Assessment) -> Iterator[float]:
    for result in assessment.posts:
        for guy in result.parts.guys:
            if guy.kind.weight is not None and guy.pretension > 0.0:
                weight = guy.kind.weight * 9.80665 / guy.length
                yield float(sag_take_up(weight, guy.length, guy.angle, guy.pretension))
