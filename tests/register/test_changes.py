"""What changed between two jobs: fields by name, entries by id, values as written."""

from __future__ import annotations

import pytest

from planforge.job.loading import load
from planforge.job.model import Job
from planforge.job.reading import Loaded
from planforge.register.changes import differences
from planforge.register.crew import comparison
from planforge.register.fingerprint import canonical
from planforge.register.jobs import load_text

from .conftest import MENDED, ROOT, next_revision, text_of


@pytest.fixture(scope="module")
def mended() -> Loaded[Job]:
    return load(MENDED)


def changed(mended: Loaded[Job], *changes: tuple[str, str]) -> list[str]:
    return [str(c) for c in differences(mended, load_text(text_of(*changes), "job"))]


def test_a_job_against_itself_and_another_spelling(mended: Loaded[Job]) -> None:
    assert changed(mended) == []
    assert changed(mended, ("drive: 19 min", "drive: 1140 s")) == []


def test_a_value_prints_as_each_job_writes_it(mended: Loaded[Job]) -> None:
    assert changed(mended, ("sag: 4 1/4 in", "sag: 108 mm")) == ["layout.lines[L-E].sag 4 1/4 in -> 108 mm"]
    assert changed(mended, ("drive: 19 min", "drive: 25 min")) == ["rescue.hospital.drive 19 min -> 25 min"]


def test_a_value_that_differs_by_a_rounding_alone_says_so(mended: Loaded[Job]) -> None:
    """0.5 ft and 6 in differ in their last bit, and so does the fingerprint."""
    (line,) = changed(mended, ("sag: 4 1/4 in", "sag: 0.3541666666666 ft"))
    assert line == (
        "layout.lines[L-E].sag 4 1/4 in -> 0.3541666666666 ft (the same value, written otherwise)"
    )


def test_entries_are_matched_by_id_wherever_they_stand() -> None:
    before = load(MENDED)
    moved = before.model.layout.lines[::-1]
    layout = before.model.layout.model_copy(update={"lines": moved})
    data = before.data | {"layout": before.data["layout"] | {"lines": before.data["layout"]["lines"][::-1]}}
    after = Loaded(before.model.model_copy(update={"layout": layout}), data, before.locator, ())
    names = [line.id for line in moved]
    (only,) = differences(before, after)
    assert str(only) == f"layout.lines.order {', '.join(names[::-1])} -> {', '.join(names)}"


def test_entries_come_and_go_with_all_they_hold() -> None:
    first, second = load(ROOT / "demo_jobs" / "wren_lot_7.yaml"), load(MENDED)
    forward = {c.field: c for c in differences(first, second)}
    back = {c.field: c for c in differences(second, first)}
    rail = forward["layout.guardrails[G-E]"]
    assert rail.before is None
    assert rail.values.startswith("added: id G-E; path (44 ft, 6 ft), (44 ft, 30 ft); level main; top 42 in;")
    assert "GR-5 with the engineer's letter of 2026-02-02" in rail.values
    assert back["layout.guardrails[G-E]"].values == rail.values.replace("added", "removed", 1)
    assert forward.keys() == back.keys()
    assert str(forward["layout.lines[L-E].workers"]) == "layout.lines[L-E].workers 2 -> 1"


def test_texts_stand_in_full(mended: Loaded[Job]) -> None:
    step = mended.model.rescue.steps[0]  # type: ignore[union-attr]
    longer = f"{step} " + "And then wait for the rescue lead. " * 20
    (line,) = differences(mended, _with_steps(mended, [longer, *mended.model.rescue.steps[1:]]))  # type: ignore[union-attr]
    assert str(line) == f'rescue.steps[0] "{step}" -> "{longer.strip()}"'


