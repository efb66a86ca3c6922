"""Print the comparisons with outside sources as one page: VALIDATION.md, next to this file.

Run ``python tests/validation/page.py`` to write it, with ``--check`` to learn whether it is stale
(exit code 1): same rows, and every number within 1 percent or 1e-4, since the last digits of a
comparison differ between machines.
"""

from __future__ import annotations

import importlib
import re
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
PAGE = HERE / "VALIDATION.md"
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[+-]?\d+)?")

_HEAD = """# Validation

Every comparison of the calculations with a source outside them, made by the tests of this folder.
A difference within the tolerance passes; a greater one fails the build. Sources are described, with
what was and was not seen of them, at the top of each test file. Written by `tests/validation/page.py`;
do not edit.
"""


def _modules() -> list[str]:
    return sorted(path.stem for path in HERE.glob("test_*.py"))


def _rows(name: str) -> list[str]:
    sys.path.insert(0, str(HERE.parent))
    module = importlib.import_module(f"validation.{name}")
    rows = []
    for case in getattr(module, "CASES", []):
        tolerance = f"{case.tolerance:g} {case.unit}" if case.absolute else f"{100.0 * case.tolerance:g} %"
        ours = case.ours()
        found = f"{ours:.4f}" if case.absolute and case.published == 0.0 else f"{ours:.7g}"
        rows.append(
            f"| {case.source} | {case.case} | {case.published:.8g} {case.unit} | {found} {case.unit} "
            f"| {tolerance} | {case.why} |"
        )
    return rows


def render() -> str:
    """The page's text, computed afresh."""
    parts = [_HEAD]
    for name in _modules():
        rows = _rows(name)
        if rows:
            parts.append(f"## {name}.py\n")
            parts.append("| source | case | published or expected | ours | tolerance | why |")
            parts.append("|---|---|---|---|---|---|")
            parts.extend(rows)
            parts.append("")
    return "\n".join(parts)


def is_fresh(text: str) -> bool:
    """Whether the page on disk says the same as ``text``."""
    if not PAGE.exists():
        return False
    old = PAGE.read_text(encoding="utf-8")
    if _NUMBER.sub("#", old) != _NUMBER.sub("#", text):
        return False
    pairs = zip(_NUMBER.findall(old), _NUMBER.findall(text), strict=True)
    return all(abs(float(a) - float(b)) <= max(1e-4, 0.01 * abs(float(a))) for a, b in pairs)


def main(arguments: list[str]) -> int:
    text = render()
    if "--check" in arguments:
        if is_fresh(text):
            return 0
        print(f"{PAGE.name} is stale; run: python tests/validation/page.py", file=sys.stderr)
        return 1
    PAGE.write_text(text, encoding="utf-8", newline="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
