"""The columns of a table: which field of a lot a header names, and what a cell states of it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from pydantic import BaseModel

from planforge.job.base import Rated
from planforge.job.extends import KEY
from planforge.job.field_types import FieldType, field_type, group
from planforge.job.fields import homes
from planforge.job.model import Job
from planforge.job.tree import Mark, Node, Scalar, Sequence
from planforge.job.wording import listed, nearest, same_word, shown
from planforge.site.cells import Cell, Fault

_PART = re.compile(r"\[([^\[\]]*)\]|([^.\[\]]+)")
_WHOLE = re.compile(r"[^.\[\]]+(?:\.[^.\[\]]+|\[[^\[\]]*\])*")
_TEXT: Final = FieldType("text")
_OF_LOT: Final = {
    "id": FieldType("short name"),
    "job": _TEXT,
    KEY: FieldType("list", item=_TEXT),
}
_VALUE: Final = (Rated, "value")
_SINGLE: Final = frozenset({"quantity", "whole number", "switch", "date", "short name", "text", "choice"})
_LONGEST: Final = 200
_ADVICE: Final = "State it in the lot's job file, or in a lot of the site file."
_NAMES_A_FIELD: Final = "a field of a lot"


@dataclass(frozen=True, slots=True)
class ListEntry:
    """A step to an entry of a list, by its id."""

    id: str


Step = str | ListEntry


@dataclass(frozen=True, slots=True)
class Column:
    """What a column states: the steps to a field of the lot, and the field's type."""

    header: str
    steps: tuple[Step, ...]
    kind: FieldType

    @property
    def field(self) -> str:
        """The field, dotted, entries of a list by their ids."""
        return ".".join(step.id if isinstance(step, ListEntry) else step for step in self.steps)

    def node(self, cell: Cell, mark: Mark) -> Node | Fault:
        """Return what a cell states, for the model to read; or what keeps it from stating anything."""
        if cell.fault is not None:
            return cell.fault
        if cell.kind == "date" and self.kind.kind != "date":
            remedy = "Format the cell as text and type it again."
            found = f"a date ({cell.text}), which spreadsheets make of texts such as 3-4"
            return Fault(found, "what this column holds", remedy)
        if cell.text == "null":
            return Scalar(None, mark)
        if self.kind.kind in ("list", "point"):
            return _several(cell.text, mark)
        if self.kind.kind == "switch" and cell.text.casefold() in ("true", "false"):
            return Scalar(cell.text.casefold() == "true", mark)
        return Scalar(cell.text, mark)


class HeaderError(Exception):
    """A header that names no field that a cell can state."""

    def __init__(self, found: str, expected: str, remedy: str, meant: tuple[str, ...] = ()) -> None:
        """Keep what was found, what is expected and what to do; ``meant`` are headers it may stand for."""
        super().__init__(found)
        self.fault = Fault(found, expected, remedy)
        self.meant = meant


def column(header: str) -> Column:
    """Return the column of a header such as ``site.permit`` or ``phases.deck.start``.

    After a list stands the id of one of its entries, in brackets where it has a point in it:
    ``hazards[H1.2].height``. Raises :class:`HeaderError`.
    """
    if header in _OF_LOT:
        return Column(header, (header,), _OF_LOT[header])
    if len(header) > _LONGEST:
        raise HeaderError(f"a header of {len(header):,} characters", _NAMES_A_FIELD, "Shorten it.")
    if not _WHOLE.fullmatch(header):
        raise HeaderError(shown(header), "a field such as site.permit", "Join names with points, no spaces.")
    parts = [(found[2] or found[1]).strip() for found in _PART.finditer(header)]
    steps: list[Step] = []
    holder: type[BaseModel] = Job
    while True:
        kind = _field(header, holder, steps, parts)
        if kind.kind == "group" and kind.model is not None:
            holder = kind.model
        elif kind.kind == "list" and kind.item is not None and kind.item.model is not None:
            holder = kind.item.model
            steps.append(_entry(header, holder, parts))
        else:
            kind = _stated(header, kind, steps, parts)
            return Column(header, tuple(steps), kind)
        if not parts:
            expected = "a field that one cell can state"
            names = [f"{header}.{name}" for name in holder.model_fields if name != "id"]
            raise HeaderError(f"{shown(header)}, a group of fields", expected, f"Name {listed(names[:6])}.")


def _field(header: str, holder: type[BaseModel], steps: list[Step], parts: list[str]) -> FieldType:
    """Take the next step, to a field of the holder, and return its type."""
    name = parts.pop(0)
    if name not in holder.model_fields:
        raise _unknown(header, holder, steps, name, parts)
    steps.append(name)
    return _kinds(holder)[name]


