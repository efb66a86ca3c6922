"""What the pages say of each line and anchor: the facts that repeat, printed once and for all pages.

A line's name, its workers and its sag band are strings made here, so that page 1, crew sheet,
drawings' captions, calculations and logs can't differ.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from planforge.assess.anchors import AnchorRun
from planforge.assess.assessment import Assessment
from planforge.assess.check import MAKER, QUALIFIED
from planforge.assess.finding import Finding, Verdict
from planforge.assess.lines import LineResult
from planforge.document.printed import DASH, Printed
from planforge.figures.kept import kept
from planforge.job.erection import Release

RELEASE: Final = "release.state"
ON_HOLD: Final = "on hold"


@dataclass(frozen=True, slots=True)
class CardLine:
    """One temperature of the sag card: what may be measured there."""

    temperature: str
    band: str
    target: str

    @property
    def set_and_band(self) -> str:
        """What to set, and in brackets what may be measured."""
        return f"{self.target} ({self.band})"


@dataclass(frozen=True, slots=True)
class ThingView:
    """What page 1 and the release block say of a line or anchor."""

    id: str
    workers: int
    phases: str
    state: str
    released: bool
    released_by: str
    released_beside: str  # the qualified person who signed beside; empty: nobody did
    released_on: str
    released_revision: str
    measured_sag: str
    measured_at: str
    open: tuple[Finding, ...]  # to confirm, the release itself left out
    short: tuple[Finding, ...]
    reason: str  # why it is on hold
    needs_qualified: bool  # a strength item is still to confirm: the qualified person signs the release too

    @property
    def held(self) -> bool:
        """True where it is on hold: nobody ties on until the hold is lifted."""
        return self.state == ON_HOLD

    @property
    def lacking(self) -> tuple[str, ...]:
        """Titles of what is short about it and accepted by no variance."""
        return tuple(dict.fromkeys(f.title for f in self.short if f.variance is None))

    @property
    def barred(self) -> bool:
        """True where it is on hold, or something about it is short: nobody ties on."""
        return self.held or bool(self.lacking)

    @property
    def allowed(self) -> int:
        """How many may be tied to it as things stand; none where it is barred."""
        return 0 if self.barred else self.workers

    @property
    def standing(self) -> str:
        """How it stands, for rows that may be shared only by things that stand alike."""
        return "; ".join((self.state, str(self.released), *self.lacking))

    @property
    def deciders(self) -> tuple[str, ...]:
        """Who still has to confirm something about it."""
        return tuple(dict.fromkeys(f.decides for f in self.open))

    @property
    def confirmers(self) -> str:
        """The same in a line; empty where nobody has."""
        return ", ".join(self.deciders)


@dataclass(frozen=True, slots=True)
class LineView:
    """A line as every page prints it."""

    thing: ThingView
    between: str
    start: str
    end: str
    span: str
    beside: str
    system: str
    rope: str
    absorber: str
    absorber_at: str
    connectors: str
    target: str
    installed_at: str
    set_band: str  # what may be set at the temperature of installation
    card: tuple[CardLine, ...]  # coldest, middle, warmest of the day; empty where no sag holds
    band: str  # the card's bands on the coldest and the warmest day, for a single cell
    bands: tuple[str, ...]  # the same two without their temperatures; empty where no sag holds
    why: str
    tension: str
    load_start: str
    load_end: str
    governs: str
    result: LineResult

    @property
    def id(self) -> str:
        """The line's id."""
        return self.thing.id

    @property
    def workers(self) -> int:
        """How many may be tied to it at once."""
        return self.thing.workers


@dataclass(frozen=True, slots=True)
class AnchorView:
    """A single-point anchorage as every page prints it."""

    thing: ThingView
    place: str
    height: str
    fitting: str
    strength: str
    strength_source: str
    load: str
    runs: tuple[AnchorRun, ...]

    @property
    def id(self) -> str:
        """The anchor's id."""
        return self.thing.id

    @property
    def workers(self) -> int:
        """How many may be tied to it at once."""
        return self.thing.workers


def belongs(finding: Finding, thing: str) -> bool:
    """True where a finding is about a line or anchor or a stance tied to it."""
    return finding.where == thing or finding.where.startswith(f"{thing} ")


@kept
def _concerns(assessment: Assessment, thing: str) -> tuple[Finding, ...]:
    """The findings that concern a line or anchor; each language's pages ask for them."""
    return tuple(assessment.concerns(thing))


