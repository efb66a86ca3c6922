"""The inventory file in words and as a schema, against its models."""

from __future__ import annotations

import json
import re

import pytest

from planforge import cli
from planforge.kits.inventory import Inventory
from planforge.kits.reference import describe_kits, kits_schema, walk

from ..command import run
from ..job.test_reference import faults
from .test_inventory import SOUND


@pytest.mark.parametrize("path", [path for path, _, _ in walk()])
def test_every_field_is_described(path: str) -> None:
    doc = describe_kits(path)
    assert doc.path == path
    assert doc.type
    assert doc.required != bool(doc.default)
    assert re.fullmatch(r"\S.{2,}\.", doc.description, re.DOTALL)
    assert bool(doc.about) == bool(doc.children)


def test_explain_takes_the_inventory(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "explain", "--kits")
    assert out.startswith("the inventory of kits: a group of fields")
    assert all(f"    {name}\n" in out for name in Inventory.model_fields)
    _, out, _ = run(capsys, "explain", "--kits", "stock.units.due")
    assert "The last day before which they need no further inspection." in out
    code, _, err = run(capsys, "explain", "--kits", "stock.unit.due")
    assert code == cli.BAD_INPUT
    assert "Did you mean stock.units.due?" in err


def test_schema_of_an_inventory(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "schema", "--kits")
    assert json.loads(out) == kits_schema()


@pytest.mark.parametrize(
    ("old", "new", "sound"),
    [
        ("", "", True),
        ("later: 3", "later: -1", False),
        ("at: lot-1", "at: lot-1, state: lost", False),
        ("longest: 7 ft", "longets: 7 ft", False),
        ("name: Truck", "name: Truck, trips: 2", True),
    ],
)
def test_the_schema_underlines_what_is_wrong(old: str, new: str, sound: bool) -> None:
    assert (faults(SOUND.replace(old, new, 1), kits_schema()) == []) is sound
