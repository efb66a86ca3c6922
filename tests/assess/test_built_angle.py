"""The angle at which a guy may stand as built: base off its place, within the maker's band."""

from __future__ import annotations

import numpy as np
import pytest

from planforge.assess.built_angle import allowed_angles, base_tolerance, built_angles
from planforge.calc.guy import guy_run
from planforge.units import INCH

from .jobs import Changes, assessed, finding
from .small_posts import BEHIND, GUY, post


def test_base_moved_all_around_spans_the_built_angles() -> None:
    """Brute force: the base anywhere on and in a circle of 2 in; a guy 9 ft out and 9 ft down."""
    assessment = assessed()
    assert base_tolerance(assessment.index) == pytest.approx(2 * INCH)
    guy = post(assessment, "P3").parts.guys[0]
    around = np.linspace(0.0, 2 * np.pi, 721)[:, None]
    radius = np.linspace(0.0, 2 * INCH, 5)
    attachment = np.stack(
        [radius * np.cos(around), radius * np.sin(around), 0.0 * (around + radius)], axis=-1
    )
    reach, drop = guy.length * np.sin(guy.angle), guy.length * np.cos(guy.angle)
    angles = guy_run(attachment, np.array([reach, 0.0, -drop])).angle
    assert built_angles(guy, 2 * INCH) == pytest.approx((angles.min(), angles.max()), abs=1e-9)


BANDS: list[tuple[Changes, tuple[float, float] | None]] = [
    ({}, (44.5, 45.5)),  # atan(106/108) is 44.465 degrees, atan(110/108) 45.526
    ({f"{GUY}.greatest_angle.value": "45.2 deg"}, (44.5, 45.2)),
    ({f"{GUY}.least_angle.value": "44.93 deg"}, (45.0, 45.5)),
    ({f"{GUY}.greatest_angle.value": "45 deg", f"{GUY}.least_angle.value": "45 deg"}, (45.0, 45.0)),
    ({f"{GUY}.greatest_angle.value": "44.8 deg"}, None),  # as drawn it is beyond
]


@pytest.mark.parametrize(("changes", "degrees"), BANDS)
def test_allowed_angles_lie_in_the_makers_band(changes: Changes, degrees: tuple[float, float] | None) -> None:
    guy = post(assessed(changes), "P3").parts.guys[0]
    allowed = allowed_angles(guy, 2 * INCH)
    if degrees is None:
        assert allowed is None
    else:
        assert allowed is not None
        assert np.degrees(allowed) == pytest.approx(degrees, abs=1e-9)


def test_what_the_tolerance_takes_out_of_the_band_is_said() -> None:
    found = finding(assessed({f"{GUY}.greatest_angle.value": "45.4 deg"}), "guy.angle", BEHIND)
    assert "lets it stand at as much as 45.6°, above the maker's 45.4°" in found.note
