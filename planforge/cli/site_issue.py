"""Issuing a site: a line a lot as it is done, a bar with the time that is left, a summary to print."""

from __future__ import annotations

import datetime as dt
import gc
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from planforge.cli.program import later, tell

if TYPE_CHECKING:
    from planforge.site.outcome import Outcome
    from planforge.site.pool import Crew


def issue_site(
    path: Path,
    output: Path,
    day: dt.date | None,
    register: Path | None,
    *,
    draft: bool,
    workers: int | None,
    cluster: str | None,
) -> int:
    """Issue every lot of a site, print each as it is done, write the summary and return the exit code."""
    gc.enable()  # a site is long work: what one lot leaves behind is cleared
    site = later("site.reading", "read_site")(path)
    order = later("site.issuing", "Order")(output, day or dt.date.today(), draft, register)
    summary = output / f"{path.stem}-summary.pdf"
    later("site.summary", "refuse_to_overwrite")(summary)
    crew = _crew(min(workers or cores(), len(site.lots)), cluster)
    outcomes: list[Outcome] = []
    try:
        with _bar(len(site.lots)) as done:
            for outcome in later("site.issuing", "issue_site")(site, order, crew):
                outcomes.append(outcome)
                for line in later("site.summary", "lot_lines")(outcome):
                    tell(line, flush=True)
                done()
    except KeyboardInterrupt:
        left = len(site.lots) - len(outcomes)
        print(f"{left} lot(s) are not done. To go on, run the same command again.", file=sys.stderr)
        raise
    later("site.summary", "write_summary")(summary, site, order.day, outcomes)
    for line in later("site.summary", "closing_lines")(site, outcomes):
        tell(line)
    tell(f"summary written: {summary}")
    code: int = later("site.outcome", "exit_code")(outcomes)
    return code


def _crew(workers: int, cluster: str | None) -> Crew:
    crew: Crew
    if cluster is not None:
        crew = later("site.cluster", "on_cluster")(cluster)
    else:
        crew = later("site.pool", "processes")(workers)
    return crew


def cores() -> int:
    """The cores that this process may use."""
    usable = getattr(os, "sched_getaffinity", None)
    return len(usable(0)) if usable else os.cpu_count() or 1


@contextmanager
def _bar(lots: int) -> Iterator[Callable[[], None]]:
    """A bar on a terminal, with how many lots are done and the time that is left; nothing elsewhere."""
    if sys.stderr is None or not sys.stderr.isatty():
        yield lambda: None
        return
    rich, console = import_module("rich.progress"), import_module("rich.console").Console(stderr=True)
    columns = (
        rich.MofNCompleteColumn(),
        rich.BarColumn(),
        rich.TextColumn("left:"),
        rich.TimeRemainingColumn(),
    )
    # Lines go through the bar only where both are on the terminal; else they stay on standard output.
    together = sys.stdout is not None and sys.stdout.isatty()
    with rich.Progress(
        *columns, console=console, transient=True, redirect_stdout=together, redirect_stderr=False
    ) as bar:
        task = bar.add_task("lots", total=lots)
        yield lambda: bar.advance(task)
