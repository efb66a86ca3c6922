"""What hard use found in the reading of job files, each by its least input."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planforge import cli
from planforge.errors import JobFileError, Problem, printable
from planforge.job.loading import load
from planforge.job.source import load_yaml
from planforge.job.writing import yaml_text

from .mutations import demo, written

ESCAPES = "\x1b]0;owned\x07\x1b[2J\x9b31m\u202egpj.exe"


def refusal(folder: Path, content: str) -> list[str]:
    path = folder / "lot.yaml"
    path.write_text(content, "utf-8")
    with pytest.raises(JobFileError) as caught:
        load_yaml(path, "lot.yaml")
    return str(caught.value).splitlines()


@pytest.mark.parametrize(
    ("content", "line", "found", "bracket"),
    [
        ("a: [[\n", 1, "a: [[", "[ closed by a ]"),
        ("a: 1\nb: {x: 1,\n\n", 2, "b: {x: 1,", "{ closed by a }"),
        ("a: {x: [\n", 1, "a: {x: [", "[ closed by a ]"),
        ("a: [1, , 2]\n", 1, "a: [1, , 2]", "[ closed by a ]"),
    ],
)
def test_a_file_cut_off_within_brackets_names_the_open_one(
    tmp_path: Path, content: str, line: int, found: str, bracket: str
) -> None:
    """It named the empty line after the last, and always a brace."""
    (message,) = refusal(tmp_path, content)
    assert message.startswith(f'lot.yaml:{line}: found "{found}"; expected a {bracket}. ')


def test_an_escape_for_a_line_return_is_refused(tmp_path: Path) -> None:
    """A terminal would let what follows it print over what stands before."""
    (message,) = refusal(tmp_path, 'a: "meets\\rshort"\n')
    assert message.startswith("lot.yaml:1: found an escape for the hidden character U+000D;")


def test_a_problem_shows_hidden_characters_and_none_acts(tmp_path: Path) -> None:
    """A value, an unknown field and a file's name came out raw in the messages beside the refusal."""
    escaped = ESCAPES.encode("unicode_escape").decode()
    path = tmp_path / "lot.yaml"
    path.write_text(f'extends: "{escaped}"\nsite: {{lot: "{escaped}", "{escaped}": 1, units: "{escaped}"}}\n')
    with pytest.raises(JobFileError) as caught:
        load(path)
    message = str(caught.value)
    assert all(c.isprintable() or c == "\n" for c in message)
    assert "<U+001B>" in message
    assert "<U+202E>" in message
    assert str(Problem("a\nb\x1b", 0, "", "", "x", "y")) == "a b<U+001B>: expected x. y"


def test_no_command_lets_a_name_act_on_the_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    for arguments in (["check", f"no{ESCAPES}.yaml"], ["verify", f"no{ESCAPES}.pdf"], ["explain", ESCAPES]):
        with pytest.raises(SystemExit):
            cli.main(arguments)
        out, err = capsys.readouterr()
        assert not {"\x1b", "\x07", "\x9b", "\u202e"} & set(out + err)
        assert "<U+001B>" in out + err
    assert printable("a\tb\nc é 屋") == "a\tb\nc é 屋"


LIKE_FIELDS = "Two things.\n\nnote: the first\n\nthen: the second"


@pytest.mark.parametrize(
    "text",
    [
        LIKE_FIELDS,
        "- x: 1\n- y: 2",
        "a: b \nlong: " + "word: " * 40,
        "The crew agreed: " + "each says: I am tied off, and the other says: yes; " * 12,
        "\n note: indented",
        "a\tb: c",
        "null",
        "'quoted' and \"quoted\": both",
    ],
)
def test_a_text_that_looks_like_fields_reads_back(tmp_path: Path, text: str) -> None:
    """In quotes over several lines it was taken for a quote left open: a plan's own job was refused."""
    for brackets in (False, True):
        data: dict[str, Any] = {"a": text, "b": [text, {"c": text}], "d": [text]}
        path = tmp_path / "lot.yaml"
        path.write_text(yaml_text(data, short_on_one_line=brackets), "utf-8")
        assert load_yaml(path).data == data


def test_a_name_has_no_line_break(tmp_path: Path) -> None:
    """A plan whose number had one was not known again as planforge's own."""
    tree = {**demo("wren_lot_7")}
    tree["plan"] = {**tree["plan"], "number": "AF-1\nrevision 9"}
    path = tmp_path / "lot.yaml"
    path.write_bytes(written(tree))
    with pytest.raises(JobFileError) as caught:
        load(path)
    (problem,) = caught.value.problems
    assert (problem.field, problem.expected) == ("plan.number", "a text on one line")
    assert problem.found == '"AF-1 revision 9" (it has a line break)'


@pytest.mark.parametrize("text", ['extends: "a\\0"\n', 'house: {at: [0, 0], design: "a\\0"}\n'])
def test_a_file_whose_name_no_system_takes_is_a_problem(tmp_path: Path, text: str) -> None:
    """A NUL in the name ended the reading in a defect of planforge's own."""
    path = tmp_path / "lot.yaml"
    path.write_text(text, "utf-8")
    with pytest.raises(JobFileError, match="which does not exist"):
        load(path)


def test_two_lower_levels_of_one_name_are_refused(tmp_path: Path) -> None:
    """The elevation printed the dates of the one beside the height of the other."""
    tree = {**demo("wren_lot_7")}
    first, *rest = tree["lower_levels"]
    tree["lower_levels"] = [first, {**rest[0], "name": first["name"].upper() + " "}, *rest[1:]]
    path = tmp_path / "lot.yaml"
    path.write_bytes(written(tree))
    with pytest.raises(JobFileError) as caught:
        load(path)
    (problem,) = caught.value.problems
    assert problem.field == f'lower_levels[1 "{rest[0]["id"]}"].name'
    assert problem.expected == "a name of its own for each lower level"
    assert f'lower_levels[0 "{first["id"]}"]' in problem.found
