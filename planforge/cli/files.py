"""Commands about the job file itself: begin one, its schema, what a field means."""

from __future__ import annotations

import json
import re
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
    site: Annotated[
        bool,
        typer.Option("--site", help="A site of many lots: its file, a table of lots, a first lot's job."),
    ] = False,
) -> None:
    """Write a commented starter job that reads without a problem.

    Examples:  planforge new lot_21.yaml     planforge new --site sandpiper.yaml
    """
    starters = _site_starters(path) if site else {path: ("starter.yaml", {})}
    refuse_to_replace(*starters)
    if not path.parent.is_dir():
        raise PlanforgeError(f"{path.parent} is not a folder; make it first.")
    folder: Path = later("languages", "templates_folder")("en").parent
    for target, (starter, names) in starters.items():
        text = (folder / starter).read_text("utf-8")
        for name, own in names.items():
            text = text.replace(name, own)
        later("document.finish", "write_whole")(target, text.encode("utf-8"))
    written = ", ".join(str(target) for target in reversed(starters))
    tell(f"{written} written. Replace what is marked, then run: planforge check {path}")


def _site_starters(path: Path) -> dict[Path, tuple[str, dict[str, str]]]:
    """The files of a new site: from which starter each is made, and which names in it are replaced."""
    if not re.fullmatch(r"[\w .-]+", path.stem):
        raise PlanforgeError(
            f"{path.stem!r} can't name a site's files, which name each other: choose letters, digits, "
            "spaces, points, hyphens or underscores."
        )
    lot, table = path.with_name(f"{path.stem}_lot_1.yaml"), path.with_name(f"{path.stem}_lots.csv")
    return {
        lot: ("starter.yaml", {}),
        table: ("starter_lots.csv", {"starter_lot_1.yaml": lot.name}),
        path: ("starter_site.yaml", {"starter_lots.csv": table.name}),
    }


@app.command()
def schema(
    site: Annotated[bool, typer.Option("--site", help="Of a site file.")] = False,
    kits: Annotated[bool, typer.Option("--kits", help="Of an inventory of kits.")] = False,
) -> None:
    """Print the JSON Schema of a job file, for editors that complete and check YAML.

    Example:  planforge schema > planforge.schema.json
    """
    if site and kits:
        raise PlanforgeError("choose one of --site and --kits.")
    home = ("site.reference", "site_schema") if site else ("job.json_schema", "json_schema")
    found = later(*(("kits.reference", "kits_schema") if kits else home))()
    tell(json.dumps(found, indent=1, ensure_ascii=True))


@app.command()
def explain(
    field: Annotated[
        str, typer.Argument(metavar="[FIELD]", help="A field such as layout.lines.sag; none lists the parts.")
    ] = "",
    everything: Annotated[bool, typer.Option("--all", help="Every field, as one page of Markdown.")] = False,
    site: Annotated[
        bool, typer.Option("--site", help="A field of the site file, such as table.sheet.")
    ] = False,
    kits: Annotated[
        bool, typer.Option("--kits", help="A field of the inventory of kits, such as stock.units.due.")
    ] = False,
) -> None:
    """Explain a field of the job file, or a check by its id.

    Examples:  planforge explain layout.lines.sag     planforge explain arrest.clearance
    """
    if kits:
        tell(_explained(later("kits.reference", "describe_kits")(field), "the inventory of kits"))
        return
    if site:
        tell(_explained(later("site.reference", "describe_site")(field), "the site file"))
        return
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


def _explained(doc: FieldDoc, file: str = "the job file") -> str:
    lines = [f"{doc.path or file}: {doc.type}", f"  {doc.description}"]
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
