"""Faults of fields and faults across fields are told in one run, and none that only follows from another."""

from __future__ import annotations

import copy
import random
import re
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from planforge.errors import JobFileError, Problem
from planforge.job.consistency import check_consistency
from planforge.job.extends import Gathered
from planforge.job.model import LOT_ONLY, Job
from planforge.job.positions import FieldPath, Locator
from planforge.job.reading import checked, load_model
from planforge.job.tree import Entry, Mapping, Mark, Node, Scalar, Sequence
from planforge.job.unread import UNREAD, UnreadError, where_read

HERE = Path(__file__).parent
JOBS = {name: (HERE / f"sound_{name}.yaml").read_text(encoding="utf-8") for name in ("job", "posts")}
DATA = {name: yaml.load(text, Loader=yaml.BaseLoader) for name, text in JOBS.items()}
IMPOSSIBLE = [
    (name, case)
    for name, file in (("job", "impossible.yaml"), ("posts", "impossible_posts.yaml"))
    for case in yaml.safe_load((HERE / file).read_text(encoding="utf-8"))
]
_ID = re.compile(r' "[^"]*"\]')
COMPANY = "company: {name: Alder Framing (invented)"
NO_PHONE = 'company.phone: found "a group of fields"'


def problems(folder: Path, text: str, *, checks: bool = True) -> list[str]:
    path = folder / "job.yaml"
    path.write_text(text, encoding="utf-8")
    try:
        load_model(path, Job, lot_only=LOT_ONLY, checks=check_consistency if checks else None)
    except JobFileError as error:
        return [str(problem).replace(str(path), "job.yaml") for problem in error.problems]
    return []


@pytest.mark.parametrize(("name", "case"), IMPOSSIBLE, ids=lambda value: str(value)[:60])
def test_each_impossibility_is_told_beside_a_fault_elsewhere(
    tmp_path: Path, name: str, case: dict[str, Any]
) -> None:
    """Ensures that no rule waits until every field is right."""
    text = JOBS[name].replace(case["change"], case["to"]).replace(COMPANY, f"{COMPANY}, phone: {{}}")
    found = problems(tmp_path, text)
    assert [text for text in found if "company.phone" not in text] == case["problems"]
    assert len(found) == len(case["problems"]) + 1
    lines = [int(text.split(":")[1]) for text in found]
    assert lines == sorted(lines), "by line"


# ---- one part broken in every way, in every place


def told(data: dict[str, Any]) -> tuple[list[str], list[str]]:
    """The problems of a job, each part on a line of its own: all of them, and those across fields."""
    root = tree(data, iter(range(1, 100_000)))
    assert isinstance(root, Mapping)
    across: list[Problem] = []

    def checks(job: Job, locator: Locator) -> list[Problem]:
        across.extend(check_consistency(job, locator))
        return across

    gathered = Gathered(root, ("job.yaml",), (), complete=True, doubtful=frozenset(), lost=False)
    try:
        checked(gathered, Job, lot_only=LOT_ONLY, checks=checks)
    except JobFileError as error:
        return words(error.problems), words(across)
    return [], []


def words(faults: Iterable[Problem]) -> list[str]:
    """Each fault without the ids that labels name entries by, which may themselves be broken."""
    return [f"{_ID.sub(']', fault.field)}: {fault.found}; {fault.expected}" for fault in faults]


def tree(value: Any, lines: Iterator[int]) -> Node:
    mark = Mark("job.yaml", next(lines), 1)
    if isinstance(value, dict):
        entries = {k: Entry(Mark("job.yaml", next(lines), 1), tree(v, lines)) for k, v in value.items()}
        return Mapping(entries, mark)
    if isinstance(value, list):
        return Sequence(tuple(tree(item, lines) for item in value), mark)
    return Scalar({"true": True, "false": False}.get(value, value), mark)


def places(value: Any, path: FieldPath = ()) -> Iterator[FieldPath]:
    if path:
        yield path
    for key, below in value.items() if isinstance(value, dict) else ():
        yield from places(below, (*path, key))
    for index, below in enumerate(value if isinstance(value, list) else ()):
        yield from places(below, (*path, index))


def at(data: Any, path: FieldPath) -> Any:
    for part in path:
        data = data[part]
    return data


def another_kind(data: dict[str, Any], path: FieldPath) -> None:
    old = at(data, path)
    at(data, path[:-1])[path[-1]] = {"odd": "x"} if isinstance(old, str) else "x y"


def misspelt(data: dict[str, Any], path: FieldPath) -> None:
    holder = at(data, path[:-1])
    if isinstance(holder, dict):
        holder[f"{path[-1]}x"] = holder.pop(path[-1])


def misplaced(data: dict[str, Any], path: FieldPath) -> None:
    holder = at(data, path[:-1])
    if isinstance(holder, dict) and len(path) > 1:
        data.setdefault(str(path[-1]), holder.pop(path[-1]))


def left_out(data: dict[str, Any], path: FieldPath) -> None:
    holder = at(data, path[:-1])
    if isinstance(holder, dict):
        del holder[path[-1]]


