"""What each lot needs of each item, from the day it must arrive to the day it is free again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from planforge.assess.index import Index
from planforge.assess.kit_load import load_items
from planforge.job.equipment import BaseAnchor, Item
from planforge.job.model import Job
from planforge.job.site import Phase
from planforge.kits.inventory import Inventory, LotRules
from planforge.kits.result import Need
from planforge.kits.working_days import FAR, WorkingDays

Lots = Sequence[tuple[str, Job]]
"""Lots by their id, in the order in which the site names them."""

NEVER = date.max
"""The day on which what is used up comes free."""


@dataclass(frozen=True, slots=True)
class Demand:
    """A need in working days: on the lot from ``first`` to ``last``, elsewhere from ``free`` on."""

    need: Need
    first: int
    last: int
    free: int

    def moved(self, days: int) -> Demand:
        """The same demand later by so many working days; its ``need`` keeps the dates of the job."""
        free = self.free if self.need.used_up else self.free + days
        return replace(self, first=self.first + days, last=self.last + days, free=free)


def demands(lots: Lots, inventory: Inventory, days: WorkingDays) -> tuple[Demand, ...]:
    """Every demand, lots in their order, items in the order of the kit.

    Each item counts as ``assess.kit_load`` counts it. It is on the lot from the first day of the phase that
    first uses a line or an anchor (of all phases where there is none), less the lead for erection, to the
    last day of the lot's last phase. Where the inventory lets a lot's kit come by phase, what no earlier
    phase uses comes with the phase that uses it; nothing leaves before the end, since no job says when a
    part of it comes down.
    """
    rules = {rule.id: rule for rule in inventory.lots}
    return tuple(
        demand
        for lot, job in lots
        for demand in _of_lot(lot, job, rules.get(lot) or LotRules(id=lot), inventory, days)
    )


def used_up(item: Item) -> bool:
    """Whether an item serves once: an anchor, unless its report lets it be set again."""
    return isinstance(item, BaseAnchor) and not (item.reusable is not None and item.reusable.value)


def _of_lot(lot: str, job: Job, rule: LotRules, inventory: Inventory, days: WorkingDays) -> Iterable[Demand]:
    lead = inventory.days.lead if rule.lead is None else rule.lead
    phases = sorted(job.phases, key=lambda phase: (phase.start, phase.end))
    using = [phase for phase in phases if _uses(job, phase)] or phases
    end = max(phases, key=lambda phase: phase.end)
    last = days.at_or_before(end.end)
    if not days.works(end.end):
        last += 1  # used on a day that is not worked: the demanding reading holds it over the next
    stages = using if rule.by_phase else using[:1]
    before: dict[str, int] = {}
    for stage in stages:
        counted = _counted(job, phases[: phases.index(stage) + 1]) if rule.by_phase else _counted(job, phases)
        first = days.at_or_before(stage.start) - lead
        for item, quantity in counted:
            more = quantity - before.get(item.id, 0)
            before[item.id] = quantity
            if more <= 0:
                continue
            once = used_up(item)
            free = FAR if once else last + inventory.days.turnaround + 1
            why = (
                f"from {stage.start}, the first day of {stage.name}, less {lead} working days; "
                f"to {end.end}, the last day of {end.name}"
            )
            need = Need(
                lot=lot,
                item=item.id,
                name=item.name,
                quantity=more,
                first=days.date(first),
                last=days.date(last),
                free=NEVER if once else days.date(free),
                used_up=once,
                why=why,
            )
            yield Demand(need, first, last, free)


def _uses(job: Job, phase: Phase) -> bool:
    used = [*(line.phases for line in job.layout.lines), *(a.phases for a in job.layout.anchors)]
    return any(_in(phases, {phase.id}) for phases in used)


def _in(phases: list[str], ids: set[str]) -> bool:
    """Whether what these phases use is there in one of ``ids``; an empty list means all."""
    return not phases or bool(ids & set(phases))


def _counted(job: Job, phases: list[Phase]) -> list[tuple[Item, int]]:
    """The load list of what these phases use."""
    ids = {phase.id for phase in phases}
    layout = job.layout

    part = layout.model_copy(
        update={
            "posts": [p for p in layout.posts if _in(p.phases, ids)],
            "lines": [line for line in layout.lines if _in(line.phases, ids)],
            "anchors": [a for a in layout.anchors if _in(a.phases, ids)],
        }
    )
    return load_items(Index(job.model_copy(update={"layout": part, "phases": phases})))
