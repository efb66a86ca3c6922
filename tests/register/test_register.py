"""The register: one number once, plan and row both or neither, and clear words where it can't be used."""

from __future__ import annotations

import hashlib
import os
import shutil
import signal
import sqlite3
import time
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planforge.errors import RefusedError
from planforge.register.database import FILE_NAME, SCHEMA, RegisterError
from planforge.register.entry import Entry, Status, current, entered, number_key
from planforge.register.register import Register, register_of, register_path

from .processes import INSTANTS, enter, enter_many, entry, hold, killed_at, run

posix = pytest.mark.skipif(os.name != "posix", reason="kills a process by signal")


@pytest.fixture
def register(tmp_path: Path) -> Register:
    return Register(tmp_path / FILE_NAME, wait=0.2)


def states(register: Register) -> list[tuple[int, str]]:
    return [(e.revision, e.status.value) for e in register.entries()]


def test_a_plan_comes_back_as_it_was_entered(register: Register) -> None:
    assert register.entries() == ()
    assert not register.path.exists()
    made = entry(0, approved=entry(0).date, changes="a 1 -> 2\nb added: 3")
    assert enter(register, made) == made
    assert register.entries() == (made,)
    assert register.job(made) == "job: 1\n"
    assert register.locate(made).read_bytes() == b"plan"


def test_a_higher_revision_supersedes_and_another_number_does_not(register: Register) -> None:
    for made in (entry(0), entry(1), entry(0, number="AF-2", file="AF-2.pdf"), entry(2)):
        enter(register, made)
    assert states(register) == [(0, "superseded"), (1, "superseded"), (0, "issued"), (2, "issued")]
    now = current(register.entries(), "af-1 ")
    assert now is not None
    assert now.revision == 2


def test_the_newest_draft_is_kept_until_its_plan_is_issued(register: Register) -> None:
    draft = entry(1, status=Status.DRAFT, supersedes=None, file="AF-1-r1-draft.pdf")
    enter(register, entry(0))
    enter(register, draft)
    enter(register, entry(1, b"two", status=Status.DRAFT, file="AF-1-r1-draft.pdf"), b"two")
    assert states(register) == [(0, "issued"), (1, "draft")]
    enter(register, entry(1))
    assert states(register) == [(0, "superseded"), (1, "issued")]


def test_a_number_and_revision_is_never_entered_twice(register: Register) -> None:
    """The file's own rules stand behind the decision: a second row is refused, and nothing is lost."""
    enter(register, entry(0))
    with pytest.raises(
        RefusedError, match=r"af-1 revision 0 is in the register already\. Nothing was written"
    ):
        enter(register, entry(0, b"other", number="af-1", file="b.pdf"), b"other")
    assert register.entries() == (entry(0),)
    assert not (register.path.parent / "b.pdf").exists()


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [("AF-1", "af-1", True), ("AF  1", " AF 1", True), ("ＡＦ-1", "AF-1", True), ("AF-1", "AF-10", False)],
)
def test_numbers_that_look_alike_are_one(one: str, other: str, same: bool) -> None:
    assert (number_key(one) == number_key(other)) == same


def test_what_prepare_refuses_writes_nothing(register: Register) -> None:
    def refuse(_: tuple[Entry, ...]) -> None:
        raise RefusedError("not this one")

    with pytest.raises(RefusedError, match="not this one"):
        register.enter(refuse, lambda: pytest.fail("written"))
    assert register.enter(lambda _: None, lambda: pytest.fail("written")) is None
    assert register.entries() == ()


def test_a_write_that_fails_leaves_the_old_state(register: Register) -> None:
    enter(register, entry(0))

    def full() -> None:
        raise RefusedError("the disk is full")

    with pytest.raises(RefusedError, match="the disk is full"):
        register.enter(lambda _: (entry(1), ""), full)
    assert register.entries() == (entry(0),)
    assert _pending(register) == 0
    enter(register, entry(1))
    assert states(register) == [(0, "superseded"), (1, "issued")]


