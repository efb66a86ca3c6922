"""The kits of the demo site from end to end: what is short, what would mend it, what moves."""

from __future__ import annotations

import json
from datetime import date
from functools import cache

import pytest

from planforge.assess.finding import Verdict
from planforge.kits.inventory import Inventory
from planforge.kits.needs import NEVER
from planforge.kits.plan import kit_plan
from planforge.kits.reading import load_inventory
from planforge.kits.report import record, report
from planforge.kits.result import KitPlan
from planforge.units import Display

from ..assess.jobs import DEMO_FOLDER, demo
from ..command import run
from .sites import WEEK, inventory, job

SITE = DEMO_FOLDER / "sandpiper_row.yaml"
LOTS = {
    "heron-14": "heron_lot_14",
    "heron-15": "heron_lot_15",
    "linnet-3": "linnet_lot_3_trusses",
    "quartz-2": "quartz_court_building_2",
}


@cache
def _inventory() -> Inventory:
    return load_inventory(DEMO_FOLDER / "alder_kits.yaml").model


@cache
def _plan(as_of: date | None = None) -> KitPlan:
    return kit_plan([(lot, demo(name)) for lot, name in LOTS.items()], _inventory(), as_of)


def test_the_demo_lacks_guys_while_two_lots_overlap() -> None:
    (excess,) = _plan().excess
    guys = {need.lot: need.quantity for need in _plan().needs if need.item == "guy-12"}
    not_due = 50 + 50 + 14  # of kits A, B and C; kit D's are due before the year ends
    assert (excess.item, excess.short_by) == ("guy-12", guys["heron-15"] + guys["quartz-2"] - not_due)
    assert excess.short_by > 0
    assert (excess.first, excess.last) == (date(2027, 1, 8), date(2027, 1, 27))
    assert excess.lots == ("heron-15", "quartz-2")


def test_extra_stock_by_programme_is_the_peak_excess() -> None:
    remedy = next(r for r in _plan().remedies if r.kind == "extra stock")
    peak = {c.item: max(c.short) for c in _plan().counts if any(c.short)}
    assert {extra.item: extra.quantity for extra in remedy.extra} == peak


def test_a_kit_goes_straight_from_one_lot_to_the_next() -> None:
    (move,) = [m for m in _plan().moves if (m.origin, m.to) == ("heron-14", "heron-15")]
    assert move.day == date(2026, 12, 22)  # Friday the last use, Monday taken down, Tuesday moved
    posts = next(goods for goods in move.items if goods.item == "post-20")
    assert posts.serials == tuple(f"PM-{n:03d}" for n in range(41, 52))
    assert move.weight == pytest.approx(sum(goods.weight or 0.0 for goods in move.items))
    assert (move.truck, move.verdict) == ("yard-truck-2", Verdict.MEETS)


def test_everything_that_is_needed_arrives_or_is_named_as_lacking() -> None:
    for need, placed in zip(_plan().needs, _plan().placed, strict=True):
        assert (need.lot, need.item, need.quantity) == (placed.lot, placed.item, placed.quantity)
        arrived = sum(
            goods.quantity
            for move in _plan().moves
            if move.to == need.lot and move.day <= need.first
            for goods in move.items
            if goods.item == need.item
        )
        assert arrived == need.quantity - placed.unmet


def test_no_serial_is_in_two_places_on_a_day() -> None:
    at: dict[tuple[str, str], str] = {}
    for move in _plan().moves:
        for goods in move.items:
            for serial in goods.serials:
                assert at.get((goods.item, serial), "yard") == move.origin
                at[goods.item, serial] = move.to
    assert set(at.values()) == {"yard"}


def test_the_same_input_gives_the_same_plan() -> None:
    again = kit_plan([(lot, demo(name)) for lot, name in LOTS.items()], _inventory())
    assert again == _plan()


def test_planned_from_later_what_is_done_no_longer_counts() -> None:
    later = _plan(date(2027, 1, 4))
    assert {need.lot for need in later.needs} == {"heron-15", "quartz-2"}
    assert later.as_of == date(2027, 1, 4)
    assert later.stated == date(2026, 11, 25)
    assert all(move.day >= date(2027, 1, 4) for move in later.moves)


