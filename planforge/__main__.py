"""``python -m planforge``, and the installed command: a keyboard stop is quiet even while loading."""

from __future__ import annotations

import sys
from importlib import import_module


def main() -> None:
    """Load the command line and run it."""
    try:
        run = import_module("planforge.cli").main
    except KeyboardInterrupt:
        print("Stopped. Nothing was half-written.", file=sys.stderr)
        sys.exit(130)
    run()


if __name__ == "__main__":
    main()
