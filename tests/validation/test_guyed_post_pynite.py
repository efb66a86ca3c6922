"""The guyed post against PyNite 3.2 (PyNiteFEA, PyPI), a direct-stiffness frame program for Python.

160 random rigs: posts of one to three tubes, three to six guys with and without pretension, two lines
pulling at the head and below it, wind and weight along the post, bases from pinned to stiff. The frame is
built of PyNite's beam members and springs, so that program and method differ from ours (virtual work).
Compared: guy tensions, head movement, base reaction, moments at every node.

PyNite's own tension-only search drops guys and never takes one up again, so it is not used. The frame gets
the guys that ours finds pulling (pretension as nodal forces), and its movements must then stretch each of
them and leave every other slack. Those conditions admit one solution only, so that this proves the choice.
Heights fall on a 5 cm grid: nodes a fraction of a millimetre apart cost the stiffness method its digits.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from Pynite import FEModel3D

from planforge.calc.guyed_post import Guys, Loads, Post, Response, pull, solve_post

from .cases import Case

_SOURCE = "PyNite 3.2, frame with springs"
_E, _NU = 200e9, 0.3
Rig = tuple[Post, Guys, Loads]


def random_rig(rng: np.random.Generator) -> Rig:
    tubes = int(rng.integers(1, 4))
    heights = 0.05 * np.cumsum(rng.integers(20, 31, tubes))
    post = Post(
        heights,
        rng.uniform(1e5, 1e6, tubes),
        rng.uniform(2e8, 6e8, tubes),
        float(rng.choice([0.0, 2e4, 1e5, 1e6])),
    )
    count = int(rng.integers(3, 7))
    around = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False) + rng.uniform(-0.4, 0.4, count)
    guys = Guys(
        np.round(rng.uniform(12.0, 20.0, count) * post.height) * 0.05,
        around,
        rng.uniform(0.35, 1.0, count),
        10.0 ** rng.uniform(5.7, 7.0, count),
        rng.choice([0.0, 2e3, 8e3]),
    )
    forces = pull(rng.uniform(1e3, 18e3, 2), rng.uniform(0.0, 2.0 * np.pi, 2), rng.uniform(-800.0, 800.0, 2))
    spread = np.array([*rng.uniform(-80.0, 80.0, 2), -150.0])
    return post, guys, Loads(np.array([post.height, post.height - 0.3]), forces, spread)


def in_pynite(rig: Rig, heights: np.ndarray, pulling: np.ndarray) -> dict[str, np.ndarray]:
    """The same rig as a PyNite frame with nodes at ``heights`` and springs for the ``pulling`` guys."""
    post, guys, loads = rig
    model = FEModel3D()
    model.add_material("steel", _E, _E / (2.0 * (1.0 + _NU)), _NU, 0.0)
    node = {round(float(z), 9): f"N{i}" for i, z in enumerate(heights)}
    for i, z in enumerate(heights):
        model.add_node(f"N{i}", 0.0, 0.0, float(z))
    count = len(post.heights)
    EI, EA = np.broadcast_to(post.bending_stiffness, count), np.broadcast_to(post.axial_stiffness, count)
    for i in range(len(heights) - 1):
        part = int(np.searchsorted(post.heights, 0.5 * (heights[i] + heights[i + 1])))
        inertia = EI[part] / _E
        model.add_section(f"S{i}", EA[part] / _E, inertia, inertia, 2.0 * inertia)
        model.add_member(f"M{i}", f"N{i}", f"N{i + 1}", "steel", f"S{i}")
        for axis, w in zip("XYZ", np.asarray(loads.distributed), strict=True):
            model.add_member_dist_load(f"M{i}", f"F{axis}", w, w)
    model.def_support("N0", True, True, True, False, False, True)
    if post.base_stiffness > 0.0:
        model.def_support_spring("N0", "RX", post.base_stiffness)
        model.def_support_spring("N0", "RY", post.base_stiffness)
    towards = np.stack(
        [
            np.sin(guys.angle) * np.cos(guys.azimuth),
            np.sin(guys.angle) * np.sin(guys.azimuth),
            -np.cos(guys.angle),
        ],
        axis=-1,
    )
    tight = np.broadcast_to(guys.pretension, (guys.count,))
    for g in np.flatnonzero(pulling):
        start = np.array([0.0, 0.0, guys.height[g]])
        model.add_node(f"A{g}", *(start + 4.0 * towards[g]))
        model.def_support(f"A{g}", True, True, True, True, True, True)
        at = node[round(float(guys.height[g]), 9)]
        model.add_spring(f"G{g}", at, f"A{g}", float(guys.stiffness[g]))
        _push(model, at, tight[g] * towards[g])
    for z, force in zip(loads.heights, loads.force, strict=True):
        _push(model, node[round(float(z), 9)], force)
    model.analyze(check_stability=False, sparse=False)
    case = "Combo 1"
    nodes = [model.nodes[f"N{i}"] for i in range(len(heights))]
    # Member axes differ from ours: resultants are compared, which for a round tube is all that counts.
    moments = [
        [np.hypot(member.moment("My", x, case), member.moment("Mz", x, case)) for x in (0.0, member.L())]
        for member in (model.members[f"M{i}"] for i in range(len(heights) - 1))
    ]
    base = nodes[0]
    moved = np.array([[n.DX[case], n.DY[case], n.DZ[case]] for n in nodes])
    at = [int(node[round(float(h), 9)][1:]) for h in guys.height]
    return {
        "guy tension": tight - guys.stiffness * np.sum(moved[at] * towards, axis=-1),
        "head movement": moved[-1],
        "base force": np.array([base.RxnFX[case], base.RxnFY[case], base.RxnFZ[case]]),
        "moment along the post": np.array(moments),
    }


def _push(model: object, node: str, force: np.ndarray) -> None:
    for axis, value in zip("XYZ", force, strict=True):
        model.add_node_load(node, f"F{axis}", float(value))  # type: ignore[attr-defined]


def ours(answer: Response) -> dict[str, np.ndarray]:
    return {
        "guy tension": answer.tension,
        "head movement": answer.head,
        "base force": answer.base_force,
        "moment along the post": np.linalg.norm(answer.moment, axis=-1),
    }


@cache
def worst() -> dict[str, float]:
    """Greatest difference of each quantity over all rigs, as a part of its greatest value in the rig."""
    rng, result = np.random.default_rng(20_260), dict.fromkeys(_QUANTITIES, 0.0)
    for _ in range(_RIGS):
        rig = random_rig(rng)
        answer = solve_post(*rig)
        assert answer.stands
        pulling = answer.tension > 0.0
        found, theirs = ours(answer), in_pynite(rig, answer.heights, pulling)
        assert np.array_equal(theirs["guy tension"] > 0.0, pulling)
        theirs["guy tension"] = np.maximum(theirs["guy tension"], 0.0)
        for name in _QUANTITIES:
            difference = np.max(np.abs(found[name] - theirs[name])) / np.max(np.abs(theirs[name]))
            result[name] = max(result[name], float(difference))
    return result


_QUANTITIES = ("guy tension", "head movement", "base force", "moment along the post")
_RIGS = 160

CASES = [
    Case(
        _SOURCE,
        f"{_RIGS} random rigs: worst difference of {name}",
        0.0,
        lambda n=name: worst()[n],
        "part",
        0.01,
        "two programs, two methods",
        absolute=True,
    )
    for name in _QUANTITIES
]


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.case)
def test_frame(case: Case) -> None:
    case.check()
