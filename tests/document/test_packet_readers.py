"""The packet as a crew and a coordinator read it: what is barred, equal bands, help, languages, sums."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest

from planforge.assess.assessment import Assessment
from planforge.assess.briefing import one_line
from planforge.document.context import packet_context
from planforge.document.context_calculations import line_calculations
from planforge.document.context_kit import bundles, rating_rows
from planforge.document.printed import Printed
from planforge.units import FOOT, LBF, LENGTH, parse

from .packets import DATE, FINGERPRINT, Pages, demo, pages_of


def test_sag_bands_are_those_of_the_card(heron: Assessment) -> None:
    """No band of a whole day: one that no temperature's card shows could leave out the target."""
    show = Printed("us")
    context = packet_context(heron, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    for line, result in zip(context["lines"], heron.lines, strict=True):  # type: ignore[call-overload]
        rows = result.card.rows
        assert line.bands == (show.card_band(rows[0]), show.card_band(rows[2]))
        for row, band in zip((rows[0], rows[2]), line.bands, strict=True):
            assert f"{band} at {show.temperature(row.temperature)}" in line.band


def test_a_line_that_is_short_is_barred_everywhere(wren: Assessment, wren_pages: Pages) -> None:
    barred = {line.id for line in wren.job.layout.lines if not wren.allowed(line.id)}
    assert barred == {"L-S1", "L-S2", "L-E"}
    for line in wren.job.layout.lines:
        stop = line.id in barred
        assert (f"{line.id} DO NOT TIE ON short 0 –" in wren_pages.page(0)) == stop
        assert (f"DO NOT TIE ON lifeline {line.id} 0 – –" in wren_pages.part("Crew sheet")) == stop
        assert (f"{line.id} 0 DO NOT TIE ON short:" in wren_pages.part("11 Use rules")) == stop
        assert (f"{line.id} · DO NOT TIE ON" in wren_pages.part("Inspection logs")) == stop
        assert (f"{line.id}: 0 at once" in wren_pages.part("Erection sheet")) == stop
        assert (f"{line.id}: {line.workers} at once" in wren_pages.part("Erection sheet")) != stop


def test_what_is_on_hold_is_barred_everywhere() -> None:
    assessment, pages = demo("quartz_court_building_2"), pages_of("quartz_court_building_2")
    held = next(r.of for r in assessment.job.releases if r.state == "on hold")
    assert f"{held} ON HOLD DO NOT TIE ON 0 –" in pages.page(0)
    assert f"{held} on hold: The rope was kinked" in pages.page(0)
    assert f"ON HOLD DO NOT TIE ON lifeline {held} 0 – –" in pages.part("Crew sheet")
    assert f"{held} 0 ON HOLD DO NOT TIE ON on hold" in pages.part("11 Use rules")
    assert f"{held} · ON HOLD · DO NOT TIE ON" in pages.part("Inspection logs")
    assert f"{held}: 0 at once" in pages.part("Erection sheet")


def test_things_that_stand_otherwise_share_no_row() -> None:
    assessment = demo("quartz_court_building_2")
    context = packet_context(assessment, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    states = {r.of: r.state for r in assessment.job.releases}
    assert len(set(states.values())) > 1
    for sheet in (context["crew_sheet"], *context["other_sheets"]):  # type: ignore[misc]
        for row in sheet.guards:
            own = [x.id for x in assessment.job.layout.lines if re.search(rf"\b{x.id}(,|$)", row.guard)]
            assert len({states.get(line, "planned") for line in own}) <= 1, row.guard


def test_short_clearance_says_what_would_help(wren: Assessment, wren_pages: Pages) -> None:
    context = packet_context(wren, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    rows = context["remedies"]
    wanted = {(f.where.rpartition(" · ")[0]) for f in wren.short if f.id == "arrest.clearance"}
    assert {f"{r.thing} · {r.stance}" for r in rows} == wanted  # type: ignore[attr-defined]
    summary = wren_pages.part("1 Summary")
    for row in rows:  # type: ignore[attr-defined]
        assert f"Everything below there {row.lower} lower would do" in summary
        sides = {f"{row.thing} · {row.stance} · {direction}" for direction in row.directions.split(", ")}
        own = [-f.margin for f in wren.short if f.id == "arrest.clearance" and f.where in sides and f.margin]
        assert any(m <= row.shortage <= m + 0.2 * FOOT for m in own)  # both numbers are rounded to 1 in
    one = next(r for r in rows if r.thing == "L-S1" and r.one_worker)  # type: ignore[attr-defined]
    assert not one.one_worker_keeps
    assert f"One worker at a time: left over {one.one_worker} at the worst place, still short" in summary


def test_lengths_print_as_a_tape_shows_them_outside_the_calculations(heron_pages: Pages) -> None:
    first = min(start for title, (start, _) in heron_pages.parts.items() if title.startswith("Appendix A"))
    behind = next(start for title, (start, _) in heron_pages.parts.items() if title.startswith("Appendix B"))
    for number, page in enumerate(heron_pages.pages):
        if not first <= number < behind:
            assert not re.search(r"\d\.\d+ (ft|in|pies|pulg)\b", page), number + 1


def test_page_one_holds_the_signatures(heron_pages: Pages, wren_pages: Pages) -> None:
    others = map(pages_of, ("quartz_court_building_2", "linnet_lot_3_trusses"))
    for pages in (heron_pages, wren_pages, *others):
        assert FINGERPRINT in pages.page(0)
        assert "Erection lead" in pages.page(0)
        assert list(pages.parts.values())[1][0] == 1


def test_every_phase_has_its_crew_sheet(heron: Assessment, heron_pages: Pages) -> None:
    for phase in heron.job.phases:
        own = [title for title in heron_pages.parts if "Crew sheet" in title and phase.name in title]
        assert len(own) == 1
    front = heron_pages.part("Crew sheet")
    assert "Other phases, other sheets (appendix D)" in front
    for phase in heron.job.phases[1:]:
        assert f"{phase.name}, {phase.start} – {phase.end}" in front


def test_stay_within_is_the_least_of_the_phase(heron: Assessment, heron_pages: Pages) -> None:
    """Joists at L-N are worked to 4 ft 6 in from it, the walls to 4 ft 9 in: each sheet has its least."""
    context = packet_context(heron, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    sheets = {s.phase.id: s for s in (context["crew_sheet"], *context["other_sheets"])}  # type: ignore[misc]
    told = {phase: {g.guard: g.reach for g in sheet.guards} for phase, sheet in sheets.items()}
    assert next(far for guard, far in told["deck"].items() if "L-N" in guard) == "4'-6\""
    assert next(far for guard, far in told["walls"].items() if "L-N" in guard) == "4'-9\""
    assert "deck: 4'-6\"; walls: 4'-9\"" in heron_pages.part("11 Use rules")


def test_rescue_means_in_one_order_each_once(heron: Assessment, heron_pages: Pages) -> None:
    """Everyone at all it serves before part of them, then by the drill; crew sheets and part 14 alike.

    The ladder's rescuer is tied on only near the posts, so that it reaches part, after the sooner lift.
    """
    context = packet_context(heron, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    means = context["crew_sheet"].means  # type: ignore[attr-defined]
    names = [m.name for m in means]
    kinds = {m.name: m.kind for m in heron.job.rescue.means}  # type: ignore[union-attr]
    assert [kinds[name] for name in names] == [
        "lift",
        "ladder",
        "from the deck",
    ]
    installers = "Boom lift lowered by its ground controls, for an installer who hangs from it"
    assert [m.name for m in context["means"] if m.name != installers] == names  # type: ignore[attr-defined]
    assert {r.reach for m in means for r in m.reached} == {"all", "part", "low"}
    sheet = heron_pages.part("Crew sheet")
    places = [sheet.index(f"{n}. {name}") for n, name in enumerate(names, 1)]
    assert places == sorted(places)
    assert "only if they hang low" in sheet
    assert re.search(r"everyone on L-\w+(, L-\w+)*; part of L-", sheet)
    assert re.search(r"needs 3'-6\", reaches 2'-0\": only if they hang low", heron_pages.part("14 Rescue"))


def test_means_that_is_not_there_in_a_phase(heron: Assessment) -> None:
    """It stands on no crew sheet of that phase, and part 14 says in which it is there."""
    rescue = heron.job.rescue
    assert rescue is not None
    later = [m.model_copy(update={"phases": ["walls"] if m.id == "M-LIFT" else []}) for m in rescue.means]
    job = heron.job.model_copy(update={"rescue": rescue.model_copy(update={"means": later})})
    one = replace(heron, index=replace(heron.index, job=job))
    context = packet_context(one, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    sheets = {s.phase.id: s for s in (context["crew_sheet"], *context["other_sheets"])}  # type: ignore[misc]
    for phase, sheet in sheets.items():
        assert any("Boom lift" in m.name for m in sheet.means) == (phase == "walls")
    cells = [cell for row in context["reach_rows"] for cell in row.cells if cell]  # type: ignore[attr-defined]
    assert {cell.phases for cell in cells} == {"", "walls"}


def test_notes_with_their_task_and_zone_rules_on_every_crew_sheet(
    heron: Assessment, heron_pages: Pages
) -> None:
    """A note names its task; of each zone that holds then, the whole rule stands there."""
    for phase in heron.job.phases:
        title = next(t for t in heron_pages.parts if "Crew sheet" in t and phase.name in t)
        text = heron_pages.part(title)
        for task in heron.job.tasks:
            if task.note and phase.id in task.phases:
                assert f"{task.name}: {one_line(task.note)}" in text
        for zone in heron.job.layout.zones:
            if not zone.phases or phase.id in zone.phases:
                assert re.search(rf"Zone {zone.id}( \(H[^)]*\))?: {re.escape(one_line(zone.rule))}", text)


def test_equations_can_be_worked_again(heron: Assessment) -> None:
    def number(text: str) -> float:
        return float(text.split(maxsplit=1)[0].replace(",", ""))

    for result, line in zip(heron.lines, line_calculations(heron, Printed("us")), strict=True):
        e = line.energy
        assert e is not None
        given = number(e.weight) * (number(e.free_fall) + number(e.drop) + number(e.stroke))
        assert abs(given - number(e.given)) <= 0.5 + 1e-6
        taken = e.workers * number(e.force) * number(e.stroke)
        assert abs(taken - number(e.by_connectors)) <= 0.5 + 1e-6
        assert abs(number(e.given) - number(e.by_connectors) - number(e.by_line)) <= 1.0
        h = result.parts.rope.weight_per_length.value * result.parts.span**2 / (8 * result.parts.line.sag)
        assert number(line.parabola) == pytest.approx(h / LBF, rel=0.005)  # three figures
        assert number(line.rope_strength) / number(line.tension) == pytest.approx(
            float(line.rope_factor), abs=0.011
        )


def test_planned_row_of_the_capacity_table_is_the_governing_load(heron: Assessment) -> None:
    context = packet_context(heron, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    sums = {c.id: c for c in context["calculations"]}  # type: ignore[attr-defined]
    used = [row for row in context["capacity"] if row.in_use]  # type: ignore[attr-defined]
    assert {row.line for row in used} == set(sums)
    for row in used:
        assert row.rope_factor == sums[row.line].rope_factor
        assert row.end_factor == sums[row.line].end_factor
        worst = sums[row.line].worst
        assert row.left_over == worst.left_over
        fall = sum(t.value for t in worst.stack.terms if t.key in ("free_fall", "line_drop", "deceleration"))
        assert parse(row.total_fall, LENGTH) == pytest.approx(fall)


def test_fall_and_clearance_of_every_row_add_up_alike(heron: Assessment) -> None:
    context = packet_context(heron, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    sums: dict[str, set[float]] = {}
    for row in context["capacity"]:  # type: ignore[attr-defined]
        both = parse(row.total_fall, LENGTH) + parse(row.left_over, LENGTH)
        sums.setdefault(row.line, set()).add(round(both, 6))
    assert all(len(own) == 1 for own in sums.values())


def test_head_heights_and_guys_of_each_post(heron: Assessment, heron_pages: Pages) -> None:
    sheet = heron_pages.part("Erection sheet")
    for post in heron.job.layout.posts:
        kind = heron.index.kind_of(post)
        head = Printed("us").length(kind.head_height)
        assert re.search(rf"{post.id} \S+ \S+ {re.escape(head)} over slab", sheet)
        for guy in post.guys:
            assert guy.id in sheet
        told = (
            f"turned {math.degrees(post.turned):.1f}°, {kind.base_anchors} base anchors head {head} over slab"
        )
        assert told in heron_pages.part("5 Layout")


def test_the_post_schedule_gives_every_guy_its_place_and_its_angles(
    heron: Assessment, heron_pages: Pages
) -> None:
    """The angles by plain trigonometry from the job's coordinates."""
    show = Printed("us")
    schedule = heron_pages.part("5 Layout")
    assert "from the building's lower left corner" in schedule
    for post in heron.job.layout.posts:
        assert f"{show.length(post.at[0])}, {show.length(post.at[1])}" in schedule
        for guy in post.guys:
            x, y = guy.to[0] - post.at[0], guy.to[1] - post.at[1]
            drop = heron.job.layout.levels[post.stands_on] + guy.height - guy.elevation
            place = ", ".join(show.length(v) for v in (*guy.to, guy.elevation))
            way = math.degrees(math.atan2(y, x)) % 360.0
            angle = math.degrees(math.atan2(math.hypot(x, y), drop))
            assert f"{guy.id}: {place} up; {way:.1f}°; {angle:.1f}°" in schedule


def test_crew_words(heron_pages: Pages) -> None:
    assert "Hook on before you leave the way up" in heron_pages.part("Crew sheet")
    assert "Don't work alone." in heron_pages.part("Crew sheet")
    assert "No one works alone: a second person is in sight and call." in heron_pages.text
    assert "alone on a line" not in heron_pages.text


@pytest.mark.parametrize(
    ("number", "bundle", "told"),
    [(50, 8, "6 of 8 + 1 of 2"), (7, 4, "1 of 4 + 1 of 3"), (3, 4, "1 of 3"), (44, 11, "4 of 11")],
)
def test_bundles_hold_no_more_than_is_wanted(number: int, bundle: int, told: str) -> None:
    assert bundles(number, bundle) == told
    counts = [part.split(" of ") for part in told.split(" + ")]
    assert sum(int(n) * int(of) for n, of in counts) == number


def test_the_truck_weighs_the_same_wherever_it_is_printed(heron_pages: Pages) -> None:
    equipment, pick = heron_pages.part("7 Equipment"), heron_pages.part("Appendix E · Load and pick list")
    weight = re.search(r"Weight on the truck: ([\d,]+ lb)", equipment)
    assert weight is not None
    assert f"On the truck: {weight[1]}" in pick


def test_a_rating_is_asked_only_of_what_has_it(heron: Assessment) -> None:
    rows = rating_rows(heron, Printed("us"))
    own = {(row.item, row.name) for row in rows if not row.value}
    assert (
        not {("wire-38", "turnbuckle_threads"), ("set-a", "broken_wires"), ("set-a", "broken_wires_in")} & own
    )
    assert ("set-a", "turnbuckle_threads") in {(row.item, row.name) for row in rows}
    assert ("wire-38", "broken_wires") in {(row.item, row.name) for row in rows}


def test_a_span_as_built_stays_within_the_makers(heron: Assessment) -> None:
    """L-E is drawn at the maker's shortest span of 12 ft: its bases may stand apart, and no nearer."""
    context = packet_context(heron, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    beyond = {row.id: row.revised_beyond for row in context["spans"]}  # type: ignore[attr-defined]
    assert beyond.pop("L-E") == "+ 4 in\n− 0 in"
    assert set(beyond.values()) == {"± 4 in"}


def test_crew_is_told_the_fall_of_the_stance_not_of_another_place(heron: Assessment) -> None:
    """H11 states 8'-1" from the trusses to the deck; A1 and A2 lean over the great room, 11'-4" deep."""
    (h11,) = (h for h in heron.job.hazards if h.id == "H11")
    assert h11.height == pytest.approx(parse("8'-1\"", LENGTH))
    context = packet_context(heron, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    sheets = (context["crew_sheet"], *context["other_sheets"])  # type: ignore[misc]
    rows = [row for sheet in sheets if sheet.phase.id == "trusses" for row in sheet.guards]
    told = {row.guard: [str(fall) for fall in row.falls if fall.mark == "H11"] for row in rows}
    anchors = "single anchorage A1", "single anchorage A2"
    assert [told[guard] for guard in anchors] == 2 * [["H11 Setting and bracing trusses (11'-4\")"]]
    others = [fall for guard, falls in told.items() if guard not in anchors for fall in falls]
    assert others == ["H11 Setting and bracing trusses (8'-1\")"]  # the scaffold's
    (sheet,) = (s for s in context["pre_tasks"] if s.phase.id == "trusses")  # type: ignore[attr-defined]
    assert "H11 Setting and bracing trusses (11'-4\")" in sheet.hazards


def test_erection_sheet_allows_each_guy_a_band_within_the_makers(
    heron: Assessment, heron_pages: Pages
) -> None:
    """P8-G5 is drawn at 55.9 degrees; its maker ends at 56.0, where 2 in at the base would make 56.3."""
    context = packet_context(heron, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    allowed = context["guy_angles"]
    assert allowed["P8-G5"].endswith(" – 56.0°")  # type: ignore[index]
    sheet = heron_pages.part("Erection sheet")
    assert f"55.9° {allowed['P8-G5']} 15'-0\"" in sheet  # type: ignore[index]


def test_no_margin_breaks_inside_a_number_or_its_unit(heron_pages: Pages) -> None:
    """A margin of 33'-10 5/ over an 8" of the next line is misread."""
    first, last = heron_pages.parts["Appendix C · All checks"]
    raw = "\n".join(heron_pages.reader.pages[n].extract_text() for n in range(first, last))
    assert re.search(r"\d/\d+\"", raw) and re.search(r"\d ft-lbf", raw)
    assert re.findall(r".*\d/\s*\n.*|.*\d ?ft\s*\n-lbf.*|.*\d'-\s*\n.*", raw) == []


def test_rules_of_lines_stand_only_where_a_line_does(heron: Assessment, heron_pages: Pages) -> None:
    """A row that nobody can do teaches to skip rows. Who is told not to work alone is told so everywhere."""
    lines = heron.job.layout.lines
    told = set()
    for phase in heron.job.phases:
        title = next(t for t in heron_pages.parts if "Crew sheet" in t and phase.name in t)
        stands = any(not line.phases or phase.id in line.phases for line in lines)
        sheet = heron_pages.part(title)
        for rule in ("To pass a post", "Work straight across from the line"):
            assert (rule in sheet) == stands, (phase.id, rule)
        assert "Don't work alone." in sheet
        told.add(stands)
    assert told == {True, False}


def test_who_releases_after_a_fall_is_told_alike_wherever_it_is_told(heron_pages: Pages) -> None:
    told = (
        "measured again and released again under a new revision: "
        "the competent person signs, the qualified person beside"
    )
    for part in ("9 Erection", "17 Incidents", "Appendix E · Tag-out"):
        title = next(t for t in heron_pages.parts if t.startswith(part))
        assert told in heron_pages.part(title)
    assert "Released again, or taken down: qualified person" not in heron_pages.part("Appendix E · Tag-out")


def test_no_field_or_id_of_the_job_file_stands_for_words(heron_pages: Pages) -> None:
    """A reader holds the print, not the job file: ids and field names resolve nowhere on it."""
    whole = " ".join(heron_pages.page(n) for n in range(len(heron_pages.reader.pages)))
    for inner in ("K-RESCUE", "erection.tolerances.post_position", "under hazard.controls", "D, last pages"):
        assert inner not in whole
    assert "kept at Rescue kit" in whole


def test_numbers_called_the_greatest_say_of_what(heron: Assessment, heron_pages: Pages) -> None:
    """The head's greatest pull need not be the direction that is hardest on the tube, nor peak the force."""
    context = packet_context(heron, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    p1 = next(p for p in context["post_views"] if p.id == "P1")  # type: ignore[attr-defined]
    assert p1.pull not in {row.pull_factored for row in p1.cases}
    pages = heron_pages.part("Appendix A · Load path")
    assert f"the greatest pull of any direction is {p1.pull} at 2 times" in pages


def test_a_procedure_says_on_the_crew_sheet_what_to_do(heron: Assessment, heron_pages: Pages) -> None:
    """A row "procedure" guards nobody; one by a zone is told by the zone's rule, and once."""
    hazard = next(h for h in heron.job.hazards if h.id == "H14")
    (reason,) = [control.reason for control in hazard.controls]
    for title, text in (
        (title, heron_pages.part(title)) for title in heron_pages.parts if "Crew sheet" in title
    ):
        standing = "Second-floor deck" not in title  # no post comes out of the deck before it is there
        assert (f"H14: {' '.join(reason.split())}" in text) is standing, title
    linnet = pages_of("linnet_lot_3_trusses").part("Crew sheet")
    assert "the crane's load never passes over people" not in linnet
