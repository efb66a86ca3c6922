"""A job's data, or a part of it, as YAML that reads back the same."""

from __future__ import annotations

import re
from typing import Any, Final

import yaml

_WIDTH: Final = 110
_UNFOLDED: Final = 1 << 30
# In quotes, such a text could come to stand on lines that look like fields, which the reader takes for a
# quote left open.
_LIKE_FIELDS: Final = re.compile(r"\n|:\s")
_NO_BLOCK: Final = re.compile(r"^\s|[ \t](?:\n|$)")


class _WrittenOut(getattr(yaml, "CSafeDumper", yaml.SafeDumper)):  # type: ignore[misc]
    """Writes every value out where it stands: a job file has no references to another place."""

    def ignore_aliases(self, data: object) -> bool:
        """Never refer."""
        return True


def _text(dumper: Any, text: str) -> Any:
    style = "|" if _LIKE_FIELDS.search(text) and not _NO_BLOCK.search(text) else None
    return dumper.represent_scalar("tag:yaml.org,2002:str", text, style=style)


_WrittenOut.add_representer(str, _text)


def yaml_text(data: dict[str, Any], *, short_on_one_line: bool = False) -> str:
    """Return ``data`` as YAML, its order kept; ``short_on_one_line`` writes small groups in brackets."""
    text: str = yaml.dump(
        data,
        Dumper=_WrittenOut,
        sort_keys=False,
        allow_unicode=True,
        width=_UNFOLDED if _unblocked(data) else _WIDTH,
        default_flow_style=None if short_on_one_line else False,
    )
    return text


def _unblocked(data: Any) -> bool:
    """True where a text must stand in quotes and may not be folded there."""
    if isinstance(data, dict):
        return any(_unblocked(value) for value in data.values())
    if isinstance(data, list):
        return any(_unblocked(value) for value in data)
    return isinstance(data, str) and bool(_LIKE_FIELDS.search(data) and _NO_BLOCK.search(data))
