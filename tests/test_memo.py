"""Answers kept by content: exact questions, answers that can't be changed, a bounded room."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

from planforge.memo import answers_with, forget_everything, question_of, remembered


@dataclass(frozen=True, slots=True)
class Pair:
    one: float
    other: NDArray[np.float64]


@dataclass
class Open:
    value: float


def test_what_was_asked_before_is_not_worked_out_again() -> None:
    asked: list[float] = []

    @remembered()
    def twice(pair: Pair, *, plus: float = 0.0) -> Pair:
        asked.append(pair.one)
        return Pair(2.0 * pair.one + plus, 2.0 * pair.other)

    first = twice(Pair(1.0, np.array([3.0])), plus=0.5)
    again = twice(Pair(1.0, np.array([3.0])), plus=0.5)
    assert asked == [1.0]
    assert again is first
    assert (first.one, first.other.tolist()) == (2.5, [6.0])
    assert twice.__name__ == "twice"
    forget_everything()
    assert len(twice) == twice.held == 0
    twice(Pair(1.0, np.array([3.0])), plus=0.5)
    assert asked == [1.0, 1.0]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (0.0, -0.0),
        (1.0, 1),
        (1, True),
        (1.0, np.nextafter(1.0, 2.0)),
        (1.0, np.float64(1.0)),
        ("1", 1),
        (None, "None"),
        ((1.0, 2.0), [1.0, 2.0]),
        (((1.0,), 2.0), (1.0, (2.0,))),
        (("ab", "c"), ("a", "bc")),
        (np.array([0.0]), np.array([-0.0])),
        (np.array([1.0]), np.array([1])),
        (np.ones((2, 3)), np.ones((3, 2))),
        (np.ones((2, 3)), np.asfortranarray(np.ones((2, 3)))),
        (np.arange(6.0)[::2], np.arange(6.0)[::2].copy()),
        (Pair(1.0, np.ones(1)), Pair(1.0, np.ones(2))),
        (Pair(1.0, np.ones(1)), (1.0, np.ones(1))),
    ],
)
def test_questions_that_differ_in_anything_are_two(one: object, other: object) -> None:
    assert question_of(one) == question_of(one)
    assert question_of(one) != question_of(other)


def test_an_answer_can_not_be_changed_through_itself_or_through_what_was_asked() -> None:
    @remembered()
    def passed_on(values: NDArray[np.float64]) -> tuple[Pair, NDArray[np.float64]]:
        return Pair(1.0, values), values[::2]

    mine = np.arange(4.0)
    pair, half = passed_on(mine)
    for array in (pair.other, half):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 9.0
    mine[:] = 9.0
    pair, half = passed_on(np.arange(4.0))
    assert pair.other.tolist() == [0.0, 1.0, 2.0, 3.0]
    assert half.tolist() == [0.0, 2.0]


@pytest.mark.parametrize("answer", [[1.0], {"a": 1.0}, Open(1.0), np.array([None]), object()])
def test_an_answer_that_its_user_could_change_is_refused(answer: object) -> None:
    @remembered()
    def given() -> object:
        return answer

    with pytest.raises(TypeError, match="can't answer with"):
        given()
    assert len(given) == 0


def test_a_question_of_unknown_content_is_refused() -> None:
    with pytest.raises(TypeError, match="can't be asked about a object"):
        question_of((1.0, object()))


def test_errors_are_raised_anew() -> None:
    asked: list[float] = []

    @remembered()
    def refuses(value: float) -> float:
        asked.append(value)
        raise ArithmeticError(f"{value} has no answer")

    for _ in range(2):
        with pytest.raises(ArithmeticError, match=r"^1\.0 has no answer$"):
            refuses(1.0)
    assert asked == [1.0, 1.0]


def test_the_room_is_bounded_and_what_was_not_used_longest_goes_first() -> None:
    asked: list[int] = []

    @remembered(room=10_000)
    def filled(count: int) -> NDArray[np.float64]:
        asked.append(count)
        return np.full(250, float(count))  # 2,000 bytes beside the 1,024 for each answer

    for count in (1, 2, 3, 1, 4):
        filled(count)
        assert filled.held <= 10_000
    assert (len(filled), filled.held) == (3, 9072)
    filled(1)
    assert asked == [1, 2, 3, 4]
    assert filled(2).tolist() == [2.0] * 250
    assert asked == [1, 2, 3, 4, 2]
    for count in range(200):
        filled(count)
    assert (len(filled), filled.held) == (3, 9072)


def test_an_answer_larger_than_the_room_is_given_and_not_kept() -> None:
    @remembered(room=5_000)
    def filled(count: int) -> NDArray[np.float64]:
        return np.full(count, 1.0)

    filled(100)
    assert filled(10_000).shape == (10_000,)
    assert (len(filled), filled.held) == (0, 0)


def test_other_kinds_count_with_their_size() -> None:
    class Area:
        """Stands for what nobody can change."""

    answers_with(Area, lambda _: 500)

    @remembered()
    def area() -> tuple[Area, str]:
        return Area(), "four"

    assert area() is area()
    assert area.held == 1024 + 500 + 4
