"""Entries as YAML that a job extends: feet and inches where they are exact, else metres in full.

Nothing is rounded by more than :data:`MOST_ROUNDED`; the header says so.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Literal

from planforge.cad.harvest import Angle, Entry
from planforge.units import INCH, feet_inches

MOST_ROUNDED = 1e-9
"""How far a printed length may lie from what was read (m)."""

_WIDTH = 104
_PLAIN = re.compile(r"^[A-Za-z0-9][A-Za-z0-9_. -]*[A-Za-z0-9]$|^[A-Za-z0-9]$")
_WORDS = {"true", "false", "null", "yes", "no", "on", "off"}


def length_text(metres: float, system: Literal["us", "metric"]) -> str:
    """A length that reads back within :data:`MOST_ROUNDED`."""
    if abs(metres) <= MOST_ROUNDED:
        return "0"
    sixteenths = metres / (INCH / 16.0)
    if system == "us" and abs(round(sixteenths) * INCH / 16.0 - metres) <= MOST_ROUNDED:
        if round(sixteenths) % 192 == 0:
            return f"{round(sixteenths) // 192} ft"
        text = feet_inches(metres)
        return text if "'" in text else f"{text[:-1]} in"
    digits = f"{metres:.9f}".rstrip("0").rstrip(".")
    return f"{digits} m"


def text(value: str) -> str:
    """A text as YAML: plain where nothing in it could be misread, else in single quotes."""
    if _PLAIN.match(value) and value.lower() not in _WORDS and not value.replace(".", "").isdigit():
        return value
    return "'" + value.replace("'", "''") + "'"


def value_text(value: Any, system: Literal["us", "metric"]) -> str:
    """Any value of an entry on one line."""
    match value:
        case bool():
            return "true" if value else "false"
        case float():
            return length_text(value, system)
        case Angle():
            return f"{math.degrees(value.radians):.9f}".rstrip("0").rstrip(".") + " deg"
        case tuple() | list():
            return "[" + ", ".join(value_text(v, system) for v in value) + "]"
        case dict():
            return "{" + ", ".join(f"{k}: {value_text(v, system)}" for k, v in value.items()) + "}"
        case _:
            return text(str(value))


def entry_lines(entry: Entry, system: Literal["us", "metric"], indent: str) -> Iterator[str]:
    """One entry of a list, field by field; how it was drawn stands beside its id."""
    lead = f"{indent}- "
    for name, value in entry.fields.items():
        beside = f"  # {entry.drawn_as}" if name == "id" else ""
        yield from field_lines(name, value, system, lead, beside)
        lead = f"{indent}  "


def field_lines(
    name: str, value: Any, system: Literal["us", "metric"], lead: str, beside: str = ""
) -> Iterator[str]:
    """One field; a list of points too long for a line is broken between points."""
    one = f"{lead}{name}: {value_text(value, system)}"
    if len(one) <= _WIDTH or not isinstance(value, list):
        yield one + beside
        return
    yield f"{lead}{name}:{beside}"
    inner = " " * (len(lead) + 2)
    parts = [value_text(v, system) for v in value]
    row = f"{inner}["
    for number, part in enumerate(parts):
        piece = part + ("," if number < len(parts) - 1 else "]")
        if len(row) + len(piece) > _WIDTH and row.strip() not in ("", "["):
            yield row.rstrip()
            row = f"{inner} "
        row += piece + " "
    yield row.rstrip()


def part_lines(parts: Mapping[str, Sequence[Entry]], system: Literal["us", "metric"]) -> Iterator[str]:
    """Lists of entries under their dotted places, one group after the other."""
    group = ""
    for home, entries in parts.items():
        head, _, tail = home.partition(".")
        if tail and head != group:
            yield f"{head}:"
            group = head
        yield f"{'  ' if tail else ''}{tail or head}:"
        for entry in entries:
            yield from entry_lines(entry, system, "    " if tail else "  ")
