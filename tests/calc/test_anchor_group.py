"""All modes of a base's anchors together, against the single equations put together by hand."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from planforge.calc import concrete_breakout as concrete
from planforge.calc.anchor_group import (
    AnchorData,
    GroupRatios,
    SlabData,
    group_ratios,
    group_ratios_each,
    shear_breakout_strengths,
    tension_breakout_strength,
)
from planforge.calc.base_anchor import strength_reduction
from planforge.calc.base_plate import hole_pattern

INF = np.inf
ANCHOR = AnchorData(
    diameter=0.0127, effective_depth=0.06, kc=17.0, report_kc=True, steel_tension=50e3, steel_shear=30e3,
    pullout=20e3, critical_edge=0.24, phi=strength_reduction(ductile=True, category=1),
)  # fmt: skip
SLAB = SlabData(strength=20e6, thickness=0.1016, edges=(-INF, 0.35, -INF, INF))
HOLES = hole_pattern(0.15, 0.15, 0.0)
EVEN = np.full(4, 2000.0)


def test_tension_by_hand() -> None:
    """Edge at 0.275 m is beyond 1.5 hef: Ncbg = (0.15 + 0.18)^2 / (9 hef^2) Nb."""
    expected = 0.33**2 / (9.0 * 0.06**2) * concrete.basic_tension_strength(17.0, 20e6, 0.06)
    assert tension_breakout_strength(ANCHOR, SLAB, HOLES, EVEN) == pytest.approx(expected)
    found = group_ratios(ANCHOR, SLAB, HOLES, EVEN, np.zeros(2))
    assert found.tension_breakout == pytest.approx(8000.0 / (0.65 * expected))
    assert found.steel_tension == pytest.approx(2000.0 / (0.75 * 50e3))
    assert found.pullout == pytest.approx(2000.0 / (0.65 * 20e3))
    assert found.shear == 0.0
    assert found.combined == found.tension


def test_shear_towards_the_edge_by_hand() -> None:
    """Row at ca1 0.275 m in a 0.1016 m slab: width 0.15 + 3 ca1, full thickness, psi_h = sqrt(1.5 ca1/ha)."""
    ca1, ha = 0.275, 0.1016
    basic = concrete.basic_shear_strength(0.0127, 0.06, 20e6, ca1)
    expected = (0.15 + 3.0 * ca1) * ha / (4.5 * ca1**2) * np.sqrt(1.5 * ca1 / ha) * basic
    towards, along = shear_breakout_strengths(ANCHOR, SLAB, HOLES, 1)
    assert towards == pytest.approx(expected)
    assert along == pytest.approx(2.0 * expected)
    assert shear_breakout_strengths(ANCHOR, SLAB, HOLES, 0) == (INF, INF)
    found = group_ratios(ANCHOR, SLAB, HOLES, np.zeros(4), np.array([6000.0, 0.0]))
    assert found.shear_breakout == pytest.approx(6000.0 / (0.70 * expected))
    assert found.steel_shear == pytest.approx(1500.0 / (0.65 * 30e3))
    assert found.tension == 0.0


def test_least_of_each_kind_of_strength_governs() -> None:
    """Greatest of the tension modes with the greatest of the shear modes: (0.5 + 0.6)/1.2 (17.8.3)."""
    for turn in range(3):
        tension, shear = np.roll([0.3, 0.5, 0.4], turn), np.roll([0.2, 0.6, 0.1], turn)
        ratios = GroupRatios(*tension, *shear)
        assert (ratios.tension, ratios.shear) == (0.5, 0.6)
        assert ratios.combined == pytest.approx(1.1 / 1.2)


def test_end_of_a_strip_by_hand() -> None:
    """Edges at 0.05 m on three sides of a 0.15 m square, hef 0.06: hef is s/3 = 0.05 (17.6.2.1.2).

    ANc = (0.15 + 2 x 0.05) (0.15 + 0.05 + 0.075), ANco = 9 x 0.05^2, psi_ed = 0.7 + 0.3 x 0.05/0.075, and
    Nb = 7.11 sqrt(f'c) hef^1.5 in N, MPa, mm, kc = 17 in metric units.
    """
    slab = dataclasses.replace(SLAB, edges=(-0.125, 0.125, -0.125, INF))
    area = 0.25 * 0.275 / (9.0 * 0.05**2)
    basic = 7.11 * np.sqrt(20.0) * 50.0**1.5
    found = tension_breakout_strength(ANCHOR, slab, HOLES, EVEN)
    assert float(found) == pytest.approx(area * 0.9 * basic, rel=1e-3)


def test_mirrored_base_has_the_same_strength() -> None:
    """Near one edge or the opposite one, pushed towards it: the same in every mode."""
    for axis in (0, 1):
        low, high = [-INF, INF, -INF, INF], [-INF, INF, -INF, INF]
        low[2 * axis], high[2 * axis + 1] = -0.16, 0.16
        push = np.eye(2)[axis] * 3000.0 + 700.0 * np.eye(2)[1 - axis]
        found = [
            group_ratios(ANCHOR, dataclasses.replace(SLAB, edges=tuple(edges)), HOLES, EVEN, sign * push)
            for edges, sign in ((low, -1.0), (high, 1.0))
        ]
        assert found[0].shear_breakout > 0.3
        for field in dataclasses.fields(GroupRatios):
            assert getattr(found[0], field.name) == pytest.approx(getattr(found[1], field.name)), field.name


def test_shear_away_from_the_edge_does_not_break_it_out() -> None:
    shears = np.array([[-6000.0, 0.0], [6000.0, 0.0], [0.0, 6000.0]])
    away, towards, along = group_ratios(ANCHOR, SLAB, HOLES, np.zeros((3, 4)), shears).shear_breakout
    assert away == 0.0
    assert towards == pytest.approx(2.0 * along)


def test_pryout_counts_every_anchor() -> None:
    """kcp = 1 below 2.5 in, with Ncbg of all four though only two pull."""
    pulling = np.array([0.0, 3000.0, 3000.0, 0.0])
    found = group_ratios(ANCHOR, SLAB, HOLES, pulling, np.array([-4000.0, 0.0]))
    everyone = tension_breakout_strength(ANCHOR, SLAB, HOLES, np.ones(4))
    assert found.pryout == pytest.approx(4000.0 / (0.70 * everyone))
    assert tension_breakout_strength(ANCHOR, SLAB, HOLES, pulling) < everyone


@pytest.mark.parametrize(
    "worse",
    [
        {"slab": {"edges": (-INF, 0.12, -INF, INF)}},
        {"slab": {"strength": 15e6}},
        {"slab": {"lightweight": 0.75}},
        {"anchor": {"effective_depth": 0.045}},
        {"anchor": {"phi": strength_reduction(ductile=True, category=3)}},
    ],
    ids=str,
)
def test_what_weakens_the_concrete_raises_the_ratio(worse: dict[str, dict[str, object]]) -> None:
    shear = np.array([2000.0, 500.0])
    anchor = dataclasses.replace(ANCHOR, **worse.get("anchor", {}))  # type: ignore[arg-type]
    slab = dataclasses.replace(SLAB, **worse.get("slab", {}))  # type: ignore[arg-type]
    before, after = (group_ratios(a, s, HOLES, EVEN, shear) for a, s in ((ANCHOR, SLAB), (anchor, slab)))
    assert after.tension_breakout > before.tension_breakout
    assert after.combined > before.combined


def test_uneven_tension_costs_strength() -> None:
    uneven = np.array([1000.0, 3000.0, 3000.0, 1000.0])
    assert tension_breakout_strength(ANCHOR, SLAB, HOLES, uneven) < tension_breakout_strength(
        ANCHOR, SLAB, HOLES, EVEN
    )


def test_turning_the_frame_changes_nothing() -> None:
    """Slab, holes and loads turned by 90 degrees together."""
    edges = (-0.4, 0.3, -0.5, 0.9)
    tensions, shear = np.array([100.0, 2500.0, 900.0, 0.0]), np.array([1500.0, 700.0])
    turn = np.array([[0.0, 1.0], [-1.0, 0.0]])  # (x, y) -> (-y, x)
    slab = dataclasses.replace(SLAB, edges=edges)
    turned = dataclasses.replace(SLAB, edges=(-edges[3], -edges[2], edges[0], edges[1]))
    one = group_ratios(ANCHOR, slab, HOLES, tensions, shear)
    two = group_ratios(ANCHOR, turned, HOLES @ turn, tensions, shear @ turn)
    assert [float(getattr(two, f.name)) for f in dataclasses.fields(one)] == pytest.approx(
        [float(getattr(one, f.name)) for f in dataclasses.fields(one)]
    )


def test_batch_is_its_members() -> None:
    rng = np.random.default_rng(5)
    tensions, shears = rng.uniform(-500.0, 3000.0, (4, 3, 4)).clip(0.0), rng.normal(size=(4, 3, 2)) * 2000.0
    together = group_ratios(ANCHOR, SLAB, HOLES, tensions, shears)
    assert together.combined.shape == (4, 3)
    assert together.combined[2, 1] == pytest.approx(
        group_ratios(ANCHOR, SLAB, HOLES, tensions[2, 1], shears[2, 1]).combined
    )


def test_bases_reckoned_together_are_as_each_by_itself() -> None:
    """At other places on the slab, one turned, some without any anchor in tension."""
    rng = np.random.default_rng(2)
    slabs = [
        dataclasses.replace(SLAB, edges=e)
        for e in (SLAB.edges, (-0.3, 0.4, -0.2, 5.0), (-9.0, 9.0, -INF, 0.11))
    ]
    holes = np.array([HOLES, hole_pattern(0.15, 0.15, 0.4), HOLES])
    of = np.sort(rng.integers(0, 3, 40))
    tensions = np.maximum(rng.normal(size=(40, 4)) * 4000.0, 0.0)
    tensions[::7] = 0.0
    shear = rng.normal(size=(40, 2)) * 3000.0
    together = group_ratios_each(ANCHOR, slabs, holes, of, tensions, shear)
    for n, slab in enumerate(slabs):
        alone = group_ratios(ANCHOR, slab, holes[n], tensions[of == n], shear[of == n])
        for field in dataclasses.fields(alone):
            own = getattr(together, field.name)[of == n]
            assert own == pytest.approx(getattr(alone, field.name), rel=1e-12), field.name
