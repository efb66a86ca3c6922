"""The command line run inside a test's own process."""

from __future__ import annotations

import pytest

from planforge import cli


def run(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    """Run a command; exit code, standard output, standard error. It never prints a traceback."""
    with pytest.raises(SystemExit) as stopped:
        cli.main([str(each) for each in arguments])
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    code = stopped.value.code
    return (code if isinstance(code, int) else 0), out, err
