"""The guyed post: statics by hand, symmetry, equilibrium, slack guys, and posts that do not stand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planforge.calc.guyed_post import (
    NO_GUYS,
    Guys,
    Loads,
    Post,
    Response,
    head_stiffness,
    head_stiffness_each,
    one_missing,
    pull,
    solve_post,
    solve_posts,
)
from planforge.errors import CalculationError

EI, EA, K = 4.0e5, 3.5e8, 3.0e6
HEAD = np.array([3.6])
POST = Post(HEAD, EI, EA)


def head_load(*forces: np.ndarray) -> Loads:
    """All ``forces`` at once at the head."""
    return Loads(np.full(len(forces), 3.6), np.stack(forces, axis=-2))


def four_guys(pretension: float = 0.0, angle: float = 45.0, height: float = 3.6) -> Guys:
    return Guys(
        np.full(4, height), np.radians([180.0, 270.0, 0.0, 90.0]), np.full(4, math.radians(angle)),
        np.full(4, K), pretension,
    )  # fmt: skip


def random_rig(seed: int) -> tuple[Post, Guys, Loads]:
    """A post with 3-6 guys, two lines, wind, and any base."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(3, 7))
    heights = np.cumsum(rng.uniform(0.8, 1.8, int(rng.integers(1, 4))))
    post = Post(heights, rng.uniform(1e5, 1e6, len(heights)), 3e8, float(rng.choice([0.0, 2e4, 1e6, np.inf])))
    around = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False) + rng.uniform(-0.3, 0.3, count)
    guys = Guys(
        rng.uniform(0.5, 1.0, count) * post.height, around, rng.uniform(0.35, 1.0, count),
        10.0 ** rng.uniform(5.5, 7.0, count), rng.choice([0.0, 1000.0]), rng.uniform(0.0, 0.06, count),
    )  # fmt: skip
    forces = pull(
        rng.uniform(500.0, 18e3, 2), rng.uniform(0.0, 2.0 * np.pi, 2), rng.uniform(-800.0, 800.0, 2)
    )
    spread = np.array([*rng.uniform(-80.0, 80.0, 2), -150.0])
    return post, guys, Loads(np.array([post.height, 0.93 * post.height]), forces, spread)


def turned(guys: Guys, loads: Loads, by: float) -> tuple[Guys, Loads]:
    c, s = math.cos(by), math.sin(by)
    turn = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
    rotated = Guys(guys.height, guys.azimuth + by, guys.angle, guys.stiffness, guys.pretension, guys.offset)
    return rotated, Loads(loads.heights, loads.force @ turn, np.asarray(loads.distributed) @ turn)


