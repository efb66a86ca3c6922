"""Commands about the job file itself: begin one, its schema, what a field means."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planforge.cli.program import app, later, refuse_to_replace, tell
from planforge.errors import PlanforgeError

if TYPE_CHECKING:
    from planforge.job.reference import FieldDoc


@app.command()
def new(
    path: Annotated[Path, typer.Argument(metavar="FILE", help="The file to write, such as lot_21.yaml.")],
) -> None:
    """Write a commented starter job that reads without a problem.

    Example:  planforge new lot_21.yaml
    """
    refuse_to_replace(path)
    if not path.parent.is_dir():
        raise PlanforgeError(f"{path.parent} is not a folder; make it first.")
    folder: Path = later("languages", "templates_folder")("en")
    text = (folder.parent / "starter.yaml").read_bytes()
    later("document.finish", "write_whole")(path, text)
    tell(f"{path} written. Replace what is marked, then run: planforge check {path}")


@app.command()
def schema() -> None:
    """Print the JSON Schema of a job file, for editors that complete and check YAML.

    Example:  planforge schema > planforge.schema.json
    """
    tell(json.dumps(later("job.json_schema", "json_schema")(), indent=1, ensure_ascii=True))


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
        tell(later("job.reference", "reference_page")())
        return
    checks = later("assess.checks", "CHECKS")
    if field in checks:
        entry = checks[field]
        tell(f"{field}: {entry.title}\n  {entry.asks}\n  Source: {entry.source or 'the code profile'}")
        tell(f"  Decides: {entry.decides}. A variance can accept it: {'yes' if entry.variance else 'no'}.")
        if field not in later("job.reference", "fields")():
            return
        tell("")
    tell(_explained(later("job.reference", "describe")(field)))


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