def test_counts_hold_what_the_lots_hold_and_what_is_lacking() -> None:
    plan = _plan()
    for counts in plan.counts:
        for n, day in enumerate(plan.days):
            wanted = sum(
                need.quantity
                for need in plan.needs
                if need.item == counts.item and need.first <= day <= need.last
            )
            assert counts.on_lots[n] == wanted
        assert len(counts.short) == len(plan.days) == len(plan.working)


def test_an_ample_stock_meets_everything() -> None:
    own = inventory(
        days={"worked": WEEK, "lead": 0, "taking_down": 0, "moving": 0, "inspection": 0, "waits": 0},
        trucks=[
            {
                "id": "t",
                "name": "Truck",
                "at": "yard",
                "payload": {"value": "20000 lb", "source": "Plate (invented)"},
                "bed": {"value": "20 ft", "source": "Measured (invented)"},
            }
        ],
        stock=[
            {"id": item, "longest": "7 ft", "counted": [{"at": "yard", "quantity": 99, "due": "2027-06-30"}]}
            for item in ("post", "set", "rope", "absorber", "guy", "stud", "srl", "harness")
        ],
    )
    plan = kit_plan([("a", job(date(2026, 11, 30)))], own)
    assert plan.verdict is Verdict.MEETS
    assert plan.remedies == ()
    assert plan.excess == ()
    unsourced = own.model_copy(
        update={
            "trucks": [
                own.trucks[0].model_copy(
                    update={"payload": own.trucks[0].payload.model_copy(update={"source": None})}  # type: ignore[union-attr]
                )
            ]
        }
    )
    open_ = kit_plan([("a", job(date(2026, 11, 30)))], unsourced)
    assert open_.verdict is Verdict.CONFIRM
    assert {move.note for move in open_.moves} == {
        "Name the source of payload of t.",
    }
    idle = own.model_copy(update={"trucks": []})
    without = kit_plan([("a", job(date(2026, 11, 30)))], idle)
    assert without.verdict is Verdict.SHORT
    assert all(move.truck is None for move in without.moves)


def test_a_truck_s_days_are_kept() -> None:
    """The trailer alone goes on Mondays: what is needed on a Friday comes on the Monday before."""
    trucks = [{"id": "m", "name": "Monday truck", "at": "yard", "days": ["Monday"]}]
    plan = kit_plan(
        [("a", job(date(2026, 12, 4), days=1))],
        inventory(
            trucks=trucks,
            stock=[
                {"id": item, "counted": [{"at": "yard", "quantity": 99}]}
                for item in ("post", "set", "rope", "absorber", "guy", "stud", "srl", "harness")
            ],
        ),
    )
    assert {move.day for move in plan.moves} == {date(2026, 11, 30), date(2026, 12, 7)}
    assert {move.verdict for move in plan.moves} == {Verdict.CONFIRM}
    assert "State payload and bed of m." in plan.moves[0].note


def test_the_report_says_what_is_short_and_never_safe() -> None:
    text = "\n".join(report(_plan(), Display("us")))
    (excess,) = _plan().excess
    lacking = excess.short_by
    assert f"short: guy-12 ({excess.name}): {lacking} lacking" in text
    proof = f"({lacking}, bound {lacking}, gap 0: proven the least)"
    assert f"extra stock: {lacking} more guy-12 {proof}." in text
    (move,) = [m for m in _plan().moves if (m.origin, m.to) == ("heron-14", "heron-15")]
    assert f"heron-14 to heron-15, yard-truck-2, trip 1, {Display('us').mass(move.weight)}, longest" in text
    assert "post-20 (PM-041 to PM-051)" in text
    assert text.endswith("Kits: short. The coordinator decides; nothing here releases a line or a truck.")
    assert "safe" not in text.replace("safety", "")


def test_the_record_is_plain_data() -> None:
    data = record(_plan())
    assert json.loads(json.dumps(data)) == data
    assert data["verdict"] == "short"
    used = next(need for need in data["needs"] if need["item"] == "screw-58")
    assert used["used_up"] is True
    assert used["free"] is None
    assert NEVER.isoformat() not in json.dumps(data)


# ------------------------------------------------------------------ the command


def test_the_command_prints_the_demo_site(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "kits", SITE)
    assert (code, err) == (1, "")
    assert out.startswith("Sandpiper Row (invented).\nKits from 2026-11-25, 6 lot(s)")
    assert "shift: heron-20 4 working day(s) later" in out
    assert "heron-14 to heron-15" in out


