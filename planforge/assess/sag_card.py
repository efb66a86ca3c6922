"""The sag band of a line, and the crew's card of sags by temperature.

The band's lower limit is where rope, end part or post would have less than the factor of two on the
coldest day; its upper limit is where a stance would lose its clearance on the warmest. The maker's
band bounds both. Trial sags are solved by the energy balance; the tensions are raised by as much as the
line's governing loads, of all falls by both methods, stand above that balance at the job's own sag.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from planforge.assess.index import Index
from planforge.assess.line_model import CASES, LineParts
from planforge.assess.rig import Lines, Place, fallers, positions
from planforge.assess.stances import RigRun
from planforge.calc.arrays import Array, Bools, pick_record, reshape_record
from planforge.calc.arrest import Arrest, arrest
from planforge.calc.bounds import CLEARANCE, STRENGTH
from planforge.calc.lifeline import install, mid_sag
from planforge.calc.sag import CardRow, Margins, SagBand, sag_at_temperature, sag_band
from planforge.codes.profile import Profile, common_practice
from planforge.job.layout import Lifeline
from planforge.units import INCH

SEARCH = (0.5 * INCH, 12 * INCH)
"""Where to look where the maker states no band, m."""

ROOM_TO_SET = 0.125 * INCH
"""How far a target keeps from either end of the band, m: what string and rule tell apart; planforge's
own allowance, no source."""


@dataclass(frozen=True, slots=True)
class SagCard:
    """What sags hold, and what to set at three temperatures."""

    band: SagBand | None  # of the line as it then hangs, whatever the temperature; None: no sag holds
    rows: tuple[CardRow, ...]  # coldest, middle, warmest of the day; empty where none holds
    at_installation: tuple[float, float] | None  # m, what may be set at the job's installation temperature
    coldest_sag: float  # m, what the job's target becomes on the coldest day
    warmest_sag: float
    why: str
    at_measurement: tuple[float, float] | None = None  # m, the same where a measurement is recorded

    @property
    def targets(self) -> tuple[float, float] | None:
        """What may be aimed at on installation, m: the band there less the room to set at both ends.

        The first is greater than the second where the band is too narrow for any target.
        """
        if self.at_installation is None:
            return None
        lower, upper = self.at_installation
        return lower + ROOM_TO_SET, upper - ROOM_TO_SET


NOT_ASKED = SagCard(SagBand(0.0, np.inf, True, True), (), (-np.inf, np.inf), 0.0, 0.0, "not asked for")
"""Stands in for the card of a line whose band nobody has looked for yet: any sag will do."""


Ends: TypeAlias = tuple[float, float, float]
"""Of the greatest tension, of that at the start and of that at the end."""


@dataclass(frozen=True, slots=True)
class _Trial:
    """One stance at its governing place, on its line with a trial sag as the line then hangs."""

    run: RigRun
    place: Place
    sag: float


def sag_cards(
    index: Index,
    lines: Lines,
    of_line: dict[str, tuple[RigRun, ...]],
    profile: Profile,
    raised: Mapping[str, Ends],
) -> dict[str, SagCard]:
    """Band and card of every line; ``raised`` is its governing loads over the balance's, 1 or more."""
    factor, parts = profile.limits["line_factor"].value, lines.parts
    asked = {
        line: (factor * most, factor * start, factor * end) for line, (most, start, end) in raised.items()
    }
    day = mid_sag(lines.flat).reshape(-1, len(CASES))
    ranges = [_range(p) for p in parts]
    ends_hold = _ends_hold(lines, of_line, ranges, day[:, CLEARANCE], asked)
    bands = [
        # tension falls and drop grows with sag, so both ends holding means that all between hold
        SagBand(*ranges[n], lower_is_search_limit=True, upper_is_search_limit=True)
        if ends_hold[n]
        else sag_band(_search(lines, of_line[p.line.id], float(day[n, CLEARANCE]), asked), *ranges[n])
        for n, p in enumerate(parts)
    ]
    lower, upper = _limits(index, lines, bands)
    middle = _at_middle(index, lines)
    return {
        p.line.id: _card(
            bands[n],
            (lower[n], upper[n]),
            (float(day[n, STRENGTH]), float(middle[n]), float(day[n, CLEARANCE])),
            _temperatures(index, p.line),
        )
        for n, p in enumerate(parts)
    }


