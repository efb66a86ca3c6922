"""The command line: thin commands over the library.

Exit codes: 0 nothing is short, 1 something is short, 2 the input can't be used, 3 planforge itself failed,
130 stopped from the keyboard, 141 the output could not be printed. ``verify``: 0 genuine and current, 1
superseded, a draft or a signer not vouched for, 4 altered, 5 unknown to the register or no plan.
``compare``: 0 nothing changed, 1 something did.
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
    from planforge.register.entry import Entry

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
    register: Annotated[
        Path | None,
        typer.Option(help="The register of plans, a file or its folder; if not given, beside the plan."),
    ] = None,
) -> None:
    """Issue the plan of one lot as a PDF.

    Example:  planforge issue demo_jobs/heron_lot_14.yaml --date 2026-11-30

    A job with anything short prints as a draft, marked on every page (exit code 1). A plan that was issued
    before, without a change, stays as it is; a changed one needs a higher revision, which supersedes it.
    """
    day = _day(date)
    with _progress() as say:
        issued = _later("register.issuing", "issue")(
            job, output, date=day, draft=draft, register=register, progress=say
        )
    counts = {verdict.value: number for verdict, number in issued.assessment.counts.items()}
    kind = "DRAFT" if issued.draft else "plan"
    done = "written" if issued.written else "stands"
    print(f"{kind} {done}: {issued.path} ({issued.pages} pages, fingerprint {issued.fingerprint[:16]})")
    print(", ".join(f"{counts.get(v, 0)} {v}" for v in ("short", "confirm", "meets", "not applicable")))
    for line in _later("assess.report", "short_lines")(issued.assessment):
        print(line)
    if issued.supersedes is not None:
        print(f"supersedes revision {issued.supersedes}; {len(issued.changes)} change(s):")
        for change in issued.changes:
            print(f"  {change}")
    for note in issued.notes:
        print(f"note: {note}")
    raise typer.Exit(SHORT if issued.assessment.short else MEETS)


def _day(text: str | None) -> dt.date | None:
    if text is None:
        return None
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise PlanforgeError(
            f"--date {text!r} is no date; write year-month-day, such as 2026-11-30."
        ) from None


@app.command()
def verify(
    plan: Annotated[Path, typer.Argument(metavar="FILE.pdf", help="The plan to judge.")],
    register: Annotated[
        Path | None,
        typer.Option(
            help="The register of plans, a file or its folder; if not given, beside the plan, else output."
        ),
    ] = None,
    trust: Annotated[
        Path | None,
        typer.Option(
            help="Certificates (PEM) that you trust to vouch for signers; without, none is vouched for."
        ),
    ] = None,
) -> None:
    """Say what a plan is: genuine and current, superseded, a draft, altered, or unknown to the register.

    Each signature with a certificate is told: whose, where, over which bytes, what was done after it.

    Examples:  planforge verify output/AF-2026-207-r1.pdf     planforge verify FILE.pdf --trust company.pem

    Exit code 0: genuine and current. 1: superseded, or a draft, or --trust does not vouch for a signer.
    4: altered, or a signature does not hold. 5: unknown to the register, or no plan of planforge's. 2: the
    file, the register or the trust list can't be read.
    """
    book = _register(register or _later("register.register", "register_of")(plan))
    found = _later("register.verifying", "verify")(plan, book, trust)
    stated = found.stated
    name = f"{stated.number} revision {stated.revision}, dated {stated.date}" if stated else str(plan)
    print(f"{name}: {found.verdict.value.upper()}")
    for reason in found.reasons:
        print(f"  {reason}")
    for signature in found.signatures:
        head, *told = signature.lines()
        print(f"  {head}")
        for line in told:
            print(f"    {line}")
    print(f"  judged by {book.path}" if book.path.exists() else "  judged without a register")
    vouched = all(signature.trusted is not False for signature in found.signatures)
    codes = {"CURRENT": MEETS if vouched else SHORT, "SUPERSEDED": SHORT, "DRAFT": SHORT, "ALTERED": ALTERED}
    raise typer.Exit(codes.get(found.verdict.name, UNKNOWN))


@app.command()
def sign(
    plan: Annotated[Path, typer.Argument(metavar="FILE.pdf", help="The plan to sign, in place.")],
    role: Annotated[
        str, typer.Option(help="As whom, such as 'Competent person'; a wrong one lists them all.")
    ],
    certificate: Annotated[
        Path, typer.Option(help="Your certificate with its private key (PKCS #12: .p12 or .pfx).")
    ],
    passphrase_file: Annotated[
        Path | None,
        typer.Option(
            help="A file whose first line is the passphrase; asked for on the terminal if not given."
        ),
    ] = None,
    register: Annotated[
        Path | None,
        typer.Option(
            help="The register of plans, a file or its folder; if not given, beside the plan, else output."
        ),
    ] = None,
) -> None:
    """Sign a plan with a certificate, in the field of a role; needs the extra 'sign'.

    Example:  planforge sign output/AF-2026-207-r1.pdf --role "Competent person" --certificate aspen.p12

    The signature is appended: the plan stays what was issued, and others can sign after you. Fill in fields
    before you sign. A plan that is altered, superseded or a draft is not signed.
    """
    signing = _later("register.extra", "signing_part")("signing")
    book = _register(register or _later("register.register", "register_of")(plan))
    secret = _passphrase(certificate, passphrase_file)
    done = signing.sign(plan, role, certificate, secret, book)
    print(f"{plan}: signed by {done.signer} as {done.field.role!r}, page {done.field.page}")
    if done.verdict.name == "UNKNOWN":
        print("note: no register here knows this plan: see with the one who keeps it that it is current")


def _passphrase(certificate: Path, file: Path | None) -> str:
    """From the file, else from the terminal; never from the command line, which others can read."""
    if file is not None:
        try:
            with file.open(encoding="utf-8") as lines:
                return lines.readline(4096).rstrip("\r\n")
        except (OSError, UnicodeDecodeError) as error:
            raise PlanforgeError(f"{file} can't be read as a passphrase: {error}.") from error
    if sys.stdin is None or not sys.stdin.isatty():
        raise PlanforgeError(
            "there is no terminal to ask for the passphrase on; give --passphrase-file FILE."
        )
    return str(
        typer.prompt(
            f"Passphrase of {certificate}", default="", hide_input=True, show_default=False, err=True
        )
    )


@app.command()
def compare(
    before: Annotated[Path, typer.Argument(metavar="A", help="A plan (PDF) or a job file.")],
    after: Annotated[Path, typer.Argument(metavar="B", help="The later plan or job file.")],
) -> None:
    """Say what changed between two revisions: what the crew acts on first, then the rest.

    Example:  planforge compare demo_jobs/wren_lot_7.yaml demo_jobs/wren_lot_7_mended.yaml

    Exit code 0: nothing changed. 1: something did.
    """
    load = _later("register.jobs", "load_either")
    changes, lines = _later("register.crew", "comparison")(load(before), load(after))
    for line in lines:
        print(line)
    raise typer.Exit(SHORT if changes else MEETS)


@app.command(name="register")
def list_register(
    place: Annotated[
        Path, typer.Argument(metavar="[REGISTER]", help="The register of plans, a file or its folder.")
    ] = Path("output"),
    everything: Annotated[bool, typer.Option("--all", help="Superseded plans and drafts too.")] = False,
) -> None:
    """Print the plans that are current.

    Example:  planforge register output --all
    """
    book = _register(place)
    if not book.path.exists():
        raise PlanforgeError(f"there is no register at {book.path}; it begins with the first plan issued.")
    entries = sorted(book.entries(), key=lambda entry: entry.key)
    for entry in (e for e in entries if everything or e.status.value == "issued"):
        print(_entry_line(entry))


def _register(place: Path) -> Any:
    path = _later("register.register", "register_path")(place)
    return _later("register.register", "Register")(path)


def _entry_line(entry: Entry) -> str:
    approved = f", approved by {entry.approved_by}" if entry.approved_by else ""
    return (
        f"{entry.number} revision {entry.revision}: {entry.status.value} {entry.date}; {entry.lot}, "
        f"{entry.project}; {entry.file}; prepared by {entry.prepared_by}{approved}; "
        f"fingerprint {entry.fingerprint[:16]}"
    )


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
    _refuse_to_replace(path)
    if not path.parent.is_dir():
        raise PlanforgeError(f"{path.parent} is not a folder; make it first.")
    folder: Path = _later("languages", "templates_folder")("en")
    text = (folder.parent / "starter.yaml").read_bytes()
    _later("document.finish", "write_whole")(path, text)
    print(f"{path} written. Replace what is marked, then run: planforge check {path}")


@app.command()
def propose(
    job: JobPath,
    output: Annotated[
        Path | None, typer.Option("--output", "-o", metavar="FILE.yaml", help="Write the proposal there.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="For programs.")] = False,
    time_limit: Annotated[
        float, typer.Option(min=1.0, max=3600.0, help="Seconds for the choice; then the best so far.")
    ] = 60.0,
) -> None:
    """Propose posts, lines, anchorages, guardrails and covers within the job's part proposal.

    Example:  planforge propose demo_jobs/heron_lot_17.yaml --output heron_lot_17_layout.yaml

    Exit code 0: a proposal of which nothing is short. 1: something is short, or there is no proposal. 2: the
    job file can't be used.
    """
    if output is not None:
        _refuse_to_replace(output)
    offered = _later("proposal.offer", "offer")(_later("job.loading", "load")(job), time_limit=time_limit)
    if as_json:
        print(json.dumps({"job": str(job), **offered.record}, indent=1, ensure_ascii=True))
    else:
        for line in offered.lines:
            print(line)
    if output is not None and offered.data:
        _refuse_to_replace(output)
        _later("document.finish", "write_whole")(output, offered.text.encode("utf-8"))
        if not as_json:
            print(
                f"{output} written: add it to the lot's extends as the last file, then: planforge check {job}"
            )
    raise typer.Exit(MEETS if offered.good or offered.nothing_to_guard else SHORT)


@app.command(name="import")
def import_(
    job: JobPath,
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", help="The file to write (YAML); JOB_drawing.yaml if not given."),
    ] = None,
) -> None:
    """Read the layout from the DXF drawing that the job names under drawing, into a file to extend.

    Example:  planforge import lot_21.yaml --output lot_21_drawing.yaml

    What belongs to one lot, such as tendons, is written beside it as ..._lot.yaml, to be pasted into
    the lot's own file. Nothing that exists is replaced.
    """
    target = output or job.with_name(f"{job.stem}_drawing.yaml")
    beside = target.with_name(f"{target.stem}_lot.yaml")
    _refuse_to_replace(target, beside)
    imported = _later("cad.importing", "import_drawing")(job, target)
    for line in imported.report:
        print(line)
    write = _later("document.finish", "write_whole")
    for path, text, use in (
        (target, imported.design, "name it under extends in the job or the house design"),
        (beside, imported.lot, "paste it into the lot's own file and state what is left open"),
    ):
        if text is not None:
            write(path, text.encode("utf-8"))
            print(f"{path} written: {use}.")


@app.command()
def draw(
    job: JobPath,
    dxf: Annotated[Path, typer.Option("--dxf", help="The DXF file to write.")],
) -> None:
    """Draw the layout as DXF at full size, for the general contractor's CAD.

    Example:  planforge draw demo_jobs/heron_lot_14.yaml --dxf heron_lot_14.dxf

    Where drilling is forbidden the file gives no hole. Exit code 1: something is short; the drawing says so.
    """
    _refuse_to_replace(dxf)
    assessment = _later("assess.assessment", "assess")(_later("job.loading", "load")(job).model)
    identity = _later("register.fingerprint", "plan_fingerprint")(assessment.job)
    drawing = _later("cad.drawing", "layout_dxf")(assessment, identity)
    _later("document.finish", "write_whole")(dxf, drawing)
    print(f"{'DRAFT' if assessment.draft else 'drawing'} written: {dxf} (fingerprint {identity[:16]})")
    raise typer.Exit(SHORT if assessment.short else MEETS)


def _refuse_to_replace(*paths: Path) -> None:
    for path in paths:
        try:
            taken = path.exists()
        except OSError as error:
            raise PlanforgeError(f"{path} can't be a file name: {error.strerror}.") from error
        if taken:
            raise PlanforgeError(f"{path} exists already; choose another name, or move it away first.")


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