def _pending(register: Register) -> int:
    with sqlite3.connect(register.path) as connection:
        count: int = connection.execute("SELECT count(*) FROM pending").fetchone()[0]
    connection.close()
    return count


@posix
@pytest.mark.parametrize("instant", INSTANTS)
def test_killed_at_a_named_instant(register: Register, instant: str) -> None:
    """Plan and row are both there or both not, and the next plan goes through."""
    enter(register, entry(0))
    process = run(killed_at, register.path, instant)
    assert process.wait() == -signal.SIGKILL
    issued = instant in ("renamed", "entered", "committed")
    after = [(0, "superseded"), (1, "issued")] if issued else [(0, "issued")]
    assert register.locate(entry(1)).exists() == issued
    assert states(register) == after  # by a reader, who writes nothing
    assert states(register) == after
    enter(register, entry(2))
    assert states(register) == [*((n, "superseded") for n, _ in after), (2, "issued")]
    assert _pending(register) == 0
    if issued:
        assert register.job(entry(1, b"new")) == "job: 2\n"


@posix
def test_killed_at_any_time(tmp_path: Path) -> None:
    """Whenever a process dies among many plans, each row has its file, and each file its row."""
    for number, delay in enumerate((0.3, 0.4, 0.5, 0.6, 0.75)):
        register = Register(tmp_path / str(number) / FILE_NAME)
        register.path.parent.mkdir()
        process = run(enter_many, register.path, "a", 2000)
        time.sleep(delay)
        process.kill()
        process.wait()
        _hold_together(register)


def _hold_together(register: Register) -> list[int]:
    entries = register.entries()
    for made in entries:
        assert hashlib.sha256(register.locate(made).read_bytes()).hexdigest() == made.sha256
    files = {path.name for path in register.path.parent.glob("AF-*.pdf")}
    assert files == {made.file for made in entries}
    revisions = [made.revision for made in entries]
    assert revisions == list(range(len(revisions)))
    assert [e.revision for e in entries if e.status is Status.ISSUED] == revisions[-1:]
    return revisions


def test_processes_at_once_share_no_revision_and_lose_none(register: Register) -> None:
    processes = [run(enter_many, register.path, name, 8) for name in "abc"]
    assert [process.wait() for process in processes] == [0, 0, 0]
    assert len(_hold_together(register)) == 24
    jobs = {register.job(made) for made in register.entries()}
    assert jobs == {f"{name} {number}" for name in "abc" for number in range(8)}


