"""The site file in words and as a schema, against its models."""

from __future__ import annotations

import json
import re

import pytest

from planforge import cli
from planforge.job.model import Job
from planforge.job.reference import describe
from planforge.site.model import SiteFile
from planforge.site.reference import describe_site, known, site_schema

from ..command import run
from ..job.test_reference import faults

HEAD = "format: planforge site 1\nsite: Example Row\n"


@pytest.mark.parametrize("path", known())
def test_every_field_is_described(path: str) -> None:
    doc = describe_site(path)
    assert doc.path == path
    assert doc.required != bool(doc.default)
    assert re.fullmatch(r"\S.{2,}\.", doc.description)
    assert bool(doc.about) == bool(doc.children)


def test_a_lot_has_every_field_of_a_job() -> None:
    lots = describe_site("lots")
    assert {f"lots.{name}" for name in Job.model_fields} < set(lots.children)
    permit = describe_site("lots.site.permit")
    assert (permit.description, permit.lot_only) == (describe("site.permit").description, False)
    assert describe_site("lots.site").children[0] == "lots.site.project"


def test_explain_takes_the_site_file(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "explain", "--site")
    assert out.startswith("the site file: a group of fields")
    assert all(f"    {name}\n" in out for name in SiteFile.model_fields)
    code, _, err = run(capsys, "explain", "--site", "tabel.sheet")
    assert code == cli.BAD_INPUT
    assert "Did you mean table.sheet?" in err


def test_schema_of_a_site_file(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "schema", "--site")
    assert json.loads(out) == site_schema()


@pytest.mark.parametrize(
    ("text", "sound"),
    [
        ("table: lots.csv\n", True),
        ("table: {file: lots.xlsx, sheet: Lots}\nshared: company.yaml\n", True),
        ("lots: [{id: a, extends: b.yaml, slab: null, site: {lot: Lot 1}}]\n", True),
        ("lots: [{job: a.yaml}]\n", False),
        ("lots: [{id: a, sitee: {lot: Lot 1}}]\n", False),
        ("lots: [{id: a, phases: [{id: deck, end: soon}]}]\n", False),
        ("table: {sheet: Lots, fil: x}\n", False),
        ("lotz: []\n", False),
    ],
)
def test_schema_underlines_mistakes(text: str, sound: bool) -> None:
    assert (faults(HEAD + text, site_schema()) == []) is sound
