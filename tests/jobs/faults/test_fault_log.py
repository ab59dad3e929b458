"""The fault log: adding and importing. Everything is invented."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.conftest import BY, Outcome, Take
from vault.jobs.faults import log
from vault.jobs.faults.log import add_fault, faults_of, import_faults, parse_fault
from vault.model.errors import Damaged, Unreadable, WrongUsage
from vault.model.fault_log import FaultEntry
from vault.model.names import Address
from vault.store.files import layout
from vault.store.files.fault_log_text import fault_log_text, read_fault_log
from vault.store.vault import Vault

LIFT = Address("m1", "lift")
Cli = Callable[..., Outcome]
Export = Callable[..., str]


def day(number: int, month: int = 3) -> datetime:
    return datetime(2026, month, number, 10, tzinfo=UTC)


@pytest.fixture
def lift(vault: Vault, take: Take, export_text: Export) -> Vault:
    take(export_text("2,5"))
    return vault


def test_a_fault_is_kept_with_who_and_when(lift: Vault) -> None:
    found = add_fault(lift, LIFT, FaultEntry(day(2), "8611h", BY, "with full tiles"))
    assert (len(found.added), found.known, found.warnings) == (1, 0, ())
    (kept,) = faults_of(lift, LIFT)
    assert kept == FaultEntry(day(2), "8611h", BY, "with full tiles")
    again = add_fault(lift, LIFT, FaultEntry(day(2), "8611H", BY))
    assert (again.added, again.known) == ((), 1)
    assert lift.repository.git.run("log", "-1", "--format=%an", "main").strip() == "Mira Okafor"


def test_the_log_reads_back_and_equal_logs_are_equal_bytes() -> None:
    entries = [
        FaultEntry(day(2), "F-2", BY, note="with: colon, 'quotes'\nand lines"),
        FaultEntry(day(1), "F-1", BY, source="faults.csv"),
    ]
    text = fault_log_text(entries)
    assert text == fault_log_text(reversed(entries))
    assert read_fault_log(text, "faults.yaml") == (entries[1], entries[0])
    with pytest.raises(Damaged, match=r"faults\.yaml, line 1"):
        read_fault_log(text.replace(b"faults/1", b"faults/9"), "faults.yaml")
    with pytest.raises(Damaged, match=r"faults\.yaml"):
        read_fault_log(text.replace(b"code: F-1", b"cade: F-1"), "faults.yaml")


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("", "the field 'code' is empty"),
        ("x" * 41, "no fault code"),
        ("F\x07", "no fault code"),
    ],
)
def test_what_is_no_code_is_refused(code: str, said: str) -> None:
    with pytest.raises(WrongUsage, match=said):
        parse_fault(code, BY)


def test_a_fault_of_tomorrow_is_refused() -> None:
    with pytest.raises(WrongUsage, match="lies in the future"):
        parse_fault("8611h", BY, at="2099-01-01")


def test_what_was_typed_about_a_fault_is_read() -> None:
    typed = parse_fault(" F-11 ", BY, at=" 2026-03-02T03:40Z ", note=" full tiles ")
    at = datetime(2026, 3, 2, 3, 40, tzinfo=UTC)
    assert typed == FaultEntry(at, "F-11", BY, "full tiles")


def test_a_fault_without_a_time_is_one_of_now(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(log, "now", lambda: day(2))
    assert parse_fault("F-11", BY, at=" ", note="") == FaultEntry(day(2), "F-11", BY)


def test_a_code_that_nobody_knows_is_kept_with_a_remark(lift: Vault) -> None:
    found = add_fault(lift, LIFT, FaultEntry(day(2), "E-17", BY))
    assert len(found.added) == 1
    assert "nothing is known about it" in found.warnings[0]


@pytest.mark.parametrize(
    "text",
    [
        "at,code,note\n2026-03-02T10:00:00Z,8611h,one\n2026-03-03T10:00:00Z,8611h,two\n",
        "Time;Fault;Remark\n2026-03-02T10:00:00Z;8611h;one\n2026-03-03T10:00:00Z;8611h;two\n",
        "\ufeffwhen\terror\ttext\n2026-03-02T10:00Z\t8611h\tone\n\n2026-03-03T10:00Z\t8611h\ttwo\n",
    ],
)
def test_a_history_is_read_whatever_its_headings(text: str, lift: Vault, tmp_path: Path) -> None:
    (tmp_path / "f.csv").write_text(text)
    found = import_faults(lift, LIFT, tmp_path / "f.csv", BY)
    assert [(e.at, e.code, e.note, e.source) for e in found.added] == [
        (day(2), "8611h", "one", "f.csv"), (day(3), "8611h", "two", "f.csv"),
    ]  # fmt: skip
    assert import_faults(lift, LIFT, tmp_path / "f.csv", BY).known == 2
    assert len(faults_of(lift, LIFT)) == 2


def test_a_bad_line_refuses_the_file_with_its_number(lift: Vault, tmp_path: Path, cli: Cli) -> None:
    text = "at,code\n2026-03-02T10:00:00Z,8611h\nyesterday,8611h\n2026-03-04T10:00:00Z,\n"
    (tmp_path / "f.csv").write_text(text)
    with pytest.raises(Unreadable, match=r"f.csv, line 3: 'yesterday'"):
        import_faults(lift, LIFT, tmp_path / "f.csv", BY)
    assert faults_of(lift, LIFT) == ()
    done = cli("fault", "import", LIFT, "f.csv", "--partial", "--json")
    assert done.code == 0
    assert [(s["line"], s["reason"]) for s in done.json["skipped"]] == [
        (3, done.json["skipped"][0]["reason"]), (4, "the line has no code"),
    ]  # fmt: skip
    assert [one["code"] for one in done.json["added"]] == ["8611h"]


def test_columns_that_are_called_otherwise_can_be_named(
    lift: Vault, tmp_path: Path, cli: Cli
) -> None:
    (tmp_path / "f.csv").write_text("Zeitpunkt;Nummer\n2026-03-02T10:00:00Z;8611h\n")
    bad = cli("fault", "import", LIFT, "f.csv")
    assert (bad.code, "there are Zeitpunkt, Nummer" in bad.stderr) == (4, True)
    good = cli("fault", "import", LIFT, "f.csv", "--column", "at=Zeitpunkt,code=nummer")
    assert good.stdout == "m1/lift: 1 fault noted.\n"
    wrong = cli("fault", "import", LIFT, "f.csv", "--column", "colour=Zeitpunkt")
    assert (wrong.code, "colour" in wrong.stderr) == (2, True)


def test_faults_stand_in_the_history_where_they_happened(
    lift: Vault, take: Take, export_text: Export, cli: Cli
) -> None:
    take(export_text("6"), "2026-03-11T08:00:00+00:00")
    add_fault(lift, LIFT, FaultEntry(day(5), "8611h", BY, "twice in a night"))
    text = cli("history", LIFT).stdout
    places = [text.index(said) for said in ("2026-03-11", "2026-03-05 10:00, fault 8611h",
              "twice in a night", "2026-03-01")]  # fmt: skip
    assert places == sorted(places)
    (fault,) = cli("history", LIFT, "--json").json["faults"]
    assert (fault["code"], fault["name"]) == ("8611h", "Following error too large")


def test_a_log_that_somebody_broke_is_named(lift: Vault, cli: Cli) -> None:
    with lift.writing():
        lift.write_files({layout.fault_file(LIFT): b"faults: [\n"}, "broken\n", BY)
    done = cli("fault", "list", LIFT)
    assert done.code == 5
    assert "faults.yaml" in done.stderr
