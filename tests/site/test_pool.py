"""Tasks handed out a few at a time: nothing lost, nothing doubled, whatever dies."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from concurrent.futures import BrokenExecutor, Executor, Future
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from planforge.site.pool import Crew, Lost, Stream, processes

from .executors import dies, doubled, inline, sleeps

posix = pytest.mark.skipif(os.name != "posix", reason="kills a process by signal")


def test_every_task_comes_back_with_its_result() -> None:
    assert sorted(Stream(inline(3), doubled, range(20))) == [(n, 2 * n) for n in range(20)]
    assert list(Stream(inline(), doubled, ())) == []


def test_no_more_than_a_few_are_taken_ahead() -> None:
    """Tasks are made as they are needed, so that memory does not grow with their number."""
    taken: list[int] = []

    def tasks() -> Iterator[int]:
        for number in range(1000):
            taken.append(number)
            yield number

    stream = iter(Stream(inline(2), doubled, tasks()))
    for _ in range(10):
        next(stream)
    assert len(taken) <= 10 + 4


def test_a_task_that_is_put_back_goes_before_those_not_begun() -> None:
    stream: Stream[int, int] = Stream(inline(), doubled, range(10))
    order = []
    for task, _ in stream:
        order.append(task)
        if task == 2:
            stream.again(100)
    assert sorted(order) == [*range(10), 100]
    assert order.index(100) < order.index(9)


def test_what_can_t_be_sent_is_lost_with_the_reason() -> None:
    def fails(number: int) -> int:
        raise ValueError(f"no {number}")

    ((task, result),) = Stream(inline(), fails, [7])
    assert task == 7
    assert result == Lost("the process that worked on it gave no result (ValueError: no 7)")


@posix
def test_a_worker_that_dies_takes_no_other_task_with_it(tmp_path: Path) -> None:
    """One task kills its process once and is done when tried alone."""
    tasks = [("", 1), (str(tmp_path / "once"), 2), ("", 3), ("", 4), ("", 5)]
    results = dict(Stream(processes(2), dies, tasks))
    assert results == {task: task[1] for task in tasks}


@posix
def test_a_task_that_always_kills_its_worker_is_told() -> None:
    tasks = [("", 1), ("always", 2), ("", 3), ("", 4)]
    results = dict(Stream(processes(2), dies, tasks))
    lost = Lost("the process that worked on it was ended, twice: out of memory, or killed")
    assert results == {("", 1): 1, ("always", 2): lost, ("", 3): 3, ("", 4): 4}


@posix
def test_leaving_early_ends_the_workers() -> None:
    pids: list[int] = []

    def left(pool: Executor) -> None:
        pids.extend(getattr(pool, "_processes", None) or {})
        crew.leave(pool)

    crew = processes(1)
    stream = iter(Stream(Crew(crew.open, 1, left), _first_then_long, [0, 1]))
    assert next(stream) == (0, 0)
    begun = time.monotonic()
    stream.close()  # type: ignore[attr-defined]
    assert time.monotonic() - begun < 30
    assert pids
    for pid in pids:
        with pytest.raises(ProcessLookupError):
            os.kill(pid, 0)


def _first_then_long(number: int) -> int:
    return sleeps(number) if number else number


def test_a_pool_that_takes_no_more_tasks_is_made_anew() -> None:
    """It breaks as a task is handed in: those on their way are done alone, the rest in a new one."""
    opened: list[_BreaksAfter] = []

    def opens(width: int) -> Executor:
        opened.append(_BreaksAfter(3 if len(opened) == 0 else 1000))
        return opened[-1]

    crew = Crew(opens, 2, lambda _: None)
    assert sorted(Stream(crew, doubled, range(12))) == [(n, 2 * n) for n in range(12)]
    assert len(opened) > 2


def test_a_pool_whose_worker_holds_much_is_made_anew_once_nothing_is_on_its_way() -> None:
    opened: list[list[int]] = []

    def opens(width: int) -> Executor:
        opened.append([])
        return inline().open(width)

    def holds(number: int) -> _Holding:
        opened[-1].append(number)
        return _Holding(number, 40 * len(opened[-1]))

    crew = Crew(opens, 1, lambda _: None, most_memory=100)
    assert sorted(result.number for _, result in Stream(crew, holds, range(20))) == [*range(20)]  # type: ignore[union-attr]
    assert [number for pool in opened for number in pool] == [*range(20)]
    assert 3 <= max(map(len, opened)) <= 3 + 3
    assert len(opened) >= 4


@dataclass(frozen=True)
class _Holding:
    number: int
    memory: int


class _BreaksAfter(Executor):
    """Takes so many tasks and does them only if it lasts."""

    def __init__(self, lasts: int) -> None:
        self.left = lasts

    def submit(self, function: Any, /, *arguments: Any, **_: Any) -> Future[Any]:
        self.left -= 1
        if self.left < 0:
            raise BrokenExecutor("broken")
        future: Future[Any] = Future()
        if self.left == 0:
            future.set_exception(BrokenExecutor("broken"))
        else:
            future.set_result(function(*arguments))
        return future
