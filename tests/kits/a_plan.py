"""A kit plan made by hand: three lots, one item lacking for ten days, a move without a truck."""

from __future__ import annotations

from datetime import date, timedelta

from planforge.assess.finding import Verdict
from planforge.kits.result import (
    Conflict,
    DayCounts,
    DayLoad,
    Excess,
    Extra,
    Goods,
    KitPlan,
    Move,
    Need,
    Placed,
    Remedy,
    Shift,
    Step,
)

FIRST = date(2026, 11, 30)  # a Monday
DAYS = tuple(FIRST + timedelta(n) for n in range(200))
POST, GUY = "post-12", "guy-a"
SERIALS = tuple(f"P-{n:03d}" for n in range(1, 12))


def _needs() -> tuple[Need, ...]:
    return tuple(
        Need(lot, item, item, number, DAYS[2 + 12 * k], DAYS[20 + 12 * k], DAYS[24 + 12 * k], False, "")
        for k, lot in enumerate(("lot-a", "lot-b", "lot-c"))
        for item, number in ((POST, 11 - k), (GUY, 20))
    )


def _counts(item: str, stock: int, needs: tuple[Need, ...]) -> DayCounts:
    own = [need for need in needs if need.item == item]
    out = [sum(n.quantity for n in own if n.first <= day <= n.last) for day in DAYS]
    turning = [sum(n.quantity for n in own if n.last < day < n.free) for day in DAYS]
    short = [max(a + b - stock, 0) for a, b in zip(out, turning, strict=True)]
    held = (stock,) * len(DAYS)
    return DayCounts(item, f"Name of {item}", held, tuple(out), tuple(turning), tuple(short), ())


def a_plan() -> KitPlan:
    """The plan."""
    needs = _needs()
    name = f"Name of {POST}"
    posts = Goods(POST, name, 11, SERIALS, 440.0, 2.4)
    straight = Goods(POST, name, 9, SERIALS[:9], 360.0, 2.4)
    rest = Goods(POST, name, 2, SERIALS[9:], 80.0, 2.4)
    guys = Goods(GUY, f"Name of {GUY}", 20, (), None, None)
    out, on = DAYS[1], DAYS[22]
    return KitPlan(
        as_of=FIRST,
        stated=FIRST,
        lots=("lot-a", "lot-b", "lot-c"),
        days=DAYS,
        working=tuple(day.weekday() < 5 for day in DAYS),
        needs=needs,
        counts=(_counts(POST, 18, needs), _counts(GUY, 60, needs)),
        excess=(Excess(POST, name, DAYS[14], DAYS[23], 3, ("lot-a", "lot-b")),),
        conflicts=(
            Conflict("due date not stated", GUY, "", (), "State due."),
            Conflict("serial wanted by two lots", POST, "P-003", ("lot-a", "lot-b"), "Take it out of one."),
        ),
        remedies=(
            Remedy("extra stock", True, (Extra(POST, name, 3),), (), 3, 3, True),
            Remedy("shift", True, (), (Shift("lot-b", 5, DAYS[21]),), 5, 4, False),
            Remedy("mixture by cost", False, (), (), 0, 0, False, "No costs are stated."),
        ),
        placed=(
            Placed("lot-a", POST, name, DAYS[2], DAYS[20], 11, (("yard", 11, SERIALS),), 0, ()),
            Placed("lot-b", POST, name, DAYS[14], DAYS[32], 10, (("yard", 7, ()),), 3, ("P-020",)),
        ),
        steps=(Step("runs", 3, 2, False),),
        loads=(
            DayLoad(
                out,
                (Move(out, "yard", "lot-a", (posts,), 440.0, (), 2.4, "flat", 1, Verdict.MEETS, ""),),
                1,
                1,
                True,
            ),
            DayLoad(
                on,
                (
                    Move(
                        on, "lot-a", "lot-c", (straight, guys), 360.0, (GUY,), None, "flat", 1,
                        Verdict.CONFIRM, "The bed's length is not stated.",
                    ),
                    Move(
                        on, "lot-a", "yard", (rest,), 80.0, (), 2.4, None, 0,
                        Verdict.SHORT, "No truck is free.",
                    ),
                ),
                2,
                1,
                False,
            ),
        ),
    )  # fmt: skip
