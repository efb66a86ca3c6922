"""A round tube under compression, bending and shear after AISC 360: E3, E7, F8, G5, H1 and Appendix 8.

SI: Pa, N, m, N m; axial compression and moments positive. Clause numbers are those of AISC 360-16,
which 360-22 keeps for these clauses (from memory). E3-1 to E3-4, the limits 0.11 E/Fy and 0.07 E/Fy
and F8 were read in published worked examples (see tests/validation); E7.2, G5, H1, Appendix 8
and the limit 0.31 E/Fy are from memory. A section for which D/t >= 0.45 E/Fy is outside the specification.

The sections of a round tube bend alike in every direction: H1 takes the resultant moment.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.calc.arrays import Array, Bools, Values, as_array
from planforge.calc.tube import Tube, area, elastic_modulus, plastic_modulus, wall_slenderness
from planforge.errors import CalculationError

STEEL_E = 199.948e9
"""Pa; 29,000 ksi, AISC 360-16 symbols, rounded to 1 part in a million."""


@dataclass(frozen=True, slots=True)
class Method:
    """Factors of one design method: available strength = factor x nominal strength."""

    name: str
    compression: float  # phi_c or 1/Omega_c, AISC 360-16 E1
    bending: float  # phi_b or 1/Omega_b, AISC 360-16 F1
    shear: float  # phi_v or 1/Omega_v, AISC 360-16 G1
    alpha: float  # on the required axial strength in Appendix 8


ASD = Method("ASD", 1.0 / 1.67, 1.0 / 1.67, 1.0 / 1.67, 1.6)
LRFD = Method("LRFD", 0.90, 0.90, 0.90, 1.0)


def elastic_buckling_stress(slenderness: Values, E: Values = STEEL_E) -> Array:
    """Fe = pi^2 E / (Lc/r)^2, Pa (E3-4); ``slenderness`` is Lc/r, above 0."""
    ratio = as_array(slenderness)
    if not np.all(ratio > 0.0):
        raise CalculationError(f"column: slenderness Lc/r is {np.min(ratio):.6g}; it must be above 0.")
    return np.pi**2 * as_array(E) / ratio**2


def critical_stress(Fy: Values, Fe: Values) -> Array:
    """Fcr, Pa: 0.658^(Fy/Fe) Fy where Fy/Fe <= 2.25 (E3-2), else 0.877 Fe (E3-3)."""
    yield_stress, elastic = as_array(Fy), as_array(Fe)
    ratio = yield_stress / elastic
    return np.where(ratio <= 2.25, 0.658**ratio * yield_stress, 0.877 * elastic)


def within_specification(tube: Tube, Fy: Values, E: Values = STEEL_E) -> Bools:
    """Whether D/t < 0.45 E/Fy, the range of E7.2 and F8."""
    return np.asarray(wall_slenderness(tube) < 0.45 * as_array(E) / as_array(Fy))


def slender_in_compression(tube: Tube, Fy: Values, E: Values = STEEL_E) -> Bools:
    """Whether D/t > 0.11 E/Fy (Table B4.1a, case 9)."""
    return np.asarray(wall_slenderness(tube) > 0.11 * as_array(E) / as_array(Fy))


def compact_in_bending(tube: Tube, Fy: Values, E: Values = STEEL_E) -> Bools:
    """Whether D/t <= 0.07 E/Fy (Table B4.1b, case 20)."""
    return np.asarray(wall_slenderness(tube) <= 0.07 * as_array(E) / as_array(Fy))


def effective_area(tube: Tube, Fy: Values, E: Values = STEEL_E) -> Array:
    """Ae, m2: A, or A (0.038 E / (Fy D/t) + 2/3) where D/t > 0.11 E/Fy (E7-6, E7-7)."""
    reduced = 0.038 * as_array(E) / (as_array(Fy) * wall_slenderness(tube)) + 2.0 / 3.0
    return area(tube) * np.where(slender_in_compression(tube, Fy, E), reduced, 1.0)


def compression_strength(tube: Tube, Fy: Values, slenderness: Values, E: Values = STEEL_E) -> Array:
    """Nominal Pn = Fcr Ae, N (E3-1, E7-1).

    Args:
        tube: the section.
        Fy: Pa, specified yield stress.
        slenderness: Lc/r of the length between points held sideways, Lc = K L.
        E: Pa.

    Raises:
        CalculationError: D/t >= 0.45 E/Fy, for which the specification gives no strength.
    """
    _require_range(tube, Fy, E)
    Fcr = critical_stress(Fy, elastic_buckling_stress(slenderness, E))
    return Fcr * effective_area(tube, Fy, E)


def bending_strength(tube: Tube, Fy: Values, E: Values = STEEL_E) -> Array:
    """Nominal Mn, N m: the least of yielding and local buckling of a round HSS or pipe (F8).

    Yielding Fy Z (F8-1); wall not compact (0.021 E/(D/t) + Fy) S (F8-2); wall slender, D/t over
    0.31 E/Fy, 0.33 E/(D/t) S (F8-3, F8-4).

    Raises:
        CalculationError: D/t >= 0.45 E/Fy, outside F8.
    """
    _require_range(tube, Fy, E)
    stress, modulus, ratio = as_array(Fy), as_array(E), wall_slenderness(tube)
    S, yielding = elastic_modulus(tube), stress * plastic_modulus(tube)
    noncompact = (0.021 * modulus / ratio + stress) * S
    slender = 0.33 * modulus / ratio * S
    buckling = np.where(ratio > 0.31 * modulus / stress, slender, noncompact)
    return np.where(compact_in_bending(tube, Fy, E), yielding, np.minimum(yielding, buckling))


def shear_strength(tube: Tube, Fy: Values, shear_length: Values, E: Values = STEEL_E) -> Array:
    """Nominal Vn = Fcr Ag / 2, N, of a round HSS or pipe (G5-1).

    Fcr is the larger of 1.60 E / (sqrt(Lv/D) (D/t)^1.25) (G5-2a) and 0.78 E / (D/t)^1.5 (G5-2b), at most
    0.6 Fy (from memory).

    Args:
        tube: the section.
        Fy: Pa.
        shear_length: m, Lv, from the greatest shear to none.
        E: Pa.
    """
    ratio, modulus = wall_slenderness(tube), as_array(E)
    long = np.sqrt(as_array(shear_length) / as_array(tube.outer_diameter))
    buckling = np.maximum(1.60 * modulus / (long * ratio**1.25), 0.78 * modulus / ratio**1.5)
    return 0.5 * np.minimum(buckling, 0.6 * as_array(Fy)) * area(tube)


def interaction(axial_ratio: Values, moment_ratio: Values) -> Array:
    """Left side of H1-1a or H1-1b; it must not exceed 1.

    Pr/Pc + 8/9 Mr/Mc where Pr/Pc >= 0.2, else Pr/(2 Pc) + Mr/Mc. ``axial_ratio`` = Pr/Pc of required
    to available compression, ``moment_ratio`` = Mr/Mc of the resultant moment, second order included;
    both 0 or more. A post in tension by its line's upward pull goes by its magnitude (H1.2 uses the
    tensile strength, which is no less than Pc).
    """
    p, m = as_array(axial_ratio), as_array(moment_ratio)
    if not (np.all(p >= 0.0) and np.all(m >= 0.0)):
        raise CalculationError("column: the interaction's ratios must be 0 or more; give magnitudes.")
    return np.where(p >= 0.2, p + 8.0 / 9.0 * m, 0.5 * p + m)


def euler_load(EI: Values, length: Values) -> Array:
    """Pe1 = pi^2 EI / Lc1^2, N (A-8-5), for ends that do not move sideways; ``EI`` in N m2."""
    return np.pi**2 * as_array(EI) / as_array(length) ** 2


def b1_factor(required: Values, euler: Values, method: Method, Cm: Values = 1.0) -> Array:
    """B1 = Cm / (1 - alpha Pr / Pe1), at least 1 (A-8-3): bending within the length.

    ``required`` Pr in N, compression positive; tension does not amplify. ``inf`` where the
    compression reaches the Euler load: the length does not stand.
    """
    return _amplification(method.alpha * as_array(required), as_array(euler), as_array(Cm))


def b2_factor(required: Values, head_stiffness: Values, height: Values, method: Method) -> Array:
    """B2 = 1 / (1 - alpha P / Pe,story), at least 1 (A-8-6, A-8-7): the head's sway.

    Pe,story = RM H L / Delta_H with H / Delta_H the head's first-order stiffness and RM = 0.85, the
    value for a frame in which every column sways; the careful one.

    Args:
        required: N, compression in the post.
        head_stiffness: N/m, horizontally at the head.
        height: m, head over base.
        method: for its alpha.
    """
    story = 0.85 * as_array(head_stiffness) * as_array(height)
    return _amplification(method.alpha * as_array(required), story, as_array(1.0))


def _amplification(load: Array, limit: Array, Cm: Array) -> Array:
    with np.errstate(divide="ignore", invalid="ignore"):
        value = Cm / (1.0 - np.maximum(load, 0.0) / limit)
    return np.where(load >= limit, np.inf, np.maximum(value, 1.0))


def _require_range(tube: Tube, Fy: Values, E: Values) -> None:
    if not np.all(within_specification(tube, Fy, E)):
        raise CalculationError(
            f"column: D/t is {np.max(wall_slenderness(tube)):.4g}; AISC 360 E7.2 and F8 cover D/t below "
            f"0.45 E/Fy = {np.min(0.45 * as_array(E) / as_array(Fy)):.4g}."
        )
