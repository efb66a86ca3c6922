"""The load path as it is printed: every check, every number from one place, what is wanted, who may drill."""

from __future__ import annotations

import copy
import datetime as dt
import io
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from matplotlib.figure import Figure
from pypdf import PdfReader

from planforge.assess.assessment import Assessment, assess
from planforge.assess.checks import CHECKS
from planforge.assess.finding import Finding, Verdict
from planforge.document.context import packet_context
from planforge.document.context_bases import drilling_parts
from planforge.document.context_kit import load_list
from planforge.document.context_load_path import PostView
from planforge.document.packet import packet
from planforge.document.printed import Printed
from planforge.figures import figure_set
from planforge.job.loading import load
from planforge.job.model import Job
from planforge.units import FOOT, INCH, LBF, MPH, PSI

from .packets import Pages, demo

SMALL = Path(__file__).resolve().parents[1] / "assess" / "small_lot.yaml"
DATE = dt.date(2026, 11, 30)
FINGERPRINT = "0123456789abcdef" * 4
SHOW = Printed("us")

NEW_CHECKS = {
    check for check in CHECKS if check.split(".")[0] in ("post", "guy", "base", "framing", "hoist", "wind")
} | {"power.post"}


def small(change: Callable[[Any], None] = lambda data: None) -> Assessment:
    data = copy.deepcopy(load(SMALL).data)
    change(data)
    return assess(Job.model_validate(data))


def small_figure() -> Figure:
    return Figure(figsize=(1.0, 1.0))


def text_of(assessment: Assessment, *, drawn: bool = True) -> list[str]:
    """The pages' text without white space: lines break anywhere in a narrow cell."""
    names = [n for n in figure_set(assessment) if drawn or not re.match(r"drilling-map$|post-", n)]
    data = packet(
        assessment,
        fingerprint=FINGERPRINT,
        date=DATE,
        draft=False,
        attachment=None,
        figures=dict.fromkeys(names, small_figure),
    )
    return [re.sub(r"\s", "", page.extract_text()) for page in PdfReader(io.BytesIO(data)).pages]


def number(printed: str) -> float:
    return float(printed.split(maxsplit=1)[0].replace(",", ""))


def context_of(assessment: Assessment) -> dict[str, Any]:
    return packet_context(assessment, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})


def post_view(assessment: Assessment, post: str) -> PostView:
    views: dict[str, PostView] = {v.id: v for v in context_of(assessment)["post_views"]}
    return views[post]


@pytest.fixture(scope="module")
def lot() -> Assessment:
    return small()


def asking_for_proof(data: Any) -> None:
    """Their maker asks for a proof test of every base and plate anchor; nobody asks on the small lot."""
    for kind in ("base_anchors", "guys"):
        data["equipment"][kind][0]["proof_load"] = {"value": "2500 lbf", "source": "Report PT-1 (invented)"}


@pytest.fixture(scope="module")
def pages(lot: Assessment) -> list[str]:
    return text_of(lot)


def test_every_new_check_is_printed() -> None:
    lot = small(asking_for_proof)
    pages = text_of(lot)
    assert {f.id for f in lot.findings} >= NEW_CHECKS
    appendix = "".join(pages[next(n for n, p in enumerate(pages) if "AppendixC·Allchecks" in p[:400]) :])
    for check in NEW_CHECKS:
        assert f"[{check}]" in appendix


def test_loads_guys_and_base_are_those_of_the_assessment(lot: Assessment, pages: list[str]) -> None:
    everything = "".join(pages)
    for result in lot.posts:
        view = post_view(lot, result.id)
        for guy, tension in zip(view.guys, result.tensions, strict=True):
            assert guy.tension == SHOW.force(float(tension), "up")
            assert f"{guy.own[0]}2×:{guy.tension}of{guy.strength}".replace(" ", "") in everything
            if float(tension) > 0.0:  # a reader's own division
                by_hand = number(guy.strength) / number(guy.own[0])
                assert by_hand == pytest.approx(float(guy.factor), rel=1 / number(guy.own[0]), abs=0.011)
                assert number(guy.tension) == pytest.approx(2 * number(guy.own[0]), abs=11)
        assert view.base is not None
        down = max(result.pinned.base_force[:, 2].max(), result.clamped.base_force[:, 2].max())
        assert view.base.down == SHOW.force(float(down), "up")
    strength = next(f for f in lot.findings if f.id == "post.strength" and f.where == "P1")
    assert max(float(c.ratio) for c in post_view(lot, "P1").cases) == float(SHOW.value_of(strength))


