"""Job files that build upon each other in every wrong way: read to the end, or refused in proper words."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planforge.errors import JobFileError
from planforge.job.extends import MAX_FILES
from planforge.job.loading import load

from .examples import few
from .mutations import DEMOS
from .test_reader import read

posix = pytest.mark.skipif(os.name != "posix", reason="Windows has other odd files")

_NAMES = ("a.yaml", "b.yaml", "c.yaml", "sub/d.yaml", "sub/e.yaml")
_ODD_PATHS = (
    "",
    ".",
    "..",
    "/",
    "//host/share/x.yaml",
    "\\\\host\\share\\x.yaml",
    "/etc/passwd",
    "C:/x.yaml",
    "C:x.yaml",
    "http://example.invalid/x.yaml",
    "file:///etc/passwd",
    "~/x.yaml",
    "$HOME/x.yaml",
    "a.yaml\0",
    "a.yaml ",
    " a.yaml",
    "A.YAML",
    "sub/../a.yaml",
    "./././a.yaml",
    "sub//d.yaml",
    "a.yaml/",
    "a.yaml/x",
    "x" * 300,
    "x/" * 3000,
    "../" * 200 + "etc/passwd",
    "../" * 40 + "dev/zero",
    "../" * 40 + "dev/stdin",
    "../" * 40 + "dev/tty",
    "../" * 40 + "proc/self/mem",
    "fifo",
    "round",
    "dangling",
    "CON",
    "NUL.yaml",
    "a.yaml:stream",
    "\x1b[2J.yaml",
    "\ud800.yaml",
    "a\nb.yaml",
    "屋根.yaml",
    "absent.yaml",
)
_PATHS = st.one_of(st.sampled_from([*_NAMES, *(f"../{n}" for n in _NAMES)]), st.sampled_from(_ODD_PATHS))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with files that can't be read as job files, and the demos."""
    made = tmp_path_factory.mktemp("chains") / "lots"
    shutil.copytree(DEMOS, made)
    (made / "sub").mkdir()
    (made / "dangling").symlink_to("absent")
    (made / "round").symlink_to("round")
    if hasattr(os, "mkfifo"):
        os.mkfifo(made / "fifo")
    return made


def _stated(paths: list[str]) -> str:
    quoted = ", ".join('"' + path.encode("unicode_escape").decode().replace('"', "") + '"' for path in paths)
    return f"extends: [{quoted}]\n"


def _house(design: str) -> str:
    return f"house: {{at: [0, 0], design: {_stated([design])[10:-2]}}}\n"


@few(60)
@given(
    st.fixed_dictionaries({name: st.lists(_PATHS, max_size=4) for name in _NAMES}),
    st.one_of(st.none(), _PATHS),
    st.sampled_from(["wren_lot_7.yaml", "company_alder.yaml", "a.yaml"]),
)
def test_any_web_of_files(folder: Path, web: dict[str, list[str]], design: str | None, base: str) -> None:
    for name, paths in web.items():
        (folder / name).write_text(_stated(paths) + "notes: x\n", "utf-8")
    house = "" if design is None else _house(design)
    assert read(folder / "lot.yaml", (_stated([base, *web["a.yaml"]]) + house).encode()) is None


@pytest.mark.parametrize("path", _ODD_PATHS)
def test_each_odd_path_is_refused(folder: Path, path: str) -> None:
    """By ``extends`` and as a design alike; the other faults of the file are told as well."""
    for name in _NAMES:
        (folder / name).write_text("notes: x\n")
    for text in (_stated([path]), _house(path)):
        data = (text + "formatt: planforge job 1\n").encode()
        assert read(folder / "lot.yaml", data) is None
        with pytest.raises(JobFileError) as caught:
            load(folder / "lot.yaml")
        places = {problem.field for problem in caught.value.problems}
        assert places & {
            "formatt",
            "",
        }  # a fault of the YAML itself has no field, and may be the last that is read
        assert places & {"extends", "house.design", "", "notes"}


@posix
def test_a_link_to_itself_and_to_the_lot(folder: Path) -> None:
    """A loop is one by whatever name a file of it is called."""
    lot = folder / "looped.yaml"
    (folder / "other_name.yaml").symlink_to("looped.yaml")
    lot.write_text("extends: other_name.yaml\n")
    with pytest.raises(JobFileError, match=r"comes back to itself \(.*looped\.yaml -> .*other_name\.yaml\)"):
        load(lot)


def test_many_files_stop_at_the_bound(folder: Path) -> None:
    """Doubling at each step, the files would be read a million times; each is read once, and few of them."""
    for number in range(40):
        nexts = [f"m{number + 1}.yaml", f"./m{number + 1}.yaml", f"m{number + 2}.yaml"]
        (folder / f"m{number}.yaml").write_text(_stated(nexts))
    with pytest.raises(JobFileError) as caught:
        load(folder / "m0.yaml")
    assert "more than 8 files above another" in str(caught.value)
    wide = [f"m{number}.yaml" for number in range(20, 40)]
    assert read(folder / "lot.yaml", _stated(wide).encode()) is None
    with pytest.raises(JobFileError, match=rf"beyond {MAX_FILES} files"):
        load(folder / "lot.yaml")
