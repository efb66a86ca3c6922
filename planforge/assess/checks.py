"""Every check planforge makes: its id, its title, what it asks, its source, who decides.

The ids are stable: programs that read ``planforge check --json`` rely on them. Findings print in this order.
"""

from __future__ import annotations

from planforge.assess.check import Check
from planforge.assess.checks_crew import CREW
from planforge.assess.checks_lines import LINES
from planforge.assess.checks_load_path import LOAD_PATH
from planforge.assess.checks_lot import LOT

CHECKS: dict[str, Check] = LOT | LINES | LOAD_PATH | CREW
