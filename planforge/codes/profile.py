"""Code profiles as data: limits and required contents, each with its citation and how far it was verified.

A profile is a YAML file in this folder. ``basis`` tells how a value was verified; a check that
rests on anything but the regulation's own text prints `confirm`, never as settled law.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

import yaml

from planforge import units
from planforge.errors import RefusedError

_KINDS = {"length": units.LENGTH, "force": units.FORCE, "mass": units.MASS, "voltage": units.VOLTAGE}

BASIS = {
    "regulation": "read in the regulation",
    "secondary": "secondary source only",
    "memory": "from memory, to be looked up",
}
"""How a value was verified, in the words that are printed."""


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit in SI (a plain number for counts and factors), with citation and basis."""

    id: str
    value: float
    citation: str
    basis: str
    says: str

    @property
    def settled(self) -> bool:
        """True where the value was read in the regulation's own text."""
        return self.basis == "regulation"

    @property
    def source(self) -> str:
        """The citation, with a warning where the value is not settled."""
        return self.citation if self.settled else f"{self.citation} ({BASIS[self.basis]})"


@dataclass(frozen=True, slots=True)
class Requirement:
    """A required content of the plan, and the part of the document that meets it."""

    id: str
    citation: str
    basis: str
    part: str
    says: str


@dataclass(frozen=True, slots=True)
class Profile:
    """One code profile."""

    id: str
    title: str
    edition: str
    checked: str
    limits: Mapping[str, Limit]
    power_line_rows: tuple[tuple[float, float], ...]
    power_line_source: str
    requirements: tuple[Requirement, ...]

    def power_line_distance(self, volts: float) -> float | None:
        """The least distance in m for a voltage in V; None above the table (the utility decides)."""
        return next((distance for most, distance in self.power_line_rows if volts <= most), None)


def _value(entry: Mapping[str, Any]) -> float:
    kind = _KINDS.get(str(entry["kind"]))
    return units.parse(entry["value"], kind) if kind else float(entry["value"])


def _read(name: str) -> dict[str, Any]:
    text = resources.files("planforge.codes").joinpath(name).read_text("utf-8")
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    return dict(yaml.load(text, Loader=loader))


def profile_ids() -> list[str]:
    """The ids of all profiles, sorted."""
    files = resources.files("planforge.codes").iterdir()
    names = [f.name.removesuffix(".yaml").replace("_", "-") for f in files if f.name.endswith(".yaml")]
    return sorted(n for n in names if n != "common-practice")


@cache
def load_profile(profile_id: str) -> Profile:
    """Read a profile by id. Raises :class:`RefusedError` naming the known ones."""
    if profile_id not in profile_ids():
        known = ", ".join(profile_ids())
        raise RefusedError(f"no code profile {profile_id!r}; site.code_profile can be: {known}")
    data = _read(profile_id.replace("-", "_") + ".yaml")
    limits = {
        key: Limit(key, _value(entry), entry["citation"], entry["basis"], entry["says"])
        for key, entry in data["limits"].items()
    }
    table = data["power_line_table"]
    rows = tuple(
        (units.parse(volts, units.VOLTAGE), units.parse(distance, units.LENGTH))
        for volts, distance in table["rows"]
    )
    return Profile(
        id=data["id"],
        title=data["title"],
        edition=data["edition"],
        checked=str(data["checked"]),
        limits=limits,
        power_line_rows=rows,
        power_line_source=table["citation"],
        requirements=tuple(Requirement(**entry) for entry in data["requirements"]),
    )


@cache
def common_practice() -> Mapping[str, Limit]:
    """Facts of the trade, each marked `common practice, no source`."""
    source = "common practice, no source"
    return {
        key: Limit(key, _value(entry), source, "memory", entry["says"])
        for key, entry in _read("common_practice.yaml").items()
    }