class TestStaticsByHand:
    @pytest.mark.parametrize(
        ("degrees", "tension", "uplift"), [(45.0, 5657.0, 4000.0), (20.0, 11695.0, 10990.0)]
    )
    def test_one_guy_holds_the_pull(self, degrees: float, tension: float, uplift: float) -> None:
        """T = H / sin, uplift H / tan at a pinned post: 4,000 lbf at 45 and 20 degrees, in lbf here."""
        answer = solve_post(POST, four_guys(angle=degrees), head_load(pull(4000.0, 0.0)))
        assert answer.tension == pytest.approx([tension, 0.0, 0.0, 0.0], rel=1e-4, abs=1e-9)
        assert answer.axial[0] == pytest.approx([uplift, uplift], rel=1e-4)
        assert answer.largest_compression == pytest.approx(uplift, rel=1e-4)
        assert answer.base_force == pytest.approx([0.0, 0.0, uplift], rel=1e-4, abs=1e-6)

    def test_head_movement_of_one_guy(self) -> None:
        """u = T / (k sin) + H/tan^2 h / EA: guy's stretch and post's shortening, both by work."""
        answer = solve_post(POST, four_guys(), head_load(pull(10e3, 0.0)))
        expected = 10e3 / (K * math.sin(math.pi / 4) ** 2) + 10e3 * 3.6 / EA
        assert answer.head[0] == pytest.approx(expected, rel=1e-12)

    def test_guy_below_the_head_bends_the_post(self) -> None:
        """Pinned post, guy at 3.0 m, pull at 3.6 m: M = H 0.6 m at the guy, H at the guy is 1.2 H."""
        answer = solve_post(POST, four_guys(height=3.0), head_load(pull(10e3, 0.0)))
        assert answer.moment_at(3.0) == pytest.approx(6000.0, rel=1e-12)
        assert answer.largest_moment == pytest.approx(6000.0, rel=1e-12)
        assert answer.shear[:, :, 0] == pytest.approx(np.array([[-2e3, -2e3], [10e3, 10e3]]), rel=1e-9)
        assert answer.tension[0] == pytest.approx(12e3 / math.sin(math.pi / 4), rel=1e-12)
        assert answer.base_force[0] == pytest.approx(2e3, rel=1e-9)

    def test_cantilever(self) -> None:
        """H h^3 / (3 EI) + H h^2 / k of a post without guys on a yielding base."""
        answer = solve_post(Post(HEAD, EI, EA, 1e6), NO_GUYS, head_load(pull(1000.0, 0.7)))
        expected = 1000.0 * (3.6**3 / (3.0 * EI) + 3.6**2 / 1e6)
        assert np.hypot(*answer.head[:2]) == pytest.approx(expected, rel=1e-12)
        assert np.hypot(*answer.base_moment) == pytest.approx(3600.0, rel=1e-12)
        assert answer.largest_moment == pytest.approx(3600.0, rel=1e-12)

    def test_uniform_wind_on_a_cantilever(self) -> None:
        """w h^4 / (8 EI) and w h^2 / 2, though the joint at 1.7 m cuts the post in two."""
        post = Post(np.array([1.7, 3.6]), EI, EA, np.inf)
        answer = solve_post(post, NO_GUYS, Loads(HEAD, np.zeros((1, 3)), np.array([50.0, 0.0, 0.0])))
        assert answer.head[0] == pytest.approx(50.0 * 3.6**4 / (8.0 * EI), rel=1e-12)
        assert answer.base_moment[0] == pytest.approx(50.0 * 3.6**2 / 2.0, rel=1e-12)
        assert answer.moment_at(1.7) == pytest.approx(50.0 * 1.9**2 / 2.0, rel=1e-12)
        assert answer.shear[:, :, 0] == pytest.approx(50.0 * np.array([[3.6, 1.9], [1.9, 0.0]]), abs=1e-9)

    def test_collar_off_the_axis_adds_a_moment(self) -> None:
        """The guy's downward pull at a collar's radius r steps the moment by T cos(angle) r."""
        guys = Guys(np.array([3.0]), np.array([math.pi]), np.array([math.pi / 4]), np.array([K]), 0.0, 0.05)
        answer = solve_post(Post(HEAD, EI, EA, np.inf), guys, head_load(pull(10e3, 0.0)))
        step = answer.moment[0, 1, 0] - answer.moment[1, 0, 0]
        assert step == pytest.approx(-answer.tension[0] * math.cos(math.pi / 4) * 0.05, rel=1e-9)

    def test_pretension_alone_presses_the_post(self) -> None:
        """Four guys at T0 shorten the post a little and keep nearly T0: 4 T cos at the base."""
        answer = solve_post(POST, four_guys(2000.0), head_load(pull(0.0, 0.0)))
        assert np.ptp(answer.tension) < 1e-9 * 2000.0
        assert 0.9 * 2000.0 < answer.tension[0] < 2000.0
        assert answer.base_force[2] == pytest.approx(
            4.0 * answer.tension[0] * math.cos(math.pi / 4), rel=1e-12
        )


