"""What the commands make of a site file."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from planforge import cli
from planforge.site.reading import read_site

from ..command import run
from .sites import HEAD, SOUND, put

SHORT_LOT = Path(__file__).parents[1] / "assess" / "small_lot.yaml"


def site(folder: Path, *lots: str) -> Path:
    put(folder, site_yaml=HEAD + "lots:\n" + "".join(f"  - {lot}\n" for lot in lots), sound_yaml=SOUND)
    (folder / "small.yaml").write_bytes(SHORT_LOT.read_bytes())
    return folder / "site.yaml"


def test_check_tells_of_each_lot_and_of_those_that_cant_be_read(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = site(
        tmp_path,
        "{id: a, job: no.yaml}",
        "{id: b, job: sound.yaml}",
        "{id: c, extends: sound.yaml}",
    )
    code, out, err = run(capsys, "check", path)
    lines = out.splitlines()
    assert (code, err) == (cli.BAD_INPUT, "")
    assert lines[0] == "a: can't be read: 1 problem(s)"
    assert lines[1].startswith(f'  {path}:4: job: found "no.yaml", which does not exist')
    assert lines[2].startswith("b: P-1 revision 1, Lot 1: ")
    shorts = int(lines[2].split(": ")[2].split()[0])
    below = [line for line in lines if line.startswith("  short")]
    assert shorts >= len(below) > 5  # alike ones share a line
    assert lines[3 + len(below)].startswith("c: can't be read: ")
    assert lines[-1] == "Example Row: 3 lot(s): 0 nothing short, 1 short, 2 can't be read."


def test_check_ends_with_one_where_a_lot_is_short(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "check", site(tmp_path, "{id: b, job: sound.yaml}"))
    assert code == cli.SHORT
    assert out.endswith("Example Row: 1 lot(s): 0 nothing short, 1 short, 0 can't be read.\n")


def test_a_fault_in_a_shared_file_prints_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lots = [f"{{id: {name}, extends: shared.yaml, plan: {{number: {name}}}}}" for name in ("a", "b")]
    put(tmp_path, shared_yaml=SOUND.replace("start: P1", "start: P9"))
    code, out, _ = run(capsys, "check", site(tmp_path, *lots))
    lines = out.splitlines()
    second = next(n for n, line in enumerate(lines) if line.startswith("b: can't be read: "))
    assert code == cli.BAD_INPUT
    assert out.count("shared.yaml:3: plan: found a field of one lot") == 1
    assert [line for line in lines[second + 1 : -1] if "shared.yaml" in line] == []
    assert any(line.endswith(" printed above with a") for line in lines[second + 1 :])


def test_check_for_programs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = site(tmp_path, "{id: a, job: no.yaml}", "{id: b, job: sound.yaml}")
    code, out, _ = run(capsys, "check", path, "--json")
    first, second = json.loads(out)["lots"]
    assert code == cli.BAD_INPUT
    assert (first["id"], first["line"], len(first["problems"])) == ("a", 4, 1)
    assert second["counts"]["short"] == sum(row["verdict"] == "short" for row in second["checks"])
    _, out, _ = run(capsys, "check", tmp_path / "sound.yaml", "--json")
    alone = json.loads(out)
    assert (second["fingerprint"], second["checks"]) == (alone["fingerprint"], alone["checks"])


def test_one_lot_of_a_site_is_reported_like_a_job(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = site(tmp_path, "{id: row-1, job: no.yaml}", "{id: row-2, job: sound.yaml}")
    assert run(capsys, "check", path, "--lot", "row-2") == run(capsys, "check", tmp_path / "sound.yaml")
    code, _, err = run(capsys, "check", path, "--lot", "row2")
    assert (code, err) == (cli.BAD_INPUT, f"{path} has no lot 'row2'; did you mean row-2?\n")
    code, _, err = run(capsys, "check", tmp_path / "sound.yaml", "--lot", "row-2")
    assert code == cli.BAD_INPUT
    assert "is no site file, so that it has no lot 'row-2'" in err


def test_a_fault_of_the_site_file_stops_check(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    put(tmp_path, site_yaml=HEAD + "lots: [{id: a}, {id: a}]\n")
    code, out, err = run(capsys, "check", tmp_path / "site.yaml")
    assert (code, out) == (cli.BAD_INPUT, "")
    assert err.startswith(
        f"The site file can't be used: 1 problem(s).\n{tmp_path}/site.yaml:3: id: found the id"
    )


@pytest.mark.parametrize(
    "command",
    [("propose",), ("import",), ("draw", "--dxf", "x.dxf"), ("compare", "x.yaml")],
    ids=lambda c: c[0],
)
def test_other_commands_say_what_to_do(
    command: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = site(tmp_path, "{id: b, job: sound.yaml}")
    code, out, err = run(capsys, command[0], path, *command[1:])
    assert (code, out) == (cli.BAD_INPUT, "")
    assert err == (
        f"{path} is a site file, and this command takes one lot: name the lot's job file. "
        f"planforge check {path} tells about every lot.\n"
    )


def test_new_writes_a_site_that_reads_and_never_overwrites(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "wren row.yaml"
    code, out, _ = run(capsys, "new", "--site", path)
    written = [tmp_path / name for name in ("wren row.yaml", "wren row_lots.csv", "wren row_lot_1.yaml")]
    assert code == 0
    assert out.startswith(", ".join(map(str, written)) + " written.")
    code, out, _ = run(capsys, "check", path)
    assert code == cli.SHORT
    assert out.startswith("lot-1: EX-001 revision 0, Lot 1: ")
    before = [file.read_bytes() for file in written]
    written[0].unlink()
    code, _, err = run(capsys, "new", "--site", path)
    assert (code, path.exists()) == (cli.BAD_INPUT, False)
    assert "wren row_lot_1.yaml exists already" in err
    assert [file.read_bytes() for file in written[1:]] == before[1:]


def test_what_the_starter_site_leaves_open_reads_as_well(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every line that is commented out for an example is a line of a site file."""
    run(capsys, "new", "--site", tmp_path / "row.yaml")
    text = (tmp_path / "row.yaml").read_text("utf-8")
    lines = [line.removeprefix("# ") for line in text.splitlines()]
    first = lines.index("shared: [company.yaml]")
    extra = [line for line in lines[first:] if line.startswith((" ", "shared", "lots", "kits"))]
    (tmp_path / "row.yaml").write_text(text + "\n".join(extra) + "\n", "utf-8")
    site = read_site(tmp_path / "row.yaml")
    assert [lot.id for lot in site.lots] == ["lot-2", "lot-3", "lot-1"]
    assert site.kits == tmp_path / "kits.yaml"


def test_a_name_that_the_files_of_a_site_cant_share(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, err = run(capsys, "new", "--site", tmp_path / "a,b.yaml")
    assert code == cli.BAD_INPUT
    assert "'a,b' can't name a site's files" in err
    assert not list(tmp_path.iterdir())
