"""The command about kits: who needs what when, what is lacking, what goes where on which truck."""

from __future__ import annotations

import datetime as dt
import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planforge.cli.program import MEETS, SHORT, app, day_of, later, tell
from planforge.errors import JobFileError, PlanforgeError

if TYPE_CHECKING:
    from planforge.errors import Problem
    from planforge.job.model import Job
    from planforge.kits.inventory import Inventory
    from planforge.kits.result import KitPlan
    from planforge.site.reading import Site

SitePath = Annotated[Path, typer.Argument(metavar="SITE", help="The site file (YAML), which names its kits.")]


@app.command()
def kits(
    site: SitePath,
    date: Annotated[
        str | None, typer.Option(metavar="YYYY-MM-DD", help="Plan from this day, not the inventory's own.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="For programs: values in SI.")] = False,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output", "-o", help="Print it too: a PDF with calendar, loads and hand-over sheets, there."
        ),
    ] = None,
    shift: Annotated[
        list[str] | None,
        typer.Option(metavar="LOT=DAYS", help="A trial: this lot's dates moved by working days, -2 earlier."),
    ] = None,
    time_limit: Annotated[
        float, typer.Option(min=1.0, max=3600.0, help="Seconds for each choice; then the best so far.")
    ] = 60.0,
) -> None:
    """Plan the kits of a site: needs, shortages with their smallest remedy, moves and trucks.

    Example:  planforge kits demo_jobs/sandpiper_row.yaml --date 2026-11-25 --output kits.pdf

    Exit code 0: nothing lacks or clashes. 1: something does. 2: the site, its kits or a lot can't be used.
    """
    start, shifts = day_of(date), _shifts(shift or [])
    if shifts and output is not None:
        raise PlanforgeError(
            "--output prints what the jobs state: change the dates in the lots' jobs, or leave --shift out."
        )
    read = later("site.reading", "read_site")(site)
    lots, inventory = _read(read)
    plan: KitPlan = later("kits.plan", "kit_plan")(
        lots, inventory, start, shifts=shifts, time_limit=time_limit
    )
    if output is not None:
        later("document.finish", "write_whole")(output, _printed(read, lots, inventory, start, plan))
    if as_json:
        record = later("kits.report", "record")(plan)
        tell(json.dumps({"site": str(site), "name": read.name, **record}, indent=1, ensure_ascii=True))
    else:
        display = later("units", "Display")(lots[0][1].site.units)
        tell(f"{read.name}.")
        for line in later("kits.report", "report")(plan, display):
            tell(line)
        if output is not None:
            tell(f"{output} written.")
    raise typer.Exit(SHORT if plan.verdict.value == "short" else MEETS)


def _shifts(stated: list[str]) -> dict[str, int]:
    """Lots with the working days by which a trial moves them."""
    found: dict[str, int] = {}
    for one in stated:
        lot, sign, days = one.partition("=")
        if not lot or not sign or not re.fullmatch(r"[+-]?\d{1,3}", days):
            raise PlanforgeError(
                f"--shift {one!r} is no lot with working days; write heron-18=4, or heron-18=-2 for earlier."
            )
        found[lot] = int(days)
    return found


def _printed(
    site: Site, lots: list[tuple[str, Job]], inventory: Inventory, start: dt.date | None, plan: KitPlan
) -> bytes:
    """The PDF; it bears the day from which it plans, so that the same input gives the same bytes."""
    printed: bytes = later("document.kit_packet", "kit_packet")(
        plan,
        site=site.name,
        date=plan.as_of,
        fingerprint=later("register.fingerprint", "kits_fingerprint")(
            [job for _, job in lots], inventory, start
        ),
        show=later("document.printed", "Printed")(lots[0][1].site.units),
        facts=later("document.context_kits", "kit_facts")(dict(lots), inventory),
    )
    return printed


def _read(site: Site) -> tuple[list[tuple[str, Job]], Inventory]:
    """Every lot's job and the inventory; all problems of all of them are raised together."""
    if site.kits is None:
        raise PlanforgeError(
            f"{site.path} names no kits; write kits: FILE.yaml, the inventory of the kits, beside its lots."
        )
    problems: list[Problem] = []
    lots: list[tuple[str, Job]] = []
    inventory: Inventory | None = None
    try:
        inventory = later("kits.reading", "load_inventory")(site.kits).model
    except JobFileError as error:
        problems += error.problems
    for source in site.lots:
        try:
            lots.append((source.id, later("site.lots", "load_lot")(source).model))
        except JobFileError as error:
            problems += error.problems
    if problems or inventory is None:
        raise JobFileError(list(dict.fromkeys(problems)))
    return lots, inventory
