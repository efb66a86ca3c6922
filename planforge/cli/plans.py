"""Commands about plans: check, issue, verify, compare, and the register."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planforge.cli.program import (
    ALTERED,
    MEETS,
    SHORT,
    UNKNOWN,
    JobOrSitePath,
    app,
    day_of,
    later,
    one_job,
    progress,
    register_at,
    tell,
)
from planforge.cli.site_issue import issue_site
from planforge.cli.sites import check_site, lot_of_site
from planforge.errors import PlanforgeError

if TYPE_CHECKING:
    from planforge.assess.assessment import Assessment
    from planforge.register.entry import Entry


Workers = Annotated[
    int | None,
    typer.Option(min=1, max=1024, help="Of a site: how many lots at once; one for each core if not given."),
]


@app.command()
def check(
    job: JobOrSitePath,
    as_json: Annotated[bool, typer.Option("--json", help="For programs: values in SI.")] = False,
    open_only: Annotated[bool, typer.Option("--open", help="Only what is short or to confirm.")] = False,
    lot: Annotated[str | None, typer.Option(metavar="ID", help="Of a site file: this lot alone.")] = None,
    workers: Workers = None,
) -> None:
    """Check a job: every value with its limit, margin and source, the worst last.

    Examples:  planforge check heron_lot_14.yaml --open     planforge check demo_jobs/sandpiper_row.yaml

    Of a site file every lot prints in a line, with what is short below. Exit code 0: nothing is short. 1:
    something is short. 2: the job file, or one of a site's lots, can't be used.
    """
    if later("site.recognising", "is_site")(job):
        if lot is None:
            raise typer.Exit(check_site(job, as_json=as_json, open_only=open_only, workers=workers))
        loaded = lot_of_site(job, lot)
    elif lot is not None:
        raise PlanforgeError(f"{job} is no site file, so that it has no lot {lot!r}; leave --lot out.")
    else:
        loaded = later("job.loading", "load")(job)
    assessment = later("assess.assessment", "assess")(loaded.model)
    if as_json:
        _print_json(job, assessment)
    else:
        report = later("assess.report", "report")
        width = shutil.get_terminal_size((132, 40)).columns
        for line in report(assessment, width=width, open_only=open_only):
            tell(line)
    raise typer.Exit(SHORT if assessment.short else MEETS)


def _print_json(job: Path, assessment: Assessment) -> None:
    record = {
        "job": str(job),
        "fingerprint": later("register.fingerprint", "plan_fingerprint")(assessment.job),
        "checks": later("assess.report", "records")(assessment),
    }
    tell(json.dumps(record, indent=1, ensure_ascii=True))


@app.command()
def issue(
    job: JobOrSitePath,
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
    workers: Workers = None,
    cluster: Annotated[
        str | None,
        typer.Option(metavar="ADDRESS", help="Of a site: draw on the Dask cluster of this scheduler."),
    ] = None,
) -> None:
    """Issue the plan of one lot as a PDF, or the plans of all lots of a site.

    Examples:  planforge issue demo_jobs/heron_lot_14.yaml     planforge issue demo_jobs/sandpiper_row.yaml

    A job with anything short prints as a draft, marked on every page (exit code 1). A plan that was issued
    before, without a change, stays as it is; a changed one needs a higher revision, which supersedes it.

    Of a site every lot that is not as it was issued is drawn; of the others it is told whether they still
    hold on that date. SITE-summary.pdf says what came of all of them. A run that was stopped goes on by the
    same command. Exit code 0: nothing is short. 1: something is, or no longer holds. 2: a lot can't be used.
    """
    day = day_of(date)
    if later("site.recognising", "is_site")(job):
        raise typer.Exit(
            issue_site(job, output, day, register, draft=draft, workers=workers, cluster=cluster)
        )
    if workers is not None or cluster is not None:
        raise PlanforgeError(f"{job} is one lot; --workers and --cluster are for a site file.")
    with progress() as say:
        issued = later("register.issuing", "issue")(
            job, output, date=day, draft=draft, register=register, progress=say
        )
    counts = {verdict.value: number for verdict, number in issued.assessment.counts.items()}
    kind = "DRAFT" if issued.draft else "plan"
    done = "written" if issued.written else "stands"
    tell(f"{kind} {done}: {issued.path} ({issued.pages} pages, fingerprint {issued.fingerprint[:16]})")
    tell(", ".join(f"{counts.get(v, 0)} {v}" for v in ("short", "confirm", "meets", "not applicable")))
    for line in later("assess.report", "short_lines")(issued.assessment):
        tell(line)
    if issued.supersedes is not None:
        tell(f"supersedes revision {issued.supersedes}; {len(issued.changes)} change(s):")
        for change in issued.changes:
            tell(f"  {change}")
    for note in issued.notes:
        tell(f"note: {note}")
    raise typer.Exit(SHORT if issued.assessment.short else MEETS)


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

    Exit code 0: genuine and current. 1: superseded, or a draft, or --trust does not vouch for a signer, or
    the plan names another person for a signer's role.
    4: altered, or a signature does not hold. 5: unknown to the register, or no plan of planforge's. 2: the
    file, the register or the trust list can't be read.
    """
    book = register_at(register or later("register.register", "register_of")(plan))
    found = later("register.verifying", "verify")(plan, book, trust)
    stated = found.stated
    name = f"{stated.number} revision {stated.revision}, dated {stated.date}" if stated else str(plan)
    tell(f"{name}: {found.verdict.value.upper()}")
    for reason in found.reasons:
        tell(f"  {reason}")
    for signature in found.signatures:
        head, *told = signature.lines()
        tell(f"  {head}")
        for line in told:
            tell(f"    {line}")
    tell(f"  judged by {book.path}" if book.path.exists() else "  judged without a register")
    vouched = all(signature.trusted is not False and signature.as_named for signature in found.signatures)
    codes = {"CURRENT": MEETS if vouched else SHORT, "SUPERSEDED": SHORT, "DRAFT": SHORT, "ALTERED": ALTERED}
    raise typer.Exit(codes.get(found.verdict.name, UNKNOWN))


