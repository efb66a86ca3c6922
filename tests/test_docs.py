"""The guides against the code: commands, floors, files and demos that they name exist."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from planforge import cli
from planforge.assess.checks import CHECKS

from .test_floors import FLOORS

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text("utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")
COMMANDS = [c.name or c.callback.__name__ for c in cli.app.registered_commands if c.callback]


def _between(mark: str) -> list[str]:
    block = README.split(f"<!-- {mark} -->")[1].split("<!-- end -->")[0]
    return [line for line in block.splitlines() if line and not line.startswith("```")]


def test_readme_has_two_commands_of_one_line() -> None:
    assert _between("issue command") == [
        "python3 -m venv .venv && .venv/bin/pip install -q -e . "
        "&& .venv/bin/planforge issue demo_jobs/heron_lot_14.yaml --date 2026-11-30"
    ]
    assert _between("test command") == [
        "python3 -m venv .venv && .venv/bin/pip install -q -e '.[dev]' && .venv/bin/pytest"
    ]


def test_ci_runs_the_readme_s_test_command() -> None:
    script = (ROOT / ".ci" / "run").read_text("utf-8")
    assert "/<!-- test command -->/,/<!-- end -->/p' README.md" in script
    assert "rm -rf .venv" in script


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_in_the_readme(command: str) -> None:
    assert f"planforge {command}" in README


def test_every_file_the_guides_name_exists() -> None:
    named = set(re.findall(r"\]\(([^)]+)\)", README + DEVELOPERS))
    named |= set(re.findall(r"`((?:tests|demo_jobs|templates)/[\w./]+\.\w+)`", README + DEVELOPERS))
    assert named
    for name in named:
        assert (ROOT / name).exists(), name


@pytest.mark.parametrize(
    "demo", sorted(p.stem for p in (ROOT / "demo_jobs").glob("*.yaml") if "lot" in p.stem)
)
def test_every_demo_lot_is_in_the_readme(demo: str) -> None:
    assert demo in README


def test_the_contributor_guide_lists_the_floors_in_order() -> None:
    places = [DEVELOPERS.index(f"\n{floor}") for floor in FLOORS if floor not in ("errors", "units")]
    assert places == sorted(places)


def test_the_readme_opens_with_the_job() -> None:
    first = README.split("\n\n")[1]
    assert first.startswith("planforge turns one job file into a printable, dated, signable, site-specific")


@pytest.mark.parametrize("check", CHECKS.values(), ids=CHECKS)
def test_every_check_says_what_it_asks(check: object) -> None:
    title, asks = check.title, check.asks  # type: ignore[attr-defined]
    assert title
    assert asks.endswith(".")


def test_nothing_is_called_safe() -> None:
    """Values, limits, sources and deciders are printed; the word is not."""
    for folder, pattern in (("planforge", "*.py"), ("templates", "*.md"), ("templates", "*.yaml")):
        for path in (ROOT / folder).rglob(pattern):
            for number, line in enumerate(path.read_text("utf-8").splitlines(), 1):
                words = re.findall(r"\bsafe\b", line, re.IGNORECASE)
                assert not words or "safe_" in line or "|safe" in line, (
                    f"{path.name}:{number}: {line.strip()}"
                )
