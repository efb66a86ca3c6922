"""A register of any size: entering costs the same, it is looked through in time, older forms come along."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from planforge.document.finish import write_whole
from planforge.errors import RefusedError
from planforge.register.database import FILE_NAME, SCHEMA, RegisterError
from planforge.register.entry import Entry, Held, Status, entered
from planforge.register.register import Register
from planforge.register.result import Result, read, written

from .processes import enter, entry

OLD = Path(__file__).with_name("form_1.sqlite")
"""Made by the planforge of form 1: AF-1 revisions 0 and 1, a draft of 2; AF-2; AF-1 revision 2 pending."""


@pytest.fixture
def register(tmp_path: Path) -> Register:
    return Register(tmp_path / FILE_NAME, wait=0.2)


@pytest.fixture
def said(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Every statement that SQLite is given from here on."""
    statements: list[str] = []
    opens = sqlite3.connect

    def traced(*arguments: Any, **options: Any) -> sqlite3.Connection:
        connection: sqlite3.Connection = opens(*arguments, **options)
        connection.set_trace_callback(statements.append)
        return connection

    monkeypatch.setattr("planforge.register.database.sqlite3.connect", traced)
    return statements


def of_number(number: int, data: bytes = b"plan", **changes: Any) -> Entry:
    return entry(0, data, number=f"AF-{number}", file=f"AF-{number}.pdf", **changes)


def enter_numbered(register: Register, made: Entry, data: bytes = b"plan") -> Entry | None:
    """Enter a plan as issuing does: by its number."""
    return register.enter(
        lambda _: (made, "job: 1\n"), lambda: write_whole(register.locate(made), data), number=made.number
    )


def _work(register: Register, act: Callable[[], object]) -> int:
    """How many steps of its virtual machine SQLite takes for an act, in hundreds."""
    steps = [0]
    opens = sqlite3.connect

    def counted(*arguments: Any, **options: Any) -> sqlite3.Connection:
        connection: sqlite3.Connection = opens(*arguments, **options)

        def step() -> int:
            steps[0] += 1
            return 0

        connection.set_progress_handler(step, 10)
        return connection

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("planforge.register.database.sqlite3.connect", counted)
        act()
    return steps[0]


def test_entering_costs_the_same_in_a_large_register(register: Register) -> None:
    """Counted in steps of SQLite, not in seconds: two plans entered among 5 and among 400."""

    def two(number: int) -> int:
        def act() -> None:
            for one in (number, number + 1):
                register.held(f"AF-{one}", 0)
                enter_numbered(register, of_number(one))

        return _work(register, act)

    for number in range(5):
        enter_numbered(register, of_number(number))
    among_few = two(1000)
    _fill(register, range(5, 400))
    register.entries()  # looked through once, whoever wrote
    among_many = two(2000)
    assert among_few > 10
    assert among_many <= 1.3 * among_few
    assert len(register.entries()) == 404


def _fill(register: Register, numbers: range) -> None:
    """More plans by SQL, for speed, with jobs of the usual size."""
    connection = sqlite3.connect(register.path)
    columns = [row[1] for row in connection.execute("PRAGMA table_info(plans)") if row[1] != "id"]
    (row,) = connection.execute(f"SELECT {', '.join(columns)} FROM plans LIMIT 1").fetchall()
    for number in numbers:
        new = dict(zip(columns, row, strict=True)) | {"number_key": f"af-{number}", "number": f"AF-{number}"}
        new |= {"job": "x" * 50_000}
        marks = ", ".join("?" * len(columns))
        connection.execute(f"INSERT INTO plans ({', '.join(columns)}) VALUES ({marks})", [*new.values()])
    connection.commit()
    connection.close()


def test_a_register_is_looked_through_once_and_again_when_somebody_wrote(
    register: Register, said: list[str]
) -> None:
    def checks() -> int:
        count = sum("quick_check" in statement for statement in said)
        said.clear()
        return count

    enter_numbered(register, of_number(1))
    checks()
    enter_numbered(register, of_number(2))
    register.held("AF-2", 0)
    enter_numbered(register, of_number(3))
    assert checks() == 0
    connection = sqlite3.connect(register.path)
    connection.execute("UPDATE plans SET lot = 'Lot 9' WHERE number = 'AF-3'")
    connection.commit()
    connection.close()
    register.held("AF-1", 0)
    assert checks() == 1
    register.entries()
    assert checks() == 1  # who reads all of it looks through all of it


def test_damage_done_since_is_seen_before_anything_is_entered(register: Register) -> None:
    for number in range(30):
        enter_numbered(register, of_number(number))
    data = bytearray(register.path.read_bytes())
    data[-2000:-1000] = b"\xff" * 1000
    register.path.write_bytes(data)
    with pytest.raises(RegisterError, match="is damaged as a register"):
        enter_numbered(register, of_number(99))
    assert not (register.path.parent / "AF-99.pdf").exists()