def _thing(assessment: Assessment, show: Printed, thing: str, workers: int, phases: list[str]) -> ThingView:
    """What is short or open in the load path of its posts is so for the line or anchor too."""
    own = _concerns(assessment, thing)
    opened = tuple(f for f in own if f.verdict is Verdict.CONFIRM and f.id != RELEASE)
    release = next((r for r in assessment.job.releases if r.of == thing), None)
    index = assessment.index
    return ThingView(
        id=thing,
        workers=workers,
        phases=", ".join(index.shared_phases(phases)),
        state=release.state if release else "planned",
        released=assessment.released(thing),
        released_by=index.person(release.by) if release else "",
        released_beside=index.person(release.beside) if release and release.beside else "",
        released_on=show.day(release.on) if release and release.on else "",
        released_revision=str(release.revision) if release and release.revision is not None else "",
        measured_sag=_measured(release, show),
        measured_at=show.temperature(release.temperature) if release and release.temperature else "",
        open=opened,
        short=tuple(f for f in own if f.verdict is Verdict.SHORT),
        reason=(release.reason or "") if release else "",
        needs_qualified=any(f.decides in (QUALIFIED, MAKER) for f in opened),
    )


def own_posts(assessment: Assessment, thing: str) -> tuple[str, ...]:
    """The posts that carry a line or anchor."""
    index = assessment.index
    if thing in index.lines:
        return index.lines[thing].start, index.lines[thing].end
    return tuple(a.post for a in assessment.job.layout.anchors if a.id == thing and a.post)


def _measured(release: Release | None, show: Printed) -> str:
    """The sag measured once guys and plumb were set; one measured before counts for nothing here."""
    if release is None or release.measured_sag is None or not release.after_plumbing:
        return ""
    return show.inches(release.measured_sag)


def line_views(assessment: Assessment, show: Printed) -> tuple[LineView, ...]:
    """Every line, in the job's order."""
    return tuple(_line(assessment, show, result) for result in assessment.lines)


def _line(assessment: Assessment, show: Printed, result: LineResult) -> LineView:
    parts, card, loads = result.parts, result.card, result.loads
    line = parts.line
    used = {run.rig.connector.id: run.rig.connector.name for run in result.runs}
    rows = tuple(
        CardLine(show.temperature(r.temperature), show.card_band(r), show.sag(r.target)) for r in card.rows
    )
    return LineView(
        thing=_thing(assessment, show, line.id, line.workers, line.phases),
        between=f"{line.start} – {line.end}",
        start=line.start,
        end=line.end,
        span=show.length(parts.span),
        beside=line.beside or "",
        system=parts.system.name,
        rope=parts.rope.name,
        absorber=parts.absorber.name if parts.absorber else "",
        absorber_at=line.absorber_at or "",
        connectors=", ".join(used.values()),
        target=show.sag(line.sag),
        installed_at=show.temperature(line.installed_at),
        set_band=show.band(*card.at_installation) if card.at_installation else DASH,
        card=rows,
        band=";\n".join(show.at_temperature(r.band, r.temperature) for r in (rows[0], rows[-1]))
        if rows
        else DASH,
        bands=(rows[0].band, rows[-1].band) if rows else (),
        why=card.why,
        tension=show.force(loads.tension, "up") if loads else "",
        load_start=show.force(loads.start, "up") if loads else "",
        load_end=show.force(loads.end, "up") if loads else "",
        governs=loads.by if loads else "",
        result=result,
    )


def anchor_views(assessment: Assessment, show: Printed) -> tuple[AnchorView, ...]:
    """Every single-point anchorage, in the job's order."""
    index, views = assessment.index, []
    for anchor in assessment.job.layout.anchors:
        kind = index.kind_of(index.posts[anchor.post]) if anchor.post else None
        rated = kind.anchorage_strength if kind else anchor.strength
        runs = tuple(r for r in assessment.anchors if r.anchor.id == anchor.id)
        views.append(
            AnchorView(
                thing=_thing(assessment, show, anchor.id, anchor.workers, anchor.phases),
                place=anchor.post or "",
                height=show.length(index.anchor_at(anchor)[2]),
                fitting=kind.name if kind else anchor.fitting or "",
                strength=show.force(rated.value, "down") if rated else "",
                strength_source=(rated.source or "") if rated else "",
                load=show.force(max(r.load for r in runs), "up") if runs else "",
                runs=runs,
            )
        )
    return tuple(views)


def things(lines: Sequence[LineView], anchors: Sequence[AnchorView]) -> tuple[ThingView, ...]:
    """Lines and anchors together, as page 1 lists them."""
    return (*(line.thing for line in lines), *(anchor.thing for anchor in anchors))
