"""Code profiles as data: limits and required contents, each with its citation and how far it was verified.

A profile is a YAML file in this folder. ``basis`` tells how a value was verified; a check that
rests on anything but the regulation's own text prints `confirm`, never as settled law. A profile
may build upon another (``base``): what it does not state itself is taken over, but no longer as
settled, since its own text was not read on that point.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
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
    "borrowed": "taken over from another code",
}
"""How a value was verified, in the words that are printed."""


class _Cited:
    """What is cited with the basis on which it was verified."""

    __slots__ = ()
    citation: str
    basis: str

    @property
    def settled(self) -> bool:
        """True where it was read in the regulation's own text."""
        return self.basis == "regulation"

    @property
    def source(self) -> str:
        """The citation, with a warning where it is not settled."""
        return self.citation if self.settled else f"{self.citation} ({BASIS[self.basis]})"


@dataclass(frozen=True, slots=True)
class Limit(_Cited):
    """A limit in SI (a plain number for counts and factors), with citation and basis."""

    id: str
    value: float
    citation: str
    basis: str
    says: str


@dataclass(frozen=True, slots=True)
class Requirement(_Cited):
    """A required content of the plan, and the part of the document that meets it."""

    id: str
    citation: str
    basis: str
    part: str
    says: str
    checks: tuple[str, ...] = ()
    """The checks that speak for it; a requirement without any stays with a person."""
    states: tuple[str, ...] = ()
    """Fields of the job that must be stated for it, dotted."""


@dataclass(frozen=True, slots=True)
class Trigger(_Cited):
    """The height from which one kind of work needs fall protection, or a written plan."""

    work: str
    height: float
    citation: str
    basis: str
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
    triggers: tuple[Trigger, ...] = ()
    """Heights by kind of work, for the reader; the checks hold every edge to ``trigger_height``."""
    cautions: tuple[str, ...] = ()
    """What a reader of this profile must know before relying on it."""
    barred: tuple[str, ...] = ()
    """Systems that it does not allow."""

    def unsettled(self) -> tuple[str, ...]:
        """The printed sources of the limits that nobody read in the governing text itself."""
        return tuple(limit.source for limit in self.limits.values() if not limit.settled)

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
    base = load_profile(data["base"]) if "base" in data else None
    limits = {
        key: Limit(key, _value(entry), entry["citation"], entry["basis"], entry["says"])
        for key, entry in data.get("limits", {}).items()
    }
    if base is not None:
        limits = {
            key: limits.get(key) or replace(limit, basis=_taken(limit.basis))
            for key, limit in base.limits.items()
        }
    rows, source = _power_lines(data, base)
    return Profile(
        id=data["id"],
        title=data["title"],
        edition=data["edition"],
        checked=str(data["checked"]),
        limits=limits,
        power_line_rows=rows,
        power_line_source=source,
        requirements=_requirements(data, base),
        triggers=tuple(
            Trigger(**(entry | {"height": units.parse(entry["height"], units.LENGTH)}))
            for entry in data["triggers"]
        ),
        cautions=tuple(data.get("cautions", ())),
        barred=tuple(data.get("barred", ())),
    )


def _taken(basis: str) -> str:
    """The basis of an entry that another profile takes over: settled there is not settled here."""
    return "borrowed" if basis == "regulation" else basis


def _power_lines(data: dict[str, Any], base: Profile | None) -> tuple[tuple[tuple[float, float], ...], str]:
    if "power_line_table" not in data:
        assert base is not None  # a profile states the table or builds upon one that does
        return base.power_line_rows, f"{base.power_line_source} ({BASIS['borrowed']})"
    table = data["power_line_table"]
    rows = tuple(
        (units.parse(volts, units.VOLTAGE), units.parse(distance, units.LENGTH))
        for volts, distance in table["rows"]
    )
    return rows, table["citation"]


def _requirements(data: dict[str, Any], base: Profile | None) -> tuple[Requirement, ...]:
    """A profile's own requirements first; one of the same id stands in for the base's."""
    own = tuple(
        Requirement(**(entry | {k: tuple(entry.get(k, ())) for k in ("checks", "states")}))
        for entry in data["requirements"]
    )
    if base is None:
        return own
    ids = {r.id for r in own}
    return own + tuple(replace(r, basis=_taken(r.basis)) for r in base.requirements if r.id not in ids)


@cache
def common_practice() -> Mapping[str, Limit]:
    """Facts of the trade, each marked `common practice, no source`."""
    source = "common practice, no source"
    return {
        key: Limit(key, _value(entry), source, "memory", entry["says"])
        for key, entry in _read("common_practice.yaml").items()
    }
