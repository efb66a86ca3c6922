"""The languages that pages are printed in: each a folder of templates with a ``language.yaml`` beside them.

A second language is a folder: its prose stands in its templates, and what a program joins to numbers and
dates stands in its ``language.yaml``. Nothing here knows one language from another but for English, in which
the whole plan is printed.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final

import yaml

from planforge.errors import RefusedError

FIRST: Final = "en"
"""The language of the whole plan; others print what their readers act on."""
OF_A_SITE: Final = ("site_", "kits")
"""How the templates of a whole site begin: no plan prints them, and no plan's fingerprint takes them in."""

_FILE: Final = "language.yaml"
_NUMBER: Final = re.compile(r"(?<![\w.])\d[\d,]*(?:\.\d+)?")

_DAY: Final = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")
_BETWEEN: Final = ("to", "and")
"""What stands between serial numbers."""


@dataclass(frozen=True, slots=True, eq=False)
class Language:
    """One language: how its readers name it, its numbers, dates and units, its fixed words."""

    code: str  # of BCP 47, such as es; the folder's name
    names: tuple[str, ...]  # as a job may state it; the first is printed on English pages
    decimal: str
    thousands: str
    date: str  # a format of {year}, {month}, {day} and {name}
    months: tuple[str, ...]
    units: Mapping[str, str]  # what a printed unit is called here
    at: str  # joins a value and where it holds: {value}, {at}
    both: str  # stands between two values, such as " and "
    untranslated: str  # how a text of the job without a translation is printed: {text}
    page: Mapping[str, Any]  # words of headers, footers and tags
    map: Mapping[str, str]  # words of the tie-off map
    tags: Mapping[
        str, str
    ]  # words of the tags that hang on lines and anchors, with places for what they name
    short_key: Mapping[str, str]  # the map's key in few words, where two languages share it
    systems: Mapping[str, str]
    deciders: Mapping[str, str]
    languages: Mapping[str, str]
    results: Mapping[str, str]
    basis: Mapping[str, str]
    kit: Mapping[str, str]  # of an item's inspection, life and serial numbers; English words first
    slab: Mapping[str, str]  # why nobody drills; English words first

    @property
    def name(self) -> str:
        """Its English name."""
        return self.names[0]

    def day(self, date: dt.date) -> str:
        """A day as this language writes it."""
        name = self.months[date.month - 1] if self.months else ""
        return self.date.format(year=date.year, month=date.month, day=date.day, name=name)

    def on_kit(self, said: str) -> str:
        """What a finding says of an item's inspection or life, its days as this language writes them."""
        return self._reworded(said, {words: own for words, own in self.kit.items() if words not in _BETWEEN})

    def on_slab(self, said: str) -> str:
        """What a finding says of why nobody drills."""
        return self._reworded(said, self.slab)

    def _reworded(self, said: str, known: Mapping[str, str]) -> str:
        for words, own in known.items():
            said = said.replace(words, own, 1)
        return _DAY.sub(lambda day: self.day(dt.date.fromisoformat(day[0])), said)

    def serials(self, stated: str) -> str:
        """Serial numbers as a job states them: what stands between two is this language's."""
        return re.sub(rf" ({'|'.join(_BETWEEN)}) ", lambda word: f" {self.kit[word[1]]} ", stated)

    def numbers(self, printed: str) -> str:
        """A printed quantity with this language's decimal sign, thousands and units; its value stays."""
        if (self.thousands, self.decimal) != (",", "."):
            printed = _NUMBER.sub(self._signs, printed)
        for unit, word in self.units.items():
            printed = re.sub(rf"(?<=\d )\b{re.escape(unit)}\b(?!-)", word, printed)
        return printed

    def _signs(self, match: re.Match[str]) -> str:
        parts = match[0].replace(",", "\0").replace(".", self.decimal)
        return parts.replace("\0", self.thousands)


def templates_folder(code: str) -> Path:
    """Return the folder of a language's templates, in a wheel or in a source checkout."""
    folder = _root() / code
    if folder.is_dir():
        return folder
    raise RefusedError(f"there are no templates for language {code!r}")


def _root() -> Path:
    package = Path(__file__).resolve().parent
    inside = package / "templates"
    return inside if inside.is_dir() else package.parent / "templates"


def language(code: str) -> Language:
    """Return the language of a folder; raise :class:`RefusedError` where there is none."""
    known = languages()
    if code not in known:
        raise RefusedError(f"no words for language {code!r}; known: {', '.join(sorted(known))}")
    return known[code]


@cache
def languages() -> Mapping[str, Language]:
    """Every language that has a folder, by its code."""
    folders = sorted(path.parent for path in _root().glob(f"*/{_FILE}"))
    return {folder.name: read_language(folder) for folder in folders}


def read_language(folder: Path) -> Language:
    """Read a folder's ``language.yaml``; raise :class:`RefusedError` where it lacks something."""
    path = folder / _FILE
    try:
        loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
        data = yaml.load(path.read_text("utf-8"), Loader=loader)
        return Language(
            code=folder.name,
            names=tuple(data["names"]),
            decimal=data["numbers"]["decimal"],
            thousands=data["numbers"]["thousands"],
            date=data["dates"]["form"],
            months=tuple(data["dates"]["months"]),
            **{key: data[key] for key in ("units", "at", "both", "untranslated", "page")},
            **{
                key: data[key]
                for key in (
                    "map",
                    "tags",
                    "short_key",
                    "systems",
                    "deciders",
                    "languages",
                    "results",
                    "basis",
                    "kit",
                    "slab",
                )
            },
        )
    except (OSError, KeyError, TypeError, yaml.YAMLError) as fault:
        raise RefusedError(f"{folder.name}/{_FILE} can't be used: {fault}") from fault


def spoken(name: str) -> Language | None:
    """The language that a job calls ``name``; None where it has no folder."""
    wanted = name.strip().casefold()
    return next((one for one in languages().values() if wanted in map(str.casefold, one.names)), None)


def folders(codes: Iterable[str]) -> tuple[Path, ...]:
    """The folders that a plan is printed from: English first, then each other language once."""
    return tuple(templates_folder(code) for code in dict.fromkeys((FIRST, *codes)))
