"""The sag band of a line, and the crew's card of sags by temperature.

The band's lower limit is where rope, end part or post would have less than the factor of two on the
coldest day; its upper limit is where a stance would lose its clearance on the warmest. The maker's
band bounds both.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.assess.index import Index
from planforge.assess.line_model import LineParts, day_change, mechanical_line
from planforge.assess.stances import RigRun
from planforge.calc.arrays import Array
from planforge.calc.arrest import Faller, arrest
from planforge.calc.bounds import CLEARANCE, STRENGTH
from planforge.calc.lifeline import install
from planforge.calc.sag import CardRow, SagBand, sag_at_temperature, sag_band, temperature_card
from planforge.codes.profile import Profile, common_practice
from planforge.units import INCH

SEARCH = (0.5 * INCH, 12 * INCH)
"""Where to look where the maker states no band, m."""


@dataclass(frozen=True, slots=True)
class SagCard:
    """What sags hold, and what to set at three temperatures."""

    band: SagBand | None  # of the line as it then hangs, whatever the temperature; None: no sag holds
    rows: tuple[CardRow, ...]  # coldest, middle, warmest of the day; empty where none holds
    at_installation: tuple[float, float] | None  # m, what may be set at the job's installation temperature
    coldest_sag: float  # m, what the job's target becomes on the coldest day
    warmest_sag: float
    why: str


def sag_cards(
    index: Index, parts: list[LineParts], of_line: dict[str, tuple[RigRun, ...]], profile: Profile
) -> dict[str, SagCard]:
    """Band and card of every line."""
    factor = profile.limits["line_factor"].value
    return {p.line.id: _card(index, p, of_line[p.line.id], factor) for p in parts}


def _range(parts: LineParts) -> tuple[float, float]:
    least, most = parts.system.least_sag, parts.system.most_sag
    low = least.value if least else SEARCH[0]
    high = most.value if most else min(SEARCH[1], common_practice()["sag"].value)
    return low, max(high, low * 1.01)


def _faller(runs: list[tuple[RigRun, int]], case: int) -> Faller:
    rigs = [run.rig for run, _ in runs]
    forces = [r.connector.highest_force if case == STRENGTH else r.connector.lowest_force for r in rigs]
    column = (len(runs), 1)
    return Faller(
        mass=np.array([r.mass for r in rigs]).reshape(column),
        free_fall=np.array([r.free_fall[at] for r, (_, at) in zip(rigs, runs, strict=True)]).reshape(column),
        absorber_force=np.array([f.value for f in forces]).reshape(column),
        absorber_stroke=np.array([r.connector.stroke.value for r in rigs]).reshape(column),
        count=np.array([float(r.count) for r in rigs]).reshape(column),
    )


def _strength_margin(parts: LineParts, runs: tuple[RigRun, ...], sags: Array, factor: float) -> Array:
    """Least of strength / (factor x load) - 1 at each sag, shape (k,)."""
    chosen = [(run, run.strongest) for run in runs]
    line = mechanical_line(parts, STRENGTH, sags)
    x = np.array([run.rig.stations[at] for run, at in chosen])[:, None]
    solved = arrest(install(line), x, _faller(chosen, STRENGTH))
    ends = np.maximum(solved.tension_left, solved.tension_right)
    margins = []
    for strength, load in (
        (parts.rope.breaking_strength, solved.tension_max),
        (parts.system.end_strength, ends),
        (parts.start_kind.line_strength, solved.tension_left),
        (parts.end_kind.line_strength, solved.tension_right),
    ):
        if strength is not None:
            margins.append(strength.value / (factor * load) - 1.0)
    return np.min(np.stack(margins), axis=(0, 1)) if margins else np.ones_like(sags)


def _clearance_margin(parts: LineParts, runs: tuple[RigRun, ...], sags: Array, reckoned: float) -> Array:
    """Least clearance left over at each sag, m, shape (k,); ``reckoned`` is the sag of the runs, m."""
    chosen = [(run, run.worst_side.governs) for run in runs]
    both = np.concatenate([[reckoned], sags])
    line = mechanical_line(parts, CLEARANCE, both)
    x = np.array([run.rig.stations[at] for run, at in chosen])[:, None]
    solved = arrest(install(line), x, _faller(chosen, CLEARANCE))
    # a lower line also adds to the free fall of a lanyard: count the change of sag as drop
    grown = solved.total_fall + (both - reckoned)
    left = np.array([run.worst_side.left_over for run in runs])[:, None]
    return np.asarray(np.min(left - (grown[:, 1:] - grown[:, :1]), axis=0))


def _card(index: Index, parts: LineParts, runs: tuple[RigRun, ...], factor: float) -> SagCard:
    low, high = _range(parts)
    cold, warm = day_change(index, parts.line)
    soft = mechanical_line(parts, CLEARANCE)
    coldest = float(np.min(sag_at_temperature(mechanical_line(parts, STRENGTH), np.array([cold]))))
    warmest = float(np.max(sag_at_temperature(soft, np.array([warm]))))
    band = _band(parts, runs, (low, high), (warmest, factor)) if runs else SagBand(low, high, True, True)
    if band.empty:
        why = "Even at the best sag within the maker's band a strength or a clearance is lost."
        return SagCard(None, (), None, coldest, warmest, why)
    rows, installation = _rows(index, parts, band)
    holds = installation is not None and installation[0] <= installation[1]
    why = "" if holds else "No sag holds from the coldest to the warmest hour: narrow the hours of use."
    return SagCard(band, rows if holds else (), installation if holds else None, coldest, warmest, why)


def _band(
    parts: LineParts, runs: tuple[RigRun, ...], within: tuple[float, float], basis: tuple[float, float]
) -> SagBand:
    (low, high), (warmest, factor) = within, basis

    def margins(sags: Array) -> Array:
        strength = _strength_margin(parts, runs, sags, factor)
        return np.stack([strength, _clearance_margin(parts, runs, sags, warmest)])

    # tension falls and drop grows with sag, so both ends holding means that all between hold
    if np.all(margins(np.array([low, high])) >= 0.0):
        return SagBand(low, high, lower_is_search_limit=True, upper_is_search_limit=True)
    return sag_band(margins, low, high)


def _rows(
    index: Index, parts: LineParts, band: SagBand
) -> tuple[tuple[CardRow, ...], tuple[float, float] | None]:
    """Rows at the coldest, middle and warmest, and what may be set at installation; the tighter case."""
    at = parts.line.installed_at
    weather = index.job.weather
    coldest, warmest = (weather.coldest, weather.warmest) if weather else (at, at)
    first, last = min(coldest, at), max(warmest, at)
    temperatures = (coldest, 0.5 * (coldest + warmest), warmest, at)
    cards = [
        temperature_card(mechanical_line(parts, case), band, temperatures, first, last)
        for case in (STRENGTH, CLEARANCE)
    ]
    rows = []
    for stiff, soft in zip(*cards, strict=True):
        lower, upper = max(stiff.lower, soft.lower), min(stiff.upper, soft.upper)
        rows.append(CardRow(stiff.temperature, lower, upper, 0.5 * (lower + upper)))
    return tuple(rows[:3]), (rows[3].lower, rows[3].upper)
