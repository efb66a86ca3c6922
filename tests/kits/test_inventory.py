"""Reading an inventory: what is right is read, every fault is named with file, line, field and remedy."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from planforge.errors import JobFileError
from planforge.kits.reading import load_inventory

from ..assess.jobs import DEMO_FOLDER

SOUND = """\
format: planforge kits 1
stated: 2026-11-25
places:
  - {id: yard, name: Yard}
trucks:
  - {id: t1, name: Truck, at: yard, payload: 4000 lb, days: [Monday]}
days: {worked: [Monday, Tuesday], lead: 1, taking_down: 1, moving: 1, inspection: 1, waits: 2}
lots:
  - {id: lot-1, later: 3}
stock:
  - id: post
    longest: 7 ft
    units:
      - {serial: P-1 to P-3, at: yard, inspected: 2026-11-20, due: 2027-05-20}
      - {serial: P-4, at: lot-1}
"""


def _read(tmp_path: Path, text: str) -> str:
    path = tmp_path / "kits.yaml"
    path.write_text(text, "utf-8")
    with pytest.raises(JobFileError) as caught:
        load_inventory(path)
    return str(caught.value).replace(str(path), "kits.yaml")


def test_a_sound_file_is_read(tmp_path: Path) -> None:
    path = tmp_path / "kits.yaml"
    path.write_text(SOUND, "utf-8")
    inventory = load_inventory(path).model
    assert inventory.days.turnaround == 3
    assert inventory.stock[0].longest == pytest.approx(2.1336)
    assert inventory.stock[0].units[0].due == date(2027, 5, 20)
    assert inventory.trucks[0].payload is not None
    assert inventory.trucks[0].payload.source is None


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            "at: yard, payload",
            "at: shed, payload",
            'kits.yaml:6: trucks[0 "t1"].at: found "shed"; expected the id of a place: yard. '
            "Correct it, or add the place under places.",
        ),
        (
            "days: [Monday]}",
            "days: [Monday, Friday]}",
            'kits.yaml:6: trucks[0 "t1"].days: found Friday; expected days that are worked: Monday and '
            "Tuesday. Take the day out, or add it under days.worked.",
        ),
        (
            "{id: lot-1, later: 3}",
            "{id: yard, later: 3}",
            'kits.yaml:9: lots[0 "yard"].id: found "yard"; expected the id of a lot, which no place has. '
            "Give the lot or the place another id.",
        ),
        (
            "serial: P-4",
            "serial: P-2 to P-4",
            'kits.yaml:15: stock[0 "post"].units[1].serial: found the serial "P-2" of post a second time '
            "(also in units[0]); expected each serial of an item once. Keep it where the unit is and take it "
            "out elsewhere.",
        ),
        (
            "due: 2027-05-20",
            "due: 2026-05-20",
            'kits.yaml:14: stock[0 "post"].units[0].due: found "2026-05-20"; expected a date on or after the '
            'inspection, "2026-11-20". Correct due, or the date under inspected.',
        ),
        (
            "inspected: 2026-11-20",
            "inspected: 2026-11-26",
            'kits.yaml:14: stock[0 "post"].units[0].inspected: found "2026-11-26"; expected a date on or '
            'before the file\'s own day, "2026-11-25". State an inspection once it has been done; bring '
            "stated up to date with it.",
        ),
        (
            "at: lot-1}",
            "at: lot-1, back: 2026-12-01}",
            'kits.yaml:15: stock[0 "post"].units[1].back: found back beside the state "in service"; expected '
            "back only where the state is away for inspection. Correct the state, or delete back.",
        ),
        (
            "    units:\n      - {serial: P-1 to P-3, at: yard, inspected: 2026-11-20, due: 2027-05-20}\n"
            "      - {serial: P-4, at: lot-1}\n",
            "",
            'kits.yaml:11: stock[0 "post"]: found post without units or counted; expected what the stock '
            "holds of it. List its units by serial, or counted with place and quantity; or delete the item.",
        ),
    ],
)
def test_each_fault_is_named(tmp_path: Path, old: str, new: str, message: str) -> None:
    assert old in SOUND
    assert _read(tmp_path, SOUND.replace(old, new)) == message


def test_an_unknown_state_is_refused_with_the_states_there_are(tmp_path: Path) -> None:
    message = _read(tmp_path, SOUND.replace("at: lot-1}", "at: lot-1, state: lost}"))
    assert message.startswith('kits.yaml:15: stock[0 "post"].units[1].state: found "lost"')
    assert "in service" in message
    assert "away for inspection" in message


def test_the_demo_s_inventory_is_read() -> None:
    inventory = load_inventory(DEMO_FOLDER / "alder_kits.yaml").model
    assert {item.id for item in inventory.stock} >= {"post-20", "post-20h", "guy-12", "screw-58"}


def test_faults_of_fields_and_across_them_are_told_in_one_run(tmp_path: Path) -> None:
    text = SOUND.replace("at: yard, payload", "at: shed, payload").replace("longest: 7 ft", "longest: 7")
    text = text.replace("due: 2027-05-20", "due: 2026-05-20").replace(
        "id: lot-1, later: 3", "id: yard, late: 3"
    )
    assert [line.split(": found")[0] for line in _read(tmp_path, text).splitlines()] == [
        'kits.yaml:6: trucks[0 "t1"].at',
        'kits.yaml:9: lots[0 "yard"].id',
        'kits.yaml:9: lots[0 "yard"].late',
        'kits.yaml:12: stock[0 "post"].longest',
        'kits.yaml:14: stock[0 "post"].units[0].due',
    ]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("{id: yard, name", "{id: ya rd, name"),  # t1 stands there
        ("{id: yard, name", "{idd: yard, name"),
        ("worked: [Monday, Tuesday]", "worked: [Monday, Teusday]"),
        ("stated: 2026-11-25", "stated: 25.11.2026"),
        ("    units:\n", "    unit:\n"),
    ],
)
def test_a_fault_of_a_field_brings_no_second(tmp_path: Path, old: str, new: str) -> None:
    assert SOUND.count(old) == 1
    found = _read(tmp_path, SOUND.replace(old, new)).splitlines()
    assert len([line for line in found if "expected this field" not in line]) == 1, found
