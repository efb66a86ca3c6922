"""The time that several steps have together."""

from __future__ import annotations

import time

from planforge.proposal.cover import OutOfTimeError


class Clock:
    """The time that is left, from when it is made."""

    def __init__(self, time_limit: float | None) -> None:
        """Take the seconds for all; None for as long as it takes."""
        self.end = None if time_limit is None else time.monotonic() + time_limit

    @property
    def left(self) -> float | None:
        """Seconds.

        Raises:
            OutOfTimeError: none is left.
        """
        if self.end is None:
            return None
        left = self.end - time.monotonic()
        if left <= 0.0:
            raise OutOfTimeError("The time ran out between two steps of the work.")
        return left

    def check(self, doing: str) -> None:
        """Stop where no time is left.

        Raises:
            OutOfTimeError: none is left; the message says what was being done.
        """
        if self.end is not None and time.monotonic() >= self.end:
            raise OutOfTimeError(f"The time ran out while {doing}.")


NO_LIMIT = Clock(None)
"""As long as it takes."""
