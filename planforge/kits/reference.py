"""The JSON Schema of an inventory file, for editors."""

from __future__ import annotations

from planforge.job.json_schema import DIALECT, Schema, group_schema
from planforge.kits.inventory import Inventory


def kits_schema() -> Schema:
    """Return the JSON Schema (2020-12) of an inventory file."""
    groups: dict[str, Schema] = {}
    root = group_schema(Inventory, "inventory of kits", groups)
    return {"$schema": DIALECT, **root, "$defs": dict(sorted(groups.items()))}
