"""Whole-number programmes with several objectives in order, on HiGHS.

    minimise    c_1 x, then c_2 x among the best, and so on
    subject to  low <= A x <= high,  0 <= x <= upper,  x whole

Each objective is solved to its proven best, or its bound is kept where the time runs out; the value found
then binds those after it. The same programme gives the same answer, unless the time runs out: HiGHS draws
from a fixed seed, and rows and variables come in the order in which they were entered.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from planforge.errors import CalculationError
from planforge.kits.result import Step
from planforge.proposal.cover import silent

Row = Mapping[int, float]
"""Coefficients by variable."""

_OPTIMAL, _LIMIT, _INFEASIBLE = 0, 1, 2
_SLACK = 1e-6
"""How far a row may be missed by rounding: HiGHS's own tolerance."""


class OutOfTimeError(CalculationError):
    """The time ran out before any choice was found; whether there is one is not known."""


@dataclass(frozen=True)
class Answer:
    """Whole values of the variables, (N,), and how far each objective is proven."""

    values: NDArray[np.int64]
    steps: tuple[Step, ...]

    @property
    def proven(self) -> bool:
        """True where every step is proven to be the best."""
        return all(step.proven for step in self.steps)


@dataclass
class Programme:
    """A programme in the making."""

    upper: list[float] = field(default_factory=list)
    rows: list[tuple[dict[int, float], float, float]] = field(default_factory=list)

    def variable(self, upper: float) -> int:
        """Add a whole variable from 0 to ``upper``; returns its number."""
        self.upper.append(upper)
        return len(self.upper) - 1

    def row(self, terms: Row, low: float = -math.inf, high: float = math.inf) -> None:
        """Hold a sum between two values."""
        self.rows.append((dict(terms), low, high))

    def solve(
        self, objectives: Iterable[tuple[str, Row]], *, time_limit: float | None = None
    ) -> Answer | None:
        """The best choice, objective after objective; None where there is none.

        Args:
            objectives: name and coefficients of each, the first the most important.
            time_limit: seconds for all together.

        Raises:
            OutOfTimeError: no choice within the time.
            CalculationError: HiGHS stopped without a choice, or its choice breaks a row.
        """
        if not self.upper:
            names = [name for name, _ in objectives]
            return Answer(np.zeros(0, np.int64), tuple(Step(name, 0.0, 0.0, True) for name in names))
        end = None if time_limit is None else time.monotonic() + time_limit
        rows = list(self.rows)
        steps: list[Step] = []
        values: NDArray[np.int64] | None = None
        for name, cost in objectives:
            left = None if end is None else max(end - time.monotonic(), 0.05)
            try:
                found = self._once(rows, cost, left)
            except OutOfTimeError:
                if values is None:
                    raise
                found = values, -math.inf
            if found is None:
                if values is None:
                    return None
                raise CalculationError(f"kits: step {name!r} lost the choice that the step before it found.")
            best, bound = found
            worth = _sum(cost, best)
            if values is not None and _sum(cost, values) < worth:
                best, worth = values, _sum(cost, values)
            values = best
            proven = bound >= worth - _SLACK * max(1.0, abs(worth))
            steps.append(Step(name, worth, worth if proven else max(bound, 0.0), proven))
            rows.append((dict(cost), -math.inf, worth))
        assert values is not None
        return Answer(values, tuple(steps))

    def _once(
        self,
        rows: list[tuple[dict[int, float], float, float]],
        cost: Row,
        time_limit: float | None,
    ) -> tuple[NDArray[np.int64], float] | None:
        size = len(self.upper)
        objective = np.zeros(size)
        for place, weight in cost.items():
            objective[place] = weight
        matrix, low, high = _matrix(rows, size)
        limit = {} if time_limit is None else {"time_limit": time_limit}
        with silent():
            result = milp(
                objective,
                integrality=np.ones(size),
                bounds=Bounds(np.zeros(size), np.array(self.upper)),
                constraints=[LinearConstraint(matrix, low, high)] if len(rows) else (),
                options={"mip_rel_gap": 0.0, "presolve": True, **limit},
            )
        if result.status == _INFEASIBLE:
            return None
        if result.x is None and result.status == _LIMIT:
            raise OutOfTimeError("kits: no choice was found before the time ran out.")
        if result.x is None:
            raise CalculationError(f"kits: HiGHS stopped without a choice ({result.message.strip()}).")
        values = np.round(result.x).astype(np.int64)
        sums = matrix @ values
        room = 10 * _SLACK * np.maximum(1.0, np.abs(sums))
        if np.any(sums < low - room) or np.any(sums > high + room) or np.any(values < 0):
            raise CalculationError("kits: the solver's choice breaks a row; nothing is planned from it.")
        bound = float(objective @ values) if result.status == _OPTIMAL else float(result.mip_dual_bound)
        return values, bound


def _sum(cost: Row, values: NDArray[np.int64]) -> float:
    return math.fsum(weight * float(values[place]) for place, weight in cost.items())


def _matrix(
    rows: list[tuple[dict[int, float], float, float]], size: int
) -> tuple[sp.csr_matrix, NDArray[np.float64], NDArray[np.float64]]:
    row = np.repeat(np.arange(len(rows)), [len(terms) for terms, _, _ in rows])
    column = np.array([place for terms, _, _ in rows for place in terms], dtype=np.intp)
    data = np.array([weight for terms, _, _ in rows for weight in terms.values()])
    matrix = sp.csr_matrix((data, (row, column)), shape=(len(rows), size))
    low = np.array([low for _, low, _ in rows])
    high = np.array([high for _, _, high in rows])
    return matrix, low, high