def _at_middle(index: Index, lines: Lines) -> Array:
    """What each job's target becomes at the day's middle temperature, m, (L,): between both cases."""
    at = np.array([_temperatures(index, p.line) for p in lines.parts]).reshape(-1, 5)
    every = reshape_record(lines.flat.line, (len(lines.parts), len(CASES)))
    return np.asarray(np.mean(sag_at_temperature(every, (at[:, 1] - at[:, 3])[:, None]), axis=1))


def _range(parts: LineParts) -> tuple[float, float]:
    least, most = parts.system.least_sag, parts.system.most_sag
    low = least.value if least else SEARCH[0]
    high = most.value if most else min(SEARCH[1], common_practice()["sag"].value)
    return low, max(high, low * 1.01)


def _trials(runs: tuple[RigRun, ...], sags: Array, case: int) -> list[_Trial]:
    at = [run.strongest if case == STRENGTH else run.worst_side.governs for run in runs]
    return [
        _Trial(r, Place(r.rig, n, case), float(sag)) for r, n in zip(runs, at, strict=True) for sag in sags
    ]


def _arrests(lines: Lines, trials: list[_Trial]) -> Arrest:
    places = [t.place for t in trials]
    as_found = pick_record(lines.flat.line, lines.at(places))
    tried = replace(as_found, installed_sag=np.array([t.sag for t in trials]))
    return arrest(install(tried), positions(places), fallers(places))


def _margins(
    lines: Lines, strong: list[_Trial], clear: list[_Trial], reckoned: Array, asked: Mapping[str, Ends]
) -> Array:
    """Margins of the strength trials, then of the clearance trials, solved as one batch.

    ``reckoned`` is the sag (m) of each clearance trial's run in its own reckoning.
    """
    at_run = [_Trial(t.run, t.place, float(sag)) for t, sag in zip(clear, reckoned, strict=True)]
    solved = _arrests(lines, strong + clear + at_run)
    falls = solved.total_fall[len(strong) :] + np.array([_lowered(t) for t in clear + at_run])
    strength = _strength_margin(strong, pick_record(solved, slice(0, len(strong))), asked)
    return np.concatenate([strength, _clearance_margin(clear, falls[: len(clear)], falls[len(clear) :])])


def _lowered(trial: _Trial) -> float:
    """What a line's own sag adds to the fall, m: a lanyard falls free as much farther; a device does not."""
    return trial.sag if trial.run.rig.connector.kind == "lanyard" else 0.0


def _strength_margin(trials: list[_Trial], solved: Arrest, asked: Mapping[str, Ends]) -> Array:
    """Least of strength / (asked x load) - 1 of each trial."""
    margins = np.ones(len(trials))
    for n, trial in enumerate(trials):
        parts = trial.run.rig.parts
        most, start, end = asked[parts.line.id]
        left, right = start * float(solved.tension_left[n]), end * float(solved.tension_right[n])
        for strength, load in (
            (parts.rope.breaking_strength, most * float(solved.tension_max[n])),
            (parts.system.end_strength, max(left, right)),
            (parts.start_kind.line_strength, left),
            (parts.end_kind.line_strength, right),
        ):
            if strength is not None:
                margins[n] = min(margins[n], strength.value / load - 1.0)
    return margins


def _clearance_margin(trials: list[_Trial], falls: Array, reckoned: Array) -> Array:
    """Clearance left over of each trial, m, from its fall and the one reckoned."""
    left = np.array([t.run.worst_side.left_over for t in trials])
    return np.asarray(left - (falls - reckoned))


