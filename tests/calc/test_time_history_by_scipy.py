"""A fall in time on a chain of masses, integrated by scipy's Runge-Kutta method, not central differences.

The chain is laid out here anew: level, 16 pieces, masses at 15 nodes, the textbook's tension, a connector
that only pulls and whose absorber slides at its force, a line absorber that gives at the left end, another
worker who hangs at mid-span. Peaks of both ends, the connector and the way down.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from planforge.calc.arrest import Faller
from planforge.calc.cable import Rope
from planforge.calc.lifeline import Line, install
from planforge.calc.time_history import Hanging, time_history

from .textbook import Textbook

BOOK = Textbook(12.0, 0.15)
PIECES, CONNECTOR, G, MASS = 16, 500e3, 9.80665, 120.0
N = PIECES - 1  # nodes that move
Floats = NDArray[np.float64]


@dataclass
class Chain:
    """State: x, z of the nodes, z of who falls and who hangs; their speeds; what both absorbers gave."""

    node: int
    force: float  # N, the personal absorber's
    slides: float  # N, the line absorber's
    hangs: float  # kg at mid-span

    def __post_init__(self) -> None:
        H = float(BOOK.under(self.hangs * G)[0, 0])
        self.x0 = np.linspace(0.0, BOOK.span, PIECES + 1)
        rope = BOOK.w * BOOK.installed()[1] / PIECES
        loads = np.full(N, rope)
        loads[N // 2] += self.hangs * G
        inner = self.x0[1:-1]
        arms = [np.minimum(a * (BOOK.span - inner), inner * (BOOK.span - a)) / BOOK.span for a in self.x0]
        self.z0 = -np.array(arms) @ loads / H  # a simple beam's moments over H
        length = np.hypot(np.diff(self.x0), np.diff(self.z0))
        self.slack = length / (1.0 + H * length / np.diff(self.x0) / BOOK.EA)
        self.node_mass = rope / G

    def pulls(self, y: Floats) -> tuple[Floats, float, float]:
        """Tension of each piece, of the falling worker's connector and of the hanging one's, N."""
        x, z = self.x0.copy(), self.z0.copy()
        x[1:-1], z[1:-1] = y[:N], y[N : 2 * N]
        self.dx, self.dz = np.diff(x), np.diff(z)
        self.length = np.hypot(self.dx, self.dz)
        tension = BOOK.EA * np.maximum(self.length / self.slack - 1.0, 0.0)
        first = BOOK.EA * (self.length[0] - self.slack[0] - y[-1]) / self.slack[0]
        tension[0] = min(max(first, 0.0), self.slides)
        falls = CONNECTOR * (z[self.node] - y[2 * N] - y[-2])
        hangs = max(CONNECTOR * (z[PIECES // 2] - y[2 * N + 1]), 0.0) if self.hangs else 0.0
        return tension, min(max(falls, 0.0), self.force), hangs

    def rate(self, _: float, y: Floats) -> Floats:
        tension, falls, hangs = self.pulls(y)
        along = tension / self.length
        speed = y[2 * N + 2 : -2]
        up_x, up_z = np.diff(along * self.dx), np.diff(along * self.dz)
        up_z[self.node - 1] -= falls
        up_z[N // 2] -= hangs
        lengthens = (self.dx[0] * speed[0] + self.dz[0] * speed[N]) / self.length[0]
        given = (
            max(speed[N + self.node - 1] - speed[2 * N], 0.0) if falls >= self.force else 0.0,
            max(lengthens, 0.0) if tension[0] >= self.slides else 0.0,
        )
        bodies = (falls / MASS - G, hangs / self.hangs - G if self.hangs else 0.0)
        return np.concatenate([speed, up_x / self.node_mass, up_z / self.node_mass - G, bodies, given])

    def fall(self, height: float, until: float) -> dict[str, float]:
        stretch = self.hangs * G / CONNECTOR
        bodies = [self.z0[self.node], self.z0[PIECES // 2] - stretch]
        speeds = [*np.zeros(2 * N), -np.sqrt(2.0 * G * height), 0.0]
        start = np.array([*self.x0[1:-1], *self.z0[1:-1], *bodies, *speeds, 0.0, 0.0])
        way = solve_ivp(self.rate, (0.0, until), start, method="RK23", max_step=1e-4, rtol=1e-4, atol=1e-6)
        pulls = [self.pulls(y) for y in way.y.T]
        tension = np.array([row[0] for row in pulls])
        return {
            "drop": self.z0[self.node] - np.min(way.y[2 * N]),
            "line_drop": self.z0[self.node] - np.min(way.y[N + self.node - 1]),
            "tension_left": np.max(tension[:, 0]),
            "tension_right": np.max(tension[:, -1]),
            "tension_max": np.max(tension),
            "force_per_worker": max(row[1] for row in pulls),
            "absorber_stroke": way.y[-2, -1],
            "line_absorber_extension": way.y[-1, -1],
            "time_to_lowest": way.t[np.argmin(way.y[2 * N])],
        }


CASES = [
    Chain(4, 4003.0, np.inf, 0.0),
    Chain(8, 1e6, np.inf, 0.0),  # the personal absorber never opens
    Chain(5, 4003.0, 12e3, 0.0),
    Chain(4, 4003.0, np.inf, 130.0),
]


@pytest.mark.parametrize("chain", CASES, ids=["absorber", "none", "line absorber", "another hangs"])
def test_peaks(chain: Chain) -> None:
    height = 1.2 if chain.force < 1e5 else 0.3
    given = {} if np.isinf(chain.slides) else {"absorber_force": chain.slides, "absorber_stroke": 2.0}
    line = install(Line(12.0, 0.0, 0.15, Rope(BOOK.w, BOOK.EA), **given))
    hanging = Hanging(6.0, chain.hangs) if chain.hangs else None
    place = BOOK.span * chain.node / PIECES
    found = time_history(line, place, Faller(MASS, height, chain.force, 3.0), hanging=hanging)
    wave = BOOK.span * np.sqrt(BOOK.w / G / BOOK.EA)
    expected = chain.fall(height, float(found.time_to_lowest) + 4.0 * wave)
    apart = dict.fromkeys(("tension_left", "tension_right", "tension_max", "force_per_worker"), 0.02)
    apart["time_to_lowest"] = 0.03  # looked at every 25 steps
    for name, value in expected.items():
        assert float(getattr(found, name)) == pytest.approx(value, rel=apart.get(name, 0.003), abs=1e-6), name
