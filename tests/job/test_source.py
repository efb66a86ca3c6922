"""One YAML file to a tree: nothing guessed, every refusal worded, bounded in time and memory."""

from __future__ import annotations

import time
from pathlib import Path
from textwrap import dedent

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planforge.errors import JobFileError
from planforge.job import source
from planforge.job.positions import Locator
from planforge.job.source import load_yaml
from planforge.job.tree import Mark


@pytest.fixture(params=["c", "python"])
def parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Run a test with either of PyYAML's parsers, since a machine may lack the C one."""
    if request.param == "c" and not yaml.__with_libyaml__:
        pytest.skip("PyYAML was built without libyaml")
    monkeypatch.setattr(source, "_LOADER", yaml.CSafeLoader if request.param == "c" else yaml.SafeLoader)
    return request.param


def put(folder: Path, content: str | bytes) -> Path:
    path = folder / "lot.yaml"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def refusal(folder: Path, content: str | bytes) -> list[str]:
    with pytest.raises(JobFileError) as caught:
        load_yaml(put(folder, content), "lot.yaml")
    return str(caught.value).splitlines()


# YAML 1.1 (yaml.org/type, bool, int, float, timestamp) would read each of these as something else.
@pytest.mark.parametrize(
    "text",
    [
        "yes",
        "no",
        "on",
        "off",
        "y",
        "n",
        "True",
        "NULL",
        "010",
        "0x1F",
        "0b11",
        "1_000",
        "12:30",
        "190:20:30",
        "1e3",
        ".inf",
        ".nan",
        "2026-11-25",
        "3",
        "6.5",
        "=",
        "-x",
        "-6",
    ],
)
def test_plain_text_stays_as_written(tmp_path: Path, parser: str, text: str) -> None:
    assert load_yaml(put(tmp_path, f"a: {text}\n")).data == {"a": text}


def test_only_true_false_null_are_more_than_text(tmp_path: Path, parser: str) -> None:
    tree = load_yaml(put(tmp_path, "a: true\nb: false\nc: null\nd: ~\ne:\nf: 'true'\ng: \"null\"\n"))
    assert tree.data == {"a": True, "b": False, "c": None, "d": None, "e": None, "f": "true", "g": "null"}


def test_feet_and_inches_need_no_quotes(tmp_path: Path, parser: str) -> None:
    text = "a: 12'-6 1/2\"\nb: [12'-6\", 3', -6\"]\nc: {x: 0', y: 6 1/2\"}\nd: '12''-6\"'\ne: 4:12\n"
    assert load_yaml(put(tmp_path, text)).data == {
        "a": "12'-6 1/2\"",
        "b": ["12'-6\"", "3'", '-6"'],
        "c": {"x": "0'", "y": '6 1/2"'},
        "d": "12'-6\"",
        "e": "4:12",
    }


@pytest.mark.parametrize("quote", ["'", '"'])
def test_quoted_text_goes_on_below_its_field_whatever_it_looks_like(
    tmp_path: Path, parser: str, quote: str
) -> None:
    text = f"""\
    a:
      - note: {quote}In order:
          first: the anchor
          - then the line,

          last: the lanyard.{quote}
        b: 2
      - {quote}Call,
          then: lower{quote}
    """
    assert load_yaml(put(tmp_path, dedent(text))).data == {
        "a": [
            {"note": "In order: first: the anchor - then the line,\nlast: the lanyard.", "b": "2"},
            "Call, then: lower",
        ]
    }


def test_positions_count_from_one_and_skip_the_byte_order_mark(tmp_path: Path, parser: str) -> None:
    path = put(tmp_path, b"\xef\xbb\xbf# note\r\nlines:\r\n  - id: north\r\n    sag: 6 in\r\n")
    locator = Locator(load_yaml(path, "lot.yaml").root)
    assert locator.where(("lines",)) == Mark("lot.yaml", 2, 1)
    assert locator.where(("lines", 0, "sag")) == Mark("lot.yaml", 4, 10)
    assert locator.key(("lines", 0, "sag")) == Mark("lot.yaml", 4, 5)
    assert locator.where(("lines", 0, "absent")) == Mark("lot.yaml", 3, 5)
    assert locator.label(("lines", 0, "sag")) == 'lines[0 "north"].sag'