def test_what_is_held_of_a_number_and_no_other(register: Register) -> None:
    made = [entry(0), entry(1, changes="sag"), of_number(2)]
    for one in made:
        enter(register, one)
    draft = entry(2, b"draft", status=Status.DRAFT, supersedes=None, file="d.pdf")
    enter(register, draft, b"draft")
    held = register.held(" af-1", 0)
    assert held.entries == tuple(e for e in register.entries() if e.number == "AF-1")
    assert [e.revision for e in held.entries] == [0, 1, 2]
    assert held.jobs == {made[0].sha256: "job: 1\n", made[1].sha256: "job: 1\n"}
    assert register.held("AF-9", 0) == Held()
    assert register.numbers() == {"af-1", "af-2"}


def test_what_is_held_counts_a_pending_plan_whose_file_stands(register: Register) -> None:
    enter(register, entry(0))
    made, other = entry(1, b"two"), of_number(2, b"three")
    for one, data in ((made, b"two"), (other, b"three")):
        with pytest.raises(KeyboardInterrupt), pytest.MonkeyPatch.context() as patch:
            patch.setattr(Register, "_complete", _stopped)
            enter(register, one, data)
        if one is made:
            assert register.held("AF-1", 1).entries == (entry(0),)
            register.locate(made).write_bytes(b"two")
            assert register.held("AF-1", 1).entries == entered((entry(0),), made)
            assert register.held("AF-1", 1).jobs[made.sha256] == "job: 1\n"
    assert register.numbers() == {"af-1"}  # the other one's file never came


def _stopped(*_: object) -> bool:
    raise KeyboardInterrupt


def test_prepare_is_given_the_plans_of_its_number(register: Register) -> None:
    enter(register, entry(0))
    enter(register, of_number(2))
    seen: list[tuple[Entry, ...]] = []

    def prepare(entries: tuple[Entry, ...]) -> None:
        seen.append(entries)

    register.enter(prepare, lambda: None, number="AF-1")
    register.enter(prepare, lambda: None)
    assert [len(entries) for entries in seen] == [1, 2]


def test_a_number_and_revision_is_never_entered_twice_by_its_number(register: Register) -> None:
    enter_numbered(register, entry(0))
    with pytest.raises(RefusedError, match="is in the register already"):
        enter_numbered(register, entry(0, b"x", file="b.pdf"), b"x")
    assert register.entries() == (entry(0),)


@pytest.fixture
def old(tmp_path: Path) -> Register:
    """A register of form 1 with its files."""
    shutil.copy(OLD, tmp_path / FILE_NAME)
    for name, data in (("AF-1-r0", b"plan"), ("AF-1-r1", b"plan"), ("AF-1-r2-draft", b"draft")):
        (tmp_path / f"{name}.pdf").write_bytes(data)
    (tmp_path / "AF-2-r0.pdf").write_bytes(b"other")
    return Register(tmp_path / FILE_NAME)


OLD_ROWS = [(0, "superseded"), (1, "issued"), (2, "draft"), (0, "issued")]


def states(register: Register) -> list[tuple[int, str]]:
    return [(e.revision, e.status.value) for e in register.entries()]


def test_an_older_register_is_read_and_left_as_it_is(old: Register) -> None:
    before = old.path.read_bytes()
    assert states(old) == OLD_ROWS
    assert {e.result for e in old.entries()} == {""}
    assert [e.revision for e in old.held("AF-1", 1).entries] == [0, 1, 2]
    assert old.job(old.entries()[0]) == "job: 1\n"
    assert old.path.read_bytes() == before


def test_an_older_register_comes_along_when_a_plan_is_entered(old: Register) -> None:
    rows = old.entries()
    made = of_number(3, result=written(Result({"meets": 2}, (), 0, {}, 8)))
    enter_numbered(old, made)
    assert old.entries() == (*rows, made)
    assert old.job(rows[0]) == "job: 1\n"
    with sqlite3.connect(old.path) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (SCHEMA,)
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    connection.close()


def test_a_plan_pending_in_an_older_register_is_settled(old: Register) -> None:
    old.path.with_name("AF-1-r2.pdf").write_bytes(b"two")
    enter_numbered(old, of_number(3))
    assert sorted(states(old)) == [
        (0, "issued"),
        (0, "issued"),
        (0, "superseded"),
        (1, "superseded"),
        (2, "issued"),
    ]


def test_an_older_register_that_is_damaged_is_not_brought_along(old: Register) -> None:
    data = bytearray(old.path.read_bytes())
    data[4096 + 100 : 2 * 4096] = b"\xff" * (4096 - 100)
    old.path.write_bytes(data)
    with pytest.raises(RegisterError, match="is damaged"):
        enter_numbered(old, of_number(3))
    assert old.path.read_bytes() == bytes(data)


def test_a_result_edited_by_hand_is_refused(register: Register) -> None:
    enter(register, entry(0))
    connection = sqlite3.connect(register.path)
    connection.execute("UPDATE plans SET result = '{}'")
    connection.commit()
    connection.close()
    with pytest.raises(RegisterError, match="the result in a row can't be read"):
        register.entries()


def test_a_result_comes_back_as_it_was_written() -> None:
    result = Result({"confirm": 3, "meets": 5}, ("short: a", "short: b"), 1, {"qualified person": 3}, 76)
    assert read(written(result)) == result
    assert read("") is None
    for text in ("{", "[]", '{"counts": 3}', "7"):
        with pytest.raises(sqlite3.DatabaseError, match="the result in a row can't be read"):
            read(text)
