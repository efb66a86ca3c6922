"""A second language is a folder: it has all that English has, one term for each, its own words complete."""

from __future__ import annotations

import datetime as dt
import re
from functools import cache
from pathlib import Path
from typing import Any, get_args

import pytest
import yaml
from jinja2 import nodes

from planforge.assess.checks import CHECKS
from planforge.codes.profile import BASIS
from planforge.document.fonts import REGULAR, spelled
from planforge.errors import RefusedError
from planforge.figures.tie_off_map import WORDS as MAP_WORDS
from planforge.job.erection import Inspection
from planforge.job.hazard import System
from planforge.languages import Language, languages, read_language, spoken

from .template_pairs import TEMPLATES, macros, pieces, tree

OTHERS = [code for code in languages() if code != "en"]
SHARED = [
    (code, path.name)
    for code in OTHERS
    for path in sorted((TEMPLATES / code).glob("*.md"))
    if path.name not in {"words.md", "macros.md"} and "side_by_side" not in path.name
]
GLOSSARY = yaml.safe_load((TEMPLATES / "es" / "glossary.yaml").read_text("utf-8"))


@pytest.mark.parametrize(("code", "name"), SHARED)
def test_a_template_has_the_structure_of_the_english_one(code: str, name: str) -> None:
    ours, theirs = list(pieces(tree(code, name))), list(pieces(tree("en", name)))
    for mine, english in zip(ours, theirs, strict=False):
        assert mine[0] == english[0], f"{mine} against {english}"
    assert len(ours) == len(theirs)


@pytest.mark.parametrize("code", OTHERS)
def test_macros_and_words_are_those_of_english(code: str) -> None:
    english = macros(tree("en", "macros.md"))
    for name, macro in macros(tree(code, "macros.md")).items():
        assert [p[0] for p in pieces(macro)] == [p[0] for p in pieces(english[name])], name
    assert set(_words(code)) <= set(_words("en"))


def _words(code: str) -> dict[str, str]:
    set_to = {a.target: a.node for a in tree(code, "words.md").find_all(nodes.Assign)}
    return {name.name: to.value for name, to in set_to.items() if isinstance(to, nodes.Const)}  # type: ignore[attr-defined]


@pytest.mark.parametrize("code", sorted(languages()))
def test_a_language_names_everything_it_may_have_to_print(code: str) -> None:
    one = languages()[code]
    assert set(one.systems) == {system.value for system in System}
    assert set(one.deciders) == {check.decides for check in CHECKS.values()}
    assert set(one.results) == set(get_args(Inspection.model_fields["result"].annotation))
    assert set(one.basis) == set(BASIS.values())
    assert set(one.map) == set(MAP_WORDS)
    assert set(one.short_key) == {"number", "ground", "far"}
    assert set(one.page["verdicts"]) == {"meets", "short", "confirm", "not applicable"}
    assert set(one.languages) == {other.name for other in languages().values()}
    assert set(one.kit) == set(languages()["en"].kit)
    assert len(one.months) in {0, 12}
    assert "{text}" in one.untranslated
    if code == "en":
        assert dict(one.map) == MAP_WORDS


@cache
def _spanish_pairs() -> list[tuple[str, str, str]]:
    """Every stretch of words in both languages, with where it stands."""
    pairs = [
        (name, english[1], spanish[1])
        for code, name in SHARED
        if code == "es"
        for english, spanish in zip(pieces(tree("en", name)), pieces(tree("es", name)), strict=False)
        if english[1].strip()
    ]
    pairs += [("language.yaml", english, spanish) for english, spanish in _yaml_pairs("en", "es")]
    english_words = _words("en")
    pairs += [("words.md", english_words[name], spanish) for name, spanish in _words("es").items()]
    for job in sorted((TEMPLATES.parent / "demo_jobs").glob("*.yaml")):
        for group in yaml.safe_load(job.read_text("utf-8")).get("translations", []):
            pairs += [(job.name, entry["text"], entry["says"]) for entry in group["texts"]]
    pairs += [("02_side_by_side.md", *halves) for halves in _halves()]
    pairs += [("words.md", *two) for two in zip(_rules("en"), _rules("es"), strict=True)]
    return pairs


def _rules(code: str) -> list[str]:
    """The do and don't of the crew sheet."""
    (rules,) = [
        a.node
        for a in tree(code, "words.md").find_all(nodes.Assign)
        if a.target.name == "rules"  # type: ignore[attr-defined]
    ]
    return [const.value for const in rules.find_all(nodes.Const)]


def _halves() -> list[tuple[str, str]]:
    """What stands in both languages on the sheet that has both, a point between them."""
    texts = [text for _, text in pieces(tree("es", "02_side_by_side.md")) if " · " in text]
    halves = [text.split(" · ") for text in texts]
    return [(pair[0], pair[1]) for pair in halves if len(pair) == 2 and all(map(str.strip, pair))]