QUOTES = "expected a text with matching quotes."
IN_QUOTES = "Put the text in single quotes."


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (
            "a: 1\nheight: '12'-6 1/2\"'\n",
            f"lot.yaml:2: found \"height: '12'-6 1/2\"'\"; {QUOTES} Write height: 12'-6 1/2\" without "
            f"quotes, "
            "or height: '12''-6 1/2\"' with each ' inside it written twice.",
        ),
        (
            'a: 1\nheight: "6""\nb: 2\n',
            f'lot.yaml:2: found "height: "6"""; {QUOTES} Write height: 6" without quotes, '
            "or height: '6\"' with each ' inside it written twice.",
        ),
        (
            'a: ["12\'-6"", 3\']\n',
            f'lot.yaml:1: found "a: ["12\'-6"", 3\']"; {QUOTES} A length needs no quotes at all: 12\'-6 '
            f'1/2". '
            "A text that does need them goes in single quotes, with each ' inside it written twice.",
        ),
        (
            'a: "x" and: y\n',
            f'lot.yaml:1: found "a: "x" and: y"; {QUOTES} '
            "Write a: 'x\" and: y', in single quotes with each ' inside it written twice.",
        ),
        (
            'a: "6 in\nb: 2"\nc: 3\n',
            'lot.yaml:1: found a quoted text that runs on to line 2, over "b: 2"" on line 2; expected a '
            'quote that is closed. Write the closing " where the text ends on this line; a longer one is '
            "indented below its field.",
        ),
        (
            "a:\n  - {b: 'Deck, c: 1}\n  - {b: Walls', c: 2}\n",
            'lot.yaml:2: found a quoted text that runs on to line 3, over "- {b: Walls\', c: 2}" on line 3; '
            "expected a quote that is closed. Write the closing ' where the text ends on this line; inside "
            "brackets it stays on one line.",
        ),
        (
            "a:\n  - 'Call\n  - Lower the worker'\n",
            'lot.yaml:2: found a quoted text that runs on to line 3, over "- Lower the worker\'" on line 3; '
            "expected a quote that is closed. Write the closing ' where the text ends on this line; a longer "
            "one is indented below its field.",
        ),
        (
            "a: 'One Row   # replace\nb: Gate 1\nc: Owner's gate\n",
            'lot.yaml:1: found a quoted text that runs on to line 3, over "b: Gate 1" on line 2; expected a '
            "quote that is closed. Write the closing ' where the text ends on this line; a longer one is "
            "indented below its field.",
        ),
        (
            "a: 'Owner's gate'   # replace\n",
            f"lot.yaml:1: found \"a: 'Owner's gate' # replace\"; {QUOTES} Write a: Owner's gate "
            "without quotes, "
            "or a: 'Owner''s gate' with each ' inside it written twice.",
        ),
        (
            "a:\n  -id: deck\n    name: Deck\n",
            'lot.yaml:2: found "-id: deck"; expected a dash and a space before an entry of a '
            "list. Put a space "
            "after the dash.",
        ),
        (
            "a: [b] c\n",
            'lot.yaml:1: found "a: [b] c"; expected nothing after a bracket is closed. Put the whole text in '
            "single quotes.",
        ),
        (
            "a: {b: One: two}\n",
            'lot.yaml:1: found "a: {b: One: two}"; expected one colon in each field inside { }. '
            "Put a text with "
            "a colon in it in single quotes; between two fields stands a comma.",
        ),
        (
            "a: {b: [1, 2]], c: 3}\n",
            'lot.yaml:1: found "a: {b: [1, 2]], c: 3}"; expected as many ] as are opened. Delete the ] that '
            "closes nothing.",
        ),
        (
            "a: Unit #4\n",
            'lot.yaml:1: found "Unit" cut short by the # after it; expected a whole text, or a note that '
            "begins with "
            "# and a space. Put the whole text in single quotes, or write a space after the # if a note "
            "is meant.",
        ),
        (
            "a:\n\tb: 1\n",
            'lot.yaml:2: found "b: 1"; expected spaces. Replace the tab at the start of the line by spaces.',
        ),
        (
            "a:\n  b: 1\n\t\n  c: 2\n",
            "lot.yaml:3: found a line of nothing but tabs; expected spaces. "
            "Replace the tab at the start of the line by spaces.",
        ),
        (
            "note: see drawing: A1\n",
            'lot.yaml:1: found "note: see drawing: A1"; expected one colon followed by a space. '
            "Put a text with a colon in it in single quotes.",
        ),
        (
            "a:\n  b: 1\n c: 2\n",
            'lot.yaml:3: found "c: 2"; expected a line at the indentation of the lines around it. '
            "Start the line exactly under the lines it belongs with, using spaces.",
        ),
        (
            "a: 6 ft\n  c: 2\n",
            'lot.yaml:2: found "c: 2"; expected a line at the indentation of the lines around it. '
            "Start the line exactly under the lines it belongs with, using spaces.",
        ),
        (
            "at: [1, 2\nb: 3\n",
            'lot.yaml:1: found "at: [1, 2"; expected a [ closed by a ]. '
            "Close it with ], and put a comma between the entries.",
        ),
        (
            "a: 1\nb:2\nc: 3\n",
            'lot.yaml:2: found "b:2"; expected a field name, a colon and a space. '
            "Write the field name, a colon and a space before the value; indent a text that runs on.",
        ),
        (
            "a: @x\n",
            f'lot.yaml:1: found "a: @x"; expected no @ at the start of an unquoted text. {IN_QUOTES}',
        ),
        ("a: *\n", f'lot.yaml:1: found "a: *"; expected no * at the start of an unquoted text. {IN_QUOTES}'),
        (
            "a: ? b\n",
            f'lot.yaml:1: found "a: ? b"; expected no ? at the start of an unquoted text. {IN_QUOTES}',
        ),
        (
            "a: > 6\n",
            'lot.yaml:1: found "a: > 6"; expected no | or > at the start of an unquoted text. '
            "Put the text in single quotes, or write a long text after | on lines of its own.",
        ),
        (
            "a: - 6\n",
            'lot.yaml:1: found "a: - 6"; expected no dash after a colon. '
            "Write the list on the lines below, one entry per line; or put the text in single quotes.",
        ),
        (
            "a: 1\n- b\n",
            'lot.yaml:2: found "- b"; expected no list entry here. '
            "Indent the dashes of one list alike, under the list's field name.",
        ),
        (
            'a: "C:\\dir"\n',
            'lot.yaml:1: found "a: "C:\\dir""; expected no backslash inside "…". '
            "Put the text in single quotes, in which a backslash is a backslash.",
        ),
        (
            "%YAML 2.0\n---\na: 1\n",
            'lot.yaml:1: found "%YAML 2.0"; expected no line that begins with %. Delete the line.',
        ),
        (
            "a: 1\nb: 2\na: 3\n",
            'lot.yaml:3: found the field "a" a second time (first on line 1); expected each field once. '
            "Delete one of the two, or join them.",
        ),
        (
            "a: 1\n---\nb: 2\n",
            'lot.yaml:2: found a second document after "---"; expected one job in one file. '
            "Move it to a file of its own.",
        ),
        (
            "a: !!python/object:os.system x\n",
            'lot.yaml:1: found the tag "tag:yaml.org,2002:python/object:os.system"; expected a plain '
            "value without a "
            "tag. Delete it, or put the text in single quotes.",
        ),
        (
            "a: &x 1\n",
            'lot.yaml:1: found "&x", a name for later reference; expected a plain value. '
            "Delete it, or put the text in single quotes.",
        ),
        (
            "? [a]\n: 1\n",
            "lot.yaml:1: found a list or group used as a field name; expected a plain field name. Write a "
            "short name.",
        ),
        (
            "<<: 1\n",
            'lot.yaml:1: found the key "<<"; expected fields written out. To share fields among lots, use '
            "extends.",
        ),
        (
            "a: 1\n'': 2\n",
            "lot.yaml:2: found a colon without a field name; expected a field name. Write the name before "
            "the colon.",
        ),
        (
            "\n- a\n",
            "lot.yaml:2: found a list of 1; expected fields with names at the top. Begin each line with a "
            "field name "
            'and a colon, such as "lot:", and a space after the colon.',
        ),
        (
            "# only a note\n",
            "lot.yaml: found an empty file; expected the fields of a job. Write the job, field by field.",
        ),
        ("", "lot.yaml: found an empty file; expected the fields of a job. Write the job, field by field."),
        (
            'a: "\\e[2J"\n',
            "lot.yaml:1: found an escape for the hidden character U+001B; expected text that prints. "
            "Use single quotes, in which a backslash is a backslash.",
        ),
        (
            "a: 1\nb: x\u202ey\n",
            "lot.yaml:2: found the hidden character U+202E at byte 9; expected plain text in UTF-8. "
            "Delete it and type the text around it again.",
        ),
        (
            b"a: 1\nb: caf\xe9\n",
            "lot.yaml:2: found the byte 0xE9 at byte 11; expected plain text in UTF-8. "
            "Save the file with the encoding UTF-8.",
        ),
        (
            "a: 1\n".encode("utf-16"),
            "lot.yaml: found a file saved as UTF-16; expected plain text in UTF-8. Save the file with the "
            "encoding UTF-8.",
        ),
        (
            "a: 1\n".encode("utf-16-le"),
            "lot.yaml:1: found the hidden character U+0000 at byte 1; expected plain text in UTF-8. "
            "Save the file with the encoding UTF-8.",
        ),
        (
            "a: " + "x" * 20_000,
            "lot.yaml:1: found a text of 20,000 characters; expected at most 10,000 characters. "
            "Shorten it; look for a quote left open.",
        ),
    ],
)
def test_refusal_in_plain_words(tmp_path: Path, parser: str, content: str | bytes, message: str) -> None:
    assert refusal(tmp_path, content) == [message]