class TestProperties:
    @given(st.integers(0, 10_000))
    @settings(max_examples=60, deadline=None)
    def test_equilibrium(self, seed: int) -> None:
        """Forces and moments about the base, summed from the answer alone, vanish to 1e-9 of the loads."""
        post, guys, loads = random_rig(seed)
        answer = solve_post(post, guys, loads)
        assert answer.stands
        towards = np.stack([np.cos(guys.azimuth), np.sin(guys.azimuth)], axis=-1)
        aside = (answer.tension * np.sin(guys.angle))[:, None] * towards
        down = answer.tension * np.cos(guys.angle)
        spread = np.asarray(loads.distributed) * post.height
        force = loads.force.sum(axis=0) + spread + answer.base_force
        force += np.array([*aside.sum(axis=0), -down.sum()])
        moment = (loads.force[:, :2] * loads.heights[:, None]).sum(axis=0) + spread[:2] * post.height / 2.0
        moment += (aside * guys.height[:, None] + (down * guys.offset)[:, None] * towards).sum(axis=0)
        assert force == pytest.approx(np.zeros(3), abs=1e-9 * 20e3)
        assert moment - answer.base_moment == pytest.approx(np.zeros(2), abs=1e-9 * 70e3)
        if np.isfinite(post.base_stiffness):
            assert answer.base_moment == pytest.approx(post.base_stiffness * answer.slope[0], abs=1e-6 * 20e3)

    @given(st.integers(0, 10_000))
    @settings(max_examples=60, deadline=None)
    def test_guys_pull_by_their_stretch_and_never_push(self, seed: int) -> None:
        """Each tension is max(0, T0 + k x stretch), the stretch taken from the answer's own movements."""
        post, guys, loads = random_rig(seed)
        answer = solve_post(post, guys, loads)
        node = [int(np.argmin(np.abs(answer.heights - h))) for h in guys.height]
        towards = np.stack([np.cos(guys.azimuth), np.sin(guys.azimuth)], axis=-1)
        aside = (answer.displacement[node, :2] * towards).sum(axis=-1)
        lean = (answer.slope[node] * towards).sum(axis=-1)
        lowered = -answer.displacement[node, 2] + lean * guys.offset
        stretch = -(aside * np.sin(guys.angle) + lowered * np.cos(guys.angle))
        wanted = np.maximum(np.asarray(guys.pretension) + guys.stiffness * stretch, 0.0)
        assert answer.tension == pytest.approx(wanted, abs=1e-6 * 20e3)
        assert np.all(answer.tension >= 0.0)

    @given(st.integers(0, 10_000), st.floats(0.0, 6.28))
    @settings(max_examples=40, deadline=None)
    def test_turning_everything_turns_the_answer(self, seed: int, by: float) -> None:
        post, guys, loads = random_rig(seed)
        before, after = solve_post(post, guys, loads), solve_post(post, *turned(guys, loads, by))
        assert after.tension == pytest.approx(before.tension, rel=1e-8, abs=1e-3)
        assert after.largest_moment == pytest.approx(before.largest_moment, rel=1e-8)
        assert np.hypot(*after.head[:2]) == pytest.approx(np.hypot(*before.head[:2]), rel=1e-8, abs=1e-12)

    @given(st.integers(0, 10_000))
    @settings(max_examples=40, deadline=None)
    def test_mirror(self, seed: int) -> None:
        post, guys, loads = random_rig(seed)
        flip = np.array([1.0, -1.0, 1.0])
        mirrored = Guys(guys.height, -guys.azimuth, guys.angle, guys.stiffness, guys.pretension, guys.offset)
        before = solve_post(post, guys, loads)
        after = solve_post(post, mirrored, Loads(loads.heights, loads.force * flip, loads.distributed * flip))
        assert after.tension == pytest.approx(before.tension, rel=1e-8, abs=1e-3)
        assert after.head == pytest.approx(before.head * flip, rel=1e-8, abs=1e-10)

    @given(st.integers(0, 10_000), st.floats(1.05, 3.0))
    @settings(max_examples=40, deadline=None)
    def test_more_load_more_tension(self, seed: int, more: float) -> None:
        """Without pretension the problem is one of proportion: everything grows alike."""
        post, guys, loads = random_rig(seed)
        bare = Guys(guys.height, guys.azimuth, guys.angle, guys.stiffness, 0.0, guys.offset)
        once = solve_post(post, bare, loads)
        grown = Loads(loads.heights, more * loads.force, more * np.asarray(loads.distributed))
        assert solve_post(post, bare, grown).tension == pytest.approx(more * once.tension, rel=1e-8, abs=1e-3)

    def test_more_pull_more_tension_with_pretension(self) -> None:
        loads = Loads(HEAD, pull(np.linspace(0.0, 18e3, 19), 0.3)[:, None, :])
        answer = solve_post(Post(HEAD, EI, EA, 5e4), four_guys(1500.0), loads)
        assert np.all(np.diff(np.max(answer.tension, axis=-1)) > 0.0)
        assert np.all(np.diff(np.linalg.norm(answer.head[..., :2], axis=-1)) > 0.0)

    @given(st.integers(0, 10_000))
    @settings(max_examples=30, deadline=None)
    def test_a_batch_is_its_members(self, seed: int) -> None:
        post, guys, loads = random_rig(seed)
        cases = one_missing(guys.count)
        together = solve_post(post, guys, loads, cases)
        for i, present in enumerate(cases):
            alone = solve_post(post, guys, loads, present)
            assert together.stands[i] == alone.stands
            if alone.stands:
                assert together.tension[i] == pytest.approx(alone.tension, rel=1e-9, abs=1e-6)
                assert together.tension[i][~present] == pytest.approx(0.0)