def _search(lines: Lines, runs: tuple[RigRun, ...], reckoned: float, asked: Mapping[str, Ends]) -> Margins:
    """A function from sags (k,) to both margins of every stance of a line, shape (2 x stances, k)."""

    def margins(sags: Array) -> Array:
        strong, clear = _trials(runs, sags, STRENGTH), _trials(runs, sags, CLEARANCE)
        found = _margins(lines, strong, clear, np.full(len(clear), reckoned), asked)
        return found.reshape(-1, len(sags))

    return margins


def _ends_hold(
    lines: Lines,
    of_line: dict[str, tuple[RigRun, ...]],
    ranges: list[tuple[float, float]],
    reckoned: Array,
    asked: Mapping[str, Ends],
) -> Bools:
    """For each line, whether every margin holds at both ends of its range; one batch for all lines."""
    strong: list[_Trial] = []
    clear: list[_Trial] = []
    owner: list[int] = []
    for n, p in enumerate(lines.parts):
        runs, ends = of_line[p.line.id], np.array(ranges[n])
        strong += _trials(runs, ends, STRENGTH)
        clear += _trials(runs, ends, CLEARANCE)
        owner += [n] * (2 * len(runs))
    holds = np.ones(len(lines.parts), dtype=bool)
    if owner:
        found = _margins(lines, strong, clear, reckoned[owner], asked)
        np.logical_and.at(holds, owner + owner, found >= 0.0)
    return holds


Temperatures = tuple[float, float, float, float, float]
"""Coldest, middle and warmest of the day, the installation's, and the measurement's, K."""


def _temperatures(index: Index, line: Lifeline) -> Temperatures:
    at, weather = line.installed_at, index.job.weather
    coldest, warmest = (weather.coldest, weather.warmest) if weather else (at, at)
    measured = next((r.temperature for r in index.job.releases if r.of == line.id and r.temperature), at)
    return coldest, 0.5 * (coldest + warmest), warmest, at, measured


def _limits(index: Index, lines: Lines, bands: list[SagBand]) -> tuple[Array, Array]:
    """Least and greatest sag to set at each of the temperatures, (L, 5), the tightest of the cases.

    The line that just has the band's lower sag at the coldest is warmed to each temperature, and the
    one that just has the upper sag at the warmest is cooled to it.
    """
    at = np.array([_temperatures(index, p.line) for p in lines.parts])
    use = at[:, :4]  # the band holds over the day and the installation, whenever it was measured
    changes = np.stack([at - use.min(axis=1, keepdims=True), at - use.max(axis=1, keepdims=True)], axis=1)
    edges = np.array([(1.0, 1.0) if b.empty else (b.lower, b.upper) for b in bands])
    every = reshape_record(lines.flat.line, (len(bands), len(CASES), 1, 1))
    sags = sag_at_temperature(replace(every, installed_sag=edges[:, None, :, None]), changes[:, None])
    return np.max(sags[:, :, 0], axis=1), np.min(sags[:, :, 1], axis=1)


def _card(
    band: SagBand,
    limits: tuple[Array, Array],
    day: tuple[float, float, float],
    temperatures: Temperatures,
) -> SagCard:
    coldest, _, warmest = day
    if band.empty:
        why = "Even at the best sag within the maker's band a strength or a clearance is lost."
        return SagCard(None, (), None, coldest, warmest, why)
    lower, upper = limits
    if np.any(lower > upper):
        why = "No sag holds from the coldest to the warmest hour: narrow the hours of use."
        return SagCard(band, (), None, coldest, warmest, why)
    rows = tuple(
        CardRow(t, float(low), float(high), target)
        for t, low, high, target in zip(temperatures[:3], lower, upper, day, strict=False)
    )
    installation, measurement = ((float(lower[n]), float(upper[n])) for n in (3, 4))
    return SagCard(band, rows, installation, coldest, warmest, "", measurement)
