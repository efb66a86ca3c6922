"""Trees of job files are kept by the files' bytes: a change is noticed, use changes nothing, few are kept."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from planforge.job import source
from planforge.job.loading import load
from planforge.units import POUND

DEMOS = Path(__file__).parents[2] / "demo_jobs"


def test_a_shared_file_that_changed_is_read_anew_even_with_its_old_time_and_size(tmp_path: Path) -> None:
    for name in ("company_alder.yaml", "design_wren.yaml"):
        (tmp_path / name).write_bytes((DEMOS / name).read_bytes())
    lot, shared = tmp_path / "lot.yaml", tmp_path / "shared.yaml"
    lot.write_bytes((DEMOS / "wren_lot_7.yaml").read_bytes().replace(b"design_wren.yaml]", b"shared.yaml]"))
    shared.write_text("extends: design_wren.yaml\nuser: {mass: 309 lb}\n", "utf-8")
    stamp = shared.stat()
    assert load(lot).model.user.mass == pytest.approx(309 * POUND)
    shared.write_text("extends: design_wren.yaml\nuser: {mass: 308 lb}\n", "utf-8")
    os.utime(shared, ns=(stamp.st_atime_ns, stamp.st_mtime_ns))
    assert shared.stat().st_size == stamp.st_size
    assert load(lot).model.user.mass == pytest.approx(308 * POUND)


def test_what_lots_do_with_a_tree_leaves_it_as_the_file_states_it() -> None:
    """A lot that mirrors and turns the design, and one that takes it as drawn, both merge over it."""
    for lot in ("heron_lot_15", "heron_lot_14", "heron_lot_15"):
        load(DEMOS / f"{lot}.yaml")
    names = [os.path.normpath(DEMOS / file) for file in ("company_alder.yaml", "design_heron.yaml")]
    hits = source._kept_tree.cache_info().hits
    kept = [source.read_source(Path(name), name) for name in names]
    assert source._kept_tree.cache_info().hits == hits + len(names)
    source._kept_tree.cache_clear()
    fresh = [source.read_source(Path(name), name) for name in names]
    assert kept == fresh
    assert all(a[0] is not b[0] for a, b in zip(kept, fresh, strict=True))


def test_what_is_wrong_with_a_file_is_told_each_time(tmp_path: Path) -> None:
    path = tmp_path / "lot.yaml"
    path.write_text("a: 1\na: 2\n", "utf-8")
    told = []
    for _ in range(2):
        _, problems = source.read_source(path, "lot.yaml")
        told.append(problems.copy())
        problems.clear()
    assert told[0] == told[1]
    assert [problem.line for problem in told[0]] == [2]


def test_the_number_of_kept_trees_is_bounded(tmp_path: Path) -> None:
    for n in range(source.KEPT + 10):
        path = tmp_path / f"{n}.yaml"
        path.write_text(f"a: {n}\n", "utf-8")
        assert source.load_yaml(path).data == {"a": str(n)}
    assert source._kept_tree.cache_info().currsize == source.KEPT
