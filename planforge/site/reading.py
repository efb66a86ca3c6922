"""A site file to its lots: a fault of the site itself is raised, a fault of one lot stays with that lot."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from pydantic import ValidationError

from planforge.errors import JobFileError, Problem, SiteFileError
from planforge.job.extends import KEY, NOT_RELATIVE, Statement, exists
from planforge.job.positions import FieldPath, Locator
from planforge.job.read_parts import read_parts, unread_paths
from planforge.job.remedies import problems_of
from planforge.job.source import read_source
from planforge.job.tree import Entry, Mapping, Mark, Node, Scalar, Sequence, plain
from planforge.job.unread import UnreadError
from planforge.job.wording import shown
from planforge.site.lots import LotSource
from planforge.site.model import MAX_LOTS, SITE_FILE, SiteFile
from planforge.site.repeats import in_doubt, repeated_ids
from planforge.site.table import read_table

JOB: Final = "job"
JOB_FORMAT: Final = "planforge job 1"
_OWN: Final = ("id", JOB, KEY)


@dataclass(frozen=True, slots=True)
class Site:
    """A site that was read: its name and its lots, in the order of the file and then of the table."""

    path: Path
    """The site file, as it was named."""
    name: str
    """What the site is called."""
    kits: Path | None
    """The inventory of kits, from the present folder; None where the site names none."""
    lots: tuple[LotSource, ...]
    """Every lot, each to be read by :func:`planforge.site.lots.load_lot`."""


def read_site(path: Path | str) -> Site:
    """Read a site file and its table; a lot that can't be read does not stop it.

    Raises :class:`planforge.errors.SiteFileError` for faults of the site itself: its own fields, the table's
    header, a lot without an id, an id used twice. The faults of one lot come with that lot.
    """
    try:
        return _read(Path(path))
    except JobFileError as error:
        raise SiteFileError(list(error.problems)) from error


def _read(path: Path) -> Site:
    name = str(path)
    tree, problems = read_source(path, name, SITE_FILE)
    head, faults = _head(tree.root)
    problems += faults
    lots: list[LotSource] = []
    for part in (_lots, _of_table):
        try:
            lots += part(path, tree.root, head)
        except JobFileError as error:
            problems += error.problems
        except UnreadError:
            continue  # its fault is among the head's
    problems += repeated_ids(lots)
    if lots or not problems:
        problems += _count(tree.root, lots)
    if problems:
        raise JobFileError(list(dict.fromkeys(problems)))
    kits = path.parent / head.kits if head.kits else None
    return Site(path, head.site, kits, in_doubt(lots))


def _head(root: Mapping) -> tuple[SiteFile, list[Problem]]:
    """Return what the site states beside its lots, of which the ids alone are looked at, and its faults."""
    trimmed = Mapping({**root.entries, **_ids_alone(root.entries.get("lots"))}, root.mark)
    locator = Locator(trimmed)
    data = plain(trimmed)
    assert isinstance(data, dict)  # the root is a mapping
    problems: list[Problem] = []
    unread: list[FieldPath] = []
    try:
        head = SiteFile.model_validate(data)
    except ValidationError as error:
        problems += problems_of(error, SiteFile, locator, complete=True)
        unread += unread_paths(SiteFile, data, error)
    for place in (("kits",), ("table", "file")):
        text = locator.value(place if locator.node(place) else place[:1])
        if isinstance(text, str) and NOT_RELATIVE.search(text):
            remedy = "Write the path from this file's folder, such as lots.csv."
            expected = "a path relative to this file"
            problems.append(locator.problem(place, found=shown(text), expected=expected, remedy=remedy))
            unread.append(place[:1])
    if problems:
        head = read_parts(SiteFile, data, unread)
    return head, problems


def _ids_alone(lots: Entry | None) -> dict[str, Entry]:
    if lots is None or not isinstance(lots.node, Sequence):
        return {}
    kept: list[Node] = []
    for lot in lots.node.items:
        if isinstance(lot, Mapping):
            kept.append(Mapping({k: e for k, e in lot.entries.items() if k == "id"}, lot.mark))
        else:
            kept.append(lot)
    return {"lots": Entry(lots.mark, Sequence(tuple(kept), lots.node.mark))}


def _lots(path: Path, root: Mapping, head: SiteFile) -> list[LotSource]:
    """Return the lots that the site file itself writes out."""
    listed = root.entries["lots"].node if "lots" in root.entries else None
    items = listed.items if isinstance(listed, Sequence) else ()
    shared = _names(root.entries.get("shared"))
    folders = {str(path): path}
    found = []
    for node, lot in zip(items, head.lots, strict=True):
        name = lot.id
        assert isinstance(node, Mapping)  # it has an id
        found.append(_source(name, path, node, shared, folders))
    return found


def _of_table(path: Path, root: Mapping, head: SiteFile) -> list[LotSource]:
    """Return the lots of the table that the site file names."""
    if head.table is None:
        return []
    place = path.parent / head.table.file
    file = os.path.normpath(place)
    if not exists(place):
        stated = root.entries["table"]
        mark = stated.node.mark if isinstance(stated.node, Scalar) else stated.mark
        found, remedy = (
            f"{shown(head.table.file)}, which does not exist",
            "Correct the name, or put the file there.",
        )
        raise JobFileError([_problem(mark, "table.file", found, "the name of a table", remedy)])
    table = read_table(place, file, head.table.sheet)
    shared = _names(root.entries.get("shared"))
    folders = {str(path): path, file: place}
    sources = [_source(row.id, path, row.node, shared, folders) for row in table.rows]
    return [
        replace(lot, problems=(*row.problems, *lot.problems), table=table.file, headings=table.headings)
        for lot, row in zip(sources, table.rows, strict=True)
    ]


def _source(
    name: str, site: Path, node: Mapping, shared: tuple[Node, ...], folders: dict[str, Path]
) -> LotSource:
    """Return one lot by what the site file or a row states of it."""
    own = {key: entry for key, entry in node.entries.items() if key not in _OWN}
    job, extends = node.entries.get(JOB), node.entries.get(KEY)
    problems: list[Problem] = []
    named = job.node if job and isinstance(job.node, Scalar) and isinstance(job.node.value, str) else None
    if job is not None and named is None and plain(job.node) is not None:
        remedy = "Write a relative path such as lots/lot_14.yaml, or delete the line."
        problems.append(
            _problem(job.node.mark, JOB, shown(plain(job.node)), "the name of a job file", remedy)
        )
    if named is not None and extends is not None:
        remedy = f"Name the files under {KEY} in the job file, or delete {JOB}."
        problems.append(_problem(extends.mark, KEY, f"{KEY} beside {JOB}", "one of the two", remedy))
    if named is None:
        mark = extends.mark if extends else node.mark
        above = Sequence((*shared, *_names(extends)), mark)
        own = {KEY: Entry(mark, above), "format": Entry(node.mark, Scalar(JOB_FORMAT, node.mark)), **own}
    stated = Statement(Mapping(own, node.mark), named, site, folders)
    return LotSource(name, site, node.mark, stated, tuple(problems))


def _problem(mark: Mark, field: str, found: str, expected: str, remedy: str) -> Problem:
    return Problem(mark.file, mark.line, field, found, expected, remedy)


def _names(stated: Entry | None) -> tuple[Node, ...]:
    if stated is None or plain(stated.node) is None:
        return ()
    return stated.node.items if isinstance(stated.node, Sequence) else (stated.node,)


def _count(root: Mapping, lots: list[LotSource]) -> list[Problem]:
    mark = root.entries["lots"].mark if "lots" in root.entries else root.mark
    if not lots:
        expected, remedy = "a lot at least", "List the lots under lots, or name a table that lists them."
        return [_problem(mark, "lots", "no lot", expected, remedy)]
    if len(lots) > MAX_LOTS:
        expected, remedy = f"at most {MAX_LOTS:,} lots", "Divide the site into several."
        return [_problem(mark, "lots", f"{len(lots):,} lots", expected, remedy)]
    return []
