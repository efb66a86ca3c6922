"""What the measurements share: their options, the table they print, and the page they keep of it."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path


def options(description: str | None, **counts: int) -> argparse.Namespace:
    """The options given: ``record``, and a whole number under each name of ``counts`` with its default."""
    parser = argparse.ArgumentParser(description=description)
    for name, usual in counts.items():
        parser.add_argument(f"--{name}", type=int, default=usual)
    parser.add_argument("--record", action="store_true")
    return parser.parse_args()


def tell(rows: Sequence[str], head: str, page: Path | None) -> None:
    """Print a table's rows, and write them to a page under its head where one is to be kept."""
    print("\n".join(rows))
    if page is not None:
        page.write_text(f"{head}\n\n" + "\n".join(rows) + "\n", "utf-8")
