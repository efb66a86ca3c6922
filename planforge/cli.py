"""The command line: thin commands over the library.

Exit codes: 0 nothing is short, 1 something is short, 2 the input can't be used, 3 planforge itself failed,
130 stopped from the keyboard, 141 the output could not be printed.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import gc
import json
import os
import shutil
import sys
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from planforge import __version__
from planforge.errors import JobFileError, PlanforgeError

if TYPE_CHECKING:
    from planforge.assess.assessment import Assessment
    from planforge.job.reference import FieldDoc

MEETS, SHORT, BAD_INPUT, DEFECT = 0, 1, 2, 3
STOPPED, NOT_PRINTED = 130, 141

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Turn one job file into a dated, signable, site-specific fall-protection plan.\n\n"
    "Start with:  planforge new lot.yaml,  then  planforge check lot.yaml,  then  planforge issue lot.yaml",
)

JobPath = Annotated[Path, typer.Argument(metavar="JOB", help="The lot's job file (YAML).")]


def _later(module: str, name: str) -> Any:
    """Load a part only when its command runs: drawing is not paid for by a check."""
    return getattr(import_module(f"planforge.{module}"), name)


@app.command()
def check(
    job: JobPath,
    as_json: Annotated[bool, typer.Option("--json", help="For programs: values in SI.")] = False,
    open_only: Annotated[bool, typer.Option("--open", help="Only what is short or to confirm.")] = False,
) -> None:
    """Check a job: every value with its limit, margin and source, the worst last.

    Example:  planforge check demo_jobs/heron_lot_14.yaml --open

    Exit code 0: nothing is short. 1: something is short. 2: the job file can't be used.
    """
    loaded = _later("job.loading", "load")(job)
    assessment = _later("assess.assessment", "assess")(loaded.model)
    if as_json:
        _print_json(job, assessment)
    else:
        report = _later("assess.report", "report")
        width = shutil.get_terminal_size((132, 40)).columns
        for line in report(assessment, width=width, open_only=open_only):
            print(line)
    raise typer.Exit(SHORT if assessment.short else MEETS)


def _print_json(job: Path, assessment: Assessment) -> None:
    record = {
        "job": str(job),
        "fingerprint": _later("register.fingerprint", "plan_fingerprint")(assessment.job),
        "checks": _later("assess.report", "records")(assessment),
    }
    print(json.dumps(record, indent=1, ensure_ascii=True))


@app.command()
def issue(
    job: JobPath,
    output: Annotated[
        Path, typer.Option("--output", "-o", help="Folder for the plan, or a file name ending in .pdf.")
    ] = Path("output"),
    date: Annotated[
        str | None, typer.Option(help="Date of issue, such as 2026-11-30; today if not given.")
    ] = None,
    draft: Annotated[
        bool, typer.Option("--draft", help="Mark it a draft even where nothing is short.")
    ] = False,
) -> None:
    """Issue the plan of one lot as a PDF.

    Example:  planforge issue demo_jobs/heron_lot_14.yaml --date 2026-11-30

    A job with anything short prints as a draft, marked on every page (exit code 1).
    """
    day = _day(date)
    with _progress() as say:
        issued = _later("register.issuing", "issue")(job, output, date=day, draft=draft, progress=say)
    counts = {verdict.value: number for verdict, number in issued.assessment.counts.items()}
    kind = "DRAFT" if issued.draft else "plan"
    print(f"{kind} written: {issued.path} ({issued.pages} pages, fingerprint {issued.fingerprint[:16]})")
    print(", ".join(f"{counts.get(v, 0)} {v}" for v in ("short", "confirm", "meets", "not applicable")))
    for line in _later("assess.report", "short_lines")(issued.assessment):
        print(line)
    for note in issued.notes:
        print(f"note: {note}")
    raise typer.Exit(SHORT if issued.assessment.short else MEETS)


def _day(text: str | None) -> dt.date:
    if text is None:
        return dt.date.today()
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise PlanforgeError(
            f"--date {text!r} is no date; write year-month-day, such as 2026-11-30."
        ) from None


@contextmanager
def _progress() -> Iterator[Any]:
    """A spinner with the present step on a terminal; nothing elsewhere."""
    if sys.stderr is None or not sys.stderr.isatty():
        yield lambda _: None
        return
    console = import_module("rich.console").Console(stderr=True)
    with console.status("starting") as status:
        yield status.update


@app.command()
def new(
    path: Annotated[Path, typer.Argument(metavar="FILE", help="The file to write, such as lot_21.yaml.")],
) -> None:
    """Write a commented starter job that reads without a problem.

    Example:  planforge new lot_21.yaml
    """
    try:
        taken = path.exists()
    except OSError as error:
        raise PlanforgeError(f"{path} can't be a file name: {error.strerror}.") from error
    if taken:
        raise PlanforgeError(f"{path} exists already; choose another name, or move it away first.")
    if not path.parent.is_dir():
        raise PlanforgeError(f"{path.parent} is not a folder; make it first.")
    folder: Path = _later("languages", "templates_folder")("en")
    text = (folder.parent / "starter.yaml").read_bytes()
    _later("document.finish", "write_whole")(path, text)
    print(f"{path} written. Replace what is marked, then run: planforge check {path}")


@app.command()
def schema() -> None:
    """Print the JSON Schema of a job file, for editors that complete and check YAML.

    Example:  planforge schema > planforge.schema.json
    """
    print(json.dumps(_later("job.json_schema", "json_schema")(), indent=1, ensure_ascii=True))


@app.command()
def explain(
    field: Annotated[
        str, typer.Argument(metavar="[FIELD]", help="A field such as layout.lines.sag; none lists the parts.")
    ] = "",
    everything: Annotated[bool, typer.Option("--all", help="Every field, as one page of Markdown.")] = False,
) -> None:
    """Explain a field of the job file, or a check by its id.

    Examples:  planforge explain layout.lines.sag     planforge explain arrest.clearance
    """
    if everything:
        print(_later("job.reference", "reference_page")())
        return
    checks = _later("assess.checks", "CHECKS")
    if field in checks:
        entry = checks[field]
        print(f"{field}: {entry.title}\n  {entry.asks}\n  Source: {entry.source or 'the code profile'}")
        print(f"  Decides: {entry.decides}. A variance can accept it: {'yes' if entry.variance else 'no'}.")
        if field not in _later("job.reference", "fields")():
            return
        print()
    print(_explained(_later("job.reference", "describe")(field)))


def _explained(doc: FieldDoc) -> str:
    lines = [f"{doc.path or 'the job file'}: {doc.type}", f"  {doc.description}"]
    if doc.about and doc.about != doc.description:
        lines.append(f"  {doc.about}")
    if doc.path:
        lines.append("  Required." if doc.required else f"  Optional; if absent: {doc.default}.")
    if doc.lot_only:
        lines.append("  Belongs to one lot: state it in the lot's own file.")
    if doc.refers_to:
        lines.append("  Refers to: " + ", ".join(doc.refers_to) + ".")
    if doc.children:
        lines += ["  Holds:", *(f"    {child}" for child in doc.children)]
    return "\n".join(lines)


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
        _say(f"The job file can't be used: {len(error.problems)} problem(s).\n{error}")
        sys.exit(BAD_INPUT)
    except PlanforgeError as error:
        _say(str(error))
        sys.exit(BAD_INPUT)
    except (KeyboardInterrupt, typer.Abort):
        _say("Stopped. Nothing was half-written.")
        sys.exit(STOPPED)
    except OSError as error:
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
    gc.disable()  # one command, then the process ends
    with command.make_context("planforge", list(arguments)) as context:
        command.invoke(context)
    if sys.stdout is not None:
        sys.stdout.flush()


def _say(message: str) -> None:
    if sys.stderr is not None:
        print(message, file=sys.stderr)


def _close_quietly() -> None:
    """Point standard output at nothing, so that the interpreter does not complain when it flushes."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


if __name__ == "__main__":
    main()
