"""Commands about layouts: propose one, read one from a drawing, draw one."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from planforge.cli.program import MEETS, SHORT, JobPath, app, later, refuse_to_replace, tell


@app.command()
def propose(
    job: JobPath,
    output: Annotated[
        Path | None, typer.Option("--output", "-o", metavar="FILE.yaml", help="Write the proposal there.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="For programs.")] = False,
    time_limit: Annotated[
        float, typer.Option(min=1.0, max=3600.0, help="Seconds for all of it; then the best so far.")
    ] = 60.0,
) -> None:
    """Propose posts, lines, anchorages, guardrails and covers within the job's part proposal.

    Example:  planforge propose demo_jobs/heron_lot_17.yaml --output heron_lot_17_layout.yaml

    Exit code 0: a proposal of which nothing is short. 1: something is short, or there is no proposal. 2: the
    job file can't be used.
    """
    if output is not None:
        refuse_to_replace(output)
    offered = later("proposal.offer", "offer")(later("job.loading", "load")(job), time_limit=time_limit)
    if as_json:
        tell(json.dumps({"job": str(job), **offered.record}, indent=1, ensure_ascii=True))
    else:
        for line in offered.lines:
            tell(line)
    if output is not None and offered.data:
        refuse_to_replace(output)
        later("document.finish", "write_whole")(output, offered.text.encode("utf-8"))
        if not as_json:
            tell(
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
    refuse_to_replace(target, beside)
    imported = later("cad.importing", "import_drawing")(job, target)
    for line in imported.report:
        tell(line)
    _write_both(
        # The lot's part first: where the drawing's stands, nothing of it is missing.
        (beside, imported.lot, "paste it into the lot's own file and state what is left open"),
        (target, imported.design, "name it under extends in the job or the house design"),
    )


def _write_both(*parts: tuple[Path, str | None, str]) -> None:
    """Write the parts that there are, all or none, and say what each is for."""
    write, written = later("document.finish", "write_whole"), []
    try:
        for path, text, _ in parts:
            if text is not None:
                write(path, text.encode("utf-8"))
                written.append(path)
    except BaseException:
        for path in written:
            path.unlink(missing_ok=True)
        raise
    for path, _, use in parts:
        if path in written:
            tell(f"{path} written: {use}.")


@app.command()
def draw(
    job: JobPath,
    dxf: Annotated[Path, typer.Option("--dxf", help="The DXF file to write.")],
) -> None:
    """Draw the layout as DXF at full size, for the general contractor's CAD.

    Example:  planforge draw demo_jobs/heron_lot_14.yaml --dxf heron_lot_14.dxf

    Where drilling is forbidden the file gives no hole. Exit code 1: something is short; the drawing says so.
    """
    refuse_to_replace(dxf)
    assessment = later("assess.assessment", "assess")(later("job.loading", "load")(job).model)
    identity = later("register.fingerprint", "plan_fingerprint")(assessment.job)
    drawing = later("cad.drawing", "layout_dxf")(assessment, identity)
    later("document.finish", "write_whole")(dxf, drawing)
    tell(f"{'DRAFT' if assessment.draft else 'drawing'} written: {dxf} (fingerprint {identity[:16]})")
    raise typer.Exit(SHORT if assessment.short else MEETS)
