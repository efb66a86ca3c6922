"""The command line: thin commands over the library.

Exit codes: 0 nothing is short, 1 something is short, 2 the input can't be used, 3 planforge itself failed,
130 stopped from the keyboard, 141 the output could not be printed. ``verify``: 0 genuine and current, 1
superseded, a draft or a signer not vouched for, 4 altered, 5 unknown to the register or no plan.
``compare``: 0 nothing changed, 1 something did.
"""

from __future__ import annotations

import contextlib
import gc
import os
import sys
import traceback
from typing import Annotated

import typer

from planforge import __version__

# The order in which they are imported is the order in which --help lists the commands.
from planforge.cli import plans, signing, layouts, kits, files  # isort: skip
from planforge.cli.program import ALTERED, BAD_INPUT, DEFECT, MEETS, NOT_PRINTED, SHORT, STOPPED, UNKNOWN, app
from planforge.errors import JobFileError, PlanforgeError, SiteFileError, printable

__all__ = [
    "ALTERED",
    "BAD_INPUT",
    "DEFECT",
    "MEETS",
    "NOT_PRINTED",
    "SHORT",
    "STOPPED",
    "UNKNOWN",
    "app",
    "files",
    "kits",
    "layouts",
    "main",
    "plans",
    "signing",
]


@app.callback(invoke_without_command=True)
def _root(
    version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False,
) -> None:
    if version:
        print(f"planforge {__version__}")
        raise typer.Exit


def main(argv: list[str] | None = None) -> None:
    """Run the command line; every error is a sentence, never a traceback."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        _run(argv)
    except typer.Exit as stop:
        sys.exit(stop.exit_code)
    except JobFileError as error:
        file = "site file" if isinstance(error, SiteFileError) else "job file"
        _say(f"The {file} can't be used: {len(error.problems)} problem(s).\n{error}")
        sys.exit(BAD_INPUT)
    except PlanforgeError as error:
        _say(str(error))
        sys.exit(BAD_INPUT)
    except (KeyboardInterrupt, typer.Abort):
        _say("Stopped. Nothing was half-written.")
        sys.exit(STOPPED)
    except OSError as error:
        if error.filename is not None:
            _say(f"{os.fsdecode(error.filename)} can't be used: {error.strerror}. Nothing was half-written.")
            sys.exit(BAD_INPUT)
        _close_quietly()
        if not isinstance(error, BrokenPipeError):
            _say(f"The output can't be printed: {error.strerror}. A plan that was written stays as it is.")
        sys.exit(NOT_PRINTED)
    except Exception as error:
        if hasattr(error, "show"):  # a word of the command line that can't be understood
            error.show()
            sys.exit(BAD_INPUT)
        if os.environ.get("PLANFORGE_TRACE"):
            traceback.print_exc()
        _say(
            f"planforge failed on its own account ({type(error).__name__}: {error}). Nothing was "
            "half-written. Please report it with the job file; PLANFORGE_TRACE=1 prints where it happened."
        )
        sys.exit(DEFECT)
    sys.exit(MEETS)


def _run(argv: list[str] | None) -> None:
    """Parse and carry out; by hand, since the toolkit's own way out hides a stop and a closed pipe."""
    command = typer.main.get_command(app)
    arguments = sys.argv[1:] if argv is None else argv
    collects = gc.isenabled()
    gc.disable()  # one command, then the process ends
    try:
        with command.make_context("planforge", list(arguments)) as context:
            command.invoke(context)
    finally:
        if argv is None:
            gc.freeze()  # all goes at once: nothing is searched for cycles on the way out
        elif collects:  # a caller's process goes on, and would keep all its garbage
            gc.enable()
    if sys.stdout is not None:
        sys.stdout.flush()


def _say(message: str) -> None:
    if sys.stderr is not None:
        print(printable(message), file=sys.stderr)


def _close_quietly() -> None:
    """Point standard output at nothing, so that the interpreter does not complain when it flushes."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
