"""What came of a plan's checks, as the register keeps it: told again later without reckoning anew."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import asdict, dataclass


@dataclass(frozen=True, slots=True)
class Result:
    """The checks of one plan in figures, with what is short and who has something to confirm."""

    counts: dict[str, int]
    """How many checks came to each verdict, by its word."""
    short: tuple[str, ...]
    """What is short, accepted by a variance or not, in lines; alike items share one."""
    unaccepted: int
    """How many of them no variance accepts: with any, the job prints only as a draft."""
    confirms: dict[str, int]
    """How many items each role has to confirm, the most first."""
    pages: int
    """The pages of the PDF."""


def written(result: Result) -> str:
    """The result as the register's column holds it: JSON, the same text for the same result."""
    return json.dumps(asdict(result), ensure_ascii=True, separators=(",", ":"))


def read(text: str) -> Result | None:
    """The result from the register's column; None where it was entered before results were kept.

    Raises :class:`sqlite3.DatabaseError` for a text that no planforge wrote, as for any other damaged row.
    """
    if not text:
        return None
    try:
        data = json.loads(text)
        return Result(
            {str(word): int(number) for word, number in data["counts"].items()},
            tuple(str(line) for line in data["short"]),
            int(data["unaccepted"]),
            {str(role): int(number) for role, number in data["confirms"].items()},
            int(data["pages"]),
        )
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        raise sqlite3.DatabaseError(f"the result in a row can't be read: {error}") from error