def _entry(header: str, holder: type[BaseModel], parts: list[str]) -> ListEntry:
    """Take the next step, to an entry of a list of the holder's model."""
    if "id" not in holder.model_fields:
        found = f"{shown(header)}, in a list whose entries have no id"
        raise HeaderError(found, "a field that one cell can state", _ADVICE)
    if not parts or parts[0] == "id" or (len(parts) == 2 and parts[1] == "id"):
        example = next(name for name in holder.model_fields if name != "id")
        shape = f"{header.removesuffix('.id')}.ID.{example}, with the id of an entry for ID"
        raise HeaderError(shown(header), "the id of an entry and one of its fields", f"Write {shape}.")
    return ListEntry(parts.pop(0))


def _stated(header: str, kind: FieldType, steps: list[Step], parts: list[str]) -> FieldType:
    """Take the steps that are left, inside a value, and return the type of what a cell states."""
    if kind.kind == "names" and kind.item is not None:
        if not parts:
            raise HeaderError(shown(header), "the name of an entry after it", f"Write {header}.NAME.")
        steps.append(parts.pop(0))
        kind = kind.item
    if kind.rated and parts:
        part = parts.pop(0)
        if part not in Rated.model_fields:
            raise _unknown(header, Rated, steps, part, parts)
        steps.append(part)
        kind = kind if part == "value" else _kinds(Rated)[part]
    if parts:
        found = f"{shown(header)}, which goes on after a single value"
        near = _header(steps)
        raise HeaderError(found, _NAMES_A_FIELD, f"Did you mean {near}?", (near,))
    holds = kind.item.kind if kind.item is not None else kind.kind
    if holds not in _SINGLE and kind.kind != "point":
        found = f"{shown(header)}, which holds a list of points or groups"
        raise HeaderError(found, "a field that one cell can state", _ADVICE)
    return kind


def _unknown(
    header: str, holder: type[BaseModel], steps: list[Step], name: str, parts: list[str]
) -> HeaderError:
    """Name what the header may mean: a like field here, or one of its very name elsewhere."""
    known = [*holder.model_fields, *(() if steps else _OF_LOT)]
    last = (parts or [name])[-1]
    elsewhere = [found for home in homes(Job, last) if (found := _placed(f"{home}.{last}"))]
    near = nearest(name, known)
    alone = not steps and not parts and near is not None and same_word(near) != same_word(name)
    if near and not (alone and elsewhere):
        likely = _header([*steps, near, *parts])
        meant = [_corrected(likely) or likely]
    else:
        meant = elsewhere
    if meant:
        remedy = f"Did you mean {listed(meant[:3])}?"
    else:
        remedy = f"Known here: {listed([_header([*steps, one]) for one in known], 'and')}."
    mine = " To keep a column of your own, begin its header with #."
    return HeaderError(f"the unknown column {shown(header)}", _NAMES_A_FIELD, remedy + mine, tuple(meant))


def _corrected(header: str) -> str | None:
    """Return what a header that is corrected in part may mean as a whole; None if it is right."""
    try:
        column(header)
    except HeaderError as error:
        return error.meant[0] if error.meant else None
    return None


def _placed(path: str) -> str | None:
    """Return a field as a header, ``ID`` for an entry's id; None in a list whose entries have none."""
    holder: type[BaseModel] | None = Job
    words: list[str] = []
    for name in path.split("."):
        if holder is None or name not in holder.model_fields:
            return None
        words.append(name)
        kind = _kinds(holder)[name]
        holder = group(kind)
        if kind.kind == "list" and holder is not None and name != path.rpartition(".")[2]:
            if "id" not in holder.model_fields:
                return None
            words.append("ID")
    return ".".join(words)


def _header(steps: Iterable[Step]) -> str:
    """Return steps as a header writes them: an id with a point in it in brackets."""
    words = [step.id if isinstance(step, ListEntry) else step for step in steps]
    return "".join(f"[{word}]" if "." in word else f".{word}" for word in words).removeprefix(".")


def _several(text: str, mark: Mark) -> Sequence:
    """Read a cell with several values, parted by semicolons if there are any, else by commas."""
    bare = text.removeprefix("[").removesuffix("]")
    values = bare.split(";" if ";" in bare else ",")
    return Sequence(tuple(Scalar(value.strip(), mark) for value in values if value.strip()), mark)


@lru_cache(maxsize=256)
def _kinds(model: type[BaseModel]) -> dict[str, FieldType]:
    """Return the types of a model's fields; of a rated value only those beside the value itself."""
    return {name: field_type(one) for name, one in model.model_fields.items() if (model, name) != _VALUE}
