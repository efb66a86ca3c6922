"""The commands that sign and verify, with the extra and without it."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import pytest

from planforge import cli
from planforge.register.signing import sign
from tests.command import run

from .certificates import PASSPHRASE, holder
from .conftest import Shelf


def test_commands(plan: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    person = holder("Aspen Dunlin")
    own, secret = person.p12(tmp_path), tmp_path / "secret"
    secret.write_text(PASSPHRASE + "\n", "utf-8")
    words = ("sign", str(plan), "--role", "Competent person", "--certificate", str(own))
    code, _, err = run(capsys, *words)
    assert code == cli.BAD_INPUT
    assert "no terminal to ask for the passphrase on; give --passphrase-file" in err
    code, out, _ = run(capsys, *words, "--passphrase-file", str(secret))
    assert code == 0
    assert "signed by Aspen Dunlin as 'Competent person', page 1" in out
    code, told, _ = run(capsys, "verify", str(plan))
    assert code == 0
    assert "GENUINE AND CURRENT" in told
    assert "signature of Aspen Dunlin as 'Competent person'" in told
    assert run(capsys, "verify", str(plan), "--trust", str(person.pem(tmp_path)))[0] == 0
    assert run(capsys, "verify", str(plan), "--trust", str(holder("A. Other").pem(tmp_path)))[0] == cli.SHORT


def test_a_plan_that_no_register_knows_is_signed_with_a_note(
    plan: Path, own: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    elsewhere = tmp_path / "elsewhere" / "plan.pdf"
    elsewhere.parent.mkdir()
    shutil.copy(plan, elsewhere)
    secret = tmp_path / "secret"
    secret.write_text(PASSPHRASE, "utf-8")
    words = ("--role", "Competent person", "--certificate", str(own), "--passphrase-file", str(secret))
    code, out, _ = run(
        capsys, "sign", str(elsewhere), *words, "--register", str(elsewhere.parent / "none.sqlite")
    )
    assert code == 0
    assert "note: no register here knows this plan" in out


def test_without_the_extra(
    plan: Path, own: Path, shelf: Shelf, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    sign(plan, "Competent person", own, PASSPHRASE, shelf.register)
    for name in [
        n
        for n in sys.modules
        if n.split(".")[0] == "pyhanko" or n.endswith(("register.signing", "register.signature_checks"))
    ]:
        monkeypatch.delitem(sys.modules, name)
    for name in ("pyhanko", "pyhanko.keys", "pyhanko.pdf_utils", "pyhanko.pdf_utils.content"):
        monkeypatch.setitem(sys.modules, name, None)
    code, _, err = run(capsys, "sign", str(plan), "--role", "Erection lead", "--certificate", str(own))
    assert code == cli.BAD_INPUT
    assert "needs planforge's extra 'sign': pip install 'planforge[sign]'" in err
    code, told, _ = run(capsys, "verify", str(plan))
    assert code == 0
    assert "1 signature(s)" in told
    assert "whether they hold, was not checked" in told
    assert run(capsys, "verify", str(plan), "--trust", str(own))[0] == cli.BAD_INPUT
