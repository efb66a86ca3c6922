"""``python -m planforge``, and the installed command: a keyboard stop is quiet even while loading."""

from __future__ import annotations

import os
import sys
from importlib import import_module


def main() -> None:
    """Load the command line and run it."""
    # The matrices are small: threads for them cost more than they save. numpy reads this when it is loaded.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # Nothing but planforge's own models reads a job; looking for plugins costs more than reading one.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    try:
        run = import_module("planforge.cli").main
    except KeyboardInterrupt:
        print("Stopped. Nothing was half-written.", file=sys.stderr)
        sys.exit(130)
    run()


if __name__ == "__main__":
    main()
