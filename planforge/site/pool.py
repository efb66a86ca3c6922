"""Tasks handed to an executor a few at a time; a process that dies takes no other task with it.

Any :class:`concurrent.futures.Executor` will do. At most ``most`` tasks are on their way at once, so that
memory does not grow with their number. Where a process of a pool dies (killed, out of memory), all tasks on
their way fall with the pool and nobody can tell which one did it: each is tried once more in a pool of its
own, and the rest go on in a new one. Where a worker says that it holds much memory by now, the pool is made
anew as well, once what is on its way is done: caches grow slowly, and a site has thousands of lots.
"""

from __future__ import annotations

import contextlib
import gc
import math
import multiprocessing
import os
import signal
import sys
import threading
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass
from typing import Generic, TypeVar

_AHEAD = 2
"""How many tasks wait behind those that are worked on."""

_MOST_ON_WINDOWS = 61
"""How many processes that system can wait for at once."""
MOST_MEMORY = 310 << 20
"""Bytes that a worker may hold before its pool is made anew; drawing a lot takes some 30 MiB more."""
_SELDOM = 100_000
"""How many new objects a worker makes before it looks for cycles among them."""

T = TypeVar("T")
R = TypeVar("R")


@dataclass(frozen=True, slots=True)
class Lost:
    """A task without a result, and why."""

    why: str


@dataclass(frozen=True, slots=True)
class Crew:
    """Where tasks are worked on: how to open it for so many at once, for how many, and how to leave it."""

    open: Callable[[int], Executor]
    width: int
    leave: Callable[[Executor], None]
    elsewhere: bool = False
    """True where the work may be done on another machine, or in another folder of this one."""
    most_memory: float = math.inf
    """Bytes that a worker may hold, by what a result says under ``memory``, before the pool is made anew."""


class Stream(Generic[T, R]):
    """Tasks in, each with its result out as it is done; a task may be put back."""

    def __init__(self, crew: Crew, function: Callable[[T], R], tasks: Iterable[T]) -> None:
        """Nothing is opened before the first result is asked for."""
        self._crew, self._function, self._tasks = crew, function, iter(tasks)
        self._again: deque[T] = deque()
        self._worn = False
        self._flying: dict[Future[R], T] = {}

    def again(self, task: T) -> None:
        """Have a task done before those that were not begun yet."""
        self._again.append(task)

    def __iter__(self) -> Iterator[tuple[T, R | Lost]]:
        """Yield until every task is done. Leaving early ends the workers; what they were at is lost."""
        pool = self._crew.open(self._crew.width)
        try:
            while True:
                if not self._worn:
                    self._fill(pool)
                    if not self._flying:
                        return
                fallen = (yield from self._landed()) if self._flying else []
                if fallen or (self._worn and not self._flying):
                    self._crew.leave(pool)
                    for task in fallen:
                        yield task, self._alone(task)
                    pool, self._worn = self._crew.open(self._crew.width), False
        finally:
            self._crew.leave(pool)

    def _fill(self, pool: Executor) -> None:
        """Send tasks until enough are on their way, or the pool takes none any more."""
        while len(self._flying) < self._crew.width + _AHEAD:
            task = self._again.popleft() if self._again else next(self._tasks, None)
            if task is None:
                return
            try:
                future = pool.submit(self._function, task)
            except BrokenExecutor as error:
                future = Future()
                future.set_exception(error)
            self._flying[future] = task
            if future.done():
                return

    def _landed(self) -> Generator[tuple[T, R | Lost], None, list[T]]:
        """Yield what is done; return the tasks that fell with the pool, where it fell."""
        done, _ = wait(self._flying, return_when=FIRST_COMPLETED)
        fallen: list[T] = []
        for future in [f for f in self._flying if f in done]:
            yield from self._one(future, fallen)
        while (
            fallen and self._flying
        ):  # the pool is broken: every other task is done too, one way or the other
            yield from self._one(next(iter(self._flying)), fallen)
        return fallen

    def _one(self, future: Future[R], fallen: list[T]) -> Iterator[tuple[T, R | Lost]]:
        task = self._flying.pop(future)
        result = _result(future)
        if isinstance(result, BrokenExecutor):
            fallen.append(task)
        else:
            self._worn = self._worn or getattr(result, "memory", 0) > self._crew.most_memory
            yield task, result

    def _alone(self, task: T) -> R | Lost:
        pool = self._crew.open(1)
        try:
            result = _result(pool.submit(self._function, task))
        finally:
            self._crew.leave(pool)
        if isinstance(result, BrokenExecutor):
            return Lost("the process that worked on it was ended, twice: out of memory, or killed")
        return result


def _result(future: Future[R]) -> R | Lost | BrokenExecutor:
    """What a task came to; waits for it."""
    try:
        return future.result()
    except BrokenExecutor as error:
        return error
    except Exception as error:  # it could not be sent there or back, or a cluster gave it up
        return Lost(f"the process that worked on it gave no result ({type(error).__name__}: {error})")


def processes(width: int) -> Crew:
    """So many processes of this machine, each begun anew, so that it is alike on every system."""
    most = _MOST_ON_WINDOWS if sys.platform == "win32" else width
    return Crew(_spawned, min(width, most), _end, most_memory=MOST_MEMORY)


def _spawned(width: int) -> ProcessPoolExecutor:
    context = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(width, mp_context=context, initializer=_begin)


def _begin() -> None:
    """What each process does first: leave the keyboard to its parent, end with it, use one core."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # numpy reads it when it is loaded, later
    gc.set_threshold(_SELDOM)  # a lot leaves hardly a cycle behind
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """Wait for a parent that was killed, and leave too; else the process would wait for tasks for ever."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _end(pool: Executor) -> None:
    """Leave a pool at once. Its processes write nothing, so that each can be stopped at any instant."""
    running = [*(getattr(pool, "_processes", None) or {}).values()]
    pool.shutdown(wait=False, cancel_futures=True)
    for process in running:
        with contextlib.suppress(OSError, ValueError):
            process.terminate()
    for process in running:
        with contextlib.suppress(OSError, ValueError, AssertionError):
            process.join(5.0)