def test_pull_is_printed_once_and_at_twice(lot: Assessment) -> None:
    """29 CFR 1926.502(d)(8)(ii): the factor of two stands on the load."""
    line = next(r for r in lot.lines if r.id == "L-1")
    assert line.loads is not None
    case = next(c for c in post_view(lot, "P1").cases if c.name == "L-1")
    assert case.pull == SHOW.force(line.loads.start, "up")
    assert case.pull_factored == SHOW.force(2 * line.loads.start, "up")
    assert case.direction == "0°"  # from P1 to P2 along the plan's x


def test_an_anchorage_has_one_row_for_all_directions(lot: Assessment) -> None:
    names = [case.name for case in post_view(lot, "P4").cases]
    assert names == ["A-1, worst of 24 directions"]


def test_stiffness_used_is_the_more_demanding_one(lot: Assessment) -> None:
    (row,) = post_view(lot, "P1").stiffness
    head = next(r for r in lot.lines if r.id == "L-1").parts.start_head
    assert (row.low, row.high) == (SHOW.stiffness(head.low), SHOW.stiffness(head.high))
    assert row.stated == "1,800 lbf/in – 4,200 lbf/in"
    assert head.reckoned is not None and row.reckoned == " – ".join(SHOW.stiffness(s) for s in head.reckoned)


@pytest.mark.parametrize(
    ("kind", "field", "wanted"),
    [
        ("guys", "strength", "guy P1-1: breaking strength"),
        ("guys", "plate_uplift", "guy P1-1: what its plate anchor holds against uplift"),
        ("guys", "greatest_angle", "guy P1-1: the maker's greatest angle"),
        ("guys", "axial_stiffness", "guy P1-1: axial stiffness"),
        ("posts", "steel_yield", "the tube's yield strength"),
        ("base_anchors", "kc", "the anchor's kc"),
    ],
)
def test_a_missing_rating_is_wanted_by_name(kind: str, field: str, wanted: str) -> None:
    def without(data: Any) -> None:
        del data["equipment"][kind][0][field]

    assert wanted in post_view(small(without), "P1").wanted


def test_a_missing_guy_strength_is_printed_as_wanted_and_to_confirm(
    lot: Assessment, pages: list[str]
) -> None:
    def without(data: Any) -> None:
        del data["equipment"]["guys"][0]["strength"]

    changed = small(without)
    assert {g.verdict for g in post_view(lot, "P2").guys} == {"meets"}
    assert {g.verdict for g in post_view(changed, "P2").guys} == {"confirm"}
    everything = "".join(text_of(changed))
    assert "Wanted,byname:guyP1-1:breakingstrength;" in everything
    assert "Wanted,byname" not in "".join(pages)


def test_nobody_drills_where_the_slab_is_not_located(lot: Assessment, pages: list[str]) -> None:
    def unknown(data: Any) -> None:
        data["slab"]["kind"] = "post-tensioned"

    changed = text_of(small(unknown))
    everything = "".join(changed)
    assert "NOBODYDRILLSONTHISLOT." in everything
    assert "slabwithoutascanonthislot:nobodydrills" in everything
    erection = next(p for p in changed if "Guysandbaseanchors" in p)
    assert "Nobodydrillsonthislot" in erection
    assert "NOBODYDRILLS" not in "".join(pages)