class TestHolding:
    def test_missing_back_guy_at_a_pinned_base_does_not_stand(self) -> None:
        """Of each guy missing in turn only the back guy lets the post fall; its numbers are NaN."""
        answer = solve_post(POST, four_guys(), head_load(pull(10e3, 0.0)), one_missing(4))
        assert answer.stands.tolist() == [True, False, True, True, True]
        assert np.all(np.isnan(answer.tension[1])) and np.all(np.isnan(answer.base_force[1]))
        assert np.all(np.isnan(answer.moment[1]))

    def test_a_base_that_resists_stands_without_the_guy(self) -> None:
        answer = solve_post(Post(HEAD, EI, EA, 5e4), four_guys(), head_load(pull(10e3, 0.0)), one_missing(4))
        assert answer.stands.all()
        assert np.hypot(*answer.base_moment[1]) == pytest.approx(36e3, rel=1e-9)

    def test_any_direction_around_the_circle(self) -> None:
        """Four guys at right angles, a pull from every 10 degrees: period 90 degrees, mirror about 45."""
        azimuths = np.radians(np.arange(0.0, 360.0, 10.0))
        loads = Loads(HEAD, pull(10e3, azimuths)[:, None, :])
        highest = np.max(solve_post(POST, four_guys(500.0), loads).tension, axis=-1)
        assert highest.reshape(4, 9) == pytest.approx(np.tile(highest[:9], (4, 1)), rel=1e-9)
        assert highest[1:9] == pytest.approx(highest[8:0:-1], rel=1e-9)

    def test_corner_post_two_lines(self) -> None:
        """Lines at right angles and one guy on the bisector: T = sqrt(2) H / sin."""
        guys = Guys(HEAD, np.array([math.radians(225.0)]), np.array([math.pi / 4]), np.array([K]))
        loads = head_load(pull(8e3, 0.0), pull(8e3, math.pi / 2))
        answer = solve_post(POST, guys, loads)
        assert answer.tension == pytest.approx([8e3 * math.sqrt(2.0) / math.sin(math.pi / 4)], rel=1e-9)

    def test_intermediate_post_line_passes(self) -> None:
        """Equal pulls from both sides leave a guyed intermediate post without tension."""
        answer = solve_post(
            Post(HEAD, EI, EA, 1e5), four_guys(), head_load(pull(8e3, 0.0), pull(8e3, math.pi))
        )
        assert answer.tension == pytest.approx(np.zeros(4), abs=1e-6)
        assert answer.largest_moment == pytest.approx(0.0, abs=1e-6)

    def test_head_stiffness_feeds_the_lifeline(self) -> None:
        """Softer with a guy missing, 0 where the post falls; H / u where no pull was there before."""
        post, guys = Post(HEAD, EI, EA, 0.0), four_guys()
        k = head_stiffness(post, guys, 0.0, 10e3, present=one_missing(4))
        assert k[1] == 0.0
        assert k[0] == pytest.approx(1.0 / (2.0 / K + 3.6 / EA), rel=1e-9)
        based = Post(HEAD, EI, EA, 5e4)
        assert head_stiffness(based, guys, 0.0, 10e3, present=one_missing(4))[1] == pytest.approx(
            1.0 / (3.6**3 / (3.0 * EI) + 3.6**2 / 5e4), rel=1e-9
        )

    def test_secant_falls_once_the_front_guy_hangs_slack(self) -> None:
        k = head_stiffness(POST, four_guys(2000.0), 0.0, np.array([500.0, 5e3, 15e3]))
        assert k[0] > k[1] > k[2] > 0.0

    def test_crowded_guys_come_to_the_same_answer(self) -> None:
        """Two guys in one place share what a single one of twice the stiffness takes."""
        base = four_guys(300.0)
        doubled = Guys(
            np.full(8, 3.6), np.tile(base.azimuth, 2), np.tile(base.angle, 2), np.full(8, K / 2.0), 150.0
        )
        loads = head_load(pull(9e3, 0.4))
        one, two = (solve_post(POST, g, loads) for g in (base, doubled))
        assert two.tension[:4] + two.tension[4:] == pytest.approx(one.tension, rel=1e-9, abs=1e-6)

    @pytest.mark.parametrize(
        ("change", "message"),
        [
            (lambda: Post(np.array([2.0, 1.0]), EI, EA), "rise from the base"),
            (lambda: Post(HEAD, 0.0, EA), "EI and EA"),
            (lambda: Guys(HEAD, np.zeros(1), np.array([1.6]), np.array([K])), "between 0 and 90"),
            (lambda: Guys(HEAD, np.zeros(1), np.array([0.7]), np.array([np.inf])), "finite"),
            (lambda: Guys(HEAD, np.zeros(1), np.array([0.7]), np.array([K]), -1.0), "pretension"),
            (lambda: solve_post(POST, four_guys(height=4.0), head_load(pull(1.0, 0.0))), "reaches"),
            (lambda: head_stiffness(POST, four_guys(), 0.0, 5.0, rest_force=5.0), "two different"),
        ],
    )  # fmt: skip
    def test_bad_input_is_refused(self, change: object, message: str) -> None:
        with pytest.raises(CalculationError, match=message):
            change()  # type: ignore[operator]

    def test_moment_where_there_is_no_node_is_refused(self) -> None:
        answer: Response = solve_post(POST, four_guys(), head_load(pull(1.0, 0.0)))
        with pytest.raises(CalculationError, match="no node"):
            answer.moment_at(1.0)


