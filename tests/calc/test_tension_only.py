"""The search for slack bars: a case that needs every set tried, one that nothing holds, too many bars."""

from __future__ import annotations

import numpy as np
import pytest

from planforge.calc import tension_only
from planforge.calc.tension_only import TensionOnly, solve_tension_only
from planforge.errors import CalculationError


def problem(bars: int, seed: int, base: float = 0.0) -> TensionOnly:
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(bars, bars))
    return TensionOnly(
        root @ root.T + 0.01 * np.eye(bars), rng.normal(size=(2, bars)), base, rng.normal(size=(40, bars)),
        rng.normal(size=(40, 2)),
    )  # fmt: skip


@pytest.mark.parametrize("seed", range(25))
@pytest.mark.parametrize("base", [0.0, 1.0, np.inf])
def test_answers_satisfy_the_conditions(seed: int, base: float) -> None:
    """Strongly coupled random bars, far from any post: the conditions of the module hold to round-off."""
    given = problem(5, seed, base)
    held = np.random.default_rng(seed + 100).uniform(size=(40, 5)) > 0.15
    found = solve_tension_only(given, held)
    t, p = found.tension[found.stands], found.tilt[found.stands]
    gap = given.gap[found.stands] - t @ given.compliance - p @ given.lever
    active = held[found.stands]
    assert np.all(t >= 0.0) and np.all(t[~active] == 0.0)
    assert np.max(np.where(active, gap, -1.0), initial=-1.0) < 1e-7
    assert np.max(np.abs(t * gap * active), initial=0.0) < 1e-6
    if np.isfinite(base):
        assert t @ given.lever.T - base * p == pytest.approx(-given.tipping[found.stands], abs=1e-6)
    if base > 0.0:
        assert found.stands.all()


def test_quick_rounds_and_the_full_search_agree() -> None:
    """Every case once more by trying all sets, which alone decides what stands."""
    given, held = problem(5, 3), np.ones((40, 5), dtype=bool)
    quick = solve_tension_only(given, held)
    tension, tilt = tension_only._search_all(tension_only._scaled(given), np.arange(40), held[0])
    assert (~np.isnan(tilt[:, 0])).tolist() == quick.stands.tolist()
    assert not quick.stands.all() and quick.stands.any()
    for i in np.flatnonzero(quick.stands):
        assert quick.tension[i] == pytest.approx(np.maximum(tension[i], 0.0), abs=1e-7)


def test_cases_searched_together_are_as_each_by_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever bars they have, and however many are searched at once."""
    given = problem(5, 3)
    held = np.random.default_rng(8).random((40, 5)) < 0.8
    scaled = tension_only._scaled(given)
    alone = [tension_only._search_all(scaled, np.array([i]), held[i]) for i in range(40)]
    for trials in (1, 40, 1 << 12):
        monkeypatch.setattr(tension_only, "_TRIALS", trials)
        groups = list(tension_only._alike(np.arange(40), held))
        assert sorted(i for group in groups for i in group) == list(range(40))
        for group in groups:
            assert len(group) == 1 or len(group) << int(held[group[0]].sum()) <= trials
            tension, tilt = tension_only._search_all(scaled, group, held[group[0]])
            assert np.array_equal(tension, np.concatenate([alone[i][0] for i in group]), equal_nan=True)
            assert np.array_equal(tilt, np.concatenate([alone[i][1] for i in group]), equal_nan=True)


def test_cases_that_come_to_no_rest_are_searched(monkeypatch: pytest.MonkeyPatch) -> None:
    """Some random cases cycle in the quick rounds; counted here, so that the search is known to be used."""
    searched: list[int] = []
    search = tension_only._search_all

    def count(given: tension_only._Scaled, cases: tension_only.Indexes, held: tension_only.Bools) -> object:
        searched.extend(cases.tolist())
        return search(given, cases, held)

    monkeypatch.setattr(tension_only, "_search_all", count)
    standing = 0
    for seed in range(25):
        searched.clear()
        stands = solve_tension_only(problem(5, seed), np.ones((40, 5), dtype=bool)).stands
        standing += int(np.sum(stands[searched]))
    assert standing > 0


def test_one_bar_holds_only_its_own_side() -> None:
    """A free body, one bar with a lever of 2 m against +x: it takes m/2 or nothing stands."""
    given = TensionOnly(
        np.array([[1e-6]]), np.array([[-2.0], [0.0]]), 0.0, np.zeros((3, 1)),
        np.array([[100.0, 0.0], [-100.0, 0.0], [0.0, 100.0]]),
    )  # fmt: skip
    found = solve_tension_only(given, np.ones((3, 1), dtype=bool))
    assert found.stands.tolist() == [True, False, False]
    assert found.tension[0] == pytest.approx([50.0])
    assert np.all(np.isnan(found.tension[1:]))


def test_more_bars_than_can_be_searched_is_said() -> None:
    bars = tension_only.MOST_BARS + 1
    given = TensionOnly(np.eye(bars), -np.ones((2, bars)), 0.0, np.zeros((1, bars)), np.array([[-1.0, 0.0]]))
    with pytest.raises(CalculationError, match="Model fewer guys"):
        solve_tension_only(given, np.ones((1, bars), dtype=bool))
