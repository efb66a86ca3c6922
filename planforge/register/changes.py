"""What changed between two jobs, field by field, in the words and units in which they were written.

Values are compared as the models hold them, so that ``6 in`` and ``1/2 ft`` are no change; they are
printed as each job states them. Entries of a list are matched by their id, or by what stands for one.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from enum import Enum
from typing import Any

from pydantic import BaseModel

from planforge.job.base import Rated
from planforge.job.model import Job
from planforge.job.reading import Loaded
from planforge.register.fingerprint import canonical


@dataclass(frozen=True, slots=True)
class Step:
    """One step into a job: a field, and within a list the entry's id, or its place counted from 0."""

    name: str
    entry: str | int | None = None

    def __str__(self) -> str:
        """Print as messages about job files do: ``lines[L-N]``."""
        return self.name if self.entry is None else f"{self.name}[{self.entry}]"


Place = tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Change:
    """One field that differs. ``before`` or ``after`` is None where the field or entry is not stated."""

    place: Place
    before: str | None
    after: str | None

    @property
    def field(self) -> str:
        """The field, dotted: ``layout.lines[L-N].sag``."""
        return ".".join(str(step) for step in self.place)

    @property
    def values(self) -> str:
        """What became of it: ``3 1/2 in -> 3 in``."""
        if self.before is None:
            return f"added: {self.after}"
        if self.after is None:
            return f"removed: {self.before}"
        return f"{self.before} -> {self.after}"

    def __str__(self) -> str:
        """Print the field and what became of it."""
        return f"{self.field} {self.values}"


_KEYS = {
    "Release": ("of",),
    "RevisionNote": ("revision",),
    "SignOff": ("role",),
    "Contact": ("who",),
    "Team": ("shift",),
    "Training": ("course",),
    "Inspection": ("item", "serial"),
    "Voiding": ("what",),
    "Variance": ("check", "where"),
    "NotFeasible": ("system",),
    "PassedOver": ("system",),
}
"""What tells apart the entries of a list that have no id."""

_ONE_WORD = re.compile(r"[\w.\-]+")
_NOTHING = "nothing"


def differences(before: Loaded[Job], after: Loaded[Job]) -> tuple[Change, ...]:
    """Every field that differs, in the order of the job file; empty for jobs of the same canonical form."""
    found = tuple(_values((), before.model, after.model, before.data, after.data))
    if not found and canonical(before.model) != canonical(after.model):
        return (Change((Step("job"),), "written one way", "written another, with the same values"),)
    return found


def _values(place: Place, old: Any, new: Any, old_data: Any, new_data: Any) -> Iterator[Change]:
    """Compare two values; ``old_data`` and ``new_data`` are what the files state for them."""
    if old == new:
        return
    if old is None or new is None:
        yield Change(
            place,
            None if old is None else told(old, old_data),
            None if new is None else told(new, new_data),
        )
    elif isinstance(old, BaseModel) and isinstance(new, BaseModel):
        yield from _groups(place, old, new, _fields_of(old, old_data), _fields_of(new, new_data))
    elif isinstance(old, list) and isinstance(new, list):
        yield from _lists(place, old, new, _listed(old_data), _listed(new_data))
    elif isinstance(old, dict) and isinstance(new, dict):
        yield from _named(place, old, new, _fields_of(old, old_data), _fields_of(new, new_data))
    else:
        same = isinstance(old, float) and isinstance(new, float) and math.isclose(old, new, rel_tol=1e-9)
        note = " (the same value, written otherwise)" if same else ""
        yield Change(place, told(old, old_data), told(new, new_data) + note)


def _groups(
    place: Place, old: BaseModel, new: BaseModel, old_data: dict[str, Any], new_data: dict[str, Any]
) -> Iterator[Change]:
    for name in type(new).model_fields:
        inner = place if name == "value" and isinstance(new, Rated) else (*place, Step(name))
        yield from _values(
            inner, getattr(old, name, None), getattr(new, name), old_data.get(name), new_data.get(name)
        )


def _named(
    place: Place, old: dict[str, Any], new: dict[str, Any], old_data: dict[str, Any], new_data: dict[str, Any]
) -> Iterator[Change]:
    for name in dict.fromkeys([*old, *new]):
        entry = _entry(place, name)
        yield from _values(entry, old.get(name), new.get(name), old_data.get(name), new_data.get(name))
    yield from _order(place, list(old), list(new))


def _lists(
    place: Place, old: list[Any], new: list[Any], old_data: list[Any], new_data: list[Any]
) -> Iterator[Change]:
    old_keys, new_keys = _keys(old), _keys(new)
    if old_keys is not None and new_keys is not None:
        old_said, new_said = _by(old_keys, old, old_data), _by(new_keys, new, new_data)
        for key in dict.fromkeys([*old_keys, *new_keys]):
            before, after = old_said.get(key, (None, None)), new_said.get(key, (None, None))
            yield from _values(_entry(place, key), before[0], after[0], before[1], after[1])
        yield from _order(place, old_keys, new_keys)
    elif any(isinstance(value, BaseModel) or _is_text(value) for value in [*old, *new]):
        yield from _sequences(place, old, new, old_data, new_data)
    else:
        yield Change(place, told(old, old_data), told(new, new_data))