def test_posts_solved_together_are_as_each_by_itself() -> None:
    """Guys that run and pull otherwise on each post, among them one whose loads it can't hold."""
    rng = np.random.default_rng(4)
    posts = []
    for pretension in (0.0, 300.0, 900.0):
        runs = rng.uniform(0.0, 2 * np.pi, 4), rng.uniform(0.3, 1.2, 4)
        posts.append(Guys(HEAD.repeat(4), *runs, K * rng.uniform(0.5, 2.0, 4), pretension))
    heads = rng.normal(size=(30, 3)) * 5e3
    of = np.sort(rng.integers(0, 3, 30))
    weight = np.array([0.0, 0.0, -100.0])
    for base in (0.0, 4e4, np.inf):
        post = Post(HEAD, EI, EA, base)
        together = solve_posts(post, posts, heads, of, weight)
        assert base > 0.0 or (together.stands.any() and not together.stands.all())
        for n, guys in enumerate(posts):
            alone = solve_post(post, guys, Loads(HEAD, heads[of == n][:, None, :], weight))
            for field in (
                "tension",
                "moment",
                "axial",
                "displacement",
                "base_force",
                "base_moment",
                "stands",
            ):
                own = getattr(together, field)[of == n]
                assert np.allclose(own, getattr(alone, field), rtol=1e-9, atol=1e-9, equal_nan=True), field


def test_stiffness_of_heads_together_is_as_each_by_itself() -> None:
    posts = [four_guys(), four_guys(400.0, 30.0), four_guys(0.0, 60.0)]
    azimuths, of = np.linspace(0.0, 6.0, 12), np.repeat(np.arange(3), 4)
    for base in (0.0, np.inf):
        together = head_stiffness_each(Post(HEAD, EI, EA, base), posts, azimuths, of, 9e3)
        alone = [
            head_stiffness(Post(HEAD, EI, EA, base), guys, azimuths[of == n], 9e3)
            for n, guys in enumerate(posts)
        ]
        assert together == pytest.approx(np.concatenate(alone), rel=1e-9)


def test_posts_with_guys_at_other_heights_are_not_solved_together() -> None:
    with pytest.raises(CalculationError, match="as many guys at the same heights"):
        solve_posts(POST, [four_guys(), four_guys(height=3.0)], np.zeros((2, 3)), np.arange(2), np.zeros(3))
