"""The outcomes of a site as lines for a terminal, and as the rows of the summary to print."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

from planforge.document.context_site import SiteLot
from planforge.document.finish import write_whole
from planforge.document.site_summary import TITLE, site_summary
from planforge.errors import RefusedError
from planforge.register.pdf import NotReadableError, identity, open_pdf, read_bounded
from planforge.site.outcome import Outcome, counts, worst_first
from planforge.site.reading import Site


def lot_lines(outcome: Outcome) -> Iterator[str]:
    """A line for a lot as it is done, and below it what must be known of it."""
    facts, result = outcome.facts, outcome.result
    parts = [f"{facts.number} revision {facts.revision}, {facts.lot}"] if facts else []
    if result is not None:
        parts.append(f"{outcome.short} short, {outcome.to_confirm} confirm, {result.pages} pages")
    if outcome.supersedes is not None:
        parts.append(f"supersedes revision {outcome.supersedes}")
    if outcome.file:
        parts.append(outcome.file)
    yield f"{outcome.id}: {outcome.what.value}" + "".join(f"; {part}" for part in parts)
    yield from (f"  {reason}" for reason in outcome.reasons)
    yield from (f"  note: {note}" for note in outcome.notes)


def closing_lines(site: Site, outcomes: Sequence[Outcome]) -> Iterator[str]:
    """The whole site: counts, who has to confirm how much, and each lot that needs action again."""
    said = ", ".join(f"{number} {what.value}" for what, number in counts(outcomes).items())
    yield f"{site.name}: {len(outcomes)} lot(s): {said}."
    confirms: Counter[str] = Counter()
    for outcome in outcomes:
        confirms.update(outcome.result.confirms if outcome.result else {})
    if confirms:
        roles = sorted(confirms.items(), key=lambda entry: (-entry[1], entry[0]))
        by_role = "; ".join(f"{role} {number}" for role, number in roles)
        yield f"{confirms.total()} item(s) to confirm: {by_role}."
    waiting = [outcome for outcome in worst_first(outcomes) if outcome.needs_action]
    if waiting:
        yield f"{len(waiting)} lot(s) need action, the worst first:"
        yield from (f"  {outcome.id}: {outcome.what.value}: {_reason(outcome)}" for outcome in waiting)


def _reason(outcome: Outcome) -> str:
    """The first reason, with how many there are beside it."""
    if not outcome.reasons:
        return f"{outcome.short} item(s) short"
    more = len(outcome.reasons) - 1
    return outcome.reasons[0] + (f" (and {more} more)" if more else "")


def refuse_to_overwrite(path: Path) -> None:
    """Stop where a file that is no summary of a site stands in the summary's place."""
    try:
        if not path.exists() or is_summary(read_bounded(path)):
            return
    except OSError as error:
        raise RefusedError(f"{path} can't be looked at: {error.strerror}. Nothing was written.") from error
    raise RefusedError(
        f"{path} is no summary of a site that planforge wrote; move it away first. Nothing was written."
    )


def is_summary(data: bytes) -> bool:
    """True for the bytes of a summary, by what its metadata say."""
    try:
        reader = open_pdf(data)
        return identity(reader) is None and str((reader.metadata or {}).get("/Title", "")).endswith(TITLE)
    except NotReadableError:
        return False


def write_summary(path: Path, site: Site, date: dt.date, outcomes: Sequence[Outcome]) -> None:
    """Write the summary as a PDF, whole or not at all. ``outcomes`` come in any order."""
    order = {source.id: place for place, source in enumerate(site.lots)}
    ordered = worst_first(sorted(outcomes, key=lambda outcome: order[outcome.id]))
    write_whole(path, site_summary(site.name, date, [_lot(outcome) for outcome in ordered]))


def _lot(outcome: Outcome) -> SiteLot:
    facts, result = outcome.facts, outcome.result
    return SiteLot(
        id=outcome.id,
        name=facts.lot if facts else "",
        number=facts.number if facts else "",
        revision=facts.revision if facts else None,
        status=outcome.what.value,
        needs_action=outcome.needs_action,
        reasons=outcome.reasons or ((f"{outcome.short} item(s) short",) if outcome.short else ()),
        counts=result.counts if result else None,
        confirms=result.confirms if result else {},
        supersedes=outcome.supersedes,
        work=(facts.first, facts.last) if facts else None,
        file=Path(outcome.file).name,
        fingerprint=facts.fingerprint if facts else "",
    )