def _sequences(
    place: Place, old: list[Any], new: list[Any], old_data: list[Any], new_data: list[Any]
) -> Iterator[Change]:
    """Compare lists without ids. Places count in the new list; in the old one for what was removed."""
    matcher = SequenceMatcher(None, [_form(v) for v in old], [_form(v) for v in new], autojunk=False)
    for _, i1, i2, j1, j2 in (code for code in matcher.get_opcodes() if code[0] != "equal"):
        paired = min(i2 - i1, j2 - j1)
        for i, j in zip(range(i1, i2), range(j1, j2), strict=False):
            yield from _values(_entry(place, j), old[i], new[j], _at(old_data, i), _at(new_data, j))
        for i in range(i1 + paired, i2):
            yield Change(_entry(place, i), told(old[i], _at(old_data, i)), None)
        for j in range(j1 + paired, j2):
            yield Change(_entry(place, j), None, told(new[j], _at(new_data, j)))


def _order(place: Place, old: Sequence[str], new: Sequence[str]) -> Iterator[Change]:
    """A change of order among the entries that both have: drawings and tables follow it."""
    both = set(old) & set(new)
    before, after = [key for key in old if key in both], [key for key in new if key in both]
    if before != after:
        yield Change((*place, Step("order")), ", ".join(before), ", ".join(after))


def _keys(values: list[Any]) -> list[str] | None:
    """What tells the entries apart; None where nothing does."""
    keys = []
    for value in values:
        names = ("id",) if hasattr(value, "id") else _KEYS.get(type(value).__name__)
        if names is None:
            return None
        keys.append(", ".join(str(getattr(value, name)) for name in names))
    return keys if len(set(keys)) == len(keys) else None


def _by(keys: list[str], values: list[Any], data: list[Any]) -> dict[str, tuple[Any, Any]]:
    return {key: (value, _at(data, n)) for n, (key, value) in enumerate(zip(keys, values, strict=True))}


def _entry(place: Place, entry: str | int) -> Place:
    """The place of an entry: a list in a list stands under its own place."""
    return (
        (*place[:-1], Step(place[-1].name, entry)) if place[-1].entry is None else (*place, Step("", entry))
    )


def _form(value: Any) -> str:
    return value.model_dump_json() if isinstance(value, BaseModel) else repr(value)


def _is_text(value: Any) -> bool:
    return isinstance(value, str) and _ONE_WORD.fullmatch(value) is None


def _at(data: Sequence[Any], index: int) -> Any:
    return data[index] if index < len(data) else None


def _listed(data: Any) -> list[Any]:
    return data if isinstance(data, list) else []


def _fields_of(value: Any, data: Any) -> dict[str, Any]:
    """What a file states for a group's fields; a rated value may be written alone."""
    if isinstance(data, dict):
        return data
    return {"value": data} if isinstance(value, Rated) and data is not None else {}


def told(value: Any, data: Any) -> str:
    """A value in words, texts in full: as the file states it, else what holds where it states nothing."""
    match value:
        case None:
            words = _NOTHING
        case Rated():
            said = _fields_of(value, data)
            more = ", ".join(_said(value, name, said) for name in _stated(value, "value"))
            words = told(value.value, said.get("value")) + (f" ({more})" if more else "")
        case BaseModel():
            said = _fields_of(value, data)
            words = "; ".join(_said(value, name, said) for name in _stated(value))
        case dict():
            said = _fields_of(value, data)
            words = ", ".join(f"{name} {told(inner, said.get(name))}" for name, inner in value.items())
        case tuple():
            words = f"({_items(value, _listed(data))})"
        case list():
            words = _items(value, _listed(data))
        case bool():
            words = "true" if value else "false"
        case Enum():
            words = told(value.value, data)
        case float():
            words = " ".join(str(data).split()) if data is not None else f"{value:g}"
        case _:
            words = f'"{" ".join(value.split())}"' if _is_text(value) else str(value)
    return words or _NOTHING


def _said(value: BaseModel, name: str, data: dict[str, Any]) -> str:
    return f"{name.replace('_', ' ')} {told(getattr(value, name), data.get(name))}"


def _items(values: Sequence[Any], data: list[Any]) -> str:
    """Entries between commas; each group within brackets."""
    said = [told(value, _at(data, n)) for n, value in enumerate(values)]
    inner = ", ".join(
        f"({words})" if isinstance(value, BaseModel | list) else words
        for value, words in zip(values, said, strict=True)
    )
    return inner or "none"


def _stated(value: BaseModel, *but: str) -> list[str]:
    """The fields of a group that hold something."""
    names = [name for name in type(value).model_fields if name not in but]
    return [name for name in names if getattr(value, name) not in (None, [])]
