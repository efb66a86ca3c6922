"""The DXF library is loaded only where it is used, and leaves the user's home alone."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
HERON = ROOT / "demo_jobs" / "heron_lot_14.yaml"


def run(home: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    kept = {k: v for k, v in os.environ.items() if not k.startswith("XDG_")}
    environment = kept | {"HOME": str(home), "USERPROFILE": str(home)}
    return subprocess.run(
        [sys.executable, *arguments], capture_output=True, text=True, cwd=ROOT, env=environment, check=False
    )


def test_drawing_writes_nothing_into_the_home(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    target = tmp_path / "heron.dxf"
    done = run(home, "-m", "planforge", "draw", str(HERON), "--dxf", str(target))
    assert done.returncode == 0, done.stderr
    assert target.exists()
    assert list(home.rglob("*")) == []


def test_the_folders_of_the_user_are_put_back(tmp_path: Path) -> None:
    script = "import os; os.environ['XDG_CACHE_HOME'] = 'here'; import planforge.cad; "
    script += "print(os.environ['XDG_CACHE_HOME'], 'XDG_CONFIG_HOME' in os.environ)"
    assert run(tmp_path, "-c", script).stdout == "here False\n"


def test_other_commands_do_not_load_it(tmp_path: Path) -> None:
    script = (
        "import sys; from planforge import cli\n"
        f"try: cli.main(['check', {str(HERON)!r}, '--open'])\n"
        "except SystemExit: pass\n"
        "print('loaded' if 'ezdxf' in sys.modules else 'not loaded')"
    )
    assert run(tmp_path, "-c", script).stdout.endswith("not loaded\n")
