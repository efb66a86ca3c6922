"""Where a house stands on its lot: the map from its design's plan to the lot's.

With M the mirror (x or y changes sign, or neither), R the turn t counter-clockwise and p the place of the
design's origin, a point q goes to R M q + p. A direction d goes to s d + c + t, with s = -1 and
c = 180 deg for x mirrored, s = -1 and c = 0 for y mirrored, s = 1 and c = 0 otherwise. Lengths in m,
angles in degrees, in which quarter turns are exact; both are whole numbers of +1, -1 and 0 in R M then.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from planforge.job.house import House, Mirror

_QUARTERS: Final = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))
_DECIMALS: Final = 12
"""Degrees and oblique places (m) are kept to this many decimals: what radians there and back leave behind
falls away, and two machines whose sines differ in the last digit write the same plan."""
_TIE: Final = 1e-6
"""A direction midway between two compass points takes the later of them, whatever float noise says (deg)."""
POINTS: Final = ("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest")


@dataclass(frozen=True, slots=True)
class Placement:
    """Mirrored, then turned counter-clockwise by ``turned`` degrees, then shifted to ``at`` (m)."""

    mirrored: Mirror = "no"
    turned: float = 0.0
    at: tuple[float, float] = (0.0, 0.0)

    @classmethod
    def of(cls, house: House) -> Placement:
        """The placement that a lot states."""
        return cls(house.mirrored, degrees(house.turned), house.at)

    @property
    def follows(self) -> bool:
        """Whether anything of the design changes its place or direction."""
        return self.redirects or self.at != (0.0, 0.0)

    @property
    def redirects(self) -> bool:
        """Whether directions change."""
        return self.mirrored != "no" or self.turned % 360.0 != 0.0

    @property
    def matrix(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """R M."""
        quarters, rest = divmod(self.turned, 90.0)
        if rest == 0.0:
            cos, sin = _QUARTERS[int(quarters) % 4]
        else:
            cos, sin = math.cos(math.radians(self.turned)), math.sin(math.radians(self.turned))
        x = -1.0 if self.mirrored == "left to right" else 1.0
        y = -1.0 if self.mirrored == "top to bottom" else 1.0
        return (cos * x, -sin * y), (sin * x, cos * y)

    def point(self, x: float, y: float) -> tuple[float, float]:
        """Where a point of the design lies on the lot, m."""
        (a, b), (c, d) = self.matrix
        there = a * x + b * y + self.at[0], c * x + d * y + self.at[1]
        return (
            there if self.turned % 90.0 == 0.0 else (round(there[0], _DECIMALS), round(there[1], _DECIMALS))
        )

    def direction(self, angle: float) -> float:
        """Which way a direction of the design points on the lot, degrees, above -180 up to 180."""
        if self.mirrored == "left to right":
            angle = 180.0 - angle
        elif self.mirrored == "top to bottom":
            angle = -angle
        return _within(angle + self.turned)

    def base(self, angle: float) -> float:
        """How far a base is turned on the lot, degrees, above -180 up to 180.

        A base can't be mirrored. Its four holes stand at the corners of a rectangle, which is its own mirror
        image about its own axes; so in a mirrored house it is turned as far the other way.
        """
        return _within((-angle if self.mirrored != "no" else angle) + self.turned)

    def compass(self, point: str, north: float) -> str:
        """The compass point nearest to where one of the design, whose y is its north, lies on the lot.

        ``north``: where north lies on the lot's plan, degrees clockwise from the top of the sheet.
        """
        heading = 90.0 - 45.0 * POINTS.index(point)
        bearing = 90.0 - self.direction(heading) - north
        return POINTS[math.floor((bearing + 22.5 + _TIE) / 45.0) % 8]


def degrees(radians: float) -> float:
    """Radians in degrees, without the last digits that the way there and back may have moved."""
    return round(math.degrees(radians), _DECIMALS)


def _within(angle: float) -> float:
    turned = round(angle % 360.0, _DECIMALS) % 360.0
    return turned - 360.0 if turned > 180.0 else turned
