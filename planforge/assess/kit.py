"""The kit on this lot: inspected to the end of the work, within its life, judged by stated limits."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterator
from datetime import date

from planforge.assess.finding import Finding, Verdict, found, vouched, worst
from planforge.assess.index import Index
from planforge.assess.kit_load import load_items, uncounted
from planforge.assess.people import last_day
from planforge.job.base import Rated
from planforge.job.equipment import Guy, Item, LifelineSystem, PostKind, Rope, Worn
from planforge.job.erection import Inspection
from planforge.job.serials import counted, in_words
from planforge.units import YEAR

_UNTIL_STATED = (
    "Ask the maker. Until it has answered, any broken wire, dent or bow that can be seen fails, and so does "
    "a turnbuckle whose rods don't reach through its ends into the open body."
)


def assess_kit(index: Index) -> list[Finding]:
    """Inspections, service life and the limits of the inspection, an item at a time."""
    items = worn_items(index)
    needed = {item.id: number for item, number in load_items(index)}
    open_number = {item.id for item in uncounted(index)}
    return [
        *(_inspected(index, i, None if i.id in open_number else needed.get(i.id, 0)) for i in items),
        *(_service_life(index, item) for item in items),
        *(_criteria(item) for item in items if any(True for _ in asked_of_maker(item))),
    ]


def items_in_use(index: Index) -> list[str]:
    """The ids of the equipment that layout, stances and crew use, in the order of the kit."""
    job = index.job
    used: list[str] = []
    for line in job.layout.lines:
        system = index.systems[line.system]
        used += [system.id, system.rope, *([system.absorber] if system.absorber else [])]
    used += [post.kind for post in job.layout.posts]
    guys = [guy for post in job.layout.posts for guy in post.guys]
    used += [kind for guy in guys for kind in (guy.kind, *(piece.kind for piece in guy.pieces))]
    used += [stance.connector for task in job.tasks for stance in task.stances]
    means = job.rescue.means if job.rescue else []
    used += [m.rescuer.connector for m in means if m.rescuer and m.rescuer.connector]
    used += [h.id for h in job.equipment.harnesses]
    return list(dict.fromkeys(used))


def worn_items(index: Index) -> list[Worn]:
    """The items in use themselves."""
    kit = index.job.equipment
    every: tuple[list[Worn], ...] = (
        [*kit.ropes, *kit.line_absorbers, *kit.lifelines],
        [*kit.connectors, *kit.posts, *kit.guys, *kit.harnesses],
    )
    known = {item.id: item for group in every for item in group}
    return [known[i] for i in items_in_use(index)]


def fit_records(index: Index, item: str) -> list[Inspection]:
    """The records by which serials of an item are fit: of each serial its newest record, where that says so.

    A record that a newer one replaces for some of its serials names the others alone. Of records of one day
    a removal counts, then the one whose next inspection is due first.
    """
    newest = _newest(index, item)
    fit = []
    for record in _of(index, item):
        named = marks(record)
        left = tuple(mark for mark in named if newest[mark] is record)
        if record.result == "fit" and left:
            fit.append(record if left == named else record.model_copy(update={"serial": in_words(left)}))
    return fit


def removed_serials(index: Index, item: str) -> tuple[str, ...]:
    """The serials of an item whose newest record removes them."""
    return tuple(mark for mark, record in _newest(index, item).items() if record.result == "removed")


def _of(index: Index, item: str) -> list[Inspection]:
    return [record for record in index.job.inspections or [] if record.item == item]


def _newest(index: Index, item: str) -> dict[str, Inspection]:
    newest: dict[str, Inspection] = {}
    for record in sorted(_of(index, item), key=_newest_last):
        newest.update(dict.fromkeys(marks(record), record))
    return newest


def marks(record: Inspection) -> tuple[str, ...]:
    """The serials that a record names; where they can't be counted, its text as one."""
    return counted(record.serial) or (record.serial,)


def _newest_last(record: Inspection) -> tuple[date, bool, int]:
    due = record.due or date.max
    return record.on, record.result == "removed", -due.toordinal()


