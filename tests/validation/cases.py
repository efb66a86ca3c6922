"""The form of one comparison with an outside source, shared by the tests and the printed page."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from planforge.calc.cable import Rope
from planforge.calc.lifeline import Line

FOOT = 0.3048
INCH = 0.0254
POUND = 0.45359237
POUND_FORCE = 4.4482216152605


@dataclass(frozen=True)
class Case:
    """One row of the page. ``tolerance`` is a part of ``published``, or absolute in ``unit``."""

    source: str
    case: str
    published: float
    ours: Callable[[], float]
    unit: str
    tolerance: float
    why: str
    absolute: bool = False

    @property
    def allowed(self) -> float:
        return self.tolerance if self.absolute else self.tolerance * abs(self.published)

    def check(self) -> None:
        found = self.ours()
        assert abs(found - self.published) <= self.allowed, (
            f"{self.source}, {self.case}: {found:.6g} {self.unit} against {self.published:.6g}, "
            f"allowed {self.allowed:.3g}"
        )


#: A 3/8 in wire rope, values of the usual size (common practice, no source).
STEEL = Rope(weight=0.24 * POUND_FORCE / FOOT, axial_stiffness=3.567e6, thermal_expansion=11.7e-6)


def steel_line(span_ft: float = 60.0, sag_in: float = 6.0, **more: object) -> Line:
    """A level steel line with rigid ends unless told otherwise."""
    values: dict[str, object] = {"rise": 0.0, "rope": STEEL}
    return Line(span=span_ft * FOOT, installed_sag=sag_in * INCH, **{**values, **more})  # type: ignore[arg-type]
