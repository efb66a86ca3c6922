"""The way through the house: a floor imports only floors before it, and no import hides in a function."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "planforge"
FLOORS = [
    "errors",
    "units",
    "memo",
    "collector",
    "languages",
    "codes",
    "job",
    "calc",
    "assess",
    "proposal",
    "cad",
    "kits",
    "figures",
    "document",
    "register",
    "site",
    "cli",
]
MODULES = sorted(p for p in PACKAGE.rglob("*.py") if p.parent != PACKAGE or p.stem in FLOORS)


def _floor(path: Path) -> str:
    relative = path.relative_to(PACKAGE)
    return relative.parts[0].removesuffix(".py")


def _imports(path: Path) -> list[tuple[str, ast.AST]]:
    tree = ast.parse(path.read_text("utf-8"))
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module:
            found.append((node.module, node))
        elif isinstance(node, ast.Import):
            found += [(alias.name, node) for alias in node.names]
    return found


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_a_floor_imports_only_floors_before_it(path: Path) -> None:
    own = FLOORS.index(_floor(path))
    for name, _ in _imports(path):
        if name.startswith("planforge."):
            target = name.split(".")[1]
            assert FLOORS.index(target) <= own, f"{path.name} imports {name}"


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_imports_stand_at_the_top(path: Path) -> None:
    tree = ast.parse(path.read_text("utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            assert not any(isinstance(n, ast.Import | ast.ImportFrom) for n in ast.walk(node)), node.name


@pytest.mark.parametrize(
    "path", [p for p in MODULES if _floor(p) == "calc"], ids=lambda p: p.relative_to(PACKAGE).as_posix()
)
def test_calculation_does_no_input_or_output(path: Path) -> None:
    for name, _ in _imports(path):
        assert name.split(".")[0] not in {
            "os",
            "sys",
            "io",
            "pathlib",
            "json",
            "yaml",
            "pydantic",
            "reportlab",
        }


def test_no_pyplot_anywhere() -> None:
    for path in MODULES:
        assert all("pyplot" not in name for name, _ in _imports(path)), path
