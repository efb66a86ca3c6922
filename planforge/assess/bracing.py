"""What guys pull on the walls that hold their plate anchors: the sum along and across each wall.

A guy's horizontal pull goes into a wall that was plumbed and must be braced for it. Under one case the
guys of one post add with their signs; posts on the same wall add as if each had its worst case at once,
toward the same side, the careful sum. Loads are the arrest's own; the bracing must
hold the factor times them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from planforge.assess.finding import Finding, Verdict, found, keeps, vouched
from planforge.assess.index import Index
from planforge.assess.load_path import PostResult
from planforge.assess.post_model import GuyParts
from planforge.calc.arrays import Array
from planforge.calc.guy import anchor_force
from planforge.job.base import Rated
from planforge.job.building import Wall
from planforge.units import FOOT, Display

ON_WALL = 0.5 * FOOT
"""A plate anchor this near a wall's line stands on it, m."""

ON_TOP = FOOT
"""A plate anchor this near a wall's top in height stands on its plates, m."""

PARALLEL = np.radians(10.0)
"""How far a plate may be turned off its wall's line."""

SIDES = ("along", "across")

NO_PULL = 1.0
"""A pull below this is none but rounding, N."""


@dataclass(frozen=True)
class WallPull:
    """All guys on one wall, or on one line of wall plates where no wall is stated."""

    name: str
    wall: Wall | None
    posts: tuple[str, ...]
    guys: tuple[str, ...]
    arrest: tuple[float, float]  # N, along and across, the arrest's own
    pretension: tuple[float, float]  # N, along and across, of the guys as set

    def rated(self, side: int) -> Rated[float] | None:
        """What its bracing holds along (0) or across (1), as stated."""
        if self.wall is None:
            return None
        return (self.wall.braced_along, self.wall.braced_across)[side]


@dataclass(frozen=True)
class _OnPlate:
    """A guy on a wall: its place among its post's guys."""

    result: PostResult
    number: int

    @property
    def guy(self) -> GuyParts:
        return self.result.parts.guys[self.number]


def wall_pulls(index: Index, posts: list[PostResult]) -> list[WallPull]:
    """Every wall that holds a guy of a post that can be reckoned: those stated, then lines of plates."""
    walls = index.job.building.walls if index.job.building else []
    stated: dict[str, list[_OnPlate]] = {w.id: [] for w in walls}
    lines: list[list[_OnPlate]] = []
    for result in posts:
        for number, guy in enumerate(result.parts.guys):
            one = _OnPlate(result, number)
            wall = next((w for w in walls if _stands_on(guy, w)), None)
            same = next((line for line in lines if _same_plate(line[0].guy, guy)), None)
            if wall is not None:
                stated[wall.id].append(one)
            elif same is not None:
                same.append(one)
            else:
                lines.append([one])
    pulls = [_pull(stated[w.id], w) for w in walls if stated[w.id]]
    return pulls + [_pull(line, None) for line in lines]


def _stands_on(guy: GuyParts, wall: Wall) -> bool:
    if abs(guy.line.elevation - wall.top) > ON_TOP:
        return False
    if shapely.distance(shapely.points(guy.line.to), shapely.linestrings(np.asarray(wall.path))) > ON_WALL:
        return False
    return any(
        abs(np.sin(np.arctan2(b[1] - a[1], b[0] - a[0]) - guy.line.plate)) <= np.sin(PARALLEL)
        for a, b in zip(wall.path, wall.path[1:], strict=False)
    )


def _same_plate(one: GuyParts, other: GuyParts) -> bool:
    """Whether two plate anchors stand on one line of plates at one height."""
    turn = one.line.plate
    apart = np.subtract(other.line.to, one.line.to)
    return bool(
        abs(np.sin(other.line.plate - turn)) <= np.sin(PARALLEL)
        and abs(apart[1] * np.cos(turn) - apart[0] * np.sin(turn)) <= ON_WALL
        and abs(other.line.elevation - one.line.elevation) <= ON_TOP
    )


def _pull(on_plate: list[_OnPlate], wall: Wall | None) -> WallPull:
    azimuth = on_plate[0].guy.line.plate
    by_post: dict[str, list[_OnPlate]] = {}
    for one in on_plate:
        by_post.setdefault(one.result.id, []).append(one)
    arrest = np.zeros((2, 2))  # towards +, towards -; along, across
    for own in by_post.values():
        result = own[0].result
        tension = np.concatenate([result.pinned.tension, result.clamped.tension]) / result.factor
        sums = sum(_parts(tension[:, one.number], one.guy, azimuth) for one in own)
        arrest += np.stack([np.max(sums, axis=0, initial=0.0), np.max(-sums, axis=0, initial=0.0)])
    set_to = [_parts(np.asarray([one.guy.pretension]), one.guy, azimuth)[0] for one in on_plate]
    rest = np.stack(
        [np.sum(np.maximum(set_to, 0.0), axis=0), np.sum(np.maximum(-np.array(set_to), 0.0), axis=0)]
    )
    guys = tuple(one.guy.line.id for one in on_plate)
    more = f" and {len(guys) - 1} more" if len(guys) > 1 else ""
    return WallPull(
        name=wall.id if wall else f"plate line of {guys[0]}{more}",
        wall=wall,
        posts=tuple(by_post),
        guys=guys,
        arrest=_greatest(arrest),
        pretension=_greatest(rest),
    )


def _parts(tension: Array, guy: GuyParts, azimuth: float) -> Array:
    """Along and across the wall, N, (..., 2)."""
    force = anchor_force(tension, guy.angle, guy.azimuth, azimuth)
    return np.stack([force.along, force.across], axis=-1)


def _greatest(both: Array) -> tuple[float, float]:
    along, across = np.max(both, axis=0)
    return float(along), float(across)


def bracing_findings(index: Index, pulls: list[WallPull], factor: float) -> list[Finding]:
    """For each wall, along and across it: the sum of its guys' pulls against its bracing."""
    display = Display(index.job.site.units)
    return [_finding(pull, side, factor, display) for pull in pulls for side in (0, 1)]


def _finding(pull: WallPull, side: int, factor: float, display: Display) -> Finding:
    value, rated = pull.arrest[side], pull.rated(side)
    where = f"{', '.join(pull.posts)} · {pull.name} · {SIDES[side]}"
    note = f"{len(pull.guys)} guy(s); pretension alone {display.force(pull.pretension[side], 'up')}."
    if max(value, pull.pretension[side]) < NO_PULL:
        return found("guy.bracing", where, Verdict.NOT_APPLICABLE, note=f"No guy pulls {SIDES[side]} it.")
    if not np.isfinite(value):
        return found("guy.bracing", where, Verdict.SHORT, value="a post on it does not stand", note=note)
    if rated is None:
        return found(
            "guy.bracing",
            where,
            Verdict.CONFIRM,
            value=value,
            limit=f"must hold {factor:g} times this",
            unit="N",
            sense="at most",
            note=f"{note} State the wall under building.walls with what its bracing holds.",
        )
    return found(
        "guy.bracing",
        where,
        vouched(keeps(value, rated.value / factor, "at most"), rated),
        value=value,
        limit=rated.value / factor,
        unit="N",
        sense="at most",
        source=f"{rated.source or 'no document'}, over {factor:g}",
        note=note,
    )