def test_the_command_s_json_says_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "kits", SITE, "--json", "--date", "2026-11-30")
    data = json.loads(out)
    assert code == 1
    assert data["as_of"] == "2026-11-30"
    assert {remedy["kind"] for remedy in data["remedies"]} == {"extra stock", "shift", "mixture by cost"}
    shift = next(remedy for remedy in data["remedies"] if remedy["kind"] == "shift")
    assert sum(abs(each["days"]) for each in shift["shifts"]) == 8
    assert shift["proven"] is True


def test_a_site_without_kits_is_told_how_to_name_them(capsys: pytest.CaptureFixture[str], tmp_path) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / "site.yaml"
    path.write_text(
        f"format: planforge site 1\nsite: S\nlots:\n  - {{id: a, job: {LOTS['heron-14']}.yaml}}\n"
    )
    code, _, err = run(capsys, "kits", path)
    assert code == 2
    assert "names no kits; write kits: FILE.yaml" in err


def test_faults_of_the_inventory_come_with_those_of_the_lots(
    capsys: pytest.CaptureFixture[str],
    tmp_path,  # type: ignore[no-untyped-def]
) -> None:
    (tmp_path / "kits.yaml").write_text("format: planforge kits 1\nstated: soon\n")
    path = tmp_path / "site.yaml"
    path.write_text(
        "format: planforge site 1\nsite: S\nkits: kits.yaml\nlots:\n  - {id: a, job: none.yaml}\n"
    )
    code, _, err = run(capsys, "kits", path)
    assert code == 2
    assert "kits.yaml:2: stated: found" in err
    assert "none.yaml" in err


# ------------------------------------------------------------------ a trial of other dates


def test_the_shift_that_is_proposed_mends_the_plan(capsys: pytest.CaptureFixture[str]) -> None:
    """What the remedy says holds when it is tried: nothing lacks, and both lots begin when it says."""
    code, out, _ = run(capsys, "kits", SITE, "--json", "--shift", "heron-18=4", "--shift", "heron-20=4")
    data = json.loads(out)
    assert data["remedies"] == data["excess"] == []
    assert not [placed for placed in data["placed"] if placed["unmet"]]
    assert [(s["lot"], s["days"], s["first"]) for s in data["moved"]] == [
        ("heron-18", 4, "2027-01-28"),
        ("heron-20", 4, "2027-02-04"),
    ]
    assert code == 1  # the lots' inspections still name serials that are elsewhere
    _, out, _ = run(capsys, "kits", SITE, "--shift", "heron-18=3", "--shift", "heron-20=4")
    assert "short: post-20" in out
    assert "A trial: heron-18 3 working day(s) later, first kit on 2027-01-27." in out


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--shift", "heron-18"), "write heron-18=4, or heron-18=-2 for earlier"),
        (("--shift", "heron-18=soon"), "is no lot with working days"),
        (("--shift", "heron-99=1"), "No lot is called heron-99; there are heron-14,"),
        (("--shift", "heron-18=4", "-o", "kits.pdf"), "change the dates in the lots' jobs"),
    ],
)
def test_a_trial_that_can_t_be_made(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], message: str
) -> None:
    code, _, err = run(capsys, "kits", SITE, *arguments)
    assert code == 2
    assert message in err


def test_planned_from_later_the_report_asks_where_everything_is() -> None:
    asks = "kit has gone to lots since the inventory was stated"
    assert asks in "\n".join(report(_plan(date(2027, 1, 4)), Display("us")))
    assert asks not in "\n".join(report(_plan(), Display("us")))


def test_kit_that_is_on_its_lot_already_does_not_move_there() -> None:
    stock = [
        {
            "id": item,
            "longest": "7 ft",
            "counted": [{"at": "a", "quantity": 16}, {"at": "yard", "quantity": 1}],
        }
        for item in ("post", "set", "rope", "absorber", "guy", "stud", "srl", "harness")
    ]
    plan = kit_plan([("a", job(date(2026, 11, 30)))], inventory(stock=stock), date(2026, 12, 2))
    assert not [move for move in plan.moves if move.to == "a"]
    assert all(sources[0][0] == "a" for sources in (placed.sources for placed in plan.placed))
    assert {(move.origin, move.to) for move in plan.moves} == {("a", "yard")}
    posts = sum(goods.quantity for move in plan.moves for goods in move.items if goods.item == "post")
    assert posts == 16  # four in use, twelve more that lay there
