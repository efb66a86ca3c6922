"""Writing the file whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from planforge.document.finish import write_whole
from planforge.errors import RefusedError


def test_writes_and_replaces(tmp_path: Path) -> None:
    target = tmp_path / "plan.pdf"
    write_whole(target, b"one")
    write_whole(target, b"two")
    assert target.read_bytes() == b"two"
    assert list(tmp_path.iterdir()) == [target]


def test_a_missing_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RefusedError, match="is not a folder; make it first"):
        write_whole(tmp_path / "absent" / "plan.pdf", b"x")


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_failure_leaves_the_old_file_and_no_remains(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    """As a full disk or a locked target would fail."""
    target = tmp_path / "plan.pdf"
    target.write_bytes(b"old")

    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    if step == "fsync":
        monkeypatch.setattr(os, "fsync", fail)
    else:
        monkeypatch.setattr(Path, "replace", fail)
    with pytest.raises(RefusedError, match=r"No space left on device\. Nothing was changed"):
        write_whole(target, b"new")
    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_a_folder_in_the_targets_place_is_refused(tmp_path: Path) -> None:
    (tmp_path / "plan.pdf").mkdir()
    with pytest.raises(RefusedError, match="can't be written"):
        write_whole(tmp_path / "plan.pdf", b"x")
    assert [path.name for path in tmp_path.iterdir()] == ["plan.pdf"]
