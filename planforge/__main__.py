"""``python -m planforge``."""

from planforge.cli import main

main()
