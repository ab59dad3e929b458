"""The parameter set of an export: what is left out, and what is refused. All of it is invented."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from vault.jobs.export.parameter_set import Export
from vault.jobs.export.read_export import read_export
from vault.model.errors import Unreadable
from vault.model.normalise import VERSION
from vault.store.vault import FamilyFile

Read = Callable[..., Export]


@pytest.fixture
def read(family_text: str) -> Read:
    """Reads the rows of an export of family hazel."""
    family = FamilyFile("hazel", family_text.encode())

    def of(*rows: str, partial: bool = False) -> Export:
        head = "Drive;HZ-04;;\nCode;Name;Value;Unit\n"
        content = (head + "".join(f"{row}\n" for row in rows)).encode()
        return read_export(content, "a.csv", family, partial=partial)

    return of


def test_an_export_says_what_it_was_read_from(read: Read, family_text: str) -> None:
    export = read("lim/lag;Window;2,5;mm", "set/1;S;1;")
    assert (export.file, export.family_name) == ("a.csv", "hazel")
    assert export.content.startswith(b"Drive;HZ-04")
    assert export.nameplate == {"drive": "HZ-04"}
    assert export.version == VERSION
    assert list(export.parameters) == ["lim/lag", "set/1"]
    assert export.definitions["lim/lag"].role == "following_error_window"
    assert b"lim/lag: {name: Following error window," in export.parameters_text
    assert (export.skipped, export.warnings) == ((), ())


def test_a_line_that_cannot_be_read_refuses_the_whole_export(read: Read) -> None:
    with pytest.raises(Unreadable) as caught:
        read("lim/lag;Window;x;mm", "set/1;S;1;")
    assert (caught.value.file, caught.value.line) == ("a.csv", 3)
    assert caught.value.message == "'x' is not a number"
    assert "--partial takes the rest" in (caught.value.hint or "")


@pytest.mark.parametrize(
    ("bad", "said"),
    [
        (2, "; line 4: 'x' is not a number"),
        (4, "; line 5: 'x' is not a number; 1 more line"),
        (5, "; 2 more lines"),
    ],
)
def test_further_lines_that_cannot_be_read_are_counted(read: Read, bad: int, said: str) -> None:
    rows = [f"set/{n};S;x;" for n in range(1, bad + 1)]
    with pytest.raises(Unreadable) as caught:
        read(*rows, "set/9;S;1;")
    assert caught.value.message.endswith(said)


def test_in_part_the_rest_is_taken_and_what_was_left_out_is_told(read: Read) -> None:
    export = read("lim/lag;Window;x;mm", "set/1;S;1;", "set/1;S;2;", partial=True)
    assert list(export.parameters) == ["set/1"]
    assert [skipped.line for skipped in export.skipped] == [3, 5]


def test_an_export_of_which_nothing_is_left_is_refused(read: Read) -> None:
    with pytest.raises(Unreadable, match="the file holds no parameter"):
        read("lim/lag;Window;x;mm", partial=True)


def test_codes_that_the_family_does_not_know_are_taken_and_told(read: Read) -> None:
    export = read("set/1;S;1;", "set/2;S;2;", "new/1;N;1;", "new/2;N;2;")
    assert len(export.parameters) == 4
    assert export.warnings == ("2 codes are not in dictionary hazel: new/1, new/2",)


def test_an_export_of_mostly_unknown_codes_is_that_of_another_family(read: Read) -> None:
    with pytest.raises(Unreadable) as caught:
        read("set/1;S;1;", "new/1;N;1;", "new/2;N;2;")
    said = "2 of 3 codes are not in family hazel, the first is new/1"
    assert (caught.value.message, caught.value.line) == (said, 4)
    assert caught.value.hint == "is this an export of another family?"


@pytest.mark.parametrize(
    ("value", "reason"),
    [
        ("9" * 5000, "too long for a number"),
        ("1" * 80, "lies outside"),
        ("1e999", "lies outside"),
        ("0," + "3" * 90, "no multiple"),
        ("nan", "not a number"),
        ("²", "not a number"),
    ],
)
def test_a_number_that_no_drive_holds_is_refused_with_its_line(
    read: Read, value: str, reason: str
) -> None:
    with pytest.raises(Unreadable, match=reason) as caught:
        read(f"lim/lag;Window;{value};mm")
    assert caught.value.line == 3


def test_minus_nought_is_nought(read: Read) -> None:
    assert read("lim/lag;Window;-0;mm").parameters["lim/lag"].raw == 0


@pytest.mark.parametrize(
    ("number", "hint"),
    [("1.200,5", 'thousands: "."'), ("1 200,5", 'thousands: " "'), ("12.00,5", None), ("x", None)],
)
def test_thousands_that_stand_apart_hint_at_the_key(
    read: Read, number: str, hint: str | None
) -> None:
    with pytest.raises(Unreadable) as caught:
        read(f"lim/lag;Window;{number};mm", "set/1;S;1;")
    said = caught.value.hint or ""
    assert (hint is not None and hint in said) or (hint is None and "thousands" not in said)
