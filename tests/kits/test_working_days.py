"""Working days counted one by one."""

from __future__ import annotations

from datetime import date, timedelta

from planforge.kits.working_days import WorkingDays

from .sites import WEEK, inventory

CLOSED = [date(2026, 12, 25), date(2027, 1, 1)]


def _days(origin: date) -> WorkingDays:
    rules = inventory().days.model_copy(update={"worked": WEEK, "closed": CLOSED})
    return WorkingDays(rules, origin)


def test_days_are_numbered_as_a_calendar_counted_by_hand_has_them() -> None:
    for origin in (date(2026, 12, 19), date(2026, 12, 21)):  # a Saturday, the Monday after
        days = _days(origin)
        day, number = date(2026, 12, 21), 0
        while day < date(2027, 1, 20):
            works = day.weekday() < 5 and day not in CLOSED
            assert days.works(day) == works
            assert days.at_or_after(day) == number
            assert days.at_or_before(day) == (number if works else number - 1)
            if works:
                assert days.date(number) == day
            number += works
            day += timedelta(1)


def test_days_before_the_origin_are_negative() -> None:
    days = _days(date(2026, 12, 21))
    assert days.at_or_after(date(2026, 12, 18)) == -1
    assert days.date(-1) == date(2026, 12, 18)
    assert days.at_or_before(date(2026, 12, 20)) == -1
    assert days.date(-6) == date(2026, 12, 11)
