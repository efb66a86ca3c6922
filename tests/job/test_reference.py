"""The reference of the job file and its JSON Schema, against the models and real job files."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from planforge.errors import PlanforgeError
from planforge.job.json_schema import json_schema
from planforge.job.model import LOT_ONLY, Job
from planforge.job.reference import EXTENDS, FieldDoc, describe, fields, reference_page, walk
from planforge.kits.reference import kits_schema
from planforge.site.recognising import is_site
from planforge.site.reference import site_schema

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
SOUND = (HERE / "sound_job.yaml").read_text(encoding="utf-8")
FILES = [
    HERE / "sound_job.yaml",
    *sorted(p for p in ROOT.glob("demo_jobs/**/*.yaml") if not p.stem.endswith("_kits")),
    *sorted(ROOT.glob("templates/*.yaml")),
]


@pytest.mark.parametrize("path", fields())
def test_every_field_is_described(path: str) -> None:
    doc = describe(path)
    assert doc.path == path
    assert doc.type
    assert doc.required != bool(doc.default)
    assert re.fullmatch(r"\S.{2,}\.", doc.description), f"{path} needs a docstring that ends with a full stop"
    assert bool(doc.about) == bool(doc.children)
    assert not doc.about or doc.about.endswith(".")


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        (
            "layout.lines.sag",
            FieldDoc(
                path="layout.lines.sag",
                type="a length such as 12'-6 1/2\", 60 ft, 6 in or 3.8 m",
                required=True,
                lot_only=False,
                default="",
                description="The target of the installed, unloaded sag at mid-span, "
                "below the chord between the attachments.",
            ),
        ),
        (
            "slab.scan.on",
            FieldDoc("slab.scan.on", "a date such as 2026-11-25", True, True, "", "The day it was done."),
        ),
        (
            "site.units",
            FieldDoc("site.units", "one of: us, metric", False, True, "us", "The units the document prints."),
        ),
        (
            "layout.lines.absorber_at",
            FieldDoc(
                "layout.lines.absorber_at",
                "an id under layout.posts",
                False,
                False,
                "nothing",
                "The post at whose end the line absorber stands.",
                refers_to=("layout.posts",),
            ),
        ),
        (
            "rescue.contacts",
            FieldDoc(
                "rescue.contacts",
                "a list of groups of fields",
                False,
                True,
                "an empty list",
                "Others to call.",
                about="Someone to call.",
                children=(
                    "rescue.contacts.who",
                    "rescue.contacts.phone",
                    "rescue.contacts.arrives",
                    "rescue.contacts.note",
                ),
            ),
        ),
    ],
)
def test_field_in_words(path: str, expected: FieldDoc) -> None:
    assert describe(path) == expected


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("layout.lines.workers", "a whole number from 1 to 12"),
        ("layout.footprint", "a list of points [x, y], at least 3"),
        ("layout.slab", "a list of points [x, y], at least 3"),
        ("layout.posts.at", "a point [x, y], each a length"),
        ("layout.levels", "names, each with a length such as 12'-6 1/2\", 60 ft, 6 in or 3.8 m"),
        ("tasks.stances.sides.onto", "a list of ids under lower_levels or layout.levels, at least 1"),
        ("inspections.item", "an id under equipment"),
        ("site.lot", "a text of at most 60 characters"),
        ("format", "planforge job 1"),
        (
            "equipment.connectors.below_dring",
            "true or false; alone, or as a group of value, source and dated",
        ),
        (
            "equipment.ropes.axial_stiffness",
            "a force such as 1,800 lbf or 8 kN; alone, or as a group of value, source and dated",
        ),
    ],
)
def test_type_in_words(path: str, words: str) -> None:
    assert describe(path).type == words


def test_path_as_a_message_prints_it() -> None:
    assert describe('layout.lines[0 "L1"].sag') == describe("layout.lines.sag")
    assert describe("equipment.connectors[1].highest_force.source").type == "a text"


def test_whole_file() -> None:
    assert describe("").children == (EXTENDS, *Job.model_fields)


@pytest.mark.parametrize(
    ("path", "message"),
    [
        (
            "layout.lines.saag",
            "layout.lines.saag is no field of a job file. Did you mean layout.lines.sag? "
            "planforge explain layout.lines shows what there is.",
        ),
        (
            "sag",
            "sag is no field of a job file. Did you mean layout.lines.sag? "
            "planforge explain shows what there is.",
        ),
        ("qqqq", "qqqq is no field of a job file. planforge explain shows what there is."),
        (
            "layout.levels.floor2",
            "layout.levels.floor2 is no field of a job file. Did you mean layout.levels? "
            "planforge explain layout.levels shows what there is.",
        ),
    ],
)
def test_unknown_field_names_the_nearest(path: str, message: str) -> None:
    with pytest.raises(PlanforgeError) as caught:
        describe(path)
    assert str(caught.value) == message


def test_every_field_of_one_lot_is_a_field() -> None:
    assert set(fields()) >= LOT_ONLY


def test_page_has_every_field_once_in_its_group() -> None:
    page = reference_page()
    assert page.count("\n| `") == len(fields())
    for line in page.splitlines():
        if line.startswith("| "):
            assert len(re.findall(r"(?<!\\)\|", line)) == 5


def test_schema_names_every_field() -> None:
    schema = json_schema()
    groups = {model.__name__ for _, model, _ in walk()} - {"Job"}
    assert set(schema["$defs"]) == groups
    assert list(schema["properties"]) == [EXTENDS, *Job.model_fields]
    for _, model, name in walk():
        holder = schema if model is Job else schema["$defs"][model.__name__]
        assert holder["properties"][name]["description"].endswith(".")
    assert not {"$id", "title"} & schema.keys()


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_job_and_site_files_follow_their_schema(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    kits = "\nformat: planforge kits 1\n" in text
    schema = kits_schema() if kits else site_schema() if is_site(path) else json_schema()
    assert faults(text, schema) == []


def test_a_spoiled_inventory_breaks_its_schema() -> None:
    text = (ROOT / "demo_jobs" / "alder_kits.yaml").read_text(encoding="utf-8")
    for old, new in (("lead: 1", "lead: one"), ("closed:", "shut:"), ("stated: 2026-11-25", "stated: today")):
        assert old in text
        assert faults(text.replace(old, new), kits_schema())


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("format: planforge job 1", "format: planforge job 2"),
        ("sag: 4 in, installed_at: 50 F, workers: 2, beside: L2", "sag: 4, workers: 2"),
        ("coldest: 20 F", "coldest: 0"),
        ("kind: retracting device", "kind: rope"),
        ("id: Z1,", "id: Z 1,"),
        ("sections: 3", "sections: 9"),
        ("sections: 3", "sections: three"),
        ("[[8 ft, 4 ft], [12 ft, 4 ft]]", "[[8 ft, 4 ft]]"),
        ("[[8 ft, 4 ft], [12 ft, 4 ft]]", "[[8 ft, 4 ft], [12 ft]]"),
        ("highest_force: {value: 1000 lbf, source: Sheet 1}", "highest_force: {source: Sheet 1}"),
        ("company: {name:", "company: {nam:"),
        ("user: {", "usr: {"),
        ("prepared: 2026-11-20", "prepared: soon"),
    ],
)
def test_schema_underlines_mistakes(old: str, new: str) -> None:
    assert SOUND.count(old) == 1
    assert faults(SOUND.replace(old, new)) != []


def test_schema_takes_a_part_that_extends_others() -> None:
    assert faults("{extends: [a.yaml, b.yaml], layout: {posts: [{id: P1}], slab: null}}") == []


class CoreLoader(yaml.SafeLoader):
    """YAML 1.2 core, as editors read it: ``on`` is a text and a date is a text."""


CoreLoader.yaml_implicit_resolvers = {
    first: [(tag, rule) for tag, rule in rules if not tag.endswith((":bool", ":timestamp"))]
    for first, rules in yaml.SafeLoader.yaml_implicit_resolvers.items()
}
CoreLoader.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile("^(?:true|false)$"), list("tf"))


def faults(text: str, schema: dict[str, Any] | None = None) -> list[str]:
    """Check a file against a schema, by the keywords of JSON Schema 2020-12 that it uses."""
    schema = schema or json_schema()
    return list(_faults(schema["$defs"], schema, yaml.load(text, CoreLoader), ""))


def _faults(defs: dict[str, Any], schema: dict[str, Any], data: Any, path: str) -> Iterator[str]:
    assert not schema.keys() - _KEYWORDS, f"this check does not know {schema.keys() - _KEYWORDS}"
    if "$ref" in schema:
        yield from _faults(defs, defs[schema["$ref"].removeprefix("#/$defs/")], data, path)
    if "anyOf" in schema:
        choices = [list(_faults(defs, choice, data, path)) for choice in schema["anyOf"]]
        if all(choices):
            yield max(choices, key=len)[0]
    words = [schema["const"]] if "const" in schema else schema.get("enum", [data])
    if data not in words:
        yield f"{path}: {data!r} is none of {words}"
    types = schema.get("type", [])
    if types and not any(_is(name, data) for name in ([types] if isinstance(types, str) else types)):
        yield f"{path}: {data!r} is no {types}"
    elif isinstance(data, str):
        yield from _text_faults(schema, data, path)
    elif isinstance(data, int | float):
        if not schema.get("minimum", data) <= data <= schema.get("maximum", data):
            yield f"{path}: {data} is out of bounds"
    elif isinstance(data, list):
        if not schema.get("minItems", 0) <= len(data) <= schema.get("maxItems", len(data)):
            yield f"{path}: {len(data)} are out of bounds"
        for index, item in enumerate(data if "items" in schema else []):
            yield from _faults(defs, schema["items"], item, f"{path}[{index}]")
    elif isinstance(data, dict):
        yield from _group_faults(defs, schema, data, path)


def _text_faults(schema: dict[str, Any], data: str, path: str) -> Iterator[str]:
    if not schema.get("minLength", 0) <= len(data) <= schema.get("maxLength", len(data)):
        yield f"{path}: {len(data)} characters are out of bounds"
    if "pattern" in schema and not re.search(schema["pattern"], data):
        yield f"{path}: {data!r} is not of the pattern"
    if schema.get("format") == "date" and not re.fullmatch(r"\d{4}-\d\d-\d\d", data):
        yield f"{path}: {data!r} is no date"


def _group_faults(defs: dict[str, Any], schema: dict[str, Any], data: Any, path: str) -> Iterator[str]:
    yield from (f"{path}.{key} is missing" for key in schema.get("required", ()) if key not in data)
    for key, value in data.items():
        inner = schema.get("properties", {}).get(key, schema.get("additionalProperties", True))
        if inner is False:
            yield f"{path}.{key} is unknown"
        elif isinstance(inner, dict):
            yield from _faults(defs, inner, value, f"{path}.{key}")


_KEYWORDS = {
    *("$schema", "$defs", "$ref", "description", "examples", "anyOf", "const", "enum", "type", "format"),
    *("pattern", "minimum", "maximum", "minLength", "maxLength", "minItems", "maxItems", "items"),
    *("required", "properties", "additionalProperties"),
}
_TYPES: dict[str, tuple[type, ...]] = {
    "string": (str,),
    "number": (int, float),
    "integer": (int,),
    "boolean": (bool,),
    "null": (type(None),),
    "array": (list,),
    "object": (dict,),
}


def _is(name: str, data: Any) -> bool:
    return isinstance(data, _TYPES[name]) and (name == "boolean" or not isinstance(data, bool))
