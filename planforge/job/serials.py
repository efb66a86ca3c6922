"""Serial numbers as people write them: one, several, or a range."""

from __future__ import annotations

import re

MOST = 2000
"""The most serials that one range stands for; a longer one is a slip and stays as written."""

_BETWEEN = re.compile(r"\s*(?:,|;|\band\b)\s*")
_ONE = re.compile(r"(?:[A-Za-z.]+\s)?[^\s\u2013\u2026]*\d[^\s\u2013\u2026]*")
"""One mark with a number in it, a word before it at most; a dash or dots may stand for several."""
_RANGE = re.compile(r"^(?P<prefix>.*?)(?P<first>\d+)\s+to\s+(?P=prefix)(?P<last>\d+)$")


def serials(text: str) -> tuple[str, ...]:
    """The serial numbers that a text names, in its order.

    ``PM-041 to PM-043`` is three; ``SL-11 and SL-12`` and ``SL-11, SL-12`` are two. A range whose ends
    don't differ by their last digits alone stays one mark, as written.
    """
    return tuple(one for part in _BETWEEN.split(text.strip()) if part for one in _range(part))


def counted(text: str) -> tuple[str, ...] | None:
    """The serial numbers that a text names; None where they can't be counted, as in ``all of them``."""
    named = serials(text)
    return named if named and all(_ONE.fullmatch(one) for one in named) else None


def _range(text: str) -> tuple[str, ...]:
    match = _RANGE.match(text)
    if match is None:
        return (text,)
    first, last = match["first"], match["last"]
    low, high = int(first), int(last)
    if high < low or high - low >= MOST or (len(first) != len(last) and first.startswith("0")):
        return (text,)
    return tuple(f"{match['prefix']}{number:0{len(first)}d}" for number in range(low, high + 1))


def in_words(names: tuple[str, ...]) -> str:
    """Serials as short as they can be named: ``PM-041 to PM-043, PM-051``."""
    runs: list[list[str]] = []
    for name in names:
        if runs and serials(f"{runs[-1][0]} to {name}") == (*runs[-1], name):
            runs[-1].append(name)
        else:
            runs.append([name])
    return ", ".join(
        run[0] if len(run) == 1 else f"{run[0]} and {run[1]}" if len(run) == 2 else f"{run[0]} to {run[-1]}"
        for run in runs
    )