def test_nobody_drills_at_a_base_with_a_pipe_in_the_way() -> None:
    """The pipe runs 1 ft beside the base's centre; at 4 in from it, it lies under the holes."""

    def nearer(data: Any) -> None:
        data["slab"]["contents"][0]["path"] = [["28 in", "0"], ["28 in", "30 ft"]]

    changed = small(nearer)
    base = {b.id: b for b in context_of(changed)["base_views"]}
    assert base["P1"].barred and base["P4"].barred
    assert not base["P2"].barred and not base["P3"].barred
    everything = "".join(text_of(changed))
    assert "NobodydrillsatP1:holesclearofwhatisintheslabatP1·DR-1" in everything


def test_packet_builds_without_the_load_path_drawings(lot: Assessment) -> None:
    everything = "".join(text_of(lot, drawn=False))
    assert "nodrillingmap" in everything
    assert "Loadpath·postP1" in everything


def test_a_short_guy_bars_the_line_on_its_post(lot: Assessment) -> None:
    def weak(data: Any) -> None:
        data["equipment"]["guys"][0]["strength"]["value"] = "4000 lbf"

    lines = {v.id: v for v in context_of(small(weak))["lines"]}
    assert lines["L-1"].thing.barred
    assert not {v.id: v for v in context_of(lot)["lines"]}["L-1"].thing.barred


def test_review_block_has_a_row_to_initial_for_each_post(lot: Assessment, pages: list[str]) -> None:
    review = next(p for p in pages if "Engineer'sreviewoftheloadpath" in p and "Initials" in p)
    for post in lot.job.layout.posts:
        view = post_view(lot, post.id)
        assert f"{post.id}{view.pull}{view.review[0].value}".replace(" ", "") in review
    base = next(f for f in lot.findings if f.id == "base.strength" and f.where == "P1")
    assert base.verdict is Verdict.CONFIRM  # impact lies outside ACI 318-19 chapter 17
    assert post_view(lot, "P1").review[-1].verdict == "confirm"


def test_erection_sheet_counts_guys_and_names_the_torque(lot: Assessment) -> None:
    def torque(data: Any) -> None:
        anchor = data["equipment"]["base_anchors"][0]
        anchor["torque"] = {"value": "45 ft-lbf", "source": "Report ER p. 4 (invented)"}

    changed = text_of(small(torque))
    sheet = "".join(changed[: next(n for n, p in enumerate(changed) if "Contents" in p[:400])])
    for post in lot.job.layout.posts:
        for number, guy in enumerate(post.guys, 1):
            assert f"{post.id}·{guy.id}{number}of{len(post.guys)}" in sheet
    assert "45ft-lbf" in sheet
    assert "itskindasksfor" not in sheet  # more guys than its maker asks for at the least are nothing open
    few = "".join(text_of(small(lambda data: data["equipment"]["posts"][0].update(guys=4))))
    assert "P3:itskindasksforatleast4guy(s),3laidout:SHORT" in few


def test_crew_sheet_keeps_hands_off_the_guys(pages: list[str]) -> None:
    crew = next(p for p in pages if "Don'tunhooktopassapost" in p)
    assert "Aguyslackoroff" in crew and "everyoneoff" in crew
    assert "Don'ttouchaguy." in crew


def test_hoisting_says_when_the_hook_comes_off(pages: list[str]) -> None:
    first = next(n for n, p in enumerate(pages) if "Hoistingtheposts" in p and "Machine" in p)
    part = "".join(pages[first : first + 2])
    assert "Thebaseseatedandeveryguytight." in part
    assert "Takenofffortheattachment0lb(ChartTHp.2isforitsboom(invented))" in part
    assert "Weightoftherigging10lb" in part
    assert "Thehookstaysonuntilthebaseisseatedonallitsbaseanchorsandeveryguyholds." in "".join(pages)