def test_impossible_escape_in_the_python_parser(tmp_path: Path, parser: str) -> None:
    assert "expected" in refusal(tmp_path, 'a: "\\U00ffffff"\n')[0]


def test_all_faults_of_a_file_in_one_run(tmp_path: Path, parser: str) -> None:
    lines = refusal(tmp_path, "a: &x 1\nb: *x\nc: !t 1\na: 2\n")
    assert [line.split(":")[1] for line in lines] == ["1", "2", "3", "4"]


def test_a_comment_after_a_value_is_fine(tmp_path: Path, parser: str) -> None:
    text = "a: 6 ft # measured\nb: '#4' #x\n#c: 1\nd: a#b\ne: 1 ## x\n"
    assert load_yaml(put(tmp_path, text)).data == {"a": "6 ft", "b": "#4", "d": "a#b", "e": "1"}


def test_missing_file_folder_and_unreadable(tmp_path: Path) -> None:
    def message(path: Path) -> str:
        with pytest.raises(JobFileError) as caught:
            load_yaml(path, "x")
        return str(caught.value)

    assert message(tmp_path / "no.yaml") == (
        "x: found no file of this name; expected a YAML file to read. Correct the path, or put the file "
        "there."
    )
    assert message(tmp_path) == "x: found a folder; expected a YAML file to read. Name the job file in it."
    assert "expected a YAML file to read" in message(tmp_path / ("n" * 5000))
    assert "the name can't be used" in message(tmp_path / "a\0b") or "no file" in message(tmp_path / "a\0b")