def test_a_row_dropped_by_another_process_is_prepared_anew(
    register: Register, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another process comes between the two transactions, and takes the revision."""
    seen: list[tuple[Entry, ...]] = []
    complete = Register._complete

    def prepare(entries: tuple[Entry, ...]) -> tuple[Entry, str]:
        seen.append(entries)
        return entry(len(entries)), "job"

    def late(*arguments: object) -> bool:
        monkeypatch.setattr(Register, "_complete", complete)
        enter(register, entry(0))
        return complete(*arguments)  # type: ignore[arg-type]

    monkeypatch.setattr(Register, "_complete", late)
    made = register.enter(prepare, lambda: register.locate(entry(1)).write_bytes(b"plan"))
    assert seen == [(), (entry(0),)]
    assert made == entry(1)
    assert states(register) == [(0, "superseded"), (1, "issued")]


def test_a_locked_register_is_said_so(register: Register, tmp_path: Path) -> None:
    enter(register, entry(0))
    process = run(hold, register.path, tmp_path / "ready")
    try:
        while not (tmp_path / "ready").exists():
            assert process.poll() is None
            time.sleep(0.02)
        with pytest.raises(RegisterError, match="is in use by another program"):
            enter(register, entry(1))
        with pytest.raises(RegisterError, match="is in use by another program"):
            register.entries()
    finally:
        process.kill()
        process.wait()
    assert not register.locate(entry(1)).exists()
    enter(register, entry(1))


def test_a_full_disk_is_said_so_and_nothing_is_half_written(
    register: Register, monkeypatch: pytest.MonkeyPatch
) -> None:
    enter(register, entry(0))
    pages = sqlite3.connect(register.path).execute("PRAGMA page_count").fetchone()[0]
    opens = sqlite3.connect

    def small(*arguments: object, **options: object) -> sqlite3.Connection:
        connection = opens(*arguments, **options)  # type: ignore[call-overload]
        connection.execute(f"PRAGMA max_page_count = {pages}")
        return connection  # type: ignore[no-any-return]

    monkeypatch.setattr("planforge.register.database.sqlite3.connect", small)
    with pytest.raises(RegisterError, match=r"the disk is full\. Nothing was written"):
        register.enter(lambda _: (entry(1), "x" * 100_000), lambda: pytest.fail("written"))
    monkeypatch.undo()
    assert register.entries() == (entry(0),)


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="the superuser writes anywhere")
def test_a_read_only_register_is_said_so(register: Register) -> None:
    enter(register, entry(0))
    register.path.chmod(0o400)
    with pytest.raises(RegisterError, match="read-only"):
        enter(register, entry(1))
    assert register.entries() == (entry(0),)


def test_a_register_that_sqlite_may_not_write_is_said_so(
    register: Register, monkeypatch: pytest.MonkeyPatch
) -> None:
    enter(register, entry(0))
    opens = sqlite3.connect

    def closed(place: str, **options: object) -> sqlite3.Connection:
        return opens(place.replace("mode=rwc", "mode=ro"), **options)  # type: ignore[call-overload,no-any-return]

    monkeypatch.setattr("planforge.register.database.sqlite3.connect", closed)
    with pytest.raises(RegisterError, match="it or its folder is read-only"):
        register.enter(lambda _: (entry(1), ""), lambda: pytest.fail("written"))


def test_a_register_in_no_folder_is_said_so(tmp_path: Path) -> None:
    with pytest.raises(RegisterError, match="its folder is missing"):
        enter(Register(tmp_path / "absent" / FILE_NAME), entry(0))


def test_a_newer_register_is_left_alone(register: Register) -> None:
    enter(register, entry(0))
    _edit(register, f"PRAGMA user_version = {SCHEMA + 1}")
    before = register.path.read_bytes()
    with pytest.raises(RegisterError, match=r"newer planforge \(register form 3; this version knows 2\)"):
        enter(register, entry(1))
    with pytest.raises(RegisterError, match="newer planforge"):
        register.entries()
    assert register.path.read_bytes() == before


def _edit(register: Register, *statements: str) -> None:
    connection = sqlite3.connect(register.path)
    for statement in statements:
        connection.execute(statement)
    connection.commit()
    connection.close()


def test_another_program_s_database_is_left_alone(register: Register) -> None:
    _edit(register, "CREATE TABLE t (a)")
    before = register.path.read_bytes()
    with pytest.raises(RegisterError, match="is no register of plans: another program's database"):
        enter(register, entry(0))
    assert register.path.read_bytes() == before


def test_a_register_killed_while_it_was_begun_is_begun_again(register: Register) -> None:
    register.path.touch()
    assert register.entries() == ()
    enter(register, entry(0))
    assert register.entries() == (entry(0),)


@pytest.fixture(scope="module")
def two_plans(tmp_path_factory: pytest.TempPathFactory) -> Path:
    register = Register(tmp_path_factory.mktemp("whole") / FILE_NAME)
    enter(register, entry(0))
    enter(register, entry(1))
    return register.path


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 1 << 20), st.binary(min_size=1, max_size=64), st.booleans())
def test_a_damaged_register_is_read_whole_or_refused(
    two_plans: Path, tmp_path: Path, place: int, damage: bytes, cut: bool
) -> None:
    """Bytes overwritten or cut off: the rows come back or a sentence does, never a traceback."""
    whole = two_plans.read_bytes()
    place %= len(whole)
    folder = tmp_path / "damaged"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    register = Register(folder / FILE_NAME, wait=0.1)
    register.path.write_bytes(whole[:place] if cut else whole[:place] + damage + whole[place + len(damage) :])
    try:
        rows = register.entries()
    except RegisterError as error:
        assert "Nothing was written" in str(error)
        assert register.path.stat().st_size
    else:
        assert len(rows) == 2 or (cut and place == 0)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE plans SET status = 'lost'",
        "UPDATE plans SET date = 'yesterday'",
        "UPDATE plans SET lot = x'ff'",
        "DROP TABLE pending",
    ],
)
def test_a_register_edited_by_hand_is_refused(register: Register, statement: str) -> None:
    enter(register, entry(0))
    _edit(register, statement)
    with pytest.raises(RegisterError, match="is damaged as a register"):
        enter(register, entry(1))
    assert not register.locate(entry(1)).exists()


@posix
def test_a_pending_plan_in_a_folder_that_is_gone_is_not_forgotten(tmp_path: Path) -> None:
    register = Register(tmp_path / FILE_NAME)
    (tmp_path / "plans").mkdir()
    made = entry(0, b"new", file="plans/AF-1.pdf")
    with pytest.raises(KeyboardInterrupt), pytest.MonkeyPatch.context() as patch:
        patch.setattr(Register, "_complete", _stopped)
        enter(register, made, b"new")
    (tmp_path / "plans").rename(tmp_path / "away")
    with pytest.raises(RegisterError, match="that folder can't be found now"):
        register.entries()
    (tmp_path / "away" / "AF-1.pdf").write_bytes(b"new")
    (tmp_path / "away").rename(tmp_path / "plans")
    assert register.entries() == (made,)


def _stopped(*_: object) -> bool:
    raise KeyboardInterrupt


def test_entering_changes_only_what_it_supersedes() -> None:
    before = (entry(0), entry(0, number="B"), entry(3, status=Status.DRAFT))
    after = entered(before, entry(1))
    assert [e.status.value for e in after] == ["superseded", "issued", "draft", "issued"]
    assert entered(before, entry(4, status=Status.DRAFT))[:3] == before


def test_where_a_register_is_looked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert register_path(tmp_path) == tmp_path / FILE_NAME
    assert register_path(tmp_path / "other.sqlite") == tmp_path / "other.sqlite"
    plan = tmp_path / "in" / "plan.pdf"
    assert register_of(plan) == plan.parent / FILE_NAME
    Path("output").mkdir()
    (Path("output") / FILE_NAME).touch()
    assert register_of(plan) == Path("output") / FILE_NAME
    plan.parent.mkdir()
    (plan.parent / FILE_NAME).touch()
    assert register_of(plan) == plan.parent / FILE_NAME


@pytest.mark.parametrize("name", ["with space", "per%cent", "que?ry", "ha#sh", "ümlaut", "a:b"])
@pytest.mark.skipif(os.name != "posix", reason="Windows allows fewer names")
def test_any_folder_name_will_do(tmp_path: Path, name: str) -> None:
    (tmp_path / name).mkdir()
    register = Register(tmp_path / name / FILE_NAME)
    enter(register, entry(0))
    assert register.entries() == (entry(0),)
    assert register.path.is_file()


@pytest.mark.parametrize("lasts", [False, True])
def test_a_register_that_fails_after_the_rename(
    register: Register, monkeypatch: pytest.MonkeyPatch, lasts: bool
) -> None:
    """The disk fills up between the plan and its row: it is entered at once, or by the next process."""
    enter(register, entry(0))
    real, failures = Register._enter, []

    def full(*arguments: object) -> None:
        if lasts or not failures:
            failures.append(1)
            raise sqlite3.OperationalError("database or disk is full")
        real(*arguments)  # type: ignore[arg-type]

    monkeypatch.setattr(Register, "_enter", full)
    if lasts:
        with pytest.raises(
            RegisterError, match=r"AF-1 revision 1 is written to .* it is entered as it stands"
        ):
            enter(register, entry(1))
    else:
        assert enter(register, entry(1)) == entry(1)
    monkeypatch.undo()
    assert states(register) == [(0, "superseded"), (1, "issued")]
    enter(register, entry(2))
    assert states(register) == [(0, "superseded"), (1, "superseded"), (2, "issued")]
