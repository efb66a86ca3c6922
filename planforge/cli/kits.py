"""The command about kits: who needs what when, what is lacking, what goes where on which truck."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from planforge.cli.program import MEETS, SHORT, app, day_of, later
from planforge.errors import JobFileError, PlanforgeError

if TYPE_CHECKING:
    from planforge.errors import Problem
    from planforge.job.model import Job
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
    time_limit: Annotated[
        float, typer.Option(min=1.0, max=3600.0, help="Seconds for each choice; then the best so far.")
    ] = 60.0,
) -> None:
    """Plan the kits of a site: needs, shortages with their smallest remedy, moves and trucks.

    Example:  planforge kits demo_jobs/sandpiper_row.yaml --date 2026-11-25

    Exit code 0: nothing lacks or clashes. 1: something does. 2: the site, its kits or a lot can't be used.
    """
    start = day_of(date)
    read = later("site.reading", "read_site")(site)
    lots, inventory = _read(read)
    plan: KitPlan = later("kits.plan", "kit_plan")(lots, inventory, start, time_limit=time_limit)
    if as_json:
        record = later("kits.report", "record")(plan)
        print(json.dumps({"site": str(site), "name": read.name, **record}, indent=1, ensure_ascii=True))
    else:
        display = later("units", "Display")(lots[0][1].site.units)
        print(f"{read.name}. ", end="")
        for line in later("kits.report", "report")(plan, display):
            print(line)
    raise typer.Exit(SHORT if plan.verdict.value == "short" else MEETS)


def _read(site: Site) -> tuple[list[tuple[str, Job]], Any]:
    """Every lot's job and the inventory; all problems of all of them are raised together."""
    if site.kits is None:
        raise PlanforgeError(
            f"{site.path} names no kits; write kits: FILE.yaml, the inventory of the kits, beside its lots."
        )
    problems: list[Problem] = []
    lots: list[tuple[str, Job]] = []
    inventory = None
    try:
        inventory = later("kits.reading", "load_inventory")(site.kits).model
    except JobFileError as error:
        problems += error.problems
    for source in site.lots:
        try:
            lots.append((source.id, later("site.lots", "load_lot")(source).model))
        except JobFileError as error:
            problems += error.problems
    if problems:
        raise JobFileError(list(dict.fromkeys(problems)))
    return lots, inventory
