"""A level line with a load at mid-span by the textbook's equations and scipy, for comparison.

The elastic catenary of one half, from the middle to an end: with H, s of unstretched rope and a force V0 at
its lower end, x = H s/EA + H/w (asinh(V1/H) - asinh(V0/H)), z = s (V0 + V1)/(2 EA) + (T1 - T0)/w,
V1 = V0 + w s (Irvine, Cable Structures, from memory). The ends give way by (H - H0)/k each.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq


@dataclass(frozen=True)
class Textbook:
    """A line installed at ``sag`` (m) on ``span`` (m), then warmer by ``change`` (K)."""

    span: float
    sag: float
    w: float = 3.5  # N/m
    EA: float = 3.567e6  # N
    alpha: float = 11.7e-6  # 1/K
    change: float = 0.0
    compliance: float = 0.0  # m/N, both ends together

    def half(self, H: float, s: float, V0: float = 0.0) -> tuple[float, float]:
        """Run and drop of one half, m."""
        V1 = V0 + self.w * s
        x = H * s / self.EA + H / self.w * (np.arcsinh(V1 / H) - np.arcsinh(V0 / H))
        z = s * (V0 + V1) / (2 * self.EA) + (np.hypot(H, V1) - np.hypot(H, V0)) / self.w
        return float(x), float(z)

    def installed(self) -> tuple[float, float]:
        """H0 (N) and the unstretched length as installed, m."""

        def length_at(H: float) -> float:
            low, high = 0.4 * self.span, 0.6 * self.span
            return float(2.0 * brentq(lambda s: self.half(H, s)[0] - 0.5 * self.span, low, high, xtol=1e-15))

        H0 = float(brentq(lambda H: self.half(H, 0.5 * length_at(H))[1] - self.sag, 50.0, 1e5, xtol=1e-10))
        return H0, length_at(H0)

    def under(self, *loads: float) -> NDArray[np.float64]:
        """Rows of H (N), drop at mid-span (m) and tension at the ends (N) under each load, N."""
        H0, length = self.installed()
        half = 0.5 * length * (1.0 + self.alpha * self.change)
        rows = []
        for load in loads:

            def misfit(H: float, load: float = load) -> float:
                return self.half(H, half, 0.5 * load)[0] - 0.5 * (self.span - self.compliance * (H - H0))

            H = float(brentq(misfit, 50.0, 1e6, xtol=1e-10))
            end = np.hypot(H, 0.5 * load + self.w * half)
            rows.append((H, self.half(H, half, 0.5 * load)[1], end))
        return np.array(rows)


@dataclass(frozen=True)
class Path:
    """A load at mid-span that grows: its drop (m), and the work (J) of what is above the first load."""

    loads: NDArray[np.float64]
    drop: NDArray[np.float64]
    work: NDArray[np.float64]

    @staticmethod
    def of(book: Textbook, first: float, most: float) -> Path:
        """In steps fine where the line is slack; the work by the trapezoidal rule."""
        loads = first + (most - first) * np.linspace(0.0, 1.0, 161) ** 2
        drop = book.under(*loads)[:, 1]
        above = loads - first
        work = np.concatenate([[0.0], np.cumsum(0.5 * (above[1:] + above[:-1]) * np.diff(drop))])
        return Path(loads, drop, work)

    def at(self, load: float) -> tuple[float, float]:
        """Drop and work up to ``load``."""
        return float(np.interp(load, self.loads, self.drop)), float(np.interp(load, self.loads, self.work))