@pytest.mark.parametrize(
    ("check", "value", "limit", "unit", "sense", "texts"),
    [
        ("base.depth", 1.376 * INCH, 0.0, "m", "at least", ('1 3/8"', '≥ 0"', '1 3/8"')),
        ("base.age", 2999.4 * PSI, 2500 * PSI, "Pa", "at least", ("2,999 psi", "≥ 2,500 psi", "499 psi")),
        (
            "post.joint",
            3001 * FOOT * LBF,
            3049 * FOOT * LBF,
            "N m",
            "at most",
            ("3,010 ft-lbf", "≤ 3,040 ft-lbf", "30 ft-lbf"),
        ),
        ("wind.unguyed", 20.2 * MPH, 30.9 * MPH, "m/s", "at most", ("21 mph", "≤ 30 mph", "9 mph")),
    ],
)
def test_new_units_print_to_the_careful_side(
    check: str, value: float, limit: float, unit: str, sense: Any, texts: tuple[str, str, str]
) -> None:
    finding = Finding(check, "P1", Verdict.MEETS, value=value, limit=limit, unit=unit, sense=sense)
    assert (SHOW.value_of(finding), SHOW.limit_of(finding), SHOW.margin_of(finding)) == texts


def test_a_metric_spacing_that_meets_prints_no_shortage() -> None:
    finding = Finding("base.layout", "P1", Verdict.MEETS, value=0.06, limit=0.06, unit="m", sense="at least")
    assert not SHOW.margin_of(finding).startswith("-")


def test_a_torque_prints_to_the_pound_foot() -> None:
    """A moment's 10 ft-lbf would turn 45 into 40 or 50."""
    assert SHOW.torque(45 * FOOT * LBF) == "45 ft-lbf"
    assert Printed("metric").torque(54.4) == "54 N m"


def test_load_list_counts_guys_and_anchors_by_kind_from_the_layout() -> None:
    """15 guys drawn, one of another kind with a length of the first joined in; four anchors a base."""

    def change(data: Any) -> None:
        other = copy.deepcopy(data["equipment"]["guys"][0]) | {"id": "chain", "name": "Chain (invented)"}
        data["equipment"]["guys"].append(other)
        first = data["layout"]["posts"][0]["guys"][0]
        first |= {"kind": "chain", "pieces": [{"kind": "guy", "length": "4 ft"}]}

    counted = {row.id: row.quantity for row in load_list(small(change), SHOW).rows}
    assert (counted["guy"], counted["chain"]) == (15, 1)  # 14 whole and a piece; 4 + 4 + 3 + 4 in all
    assert counted["stud"] == 16


def test_walls_and_moved_heads_are_printed(lot: Assessment, pages: list[str]) -> None:
    everything = "".join(pages)
    assert "Wallsthatholdtheguys" in everything
    for wall in lot.walls:
        assert wall.name in everything
        assert re.sub(r"\s", "", SHOW.force(2 * SHOW.whole_force(wall.arrest[1]), "up")) in everything
    assert "Headsthatmoveafterthesagisset" in everything
    assert "0.125in/0.250in/0.500in" in everything
    assert "themaker'sortheengineer's" in everything.replace("’", "'")
    assert "Sag,allset" in everything


def test_part_9_gives_each_base_its_tightest_distance_and_all_that_does_not_meet() -> None:
    """Eleven tendons by twelve bases would bury the one that is near; appendix C has every pair."""
    assessment = demo("quartz_court_building_2")
    groups: Any = drilling_parts(assessment, SHOW)["base_checks"]
    (rows,) = [group.rows for group in groups if group.title == CHECKS["base.contents"].title]
    told = {where for row in rows for where in row.where.split("; ")}
    own = [f for f in assessment.findings if f.id == "base.contents"]
    assert len(own) > 100
    for base in {f.where.partition(" · ")[0] for f in own}:
        mine = [f for f in own if f.where.startswith(f"{base} · ")]
        least = min(f.margin for f in mine if f.margin is not None)
        wanted = {f.where for f in mine if f.margin == least or f.verdict is not Verdict.MEETS}
        assert {where for where in told if where.startswith(f"{base} · ")} == wanted


def test_radius_of_every_post_stands_with_the_lift(heron: Assessment, heron_pages: Pages) -> None:
    page = heron_pages.part("8 Delivery, hoisting and storage").partition("Hoisting the posts")[2]
    assert "Radius to each post" in page
    assert {f.where for f in heron.findings if f.id == "hoist.radius"} == set(heron.index.posts)