def test_a_step_put_between_moves_no_other(mended: Loaded[Job]) -> None:
    steps = list(mended.model.rescue.steps)  # type: ignore[union-attr]
    (line,) = differences(mended, _with_steps(mended, [steps[0], "Stop work and call.", *steps[1:]]))
    assert str(line) == 'rescue.steps[1] added: "Stop work and call."'
    (line,) = differences(mended, _with_steps(mended, steps[1:]))
    assert str(line) == f'rescue.steps[0] removed: "{steps[0]}"'


def _with_steps(job: Loaded[Job], steps: list[str]) -> Loaded[Job]:
    assert job.model.rescue is not None
    rescue = job.model.rescue.model_copy(update={"steps": [" ".join(step.split()) for step in steps]})
    data = job.data | {"rescue": job.data["rescue"] | {"steps": steps}}
    return Loaded(job.model.model_copy(update={"rescue": rescue}), data, job.locator, ())


def test_a_rated_value_names_its_value_and_its_source(mended: Loaded[Job]) -> None:
    assert changed(mended, ("value: 12200 lbf", "value: 54 kN")) == [
        "equipment.ropes[wire-38].breaking_strength 12200 lbf -> 54 kN"
    ]
    lines = changed(mended, ("Maker's sheet WR-3 rev A p. 2 (invented)", "Maker's sheet WR-3 rev B p. 2"))
    assert lines == [
        'equipment.ropes[wire-38].axial_stiffness.source "Maker\'s sheet WR-3 rev A p. 2 (invented)" -> '
        '"Maker\'s sheet WR-3 rev B p. 2"'
    ]


def test_an_optional_field_is_added_and_removed(mended: Loaded[Job]) -> None:
    assert changed(mended, ("  permit: EX-2026-0407\n", "")) == ["site.permit removed: EX-2026-0407"]
    back = differences(load_text(text_of(("  permit: EX-2026-0407\n", "")), "job"), mended)
    assert [str(c) for c in back] == ["site.permit added: EX-2026-0407"]


def test_a_default_is_named(mended: Loaded[Job]) -> None:
    lines = changed(
        mended, ("  permit: EX-2026-0407\n", "  permit: EX-2026-0407\n  construction: commercial\n")
    )
    assert lines == ["site.construction residential -> commercial"]


@pytest.mark.parametrize("name", ["heron_lot_14", "linnet_lot_3_trusses", "quartz_court_building_2"])
def test_whatever_differs_is_told_and_nothing_else(name: str, mended: Loaded[Job]) -> None:
    """Two unlike jobs: something is told exactly where the canonical form of a part differs."""
    other = load(ROOT / "demo_jobs" / f"{name}.yaml")
    assert canonical(other.model) != canonical(mended.model)
    told = {c.place[0].name for c in differences(mended, other)}
    differ = {
        field for field in Job.model_fields if getattr(mended.model, field) != getattr(other.model, field)
    }
    assert told == differ
    assert all(c.before != c.after for c in differences(mended, other))


def test_the_crew_reads_lines_tie_off_and_rescue_first(mended: Loaded[Job]) -> None:
    changes, page = comparison(mended, load_text(next_revision(("sag: 4 1/4 in", "sag: 3 in")), "job"))
    assert page[0] == (
        "From AF-2026-207 revision 1 (Lot 7, prepared 2026-11-24) to AF-2026-207 revision 2 "
        "(Lot 7, prepared 2026-11-26): 5 changes"
    )
    assert page[1].endswith("The hospital is farther by road.")
    assert page[3:9] == [
        "FOR THE CREW",
        "Lifelines:",
        "  line L-E, sag: 4 1/4 in -> 3 in",
        "Where to tie off: no change",
        "Rescue:",
        "  rescue, hospital, drive: 19 min -> 25 min",
    ]
    rest = page[page.index("THE REST") + 1 :]
    assert rest[0] == "  plan.revision 1 -> 2"
    assert len(rest) == len(changes) - 2


def test_no_change_is_one_line(mended: Loaded[Job]) -> None:
    changes, page = comparison(mended, mended)
    assert not changes
    assert page == [f"{page[0]}"]
    assert page[0].endswith("no changes")
