"""What every command shares: the program, its exit codes, parts loaded only when they are needed."""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import Annotated, Any

import typer

from planforge.errors import PlanforgeError, printable

MEETS, SHORT, BAD_INPUT, DEFECT = 0, 1, 2, 3
ALTERED, UNKNOWN = 4, 5
STOPPED, NOT_PRINTED = 130, 141

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Turn one job file into a dated, signable, site-specific fall-protection plan.\n\n"
    "Start with:  planforge new lot.yaml,  then  planforge check lot.yaml,  then  planforge issue lot.yaml",
)


def later(module: str, name: str) -> Any:
    """Load a part only when its command runs: drawing is not paid for by a check."""
    return getattr(import_module(f"planforge.{module}"), name)


def tell(line: str, *, flush: bool = False) -> None:
    """Print a line; what a stranger's file says can't move the cursor or colour the screen."""
    print(printable(line), flush=flush)


def day_of(text: str | None) -> dt.date | None:
    """A date as the command line takes it; None where none is given."""
    if text is None:
        return None
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise PlanforgeError(
            f"--date {text!r} is no date; write year-month-day, such as 2026-11-30."
        ) from None


def register_at(place: Path) -> Any:
    """The register by its file or folder."""
    path = later("register.register", "register_path")(place)
    return later("register.register", "Register")(path)


def one_job(path: Path) -> Path:
    """Refuse a site file where a command takes one lot."""
    if later("site.recognising", "is_site")(path):
        raise PlanforgeError(
            f"{path} is a site file, and this command takes one lot: name the lot's job file. "
            f"planforge check {path} tells about every lot."
        )
    return path


JobPath = Annotated[Path, typer.Argument(metavar="JOB", help="The lot's job file (YAML).", callback=one_job)]
JobOrSitePath = Annotated[
    Path, typer.Argument(metavar="JOB", help="The lot's job file (YAML), or a site file with many lots.")
]


@contextmanager
def progress() -> Iterator[Any]:
    """A spinner with the present step on a terminal; nothing elsewhere."""
    if sys.stderr is None or not sys.stderr.isatty():
        yield lambda _: None
        return
    console = import_module("rich.console").Console(stderr=True)
    with console.status("starting") as status:
        yield status.update


def refuse_to_replace(*paths: Path) -> None:
    """Stop where a file to be written exists already."""
    for path in paths:
        try:
            taken = path.exists() or path.is_symlink()  # a link that leads nowhere is somebody's too
        except OSError as error:
            raise PlanforgeError(f"{path} can't be a file name: {error.strerror}.") from error
        if taken:
            raise PlanforgeError(f"{path} exists already; choose another name, or move it away first.")
