"""A fall in time on a chain of masses, integrated by scipy's Runge-Kutta method, not central differences.

The chain is laid out here anew: level, 16 pieces, masses at 15 nodes, the textbook's tension, a connector
that only pulls and whose absorber slides at its force. Peaks of both ends, the connector and the way down.
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
from planforge.calc.time_history import time_history

from .textbook import Textbook

BOOK = Textbook(12.0, 0.15)
PIECES, CONNECTOR, G = 16, 500e3, 9.80665
Floats = NDArray[np.float64]


@dataclass
class Chain:
    """State: x and z of 15 nodes, z of the body, their speeds, what the absorber has given."""

    node: int
    mass: float
    force: float

    def __post_init__(self) -> None:
        H = BOOK.installed()[0]
        self.x0 = np.linspace(0.0, BOOK.span, PIECES + 1)
        lump = BOOK.w * BOOK.installed()[1] / PIECES
        inner = self.x0[1:-1]
        arms = [np.minimum(a * (BOOK.span - inner), inner * (BOOK.span - a)) / BOOK.span for a in self.x0]
        self.z0 = -lump * np.sum(arms, axis=-1) / H  # a simple beam's moments over H
        length = np.hypot(np.diff(self.x0), np.diff(self.z0))
        self.slack = length / (1.0 + H * length / np.diff(self.x0) / BOOK.EA)
        self.nodes = lump / G

    def pulls(self, y: Floats) -> tuple[Floats, float]:
        """Tension of each piece and of the connector, N."""
        n = PIECES - 1
        x, z = self.x0.copy(), self.z0.copy()
        x[1:-1], z[1:-1] = y[:n], y[n : 2 * n]
        self.dx, self.dz = np.diff(x), np.diff(z)
        self.length = np.hypot(self.dx, self.dz)
        pull = CONNECTOR * (z[self.node] - y[2 * n] - y[-1])
        return BOOK.EA * np.maximum(self.length / self.slack - 1.0, 0.0), min(max(pull, 0.0), self.force)

    def rate(self, _: float, y: Floats) -> Floats:
        n = PIECES - 1
        tension, pull = self.pulls(y)
        along = tension / self.length
        speed = y[2 * n + 1 : -1]
        change = np.zeros_like(y)
        change[: 2 * n + 1] = speed
        change[2 * n + 1 : 3 * n + 1] = np.diff(along * self.dx) / self.nodes
        change[3 * n + 1 : 4 * n + 1] = np.diff(along * self.dz) / self.nodes - G
        change[3 * n + self.node] -= pull / self.nodes
        change[-2] = pull / self.mass - G
        slides = max(speed[n + self.node - 1] - speed[-1], 0.0)
        change[-1] = slides if pull >= self.force else 0.0
        return change

    def fall(self, height: float, until: float) -> dict[str, float]:
        n = PIECES - 1
        start = np.concatenate([self.x0[1:-1], self.z0[1:-1], [self.z0[self.node]], np.zeros(2 * n + 2)])
        start[-2] = -np.sqrt(2.0 * G * height)
        way = solve_ivp(self.rate, (0.0, until), start, method="RK23", max_step=1e-4, rtol=1e-4, atol=1e-6)
        pulls = [self.pulls(y) for y in way.y.T]
        tension = np.array([t for t, _ in pulls])
        return {
            "drop": self.z0[self.node] - np.min(way.y[2 * n]),
            "line_drop": self.z0[self.node] - np.min(way.y[n + self.node - 1]),
            "tension_left": np.max(tension[:, 0]),
            "tension_right": np.max(tension[:, -1]),
            "tension_max": np.max(tension),
            "force_per_worker": max(p for _, p in pulls),
            "absorber_stroke": way.y[-1, -1],
            "time_to_lowest": way.t[np.argmin(way.y[2 * n])],
        }


@pytest.mark.parametrize(("node", "force", "height"), [(4, 4003.0, 1.2), (8, 1e6, 0.3)])
def test_peaks(node: int, force: float, height: float) -> None:
    line = install(Line(12.0, 0.0, 0.15, Rope(BOOK.w, BOOK.EA)))
    found = time_history(line, BOOK.span * node / PIECES, Faller(120.0, height, force, 3.0))
    wave = BOOK.span * np.sqrt(BOOK.w / G / BOOK.EA)
    expected = Chain(node, 120.0, force).fall(height, float(found.time_to_lowest) + 4.0 * wave)
    apart = dict.fromkeys(("tension_left", "tension_right", "tension_max", "force_per_worker"), 0.02)
    apart["time_to_lowest"] = 0.03  # looked at every 25 steps
    for name, value in expected.items():
        assert float(getattr(found, name)) == pytest.approx(value, rel=apart.get(name, 0.003), abs=1e-6), name