def test_unreadable_file_is_a_worded_refusal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    path = put(tmp_path, "a: 1\n")
    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(JobFileError) as caught:
        load_yaml(path, "lot.yaml")
    assert str(caught.value) == (
        "lot.yaml: found a file that can't be read (Permission denied); expected a YAML file to read. "
        "Correct its name or its permissions."
    )


def alias_bomb() -> str:
    rows = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    rows += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 30)]
    return "\n".join(rows)


@pytest.mark.parametrize(
    ("content", "phrase"),
    [
        (alias_bomb(), "a reference to another place"),
        ("a: " + "[" * 10_000, "more than 32 levels, one inside another"),
        ("a: " + "{x: " * 10_000, "more than 32 levels, one inside another"),
        ("- " * 10_000 + "x", "more than 32 levels, one inside another"),
        ("\n".join(" " * i + "a:" for i in range(1000)), "more than 32 levels, one inside another"),
        ("a: [" + "1," * 60_000 + "]", "more than 50,000 values"),
        ("".join(f"k{i}: 1\n" for i in range(30_000)), "more than 50,000 values"),
        ("a: *x\n" * 5000, "100 faults up to here"),
        ("a: '" + "x" * 1_000_000, "matching quotes"),
        ("%" * 1_000_000, "begins with %"),
        ("x" * 1_000_000, "fields with names at the top"),
        ("a: " + "'" * 1_000_000, "a text of"),
    ],
)
def test_hostile_files_end_soon(tmp_path: Path, parser: str, content: str, phrase: str) -> None:
    began = time.process_time()
    assert any(phrase in line for line in refusal(tmp_path, content))
    assert time.process_time() - began < 20  # generous: hung or exponential, not slow


def test_a_huge_sparse_file_is_not_read_whole(tmp_path: Path) -> None:
    path = tmp_path / "big.yaml"
    with path.open("wb") as stream:
        stream.truncate(100 << 20)
    with pytest.raises(JobFileError) as caught:
        load_yaml(path, "big.yaml")
    assert str(caught.value) == (
        "big.yaml: found more than 1 MiB; expected a job file of at most 1 MiB. "
        "Check that this is the job file; keep one lot in one file."
    )


YAML_BITS = st.sampled_from(
    [*"abc:-[]{}'\"#&*!|>%@?,~ \n\t\\", "a: ", "\n  ", "- ", "\x00", "\u2028", "---\n", "\\U00ffffff"]
)


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    content=st.one_of(
        st.binary(max_size=200), st.lists(YAML_BITS, max_size=60).map(lambda bits: "".join(bits).encode())
    )
)
@pytest.mark.parametrize("loader", ["CSafeLoader", "SafeLoader"])
def test_any_bytes_give_a_tree_or_a_refusal(
    tmp_path_factory: pytest.TempPathFactory, loader: str, content: bytes
) -> None:
    path = tmp_path_factory.getbasetemp() / "fuzz.yaml"
    path.write_bytes(content)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(source, "_LOADER", getattr(yaml, loader, yaml.SafeLoader))
        try:
            assert isinstance(load_yaml(path).data, dict)
        except JobFileError as error:
            assert all(problem.expected and problem.remedy for problem in error.problems)
