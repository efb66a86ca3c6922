"""Whatever a job file holds, reading it ends soon: in a job, or in problems that name place and remedy."""

from __future__ import annotations

import copy
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planforge.errors import HIDDEN, JobFileError, Problem
from planforge.job.loading import load, load_job, merged_text
from planforge.job.model import Job

from .examples import few
from .mutations import DEMOS, LOTS, demo, mangled, spoiled, trees, written
from .odd import ODD_TEXTS

LONGEST = 5.0
"""Seconds of processor time: a demo takes 0.05."""
MOST_WORDS = 4000
WHOLE_FILE = {"the fields of a job", "plain text in UTF-8", "plain text", "a YAML file to read"}
"""What is expected of a file as a whole: such a problem has no line of its own."""


@pytest.fixture(scope="module")
def lot(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the spoiled job is written, beside the demos that it may extend."""
    folder = tmp_path_factory.mktemp("lots")
    for file in DEMOS.glob("*.yaml"):
        (folder / file.name).write_bytes(file.read_bytes())
    return folder / "spoiled.yaml"


def look(problem: Problem) -> None:
    """Hold one problem against what a coordinator needs to mend it."""
    words = str(problem)
    assert problem.file
    assert problem.expected
    assert problem.remedy
    assert problem.line > 0 or (problem.line == 0 and problem.expected in WHOLE_FILE), words
    assert problem.field or problem.found or problem.expected in WHOLE_FILE, words
    assert not HIDDEN.search(words), words
    assert not {"\n", "\r"} & set(words)
    assert len(words) < MOST_WORDS, words


def read(path: Path, data: bytes) -> Job | None:
    """The job that the bytes make; None where they are refused in proper words, in time."""
    path.write_bytes(data)
    began = time.process_time()
    try:
        loaded = load(path)
    except JobFileError as error:
        assert error.problems
        for problem in error.problems:
            look(problem)
        return None
    finally:
        assert time.process_time() - began < LONGEST
    path.with_name("again.yaml").write_text(merged_text(loaded), "utf-8")
    assert load_job(path.with_name("again.yaml")) == loaded.model
    return loaded.model


@pytest.mark.parametrize("name", LOTS)
def test_a_demo_as_a_program_writes_it_is_read(lot: Path, name: str) -> None:
    """The other tests begin from these, so each must be sound before it is spoiled."""
    loaded = load(DEMOS / f"{name}.yaml")
    assert read(lot, written(loaded.data)) == loaded.model


@few(30)
@given(
    st.one_of(
        st.binary(max_size=400), st.text(max_size=400).map(lambda text: text.encode("utf-8", "replace"))
    )
)
def test_any_bytes(lot: Path, data: bytes) -> None:
    assert read(lot, data) is None


@few(60)
@given(st.dictionaries(st.sampled_from(sorted(Job.model_fields)), trees(), min_size=1, max_size=4))
def test_any_tree_of_known_names(lot: Path, tree: dict[str, object]) -> None:
    assert read(lot, written(tree)) is None


@few(30)
@given(spoiled().map(written))
def test_a_demo_spoiled_in_a_few_places(lot: Path, data: bytes) -> None:
    read(lot, data)


@few(30)
@given(mangled())
def test_a_demo_whose_text_is_mangled(lot: Path, data: bytes) -> None:
    read(lot, data)


@few(12)
@given(st.one_of(st.sampled_from(ODD_TEXTS), st.text(min_size=1, max_size=60)), st.sampled_from(LOTS))
def test_any_text_comes_through_to_the_letter(lot: Path, text: str, name: str) -> None:
    """A free text is refused for a hidden character, or kept; and again in the job that rides in the plan."""
    tree = copy.deepcopy(demo(name))
    tree["hazards"][0]["exposed"], tree["plan"]["history"][0]["change"] = text, text
    job = read(lot, written(tree))
    refused = (
        not text.strip() or HIDDEN.search(text) or "\r" in text or "\n" in text.strip() or len(text) > 400
    )
    assert (job is None) == bool(refused)
    if job is not None:
        assert job.hazards[0].exposed == job.plan.history[0].change == text.strip()