def _inspected(index: Index, item: Worn, needed: int | None) -> Finding:
    """As many found fit as are needed (None: not settled), the next inspection not before the work ends."""
    end = last_day(index)
    fit = fit_records(index, item.id)
    overdue = [i.serial for i in fit if i.due is not None and i.due < end]
    undated = [i.serial for i in fit if i.due is None]
    unread = [record.serial for record in fit if counted(record.serial) is None]
    number = sum(len(counted(record.serial) or ()) for record in fit)
    if not fit:
        verdict, value = Verdict.SHORT, "no inspection recorded"
        note = "Record under inspections who found which serial fit, and when."
    elif overdue:
        verdict, value = Verdict.SHORT, "due before the work ends: " + ", ".join(overdue)
        note = "Inspect again before the due date, or take it out of the kit."
    elif needed is not None and number < needed and not unread:
        verdict, value = Verdict.SHORT, f"{number} found fit, {needed - number} lacking"
        note = "Inspect the others and record their serials under inspections; a range is written A-1 to A-9."
    elif undated:
        verdict, value = Verdict.CONFIRM, "next inspection not stated: " + ", ".join(undated)
        note = "State under due when the maker or the employer wants it inspected next."
    elif needed is None:
        verdict, value = Verdict.CONFIRM, f"{number} found fit, the number needed is not settled"
        note = "State which of several kinds each worker wears, or count them by hand."
    elif number < needed:
        verdict, value = Verdict.CONFIRM, "serials that can't be counted: " + ", ".join(unread)
        note = "Write each serial, or a range such as A-1 to A-9."
    else:
        verdict, value, note = Verdict.MEETS, f"{number} found fit, last {max(i.on for i in fit)}", ""
    wanted = "" if needed is None else f"{needed} needed, "
    return found("kit.inspected", item.id, verdict, value=value, limit=f"{wanted}to {end}", note=note)


def end_of_life(start: date, life: float) -> date:
    """The day on which a service life (s, whole months counted) that begins on ``start`` ends."""
    months = start.year * 12 + start.month - 1 + int(life / (YEAR / 12) + 1e-6)
    year, month = divmod(months, 12)
    return date(year, month + 1, min(start.day, monthrange(year, month + 1)[1]))


def _service_life(index: Index, item: Worn) -> Finding:
    """The oldest serials against the life that the maker states."""
    life = item.service_life
    if life is not None:
        return _life(index, item, life)
    none_fixed = item.no_fixed_life
    return found(
        "kit.service_life",
        item.id,
        Verdict.MEETS if none_fixed else Verdict.CONFIRM,
        value=f"no fixed life: {none_fixed}" if none_fixed else "not stated",
        limit=f"to {last_day(index)}",
        note=""
        if none_fixed
        else "Ask the maker how long it may serve and from when; state service_life, or no_fixed_life.",
    )


def life_starts(index: Index, item: Worn) -> list[tuple[str, date | None]]:
    """Since when the life of each serial that is fit counts: the first day that any of its records states."""
    field = "made" if item.life_from == "made" else "in_service"
    stated: dict[str, date] = {}
    for record in _of(index, item.id):
        day = getattr(record, field)
        if day is not None:
            stated.update({mark: min(day, stated.get(mark, day)) for mark in marks(record)})
    since: dict[date | None, list[str]] = {}
    for record in fit_records(index, item.id):
        for mark in marks(record):
            since.setdefault(stated.get(mark), []).append(mark)
    return [(in_words(tuple(names)), day) for day, names in since.items()]


def _life(index: Index, item: Worn, life: Rated[float]) -> Finding:
    end, field = last_day(index), "made" if item.life_from == "made" else "in_service"
    starts = life_starts(index, item)
    ends = [(serial, end_of_life(start, life.value)) for serial, start in starts if start is not None]
    unknown = [serial for serial, start in starts if start is None]
    over = [f"{serial}, over on {last}" for serial, last in ends if last < end]
    note = ""
    if over:
        verdict, value = Verdict.SHORT, "; ".join(over)
        note = "Take these serials out of the kit."
    elif unknown or not ends:
        verdict = Verdict.CONFIRM
        value = f"{field} not stated: " + (", ".join(unknown) or "no serial recorded")
        note = f"Read the label; state {field} with the inspection."
    else:
        verdict = vouched(Verdict.MEETS, life)
        value = f"serves to {min(last for _, last in ends)}"
    return found("kit.service_life", item.id, verdict, value=value, limit=f"to {end}", note=note)


def asked_of_maker(item: Item) -> Iterator[tuple[str, Rated[int] | Rated[float] | None]]:
    """The limits that only an item's maker can give for its inspection: what to ask for, what is stated."""
    if isinstance(item, Rope | Guy):
        yield "most broken wires", item.broken_wires
        yield "the length they are counted in", item.broken_wires_in
    if isinstance(item, LifelineSystem | Guy):
        yield "least threads inside the turnbuckle", item.turnbuckle_threads
    if isinstance(item, PostKind):
        yield "most bow of a section", item.most_bow
        yield "deepest dent", item.deepest_dent


def _criteria(item: Worn) -> Finding:
    limits = list(asked_of_maker(item))
    missing = [what for what, rated in limits if rated is None]
    sourced = worst(*(vouched(Verdict.MEETS, rated) for _, rated in limits))
    return found(
        "kit.criteria",
        item.id,
        sourced,
        value="not stated: " + ", ".join(missing) if missing else "stated",
        note=_UNTIL_STATED if missing else "",
    )