@app.command()
def compare(
    before: Annotated[
        Path, typer.Argument(metavar="A", help="A plan (PDF) or a job file.", callback=one_job)
    ],
    after: Annotated[Path, typer.Argument(metavar="B", help="The later plan or job file.", callback=one_job)],
) -> None:
    """Say what changed between two revisions: what the crew acts on first, then the rest.

    Example:  planforge compare demo_jobs/wren_lot_7.yaml demo_jobs/wren_lot_7_mended.yaml

    Exit code 0: nothing changed. 1: something did.
    """
    load = later("register.jobs", "load_either")
    changes, lines = later("register.crew", "comparison")(load(before), load(after))
    for line in lines:
        tell(line)
    raise typer.Exit(SHORT if changes else MEETS)


@app.command(name="register")
def listregister_at(
    place: Annotated[
        Path, typer.Argument(metavar="[REGISTER]", help="The register of plans, a file or its folder.")
    ] = Path("output"),
    everything: Annotated[bool, typer.Option("--all", help="Superseded plans and drafts too.")] = False,
) -> None:
    """Print the plans that are current.

    Example:  planforge register output --all
    """
    book = register_at(place)
    if not book.path.exists():
        raise PlanforgeError(f"there is no register at {book.path}; it begins with the first plan issued.")
    entries = sorted(book.entries(), key=lambda entry: entry.key)
    for entry in (e for e in entries if everything or e.status.value == "issued"):
        tell(_entry_line(entry))


def _entry_line(entry: Entry) -> str:
    approved = f", approved by {entry.approved_by}" if entry.approved_by else ""
    return (
        f"{entry.number} revision {entry.revision}: {entry.status.value} {entry.date}; {entry.lot}, "
        f"{entry.project}; {entry.file}; prepared by {entry.prepared_by}{approved}; "
        f"fingerprint {entry.fingerprint[:16]}"
    )