def _yaml_pairs(*codes: str) -> list[tuple[str, str]]:
    first, second = (languages()[code] for code in codes)
    parts = ("map", "systems", "deciders", "results", "basis")
    return [(getattr(first, p)[key], getattr(second, p)[key]) for p in parts for key in getattr(first, p)]


@pytest.mark.parametrize("term", GLOSSARY["terms"], ids=lambda term: term["en"])
def test_the_glossarys_term_stands_wherever_english_has_it(term: dict[str, Any]) -> None:
    assert term["source"]
    seen = 0
    for where, english, spanish in _spanish_pairs():
        if re.search(term["en"], english, re.I):
            seen += 1
            assert re.search(term["es"], spanish, re.I), (
                f"{where}: {english!r} without {term['es']!r}: {spanish!r}"
            )
        for banned in [*term.get("instead", []), *GLOSSARY["never"]]:
            assert not re.search(banned, spanish, re.I), f"{where}: {banned!r} in {spanish!r}"
    assert seen, "a term that nothing uses"


def test_numbers_dates_and_units_by_the_languages_own_data() -> None:
    spanish = languages()["es"]
    for printed, local in {
        "4.5 ft": "4.5 pies",
        "1 1/2 – 4 5/8 in": "1 1/2 – 4 5/8 pulg",
        "25 mph": "25 millas/h",
        "1,800 lbf": "1,800 lbf",
        "85 ft-lbf": "85 ft-lbf",  # as a torque wrench is marked
        "12'-6\"": "12'-6\"",
        "26 °F": "26 °F",
        "3.80 m": "3.80 m",
    }.items():
        assert spanish.numbers(printed) == local
    assert spanish.day(dt.date(2026, 11, 30)) == "30 nov 2026"


def test_another_decimal_sign_is_data_alone(tmp_path: Path) -> None:
    """A folder made from the Spanish one, with the comma of continental usage."""
    folder = tmp_path / "xx"
    folder.mkdir()
    text = (TEMPLATES / "es" / "language.yaml").read_text("utf-8")
    comma = text.replace('{decimal: ".", thousands: ","}', '{decimal: ",", thousands: "."}')
    (folder / "language.yaml").write_text(comma, "utf-8")
    other: Language = read_language(folder)
    assert other.numbers("1,234.5 ft") == "1.234,5 pies"
    assert other.numbers("12'-6 1/2\"") == "12'-6 1/2\""


def test_a_folder_that_lacks_something_is_refused_by_name(tmp_path: Path) -> None:
    folder = tmp_path / "xx"
    folder.mkdir()
    (folder / "language.yaml").write_text("names: [X]\n", "utf-8")
    with pytest.raises(RefusedError, match=r"xx/language.yaml can't be used: 'numbers'"):
        read_language(folder)


def test_a_language_goes_by_its_names() -> None:
    assert spoken("español") is spoken("Spanish") is languages()["es"]
    assert spoken("Tagalog") is None


def test_fonts_hold_every_letter_of_the_spanish_pages() -> None:
    text = "".join(p.read_text("utf-8") for p in (TEMPLATES / "es").iterdir()) + "áéíóúüñÁÉÍÓÚÜÑ¿¡ºª"
    for letter in set(text):
        assert spelled(letter, REGULAR) == letter


@pytest.mark.parametrize(
    ("macro", "code"), [("only_en", "en"), ("stop_en", "en"), ("only_es", "es"), ("stop_es", "es")]
)
def test_the_sheet_in_two_languages_says_what_the_sheets_say(macro: str, code: str) -> None:
    own = macros(tree("es", "02_side_by_side.md"))[macro]
    sheet = (TEMPLATES / code / "02_crew_sheet.md").read_text("utf-8")
    said = [text.strip(" *.;\n") for _, text in pieces(own) if len(text.strip(" *.;\n")) > 3]
    assert len(said) >= 2
    for text in said:
        assert text in sheet


@pytest.mark.parametrize("template", sorted((TEMPLATES / "en").glob("*.md")), ids=lambda path: path.stem)
def test_no_page_says_anchor_alone(template: Path) -> None:
    """One ties to an anchorage; base anchors hold a base in the slab; a plate anchor holds a guy."""
    told = [words for kind, words in pieces(tree("en", template.name)) if kind == "words" or "prose" in kind]
    for words in told:
        bare = re.findall(r"(?<!base )(?<!plate )\banchors?\b(?!_| category)", words, re.I)
        assert not bare or words in ANCHOR_KEYS, words


ANCHOR_KEYS = {"anchor", "anchors cut or plugged"}
"""Strings of templates that name values, or of the job file; no page prints them."""
