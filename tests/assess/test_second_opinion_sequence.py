"""Falls one after another by both methods, and what the line's ends are checked against."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planforge.assess.lines import LineResult, governing_loads
from planforge.assess.second_opinion import SecondOpinion
from planforge.assess.stances import first_greatest

from .jobs import DEMOS, Changes, assessed, assessed_demo


def line(changes: Changes | None = None, line_id: str = "L-1") -> tuple[LineResult, SecondOpinion]:
    result = next(r for r in assessed(changes).lines if r.id == line_id)
    assert result.second is not None
    return result, result.second


def test_sequence_only_where_several_may_fall() -> None:
    assert line()[1].sequence is not None
    lone = line({"layout.lines.L-1.workers": 1})[1]
    assert lone.sequence is None
    assert lone.in_sequence == ()


def test_last_worker_alone_falls_in_time_too() -> None:
    """This test ensures that the time history is given the balance's own sequence, not all at once."""
    second = line()[1]
    for opinion in second.sequences:
        assert opinion.run.rig.count == 2
        assert opinion.balance in opinion.run.strong_sequences
        # one worker of two: the tension stays well below that of both together, by either method
        assert opinion.history_tension < 0.9 * float(second.strong.tension_max)
        assert opinion.tension_ratio == pytest.approx(opinion.history_tension / opinion.balance_tension)
        assert abs(opinion.drop_difference) < 0.15
        # what the first fall pulled out of the line absorber stays out
        before = float(opinion.balance.first.line_absorber_extension)
        assert float(opinion.history.line_absorber_extension) >= before


def test_spent_line_absorber_is_spent_for_the_second_fall() -> None:
    """This test ensures that what the first fall pulled out reaches the second one's run in time."""
    second = line({"equipment.line_absorbers.absorber.stroke.value": "0.1 in"})[1]
    assert second.sequence is not None
    stroke = 0.1 * 0.0254
    assert float(second.sequence.balance.first.line_absorber_extension) == pytest.approx(stroke)
    assert float(second.sequence.history.line_absorber_extension) == pytest.approx(stroke)


@pytest.mark.parametrize("name", DEMOS)
def test_loads_are_the_greatest_of_all_falls(name: str) -> None:
    for result in assessed_demo(name).lines:
        second, loads = result.second, result.loads
        if second is None or loads is None:
            continue
        histories = [*second.together, *second.in_sequence]
        tensions = [float(h.tension_max) for h in histories] + [r.tension for r in result.runs]
        assert loads.tension == max(tensions)
        assert loads.start == max(
            [float(h.tension_left) for h in histories] + [r.end_load[0] for r in result.runs]
        )
        assert loads.end == max(
            [float(h.tension_right) for h in histories] + [r.end_load[1] for r in result.runs]
        )


def test_sequence_governs_where_it_pulls_hardest() -> None:
    result, second = line()
    assert second.sequence is not None
    hard = replace(
        second.sequence.history,
        tension_max=np.array(50e3),
        tension_left=np.array(49e3),
        tension_right=np.array(1e3),
    )
    loads = governing_loads(
        result.runs, replace(second, sequences=(replace(second.sequence, history=hard), *second.sequences))
    )
    assert (loads.by, loads.tension, loads.start) == ("time history, one after another", 50e3, 49e3)
    assert result.loads is not None
    assert loads.end == result.loads.end


def test_both_ends_of_a_line_that_is_its_own_mirror_image_carry_alike() -> None:
    """This test ensures that neither end is let off because the governing place lies nearer the other."""
    result = next(r for r in assessed_demo("heron_lot_14").lines if r.id == "L-E")
    assert result.loads is not None
    assert result.parts.rise == 0.0
    assert result.loads.start == pytest.approx(result.loads.end, rel=1e-6)


def test_rounding_does_not_choose_the_place() -> None:
    assert first_greatest(np.array([1.0, 7.0, 3.0, 7.0 * (1 + 1e-13)])) == 1
    assert first_greatest(np.array([1.0, 7.0, 3.0, 7.0 * (1 + 1e-8)])) == 3
    assert first_greatest(np.array([-2.0, -1.0])) == 1
