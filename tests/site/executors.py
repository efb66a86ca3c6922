"""For the tests of pools: an executor that works in this process at once, and work that dies or lasts."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from concurrent.futures import Executor, Future
from pathlib import Path
from typing import Any

from planforge.site.pool import Crew


class Inline(Executor):
    """Does each task as it is handed in; remembers how many it did."""

    done = 0

    def submit(self, function: Callable[..., Any], /, *arguments: Any, **named: Any) -> Future[Any]:
        """The result is there already."""
        future: Future[Any] = Future()
        Inline.done += 1
        try:
            future.set_result(function(*arguments, **named))
        except Exception as error:
            future.set_exception(error)
        return future


def inline(width: int = 1) -> Crew:
    """Work in this process."""
    return Crew(lambda _: Inline(), width, lambda _: None)


def doubled(number: int) -> int:
    """The work that the tests of a pool have done."""
    return 2 * number


def dies(task: tuple[str, int]) -> int:
    """Kills its own process: always for ``"always"``, once for a path that it makes first."""
    how, number = task
    if how == "always" or (how and not Path(how).exists()):
        if how != "always":
            Path(how).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def sleeps(number: int) -> int:
    """Takes long."""
    time.sleep(60)
    return number
