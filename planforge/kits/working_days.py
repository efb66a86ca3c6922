"""Working days numbered one after the other, so that leads and shifts are whole numbers."""

from __future__ import annotations

from datetime import date

import numpy as np

from planforge.kits.inventory import DayRules, Weekday

FAR = 10**6
"""A working day that never comes: the end of what is used up, or of what is never due."""

_WEEK: tuple[Weekday, ...] = (
    "Monday",
    "Tuesday",
    "Wednesday",
    "Thursday",
    "Friday",
    "Saturday",
    "Sunday",
)


class WorkingDays:
    """The working days of a site. Day 0 is the first one at or after ``origin``; days before are negative."""

    def __init__(self, rules: DayRules, origin: date) -> None:
        """Take the days of the week that are worked, and those on which the site is closed."""
        self._calendar = np.busdaycalendar(
            weekmask=[day in rules.worked for day in _WEEK],
            holidays=np.array(rules.closed, dtype="datetime64[D]"),
        )
        self._origin = np.datetime64(origin)

    def works(self, day: date) -> bool:
        """Whether work is done on a day."""
        return bool(np.is_busday(np.datetime64(day), busdaycal=self._calendar))

    def at_or_after(self, day: date) -> int:
        """The number of the first working day that is not before a day."""
        if np.datetime64(day) >= self._origin:
            return int(np.busday_count(self._origin, np.datetime64(day), busdaycal=self._calendar))
        return -int(np.busday_count(np.datetime64(day), self._origin, busdaycal=self._calendar))

    def at_or_before(self, day: date) -> int:
        """The number of the last working day that is not after a day."""
        return self.at_or_after(day) - (not self.works(day))

    def date(self, number: int) -> date:
        """The date of a working day."""
        start = np.busday_offset(self._origin, 0, roll="forward", busdaycal=self._calendar)
        found: date = np.busday_offset(start, number, busdaycal=self._calendar).astype(object)
        return found


def weekday(day: date) -> Weekday:
    """The name of a date's day of the week."""
    return _WEEK[day.weekday()]