BREAKS: tuple[Callable[[dict[str, Any], FieldPath], None], ...] = (
    another_kind,
    misspelt,
    misplaced,
    left_out,
)


def one_of_each(data: dict[str, Any]) -> dict[str, FieldPath]:
    """A place for each field of the job, lists by one of their entries."""
    found: dict[str, list[FieldPath]] = {}
    for path in places(data):
        found.setdefault(".".join(str(part) for part in path if isinstance(part, str)), []).append(path)
    chosen = random.Random(14)
    return {name: chosen.choice(paths) for name, paths in found.items()}


@pytest.mark.parametrize("broken", BREAKS, ids=lambda broken: broken.__name__)
@pytest.mark.parametrize("name", JOBS)
def test_a_broken_part_of_a_sound_job_brings_no_second_fault(
    name: str, broken: Callable[[dict[str, Any], FieldPath], None]
) -> None:
    """Ensures that what refers to a part with a fault, or is reckoned with it, is left alone."""
    assert told(DATA[name]) == ([], [])
    faults = 0
    for path in list(one_of_each(DATA[name]).values())[BREAKS.index(broken) % 2 :: 2]:
        data = copy.deepcopy(DATA[name])
        broken(data, path)
        found, across = told(data)
        if set(found) != set(across):  # otherwise it could be left out, and what is told is told of the rest
            faults += 1
            assert across == [], path
    assert faults > 20


@pytest.mark.parametrize(("name", "case"), IMPOSSIBLE[::3], ids=lambda value: str(value)[:60])
def test_a_broken_part_of_an_impossible_job_adds_its_own_fault_alone(name: str, case: dict[str, Any]) -> None:
    text = JOBS[name].replace(case["change"], case["to"])
    data = yaml.load(text, Loader=yaml.BaseLoader)
    impossible, _ = told(data)
    assert len(impossible) == len(case["problems"])
    chosen = random.Random(str(case))
    for path in chosen.sample(list(places(data)), 4):
        less = copy.deepcopy(data)
        chosen.choice(BREAKS[:3])(less, path)
        found, across = told(less)
        assert set(found) == set(across) or set(across) <= set(impossible), path


# ---- faults of the text


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        # the second of the two may have been meant as P2, which lines end at
        ("    - {id: P2, kind", "    - {id: P1, kind", 'the id "P1" a second time'),
        # the first posts of a layout stated twice are no more known than the second
        (
            "  posts:\n    - {id: P1",
            "  posts: []\n  posts:\n    - {id: P1",
            'the field "posts" a second time',
        ),
        # where the text is cut, the id may go on
        ("kind: mast, at: [1 ft", "kind: mast #2\n     , at: [1 ft", "cut short by the #"),
        # what the quote swallowed is nowhere
        ("name: Deck,", "name: 'Deck,", "runs on"),
    ],
)
def test_a_fault_of_the_text_brings_no_second_fault(tmp_path: Path, old: str, new: str, fault: str) -> None:
    text = JOBS["job"]
    assert text.count(old) == 1
    if "runs on" in fault:
        text = text.replace("name: Walls,", "name: Walls',")
    found = problems(tmp_path, text.replace(old, new))
    assert any(fault in line for line in found)
    assert found == problems(tmp_path, text.replace(old, new), checks=False)


def test_an_impossibility_is_told_beside_an_id_used_twice(tmp_path: Path) -> None:
    text = JOBS["job"].replace("- {id: wren", "- {id: finch").replace("coldest: 20 F", "coldest: 70 F")
    found = problems(tmp_path, text)
    assert ["finch" in found[0], "weather.coldest" in found[1]] == [True, True]
    assert len(found) == 2


def test_nothing_across_fields_is_told_where_an_extended_file_is_missing(tmp_path: Path) -> None:
    """Ensures that what the missing file may state is not called unknown."""
    text = JOBS["job"].replace("rope: rope, absorber", "rope: cord, absorber") + "extends: company.yaml\n"
    (found,) = problems(tmp_path, text)
    assert "which does not exist" in found


# ---- what stands for a part that was not read


@pytest.mark.parametrize(
    "use",
    [
        lambda x: x.name,
        lambda x: x == 1,
        lambda x: x == 1,
        lambda x: x in {"a"},
        lambda x: "a" in x,
        lambda x: x in ["a"],
        lambda x: 1.0 + x,
        lambda x: x > 1.0,
        lambda x: not x,
        lambda x: f"{x}",
        str,
        list,
        len,
        lambda x: x[0],
        lambda x: max(x, 1.0),
    ],
)
def test_what_was_not_read_answers_nothing(use: Callable[[Any], Any]) -> None:
    with pytest.raises(UnreadError):
        use(UNREAD)


def test_a_field_that_no_model_has_stays_a_defect(tmp_path: Path) -> None:
    """Ensures that only parts that were not read end a rule: any other missing name shows itself."""
    path = tmp_path / "job.yaml"
    path.write_text(JOBS["job"], encoding="utf-8")
    job = load_model(path, Job).model

    def rule() -> Iterator[Any]:
        yield job.layuot  # type: ignore[attr-defined]

    with pytest.raises(AttributeError, match="layuot"):
        list(where_read(rule)())
